"""Road surface against an independent ground model, published formulas and a desert."""

import csv
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from crewdesk.conditions.air import daily_curve_c
from crewdesk.conditions.film import evaporation_mm_h
from crewdesk.conditions.ground_heat import GroundColumns, periodic_surface_c, steady_surface_c
from crewdesk.conditions.road import (
    GROUNDS,
    Ground,
    clear_sky_w_m2,
    cloudy_sky_w_m2,
    evaporation_w_m2,
    net_flux_w_m2,
    sky_emissivity,
    surface_fluxes,
)
from crewdesk.conditions.sun import daylight, sun_position_deg

DATA = Path(__file__).parents[1] / "data"
STEP_S = 300.0
DRY = GROUNDS["asphalt_dry"]


def rows(name: str) -> list[dict[str, str]]:
    lines = (DATA / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def repeated_day(
    lat_deg: float,
    date: datetime,
    max_c: float,
    min_c: float,
    *,
    dew_c: float = 12.0,
    wind_m_s: float = 2.0,
    cloud_share: float = 0.0,
    shade_share: float = 0.0,
    sky_share: float = 1.0,
    ground: Ground = DRY,
    shortwave_factor: float = 1.0,
) -> tuple[np.ndarray, np.ndarray]:
    """Return hours and surface of a day that repeats itself, at longitude 0."""
    start_s = date.timestamp()
    hours = np.arange(0.0, 24.0, STEP_S / 3600.0)
    light = daylight(start_s + 43200.0, lat_deg, 0.0)
    assert light is not None
    air = daily_curve_c(
        hours,
        day_max_c=max_c,
        day_min_c=min_c,
        next_min_c=min_c,
        sunrise_h=(light.sunrise_s - start_s) / 3600.0,
        sunset_h=(light.sunset_s - start_s) / 3600.0,
    )[:, None]
    elevation = sun_position_deg(start_s + hours * 3600.0, lat_deg, 0.0)[0][:, None]
    fluxes = surface_fluxes(
        elevation_deg=elevation,
        air_c=air,
        dew_c=dew_c,
        wind_m_s=wind_m_s,
        cloud_share=cloud_share,
        shade_share=shade_share,
        sky_share=sky_share,
    )
    fluxes = replace(fluxes, shortwave_w_m2=fluxes.shortwave_w_m2 * shortwave_factor)
    surface, _ = periodic_surface_c(GroundColumns(fluxes, [ground], STEP_S), air.mean(axis=0))
    return hours, surface[:, 0]


def july_in_the_south(**changes: object) -> np.ndarray:
    return repeated_day(43.0, datetime(2026, 7, 15, tzinfo=UTC), 30.0, 16.0, **changes)[1]


def test_flux_worked_example() -> None:
    # Haurwitz 1945/46, Kasten & Czeplak 1980, Brutsaert 1975, Unsworth & Monteith 1975,
    # McAdams 1954: sun 50 deg, half cloud, air 22, dew 12, wind 2, asphalt at 40 °C.
    clear = clear_sky_w_m2(50.0)
    total, diffuse = cloudy_sky_w_m2(clear, 0.5)
    fluxes = surface_fluxes(
        elevation_deg=50.0, air_c=22.0, dew_c=12.0, wind_m_s=2.0, cloud_share=0.5
    )
    assert float(clear) == pytest.approx(778.8, abs=0.05)
    assert float(total) == pytest.approx(723.4, abs=0.05)
    assert float(diffuse) == pytest.approx(343.6, abs=0.05)
    assert float(fluxes.vapour_hpa) == pytest.approx(14.00, abs=0.005)
    assert float(sky_emissivity(22.0, fluxes.vapour_hpa, 0.5)) == pytest.approx(
        0.8853, abs=5e-5
    )
    assert float(fluxes.longwave_w_m2) == pytest.approx(381.0, abs=0.1)
    assert float(fluxes.convection_w_m2k) == pytest.approx(13.30, abs=0.005)
    # What is left of sun and sky: the flux into the ground plus what the wind takes.
    convection = float(fluxes.convection_w_m2k) * 18.0
    assert convection == pytest.approx(239.4, abs=0.05)
    net = float(net_flux_w_m2(40.0, fluxes, DRY))
    assert net == pytest.approx(255.6, abs=0.05)
    assert net + convection == pytest.approx(495.0, abs=0.05)
    assert float(evaporation_w_m2(40.0, fluxes, 1.0)) == pytest.approx(1203.0, abs=0.6)
    assert float(evaporation_mm_h(40.0, fluxes)) == pytest.approx(1.767, abs=0.001)


def test_force_restore_worked_example() -> None:
    fluxes = surface_fluxes(
        elevation_deg=np.full((1, 1), 50.0),
        air_c=22.0,
        dew_c=12.0,
        wind_m_s=2.0,
        cloud_share=0.5,
    )
    state, mean = np.array([40.0]), np.array([30.0])
    # A step of a millisecond shows the rate itself.
    rate = (GroundColumns(fluxes, [DRY], 1e-3).step(0, state, mean) - state) / 1e-3
    assert float(rate[0]) == pytest.approx(1.199e-3, abs=1e-6)
    assert float(rate[0]) * 3600.0 == pytest.approx(4.317, abs=0.002)
    after = GroundColumns(fluxes, [DRY], STEP_S).step(0, state, mean)
    assert float(after[0]) == pytest.approx(40.34, abs=0.005)


SCENARIOS = {
    "A": (43.0, datetime(2026, 7, 15, tzinfo=UTC), 30.0, 16.0),
    "B": (47.0, datetime(2026, 4, 20, tzinfo=UTC), 16.0, 5.0),
    "C": (62.0, datetime(2026, 7, 30, tzinfo=UTC), 23.0, 11.0),
    "D": (43.0, datetime(2026, 7, 15, tzinfo=UTC), 30.0, 16.0),
    "E": (44.5, datetime(2026, 1, 23, tzinfo=UTC), 4.0, -6.0),
}


@pytest.mark.parametrize("name", sorted(SCENARIOS))
def test_whole_days_against_an_independent_ground(name: str) -> None:
    # surface_fd_c: 1-D implicit finite differences, 1 cm cells to 1 m, scipy 1.17.1.
    table = [row for row in rows("road_surface_balance.csv") if row["scenario"] == name]
    first = table[0]
    hours, surface = repeated_day(
        *SCENARIOS[name],
        dew_c=float(first["dewpoint_c"]),
        wind_m_s=float(first["wind_m_s"]),
        cloud_share=float(first["cloud_fraction"]),
        shade_share=float(first["shade"]),
        sky_share=float(first["sky_view"]),
        ground=GROUNDS[f"{first['surface']}_dry"],
    )
    whole = np.isclose(hours % 1.0, 0.0) | np.isclose(hours % 1.0, 1.0)
    at_hours = surface[whole]
    assert len(table) == len(at_hours) == 24
    restore = np.array([float(row["surface_fr_c"]) for row in table])
    differences = np.array([float(row["surface_fd_c"]) for row in table])
    assert np.max(np.abs(at_hours - restore)) <= 0.1
    assert np.max(np.abs(at_hours - differences)) <= 1.5
    # At the day's maximum it matters most, and agrees best.
    assert abs(at_hours.max() - differences.max()) <= 0.5


def test_fluxes_of_the_same_days() -> None:
    for row in rows("road_surface_balance.csv"):
        fluxes = surface_fluxes(
            elevation_deg=float(row["sun_elevation_deg"]),
            air_c=float(row["air_c"]),
            dew_c=float(row["dewpoint_c"]),
            wind_m_s=float(row["wind_m_s"]),
            cloud_share=float(row["cloud_fraction"]),
            shade_share=float(row["shade"]),
            sky_share=float(row["sky_view"]),
        )
        # The table's elevation has two decimals, which is worth 0.2 W/m2 at most.
        assert float(fluxes.shortwave_w_m2) == pytest.approx(
            float(row["shortwave_w_m2"]), abs=0.3
        )
        assert float(fluxes.longwave_w_m2) == pytest.approx(
            float(row["longwave_in_w_m2"]), abs=0.1
        )


def test_the_southern_july_day() -> None:
    hours, surface = repeated_day(43.0, datetime(2026, 7, 15, tzinfo=UTC), 30.0, 16.0)
    assert surface.max() == pytest.approx(56.04, abs=0.05)
    assert surface.min() == pytest.approx(20.33, abs=0.05)
    assert hours[np.argmax(surface)] == pytest.approx(13.50, abs=0.01)


@pytest.mark.parametrize(
    ("changes", "of_max_c", "of_min_c"),
    [
        ({"wind_m_s": 0.5}, 7.3, 3.1),
        ({"wind_m_s": 4.0}, -5.9, -1.8),
        ({"wind_m_s": 8.0}, -11.1, -3.0),
        ({"cloud_share": 0.5}, -0.5, 1.3),
        ({"cloud_share": 0.75}, -6.4, 1.0),
        ({"cloud_share": 1.0}, -20.9, -0.7),
        ({"ground": replace(DRY, albedo=0.05)}, 1.8, 0.3),
        ({"ground": replace(DRY, albedo=0.20)}, -3.6, -0.6),
        ({"ground": replace(DRY, inertia=1000.0)}, 3.4, -2.4),
        ({"ground": replace(DRY, inertia=2200.0)}, -2.7, 1.8),
        ({"shade_share": 1.0}, -23.1, -3.9),
        ({"shade_share": 1.0, "sky_share": 0.4}, -26.4, -2.4),
        ({"ground": GROUNDS["asphalt_wet"]}, -24.6, -6.2),
        ({"ground": GROUNDS["gravel_dry"]}, -2.7, -2.5),
        ({"ground": GROUNDS["gravel_damp"]}, -20.2, -5.1),
        ({"shortwave_factor": 1.1}, 3.2, 0.5),
        ({"shortwave_factor": 0.9}, -3.2, -0.5),
    ],
)
def test_what_each_cause_is_worth(
    changes: dict[str, object], of_max_c: float, of_min_c: float
) -> None:
    # Worked table: change of the maximum 56.04 and the minimum 20.33 of the July day.
    surface = july_in_the_south(**changes)
    assert surface.max() - 56.04 == pytest.approx(of_max_c, abs=0.1)
    assert surface.min() - 20.33 == pytest.approx(of_min_c, abs=0.1)


def test_a_degree_of_air_is_worth_most_of_a_degree_of_road() -> None:
    date = datetime(2026, 7, 15, tzinfo=UTC)
    warmer = repeated_day(43.0, date, 31.0, 17.0)[1].max()
    assert warmer - july_in_the_south().max() == pytest.approx(0.85, abs=0.05)


def test_steady_state_reads_too_hot_at_midday() -> None:
    # Without storage the July day reaches 67.1 °C where the road with ground reaches 56.
    date = datetime(2026, 7, 15, tzinfo=UTC)
    noon = date.timestamp() + 13.5 * 3600.0
    elevation, _ = sun_position_deg(noon, 43.0, 0.0)
    fluxes = surface_fluxes(
        elevation_deg=elevation, air_c=29.96, dew_c=12.0, wind_m_s=2.0, cloud_share=0.0
    )
    steady = float(steady_surface_c(fluxes, DRY))
    assert 4.0 <= steady - july_in_the_south().max() <= 12.0


def test_published_pavement_formulas_between_30_and_50_degrees() -> None:
    # SHRP (Solaimanian & Kennedy 1993) and LTPP (Mohseni 1998, 50 %): the hottest week, clear.
    checked = 0
    for row in rows("pavement_temperature.csv"):
        if not row["air_7day_max_c"] or not 30.0 <= float(row["latitude_deg"]) <= 50.0:
            continue
        hottest = float(row["air_7day_max_c"])
        surface = repeated_day(
            float(row["latitude_deg"]),
            datetime(2026, 6, 21, tzinfo=UTC),
            hottest,
            hottest - 15.0,
            wind_m_s=3.0,
        )[1]
        assert abs(surface.max() - float(row["shrp_surface_c"])) <= 8.0
        assert abs(surface.max() - float(row["ltpp_surface_50_c"])) <= 8.0
        checked += 1
    assert checked >= 8


def shrp_c(hottest_c: float, lat_deg: float) -> float:
    """Solaimanian & Kennedy 1993, Transp. Res. Record 1417 (coefficients second hand)."""
    return hottest_c - 0.00618 * lat_deg**2 + 0.2289 * lat_deg + 24.4


def ltpp_c(hottest_c: float, lat_deg: float, depth_mm: float = 0.0) -> float:
    """Mohseni 1998, FHWA-RD-97-103, 50 % (coefficients second hand)."""
    depth = 15.14 * np.log10(depth_mm + 25.0)
    return float(54.32 + 0.78 * hottest_c - 0.0025 * lat_deg**2 - depth)


def test_the_table_of_published_formulas_is_what_they_give() -> None:
    # Guards the file the balance is held against. The depth polynomial works in Fahrenheit,
    # 20 mm are 0.787 inch; the short form for 20 mm agrees with it to 0.02 °C.
    assert shrp_c(33.0, 43.0) == pytest.approx(55.82, abs=0.005)
    assert ltpp_c(33.0, 43.0) == pytest.approx(54.27, abs=0.005)
    checked = 0
    for row in rows("pavement_temperature.csv"):
        lat = float(row["latitude_deg"])
        checked += 1
        if not row["air_7day_max_c"]:
            coldest = float(row["air_min_c"])
            low = -1.56 + 0.72 * coldest - 0.004 * lat**2 + 6.26 * np.log10(25.0)
            assert float(row["ltpp_low_surface_50_c"]) == pytest.approx(low, abs=0.006)
            continue
        hottest = float(row["air_7day_max_c"])
        surface = shrp_c(hottest, lat)
        inch = 20.0 / 25.4
        deep_f = (1.8 * surface + 32.0) * (
            1 - 0.063 * inch + 0.007 * inch**2 - 0.0004 * inch**3
        )
        short = (surface - 24.4 + 42.2) * 0.9545 - 17.78
        assert float(row["shrp_surface_c"]) == pytest.approx(surface, abs=0.006)
        assert float(row["shrp_20mm_polynomial_c"]) == pytest.approx(
            (deep_f - 32.0) / 1.8, abs=0.006
        )
        assert float(row["shrp_20mm_short_c"]) == pytest.approx(short, abs=0.006)
        assert short == pytest.approx((deep_f - 32.0) / 1.8, abs=0.021)
        assert float(row["ltpp_surface_50_c"]) == pytest.approx(ltpp_c(hottest, lat), abs=0.006)
        assert float(row["ltpp_20mm_50_c"]) == pytest.approx(
            ltpp_c(hottest, lat, 20.0), abs=0.006
        )
    assert checked == 20


def test_forty_north_in_midsummer() -> None:
    # Worked beside SHRP 58.67 and LTPP 56.46 (35 °C at 40 N): 61.2 at 2 m/s, 56.1 at 3.7 m/s.
    date = datetime(2026, 6, 21, tzinfo=UTC)
    for wind, expected_c in ((2.0, 61.2), (3.7, 56.1)):
        surface = repeated_day(40.0, date, 35.0, 20.0, wind_m_s=wind)[1]
        assert surface.max() == pytest.approx(expected_c, abs=0.1)


def test_sixty_north_in_midsummer() -> None:
    surface = repeated_day(60.0, datetime(2026, 6, 21, tzinfo=UTC), 24.0, 12.0, wind_m_s=2.0)[1]
    assert surface.max() == pytest.approx(47.4, abs=0.5)


def test_measured_desert_afternoon() -> None:
    # Chestovich et al. 2023, J. Burn Care Res. 44(2):438: 36.2 N, 6 August 14:10 local, air
    # 120 F, asphalt 166 F (74.4 °C), sun 940 W/m2, sunlit 20 to 31 °C above shaded. Assumed
    # here: minimum 32 °C, dew point 0 °C; 14:10 daylight time is about 13:30 by the sun.
    date = datetime(2026, 8, 6, tzinfo=UTC)
    for wind, expected_c, over_shade_c in ((1.0, 72.5, 26.0), (2.0, 69.4, 22.0)):
        weather = {"dew_c": 0.0, "wind_m_s": wind}
        hours, sunlit = repeated_day(36.2, date, 48.9, 32.0, **weather)
        shaded = repeated_day(36.2, date, 48.9, 32.0, shade_share=1.0, **weather)[1]
        then = int(np.argmin(np.abs(hours - 13.5)))
        assert sunlit[then] == pytest.approx(expected_c, abs=0.15)
        assert abs(sunlit.max() - 74.4) <= 8.0
        assert sunlit[then] - shaded[then] == pytest.approx(over_shade_c, abs=0.5)
    # The formula's own sunshine at that moment, against the 940 that were measured.
    elevation, _ = sun_position_deg(date.timestamp() + 13.5 * 3600.0, 36.2, 0.0)
    assert float(clear_sky_w_m2(elevation)) == pytest.approx(915.0, abs=5.0)
    assert float(clear_sky_w_m2(elevation)) == pytest.approx(940.0, rel=0.05)
