"""Where there is no plan: what to lift so that there is one."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import combinations

from crewdesk.engine.counting import JOKER, TOTAL
from crewdesk.engine.course import Course
from crewdesk.engine.groups import Lineup, banned, lineup
from crewdesk.engine.limits import Limits, limits
from crewdesk.engine.problem import Choices, Problem
from crewdesk.engine.result import Lift
from crewdesk.engine.search import Search
from crewdesk.engine.tables import mean_conditions
from crewdesk.engine.tree import TooManyPathsError
from crewdesk.engine.windows import cut
from crewdesk.units import Place

Change = Callable[[Problem], Problem]


def _rule(**values: object) -> Change:
    """Return a change of the rules."""
    return lambda p: replace(p, rules=replace(p.rules, **values))  # type: ignore[arg-type]


def _without_lock(place: Place) -> Change:
    """Return the change that lifts one lock."""

    def change(problem: Problem) -> Problem:
        locks = {k: v for k, v in problem.choices.locks.items() if k != place}
        return replace(problem, choices=Choices(locks, problem.choices.bans))

    return change


def _without_ban(word: str) -> Change:
    """Return the change that lifts one ban."""

    def change(problem: Problem) -> Problem:
        bans = problem.choices.bans - {word}
        return replace(problem, choices=Choices(problem.choices.locks, bans))

    return change


def _with_code(code: str) -> Change:
    """Return the change that lets tyres go that one rule holds back."""

    def change(problem: Problem) -> Problem:
        tyres = tuple(
            replace(t, usable=True) if not t.usable and code in t.unusable_why else t
            for t in problem.tyres
        )
        return replace(problem, tyres=tyres)

    return change


def _all_there(problem: Problem) -> Problem:
    """Return a problem whose remote places and zones have every tyre."""
    places = tuple(p.model_copy(update={"remote": False}) for p in problem.places)
    tyres = tuple(replace(t, in_zone=True) for t in problem.tyres)
    return replace(problem, places=places, tyres=tyres)


def _come_already(problem: Problem) -> Problem:
    """Return a problem whose tyres are all there."""
    tyres = tuple(replace(t, available_from=None) for t in problem.tyres)
    return replace(problem, tyres=tyres)


def _free_places(problem: Problem) -> Problem:
    """Return a problem whose tyres may go on every corner."""
    tyres = tuple(
        replace(
            t,
            stock=t.stock.model_copy(update={"direction": "free", "lock": _kept(t.stock.lock)}),
        )
        for t in problem.tyres
    )
    return replace(problem, tyres=tyres)


def _kept(lock: str) -> str:
    """Return a lock word, those that only limit the corner dropped."""
    return lock if lock in {"hold", "scrap"} else ""


CODES = (
    "MRK-1",
    "MRK-2",
    "QTY-3",
    "QTY-5",
    "JOK-1",
    "DMG-1",
    "LEAK-1",
    "WID-1",
    "AGE-1",
    "ROAD-1",
    "ROAD-2",
    "STD-1",
    "PAT-1",
    "TRT-1",
)
"""Rules that may hold back a tyre, in the order in which they are tried."""


def _changes(problem: Problem) -> Iterator[tuple[Lift, Change]]:
    """Return what could be lifted, the crew's own choices first."""
    for place, tyre_id in problem.choices.locks.items():
        yield Lift("LCK-1", f"lock {place}={tyre_id}"), _without_lock(place)
    for word in sorted(problem.choices.bans):
        if any(banned(t, {word}) for t in problem.tyres):
            yield Lift("BAN-1", f"ban {word}"), _without_ban(word)
    if problem.max_wheels is not None:
        what = f"at most {problem.max_wheels} wheels changed"
        yield Lift("PLC-3", what), lambda p: replace(p, max_wheels=None)
    rules = problem.rules
    if rules.spare_min > 0:
        yield Lift("SPR-1", f"at least {rules.spare_min} spares"), _rule(spare_min=0)
    if any(level != "allow" for level in rules.axle_mix.values()):
        free = dict.fromkeys(rules.axle_mix, "allow")
        yield Lift("AXL-1", "different tyres on one axle"), _rule(axle_mix=free)
    if problem.settings.budget is not None:
        what = f"budget {problem.settings.budget:.0f}"

        def spend(p: Problem) -> Problem:
            return replace(p, settings=p.settings.model_copy(update={"budget": None}))

        yield Lift("BUD-1", what), spend
    for name, cap in rules.caps.items():
        rest = {k: v for k, v in rules.caps.items() if k != name}
        yield Lift("QTY-2", f"{name}: cap of {cap}"), _rule(caps=rest)
    if rules.qty_total is not None:
        yield Lift("QTY-1", f"{rules.qty_total} tyres in all"), _rule(qty_total=None)
    if rules.prior_use_cap is not None:
        what = f"{rules.prior_use_cap} used tyres of earlier events"
        yield Lift("QTY-2", what), _rule(prior_use_cap=None)
    if rules.qty_per_leg is not None:
        yield Lift("QTY-1", f"{rules.qty_per_leg} tyres in a leg"), _rule(qty_per_leg=None)
    if rules.qty_per_service is not None:
        what = f"{rules.qty_per_service} tyres at one place"
        yield Lift("QTY-1", what), _rule(qty_per_service=None)
    if any(t.joker and not t.joker_used for t in problem.tyres):
        what = f"{rules.joker_total} damage replacements"
        yield Lift("JOK-2", what), _rule(joker_total=len(problem.tyres))
    if rules.maker_locked:
        yield Lift("QTY-5", "all tyres of one maker"), _rule(maker_locked=False)
    if any(p.remote or p.kind == "zone" for p in problem.places):
        yield Lift("PLC-4", "only what is on board or brought there"), _all_there
    if any(t.available_from is not None for t in problem.tyres):
        yield Lift("PLC-1", "tyres that are not there yet"), _come_already
    for code in CODES:
        held = [t.stock.tyre_id for t in problem.tyres if code in t.unusable_why]
        if held:
            yield Lift(code, f"held back: {', '.join(held)}"), _with_code(code)
    if any(t.stock.direction != "free" or t.stock.lock for t in problem.tyres):
        yield Lift("DIR-1", "direction and place of tyres"), _free_places
    yield (
        Lift("TRD-1", f"minimum tread {rules.tread_min_mm} mm"),
        _rule(tread_min_mm=0.0, winter_tread_min_mm=None),
    )


def has_plan(problem: Problem, ask: Callable[[], bool] | None = None) -> bool:
    """Return whether some plan keeps all the rules, judged on the best estimate."""
    tyres = lineup(problem)
    for wanted in problem.choices.locks.values():
        if not any(t.tyre_id == wanted and t.usable for t in tyres.tyres):
            return False
    bounds = limits(problem, tyres)
    if not _enough(tyres, bounds):
        return False
    course = Course(problem, tyres, mean_conditions(problem.conditions))
    try:
        search = Search(course, tyres, bounds, ask=ask)
    except TooManyPathsError as error:
        return has_plan(cut(problem, error.loops), ask)
    found = search.run(rounds=1, prove=False)
    return found.best is not None


def _enough(tyres: Lineup, bounds: Limits) -> bool:
    """Return whether counts and caps leave tyres for one fitting at all."""
    at_once, total, jokers = 0, 0, 0
    capped: dict[str, int] = {}
    for group in tyres.groups:
        drawn = group.tyre.draws_on
        caps = [k for k in drawn if k in bounds.left and k not in {TOTAL, JOKER}]
        if not drawn:
            at_once += group.size
        elif JOKER in drawn:
            jokers += group.size
        elif caps:
            capped[caps[0]] = capped.get(caps[0], 0) + group.size
        else:
            total += group.size
    total += sum(min(n, bounds.left[k]) for k, n in capped.items())
    new = min(total, bounds.left.get(TOTAL, total)) + min(jokers, bounds.left[JOKER])
    return at_once + new >= 4 + (bounds.spare_min if bounds.carried_counts else 0)


def lifts(
    problem: Problem, most_tried: int = 60, stop: Callable[[], bool] | None = None
) -> tuple[Lift, ...]:
    """Return the smallest set of things to lift, the crew's own choices first.

    Parameters
    ----------
    problem : Problem
        A question without an answer.
    most_tried : int
        Sets tried at most.
    stop : callable, optional
        Asked before each; True ends with all that could be lifted.

    Returns
    -------
    tuple of Lift
        One, else two; all that were tried where even two do not help.

    Notes
    -----
    Singles in a fixed order, then pairs, on the best estimate of the weather.

    References
    ----------
    .. [1] Smallest set of rules to lift: exhaustive by size.
    """
    ways = list(_changes(problem))
    tried = 0
    for size in (1, 2):
        for chosen in combinations(ways, size):
            if tried >= most_tried or (stop is not None and stop()):
                break
            tried += 1
            changed = problem
            for _, change in chosen:
                changed = change(changed)
            if has_plan(changed, stop):
                return tuple(lift for lift, _ in chosen)
    changed = problem
    for _, change in ways:
        changed = change(changed)
    if has_plan(changed, stop):
        return tuple(lift for lift, _ in ways)
    usable = sum(t.usable for t in problem.tyres)
    return (*(lift for lift, _ in ways), Lift("QTY-5", f"only {usable} tyres to be used"))
