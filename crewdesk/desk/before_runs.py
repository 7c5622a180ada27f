"""Will the tyres come to warmth, last the distance, and stand the ground: run on paper."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import exp

from crewdesk.desk.before_kinds import Checked, Kind, Level, km_of, listed
from crewdesk.desk.case import rules_of
from crewdesk.desk.learn_readings import rubber_of
from crewdesk.desk.learn_runs import PastRuns, RunDone
from crewdesk.desk.learn_wear import learn_wear_of
from crewdesk.desk.learnt import Learnt
from crewdesk.desk.state import Run
from crewdesk.documents.itinerary import Stage
from crewdesk.physics.bands import TEN_PERCENT_SD
from crewdesk.physics.inflation import FLOOR_KPA, HOT_BAND_KPA, cold_pressure_kpa, pressure_kind
from crewdesk.physics.surface import stage_roughness
from crewdesk.units import CORNERS, Corner

COLD_K = 10.0
"""A tyre that stays so far under its window is not brought to temperature. Tuning value."""
HOT_K = 10.0
"""A tyre this far over its window is overheated. Tuning value of this project."""
COLD_SHARE = 2.0 / 3.0
"""Share of the stages from which a set counts as never warm. Tuning value."""
ROAD_CASING = 4.0
"""Hazard over that of a reinforced casing from which a casing is of road type. Tuning value."""
ROUGH = 0.60
"""R from which gravel is rough. Common practice, no source."""
RAIN = "asphalt_wet"
SOFTEST = ("soft", "medium", "hard")


@dataclass(frozen=True)
class PaperRuns:
    """Every stage of the event run on paper by one tyre of each kind, on both axles."""

    past: PastRuns
    stages: tuple[Stage, ...]
    runs: Mapping[tuple[str, Corner], tuple[RunDone, ...]]
    learnt: Learnt
    """What the last event has taught of wear."""

    def of(self, kind: Kind, corner: Corner) -> tuple[RunDone, ...]:
        """Return the runs of a kind on a corner."""
        return self.runs.get((kind.one.tyre_id, corner), ())


def paper_runs(past: PastRuns, kinds: Sequence[Kind]) -> PaperRuns:
    """Run every kind over the stages it is made for, on every corner."""
    stages = tuple(past.stages.values())
    rain = any(kind.use == RAIN for kind in kinds)
    runs: dict[tuple[str, Corner], tuple[RunDone, ...]] = {}
    for kind in kinds:
        own = [
            stage
            for stage in stages
            if kind.suits(stage.surface)
            and (not rain or (kind.use == RAIN) == past.ground_of(stage).startswith("wet"))
        ]
        if past.spec(kind.one) is None or not own:
            continue
        for corner in CORNERS:
            legs = tuple(Run(stage.ref, corner, stage.km) for stage in own)
            runs[kind.one.tyre_id, corner] = past.follow(kind.one, legs)
    return PaperRuns(past, stages, runs, learn_wear_of(past))


def warmth_checks(paper: PaperRuns, kinds: Sequence[Kind]) -> Iterator[Checked]:
    """Say whether the softest tyre is never warm, and the hardest too hot."""
    for use in dict.fromkeys(kind.use for kind in kinds):
        own = [k for k in kinds if k.use == use and paper.of(k, "FL")]
        if not own:
            continue
        own.sort(key=lambda k: SOFTEST.index(k.one.stock.hardness))
        yield from _cold(paper, own[0], alone=len(own) == 1)
        yield from _hot(paper, own[-1])


def _warmest(paper: PaperRuns, kind: Kind) -> list[tuple[str, float, float]]:
    """Return stage, tread at the stop line and peak, on the warmer axle."""
    front, rear = paper.of(kind, "FL"), paper.of(kind, "RL")
    return [
        (one.run.stage, max(one.tread_c, other.tread_c), max(one.peak_c, other.peak_c))
        for one, other in zip(front, rear, strict=True)
    ]


def _cold(paper: PaperRuns, kind: Kind, *, alone: bool) -> Iterator[Checked]:
    spec = paper.past.spec(kind.one)
    if spec is None:
        return
    window = f"{spec.compound.t_lo_c:.0f} to {spec.compound.t_hi_c:.0f} °C"
    seen = _warmest(paper, kind)
    cold = [(ref, c) for ref, c, _ in seen if c < spec.compound.t_lo_c - COLD_K]
    if len(cold) >= COLD_SHARE * len(seen):
        yield Checked(
            "warmth",
            "watch",
            f"cannot be brought to temperature: {cold[0][1]:.0f} °C at the stop line of "
            f"{cold[0][0]}, window {window}, and so on {len(cold)} of {len(seen)} stages. A "
            "narrower and shorter tyre warms sooner.",
            (kind.name,),
            "cold_tyres",
            {"stages": tuple(ref for ref, _ in cold)},
        )
    elif cold:
        yield Checked(
            "warmth",
            "note",
            f"stays far under its window ({window}) on {listed([ref for ref, _ in cold])}.",
            (kind.name,),
            "cold_tyres",
        )
    low = min(c for _, c, _ in seen)
    high = max(c for _, c, _ in seen)
    over = [ref for ref, c, _ in seen if c > spec.compound.t_hi_c + HOT_K]
    if over and not alone:
        yield Checked(
            "warmth",
            "note",
            f"comes to {high:.0f} °C, far over its window ({window}), on {listed(over)}: a "
            "harder one there.",
            (kind.name,),
        )
    elif not cold and not over:
        yield Checked(
            "warmth",
            "holds",
            f"comes to {low:.0f} to {high:.0f} °C at the stop lines; window {window}.",
            (kind.name,),
        )


def _hot(paper: PaperRuns, kind: Kind) -> Iterator[Checked]:
    spec = paper.past.spec(kind.one)
    if spec is None:
        return
    hot = [(ref, c) for ref, c, _ in _warmest(paper, kind) if c > spec.compound.t_hi_c + HOT_K]
    if hot:
        worst = max(hot, key=lambda one: one[1])
        yield Checked(
            "warmth",
            "watch",
            f"the hardest of the set, overheats on {listed([ref for ref, _ in hot])}: "
            f"{worst[1]:.0f} °C at the stop line of {worst[0]}, window to "
            f"{spec.compound.t_hi_c:.0f}. A wider or taller tyre, or fewer km on a set.",
            (kind.name,),
            values={"stages": tuple(ref for ref, _ in hot)},
        )


def distance_checks(paper: PaperRuns, kinds: Sequence[Kind]) -> Iterator[Checked]:
    """Say whether the set lasts the stages, on paper, to the minimum.

    Surfaces that the same tyres are made for count as one distance: they wear the same set.
    """
    rules = rules_of(paper.past.bundle)
    alike: dict[tuple[str, ...], list[str]] = {}
    for surface in dict.fromkeys(stage.surface for stage in paper.stages):
        made_for = (k.name for k in kinds if k.suits(surface) and k.use != RAIN)
        alike.setdefault(tuple(made_for), []).append(surface)
    for names, surfaces in alike.items():
        stages = [stage for stage in paper.stages if stage.surface in surfaces]
        own = [k for k in kinds if k.name in names and k.use != RAIN]
        count = sum(len(kind.tyres) for kind in own)
        km = km_of(stages)
        word = listed(surfaces)
        if count < len(CORNERS):
            yield Checked(
                "distance",
                "stops",
                f"{count} usable tyres made for {word}, and {km:.0f} km of it to run: four are "
                "needed on the car, two more to carry.",
                caution="road_casing",
                values={"surface": word, "tyres": count},
            )
            continue
        lasts = sorted(_lasting_km(paper, own, rules.tread_min_mm), reverse=True)
        lasts = lasts[: rules.qty_total] if rules.qty_total is not None else lasts
        if lasts:
            yield _distance(word, km, lasts, _doubt(paper, own))


def _lasting_km(paper: PaperRuns, kinds: Sequence[Kind], minimum_mm: float) -> Iterator[float]:
    """Return how many km each tyre lasts, at the worst point, on the mean of the corners."""
    for kind in kinds:
        rates = []
        for corner in CORNERS:
            runs = paper.of(kind, corner)
            km = sum(run.run.km for run in runs)
            if km > 0.0:
                worst = max(sum(_lost(paper, kind, run, z) for run in runs) for z in range(3))
                rates.append(worst / km)
        mean = sum(rates) / len(rates) if rates else 0.0
        if mean <= 0.0:
            continue
        for tyre in kind.tyres:
            yield max(min(tyre.stock.tread_mm) - minimum_mm, 0.0) / mean


def _lost(paper: PaperRuns, kind: Kind, run: RunDone, point: int) -> float:
    """Return what one point loses on a run, with what the last event has taught."""
    return run.loss_mm[point] * paper.learnt.factor(rubber_of(kind.one, run))


def _doubt(paper: PaperRuns, kinds: Sequence[Kind]) -> float:
    """Return the doubt of ln(wear) of the kind that is known least."""
    doubts = [
        paper.learnt.tyre_ln_sd(
            kind.use, kind.one.stock.compound, {run.ground: 1.0 for run in paper.of(kind, "FL")}
        )
        for kind in kinds
    ]
    return max(doubts)


def _distance(word: str, km: float, lasts: Sequence[float], doubt: float) -> Checked:
    """Return what the set comes to over the distance."""
    wanted = len(CORNERS) * km
    mean = sum(lasts)
    low = mean * exp(-TEN_PERCENT_SD * doubt)
    values: dict[str, object] = {
        "wanted_km": round(wanted, 1),
        "lasts_km": round(mean, 1),
        "low_km": round(low, 1),
        "tyres": len(lasts),
    }
    words = (
        f"{len(lasts)} tyres last {mean:.0f} tyre km of {word}, {wanted:.0f} are wanted (four "
        f"corners, {km:.0f} km)"
    )
    if mean < wanted:
        text = f"{words}: the set is not enough. Drive within it, or bring more."
        return Checked("distance", "watch", text, caution="worn_out", values=values)
    if low < wanted:
        text = f"{words}; if wear comes higher, one time in ten only {low:.0f}: read early."
        return Checked("distance", "note", text, values=values)
    text = f"{words}; one time in ten it lasts {low:.0f} at most."
    return Checked("distance", "holds", text, values=values)


def casing_checks(paper: PaperRuns, kinds: Sequence[Kind]) -> Iterator[Checked]:
    """Say whether a road casing would meet rough gravel, or no gravel tyre gravel."""
    gravel = [stage for stage in paper.stages if stage.surface == "gravel"]
    if not gravel:
        return
    rough = [stage for stage in gravel if roughness(stage) >= ROUGH]
    meant = [kind for kind in kinds if kind.suits("gravel")]
    for kind in meant:
        if kind.model.casing >= ROAD_CASING:
            yield _road_casing(paper, kind, rough, gravel)
        elif kind.known and "casing" in kind.model.model_fields_set:
            yield Checked(
                "casing",
                "holds",
                f"its casing is entered as {kind.model.casing:g} times as easily damaged as a "
                "reinforced one.",
                (kind.name,),
            )
        elif rough:
            yield Checked(
                "casing",
                "note",
                "no figure for the casing, so it is taken as a reinforced one. Look at the "
                f"sidewall: a road casing is not fit for {listed([s.ref for s in rough])}.",
                (kind.name,),
                "road_casing",
            )
    if not meant:
        yield Checked(
            "casing",
            "stops",
            f"no tyre of the set is made for gravel, and {km_of(gravel):.0f} km are to be run "
            "on it.",
            caution="road_casing",
        )


def roughness(stage: Stage) -> float:
    """Return R of a stage after the passes before ours."""
    return float(
        stage_roughness(stage.surface, stage.roughness, stage.pass_no, broken=stage.broken)
    )


def _road_casing(
    paper: PaperRuns, kind: Kind, rough: Sequence[Stage], gravel: Sequence[Stage]
) -> Checked:
    where = rough or gravel
    cut = paper.past.spec(kind.one)
    plain = sum(float(paper.past.table(stage).hazard.mean(axis=1).sum()) for stage in where)
    plain *= cut.compound.cut if cut is not None else 1.0
    km = km_of(where)
    ground = "rough gravel" if rough else "gravel"
    text = (
        f"a road casing, {kind.model.casing:g} times as easily damaged as a reinforced one: "
        f"about {plain * kind.model.casing:.1f} punctures on the {km:.0f} km of {ground} where "
        f"a rally casing has {plain:.1f}."
    )
    if rough:
        text += f" Not fit for {listed([stage.ref for stage in rough])}."
    values = {"casing": kind.model.casing, "punctures": round(plain * kind.model.casing, 2)}
    level: Level = "stops" if rough else "watch"
    return Checked("casing", level, text, (kind.name,), "road_casing", values)


def pressure_checks(paper: PaperRuns, kinds: Sequence[Kind]) -> Iterator[Checked]:
    """Say whether the pressures aimed at lie inside the maker's."""
    for kind in kinds:
        told = list(_pressures(paper, kind))
        yield from (replace(one, who=(kind.name,)) for one in told)


def _pressures(paper: PaperRuns, kind: Kind) -> Iterator[Checked]:
    model = kind.model
    seen: list[tuple[float, float, float, Stage]] = []
    for corner in ("FL", "RL"):
        for one in paper.of(kind, corner):
            if one.stage is None:
                continue
            needed = float(cold_pressure_kpa(one.target_kpa, one.air_c, one.bulk_c))
            seen.append((needed, one.target_kpa, one.air_c, one.stage))
    if not seen:
        return
    hottest = max(target for _, target, _, _ in seen)
    cold, target, air_c, stage = min(seen, key=lambda row: row[0])
    least = model.min_cold_kpa
    if least is None:
        least = FLOOR_KPA[pressure_kind(stage.surface, roughness(stage))]
    values = {"hot_kpa": hottest, "cold_kpa": round(cold, 1), "least_kpa": least}
    fine = True
    if model.max_kpa is not None and hottest + HOT_BAND_KPA > model.max_kpa:
        fine = False
        yield Checked(
            "pressures",
            "stops" if hottest > model.max_kpa else "watch",
            f"the hot target of {hottest / 100:.2f} bar (band 0.10 either way) passes the "
            f"maker's most, {model.max_kpa / 100:.2f} bar. Aim lower, or ask the maker.",
            caution="over_pressure",
            values=values,
        )
    if cold < least:
        fine = False
        whose = "the maker's least" if model.min_cold_kpa is not None else "the usual floor"
        yield Checked(
            "pressures",
            "note",
            f"{target / 100:.2f} bar hot on {stage.ref} would need {cold / 100:.2f} cold at "
            f"{air_c:.0f} °C; {whose} is {least / 100:.2f}. The floor holds: it ends above the "
            "target.",
            caution="under_pressure",
            values=values,
        )
    if least < model.bead_min_kpa:
        fine = False
        yield Checked(
            "pressures",
            "watch",
            f"the least cold pressure, {least / 100:.2f} bar, is under the "
            f"{model.bead_min_kpa / 100:.2f} bar at which its bead may leave the rim.",
            caution="under_pressure",
            values=values,
        )
    if fine:
        most = (
            f", the maker's most {model.max_kpa / 100:.2f}" if model.max_kpa is not None else ""
        )
        yield Checked(
            "pressures",
            "holds",
            f"{cold / 100:.2f} bar cold at the least, {hottest / 100:.2f} hot; least allowed "
            f"{least / 100:.2f}{most}.",
            values=values,
        )
