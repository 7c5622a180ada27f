"""Air temperature through the day, up the hill, and corrected by what somebody measured."""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

LAPSE_DAY_K_KM: Final = 6.5
"""Source: ISO 2533:1975, lapse rate of the troposphere."""
LAPSE_NIGHT_K_KM: Final = 4.0
"""Source: order of Minder, Mote & Lundquist 2010, J. Geophys. Res. 115:D14122."""
LAPSE_SD_K_KM: Final = 1.5
"""Common practice, no source: spread of published ground-level lapse rates."""
FORECAST_SD_C: Final = 2.0
"""1.25 x the mean absolute error of Kendzierski et al. 2018, Geofizika 35(1)."""
FORECAST_MEMORY_H: Final = 6.0
"""Refit from the event's own readings; measured on two station files."""
THERMOMETER_SD_C: Final = 0.5
"""Shaded thermometer. Common practice, no source."""
CAR_SENSOR_SD_C: Final = 1.5
"""Common practice, no source."""
FAR_READING_SD: Final = 4.0
"""A reading further off than this many standard deviations waits to be confirmed."""

LAG_MAX_H: Final = 1.86
NIGHT_DECAY: Final = 2.20
LAG_MIN_H: Final = -0.17


def daily_curve_c(
    hour_h: ArrayLike,
    *,
    day_max_c: float,
    day_min_c: float,
    next_min_c: float,
    sunrise_h: float,
    sunset_h: float,
    lag_max_h: float = LAG_MAX_H,
    night_decay: float = NIGHT_DECAY,
    lag_min_h: float = LAG_MIN_H,
) -> NDArray[np.float64]:
    """Return the air temperature from the day's maximum and minimum.

    Parameters
    ----------
    hour_h : array_like
        Hours of the day on the clock of `sunrise_h`; after midnight 24 and more, or before
        the minimum of the same day.
    day_max_c, day_min_c, next_min_c : float
        The day's maximum and minimum, and the next morning's minimum.
    sunrise_h, sunset_h : float
        Hours on the same clock.
    lag_max_h, night_decay, lag_min_h : float
        Lag of the maximum after solar noon, decay of the night, lag of the minimum after
        sunrise.

    Returns
    -------
    ndarray
        Air temperature, same shape as `hour_h` [°C].

    Raises
    ------
    ValueError
        If the sun sets before it rises.

    Notes
    -----
    By day a piece of a sine; by night
    ``T = Tn2 + (Tss - Tn2) (exp(-b n/Z) - exp(-b)) / (1 - exp(-b))``. The published night term
    is ``exp(-b n/Z)`` alone and misses the minimum; dividing makes the curve continuous.

    References
    ----------
    Parton & Logan 1981, Agric. Meteorol. 23:205-216.
    """
    if not sunset_h > sunrise_h:
        raise ValueError(f"sunset {sunset_h} h is not after sunrise {sunrise_h} h")
    hour = np.asarray(hour_h, dtype=np.float64)
    length_h = sunset_h - sunrise_h
    least_h = sunrise_h + lag_min_h
    period_h = length_h + 2.0 * (lag_max_h - lag_min_h)

    def by_day(h: NDArray[np.float64] | float) -> NDArray[np.float64]:
        swing = np.sin(np.pi * (np.asarray(h) - least_h) / period_h)
        return np.asarray(day_min_c + (day_max_c - day_min_c) * swing)

    at_sunset_c = float(by_day(sunset_h))
    night_h = 24.0 - length_h + lag_min_h
    before = hour < least_h
    since_h = np.where(before, hour + 24.0, hour) - sunset_h
    end_c = np.where(before, day_min_c, next_min_c)
    share = np.clip(since_h / night_h, 0.0, 1.0)
    cooled = (np.exp(-night_decay * share) - np.exp(-night_decay)) / (-np.expm1(-night_decay))
    by_night = end_c + (at_sunset_c - end_c) * cooled
    return np.where(before | (hour > sunset_h), by_night, by_day(hour))


def residual_curve_c(
    at_s: ArrayLike,
    point_s: ArrayLike,
    point_c: ArrayLike,
    curve_at_c: ArrayLike,
    curve_point_c: ArrayLike,
) -> NDArray[np.float64]:
    """Return sparse forecast points joined along the shape of a daily curve.

    Parameters
    ----------
    at_s : array_like, shape (n,)
        Wanted times, any unit and origin shared with `point_s`.
    point_s, point_c : array_like, shape (m,)
        Forecast points in rising order of time.
    curve_at_c, curve_point_c : array_like, shapes (n,) and (m,)
        The daily curve at the wanted times and at the points.

    Returns
    -------
    ndarray, shape (n,)
        Air temperature [°C]; goes through every point.
    """
    left_c = np.asarray(point_c, dtype=np.float64) - np.asarray(curve_point_c, dtype=np.float64)
    return np.asarray(curve_at_c, dtype=np.float64) + np.interp(
        np.asarray(at_s, dtype=np.float64), np.asarray(point_s, dtype=np.float64), left_c
    )


def at_altitude_c(
    air_c: ArrayLike,
    from_m: ArrayLike,
    to_m: ArrayLike,
    lapse_k_km: ArrayLike = LAPSE_DAY_K_KM,
) -> NDArray[np.float64]:
    """Return an air temperature moved from one altitude to another.

    Parameters
    ----------
    air_c : array_like
        Air temperature at `from_m` [°C].
    from_m, to_m : array_like
        Altitudes [m].
    lapse_k_km : array_like
        Fall with height [K/km].

    Returns
    -------
    ndarray
        ``T - L (z_to - z_from) / 1000`` [°C].
    """
    rise_km = (
        np.asarray(to_m, dtype=np.float64) - np.asarray(from_m, dtype=np.float64)
    ) / 1000.0
    return np.asarray(np.asarray(air_c, dtype=np.float64) - np.asarray(lapse_k_km) * rise_km)


def condition_on_readings(
    at_h: ArrayLike,
    at_sd: ArrayLike,
    reading_h: ArrayLike,
    reading_prior_sd: ArrayLike,
    reading_noise_sd: ArrayLike,
    difference: ArrayLike,
    memory_h: float,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the correction to a forecast after readings, and what stays uncertain.

    Parameters
    ----------
    at_h : array_like, shape (n,)
        Times for which the forecast is wanted [h].
    at_sd : array_like, shape (n,)
        Standard deviation of the forecast's error there, before any reading.
    reading_h, reading_prior_sd, reading_noise_sd, difference : array_like, shape (m,)
        Times of the readings, the forecast's standard deviation at them, the thermometer's
        own, and reading minus forecast.
    memory_h : float
        Time in which the correlation of the error falls to 1/e [h].

    Returns
    -------
    correction : ndarray, shape (n,)
        To add to the forecast.
    covariance : ndarray, shape (n, n)
        Of the error that is left.

    Raises
    ------
    ValueError
        If the memory is not positive.

    Notes
    -----
    ``cov(e(t), e(t')) = s(t) s(t') exp(-|t - t'|/tau)``; Gaussian conditioning,
    correction ``k C^-1 r``, covariance ``K - k C^-1 k'``.
    """
    if not memory_h > 0:
        raise ValueError(f"memory {memory_h} h is not positive")
    time = np.asarray(at_h, dtype=np.float64)
    sd = np.asarray(at_sd, dtype=np.float64)
    apart_h = np.abs(time[:, None] - time[None, :])
    covariance = np.asarray(np.outer(sd, sd) * np.exp(-apart_h / memory_h), dtype=np.float64)
    when = np.asarray(reading_h, dtype=np.float64)
    if when.size == 0:
        return np.zeros_like(time), covariance
    prior_sd = np.asarray(reading_prior_sd, dtype=np.float64)
    noise_sd = np.asarray(reading_noise_sd, dtype=np.float64)
    cross = np.outer(sd, prior_sd) * np.exp(-np.abs(time[:, None] - when[None, :]) / memory_h)
    among = np.outer(prior_sd, prior_sd) * np.exp(
        -np.abs(when[:, None] - when[None, :]) / memory_h
    ) + np.diag(noise_sd**2)
    weights = np.linalg.solve(among, cross.T).T
    left = covariance - weights @ cross.T
    # Rounding must not leave the two triangles apart: the draws take a Cholesky factor of this.
    correction = weights @ np.asarray(difference, dtype=np.float64)
    return np.asarray(correction), np.asarray(0.5 * (left + left.T))
