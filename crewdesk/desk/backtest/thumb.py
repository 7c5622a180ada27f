"""A crew's rule of thumb, and the stand-in of a tyre that cannot be fitted.

Common practice, no source: compound by the road forecast for the loop's start, the softest
below the first crossover and the hardest above the last, on all four corners, with rain tyres
where the road is expected wet; deepest tread on the driven axle; two spares on rough loops,
else one; new tyres when the deepest set would end below 3 mm.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations, pairwise

from crewdesk.conditions.moments import STATES
from crewdesk.desk.backtest.notebook import Choice
from crewdesk.engine.course import Course
from crewdesk.engine.evaluate import Fit
from crewdesk.engine.groups import Lineup, Tyre, is_left, lineup
from crewdesk.engine.limits import counted_already
from crewdesk.engine.problem import Problem
from crewdesk.engine.specs import catalogue
from crewdesk.engine.wheels import rims_for
from crewdesk.physics.catalogue import compound_from
from crewdesk.physics.grip import crossover_c
from crewdesk.physics.surface import stage_roughness
from crewdesk.regulations.predicates import axle_level
from crewdesk.units import CORNERS, PLACES, Place

ROUGH = 0.6
"""Mean roughness of a loop from which two spares are carried."""
WORN_MM = 3.0
TREAD_OVER_ROAD_K = {"asphalt": 30.0}
TREAD_OVER_LOOSE_K = 26.0
"""How much warmer than the road a tread runs, so that crossovers of the tread become those of
the road. Tuning values of this project."""
HARDNESS = ("soft", "medium", "hard")
TRIES = 60
"""Fittings looked at for one loop at most."""

Accepts = Callable[[Choice], bool]


def wanted_hardness(road_c: float, surface: str, words: Sequence[str]) -> str:
    """Return the hardness that a road asks for, out of those there are, soft ones first."""
    family = "asphalt" if surface == "asphalt" else "gravel"
    rise_k = TREAD_OVER_ROAD_K.get(surface, TREAD_OVER_LOOSE_K)
    rows = catalogue().compounds
    chosen = words[0]
    for softer, harder in pairwise(words):
        pair = [compound_from(rows[family, word], {}) for word in (softer, harder)]
        if road_c + rise_k > crossover_c(pair[0], pair[1]):
            chosen = harder
    return chosen


class Bench:
    """What lies ready at a change place, as a crew without a program looks at it."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.lineup: Lineup = lineup(problem)
        # What comes behind this loop is not looked at.
        near = replace(problem, places=problem.places[:1])
        self.course = Course(near, lineup(near), problem.conditions)
        self.counted = set(counted_already(problem))
        self.usable = [t for t in self.lineup.tyres if t.usable and t.first_place == 0]

    @property
    def cold_kpa(self) -> dict[Place, float]:
        """Return the cold pressures of the loop, those of carried wheels too."""
        front, rear = self.course.tables.loops[0].cold_kpa
        kpa: dict[Place, float] = dict(zip(CORNERS, (front, front, rear, rear), strict=True))
        kpa["SP1"] = kpa["SP2"] = max(front, rear)
        return kpa

    def families(self) -> list[list[str]]:
        """Return the words for rubber, the wanted one first, then the next ones."""
        problem = self.problem
        stage = problem.stages[problem.places[0].stages[0]]
        conditions = problem.conditions
        column = conditions.index(stage.ref)
        road_c = float(conditions.road_mean_c[column])
        shares = conditions.state_shares[column]
        state = max(sorted(shares), key=lambda word: shares[word]) if shares else STATES[0]
        uses = {t.given.stock.use for t in self.usable}
        order: list[list[str]] = []
        if stage.surface == "asphalt" and state in ("wet", "standing"):
            order += [["asphalt_wet", word] for word in HARDNESS]
        dry = "asphalt" if stage.surface == "asphalt" else "gravel"
        if stage.surface in ("snow", "ice") and "winter" in uses:
            dry = "winter"
        words = [
            word
            for word in HARDNESS
            if any(
                t.given.stock.use == dry and t.given.stock.hardness == word for t in self.usable
            )
        ]
        if words:
            first = (
                wanted_hardness(road_c, stage.surface, words) if dry != "winter" else words[0]
            )
            at = words.index(first)
            order += [[dry, w] for w in sorted(words, key=lambda w: abs(words.index(w) - at))]
        rest = sorted({(t.given.stock.use, t.given.stock.hardness) for t in self.usable})
        order += [[use, word] for use, word in rest if [use, word] not in order]
        return order

    def spares_wanted(self) -> int:
        """Return how many spares a crew would carry."""
        rules, stages = self.problem.rules, self.problem.stages
        rough = [
            stage_roughness(s.surface, s.roughness, s.pass_no, broken=s.broken)
            for s in (stages[ref] for ref in self.problem.places[0].stages)
        ]
        wanted = 2 if sum(rough) / len(rough) > ROUGH else 1
        return min(max(wanted, rules.spare_min), rules.spare_max)

    def room(self, chosen: Sequence[Tyre]) -> bool:
        """Say whether the limits leave room for some tyres."""
        rules = self.problem.rules
        count = set(self.counted) | {t.tyre_id for t in chosen}
        if rules.qty_total is not None and len(count) > rules.qty_total:
            return len(count) == len(self.counted)
        for group, cap in rules.caps.items():
            before = [t for t in self.lineup.tyres if t.tyre_id in self.counted]
            after = [t for t in self.lineup.tyres if t.tyre_id in count]
            used = sum(t.cap_group == group for t in after)
            if used > cap and used > sum(t.cap_group == group for t in before):
                return False
        return True

    def end_mm(self, tyre: Tyre) -> float:
        """Return the least depth a tyre would end the loop with on its worst corner."""
        ends = []
        for corner in tyre.corners:
            run, _ = self.course.run_of(0, tyre, corner, self.course.start_of(tyre))
            ends.append(float(run.state.tread_mm[0].mean(axis=0).min()))
        return min(ends, default=0.0)

    def placed(self, four: Sequence[Tyre]) -> tuple[Tyre, ...] | None:
        """Return four tyres on FL FR RL RR, the deepest on the driven axle; None: no way."""
        car = self.problem.car
        axles = ((0, 1), (2, 3)) if car.drive_front_share >= 0.5 else ((2, 3), (0, 1))
        order = [corner for axle in axles for corner in axle]
        deep = sorted(four, key=lambda t: (-min(t.given.tread_mm), t.index))

        def go(taken: list[Tyre]) -> list[Tyre] | None:
            if len(taken) == 4:
                return taken
            corner = order[len(taken)]
            for tyre in deep:
                side = "left" if is_left(corner) else "right"
                turned = tyre.one_side and tyre.given.side not in ("", side)
                if tyre in taken or corner not in tyre.corners or turned:
                    continue
                found = go([*taken, tyre])
                if found is not None:
                    return found
            return None

        found = go([])
        if found is None:
            return None
        at = dict(zip(order, found, strict=True))
        return tuple(at[corner] for corner in range(4))

    def choice(self, car: Mapping[Place, Tyre], ahead: Sequence[Tyre] = ()) -> Choice:
        """Return a car with rims and pressures; wheels for a zone ahead get rims, too."""
        fit = _fit([car.get(p) for p in PLACES])
        fits, zones = [fit], [self.problem.places[0].kind == "zone"]
        if ahead:
            fits.append(_fit([*ahead, *[None] * 6][:6]))
            zones.append(True)
        rims = rims_for(self.problem, self.lineup, fits, zones).by_place
        on_board = {t.tyre_id for t in car.values()}
        bring = tuple(t.tyre_id for t in ahead if t.tyre_id not in on_board)
        to_zone: dict[str, str] = {}
        if ahead:
            ids = {p: t.tyre_id for p, t in zip(PLACES, ahead, strict=False)}
            to_zone = {ids[p]: rim for p, rim in rims[1].items() if ids[p] in bring}
        return Choice(
            fitting={p: t.tyre_id if (t := car.get(p)) else None for p in PLACES},
            cold_kpa={p: kpa for p, kpa in self.cold_kpa.items() if p in car},
            rims=rims[0],
            bring=bring,
            bring_rims=to_zone,
        )


def _fit(tyres: Sequence[Tyre | None]) -> Fit:
    row = [-1 if tyre is None else tyre.index for tyre in tyres]
    return (row[0], row[1], row[2], row[3], row[4], row[5])


def cars(bench: Bench) -> Iterator[dict[Place, Tyre]]:
    """Return fittings by the rule of thumb, the best first."""
    for use, word in bench.families():
        kinds: dict[tuple[str, str, str], list[Tyre]] = {}
        for tyre in bench.usable:
            if tyre.given.stock.use == use and tyre.given.stock.hardness == word:
                kinds.setdefault(tyre.kind, []).append(tyre)
        for kind in sorted(kinds, key=lambda k: (-len(kinds[k]), k)):
            yield from _of_kind(bench, kinds[kind])


def _of_kind(bench: Bench, tyres: list[Tyre]) -> Iterator[dict[Place, Tyre]]:
    """Return fittings of one kind: the deepest run set, a new one, then what is left."""
    deep = sorted(tyres, key=lambda t: (-min(t.given.tread_mm), t.index))
    run = [t for t in deep if t.given.ever_fitted or t.counted]
    fresh = [t for t in deep if t not in run]
    lasting = [t for t in run if bench.end_mm(t) >= WORN_MM]
    for pool in (lasting, fresh, [*lasting, *fresh], deep):
        found = _four(bench, pool)
        if found is not None:
            yield from _with_spares(bench, found, deep)


def _four(bench: Bench, pool: Sequence[Tyre]) -> tuple[Tyre, ...] | None:
    """Return the first four of a pool that the corners and the limits take."""
    for tried, four in enumerate(combinations(pool[:12], 4)):
        if tried > TRIES:
            break
        placed = bench.placed(four) if bench.room(four) else None
        if placed is not None:
            return placed
    return None


def _with_spares(
    bench: Bench, four: tuple[Tyre, ...], kind: Sequence[Tyre]
) -> Iterator[dict[Place, Tyre]]:
    """Return a car with as many spares as wanted, else fewer, else of another kind."""
    rules = bench.problem.rules
    same = [t for t in kind if t not in four]
    same.sort(key=lambda t: (not t.counted, -min(t.given.tread_mm), t.index))
    others = [t for t in bench.usable if t not in kind]
    others.sort(key=lambda t: (not t.counted, -min(t.given.tread_mm), t.index))
    for number in range(bench.spares_wanted(), rules.spare_min - 1, -1):
        chosen: list[Tyre] = []
        for tyre in [*same, *others] if number == rules.spare_min else same:
            if len(chosen) < number and bench.room([*four, *chosen, tyre]):
                chosen.append(tyre)
        if len(chosen) == number:
            yield dict(zip(PLACES, (*four, *chosen), strict=False))


def by_thumb(problem: Problem, accepts: Accepts) -> Choice | None:
    """Return what a crew fits by its rule of thumb; None where nothing can be fitted."""
    bench = Bench(problem)
    for car in cars(bench):
        ahead = _zone_ahead(problem, bench, car)
        choice = bench.choice(car, ahead)
        if accepts(choice):
            return choice
    return None


def _zone_ahead(problem: Problem, bench: Bench, car: Mapping[Place, Tyre]) -> list[Tyre]:
    """Return the wheels a crew would have in the zone that comes next, by its rule of now."""
    if len(problem.places) < 2 or problem.places[1].kind != "zone":
        return []
    if not problem.places[1].stages:
        return []
    then = Bench(
        replace(
            problem,
            places=problem.places[1:],
            # Whatever lies in stock today can be brought there.
            tyres=tuple(replace(t, in_zone=True) for t in problem.tyres),
            counted_ids=problem.counted_ids | {t.tyre_id for t in car.values()},
        )
    )
    wanted = next(cars(then), None)
    by_id = {t.tyre_id: t for t in bench.lineup.tyres}
    return [] if wanted is None else [by_id[t.tyre_id] for t in wanted.values()]


def stand_in(
    problem: Problem, fitting: Mapping[Place, str | None], accepts: Accepts
) -> Choice | None:
    """Return a held fitting with other tyres for those that cannot be fitted any more.

    The same kind first, then one that counts already, then the deepest; None where a corner
    stays empty or the rules refuse it.
    """
    bench = Bench(problem)
    usable = {t.tyre_id: t for t in bench.usable}
    car: dict[Place, Tyre] = {}
    for place in PLACES:
        tyre = usable.get(fitting.get(place) or "")
        if tyre is not None:
            car[place] = tyre
    known = {t.tyre_id: t for t in bench.lineup.tyres}
    for place in PLACES:
        wanted = known.get(fitting.get(place) or "")
        if place in car or wanted is None:
            continue
        found = _instead(bench, place, wanted, car)
        if found is not None:
            car[place] = found
        elif place in CORNERS:
            return None
    choice = bench.choice(car, _zone_ahead(problem, bench, car))
    return choice if accepts(choice) else None


def _instead(
    bench: Bench, place: Place, wanted: Tyre, car: Mapping[Place, Tyre]
) -> Tyre | None:
    """Return the tyre that stands in for one."""
    left = [t for t in bench.usable if t not in car.values()]
    left.sort(
        key=lambda t: (
            t.kind != wanted.kind,
            not t.counted,
            -min(t.given.tread_mm),
            t.index,
        )
    )
    for tyre in left:
        if not bench.room([*car.values(), tyre]):
            continue
        if place in CORNERS:
            corner = CORNERS.index(place)
            beside = car.get(CORNERS[corner ^ 1])
            mixed = beside is not None and (
                axle_level(beside.given.stock, tyre.given.stock, bench.problem.rules) != "ok"
            )
            if corner not in tyre.corners or mixed:
                continue
        return tyre
    return None
