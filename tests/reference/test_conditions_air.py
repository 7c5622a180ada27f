"""Air temperature: published curve and altitude rule, worked examples of blending."""

import math

import numpy as np
import pytest

from crewdesk.conditions.air import (
    at_altitude_c,
    condition_on_readings,
    daily_curve_c,
    residual_curve_c,
)

DAY = {
    "day_max_c": 24.0,
    "day_min_c": 9.0,
    "next_min_c": 10.0,
    "sunrise_h": 6.0,
    "sunset_h": 20.0,
}


@pytest.mark.parametrize(
    ("hour_h", "expected_c"), [(10.0, 18.95), (15.5, 23.91), (20.0, 18.39), (23.0, 13.78)]
)
def test_daily_curve_worked_example(hour_h: float, expected_c: float) -> None:
    # Parton & Logan 1981 with a 1.86, b 2.20, c -0.17; the night divided to meet the minimum.
    assert float(daily_curve_c(hour_h, **DAY)) == pytest.approx(expected_c, abs=0.005)


def test_daily_curve_is_highest_at_the_lag_after_noon() -> None:
    hours = np.arange(10.0, 20.0, 0.001)
    assert hours[np.argmax(daily_curve_c(hours, **DAY))] == pytest.approx(14.86, abs=0.002)


def test_daily_curve_with_the_other_published_triple() -> None:
    # Wann, Yen & Gold 1985: a 2.59, b 2.20, c 1.55 (mean of five sites).
    at_eleven = daily_curve_c(
        11.0,
        day_max_c=30.0,
        day_min_c=10.0,
        next_min_c=10.0,
        sunrise_h=6.0,
        sunset_h=18.0,
        lag_max_h=2.59,
        night_decay=2.20,
        lag_min_h=1.55,
    )
    assert float(at_eleven) == pytest.approx(23.92, abs=0.005)


def test_altitude_worked_example() -> None:
    # ISO 2533:1975 lapse rate; service park at 350 m, stage at 1150 m.
    assert float(at_altitude_c(18.0, 350.0, 1150.0)) == pytest.approx(12.80, abs=1e-9)


def test_one_reading_worked_example() -> None:
    # sf 2.0, tau 6 h, sr 0.5; 21.4 read when the forecast said 19.0; 22.5 forecast 2.5 h on.
    shift, left = condition_on_readings([2.5], [2.0], [0.0], [2.0], [0.5], [21.4 - 19.0], 6.0)
    assert math.exp(-2.5 / 6.0) == pytest.approx(0.6592, abs=5e-5)
    assert 22.5 + shift[0] == pytest.approx(23.99, abs=0.005)
    assert math.sqrt(left[0, 0]) == pytest.approx(1.537, abs=0.0005)
    # A stage 800 m higher.
    assert float(at_altitude_c(22.5 + shift[0], 0.0, 800.0)) == pytest.approx(18.79, abs=0.005)
    assert math.sqrt(left[0, 0] + 1.2**2) == pytest.approx(1.950, abs=0.0005)


def test_two_readings_worked_example() -> None:
    shift, left = condition_on_readings(
        [4.0], [2.0], [0.0, 2.0], [2.0, 2.0], [0.5, 0.5], [2.4, 1.0], 6.0
    )
    assert shift[0] == pytest.approx(0.7643, abs=5e-5)
    assert math.sqrt(left[0, 0]) == pytest.approx(1.436, abs=0.0005)


def test_sparse_points_follow_the_curve_between() -> None:
    # Points six hours apart off the published curve itself give the curve back everywhere.
    points_h = np.array([6.0, 12.0, 18.0])
    wanted_h = np.arange(6.0, 18.0, 0.5)
    rebuilt = residual_curve_c(
        wanted_h,
        points_h,
        daily_curve_c(points_h, **DAY) + 1.5,
        daily_curve_c(wanted_h, **DAY),
        daily_curve_c(points_h, **DAY),
    )
    assert rebuilt == pytest.approx(daily_curve_c(wanted_h, **DAY) + 1.5, abs=1e-12)
