"""The demonstration day with both sets of numbers.

Regression of the project's own numbers, not evidence. The second table was made by an
implementation written separately from this one.
"""

from dataclasses import replace

import numpy as np
import pytest

from crewdesk.physics.numbers import SHIPPED
from crewdesk.physics.stage import run_stage, stage_table, stage_time_s
from crewdesk.physics.surface import StageSurface
from tests.reference import example_set, shipped_set
from tests.reference.demo_day import (
    DemoStage,
    ambient_crossover_c,
    asphalt_stages,
    fresh_loop_s_km,
    gravel_stages,
    new_state,
    on_target,
    run_day,
    run_loop,
    table_of,
)
from tests.reference.example_set import AWD, FWD, NUMBERS, RWD, tyre


class Demo:
    """The demonstration with one set of numbers."""

    def __init__(self, numbers_of, numbers, edge_length_mm):
        self.compounds = numbers_of.COMPOUNDS
        self.surfaces = numbers_of.SURFACES
        self.numbers = numbers
        self.edge_length_mm = edge_length_mm
        self.stages = gravel_stages(self.surfaces)

    def tyre(self, hardness, family="gravel"):
        return tyre(
            self.compounds[family, hardness],
            edge_length_mm=self.edge_length_mm,
            asphalt=family == "asphalt",
        )

    def day(self, car, *hardness):
        """Run a day on the tyres FL FR RL RR."""
        return run_day(car, [self.tyre(h) for h in hardness], self.stages, self.numbers)

    def total_s(self, car, *hardness):
        return sum(loop.time_s for loop in self.day(car, *hardness)[0])

    def crossovers_c(self, car):
        soft, medium, hard = (self.tyre(h) for h in ("soft", "medium", "hard"))
        how = (self.stages, self.numbers)
        return (
            ambient_crossover_c(car, soft, medium, *how),
            ambient_crossover_c(car, medium, hard, *how),
        )


EXAMPLE = Demo(example_set, NUMBERS, 1.6)
SHIP = Demo(shipped_set, SHIPPED, 4.5)

# demo, car, front, rear, loop: loss FL FR RL RR [mm]; mean tread FL RL [degC]; s/km
ROWS = [
    (EXAMPLE, AWD, "soft", "soft", 1, (1.451, 1.497, 1.112, 1.143), (46.2, 39.9), 40.04),
    (EXAMPLE, AWD, "soft", "soft", 2, (1.594, 1.676, 1.112, 1.150), (55.1, 48.8), 40.65),
    (EXAMPLE, AWD, "soft", "soft", 3, (1.900, 2.002, 1.207, 1.264), (62.4, 56.1), 41.00),
    (EXAMPLE, AWD, "medium", "medium", 1, (1.076, 1.105, 0.825, 0.848), (46.2, 39.9), 40.10),
    (EXAMPLE, AWD, "medium", "medium", 2, (1.076, 1.105, 0.825, 0.848), (55.1, 48.8), 40.42),
    (EXAMPLE, AWD, "medium", "medium", 3, (1.076, 1.105, 0.825, 0.848), (62.4, 56.1), 40.63),
    (EXAMPLE, AWD, "hard", "hard", 1, (0.822, 0.843, 0.641, 0.658), (46.2, 39.9), 40.65),
    (EXAMPLE, AWD, "hard", "hard", 2, (0.797, 0.819, 0.616, 0.632), (55.1, 48.8), 40.62),
    (EXAMPLE, AWD, "hard", "hard", 3, (0.796, 0.817, 0.610, 0.627), (62.4, 56.1), 40.64),
    (EXAMPLE, FWD, "medium", "medium", 1, (1.018, 1.048, 0.375, 0.394), (43.4, 27.1), 40.33),
    (EXAMPLE, FWD, "medium", "soft", 1, (1.018, 1.048, 0.496, 0.521), (43.4, 27.1), 40.04),
    (SHIP, AWD, "soft", "soft", 1, (2.036, 2.091, 1.560, 1.604), (43.0, 36.8), 39.94),
    (SHIP, AWD, "soft", "soft", 2, (2.062, 2.143, 1.560, 1.604), (51.8, 45.6), 40.32),
    (SHIP, AWD, "soft", "soft", 3, (2.306, 2.423, 1.564, 1.622), (59.0, 52.8), 40.66),
    (SHIP, AWD, "medium", "medium", 1, (1.498, 1.538, 1.150, 1.182), (43.0, 36.8), 40.13),
    (SHIP, AWD, "medium", "medium", 2, (1.498, 1.538, 1.148, 1.180), (51.8, 45.6), 40.23),
    (SHIP, AWD, "medium", "medium", 3, (1.498, 1.538, 1.148, 1.180), (59.0, 52.8), 40.41),
    (SHIP, AWD, "hard", "hard", 1, (1.166, 1.195, 0.911, 0.933), (43.0, 36.8), 40.64),
    (SHIP, AWD, "hard", "hard", 2, (1.125, 1.155, 0.873, 0.897), (51.8, 45.6), 40.47),
    (SHIP, AWD, "hard", "hard", 3, (1.123, 1.153, 0.861, 0.885), (59.0, 52.8), 40.44),
]


@pytest.mark.parametrize(
    ("demo", "car", "front", "rear", "loop", "loss", "mean_c", "s_km"), ROWS
)
def test_loops_of_the_day(demo, car, front, rear, loop, loss, mean_c, s_km):
    loops, _ = demo.day(car, front, front, rear, rear)
    got = loops[loop - 1]
    assert got.loss_mm == pytest.approx(loss, abs=5.1e-4)
    assert got.mean_tread_c[[0, 2]] == pytest.approx(mean_c, abs=0.051)
    assert got.s_km == pytest.approx(s_km, abs=5.1e-3)


@pytest.mark.parametrize(
    ("demo", "car", "tyres", "total_s"),
    [
        (EXAMPLE, AWD, ("soft", "soft", "soft", "soft"), 3042.3),
        (EXAMPLE, AWD, ("medium", "medium", "medium", "medium"), 3028.9),
        (EXAMPLE, AWD, ("hard", "hard", "hard", "hard"), 3047.8),
        (EXAMPLE, AWD, ("soft", "hard", "hard", "soft"), 3045.2),
        (EXAMPLE, AWD, ("hard", "hard", "soft", "soft"), 3041.9),
        (EXAMPLE, AWD, ("soft", "soft", "hard", "hard"), 3054.5),
        (EXAMPLE, FWD, ("medium", "medium", "medium", "medium"), 3030.7),
        (EXAMPLE, FWD, ("medium", "medium", "soft", "soft"), 3022.2),
        (SHIP, AWD, ("soft", "soft", "soft", "soft"), 3022.9),
        (SHIP, AWD, ("medium", "medium", "medium", "medium"), 3019.3),
        (SHIP, AWD, ("hard", "hard", "hard", "hard"), 3038.6),
        (SHIP, AWD, ("soft", "hard", "hard", "soft"), 3031.1),
        (SHIP, AWD, ("hard", "hard", "soft", "soft"), 3028.5),
        (SHIP, AWD, ("soft", "soft", "hard", "hard"), 3040.0),
        (SHIP, FWD, ("medium", "medium", "medium", "medium"), 3025.5),
        (SHIP, FWD, ("medium", "medium", "soft", "soft"), 3013.6),
    ],
)
def test_totals_of_the_day(demo, car, tyres, total_s):
    assert demo.total_s(car, *tyres) == pytest.approx(total_s, abs=0.051)


@pytest.mark.parametrize(
    ("demo", "hardness", "depth_mm", "edges"),
    [
        (EXAMPLE, "medium", (6.253, 6.271, 6.289), (0.190, 0.053, 0.086)),
        (EXAMPLE, "soft", (4.526, 4.555, 4.584), None),
        (SHIP, "medium", (4.982, 5.007, 5.033), (0.439, 0.233, 0.297)),
    ],
)
def test_front_left_at_the_end_of_the_day(demo, hardness, depth_mm, edges):
    _, states = demo.day(AWD, hardness, hardness, hardness, hardness)
    assert states[0].tread_mm[0, 0] == pytest.approx(depth_mm, abs=5.1e-4)
    if edges is not None:
        assert states[0].edge[0, 0] == pytest.approx(edges, abs=5.1e-4)


def test_second_loop_in_detail():
    spec = EXAMPLE.tyre("medium")
    table = table_of(AWD, EXAMPLE.stages[0], 16.0, 24.0, NUMBERS, [spec])
    state = new_state(spec, 0.0)
    state.tread_c[:], state.bulk_c[:] = 25.49, 35.61
    run = on_target(table, 0, spec, state)
    assert run.tread_mean_c == pytest.approx(53.45, abs=6e-3)
    end = (run.state.tread_c[0, 0], run.state.bulk_c[0, 0])
    assert end == pytest.approx((65.71, 62.50), abs=1.1e-2)
    assert run.mu[0, 0] / 0.65 == pytest.approx(np.full(3, 0.9912), abs=5e-5)
    assert run.loss_mm == pytest.approx(0.4687, abs=5e-5)


@pytest.mark.parametrize(
    ("hardness", "expected"),
    [
        ("soft", (39.99, 40.02, 40.08, 40.17, 40.29, 40.43, 40.58, 40.75)),
        ("medium", (40.29, 40.15, 40.06, 40.03, 40.03, 40.07, 40.13, 40.21)),
        ("hard", (41.07, 40.76, 40.52, 40.34, 40.21, 40.13, 40.08, 40.07)),
    ],
)
def test_fresh_tyres_by_air_temperature(hardness, expected):
    spec = EXAMPLE.tyre(hardness)
    got = [
        fresh_loop_s_km(AWD, spec, EXAMPLE.stages, NUMBERS, float(air_c)).s_km
        for air_c in range(0, 40, 5)
    ]
    assert got == pytest.approx(expected, abs=5.1e-3)


def test_loss_of_fresh_soft_tyres_by_air_temperature():
    spec = EXAMPLE.tyre("soft")
    got = [
        fresh_loop_s_km(AWD, spec, EXAMPLE.stages, NUMBERS, float(air_c)).loss_mm[0]
        for air_c in range(0, 40, 5)
    ]
    assert got == pytest.approx([1.45, 1.45, 1.47, 1.56, 1.75, 1.99, 2.29, 2.70], abs=5.1e-3)


@pytest.mark.parametrize(
    ("demo", "car", "expected"),
    [
        (EXAMPLE, AWD, (9.4, 27.6)),
        (EXAMPLE, FWD, (16.0, 34.0)),
        (SHIP, AWD, (15.0, 30.0)),
        (SHIP, FWD, (20.9, 35.6)),
        (SHIP, RWD, (19.3, 34.1)),
    ],
)
def test_ambient_crossovers_on_gravel(demo, car, expected):
    assert demo.crossovers_c(car) == pytest.approx(expected, abs=0.051)


def test_ambient_crossovers_on_asphalt():
    soft, medium, hard = (EXAMPLE.tyre(h, "asphalt") for h in ("soft", "medium", "hard"))
    how = (asphalt_stages(EXAMPLE.surfaces), NUMBERS)
    assert ambient_crossover_c(AWD, soft, medium, *how) == pytest.approx(12.0, abs=0.051)
    assert ambient_crossover_c(AWD, medium, hard, *how) == pytest.approx(31.4, abs=0.051)


def test_crossovers_of_the_shipped_numbers_are_those_of_practice():
    # Common practice, no source: a powerful four-wheel drive car changes from soft to medium at
    # 13 to 17 degC air and from medium to hard at 27 to 31; a light two-wheel drive car higher.
    low, high = SHIP.crossovers_c(AWD)
    assert 13.0 <= low <= 17.0
    assert 27.0 <= high <= 31.0
    light_low, light_high = SHIP.crossovers_c(example_set.LIGHT)
    assert light_low > low
    assert light_high > high


def test_wear_rates_of_the_shipped_numbers_are_those_of_practice():
    # Common practice, no source: hard on a hot abrasive loop 0.045 to 0.06 mm/km at the front,
    # medium about 4 mm in 65 km, soft on wet gravel 0.025 to 0.04 mm/km.
    hot = fresh_loop_s_km(AWD, SHIP.tyre("hard"), SHIP.stages, SHIPPED, 30.0)
    assert 0.044 <= hot.loss_mm[0] / hot.km <= 0.06
    mild = fresh_loop_s_km(AWD, SHIP.tyre("medium"), SHIP.stages, SHIPPED, 15.0)
    assert 65.0 * mild.loss_mm[0] / mild.km == pytest.approx(4.0, abs=0.4)


def _cost_of_wear_s_km(surface, loops):
    """Return what medium tyres have lost after so many times 12.5 km of hard gravel."""
    spec = SHIP.tyre("medium")

    def stage_on(name):
        params = SHIP.surfaces[name]
        return DemoStage(12, 12.5, 90, 0.6, 0.5, StageSurface(params, 0.45))

    fresh = states = [new_state(spec, 15.0)] * 4
    for _ in range(loops):
        _, states = run_loop(
            AWD,
            [spec] * 4,
            states,
            [stage_on("gravel_hard")],
            air_c=15.0,
            road_c=23.0,
            numbers=SHIPPED,
        )
    table = table_of(AWD, stage_on(surface), 15.0, 23.0, SHIPPED, [spec])
    times = []
    for each in (fresh, states):
        mu = np.empty((1, 1, 4, 3))
        for corner, state in enumerate(each):
            warm = replace(state, tread_c=np.full((1, 1), 30.0), bulk_c=np.full((1, 1), 40.0))
            mu[:, :, corner] = on_target(table, corner, spec, warm).mu
        times.append(float(stage_time_s(table, mu, 0.0)[0, 0]))
    return (times[1] - times[0]) / 12.5


@pytest.mark.parametrize(
    ("surface", "loops", "low", "high"),
    # Common practice, no source: medium after 25 km costs 0.1 to 0.3 s/km on a hard base and
    # 0.3 to 0.4 on loose stones; after 65 km 0.4 to 0.6 and about 0.8 to 1.0.
    [
        ("gravel_hard", 2, 0.1, 0.3),
        ("gravel_loose", 2, 0.3, 0.4),
        ("gravel_hard", 5, 0.4, 0.6),
        ("gravel_loose", 5, 0.75, 1.05),
    ],
)
def test_what_worn_tyres_cost(surface, loops, low, high):
    assert low <= _cost_of_wear_s_km(surface, loops) <= high


def test_many_scenarios_are_one_at_a_time():
    # The batch against single runs, to the last digit that a different order of sums leaves.
    spec = SHIP.tyre("soft")
    air_c = np.array([5.0, 18.0, 33.0])
    singles = []
    for at_c in air_c:
        table = table_of(AWD, SHIP.stages[1], at_c, at_c + 10, SHIPPED, [spec])
        singles.append(
            run_stage(
                table,
                1,
                spec,
                new_state(spec, 20.0),
                cold_kpa=170.0,
                set_c=18.0,
                set_altitude_m=300.0,
                target_kpa=235.0,
            )
        )
    assert len({float(run.loss_mm[0, 0]) for run in singles}) == 3
    stage = SHIP.stages[1]
    together = stage_table(
        AWD,
        km=stage.km,
        avg_kmh=stage.kmh,
        twist=stage.twist,
        right_share=stage.right_share,
        cuts=0.2,
        aggressiveness=0.8,
        surfaces=[stage.surface],
        surface_of=[0, 0, 0],
        air_c=air_c,
        road_c=air_c + 10,
        altitude_m=0.0,
        camber_deg=(-1.0, -1.0),
        tyre_width_m=spec.width_m,
        tyre_diameter_m=spec.diameter_m,
    )
    batch = run_stage(
        together,
        1,
        spec,
        new_state(spec, 20.0),
        cold_kpa=170.0,
        set_c=18.0,
        set_altitude_m=300.0,
        target_kpa=235.0,
    )
    for s, run in enumerate(singles):
        assert batch.loss_mm[0, s] == pytest.approx(run.loss_mm[0, 0], rel=1e-13)
        assert batch.mu[0, s] == pytest.approx(run.mu[0, 0], rel=1e-13)
        assert batch.hazard[0, s] == pytest.approx(run.hazard[0, 0], rel=1e-13)
        assert batch.state.edge[0, s] == pytest.approx(run.state.edge[0, 0], rel=1e-13)
