"""How deep each tyre is now: as read, or reckoned on from the last reading stage by stage."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from math import sqrt

import numpy as np

from crewdesk.conditions.moments import Conditions
from crewdesk.conditions.outlook import forecast_conditions
from crewdesk.desk.answer import Estimate
from crewdesk.desk.case import models_of
from crewdesk.desk.models import model_of
from crewdesk.desk.outlook import live_reports, moments_of
from crewdesk.desk.state import DayState, ReadingNow, Run, TyreNow
from crewdesk.desk.targets import target_of
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.itinerary import Stage
from crewdesk.engine.specs import LOOSE_SIZE_M, known_size_m, tyre_spec
from crewdesk.engine.tables import build_stage, road_and_wait
from crewdesk.physics.heat import apply_map
from crewdesk.physics.stage import StageTable, run_stage
from crewdesk.physics.tyre import TyreSpec, TyreState
from crewdesk.units import CORNERS, Place

READ_SD_MM = 0.05
"""A depth just measured may be off by this much. Tuning value of this project."""
WEAR_SD = 0.48
"""Standard deviation of ln(wear) before any reading (compound, corner, model error)."""
COLD_UNDER_HOT_KPA = 40.0
"""Rise from cold to hot where nobody wrote down the cold pressure. Common practice."""

Triple = tuple[float, float, float]


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
    sd_mm: float = READ_SD_MM
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
    lost_mm: float = 0.0
    side: str = ""
    """Side of the car it last ran on."""
    stage: Stage | None = None
    tread_c: float = 0.0
    bulk_c: float = 0.0
    ended: datetime | None = None
    steps: list[Step] = field(default_factory=list)

    @property
    def sd_mm(self) -> float:
        """Return how far off the depth may be."""
        return sqrt(READ_SD_MM**2 + (WEAR_SD * self.lost_mm) ** 2)


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
    past = _Past(bundle, state, now_utc)
    return {tyre.tyre_id: past.follow(tyre) for tyre in state.tyres.values()}


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
    if not stages:
        return {}
    past = _Past(bundle, state, now_utc, stages)
    known = {stage.ref: stage for stage in bundle.itinerary.stages}
    found: dict[str, Triple] = {}
    for corner in CORNERS:
        tyre = state.tyres.get(fitting.get(corner) or "")
        if tyre is None:
            continue
        now, spec = past.now_of(tyre)
        if spec is None:
            continue
        before_sd, before = now.sd_mm, now.tread
        now.lost_mm = 0.0
        now.steps.clear()
        for ref in stages:
            past.run(now, tyre, Run(ref, corner, known[ref].km), spec)
        least = min(range(3), key=lambda point: now.tread[point])
        depth = now.tread[least]
        sd = sqrt(before_sd**2 + (WEAR_SD * (before[least] - depth)) ** 2)
        found[tyre.tyre_id] = (depth, max(depth - EIGHTY * sd, 0.0), depth + EIGHTY * sd)
    return found


EIGHTY = 1.2815515655446004
"""80 in 100 of a normal spread lie within this many of its standard deviations."""


class _Past:
    """The stages that were driven, each worked out once."""

    def __init__(
        self,
        bundle: EventBundle,
        state: DayState,
        now_utc: datetime,
        ahead: tuple[str, ...] = (),
    ) -> None:
        self.bundle = bundle
        self.state = state
        self.models = models_of(bundle)
        run = {r.stage for tyre in state.tyres.values() for r in tyre.runs} | set(ahead)
        self.stages = {s.ref: s for s in bundle.itinerary.stages if s.ref in run}
        self.conditions: Conditions | None = None
        if self.stages:
            self.conditions = forecast_conditions(
                bundle.weather,
                moments_of(bundle, list(self.stages.values()), ()),
                live_reports(bundle, state),
                now_utc=now_utc,
                n_scenarios=1,
            )
        self.positions = {leg.leg: leg.position for leg in bundle.event.legs}
        self._tables: dict[str, StageTable] = {}
        width, diameter = known_size_m(bundle.event.car.tyre_size) or LOOSE_SIZE_M
        self.size = (width, diameter)

    def table(self, stage: Stage) -> StageTable:
        """Return the table of a stage."""
        if stage.ref not in self._tables:
            conditions = self.conditions
            assert conditions is not None  # there are stages, so there are conditions
            column = conditions.index(stage.ref)
            self._tables[stage.ref] = build_stage(
                self.bundle.event.car,
                self.bundle.event.settings,
                stage,
                air_c=np.ascontiguousarray(conditions.air_c[:, column]),
                road_c=np.ascontiguousarray(conditions.road_c[:, column]),
                state=np.asarray(conditions.state[:, column]),
                cars_ahead=max(self.positions.get(stage.leg, 1) - 1, 0),
                width_m=self.size[0],
                diameter_m=self.size[1],
            )
        return self._tables[stage.ref]

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
            tread_c=now.tread_c,
            bulk_c=now.bulk_c,
            ended=now.ended,
        )

    def now_of(self, tyre: TyreNow) -> tuple[_Now, TyreSpec | None]:
        """Return a tyre as it is now, and its physics where its rubber is known."""
        ran = tyre.stock.side_run if tyre.stock.side_run in ("left", "right") else ""
        now = _Now(tyre.stock.tread_mm, tyre.stock.edge_share, side=ran)
        try:
            spec = tyre_spec(tyre.stock, model_of(tyre.stock, self.models))
        except ValueError:  # a compound outside the catalogue: only readings tell
            spec = None
        for index in range(len(tyre.runs) + 1):
            for reading in tyre.readings:
                if reading.runs_before == index and _take_reading(now, reading):
                    now.steps.append(
                        Step("", "", now.tread, now.edge, now.sd_mm, measured=True)
                    )
            if index < len(tyre.runs):
                self.run(now, tyre, tyre.runs[index], spec)
        return now, spec

    def run(self, now: _Now, tyre: TyreNow, run: Run, spec: TyreSpec | None) -> None:
        """Take a tyre through one stage."""
        stage = self.stages.get(run.stage)
        if stage is None or spec is None:
            # Cancelled later, or of unknown rubber: the kilometres count, the wear does not.
            now.steps.append(Step(run.stage, run.place or "", now.tread, now.edge, now.sd_mm))
            return
        table = self.table(stage)
        tread_c, bulk_c = self._warmth(now, stage, table)
        corners = (
            [CORNERS.index(run.place)] if run.place in CORNERS else list(range(len(CORNERS)))
        )
        share = min(run.km / stage.km, 1.0) * run.split
        side = side_of(run.place)
        if side and now.side and side != now.side:
            # On the other side it turns the other way: what braked now drives.
            now.edge = (now.edge[1], now.edge[0], now.edge[2])
        now.side = side or now.side
        start = TyreState(
            tread_mm=np.array(now.tread)[None, None, :],
            edge=np.array(now.edge)[None, None, :],
            tread_c=np.array([[tread_c]]),
            bulk_c=np.array([[bulk_c]]),
        )
        target = target_of(stage)
        cold = tyre.cold_set_kpa or target - COLD_UNDER_HOT_KPA
        set_c = tyre.set_at_c if tyre.set_at_c is not None else float(table.air_c[0])
        ends = [
            run_stage(
                table,
                corner,
                spec,
                start,
                cold_kpa=cold,
                set_c=set_c,
                set_altitude_m=stage.altitude_m,
                target_kpa=target,
            )
            for corner in corners
        ]
        tread = np.mean([end.state.tread_mm[0, 0] for end in ends], axis=0)
        edge = np.mean([end.state.edge[0, 0] for end in ends], axis=0)
        before_tread, before_edge = np.array(now.tread), np.array(now.edge)
        lost = (before_tread - tread) * share
        now.tread = _triple(before_tread - lost)
        now.edge = _triple(before_edge * (edge / np.maximum(before_edge, 1e-12)) ** share)
        now.lost_mm += float(lost.max())
        now.stage = stage
        now.tread_c = float(np.mean([end.state.tread_c for end in ends]))
        now.bulk_c = float(np.mean([end.state.bulk_c for end in ends]))
        now.ended = stage.due_utc + timedelta(seconds=float(table.time_s.mean()))
        now.steps.append(Step(run.stage, run.place or "", now.tread, now.edge, now.sd_mm))

    def _warmth(self, now: _Now, stage: Stage, table: StageTable) -> tuple[float, float]:
        """Return the temperatures with which a tyre comes to a start."""
        air_c = float(table.air_c[0])
        same_loop = now.stage is not None and now.stage.loop == stage.loop
        if not same_loop or now.ended is None or now.stage is stage:
            return air_c, air_c
        seconds = (stage.due_utc - now.ended).total_seconds()
        way = road_and_wait(
            self.bundle.event.car, stage.liaison_before_km, seconds, table.air_c, table.road_c
        )
        tread_c, bulk_c = apply_map(way, np.array([[now.tread_c]]), np.array([[now.bulk_c]]))
        return float(tread_c[0, 0]), float(bulk_c[0, 0])


def side_of(place: Place | None) -> str:
    """Return the side of a corner; empty for a carried wheel or an unknown corner."""
    if place in ("FL", "RL"):
        return "left"
    return "right" if place in ("FR", "RR") else ""


def _triple(values: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> Triple:
    return (float(values[0]), float(values[1]), float(values[2]))


def _take_reading(now: _Now, reading: ReadingNow) -> bool:
    """Put a reading in place of what was reckoned; say whether a depth was read."""
    if reading.edge_share is not None:
        now.edge = reading.edge_share
    if all(depth is None for depth in reading.tread_mm):
        return False
    points = [
        read if read is not None else reckoned
        for read, reckoned in zip(reading.tread_mm, now.tread, strict=True)
    ]
    now.tread = (points[0], points[1], points[2])
    now.lost_mm = 0.0
    return True
