"""Air pressure by altitude, and the pressure of a closed tyre by temperature."""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from crewdesk.units import STANDARD_PRESSURE_KPA, ZERO_C_IN_K

EARTH_RADIUS_M: Final = 6_356_766.0
SEA_LEVEL_K: Final = 288.15
LAPSE_K_M: Final = 0.0065
PRESSURE_POWER: Final = 5.255880
GAS_CONSTANT_AIR: Final = 287.05287
"""All five: ISO 2533:1975."""

Values = NDArray[np.float64]


def geopotential_m(altitude_m: ArrayLike) -> Values:
    """Return the geopotential altitude ``r z / (r + z)`` of a geometric one.

    Parameters
    ----------
    altitude_m : array_like
        Geometric altitude [m].

    Returns
    -------
    ndarray
        Geopotential altitude [m].
    """
    z = np.asarray(altitude_m, dtype=np.float64)
    return np.asarray(EARTH_RADIUS_M * z / (EARTH_RADIUS_M + z))


def standard_temperature_k(geopotential_altitude_m: ArrayLike) -> Values:
    """Return the temperature of the standard atmosphere.

    Parameters
    ----------
    geopotential_altitude_m : array_like
        Geopotential altitude, up to 11 km [m].

    Returns
    -------
    ndarray
        Temperature [K].
    """
    return np.asarray(SEA_LEVEL_K - LAPSE_K_M * np.asarray(geopotential_altitude_m))


def standard_pressure_kpa(geopotential_altitude_m: ArrayLike) -> Values:
    """Return the pressure of the standard atmosphere.

    Parameters
    ----------
    geopotential_altitude_m : array_like
        Geopotential altitude, up to 11 km [m]. The difference from a geometric altitude does
        not matter to a tyre (0.012 kPa at 3000 m).

    Returns
    -------
    ndarray
        Pressure [kPa].

    References
    ----------
    ISO 2533:1975; ICAO Doc 7488.
    """
    ratio = standard_temperature_k(geopotential_altitude_m) / SEA_LEVEL_K
    return np.asarray(STANDARD_PRESSURE_KPA * ratio**PRESSURE_POWER)


def standard_density_kg_m3(geopotential_altitude_m: ArrayLike) -> Values:
    """Return the density of the standard atmosphere ``p / (R T)``.

    Parameters
    ----------
    geopotential_altitude_m : array_like
        Geopotential altitude, up to 11 km [m].

    Returns
    -------
    ndarray
        Density [kg/m3].
    """
    pressure_pa = standard_pressure_kpa(geopotential_altitude_m) * 1000.0
    temperature = standard_temperature_k(geopotential_altitude_m)
    return np.asarray(pressure_pa / (GAS_CONSTANT_AIR * temperature))


def station_pressure_kpa(qnh_hpa: ArrayLike, altitude_m: ArrayLike) -> Values:
    """Return the air pressure at a place from a report's sea-level pressure.

    Parameters
    ----------
    qnh_hpa : array_like
        Pressure reduced to sea level, as an aerodrome reports it [hPa].
    altitude_m : array_like
        Altitude of the place [m].

    Returns
    -------
    ndarray
        Pressure at the place [kPa].
    """
    ratio = 1.0 - LAPSE_K_M * np.asarray(altitude_m, dtype=np.float64) / SEA_LEVEL_K
    return np.asarray(np.asarray(qnh_hpa) * ratio**PRESSURE_POWER / 10.0)


def tyre_pressure_kpa(
    gauge_kpa: ArrayLike,
    from_c: ArrayLike,
    to_c: ArrayLike,
    *,
    from_air_kpa: ArrayLike = STANDARD_PRESSURE_KPA,
    to_air_kpa: ArrayLike | None = None,
) -> Values:
    """Return the gauge pressure of a closed tyre at another temperature and place.

    Parameters
    ----------
    gauge_kpa : array_like
        Gauge pressure at the first temperature [kPa].
    from_c, to_c : array_like
        Temperatures of the air in the tyre [°C].
    from_air_kpa, to_air_kpa : array_like
        Air pressure around the tyre at both moments [kPa]; the second equals the first where
        it is not given.

    Returns
    -------
    ndarray
        ``(P1 + pa1) T2/T1 - pa2`` [kPa]. The setting for a wanted hot value is the same
        function from hot to cold.

    Raises
    ------
    ValueError
        If a temperature is at or below absolute zero, or the tyre holds less than nothing.
    """
    first_k = np.asarray(from_c, dtype=np.float64) + ZERO_C_IN_K
    second_k = np.asarray(to_c, dtype=np.float64) + ZERO_C_IN_K
    absolute = np.asarray(gauge_kpa, dtype=np.float64) + np.asarray(from_air_kpa)
    if np.any(first_k <= 0.0) or np.any(second_k <= 0.0):
        raise ValueError("a temperature is at or below absolute zero")
    if np.any(absolute <= 0.0):
        raise ValueError("the absolute pressure is not above zero")
    around = from_air_kpa if to_air_kpa is None else to_air_kpa
    return np.asarray(absolute * second_k / first_k - np.asarray(around))
