"""How deep each tyre is now: as read, or reckoned on from the last reading stage by stage."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from math import sqrt

from crewdesk.desk.ahead import Ahead, told_of
from crewdesk.desk.answer import Estimate
from crewdesk.desk.learn_readings import rubber_of
from crewdesk.desk.learn_runs import PastRuns, RunDone, Triple, last_done
from crewdesk.desk.learn_wear import learn_wear_of
from crewdesk.desk.learnt import Learnt, LossPart
from crewdesk.desk.state import DayState, ReadingNow, Run, TyreNow
from crewdesk.documents.bundle import EventBundle
from crewdesk.physics.bands import depth_band_mm
from crewdesk.physics.learning_wear import GAUGE_SD_MM
from crewdesk.physics.tyre import TyreSpec
from crewdesk.units import CORNERS, Place

READ_SD_MM = GAUGE_SD_MM
"""A depth read at one point may be off by this much."""
NEW_SD_MM = 0.05
"""A new tyre is as deep as its maker says, give or take this. Tuning value."""


@dataclass(frozen=True)
class Step:
    """A tyre after one stage, or after a reading (no stage)."""

    stage: str
    place: str
    tread_mm: Triple
    edge_share: Triple
    sd_mm: float
    measured: bool = False


@dataclass(frozen=True)
class History:
    """A tyre's way through the event so far."""

    tyre_id: str
    start_mm: Triple
    start_edge: Triple
    steps: tuple[Step, ...] = ()
    sd_mm: float = NEW_SD_MM
    measured: bool = True
    """Read, or not run, since it last ran."""
    tread_c: float = 0.0
    bulk_c: float = 0.0
    """At the last stop line; of no meaning where ``ended`` is None."""
    ended: datetime | None = None
    """When it last crossed a stop line at this event."""

    @property
    def tread_mm(self) -> Triple:
        """Return the depth now."""
        return self.steps[-1].tread_mm if self.steps else self.start_mm

    @property
    def edge_share(self) -> Triple:
        """Return the sharpness of the edges now."""
        return self.steps[-1].edge_share if self.steps else self.start_edge


@dataclass
class _Now:
    """A tyre while it is followed."""

    tread: Triple
    edge: Triple
    learnt: Learnt
    read_sd_mm: float = NEW_SD_MM
    parts: list[LossPart] = field(default_factory=list)
    """What it lost since it was read."""
    side: str = ""
    """Side of the car it last ran on."""
    peak_c: float | None = None
    """Warmest tread of the stages followed."""
    last: RunDone | None = None
    steps: list[Step] = field(default_factory=list)

    @property
    def lost_mm(self) -> float:
        """Return the loss since it was read."""
        return sum(part.loss_mm for part in self.parts)

    @property
    def sd_mm(self) -> float:
        """Return how far off the depth may be."""
        return sqrt(self.read_sd_mm**2 + self.learnt.loss_sd_mm(self.parts) ** 2)


def estimates_of(
    bundle: EventBundle, state: DayState, now_utc: datetime
) -> dict[str, Estimate]:
    """Return the best knowledge of every tyre."""
    return {
        tyre_id: estimate_of(history)
        for tyre_id, history in histories(bundle, state, now_utc).items()
    }


def estimate_of(history: History) -> Estimate:
    """Return the best knowledge of a tyre at the end of its way."""
    return Estimate(
        tyre_id=history.tyre_id,
        tread_mm=history.tread_mm,
        sd_mm=history.sd_mm,
        edge_share=history.edge_share,
        measured=history.measured,
    )


def histories(bundle: EventBundle, state: DayState, now_utc: datetime) -> dict[str, History]:
    """Return the way of every tyre through the event so far."""
    return told_ways(bundle, state, now_utc)[0]


def told_ways(
    bundle: EventBundle, state: DayState, now_utc: datetime
) -> tuple[dict[str, History], Learnt]:
    """Return the way of every tyre, and what was learnt of wear on the way."""
    past = _Past(bundle, state, now_utc)
    return {t.tyre_id: past.follow(t) for t in state.tyres.values()}, past.learnt


def predicted_mm(
    bundle: EventBundle,
    state: DayState,
    fitting: Mapping[Place, str | None],
    stages: tuple[str, ...],
    now_utc: datetime,
) -> dict[str, Triple]:
    """Return the least tread of each corner's tyre after some stages: best, low and high.

    80 in 100 lie between low and high. A tyre nobody can reckon is left out.
    """
    found = ahead_of(bundle, state, fitting, stages, now_utc)
    return {tyre_id: ahead.mm for tyre_id, ahead in found.items()}


def ahead_of(
    bundle: EventBundle,
    state: DayState,
    fitting: Mapping[Place, str | None],
    stages: tuple[str, ...],
    now_utc: datetime,
) -> dict[str, Ahead]:
    """Return what some stages will do to the tyre of each corner."""
    if not stages:
        return {}
    past = _Past(bundle, state, now_utc, stages)
    known = {stage.ref: stage for stage in bundle.itinerary.stages}
    found: dict[str, Ahead] = {}
    for corner in CORNERS:
        tyre = state.tyres.get(fitting.get(corner) or "")
        if tyre is None:
            continue
        now, spec = past.now_of(tyre)
        if spec is None:
            continue
        now.peak_c = None
        runs = tuple(Run(ref, corner, known[ref].km) for ref in stages)
        for one in past.runs.follow(tyre, runs, now.last):
            past.take(now, tyre, one)
        least = min(range(3), key=lambda point: now.tread[point])
        depth = now.tread[least]
        lost = now.lost_mm
        ln_sd = past.learnt.loss_sd_mm(now.parts) / lost if lost > 0.0 else 0.0
        low, high = depth_band_mm(depth + lost, lost, ln_sd, now.read_sd_mm)
        dry_km, float_kmh = (None, None)
        if past.runs.conditions is not None:
            ways = [known[ref] for ref in stages]
            mean_mm = sum(now.tread) / 3
            dry_km, float_kmh = told_of(tyre.stock, ways, past.runs.conditions, mean_mm)
        found[tyre.tyre_id] = Ahead(
            mm=(depth, float(low), float(high)),
            peak_c=now.peak_c,
            window_hi_c=spec.compound.t_hi_c,
            dry_km=dry_km,
            float_kmh=float_kmh,
        )
    return found


EIGHTY = 1.2815515655446004
"""80 in 100 of a normal spread lie within this many of its standard deviations."""


class _Past:
    """The stages that were driven, with what the readings have taught laid over them."""

    def __init__(
        self,
        bundle: EventBundle,
        state: DayState,
        now_utc: datetime,
        ahead: tuple[str, ...] = (),
    ) -> None:
        self.runs = PastRuns(bundle, state, now_utc, ahead)
        self.learnt = learn_wear_of(self.runs)

    def follow(self, tyre: TyreNow) -> History:
        """Return the way of one tyre."""
        now, _ = self.now_of(tyre)
        measured = all(step.measured for step in now.steps[-1:])
        return History(
            tyre_id=tyre.tyre_id,
            start_mm=tyre.stock.tread_mm,
            start_edge=tyre.stock.edge_share,
            steps=tuple(now.steps),
            sd_mm=now.sd_mm,
            measured=measured,
            tread_c=now.last.tread_c if now.last is not None else 0.0,
            bulk_c=now.last.bulk_c if now.last is not None else 0.0,
            ended=now.last.ended if now.last is not None else None,
        )

    def now_of(self, tyre: TyreNow) -> tuple[_Now, TyreSpec | None]:
        """Return a tyre as it is now, and its physics where its rubber is known."""
        ran = tyre.stock.side_run if tyre.stock.side_run in ("left", "right") else ""
        now = _Now(tyre.stock.tread_mm, tyre.stock.edge_share, self.learnt, side=ran)
        if not tyre.stock.new:
            now.read_sd_mm = READ_SD_MM
        done = self.runs.done(tyre)
        for index in range(len(done) + 1):
            trusted = (tyre.tyre_id, index) not in self.learnt.doubted
            for reading in tyre.readings:
                if reading.runs_before == index and _take_reading(now, reading, trusted):
                    now.steps.append(
                        Step("", "", now.tread, now.edge, now.sd_mm, measured=True)
                    )
            if index < len(done):
                self.take(now, tyre, done[index])
        now.last = last_done(done)
        return now, self.runs.spec(tyre)

    def take(self, now: _Now, tyre: TyreNow, one: RunDone) -> None:
        """Take a tyre through one stage."""
        if one.stage is not None:
            side = side_of(one.run.place)
            if side and now.side and side != now.side:
                # On the other side it turns the other way: what braked now drives.
                now.edge = (now.edge[1], now.edge[0], now.edge[2])
            now.side = side or now.side
            part = LossPart(rubber_of(tyre, one), one.corners, max(one.loss_mm))
            factor = self.learnt.part_factor(part)
            inner, middle, outer = (
                max(depth - factor * lost, 0.0)
                for depth, lost in zip(now.tread, one.loss_mm, strict=True)
            )
            now.tread = (inner, middle, outer)
            brake, drive, side_edge = (
                edge * ratio**factor
                for edge, ratio in zip(now.edge, one.edge_ratio, strict=True)
            )
            now.edge = (brake, drive, side_edge)
            now.parts.append(LossPart(part.rubber, part.corners, factor * part.loss_mm))
            now.peak_c = one.peak_c if now.peak_c is None else max(now.peak_c, one.peak_c)
        # Cancelled later, or of unknown rubber: the kilometres count, the wear does not.
        place = one.run.place or ""
        now.steps.append(Step(one.run.stage, place, now.tread, now.edge, now.sd_mm))


def side_of(place: Place | None) -> str:
    """Return the side of a corner; empty for a carried wheel or an unknown corner."""
    if place in ("FL", "RL"):
        return "left"
    return "right" if place in ("FR", "RR") else ""


def _take_reading(now: _Now, reading: ReadingNow, trusted: bool) -> bool:
    """Put a reading in place of what was reckoned; say whether a depth was read."""
    if reading.edge_share is not None:
        now.edge = reading.edge_share
    if not trusted or all(depth is None for depth in reading.tread_mm):
        return False
    points = [
        read if read is not None else reckoned
        for read, reckoned in zip(reading.tread_mm, now.tread, strict=True)
    ]
    now.tread = (points[0], points[1], points[2])
    now.parts.clear()
    now.read_sd_mm = READ_SD_MM
    return True
