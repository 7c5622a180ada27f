"""Grip as the driver tells it and as repeats of a stage tell it."""

import numpy as np

from crewdesk.desk.learn_runs import PastRuns, RunDone
from crewdesk.desk.learn_words import grip_sentence, ground_words, many
from crewdesk.desk.learnt import GripLearnt, Rubber
from crewdesk.desk.outlook import road_name
from crewdesk.desk.state import TyreNow
from crewdesk.documents.itinerary import Stage
from crewdesk.physics.kalman import start
from crewdesk.physics.learning_channels import (
    GRIP_START_SD,
    grip_from_times,
    grip_from_words,
    learn_one,
)
from crewdesk.physics.stage import run_stage, stage_time_s
from crewdesk.physics.tyre import TyreState
from crewdesk.units import CORNERS

SMALL_LN = 0.01
"""Step of grip by which the exponent of stage time is taken."""
PER_CENT = 100.0


def grip_of(past: PastRuns) -> tuple[GripLearnt, ...]:
    """Return the grip of axles and compounds over that of the tables."""
    return (*_axles(past), *_compounds(past))


def _axles(past: PastRuns) -> list[GripLearnt]:
    """Return what the driver's words come to."""
    told: list[GripLearnt] = []
    for axle in ("front", "rear"):
        belief = start([0.0], [GRIP_START_SD])
        count = 0
        for said in past.state.driver_words:
            step = said.front if axle == "front" else said.rear
            if step is None:
                continue
            off, variance = grip_from_words(step)
            belief = learn_one(belief, off, [1.0], variance)
            count += 1
        if count:
            mean, sd = PER_CENT * float(belief.mean[0]), PER_CENT * belief.sd([1.0])
            what = f"{axle.capitalize()} axle, by the driver's words"
            told.append(GripLearnt(axle, mean, sd, count, grip_sentence(what, mean, sd)))
    return told


def _compounds(past: PastRuns) -> list[GripLearnt]:
    """Return what the times of two passes over one road come to, where the tyres differed."""
    times = past.state.stage_times
    passes: dict[str, list[Stage]] = {}
    for stage in past.bundle.itinerary.stages:
        if stage.ref in times and stage.ref in past.stages:
            passes.setdefault(road_name(stage), []).append(stage)
    rows: list[tuple[dict[Rubber, float], float, float]] = []
    for repeats in passes.values():
        cars = [_car(past, stage) for stage in repeats]
        for (first, one), (second, other) in zip(
            zip(repeats, cars, strict=True),
            list(zip(repeats, cars, strict=True))[1:],
            strict=False,
        ):
            if one is None or other is None:
                continue
            shares = {
                r: other[0].get(r, 0.0) - one[0].get(r, 0.0) for r in {**one[0], **other[0]}
            }
            if all(abs(share) < SMALL_LN for share in shares.values()):
                continue
            exponent = 0.5 * (one[2] + other[2])
            off, variance = grip_from_times(
                times[second.ref] / times[first.ref], other[1] / one[1], exponent
            )
            rows.append((shares, off, variance))
    rubbers = sorted({rubber for shares, _, _ in rows for rubber in shares})
    belief = start(np.zeros(len(rubbers)), [GRIP_START_SD] * len(rubbers))
    counts = dict.fromkeys(rubbers, 0)
    for shares, off, variance in rows:
        belief = learn_one(belief, off, [shares.get(r, 0.0) for r in rubbers], variance)
        for rubber in shares:
            counts[rubber] += 1
    told = []
    for number, rubber in enumerate(rubbers):
        unit = np.eye(len(rubbers))[number]
        mean, sd = PER_CENT * belief.value(unit), PER_CENT * belief.sd(unit)
        what = f"{many(rubber.compound).capitalize()} {ground_words(rubber.ground)}, by times"
        told.append(
            GripLearnt(
                f"{rubber.compound} {ground_words(rubber.ground)}",
                mean,
                sd,
                counts[rubber],
                grip_sentence(what, mean, sd),
            )
        )
    return told


def _car(past: PastRuns, stage: Stage) -> tuple[dict[Rubber, float], float, float] | None:
    """Return shares of compounds, time and exponent of grip; None where a tyre is unknown."""
    table = past.table(stage)
    mu = np.empty((1, 1, len(CORNERS), 3))
    shares: dict[Rubber, float] = {}
    for number, corner in enumerate(CORNERS):
        found = _on(past, stage, corner)
        if found is None:
            return None
        tyre, before, done = found
        spec = past.spec(tyre)
        if spec is None:
            return None
        tread, edge = _state(tyre, before)
        ran = run_stage(
            table,
            number,
            spec,
            TyreState(
                tread[None, None, :],
                edge[None, None, :],
                np.array([[done.start_tread_c]]),
                np.array([[done.start_bulk_c]]),
            ),
            cold_kpa=done.cold_kpa,
            set_c=done.set_c,
            set_altitude_m=stage.altitude_m,
            target_kpa=done.target_kpa,
        )
        mu[0, 0, number] = ran.mu[0, 0]
        rubber = Rubber(tyre.stock.use, tyre.stock.compound, done.ground)
        shares[rubber] = shares.get(rubber, 0.0) + 1.0 / len(CORNERS)
    time_s = float(stage_time_s(table, mu, 0.0)[0, 0])
    more_s = float(stage_time_s(table, mu * np.exp(SMALL_LN), 0.0)[0, 0])
    return shares, time_s, max(-np.log(more_s / time_s) / SMALL_LN, SMALL_LN)


def _on(
    past: PastRuns, stage: Stage, corner: str
) -> tuple[TyreNow, tuple[RunDone, ...], RunDone] | None:
    """Return the tyre of a corner on a stage with its runs before it."""
    for tyre in past.state.tyres.values():
        done = past.done(tyre)
        for number, one in enumerate(done):
            if one.stage is stage and one.run.place == corner and one.run.split == 1.0:
                return tyre, done[:number], one
    return None


def _state(
    tyre: TyreNow, before: tuple[RunDone, ...]
) -> tuple[np.ndarray[tuple[int, ...], np.dtype[np.float64]], ...]:
    """Return depth and edges of a tyre by the tables after some runs."""
    tread = np.array(tyre.stock.tread_mm) - sum(np.array(one.loss_mm) for one in before)
    edge = np.array(tyre.stock.edge_share)
    for one in before:
        edge = edge * np.array(one.edge_ratio)
    return np.maximum(tread, 0.5), edge
