"""Stage time: theorems of a point mass, the project's lap simulation, worked examples."""

from dataclasses import replace

import numpy as np
import pytest

from crewdesk.physics.sensitivity import sensitivity, sensitivity_at
from crewdesk.physics.stage import (
    balance,
    mode_grips,
    stage_table,
    stage_time_s,
    stage_time_tangent,
)
from tests.reference.example_set import AWD, FWD, NUMBERS, SURFACES, on


def _table(car=AWD, right_share=0.5, surface="gravel_hard", roughness=0.45):
    return stage_table(
        car,
        km=14.2,
        avg_kmh=96,
        twist=0.6,
        right_share=right_share,
        cuts=0.2,
        aggressiveness=0.8,
        surfaces=[on(SURFACES[surface], roughness)],
        surface_of=[0],
        air_c=[16.0],
        road_c=[24.0],
        altitude_m=0.0,
        camber_deg=(-1.0, -1.0),
        tyre_width_m=0.190,
        tyre_diameter_m=0.650,
        numbers=NUMBERS,
    )


def _time(table, share_by_corner, added_kg=0.0):
    mu = np.empty((1, 4, 3))
    mu[0] = 0.65 * np.asarray(share_by_corner)[:, np.newaxis]
    return float(stage_time_s(table, mu, added_kg)[0])


def test_worked_example_of_exponents():
    table = _table()
    answer = table.response
    assert answer.exponent[0] == pytest.approx(0.3829, abs=5e-5)
    assert answer.mass_exponent[0] == pytest.approx(0.0998, abs=5e-5)
    assert answer.drive_share[0] == pytest.approx(0.33 * 0.6155**2, abs=5e-5)
    assert table.time_s[0] == pytest.approx(532.5, abs=1e-9)
    assert table.time_s[0] / 14.2 == pytest.approx(37.50, abs=1e-9)


@pytest.mark.parametrize(
    ("weak", "expected"),
    [
        ((0,), 0.1845),
        ((2,), 0.1735),
        ((0, 1), 0.3390),
        ((2, 3), 0.3241),
        ((0, 2), 0.2471),
        ((0, 3), 0.2648),
        ((0, 1, 2, 3), 0.4399),
    ],
)
def test_worked_example_of_a_weak_tyre(weak, expected):
    # Grip 3 % down on FL, RL, front, rear, left, FL and RR, all four: seconds per km.
    share = np.ones(4)
    share[list(weak)] = 0.97
    table = _table()
    assert (_time(table, share) - _time(table, np.ones(4))) / 14.2 == pytest.approx(
        expected, abs=6e-5
    )


def test_worked_example_of_all_grip_down_and_of_a_spare():
    table = _table()
    base = _time(table, np.ones(4))
    assert base == pytest.approx(532.5, abs=1e-9)
    assert (_time(table, np.full(4, 0.99)) - base) / 14.2 == pytest.approx(0.1446, abs=5e-5)
    spare = (_time(table, np.ones(4), 22.0) - base) / 14.2
    assert spare == pytest.approx(0.05884, abs=6e-6)
    assert 25.0 * spare == pytest.approx(1.471, abs=6e-4)
    fwd = _table(FWD)
    of_fwd = (_time(fwd, np.ones(4), 22.0) - _time(fwd, np.ones(4))) / 14.2
    assert of_fwd == pytest.approx(0.07994, abs=6e-6)


def _simulated_time_s(mu, rolling_start):
    """Drive a winding road limited by the friction circle alone: no drag, no power limit."""
    generator = np.random.default_rng(5)
    step_m, n = 1.0, 6000
    white = np.convolve(generator.normal(size=n + 200), np.ones(40) / 40, mode="same")[100:-100]
    curvature = 0.15 * white
    grip = mu * 9.80665
    limit = np.sqrt(grip / np.maximum(np.abs(curvature), 1e-5))
    speed = limit.copy()
    if rolling_start:
        speed[0] = min(speed[0], 10.0)
    else:
        speed[0] = 0.0
    for order in (range(n - 1), range(n - 1, 0, -1)):
        forward = order.step == 1
        for i in order:
            j = i + 1 if forward else i - 1
            across = speed[i] ** 2 * abs(curvature[i])
            along = np.sqrt(max(0.0, grip**2 - across**2))
            speed[j] = min(speed[j], np.sqrt(speed[i] ** 2 + 2.0 * along * step_m))
    return np.sum(2.0 * step_m / (speed[1:] + speed[:-1]))


@pytest.mark.parametrize("rolling_start", [False, True])
def test_time_of_a_point_mass_goes_with_one_over_the_root_of_grip(rolling_start):
    # Exact: v^2 kappa and d(v^2)/2ds scale together, so on any path t ~ mu^-1/2; a rolling
    # start at a fixed speed breaks the scaling a little.
    ratio = _simulated_time_s(0.5, rolling_start) / _simulated_time_s(1.0, rolling_start)
    assert ratio == pytest.approx(np.sqrt(2.0), abs=1e-3 if rolling_start else 1e-9)


def test_exponent_of_a_car_with_unlimited_power_is_one_half():
    assert sensitivity_at(1e3).exponent == pytest.approx(0.5, abs=1e-12)


def test_mass_costs_less_than_at_constant_power_from_rest():
    # s = sqrt(8 P / 9 m) t^1.5, so t ~ m^(1/3) (constant power from rest).
    rho = np.linspace(0.0, 5.0, 101)
    answer = sensitivity_at(rho)
    assert np.all(answer.mass_exponent < 1.0 / 3.0)
    assert np.all(answer.exponent <= 0.5)
    assert np.all(answer.exponent[1:] > 0.0)


def test_exponents_against_the_projects_own_lap_simulation():
    # Random road, friction circle, drag, power cap; point mass. Not published.
    rho = np.array([0.29, 0.49, 0.54, 0.67, 0.96, 1.37, 1.78])
    grip_exponent = np.array([0.245, 0.357, 0.294, 0.355, 0.444, 0.470, 0.502])
    mass_exponent = np.array([0.110, 0.093, 0.104, 0.090, 0.036, 0.007, -0.002])
    answer = sensitivity_at(rho)
    assert np.max(np.abs(answer.exponent - grip_exponent)) < 0.06
    power_part = answer.mass_exponent - 0.08 * answer.exponent
    assert np.max(np.abs(power_part - mass_exponent)) < 0.03


def test_wet_road_is_slower_and_driven_slower():
    dry, wet = SURFACES["gravel_hard"], SURFACES["gravel_wet"]
    surfaces = [
        on(dry, 0.45),
        replace(on(wet, 0.45), mu_state=wet.mu, mu_dry=dry.mu),
    ]
    table = stage_table(
        AWD,
        km=14.2,
        avg_kmh=96,
        twist=0.6,
        right_share=0.5,
        cuts=0.2,
        aggressiveness=0.8,
        surfaces=surfaces,
        surface_of=[0, 1],
        air_c=[16.0, 16.0],
        road_c=[16.0, 16.0],
        altitude_m=0.0,
        camber_deg=(-1.0, -1.0),
        tyre_width_m=0.190,
        tyre_diameter_m=0.650,
    )
    exponent = float(sensitivity(AWD, mu=dry.mu, speed_ms=96 / 3.6).exponent)
    assert table.time_s[1] / table.time_s[0] == pytest.approx((0.50 / 0.65) ** -exponent)
    assert table.speed_kmh[1] / table.speed_kmh[0] == pytest.approx((0.50 / 0.65) ** exponent)


def test_a_diagonal_mix_flips_the_balance_and_does_not_pull():
    table = _table()
    mu = np.full((1, 4, 3), 0.65)
    mu[0, [0, 3]] *= 1.03
    right, left = balance(table, mu)[0]
    assert right == pytest.approx(-left)
    assert right > 0.0
    # Braking: 0.62 on FL against 0.38 on RR, so it pulls less than a better left pair.
    pair = np.full((1, 4, 3), 0.65)
    pair[0, [0, 2]] *= 1.03
    assert mode_grips(table, mu)[0, 2] > mode_grips(table, pair)[0, 2]


def test_slope_of_time_is_its_derivative():
    table = _table(right_share=0.4)
    mu = 0.65 * np.random.default_rng(1).uniform(0.9, 1.1, (1, 4, 3))
    value, slope = stage_time_tangent(table, mu, 22.0)
    assert value == pytest.approx(stage_time_s(table, mu, 22.0))
    for corner in range(4):
        for mode in range(3):
            step = np.zeros_like(mu)
            step[0, corner, mode] = 1e-6
            numeric = stage_time_s(table, mu + step, 22.0) - stage_time_s(
                table, mu - step, 22.0
            )
            assert numeric[0] / 2e-6 == pytest.approx(slope[0, corner, mode], rel=1e-6)
