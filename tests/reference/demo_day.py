"""The demonstration day: three loops of two gravel stages, one set of tyres.

Loops are alike but for the weather. Each begins with tyres at air temperature, then 12 km
of road section, SS1, 18 km, SS2, 18 km. Road sections at 50 km/h with 5 J/m; pressures on
target; no spares.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from crewdesk.physics import heat
from crewdesk.physics.car import CarParams
from crewdesk.physics.numbers import ModelNumbers
from crewdesk.physics.stage import StageRun, StageTable, run_stage, stage_table, stage_time_s
from crewdesk.physics.surface import StageSurface, SurfaceParams
from crewdesk.physics.tyre import TyreSpec, TyreState

WEATHER_C = ((9.0, 11.0), (16.0, 24.0), (22.0, 34.0))


@dataclass(frozen=True)
class DemoStage:
    """A stage of the demonstration."""

    before_km: float
    km: float
    kmh: float
    twist: float
    right_share: float
    surface: StageSurface


def gravel_stages(surfaces: dict[str, SurfaceParams]) -> tuple[DemoStage, DemoStage]:
    return (
        DemoStage(12, 14.2, 96, 0.6, 0.50, StageSurface(surfaces["gravel_hard"], 0.45)),
        DemoStage(18, 10.8, 84, 0.7, 0.42, StageSurface(surfaces["gravel_rock"], 0.75)),
    )


def asphalt_stages(surfaces: dict[str, SurfaceParams]) -> tuple[DemoStage, DemoStage]:
    return (
        DemoStage(12, 14.2, 108, 0.6, 0.50, StageSurface(surfaces["asphalt_smooth"], 0.15)),
        DemoStage(18, 10.8, 100, 0.7, 0.45, StageSurface(surfaces["asphalt_abras"], 0.20)),
    )


def new_state(spec: TyreSpec, at_c: float) -> TyreState:
    return TyreState(
        tread_mm=np.full((1, 1, 3), spec.tread_new_mm),
        edge=np.ones((1, 1, 3)),
        tread_c=np.full((1, 1), at_c),
        bulk_c=np.full((1, 1), at_c),
    )


def on_target(table: StageTable, corner: int, spec: TyreSpec, state: TyreState) -> StageRun:
    """Run a stage with the hot pressure exactly on its target."""
    given = {"cold_kpa": 150.0, "set_c": 16.0, "set_altitude_m": 0.0}
    first = run_stage(table, corner, spec, state, target_kpa=200.0, **given)
    reached = float(first.p_hot_kpa[0, 0])
    return run_stage(table, corner, spec, state, target_kpa=reached, **given)


@dataclass(frozen=True)
class Loop:
    """What one loop did."""

    loss_mm: np.ndarray  # (4,)
    mean_tread_c: np.ndarray  # (4,)
    time_s: float
    km: float

    @property
    def s_km(self) -> float:
        return self.time_s / self.km


def table_of(
    car: CarParams,
    stage: DemoStage,
    air_c: float,
    road_c: float,
    numbers: ModelNumbers,
    specs: Sequence[TyreSpec],
    camber_deg: tuple[float, float] = (-1.0, -1.0),
) -> StageTable:
    return stage_table(
        car,
        km=stage.km,
        avg_kmh=stage.kmh,
        twist=stage.twist,
        right_share=stage.right_share,
        cuts=0.2,
        aggressiveness=0.8,
        surfaces=[stage.surface],
        surface_of=[0],
        air_c=[air_c],
        road_c=[road_c],
        altitude_m=0.0,
        camber_deg=camber_deg,
        tyre_width_m=specs[0].width_m,
        tyre_diameter_m=specs[0].diameter_m,
        numbers=numbers,
    )


def run_loop(
    car: CarParams,
    specs: Sequence[TyreSpec],
    states: Sequence[TyreState],
    stages: Sequence[DemoStage],
    *,
    air_c: float,
    road_c: float,
    numbers: ModelNumbers,
) -> tuple[Loop, list[TyreState]]:
    cool = np.full((1, 1), air_c)
    now = [replace(s, tread_c=cool, bulk_c=cool) for s in states]
    time_s, km = 0.0, 0.0
    loss, mean_c = np.zeros(4), np.zeros(4)
    for stage in stages:
        table = table_of(car, stage, air_c, road_c, numbers, specs)
        section = heat.road_map(
            [air_c],
            [road_c],
            km=stage.before_km,
            kmh=50.0,
            fz_n=heat.quarter_weight_n(car.mass_kg),
            width_m=specs[0].width_m,
            land_ratio=specs[0].land_ratio,
            numbers=numbers,
        )
        mu = np.empty((1, 1, 4, 3))
        for corner in range(4):
            tread_c, bulk_c = heat.apply_map(section, now[corner].tread_c, now[corner].bulk_c)
            warm = replace(now[corner], tread_c=tread_c, bulk_c=bulk_c)
            run = on_target(table, corner, specs[corner], warm)
            now[corner] = run.state
            mu[0, :, corner] = run.mu[0]
            loss[corner] += run.loss_mm[0, 0]
            mean_c[corner] += run.tread_mean_c[0, 0] / len(stages)
        time_s += float(stage_time_s(table, mu, 0.0)[0, 0])
        km += stage.km
    return Loop(loss, mean_c, time_s, km), now


def run_day(
    car: CarParams,
    specs: Sequence[TyreSpec],
    stages: Sequence[DemoStage],
    numbers: ModelNumbers,
) -> tuple[list[Loop], list[TyreState]]:
    states = [new_state(spec, 0.0) for spec in specs]
    loops = []
    for air_c, road_c in WEATHER_C:
        loop, states = run_loop(
            car, specs, states, stages, air_c=air_c, road_c=road_c, numbers=numbers
        )
        loops.append(loop)
    return loops, states


def fresh_loop_s_km(
    car: CarParams,
    spec: TyreSpec,
    stages: Sequence[DemoStage],
    numbers: ModelNumbers,
    air_c: float,
    road_above_air_c: float = 8.0,
) -> Loop:
    """Run one loop on four new tyres of a kind."""
    specs = [spec] * 4
    loop, _ = run_loop(
        car,
        specs,
        [new_state(spec, air_c)] * 4,
        stages,
        air_c=air_c,
        road_c=air_c + road_above_air_c,
        numbers=numbers,
    )
    return loop


def ambient_crossover_c(
    car: CarParams,
    softer: TyreSpec,
    harder: TyreSpec,
    stages: Sequence[DemoStage],
    numbers: ModelNumbers,
) -> float:
    """Return the air temperature above which the harder tyre is quicker, road 8 K above."""
    low, high = -20.0, 60.0
    while high - low > 1e-3:
        middle = 0.5 * (low + high)
        soft = fresh_loop_s_km(car, softer, stages, numbers, middle).s_km
        hard = fresh_loop_s_km(car, harder, stages, numbers, middle).s_km
        low, high = (low, middle) if hard < soft else (middle, high)
    return 0.5 * (low + high)
