"""What lies between the points of a forecast, and beyond them."""

import numpy as np
import pytest

from crewdesk.conditions.forecast import Point, fields_at
from crewdesk.conditions.road import WIND_10M_TO_ROAD

DAY_S = 20_600 * 86400.0
"""28 May 2026, midnight."""


def points(hours: list[float], air_c: list[float]) -> tuple[Point, ...]:
    return tuple(
        (DAY_S + h * 3600.0, t, h / 100.0, 0.0, h / 10.0, t - 3.0)
        for h, t in zip(hours, air_c, strict=True)
    )


def air_at(
    table: tuple[Point, ...], hours: list[float], lat: float = 48.0
) -> tuple[np.ndarray, np.ndarray]:
    got = fields_at(table, DAY_S + np.array(hours) * 3600.0, lat, 0.0)
    return got.air_c, got.covered


def test_straight_between_points_three_hours_apart() -> None:
    air, covered = air_at(points([6, 9, 12], [5.0, 11.0, 14.0]), [6.0, 7.0, 8.0, 9.0, 10.5])
    assert air == pytest.approx([5.0, 7.0, 9.0, 11.0, 12.5])
    assert np.all(covered)


def test_bent_between_points_six_hours_apart() -> None:
    table = points([6, 12, 18], [5.0, 14.0, 13.0])
    air, covered = air_at(table, [6.0, 9.0, 12.0, 15.0, 18.0])
    assert air[[0, 2, 4]] == pytest.approx([5.0, 14.0, 13.0])
    # The afternoon's top lies between the points and is above both.
    assert air[3] > 14.0
    assert list(covered) == [True, False, True, False, True]


def test_other_fields_go_straight() -> None:
    got = fields_at(points([6, 12], [5.0, 14.0]), np.array([DAY_S + 9 * 3600.0]), 48.0, 0.0)
    assert got.cloud_share == pytest.approx([0.09])
    assert got.wind_m_s == pytest.approx([0.9])
    assert got.dew_c == pytest.approx([6.5])


def test_dew_point_never_above_the_air() -> None:
    table = tuple((*p[:5], p[1] + 2.0) for p in points([6, 9, 12], [5.0, 11.0, 14.0]))
    got = fields_at(table, DAY_S + np.arange(6.0, 12.0) * 3600.0, 48.0, 0.0)
    assert np.all(got.dew_c <= got.air_c)


def test_rest_of_the_day_goes_on_from_the_last_point() -> None:
    table = points([9, 12, 15], [11.0, 16.0, 17.0])
    hours = list(np.arange(15.0, 23.5, 0.25))
    air, covered = air_at(table, hours)
    assert air[0] == pytest.approx(17.0)
    assert np.max(np.abs(np.diff(air))) < 0.8
    assert air[-1] < 14.0
    assert not covered[-1]


def test_days_without_points_borrow_the_hour_of_the_last_day() -> None:
    table = points([9, 12, 15], [11.0, 16.0, 17.0])
    air, covered = air_at(table, [12.0, 36.0, 60.0, -12.0])
    assert air == pytest.approx(16.0)
    assert list(covered) == [True, False, False, False]


def test_no_sunrise_leaves_straight_lines() -> None:
    table = points([6, 12, 18], [5.0, 14.0, 13.0])
    air, _ = air_at(table, [9.0, 15.0, 21.0], lat=80.0)
    assert air == pytest.approx([9.5, 13.5, 13.0])


def test_night_joins_two_days_without_a_jump() -> None:
    table = points([6, 9, 12, 15, 18, 30, 33, 36], [5, 11, 16, 17, 14, 7, 12, 15])
    hours = list(np.arange(18.0, 30.01, 0.1))
    air, _ = air_at(table, hours)
    assert air[0] == pytest.approx(14.0)
    assert air[-1] == pytest.approx(7.0)
    assert np.max(np.abs(np.diff(air))) < 0.4
    # It cools fast in the evening and slowly towards the morning: under the straight line.
    assert np.all(air[10:-10] < np.interp(hours, [18.0, 30.0], [14.0, 7.0])[10:-10])


def test_wind_factor_is_the_logarithmic_profile() -> None:
    # ln(2 / z0) / ln(10 / z0) with z0 = 0.03 m.
    assert np.log(2.0 / 0.03) / np.log(10.0 / 0.03) == pytest.approx(
        WIND_10M_TO_ROAD, abs=0.005
    )
