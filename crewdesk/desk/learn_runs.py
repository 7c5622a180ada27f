"""What every stage did to every tyre by the tables alone, before anything is learnt."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from crewdesk.conditions.moments import STATES, Conditions
from crewdesk.conditions.outlook import forecast_conditions
from crewdesk.desk.case import models_of
from crewdesk.desk.models import model_of
from crewdesk.desk.outlook import live_reports, moments_of
from crewdesk.desk.state import DayState, Run, TyreNow
from crewdesk.desk.targets import target_of
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.itinerary import Stage
from crewdesk.engine.specs import LOOSE_SIZE_M, known_size_m, tyre_spec
from crewdesk.engine.tables import build_stage, road_and_wait
from crewdesk.physics.heat import apply_map
from crewdesk.physics.stage import StageTable, run_stage
from crewdesk.physics.tyre import TyreSpec, TyreState
from crewdesk.units import CORNERS

COLD_UNDER_HOT_KPA = 40.0
"""Rise from cold to hot where nobody wrote down the cold pressure. Common practice."""
DEEP_MM = 99.0
"""Depth at which nothing is cut off at zero: a loss does not depend on the depth."""

Triple = tuple[float, float, float]

_WET = {"wet", "standing", "muddy"}
_COLD = {"frozen", "snow", "ice"}


def ground(surface: str, state: str) -> str:
    """Return the kind of ground that wear is learnt for, in the crew's words."""
    if surface in ("snow", "ice") or state in _COLD:
        return "snow and ice"
    if surface == "asphalt":
        return "asphalt" if state == "dry" else "wet asphalt"
    return "wet gravel" if state in _WET else "gravel"


@dataclass(frozen=True)
class RunDone:
    """One run of a tyre as the tables have it, with every learnt factor 1."""

    run: Run
    stage: Stage | None
    """None: cancelled later, or the rubber is unknown; the wear is then not known."""
    ground: str = ""
    corners: tuple[int, ...] = ()
    """Corners it may have been on, alike likely."""
    share: float = 0.0
    """Of the stage's length that this tyre ran."""
    loss_mm: Triple = (0.0, 0.0, 0.0)
    edge_ratio: Triple = (1.0, 1.0, 1.0)
    """Sharpness after over before."""
    tread_c: float = 0.0
    bulk_c: float = 0.0
    peak_c: float = 0.0
    air_c: float = 0.0
    start_tread_c: float = 0.0
    start_bulk_c: float = 0.0
    cold_kpa: float = 0.0
    set_c: float = 0.0
    target_kpa: float = 0.0
    ended: datetime | None = None

    @property
    def mean_loss_mm(self) -> float:
        """Return the loss of the three points together."""
        return sum(self.loss_mm) / 3.0


class PastRuns:
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
        self._done: dict[str, tuple[RunDone, ...]] = {}
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
                parts=conditions.part_states(stage.ref),
                cars_ahead=max(self.positions.get(stage.leg, 1) - 1, 0),
                width_m=self.size[0],
                diameter_m=self.size[1],
            )
        return self._tables[stage.ref]

    def ground_of(self, stage: Stage) -> str:
        """Return the kind of ground a stage was."""
        conditions = self.conditions
        if conditions is None or stage.ref not in conditions.keys:
            return ground(stage.surface, "dry")
        index = int(conditions.state[0, conditions.index(stage.ref)])
        return ground(stage.surface, STATES[index])

    def spec(self, tyre: TyreNow) -> TyreSpec | None:
        """Return the physics of a tyre; None where its rubber is not in the tables."""
        try:
            return tyre_spec(tyre.stock, model_of(tyre.stock, self.models))
        except ValueError:
            return None

    def done(self, tyre: TyreNow) -> tuple[RunDone, ...]:
        """Return the runs of a tyre in order."""
        if tyre.tyre_id not in self._done:
            self._done[tyre.tyre_id] = self.follow(tyre, tyre.runs)
        return self._done[tyre.tyre_id]

    def follow(
        self, tyre: TyreNow, runs: tuple[Run, ...], before: RunDone | None = None
    ) -> tuple[RunDone, ...]:
        """Return some runs of a tyre, the first of them after another run."""
        spec = self.spec(tyre)
        told: list[RunDone] = []
        last = before
        for run in runs:
            stage = self.stages.get(run.stage)
            if stage is None or spec is None:
                told.append(RunDone(run, None))
                continue
            last = self._one(tyre, run, stage, spec, last)
            told.append(last)
        return tuple(told)

    def _one(
        self, tyre: TyreNow, run: Run, stage: Stage, spec: TyreSpec, last: RunDone | None
    ) -> RunDone:
        """Take a tyre through one stage."""
        table = self.table(stage)
        tread_c, bulk_c = self._warmth(last, stage, table)
        corners = (
            (CORNERS.index(run.place),) if run.place in CORNERS else tuple(range(len(CORNERS)))
        )
        start = TyreState(
            tread_mm=np.full((1, 1, 3), DEEP_MM),
            edge=np.ones((1, 1, 3)),
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
        share = min(run.km / stage.km, 1.0) * run.split
        lost = DEEP_MM - np.mean([end.state.tread_mm[0, 0] for end in ends], axis=0)
        edge = np.mean([end.state.edge[0, 0] for end in ends], axis=0)
        return RunDone(
            run,
            stage,
            ground=self.ground_of(stage),
            corners=corners,
            share=share,
            loss_mm=_triple(lost * share),
            edge_ratio=_triple(edge**share),
            tread_c=float(np.mean([end.state.tread_c for end in ends])),
            bulk_c=float(np.mean([end.state.bulk_c for end in ends])),
            peak_c=float(np.mean([end.peak_tread_c for end in ends])),
            air_c=float(table.air_c[0]),
            start_tread_c=tread_c,
            start_bulk_c=bulk_c,
            cold_kpa=cold,
            set_c=set_c,
            target_kpa=target,
            ended=stage.due_utc + timedelta(seconds=float(table.time_s.mean())),
        )

    def _warmth(
        self, last: RunDone | None, stage: Stage, table: StageTable
    ) -> tuple[float, float]:
        """Return the temperatures with which a tyre comes to a start."""
        air_c = float(table.air_c[0])
        same_loop = (
            last is not None and last.stage is not None and last.stage.loop == stage.loop
        )
        if last is None or not same_loop or last.ended is None or last.stage is stage:
            return air_c, air_c
        seconds = (stage.due_utc - last.ended).total_seconds()
        way = road_and_wait(
            self.bundle.event.car, stage.liaison_before_km, seconds, table.air_c, table.road_c
        )
        tread_c, bulk_c = apply_map(way, np.array([[last.tread_c]]), np.array([[last.bulk_c]]))
        return float(tread_c[0, 0]), float(bulk_c[0, 0])


def last_done(done: tuple[RunDone, ...]) -> RunDone | None:
    """Return the last run whose wear is known."""
    return next((one for one in reversed(done) if one.stage is not None), None)


def stage_order(bundle: EventBundle) -> Mapping[str, int]:
    """Return the place of each stage in the event."""
    return {stage.ref: number for number, stage in enumerate(bundle.itinerary.stages)}


def _triple(values: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> Triple:
    return (float(values[0]), float(values[1]), float(values[2]))
