"""Drying of a wet road against a worked table, Penman's evaporation and a NASA formula."""

import math
from dataclasses import replace

import numpy as np
import pytest

from crewdesk.conditions.film import (
    aquaplaning_onset_kmh,
    drying_rate_mm_h,
    drying_time_h,
    film_state,
    ice_risk,
    penman_mm_h,
)
from crewdesk.conditions.moments import STATES
from crewdesk.conditions.road import GROUNDS, STEFAN_BOLTZMANN, Fluxes, surface_fluxes

WET = GROUNDS["asphalt_wet"]


def weather(air_c: float, dew_c: float, wind: float, sun_w_m2: float, cloud: float) -> Fluxes:
    fluxes = surface_fluxes(
        elevation_deg=-10.0, air_c=air_c, dew_c=dew_c, wind_m_s=wind, cloud_share=cloud
    )
    return replace(fluxes, shortwave_w_m2=np.asarray(sun_w_m2))


SUNNY = weather(22.0, 12.0, 2.0, 700.0, 0.0)
GREY = weather(15.0, 9.0, 3.0, 200.0, 0.9)
WINDY = weather(12.0, 5.0, 6.0, 100.0, 1.0)
RAW = weather(8.0, 6.0, 2.0, 60.0, 1.0)
NIGHT = weather(8.0, 5.0, 1.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("fluxes", "rate_mm_h", "film_min", "texture_h"),
    [(GREY, 0.226, 51.0, 4.4), (WINDY, 0.219, 52.0, 4.5)],
)
def test_drying_table(
    fluxes: Fluxes, rate_mm_h: float, film_min: float, texture_h: float
) -> None:
    rate = float(drying_rate_mm_h(fluxes))
    assert rate == pytest.approx(rate_mm_h, abs=0.001)
    assert drying_time_h(0.2, rate) * 60.0 == pytest.approx(film_min, abs=0.5)
    assert drying_time_h(1.0, rate) == pytest.approx(texture_h, abs=0.05)


def test_drying_in_the_sun() -> None:
    # The table's 0.632 mm/h does not say how clear its sky is; a cloudless one gives 0.623.
    rate = float(drying_rate_mm_h(SUNNY))
    assert rate == pytest.approx(0.632, abs=0.01)
    assert drying_time_h(0.2, rate) * 60.0 == pytest.approx(18.0, abs=0.5)
    assert drying_time_h(1.0, rate) == pytest.approx(1.6, abs=0.05)


def test_drying_on_a_raw_day_takes_hours() -> None:
    rate = float(drying_rate_mm_h(RAW))
    assert rate == pytest.approx(0.048, abs=0.001)
    assert drying_time_h(0.2, rate) == pytest.approx(4.0, abs=0.05)
    assert drying_time_h(1.0, rate) > 20.0


def test_no_drying_on_a_clear_night() -> None:
    rate = float(drying_rate_mm_h(NIGHT))
    assert rate == pytest.approx(0.001, abs=0.005)
    assert drying_time_h(0.2, rate) == math.inf


@pytest.mark.parametrize(
    ("fluxes", "air_c", "dew_c", "wind", "expected_mm_h", "within"),
    [
        (GREY, 15.0, 9.0, 3.0, 0.210, 0.001),
        (WINDY, 12.0, 5.0, 6.0, 0.168, 0.001),
        (RAW, 8.0, 6.0, 2.0, 0.047, 0.001),
        # The same unnamed sky as above.
        (SUNNY, 22.0, 12.0, 2.0, 0.689, 0.025),
        (NIGHT, 8.0, 5.0, 1.0, -0.037, 0.012),
    ],
)
def test_penman_beside_the_balance(
    fluxes: Fluxes, air_c: float, dew_c: float, wind: float, expected_mm_h: float, within: float
) -> None:
    # Penman 1948 in the form of Shuttleworth 1993, net radiation of a surface at air warmth.
    radiated = STEFAN_BOLTZMANN * (air_c + 273.15) ** 4
    net = (1.0 - WET.albedo) * float(fluxes.shortwave_w_m2) + WET.emissivity * (
        float(fluxes.longwave_w_m2) - radiated
    )
    assert penman_mm_h(net, air_c, dew_c, wind) == pytest.approx(expected_mm_h, abs=within)


def test_film_limits_of_the_standard_classes() -> None:
    # DATEX II version 3 / EN 15518-3: moist from 0.01 mm, wet from 0.2 mm, streaming from 2 mm.
    films = [0.0, 0.0099, 0.01, 0.19, 0.2, 1.99, 2.0]
    words = [STATES[i] for i in film_state(films)]
    assert words == ["dry", "dry", "damp", "damp", "wet", "wet", "standing"]


def test_aquaplaning_onset() -> None:
    # Horne & Dreher 1963, NASA TN D-2056: 10.35 sqrt(psi) mph; 2.0 bar gives 89.7 km/h.
    assert aquaplaning_onset_kmh(200.0) == pytest.approx(89.7, abs=0.05)
    psi, kmh_per_mph = 200.0 / 6.894757293168, 1.609344
    assert aquaplaning_onset_kmh(200.0) == pytest.approx(
        10.35 * math.sqrt(psi) * kmh_per_mph, rel=1e-3
    )


def test_ice_risk_rule() -> None:
    assert ice_risk(1.0, 2.0, film_mm=0.02, dew_c=-3.0)[0]
    assert ice_risk(0.5, 2.0, film_mm=0.0, dew_c=0.8)[0]
    assert not ice_risk(0.5, 2.0, film_mm=0.0, dew_c=-3.0)[0]
    assert not ice_risk(1.5, 2.0, film_mm=1.0, dew_c=0.0)[0]
    # One standard deviation above freezing: the normal table's 15.87 %.
    assert ice_risk(2.0, 2.0, film_mm=0.0, dew_c=0.0)[1] == pytest.approx(0.1587, abs=5e-5)
