"""What must hold for air temperature through the day, uphill, and after readings."""

import math

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from crewdesk.conditions.air import (
    LAG_MAX_H,
    LAG_MIN_H,
    at_altitude_c,
    condition_on_readings,
    daily_curve_c,
    residual_curve_c,
)

temperatures = st.floats(-20.0, 40.0)


@st.composite
def days(draw: st.DrawFn) -> dict[str, float]:
    high = draw(temperatures)
    half = draw(st.floats(2.5, 9.5))
    noon = draw(st.floats(11.5, 12.5))
    return {
        "day_max_c": high,
        "day_min_c": high - draw(st.floats(0.0, 20.0)),
        "next_min_c": high - draw(st.floats(0.0, 20.0)),
        "sunrise_h": noon - half,
        "sunset_h": noon + half,
    }


def whole_day_h(day: dict[str, float]) -> np.ndarray:
    start = day["sunrise_h"] + LAG_MIN_H
    return np.linspace(start, start + 24.0, 300)


@given(days())
def test_between_the_minimum_and_the_maximum(day: dict[str, float]) -> None:
    curve = daily_curve_c(whole_day_h(day), **day)
    # A short day is over before its maximum; the night then starts from wherever it was.
    low = min(day["day_min_c"], day["next_min_c"])
    assert np.all(curve >= low - 1e-9)
    assert np.all(curve <= day["day_max_c"] + 1e-9)


@given(days())
def test_no_jump_at_sunset_and_at_the_minimum(day: dict[str, float]) -> None:
    for hour in (day["sunset_h"], day["sunrise_h"] + LAG_MIN_H):
        around = daily_curve_c(np.array([hour - 1e-6, hour, hour + 1e-6]), **day)
        assert np.ptp(around) < 1e-3


@given(days())
def test_the_maximum_is_reached_when_the_sun_is_still_up(day: dict[str, float]) -> None:
    hour = 0.5 * (day["sunrise_h"] + day["sunset_h"]) + LAG_MAX_H
    if hour < day["sunset_h"]:
        assert abs(float(daily_curve_c(hour, **day)) - day["day_max_c"]) < 1e-9


@given(days(), st.floats(-10.0, 10.0))
def test_a_warmer_day_is_the_same_curve_higher(day: dict[str, float], by_c: float) -> None:
    warmer = day | {k: day[k] + by_c for k in ("day_max_c", "day_min_c", "next_min_c")}
    hours = whole_day_h(day)
    assert np.allclose(daily_curve_c(hours, **warmer), daily_curve_c(hours, **day) + by_c)


@given(days(), temperatures)
def test_no_swing_no_change(day: dict[str, float], level_c: float) -> None:
    flat = day | dict.fromkeys(("day_max_c", "day_min_c", "next_min_c"), level_c)
    assert np.allclose(daily_curve_c(whole_day_h(day), **flat), level_c)


@given(st.lists(temperatures, min_size=2, max_size=8), days())
def test_points_are_passed_and_a_flat_curve_gives_straight_lines(
    points_c: list[float], day: dict[str, float]
) -> None:
    points_h = day["sunrise_h"] + np.arange(len(points_c)) * 3.0
    shape = daily_curve_c(points_h, **day)
    assert np.allclose(residual_curve_c(points_h, points_h, points_c, shape, shape), points_c)
    between_h = np.linspace(points_h[0], points_h[-1], 40)
    flat = np.full(40, 7.0)
    straight = residual_curve_c(
        between_h, points_h, points_c, flat, np.full(len(points_c), 7.0)
    )
    assert np.allclose(straight, np.interp(between_h, points_h, points_c))
    assert np.all(straight >= min(points_c) - 1e-9)
    assert np.all(straight <= max(points_c) + 1e-9)


@given(temperatures, st.floats(0.0, 2500.0), st.floats(0.0, 2500.0), st.floats(3.0, 8.0))
def test_up_and_down_again(air_c: float, low_m: float, high_m: float, lapse: float) -> None:
    moved = float(at_altitude_c(air_c, low_m, high_m, lapse))
    assert math.isclose(float(at_altitude_c(moved, high_m, low_m, lapse)), air_c, abs_tol=1e-9)
    half = float(at_altitude_c(air_c, low_m, 0.5 * (low_m + high_m), lapse))
    assert math.isclose(moved - air_c, 2.0 * (half - air_c), abs_tol=1e-9)
    assert float(at_altitude_c(air_c, low_m, low_m, lapse)) == air_c


spreads = st.floats(0.5, 4.0)
noises = st.floats(0.1, 3.0)
memories = st.floats(0.5, 12.0)


@given(spreads, noises, memories, st.floats(-8.0, 8.0))
def test_one_reading_fades_with_time(sf: float, sr: float, tau: float, off_c: float) -> None:
    later_h = np.linspace(0.0, 30.0 * tau, 60)
    shift, left = condition_on_readings(
        later_h, np.full(60, sf), [0.0], [sf], [sr], [off_c], tau
    )
    sd = np.sqrt(np.diag(left))
    assert math.isclose(sd[0], sf * sr / math.hypot(sf, sr), rel_tol=1e-9)
    assert math.isclose(sd[-1], sf, rel_tol=1e-9)
    assert abs(shift[-1]) < 1e-9
    assert np.all(np.diff(sd) >= -1e-12)
    assert np.all(sd <= sf + 1e-12)
    # Never past the reading itself.
    assert np.all(np.abs(shift) <= abs(off_c) + 1e-12)
    assert np.all(shift * off_c >= -1e-12)


@given(
    spreads,
    memories,
    st.lists(st.tuples(st.floats(-6.0, 6.0), noises, st.floats(-5.0, 5.0)), max_size=5),
    st.tuples(st.floats(-6.0, 6.0), noises, st.floats(-5.0, 5.0)),
)
def test_another_reading_never_makes_less_sure(
    sf: float,
    tau: float,
    readings: list[tuple[float, float, float]],
    another: tuple[float, float, float],
) -> None:
    wanted_h = np.linspace(-6.0, 12.0, 20)

    def sd(given_readings: list[tuple[float, float, float]]) -> np.ndarray:
        when, noise, off = zip(*given_readings, strict=True) if given_readings else ((), (), ())
        _, left = condition_on_readings(
            wanted_h, np.full(20, sf), when, [sf] * len(when), noise, off, tau
        )
        return np.sqrt(np.maximum(np.diag(left), 0.0))

    assert np.all(sd([*readings, another]) <= sd(readings) + 1e-7)
