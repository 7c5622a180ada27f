"""What must hold for the surface of a road whatever the weather."""

from dataclasses import replace

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from crewdesk.conditions.ground_heat import GroundColumns, periodic_surface_c, steady_surface_c
from crewdesk.conditions.road import (
    GROUNDS,
    Fluxes,
    clear_sky_w_m2,
    convection_w_m2k,
    dew_point_c,
    net_flux_w_m2,
    surface_fluxes,
    vapour_pressure_hpa,
)

DRY = GROUNDS["asphalt_dry"]
WET = replace(DRY, moisture=1.0)


@st.composite
def weathers(draw: st.DrawFn) -> dict[str, float]:
    air = draw(st.floats(-10.0, 40.0))
    return {
        "elevation_deg": draw(st.floats(-20.0, 70.0)),
        "air_c": air,
        "dew_c": air - draw(st.floats(0.0, 20.0)),
        "wind_m_s": draw(st.floats(0.0, 12.0)),
        "cloud_share": draw(st.floats(0.0, 1.0)),
    }


def steady_c(weather: dict[str, float], **changes: float) -> float:
    return float(steady_surface_c(surface_fluxes(**(weather | changes)), DRY))


@given(weathers())
def test_the_steady_surface_is_in_balance(weather: dict[str, float]) -> None:
    fluxes = surface_fluxes(**weather)
    assert abs(float(net_flux_w_m2(steady_surface_c(fluxes, DRY), fluxes, DRY))) < 1e-6


@given(weathers(), st.floats(0.0, 0.8), st.floats(0.01, 0.2))
def test_lighter_is_cooler(weather: dict[str, float], albedo: float, more: float) -> None:
    fluxes = surface_fluxes(**weather)
    dark = steady_surface_c(fluxes, replace(DRY, albedo=albedo))
    light = steady_surface_c(fluxes, replace(DRY, albedo=albedo + more))
    assert float(light) <= float(dark) + 1e-9


@given(weathers(), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_shade_never_warms(weather: dict[str, float], one: float, other: float) -> None:
    less, more = sorted((one, other))
    assert steady_c(weather, shade_share=more) <= steady_c(weather, shade_share=less) + 1e-9


@given(weathers(), st.floats(0.0, 10.0))
def test_warmer_air_warms_the_road(weather: dict[str, float], by_c: float) -> None:
    warmer = weather | {"air_c": weather["air_c"] + by_c}
    assert steady_c(warmer) >= steady_c(weather) - 1e-9


@given(weathers(), st.floats(0.0, 6.0))
def test_wind_brings_the_road_towards_the_air(weather: dict[str, float], more: float) -> None:
    calm = abs(steady_c(weather) - weather["air_c"])
    blown = abs(steady_c(weather, wind_m_s=weather["wind_m_s"] + more) - weather["air_c"])
    # The two published branches of the exchange with the wind meet at 5 m/s with a step.
    steps = float(convection_w_m2k(weather["wind_m_s"] + more)) < float(
        convection_w_m2k(weather["wind_m_s"])
    )
    assert steps or blown <= calm + 1e-9


@given(weathers())
def test_at_night_no_warmer_than_the_air(weather: dict[str, float]) -> None:
    assert steady_c(weather, elevation_deg=-20.0) <= weather["air_c"] + 1e-6


@given(weathers())
def test_wet_is_no_warmer_than_dry(weather: dict[str, float]) -> None:
    fluxes = surface_fluxes(**weather)
    dry, wet = float(steady_surface_c(fluxes, DRY)), float(steady_surface_c(fluxes, WET))
    # Unless dew falls on it: condensing water warms a surface below the dew point.
    assert wet <= dry + 1e-9 or dry < weather["dew_c"]


@given(st.floats(-20.0, 70.0), st.floats(0.0, 1.0), st.floats(-10.0, 40.0))
def test_cloud_leaves_a_quarter_of_the_sun(sun: float, cloud: float, air_c: float) -> None:
    fluxes = surface_fluxes(
        elevation_deg=sun, air_c=air_c, dew_c=air_c, wind_m_s=1.0, cloud_share=cloud
    )
    clear = float(clear_sky_w_m2(sun))
    assert 0.25 * clear - 1e-9 <= float(fluxes.shortwave_w_m2) <= clear + 1e-9


def sine_day(step_s: float) -> Fluxes:
    time = np.arange(0.0, 86400.0, step_s)[:, None]
    sun = 55.0 * np.sin(2.0 * np.pi * (time - 21600.0) / 86400.0)
    air = 15.0 + 6.0 * np.sin(2.0 * np.pi * (time - 32400.0) / 86400.0)
    return surface_fluxes(
        elevation_deg=sun, air_c=air, dew_c=8.0, wind_m_s=2.0, cloud_share=0.2
    )


@given(st.floats(400.0, 2500.0), st.floats(1.05, 2.0))
def test_heavier_ground_swings_less(inertia: float, times: float) -> None:
    day = sine_day(1800.0)
    swings = []
    for value in (inertia, inertia * times):
        columns = GroundColumns(day, [replace(DRY, inertia=value)], 1800.0)
        surface, mean = periodic_surface_c(columns, np.array([15.0]))
        swings.append(float(np.ptp(surface)))
        assert abs(float(surface.mean()) - float(mean[0])) < 0.01
    assert swings[1] <= swings[0]


@given(st.sampled_from([60.0, 600.0, 3600.0, 21600.0]), st.floats(-60.0, 120.0))
def test_any_step_is_stable(step_s: float, start_c: float) -> None:
    columns = GroundColumns(sine_day(step_s), [DRY], step_s)
    state = np.array([start_c])
    for _ in range(3):
        surface, state = columns.day(state, np.array([15.0]))
    assert np.all(surface > -40.0)
    assert np.all(surface < 90.0)


@given(st.floats(-20.0, 45.0), st.floats(0.02, 1.0))
def test_dew_point_and_vapour_pressure_undo_each_other(air_c: float, humidity: float) -> None:
    held = float(vapour_pressure_hpa(dew_point_c(air_c, humidity)))
    assert np.isclose(held, humidity * float(vapour_pressure_hpa(air_c)), rtol=1e-9)
