"""From the depths in the book to what they teach: each beside the one before it."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import exp, sqrt

import numpy as np

from crewdesk.desk.learn_runs import PastRuns, RunDone, stage_order
from crewdesk.desk.learnt import Compared, Floats, Layout, LossPart, Rubber
from crewdesk.desk.state import ReadingNow, TyreNow
from crewdesk.physics import kalman
from crewdesk.physics.bands import depth_band_mm
from crewdesk.physics.learning_checks import joint_z2
from crewdesk.physics.learning_wear import (
    GAUGE_SD_MM,
    STAGE_LN_SD,
    WearReading,
    Weighed,
    learn_wear,
    loss_ln_sd,
    loss_sd_mm,
    odd_point,
)
from crewdesk.units import CORNERS

POINTS = (0, 1, 2)


@dataclass(frozen=True)
class Anchor:
    """The newest trusted depth of one point of a tyre."""

    depth_mm: float
    runs_before: int
    from_stock: bool


Anchors = tuple[Anchor, Anchor, Anchor]


def stock_anchors(tyre: TyreNow) -> Anchors:
    """Return the depths a tyre came to the event with."""
    inner, middle, outer = (Anchor(depth, 0, True) for depth in tyre.stock.tread_mm)
    return inner, middle, outer


@dataclass(frozen=True)
class Pair:
    """Two depths of a tyre with the runs between them."""

    tyre: TyreNow
    reading: ReadingNow
    points: tuple[int, ...]
    before_mm: tuple[float, ...]
    after_mm: tuple[float, ...]
    runs: tuple[RunDone, ...]
    from_stock: bool

    @cached_property
    def told_mm(self) -> float:
        """Return the loss by the tables, mean of the points."""
        return sum(self.point_loss(z) for z in self.points) / len(self.points)

    @property
    def measured_mm(self) -> float:
        """Return the loss as read, mean of the points."""
        return (sum(self.before_mm) - sum(self.after_mm)) / len(self.points)

    def point_loss(self, point: int) -> float:
        """Return the loss of one point by the tables."""
        return sum(run.loss_mm[point] for run in self.runs)

    @cached_property
    def parts(self) -> tuple[LossPart, ...]:
        """Return the loss by compound, ground and corner."""
        return tuple(
            LossPart(
                rubber_of(self.tyre, run),
                run.corners,
                sum(run.loss_mm[z] for z in self.points) / len(self.points),
            )
            for run in self.runs
        )


def rubber_of(tyre: TyreNow, run: RunDone) -> Rubber:
    """Return the compound and the ground of a run."""
    return Rubber(tyre.stock.use, tyre.stock.compound, run.ground)


def pair_of(
    tyre: TyreNow, reading: ReadingNow, anchors: Anchors, done: Sequence[RunDone]
) -> Pair | None:
    """Return a reading with the depths before it; None where nothing can be compared."""
    read = [z for z in POINTS if reading.tread_mm[z] is not None]
    since = [anchors[z].runs_before for z in read]
    if not read:
        return None
    # Points last read at different times: those that most have in common, the newest first.
    start = max(set(since), key=lambda index: (since.count(index), index))
    points = tuple(z for z in read if anchors[z].runs_before == start)
    runs = tuple(done[start : reading.runs_before])
    if not runs or any(run.stage is None for run in runs):
        return None
    after = [reading.tread_mm[z] for z in points]
    pair = Pair(
        tyre,
        reading,
        points,
        tuple(anchors[z].depth_mm for z in points),
        tuple(depth for depth in after if depth is not None),
        runs,
        all(anchors[z].from_stock for z in points),
    )
    return pair if pair.told_mm > 0.0 else None


def anchored(anchors: Anchors, reading: ReadingNow) -> Anchors:
    """Return the trusted depths after a reading that is taken as it is."""
    inner, middle, outer = (
        anchors[z] if depth is None else Anchor(depth, reading.runs_before, False)
        for z, depth in zip(POINTS, reading.tread_mm, strict=True)
    )
    return inner, middle, outer


@dataclass
class Walk:
    """Where the learning has come to."""

    layout: Layout
    belief: kalman.Belief
    stage: int = 0
    """Stages of the event behind the last reading."""
    anchors: dict[str, Anchors] = field(default_factory=dict)
    compared: list[Compared] = field(default_factory=list)
    pairs: list[tuple[Pair, Weighed]] = field(default_factory=list)
    unrun: list[tuple[ReadingNow, float]] = field(default_factory=list)
    """Readings of tyres that had not run yet, with how much deeper they are than the stock."""
    moments: list[tuple[int, float]] = field(default_factory=list)
    """Count of the readings of each moment, and how far off they were together."""
    doubted: set[tuple[str, int]] = field(default_factory=set)
    """Tyre and runs before a reading that is far off and neither confirmed nor read again."""


def rubbers_run(past: PastRuns) -> set[Rubber]:
    """Return every compound with every ground it has run on."""
    return {
        rubber_of(tyre, run)
        for tyre in past.state.tyres.values()
        for run in past.done(tyre)
        if run.stage is not None
    }


def walk(past: PastRuns, layout: Layout, belief: kalman.Belief) -> Walk:
    """Take every reading of the day in, in order of time."""
    state = past.state
    now = Walk(layout, belief)
    now.anchors = {tyre.tyre_id: stock_anchors(tyre) for tyre in state.tyres.values()}
    for count, moment in _moments(past):
        if count > now.stage:
            grown = np.zeros(layout.size)
            grown[: len(layout.rubbers)] = (count - now.stage) * STAGE_LN_SD**2
            now.belief = kalman.widened(now.belief, grown)
            now.stage = count
        _take(past, now, moment)
    return now


def _moments(past: PastRuns) -> list[tuple[int, list[tuple[TyreNow, ReadingNow]]]]:
    """Return the depth readings of each moment, with the stages run before it.

    Of a tyre read twice without running the last reading of each point stands.
    """
    order = stage_order(past.bundle)
    rows: list[tuple[int, TyreNow, ReadingNow]] = []
    for tyre in past.state.tyres.values():
        merged: dict[int, ReadingNow] = {}
        for reading in tyre.readings:
            if all(depth is None for depth in reading.tread_mm):
                continue
            earlier = merged.get(reading.runs_before)
            merged[reading.runs_before] = _over(earlier, reading) if earlier else reading
        for reading in merged.values():
            runs = tyre.runs[: reading.runs_before]
            ran = max((order.get(run.stage, -1) + 1 for run in runs), default=0)
            rows.append((ran, tyre, reading))
    rows.sort(key=lambda row: (row[2].at, row[1].tyre_id))
    moments: list[tuple[int, list[tuple[TyreNow, ReadingNow]]]] = []
    count = 0
    for ran, tyre, reading in rows:
        # A tyre that lay in the van is read when the car has run what it has run.
        count = max(count, ran)
        if not moments or moments[-1][0] != count:
            moments.append((count, []))
        moments[-1][1].append((tyre, reading))
    return moments


def _over(earlier: ReadingNow, later: ReadingNow) -> ReadingNow:
    """Return a reading laid over an earlier one of the same moment."""
    inner, middle, outer = (
        old if new is None else new
        for old, new in zip(earlier.tread_mm, later.tread_mm, strict=True)
    )
    return replace(later, tread_mm=(inner, middle, outer))


def _take(past: PastRuns, now: Walk, moment: list[tuple[TyreNow, ReadingNow]]) -> None:
    """Take the readings of one moment in, all together."""
    pairs: list[Pair] = []
    for tyre, reading in sorted(moment, key=lambda one: one[0].tyre_id):
        anchors = now.anchors[tyre.tyre_id]
        pair = pair_of(tyre, reading, anchors, past.done(tyre))
        if pair is not None:
            pairs.append(pair)
            continue
        if reading.runs_before == 0 and not tyre.stock.stage_km:
            off = [
                depth - anchor.depth_mm
                for depth, anchor in zip(reading.tread_mm, anchors, strict=True)
                if depth is not None and anchor.from_stock
            ]
            if off:
                now.unrun.append((reading, sum(off) / len(off)))
        now.anchors[tyre.tyre_id] = anchored(anchors, reading)
    shares = [now.layout.share(pair.parts) for pair in pairs]
    odd = [_odd(pair, _lost(pair, now, h)) for pair, h in zip(pairs, shares, strict=True)]
    used = [_fitting(pair, far) for pair, far in zip(pairs, odd, strict=True)]
    readings = [
        WearReading(
            one.told_mm,
            one.measured_mm,
            h if one is pair else now.layout.share(one.parts),
            _sd_mm(one, far[1] if one is pair else 0.0),
        )
        for pair, one, far, h in zip(pairs, used, odd, shares, strict=True)
    ]
    ranges = [
        (_lost(p, now, h), loss_ln_sd(now.belief, h))
        for p, h in zip(pairs, shares, strict=True)
    ]
    before = now.belief
    now.belief, seen = learn_wear(before, readings)
    if seen:
        now.moments.append((len(seen), joint_z2(before, seen)))
    for pair, fit, far, told, weighed in zip(pairs, used, odd, ranges, seen, strict=True):
        one = _compared(pair, weighed, far[1], *told)
        now.compared.append(one)
        now.pairs.append((fit, weighed))
        tyre_id = pair.tyre.tyre_id
        if one.questioned and not pair.reading.confirmed:
            now.doubted.add((tyre_id, pair.reading.runs_before))
        else:
            now.anchors[tyre_id] = anchored(now.anchors[tyre_id], pair.reading)


def _lost(pair: Pair, now: Walk, share: Floats) -> list[float]:
    """Return the loss expected at each point with all that is known so far."""
    factor = exp(now.belief.value(share))
    return [factor * pair.point_loss(z) for z in pair.points]


def _odd(pair: Pair, lost: Sequence[float]) -> tuple[int, float]:
    """Return the point that fits least with the others, and how far off it is."""
    if len(pair.points) < 2:
        return 0, 0.0
    expected = [before - mm for before, mm in zip(pair.before_mm, lost, strict=True)]
    return odd_point(pair.after_mm, expected, sum(lost) / len(lost))


def _fitting(pair: Pair, odd: tuple[int, float]) -> Pair:
    """Return a pair without the point that does not fit with the other two."""
    which, far = odd
    if far <= kalman.QUESTIONED_Z2 or len(pair.points) < len(POINTS):
        return pair
    kept = [n for n in range(len(pair.points)) if n != which]
    return replace(
        pair,
        points=tuple(pair.points[n] for n in kept),
        before_mm=tuple(pair.before_mm[n] for n in kept),
        after_mm=tuple(pair.after_mm[n] for n in kept),
    )


def _sd_mm(pair: Pair, odd: float) -> float:
    """Return the doubt of a measured loss; two points that disagree make it worse."""
    sd = loss_sd_mm(points=len(pair.points))
    return sd * sqrt(odd) if odd > kalman.QUESTIONED_Z2 else sd


def _compared(
    pair: Pair, weighed: Weighed, odd: float, lost: Sequence[float], ln_sd: float
) -> Compared:
    """Return a reading beside what was expected of it before it was taken in."""
    expected = [before - mm for before, mm in zip(pair.before_mm, lost, strict=True)]
    low, high = depth_band_mm(pair.before_mm, lost, ln_sd, sqrt(2.0) * GAUGE_SD_MM)
    corners = sorted({corner for run in pair.runs for corner in run.corners})
    grounds = dict.fromkeys(run.ground for run in pair.runs)
    z = sqrt(weighed.z2)
    return Compared(
        entry_id=pair.reading.entry_id,
        tyre_id=pair.tyre.tyre_id,
        at=pair.reading.at,
        compound=pair.tyre.stock.compound,
        ground=" and ".join(grounds),
        corner=" ".join(CORNERS[c] for c in corners),
        stages=tuple(run.run.stage for run in pair.runs),
        expected_loss_mm=sum(lost) / len(lost),
        measured_loss_mm=pair.measured_mm,
        off=z if pair.measured_mm >= weighed.expected_mm else -z,
        weight=weighed.weight,
        questioned=max(weighed.z2, odd) > kalman.QUESTIONED_Z2,
        confirmed=pair.reading.confirmed,
        from_stock=pair.from_stock,
        points=pair.points,
        read_mm=pair.after_mm,
        expected_mm=tuple(expected),
        low_mm=tuple(float(mm) for mm in low),
        high_mm=tuple(float(mm) for mm in high),
        grounds=tuple(grounds),
    )
