"""Pressures: standard atmosphere, steam table, real gas, worked examples."""

import csv
from pathlib import Path

import numpy as np
import pytest

from crewdesk.physics import inflation
from crewdesk.physics.inflation import (
    atmosphere_kpa,
    cold_pressure_kpa,
    gas_c_from_pressure,
    hot_pressure_kpa,
    saturation_kpa,
    wet_hot_pressure_kpa,
)

DATA = Path(__file__).parents[1] / "data"


def _columns(name):
    """Return the columns of a table in tests/data that hold numbers."""
    with (DATA / name).open(encoding="utf-8") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    return {key: np.array([float(row[key]) for row in rows]) for key in rows[0]}


@pytest.mark.parametrize(
    ("altitude_m", "kpa"),
    # ISO 2533:1975, Standard atmosphere, by geopotential altitude.
    [
        (0, 101.325),
        (500, 95.461),
        (1000, 89.875),
        (1500, 84.556),
        (2000, 79.495),
        (3000, 70.109),
    ],
)
def test_standard_atmosphere(altitude_m, kpa):
    assert atmosphere_kpa(altitude_m) == pytest.approx(kpa, abs=6e-4)


def test_standard_atmosphere_against_another_library():
    # ISO 2533 as computed with ambiance 1.3.1, cross-checked with fluids 1.3.1; the table is by
    # geometric altitude and gives the geopotential one beside it.
    table = _columns("iso_standard_atmosphere.csv")
    low = table["altitude_m"] < 11_000.0
    assert atmosphere_kpa(table["geopotential_m"][low]) == pytest.approx(
        table["pressure_Pa"][low] / 1000.0, rel=1e-6
    )


@pytest.mark.parametrize(
    ("gas_c", "kpa"),
    # IAPWS-IF97, saturation line.
    [(20, 2.3392), (60, 19.946), (70, 31.201), (80, 47.415), (100, 101.42)],
)
def test_saturated_vapour_against_the_steam_table(gas_c, kpa):
    assert saturation_kpa(gas_c) == pytest.approx(kpa, rel=1.5e-3)


def test_public_gas_law_example():
    # 35 psi at 70 degF cooled to 30 degF under an atmosphere of 14.7 psi reads 31.25 psi (a
    # public worked example; exact from the law with 459.67 degR).
    psi = 6.894757293168
    cold = hot_pressure_kpa(35 * psi, (70 - 32) / 1.8, (30 - 32) / 1.8, 14.7 * psi)
    assert cold / psi == pytest.approx(31.25, abs=5e-3)


def test_college_physics_problem():
    # P. P. Urone and R. Hinrichs, College Physics, OpenStax, 2012, ch. 13, problem 22: 2.50e5
    # Pa gauge at 35.0 degC falls to 1.64e5 Pa at -40.0 degC.
    assert hot_pressure_kpa(250.0, 35.0, -40.0) == pytest.approx(164.0, abs=0.6)


def test_ideal_gas_is_good_enough_for_air_and_nitrogen():
    # CoolProp 8.0.0 at constant density (air: Lemmon et al. 2000, nitrogen: Span et al. 2000),
    # -20 to 120 degC, 1.5 to 3.5 bar: the ideal law reads low by at most 3.66 kPa.
    table = _columns("gas_pressure.csv")
    hot = hot_pressure_kpa(100.0 * table["gauge_cold_bar"], table["t_cold_c"], table["t_hot_c"])
    assert hot == pytest.approx(100.0 * table["gauge_hot_ideal_bar"], abs=1e-3)
    for gas in ("air", "nitrogen"):
        short = 100.0 * table[f"gauge_hot_real_{gas}_bar"] - hot
        assert np.all(short > -0.01)
        assert np.max(short) < 3.7


def test_worked_example_of_cold_settings():
    assert cold_pressure_kpa(190.0, 16.0, 62.5) == pytest.approx(149.6, abs=0.05)
    assert cold_pressure_kpa(200.0, 12.0, 65.0) == pytest.approx(152.8, abs=0.05)
    high = atmosphere_kpa(1500.0)
    assert cold_pressure_kpa(200.0, 12.0, 65.0, high) == pytest.approx(155.4, abs=0.05)


def test_worked_example_of_a_hot_reading():
    assert gas_c_from_pressure(150.0, 16.0, 188.0) == pytest.approx(59.7, abs=0.05)
    error = gas_c_from_pressure(150.0, 16.0, 190.0) - gas_c_from_pressure(150.0, 16.0, 188.0)
    assert error == pytest.approx(2.3, abs=0.05)


def test_one_psi_for_ten_fahrenheit_holds_at_one_pressure_only():
    # 52.77 psi absolute, 38.07 psi (262 kPa) gauge at 20 degC; 18, 24, 30, 35 psi give
    # 0.620, 0.733, 0.847, 0.942 psi.
    psi = 6.894757293168

    def rise(gauge_psi):
        hot = hot_pressure_kpa(gauge_psi * psi, 20.0, 20.0 + 10 / 1.8)
        return float(hot) / psi - gauge_psi

    assert rise(38.07) == pytest.approx(1.0, abs=5e-4)
    assert 38.07 * psi == pytest.approx(262.0, abs=0.6)
    rises = [rise(p) for p in (18, 24, 30, 35)]
    assert rises == pytest.approx([0.620, 0.733, 0.847, 0.942], abs=6e-4)


def test_a_sealed_tyre_carried_up_reads_more():
    high = atmosphere_kpa(1500.0)
    gauge = hot_pressure_kpa(180.0, 15.0, 15.0, 101.325, high)
    assert gauge - 180.0 == pytest.approx(16.77, abs=6e-3)


def test_worked_example_of_wet_air():
    assert hot_pressure_kpa(160.0, 20.0, 70.0) == pytest.approx(204.6, abs=0.05)
    wet = wet_hot_pressure_kpa(160.0, 20.0, 70.0)
    assert wet == pytest.approx(233.0, abs=0.06)
    assert wet - hot_pressure_kpa(160.0, 20.0, 70.0) == pytest.approx(28.5, abs=0.06)


def test_gauge_pressure_in_place_of_absolute_would_show():
    naive = 150.0 * (62.5 + 273.15) / (16.0 + 273.15)
    assert hot_pressure_kpa(150.0, 16.0, 62.5) > naive + 10.0


@pytest.mark.parametrize(
    ("surface", "roughness", "target", "floor"),
    # Common practice, no source.
    [
        ("gravel", 0.60, 215.0, 170.0),
        ("gravel", 0.61, 235.0, 180.0),
        ("asphalt", 0.90, 220.0, 160.0),
        ("snow", 0.45, 220.0, 160.0),
    ],
)
def test_targets_and_floors(surface, roughness, target, floor):
    kind = inflation.pressure_kind(surface, roughness)
    assert inflation.HOT_TARGET_KPA[kind] == target
    assert inflation.FLOOR_KPA[kind] == floor


def test_the_floor_is_never_passed_and_says_so():
    assert inflation.cold_setting_kpa(171.4, 170.0) == (171.0, False)
    assert inflation.cold_setting_kpa(169.6, 170.0) == (170.0, False)
    assert inflation.cold_setting_kpa(166.0, 170.0) == (170.0, True)


def test_pressures_refuse_temperatures_that_do_not_exist():
    with pytest.raises(ValueError, match="absolute zero"):
        hot_pressure_kpa(150.0, -300.0, 60.0)
