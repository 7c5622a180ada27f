"""Pressure by altitude and by temperature against the standard and a real-gas library."""

import csv
from pathlib import Path

import numpy as np
import pytest

from crewdesk.conditions.atmosphere import (
    geopotential_m,
    standard_density_kg_m3,
    standard_pressure_kpa,
    standard_temperature_k,
    station_pressure_kpa,
    tyre_pressure_kpa,
)

DATA = Path(__file__).parents[1] / "data"


def columns(name: str) -> dict[str, np.ndarray]:
    lines = (DATA / name).read_text(encoding="utf-8").splitlines()
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    return {key: np.array([float(row[key]) for row in rows]) for key in rows[0]}


def test_standard_atmosphere_table() -> None:
    # ISO 2533:1975 as computed by ambiance 1.3.1.
    table = columns("iso_standard_atmosphere.csv")
    height = geopotential_m(table["altitude_m"])
    assert len(height) == 17
    assert height == pytest.approx(table["geopotential_m"], abs=0.0006)
    assert standard_temperature_k(height) == pytest.approx(table["temperature_K"], abs=6e-5)
    assert standard_pressure_kpa(height) * 1000.0 == pytest.approx(
        table["pressure_Pa"], abs=0.006
    )
    assert standard_density_kg_m3(height) == pytest.approx(table["density_kg_m3"], abs=6e-7)


def test_pressure_at_two_heights() -> None:
    # ISO 2533:1975, geopotential 350 m and 1150 m.
    assert float(standard_pressure_kpa(350.0)) == pytest.approx(97.190, abs=0.005)
    assert float(standard_pressure_kpa(1150.0)) == pytest.approx(88.250, abs=0.005)
    assert float(station_pressure_kpa(1009.0, 1150.0)) == pytest.approx(87.88, abs=0.005)


def test_hot_pressure_worked_example() -> None:
    # 2.000 bar at 15 °C and 350 m, hot at 85 °C there and at 1150 m.
    low, high = standard_pressure_kpa(350.0), standard_pressure_kpa(1150.0)
    here = tyre_pressure_kpa(200.0, 15.0, 85.0, from_air_kpa=low)
    there = tyre_pressure_kpa(200.0, 15.0, 85.0, from_air_kpa=low, to_air_kpa=high)
    climb = tyre_pressure_kpa(200.0, 15.0, 15.0, from_air_kpa=low, to_air_kpa=high)
    assert float(here) == pytest.approx(272.2, abs=0.05)
    assert float(there) == pytest.approx(281.1, abs=0.05)
    assert float(climb) - 200.0 == pytest.approx(8.94, abs=0.005)


def test_cold_setting_worked_example() -> None:
    # 2.300 bar wanted at 80 °C, set at 12 °C at sea level.
    assert float(tyre_pressure_kpa(230.0, 80.0, 12.0)) == pytest.approx(166.2, abs=0.05)


def test_rule_of_thumb_at_three_bar_absolute() -> None:
    rise = tyre_pressure_kpa(300.0 - 101.325, 20.0, 30.0) - (300.0 - 101.325)
    assert float(rise) == pytest.approx(10.0, abs=0.5)


def test_ideal_law_beside_real_air_and_nitrogen() -> None:
    # CoolProp 8.0.0: air after Lemmon et al. 2000, nitrogen after Span et al. 2000.
    table = columns("gas_pressure.csv")
    ideal = (
        tyre_pressure_kpa(table["gauge_cold_bar"] * 100.0, table["t_cold_c"], table["t_hot_c"])
        / 100.0
    )
    assert len(ideal) == 75
    assert ideal == pytest.approx(table["gauge_hot_ideal_bar"], abs=6e-6)
    short = table["gauge_hot_real_air_bar"] - ideal
    assert np.all(short > 0.0)
    assert np.max(short) == pytest.approx(0.0366, abs=0.0001)
    assert (
        np.max(np.abs(table["gauge_hot_real_air_bar"] - table["gauge_hot_real_nitrogen_bar"]))
        < 0.001
    )
    usual = (
        (table["gauge_cold_bar"] == 2.0) & (table["t_cold_c"] == 20) & (table["t_hot_c"] == 90)
    )
    assert short[usual] == pytest.approx([0.0051], abs=0.0001)
