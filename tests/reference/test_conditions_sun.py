"""The sun against NREL SPA as in pvlib (values made once, see the table's first lines)."""

import csv
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from crewdesk.conditions.sun import (
    daylight,
    declination_deg,
    half_day_deg,
    hour_angle_deg,
    refraction_deg,
    sun_position_deg,
)

DATA = Path(__file__).parents[1] / "data"


def rows() -> list[dict[str, str]]:
    lines = (DATA / "solar_position.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def column(name: str) -> np.ndarray:
    return np.array([float(row[name]) for row in rows()])


def times() -> np.ndarray:
    return np.array([datetime.fromisoformat(row["utc"]).timestamp() for row in rows()])


def test_elevation_and_azimuth_agree_with_spa() -> None:
    elevation, azimuth = sun_position_deg(
        times(), column("latitude_deg"), column("longitude_deg")
    )
    assert len(elevation) == 52
    assert np.max(np.abs(elevation - column("elevation_deg"))) <= 0.013
    turn = (azimuth - column("azimuth_deg") + 180.0) % 360.0 - 180.0
    assert np.max(np.abs(turn) * np.cos(np.radians(elevation))) <= 0.013


def test_apparent_elevation_agrees_with_spa() -> None:
    # The table was made at 1013.25 hPa and 15 °C.
    true_deg = column("elevation_deg")
    seen = true_deg + refraction_deg(true_deg, pressure_hpa=1013.25, air_c=15.0)
    # SPA also stops bending a little below the horizon: both sides of it are in the table.
    assert np.max(np.abs(seen - column("apparent_elevation_deg"))) <= 0.002


def test_worked_example_of_mid_july() -> None:
    # 2026-07-15 12:00 UTC at 46.0 N 11.0 E; SPA gives the same 64.28 and 200.7.
    noon = datetime(2026, 7, 15, 12, tzinfo=UTC).timestamp()
    elevation, azimuth = sun_position_deg(noon, 46.0, 11.0)
    assert float(declination_deg(noon)) == pytest.approx(21.47, abs=0.005)
    assert float(hour_angle_deg(noon, 11.0)) == pytest.approx(9.496, abs=0.002)
    assert float(elevation) == pytest.approx(64.28, abs=0.013)
    assert float(azimuth) == pytest.approx(200.7, abs=0.05)


def test_daylength_of_the_same_day() -> None:
    noon = datetime(2026, 7, 15, 12, tzinfo=UTC).timestamp()
    half = half_day_deg(46.0, float(declination_deg(noon)))
    assert half == pytest.approx(115.5, abs=0.05)
    light = daylight(noon, 46.0, 11.0)
    assert light is not None
    assert light.length_h == pytest.approx(15.39, abs=0.01)
    for instant in (light.sunrise_s, light.sunset_s):
        assert float(sun_position_deg(instant, 46.0, 11.0)[0]) == pytest.approx(
            -0.833, abs=0.05
        )


def test_no_sunrise_in_polar_night_and_no_sunset_in_polar_day() -> None:
    for month in (6, 12):
        noon = datetime(2026, month, 21, 11, tzinfo=UTC).timestamp()
        assert daylight(noon, 75.0, 20.0) is None
