"""Surface temperature of a road from sun, cloud, wind, humidity and what it is made of."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from crewdesk.units import ZERO_C_IN_K

STEFAN_BOLTZMANN: Final = 5.670374e-8
"""W m-2 K-4. Source: CODATA 2018."""
DAY_S: Final = 86400.0
ANGULAR_PER_S: Final = 2.0 * np.pi / DAY_S
PSYCHROMETRIC_HPA_K: Final = 0.66
WIND_10M_TO_ROAD: Final = 0.72
"""Log profile, roughness 0.03 m. Common practice, no source."""
OPEN_SKY: Final = 1.0
FOREST_SKY: Final = 0.4
"""Share of the sky seen from under dense trees. Common practice, no source."""
AIR_TO_ROAD: Final = 0.85
"""Change of the surface per degree of air, all else equal; from this module's own balance."""

Values = NDArray[np.float64]


@dataclass(frozen=True)
class Ground:
    """What a road surface is made of, as far as its warmth is concerned."""

    albedo: float
    emissivity: float
    inertia: float
    """sqrt(conductivity x heat capacity) [J m-2 K-1 s-1/2]."""
    moisture: float
    """0 dry, 1 evaporates like open water."""


GROUNDS: Final[Mapping[str, Ground]] = MappingProxyType(
    {
        # Albedo and emissivity: defaults of RoadSurf (Finnish Meteorological Institute, MIT).
        "asphalt_dry": Ground(0.10, 0.95, 1600.0, 0.0),
        "asphalt_wet": Ground(0.08, 0.95, 1700.0, 1.0),  # common practice, no source
        "gravel_dry": Ground(0.25, 0.93, 1100.0, 0.0),  # from memory, not verified
        "gravel_damp": Ground(0.18, 0.94, 1600.0, 0.5),  # common practice, no source
        "snow": Ground(0.60, 0.97, 500.0, 1.0),  # albedo: RoadSurf
    }
)
GRAVEL_WET: Final = replace(GROUNDS["gravel_damp"], moisture=1.0)
"""Gravel with a film of water: damp gravel that evaporates freely."""


@dataclass(frozen=True)
class Fluxes:
    """What falls on the surface, by time or place; all arrays of one shape."""

    shortwave_w_m2: Values
    longwave_w_m2: Values
    convection_w_m2k: Values
    air_c: Values
    vapour_hpa: Values


def vapour_pressure_hpa(temperature_c: ArrayLike) -> Values:
    """Return the saturation vapour pressure over water.

    Parameters
    ----------
    temperature_c : array_like
        Temperature; of the dew point for the vapour pressure of the air [°C].

    Returns
    -------
    ndarray
        Vapour pressure [hPa].

    References
    ----------
    Magnus form of WMO-No. 8 (second hand).
    """
    t = np.asarray(temperature_c, dtype=np.float64)
    return np.asarray(6.112 * np.exp(17.62 * t / (243.12 + t)))


def dew_point_c(air_c: ArrayLike, humidity_share: ArrayLike) -> Values:
    """Return the dew point of air at a relative humidity.

    Parameters
    ----------
    air_c : array_like
        Air temperature [°C].
    humidity_share : array_like
        Relative humidity, 0 to 1; under 1 % counts as 1 %.

    Returns
    -------
    ndarray
        Dew point [°C]: the inverse of the Magnus form.
    """
    air = np.asarray(air_c, dtype=np.float64)
    damp = np.clip(np.asarray(humidity_share, dtype=np.float64), 0.01, 1.0)
    power = np.log(damp) + 17.62 * air / (243.12 + air)
    return np.asarray(243.12 * power / (17.62 - power))


def clear_sky_w_m2(elevation_deg: ArrayLike) -> Values:
    """Return sunshine on level ground under a clear sky.

    Parameters
    ----------
    elevation_deg : array_like
        Elevation of the sun [deg].

    Returns
    -------
    ndarray
        Global radiation [W/m2], 0 at night.

    References
    ----------
    Haurwitz 1945/46, J. Meteorology.
    """
    height = np.sin(np.radians(np.asarray(elevation_deg, dtype=np.float64)))
    # The clip keeps the exponent finite at night, where the result is 0 anyway.
    up = np.maximum(height, 1e-4)
    return np.where(height > 0.0, 1098.0 * up * np.exp(-0.059 / up), 0.0)


def cloudy_sky_w_m2(clear_w_m2: ArrayLike, cloud_share: ArrayLike) -> tuple[Values, Values]:
    """Return global and diffuse sunshine under a share of cloud.

    Parameters
    ----------
    clear_w_m2 : array_like
        Sunshine under a clear sky [W/m2].
    cloud_share : array_like
        Cloud cover, 0 to 1.

    Returns
    -------
    total_w_m2, diffuse_w_m2 : ndarray
        ``G0 (1 - 0.75 N^3.4)`` and ``G (0.3 + 0.7 N^2)``.

    References
    ----------
    Kasten & Czeplak 1980, Solar Energy 24:177 (diffuse share from memory, not verified).
    """
    cloud = np.asarray(cloud_share, dtype=np.float64)
    total = np.asarray(clear_w_m2, dtype=np.float64) * (1.0 - 0.75 * cloud**3.4)
    return total, total * (0.3 + 0.7 * cloud**2)


def sky_emissivity(air_c: ArrayLike, vapour_hpa: ArrayLike, cloud_share: ArrayLike) -> Values:
    """Return how much of a black body's radiation the sky sends down.

    Parameters
    ----------
    air_c, vapour_hpa, cloud_share : array_like
        Air [°C], vapour pressure [hPa], cloud cover 0 to 1.

    Returns
    -------
    ndarray
        At most 1.

    References
    ----------
    Brutsaert 1975; Unsworth & Monteith 1975 (second hand).
    """
    cloud = np.asarray(cloud_share, dtype=np.float64)
    kelvin = np.asarray(air_c, dtype=np.float64) + ZERO_C_IN_K
    clear = 1.24 * (np.asarray(vapour_hpa, dtype=np.float64) / kelvin) ** (1.0 / 7.0)
    return np.asarray(np.minimum((1.0 - 0.84 * cloud) * clear + 0.84 * cloud, 1.0))


def convection_w_m2k(wind_m_s: ArrayLike) -> Values:
    """Return the exchange of heat with moving air.

    Parameters
    ----------
    wind_m_s : array_like
        Wind at about 2 m [m/s].

    Returns
    -------
    ndarray
        ``5.7 + 3.8 v`` under 5 m/s, else ``6.47 v^0.78`` [W/m2K].

    References
    ----------
    McAdams 1954 (second branch from memory, not verified).
    """
    wind = np.asarray(wind_m_s, dtype=np.float64)
    return np.where(wind < 5.0, 5.7 + 3.8 * wind, 6.47 * wind**0.78)


def surface_fluxes(
    *,
    elevation_deg: ArrayLike,
    air_c: ArrayLike,
    dew_c: ArrayLike,
    wind_m_s: ArrayLike,
    cloud_share: ArrayLike,
    shade_share: ArrayLike = 0.0,
    sky_share: ArrayLike = OPEN_SKY,
) -> Fluxes:
    """Return what reaches a road surface.

    Parameters
    ----------
    elevation_deg, air_c, dew_c, wind_m_s, cloud_share : array_like
        Sun [deg], air and dew point [°C], wind at 2 m [m/s], cloud 0 to 1; broadcast together.
    shade_share : array_like
        0 open, 1 the beam is blocked.
    sky_share : array_like
        Share of the sky that is seen, 1 open.

    Returns
    -------
    Fluxes
        Shortwave ``psi D + (1 - s)(G - D)``, longwave ``sigma Ta^4 (psi eps + 1 - psi)``.
    """
    total, diffuse = cloudy_sky_w_m2(clear_sky_w_m2(elevation_deg), cloud_share)
    sky = np.asarray(sky_share, dtype=np.float64)
    vapour = vapour_pressure_hpa(dew_c)
    air = np.asarray(air_c, dtype=np.float64)
    black = STEFAN_BOLTZMANN * (air + ZERO_C_IN_K) ** 4
    return Fluxes(
        *np.broadcast_arrays(
            sky * diffuse + (1.0 - np.asarray(shade_share)) * (total - diffuse),
            black * (sky * sky_emissivity(air, vapour, cloud_share) + 1.0 - sky),
            convection_w_m2k(wind_m_s),
            air,
            vapour,
        )
    )


def evaporation_w_m2(surface_c: ArrayLike, fluxes: Fluxes, moisture: ArrayLike) -> Values:
    """Return the heat that evaporating water takes away; negative when dew falls.

    Parameters
    ----------
    surface_c : array_like
        Surface temperature [°C].
    fluxes : Fluxes
        Wind and vapour of the air.
    moisture : array_like
        0 dry, 1 open water.

    Returns
    -------
    ndarray
        ``beta h (e_s(t_s) - e_a) / 0.66`` [W/m2].

    References
    ----------
    Bulk form as in RoadSurf (Finnish Meteorological Institute, MIT licence).
    """
    lift = vapour_pressure_hpa(surface_c) - fluxes.vapour_hpa
    return np.asarray(
        np.asarray(moisture) * fluxes.convection_w_m2k * lift / PSYCHROMETRIC_HPA_K
    )


def net_flux_w_m2(surface_c: ArrayLike, fluxes: Fluxes, ground: Ground) -> Values:
    """Return the heat that flows into the ground.

    Parameters
    ----------
    surface_c : array_like
        Surface temperature [°C].
    fluxes : Fluxes
        What reaches the surface.
    ground : Ground
        What the surface is.

    Returns
    -------
    ndarray
        ``(1 - alb) S + em (Ld - sigma Ts^4) - h (ts - ta) - LE`` [W/m2].
    """
    surface = np.asarray(surface_c, dtype=np.float64)
    radiated = STEFAN_BOLTZMANN * (surface + ZERO_C_IN_K) ** 4
    return np.asarray(
        (1.0 - ground.albedo) * fluxes.shortwave_w_m2
        + ground.emissivity * (fluxes.longwave_w_m2 - radiated)
        - fluxes.convection_w_m2k * (surface - fluxes.air_c)
        - evaporation_w_m2(surface, fluxes, ground.moisture)
    )
