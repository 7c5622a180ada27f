"""What must hold for the film of water on a road."""

from dataclasses import replace

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from crewdesk.conditions.film import (
    drying_rate_mm_h,
    drying_time_h,
    evaporation_mm_h,
    film_state,
    film_step_mm,
    freeze_state,
)
from crewdesk.conditions.moments import STATES
from crewdesk.conditions.road import surface_fluxes, vapour_pressure_hpa

ORDER = {
    STATES.index(word): rank for rank, word in enumerate(("dry", "damp", "wet", "standing"))
}

films = st.floats(0.0, 3.0)
rains = st.floats(0.0, 20.0)
losses = st.floats(-0.1, 1.5)
steps = st.floats(0.02, 1.0)


@given(films, rains, losses, steps)
def test_never_less_than_nothing(film: float, rain: float, loss: float, step: float) -> None:
    assert 0.0 <= float(film_step_mm(film, rain, loss, step)) <= 2.0


@given(films, rains, st.floats(0.0, 5.0), losses, steps)
def test_more_rain_never_leaves_less(
    film: float, rain: float, more: float, loss: float, step: float
) -> None:
    less = film_step_mm(film, rain, loss, step)
    assert float(film_step_mm(film, rain + more, loss, step)) >= float(less) - 1e-12


@given(films, st.floats(0.0, 1.0), rains, losses, steps)
def test_a_thicker_film_stays_thicker(
    film: float, more: float, rain: float, loss: float, step: float
) -> None:
    thin = film_step_mm(film, rain, loss, step)
    assert float(film_step_mm(film + more, rain, loss, step)) >= float(thin) - 1e-12


@given(films, films)
def test_state_never_falls_with_the_film(one: float, other: float) -> None:
    thin, thick = sorted((one, other))
    assert ORDER[int(film_state(thin))] <= ORDER[int(film_state(thick))]


@given(st.floats(-5.0, 35.0), st.floats(0.0, 15.0), st.floats(0.0, 8.0), st.floats(0.01, 20.0))
def test_water_leaves_a_surface_above_the_dew_point(
    air_c: float, below: float, wind: float, above: float
) -> None:
    fluxes = surface_fluxes(
        elevation_deg=0.0, air_c=air_c, dew_c=air_c - below, wind_m_s=wind, cloud_share=0.5
    )
    assert float(evaporation_mm_h(air_c - below + above, fluxes)) > 0.0
    assert float(evaporation_mm_h(air_c - below - above, fluxes)) < 0.0


def rate(air_c: float, below: float, wind: float, sun: float) -> float:
    fluxes = surface_fluxes(
        elevation_deg=-10.0, air_c=air_c, dew_c=air_c - below, wind_m_s=wind, cloud_share=0.8
    )
    return float(drying_rate_mm_h(replace(fluxes, shortwave_w_m2=np.asarray(sun))))


@given(
    st.floats(5.0, 30.0),
    st.floats(3.0, 12.0),
    st.floats(0.5, 4.0),
    st.floats(50.0, 700.0),
    st.floats(0.1, 1.0),
)
def test_sun_wind_and_dry_air_dry_faster(
    air_c: float, below: float, wind: float, sun: float, more: float
) -> None:
    now = drying_time_h(0.2, rate(air_c, below, wind, sun))
    assert drying_time_h(0.2, rate(air_c, below, wind, sun * (1.0 + more))) <= now
    assert drying_time_h(0.2, rate(air_c, below + 5.0 * more, wind, sun)) <= now
    # Wind dries a road that it does not cool below the dew point's reach.
    assert drying_time_h(0.2, rate(air_c, below, wind + 0.9 * more, sun)) <= now + 1e-9


@given(films, st.floats(-15.0, 15.0), st.floats(-20.0, 10.0))
def test_frozen_needs_frost_and_water(film: float, road_c: float, dew_c: float) -> None:
    vapour = vapour_pressure_hpa(dew_c)
    state = int(freeze_state(film_state(film), film, road_c, vapour))
    frozen = state == STATES.index("frozen")
    assert frozen == (road_c < -0.25 and (film >= 0.01 or dew_c > road_c))
    assert frozen or state == int(film_state(film))
