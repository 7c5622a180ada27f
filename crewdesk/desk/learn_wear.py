"""Wear as the day has taught it: all that estimates and the call need."""

from dataclasses import replace
from math import exp

import numpy as np

from crewdesk.desk.learn_carry import begin, carried_rubbers
from crewdesk.desk.learn_readings import Walk, rubber_of, rubbers_run, walk
from crewdesk.desk.learn_runs import PastRuns, stage_order
from crewdesk.desk.learn_warnings import warnings_of
from crewdesk.desk.learn_words import (
    compared_sentence,
    corner_sentence,
    listed,
    wear_sentence,
)
from crewdesk.desk.learnt import (
    CornerLearnt,
    Layout,
    Learnt,
    Rubber,
    WearLearnt,
    nothing_learnt,
)
from crewdesk.physics.kalman import Belief
from crewdesk.physics.learning_wear import factor_band
from crewdesk.units import CORNERS

APART_LN_SD = 0.15
"""Doubt of the rubber alone under which it counts as told apart from its corners."""


def learn_wear_of(past: PastRuns) -> Learnt:
    """Return what was learnt of wear alone: all that estimates and the call need."""
    bundle, state = past.bundle, past.state
    carried = carried_rubbers(bundle)
    read = any(
        depth is not None
        for tyre in state.tyres.values()
        for reading in tyre.readings
        for depth in reading.tread_mm
    )
    if not read and not carried:
        return nothing_learnt()
    layout = Layout([*rubbers_run(past), *carried])
    start = begin(bundle, layout)
    told = walk(past, layout, start)
    return _learnt(past, layout, start, told)


def _learnt(past: PastRuns, layout: Layout, start: Belief, told: Walk) -> Learnt:
    """Return the outcome of a walk through the readings."""
    counts: dict[Rubber, int] = {}
    corner_counts = [0, 0, 0, 0]
    where: dict[Rubber, np.ndarray[tuple[int, ...], np.dtype[np.float64]]] = {}
    for pair, _ in told.pairs:
        share = layout.share(pair.parts)
        for rubber in {rubber_of(pair.tyre, run) for run in pair.runs}:
            counts[rubber] = counts.get(rubber, 0) + 1
            own = where.setdefault(rubber, np.zeros(len(CORNERS)))
            own += share[len(layout.rubbers) :]
        for corner in {corner for run in pair.runs for corner in run.corners}:
            corner_counts[corner] += 1
    order = stage_order(past.bundle)
    run = max((order[ref] + 1 for ref in past.state.stages_run if ref in order), default=0)
    wear = tuple(
        _wear(layout, start, told.belief, rubber, counts.get(rubber, 0), where.get(rubber))
        for rubber in layout.rubbers
    )
    carried = past.bundle.learnt
    learnt = Learnt(
        layout,
        told.belief,
        stages_since=max(run - told.stage, 0),
        readings=len(told.pairs),
        carried_from=carried.event if carried is not None and carried.wear else "",
        wear=wear,
        corners=tuple(
            _corner(layout, told.belief, c, corner_counts[c]) for c in range(len(CORNERS))
        ),
        compared=tuple(
            replace(one, sentence=compared_sentence(one)) if one.questioned else one
            for one in told.compared
        ),
        counts=counts,
        corner_counts=(corner_counts[0], corner_counts[1], corner_counts[2], corner_counts[3]),
        doubted=frozenset(told.doubted),
    )
    return replace(learnt, warnings=warnings_of(learnt, told))


def _wear(
    layout: Layout,
    start: Belief,
    now: Belief,
    rubber: Rubber,
    count: int,
    corners: np.ndarray[tuple[int, ...], np.dtype[np.float64]] | None,
) -> WearLearnt:
    """Return what was learnt of one compound on one kind of ground."""
    row = np.zeros(layout.size)
    row[layout.of(rubber)] = 1.0
    alone = row.copy()
    if corners is not None and corners.sum() > 0.0:
        row[len(layout.rubbers) :] = corners / corners.sum()
    mean, sd = now.value(row), now.sd(row)
    low, high = factor_band(mean, sd)
    before_low, before_high = factor_band(start.value(alone), start.sd(alone))
    axles = {c // 2 for c in range(len(CORNERS)) if corners is not None and corners[c] > 0.0}
    apart = now.sd(alone) < APART_LN_SD and len(axles) > 1
    ran = [CORNERS[c] for c in range(len(CORNERS)) if corners is not None and corners[c] > 0.0]
    one_axle = f"at {listed(ran)}" if len(axles) == 1 else ""
    sentence = wear_sentence(rubber, exp(mean), sd, one_axle)
    return WearLearnt(
        compound=rubber.compound,
        use=rubber.use,
        ground=rubber.ground,
        factor=exp(mean),
        low=low,
        high=high,
        before=exp(start.value(alone)),
        before_low=before_low,
        before_high=before_high,
        readings=count,
        rubber_factor=exp(now.value(alone)),
        told_apart=apart,
        sentence=sentence,
    )


def _corner(layout: Layout, now: Belief, corner: int, count: int) -> CornerLearnt:
    """Return what was learnt of one corner, beside the mean of the four."""
    first = len(layout.rubbers)
    row = np.zeros(layout.size)
    row[first + corner] = 1.0
    row[first:] -= 1.0 / len(CORNERS)
    mean, sd = now.value(row), now.sd(row)
    low, high = factor_band(mean, sd)
    # A corner is worth a sentence where it stands out of its own doubt.
    sentence = corner_sentence(CORNERS[corner], exp(mean), sd) if abs(mean) > sd else ""
    return CornerLearnt(CORNERS[corner], exp(mean), low, high, count, sentence)
