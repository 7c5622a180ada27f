"""Water on the road: how the film grows and dries, and which state that is."""

import math
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from crewdesk.conditions.ground_heat import steady_surface_c
from crewdesk.conditions.moments import STATES
from crewdesk.conditions.road import (
    GROUNDS,
    PSYCHROMETRIC_HPA_K,
    Fluxes,
    Ground,
    evaporation_w_m2,
    vapour_pressure_hpa,
)

DAMP_MM: Final = 0.01
WET_MM: Final = 0.2
STANDING_MM: Final = 2.0
"""Class limits of DATEX II version 3 and EN 15518-3 (second hand)."""
TEXTURE_MM: Final = 1.0
"""Held in the texture of asphalt. Source: RoadSurf (Finnish Meteorological Institute)."""
DRAIN_PER_H: Final = 0.5
"""Share of the film that runs off in an hour. Tuning value of this project."""
FREEZE_C: Final = -0.25
THAW_C: Final = 0.25
"""Defaults of RoadSurf."""
ICE_RISK_C: Final = 1.0
"""Common practice, no source."""
VAPORISATION_J_KG: Final = 2.45e6

_DRY, _DAMP, _WET, _STANDING = (STATES.index(s) for s in ("dry", "damp", "wet", "standing"))
_FROZEN = STATES.index("frozen")

Values = NDArray[np.float64]


def evaporation_mm_h(surface_c: ArrayLike, fluxes: Fluxes, moisture: float = 1.0) -> Values:
    """Return the water that leaves a wet surface.

    Parameters
    ----------
    surface_c : array_like
        Surface temperature [°C].
    fluxes : Fluxes
        Wind and vapour of the air.
    moisture : float
        1 while there is a film.

    Returns
    -------
    ndarray
        ``LE 3600 / 2.45e6`` [mm/h]; negative when dew falls.
    """
    return evaporation_w_m2(surface_c, fluxes, moisture) * 3600.0 / VAPORISATION_J_KG


def film_step_mm(
    film_mm: ArrayLike, rain_mm_h: ArrayLike, evaporation_mm_h: ArrayLike, step_h: float
) -> Values:
    """Return the film of water one time step later.

    Parameters
    ----------
    film_mm, rain_mm_h, evaporation_mm_h : array_like
        Film [mm], rain and possible evaporation [mm/h]; broadcast together.
    step_h : float
        Time step [h].

    Returns
    -------
    ndarray
        From 0 to 2 mm.

    Notes
    -----
    ``w' = rain - E - 0.5 w``; evaporation and dew act only on a film of 0.01 mm or more, what
    goes over 2 mm runs off at once. Evaporation stops at 0.01 mm, so that more rain never
    leaves less water; run-off takes the film below that limit within the step.
    """
    film = np.asarray(film_mm, dtype=np.float64) + np.asarray(rain_mm_h) * step_h
    lost = np.asarray(evaporation_mm_h) * step_h
    left = np.where(film >= DAMP_MM, np.maximum(film - lost, DAMP_MM), film)
    return np.asarray(np.minimum(left * math.exp(-DRAIN_PER_H * step_h), STANDING_MM))


def film_state(film_mm: ArrayLike) -> NDArray[np.int64]:
    """Return the state of a film, as an index into the list of states.

    Parameters
    ----------
    film_mm : array_like
        Film of water [mm].

    Returns
    -------
    ndarray of int64
        dry, damp, wet or standing.
    """
    film = np.asarray(film_mm, dtype=np.float64)
    limits = np.array([DAMP_MM, WET_MM, STANDING_MM])
    codes = np.array([_DRY, _DAMP, _WET, _STANDING], dtype=np.int64)
    return codes[np.searchsorted(limits, film, side="right")]


def freeze_state(
    state: ArrayLike, film_mm: ArrayLike, road_c: ArrayLike, vapour_hpa: ArrayLike
) -> NDArray[np.int64]:
    """Return the state after frost has been looked at.

    Parameters
    ----------
    state : array_like of int
        State by film.
    film_mm, road_c, vapour_hpa : array_like
        Film [mm], surface [°C], vapour pressure of the air [hPa].

    Returns
    -------
    ndarray of int64
        frozen where the surface is below -0.25 °C and there is a film, or frost settles
        because the air holds more vapour than the surface allows.

    References
    ----------
    Limits: defaults of RoadSurf (Finnish Meteorological Institute).
    """
    road = np.asarray(road_c, dtype=np.float64)
    water = np.asarray(film_mm) >= DAMP_MM
    frost = np.asarray(vapour_hpa) > vapour_pressure_hpa(road)
    return np.where((road < FREEZE_C) & (water | frost), _FROZEN, np.asarray(state))


def ice_risk(
    road_c: float, road_sd_c: float, *, film_mm: float, dew_c: float
) -> tuple[bool, float]:
    """Return whether to warn of ice, and how likely the surface is below 0 °C.

    Parameters
    ----------
    road_c, road_sd_c : float
        Surface and its standard deviation [°C].
    film_mm, dew_c : float
        Film of water [mm] and dew point [°C].

    Returns
    -------
    warn : bool
        Surface at most 1 °C with a film, or with a dew point above it.
    probability : float
        ``Phi((0 - ts) / sd)``.
    """
    warn = road_c <= ICE_RISK_C and (film_mm >= DAMP_MM or dew_c > road_c)
    if road_sd_c <= 0.0:
        return warn, 1.0 if road_c < 0.0 else 0.0
    return warn, 0.5 * math.erfc(road_c / road_sd_c / math.sqrt(2.0))


def drying_rate_mm_h(fluxes: Fluxes, ground: Ground = GROUNDS["asphalt_wet"]) -> Values:
    """Return how fast a wet road dries in unchanging weather.

    Parameters
    ----------
    fluxes : Fluxes
        What reaches the surface.
    ground : Ground
        The wet surface.

    Returns
    -------
    ndarray
        Evaporation at the steady wet temperature over ground at air temperature [mm/h].
    """
    surface = steady_surface_c(fluxes, ground, fluxes.air_c)
    return evaporation_mm_h(surface, fluxes)


def drying_time_h(film_mm: float, rate_mm_h: float) -> float:
    """Return the time in which a film dries without running off.

    Parameters
    ----------
    film_mm : float
        Film now [mm].
    rate_mm_h : float
        Evaporation [mm/h].

    Returns
    -------
    float
        Hours until 0.01 mm is left; infinite where nothing evaporates.
    """
    if film_mm <= DAMP_MM:
        return 0.0
    return (film_mm - DAMP_MM) / rate_mm_h if rate_mm_h > 0.0 else math.inf


def penman_mm_h(
    net_radiation_w_m2: float, air_c: float, dew_c: float, wind_m_s: float
) -> float:
    """Return the evaporation from open water, as a check on the balance.

    Parameters
    ----------
    net_radiation_w_m2, air_c, dew_c, wind_m_s : float
        Net radiation, air and dew point [°C], wind at 2 m.

    Returns
    -------
    float
        Evaporation [mm/h].

    References
    ----------
    Penman 1948 in the form of Shuttleworth 1993 (second hand).
    """
    full = float(vapour_pressure_hpa(air_c))
    slope = full * 17.62 * 243.12 / (243.12 + air_c) ** 2
    drying = 0.26 * (1.0 + 0.54 * wind_m_s) * (full - float(vapour_pressure_hpa(dew_c))) / 24.0
    radiated = net_radiation_w_m2 * 3600.0 / VAPORISATION_J_KG
    return (slope * radiated + PSYCHROMETRIC_HPA_K * drying) / (slope + PSYCHROMETRIC_HPA_K)


def aquaplaning_onset_kmh(pressure_kpa: float) -> float:
    """Return the speed at which a worn tyre starts to float on a flooded road.

    Parameters
    ----------
    pressure_kpa : float
        Gauge pressure.

    Returns
    -------
    float
        ``6.344 sqrt(p)`` [km/h].

    Raises
    ------
    ValueError
        If the pressure is negative.

    References
    ----------
    Horne & Dreher 1963, NASA TN D-2056 (10.35 sqrt(psi) mph, second hand).
    """
    if pressure_kpa < 0.0:
        raise ValueError(f"pressure {pressure_kpa} kPa is negative")
    return 6.344 * math.sqrt(pressure_kpa)
