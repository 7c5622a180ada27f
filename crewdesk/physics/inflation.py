"""Pressure of the gas in a tyre, cold and hot, low and high."""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from crewdesk.units import STANDARD_PRESSURE_KPA, ZERO_C_IN_K

Floats = NDArray[np.float64]

HOT_TARGET_KPA: Final = {
    "gravel": 215.0,
    "gravel_rough": 235.0,
    "asphalt": 220.0,
    "winter": 220.0,
}
"""Hot gauge pressure at the stop line. Common practice, no source."""
HOT_BAND_KPA: Final = 10.0
"""Half width of the band round a hot target. Common practice, no source."""
FLOOR_KPA: Final = {"gravel": 170.0, "gravel_rough": 180.0, "asphalt": 160.0, "winter": 160.0}
"""Least cold pressure to print where the maker gives none. Common practice, no source."""
ROUGH_FROM: Final = 0.60
"""R above which gravel counts as rough for the pressure. Common practice, no source."""
LOWEST_RIDE_KPA: Final = 110.0
"""Never ride below: the bead may leave its seat. Common practice, no source."""


def _kelvin(name: str, value_c: ArrayLike) -> Floats:
    """Return absolute temperature, checked."""
    kelvin = np.asarray(value_c, dtype=np.float64) + ZERO_C_IN_K
    if np.any(kelvin <= 0.0):
        raise ValueError(f"{name} must be above absolute zero")
    return np.asarray(kelvin)


def atmosphere_kpa(altitude_m: ArrayLike) -> Floats:
    r"""Return the pressure of the standard atmosphere.

    Parameters
    ----------
    altitude_m : array_like
        Geopotential altitude, below 11 km. [m]

    Returns
    -------
    numpy.ndarray, float64
        Absolute pressure. [kPa]

    Notes
    -----
    .. math:: p = 101.325 (1 - 0.0065 z / 288.15)^{5.25588}

    References
    ----------
    .. [1] ISO 2533:1975, Standard atmosphere (constants from memory, not verified).

    Examples
    --------
    >>> float(atmosphere_kpa(1000.0).round(2))
    89.87
    """
    z = np.asarray(altitude_m, dtype=np.float64)
    return np.asarray(STANDARD_PRESSURE_KPA * (1.0 - 0.0065 * z / 288.15) ** 5.25588)


def hot_pressure_kpa(
    cold_kpa: ArrayLike,
    set_c: ArrayLike,
    hot_c: ArrayLike,
    set_air_kpa: ArrayLike = STANDARD_PRESSURE_KPA,
    air_kpa: ArrayLike | None = None,
) -> Floats:
    r"""Return gauge pressure at running temperature, the tyre's volume held fixed.

    Parameters
    ----------
    cold_kpa : array_like
        Gauge pressure as set. [kPa]
    set_c : array_like
        Gas temperature when it was set. [°C]
    hot_c : array_like
        Gas temperature to predict for. [°C]
    set_air_kpa : array_like, default 101.325
        Air pressure where it was set. [kPa]
    air_kpa : array_like, optional
        Air pressure where it is read; as where it was set if not given. [kPa]

    Returns
    -------
    numpy.ndarray, float64, the broadcast shape
        Gauge pressure. [kPa]

    Raises
    ------
    ValueError
        If a temperature is at or below absolute zero.

    Notes
    -----
    .. math:: p_h = (p_c + p_a) \frac{T_h}{T_c} - p_a'

    with absolute temperatures. Leaves out growth of the casing, moisture in the gas and
    loss at the bead.

    References
    ----------
    .. [1] P. P. Urone and R. Hinrichs, "College Physics", OpenStax, 2012, ch. 13,
       problem 22 (250 kPa gauge at 35.0 °C falls to 164 kPa at -40.0 °C); authors and
       year from memory, not verified.

    Examples
    --------
    >>> float(hot_pressure_kpa(250.0, 35.0, -40.0).round(1))
    164.5
    """
    set_air = np.asarray(set_air_kpa, dtype=np.float64)
    here = set_air if air_kpa is None else np.asarray(air_kpa, dtype=np.float64)
    inside = np.asarray(cold_kpa, dtype=np.float64) + set_air
    return np.asarray(inside * _kelvin("hot_c", hot_c) / _kelvin("set_c", set_c) - here)


def cold_pressure_kpa(
    hot_kpa: ArrayLike,
    set_c: ArrayLike,
    hot_c: ArrayLike,
    set_air_kpa: ArrayLike = STANDARD_PRESSURE_KPA,
    air_kpa: ArrayLike | None = None,
) -> Floats:
    r"""Return the gauge pressure to set for a wanted hot pressure.

    Parameters
    ----------
    hot_kpa : array_like
        Gauge pressure wanted when hot. [kPa]
    set_c : array_like
        Gas temperature when it is set. [°C]
    hot_c : array_like
        Gas temperature when hot. [°C]
    set_air_kpa : array_like, default 101.325
        Air pressure where it is set. [kPa]
    air_kpa : array_like, optional
        Air pressure where it is hot; as where it is set if not given. [kPa]

    Returns
    -------
    numpy.ndarray, float64, the broadcast shape
        Gauge pressure. [kPa]

    Raises
    ------
    ValueError
        If a temperature is at or below absolute zero.

    Notes
    -----
    .. math:: p_c = (p_h + p_a') \frac{T_c}{T_h} - p_a

    References
    ----------
    .. [1] Gas law at constant volume.

    Examples
    --------
    >>> float(cold_pressure_kpa(190.0, 16.0, 62.5).round(1))
    149.6
    """
    set_air = np.asarray(set_air_kpa, dtype=np.float64)
    here = set_air if air_kpa is None else np.asarray(air_kpa, dtype=np.float64)
    inside = np.asarray(hot_kpa, dtype=np.float64) + here
    return np.asarray(inside * _kelvin("set_c", set_c) / _kelvin("hot_c", hot_c) - set_air)


def gas_c_from_pressure(
    cold_kpa: ArrayLike,
    set_c: ArrayLike,
    hot_kpa: ArrayLike,
    set_air_kpa: ArrayLike = STANDARD_PRESSURE_KPA,
    air_kpa: ArrayLike | None = None,
) -> Floats:
    r"""Return the gas temperature that a hot reading tells.

    Parameters
    ----------
    cold_kpa : array_like
        Gauge pressure as set. [kPa]
    set_c : array_like
        Gas temperature when it was set. [°C]
    hot_kpa : array_like
        Gauge pressure read when hot. [kPa]
    set_air_kpa : array_like, default 101.325
        Air pressure where it was set. [kPa]
    air_kpa : array_like, optional
        Air pressure where it was read; as where it was set if not given. [kPa]

    Returns
    -------
    numpy.ndarray, float64, the broadcast shape
        Temperature. [°C]

    Raises
    ------
    ValueError
        If a temperature is at or below absolute zero.

    Notes
    -----
    .. math:: T_h = T_c \frac{p_h + p_a'}{p_c + p_a}

    References
    ----------
    .. [1] Gas law at constant volume.
    """
    set_air = np.asarray(set_air_kpa, dtype=np.float64)
    here = set_air if air_kpa is None else np.asarray(air_kpa, dtype=np.float64)
    ratio = (np.asarray(hot_kpa, dtype=np.float64) + here) / (
        np.asarray(cold_kpa, dtype=np.float64) + set_air
    )
    return np.asarray(_kelvin("set_c", set_c) * ratio - ZERO_C_IN_K)


def saturation_kpa(gas_c: ArrayLike) -> Floats:
    r"""Return the pressure of saturated water vapour.

    Parameters
    ----------
    gas_c : array_like
        Temperature, 0 to 100. [°C]

    Returns
    -------
    numpy.ndarray, float64
        Absolute pressure. [kPa]

    Notes
    -----
    .. math:: e = 0.61121 \exp\left( \left(18.678 - \frac{T}{234.5}\right)
       \frac{T}{257.14 + T} \right)

    Within 0.15 % of the steam table.

    References
    ----------
    .. [1] A. L. Buck's form of 1996; from memory, not verified.
    """
    t = np.asarray(gas_c, dtype=np.float64)
    return np.asarray(0.61121 * np.exp((18.678 - t / 234.5) * t / (257.14 + t)))


def wet_hot_pressure_kpa(
    cold_kpa: ArrayLike,
    set_c: ArrayLike,
    hot_c: ArrayLike,
    set_air_kpa: ArrayLike = STANDARD_PRESSURE_KPA,
) -> Floats:
    r"""Return gauge pressure at running temperature with liquid water inside.

    Parameters
    ----------
    cold_kpa : array_like
        Gauge pressure as set. [kPa]
    set_c, hot_c : array_like
        Gas temperature when set and when hot. [°C]
    set_air_kpa : array_like, default 101.325
        Air pressure. [kPa]

    Returns
    -------
    numpy.ndarray, float64, the broadcast shape
        Gauge pressure. [kPa]

    Raises
    ------
    ValueError
        If a temperature is at or below absolute zero.

    Notes
    -----
    .. math:: p_h = (p_c + p_a - e(T_c)) \frac{T_h}{T_c} + e(T_h) - p_a

    As long as liquid is left, the vapour is saturated.

    References
    ----------
    .. [1] Dalton's law with `saturation_kpa`.
    """
    air = np.asarray(set_air_kpa, dtype=np.float64)
    dry = np.asarray(cold_kpa, dtype=np.float64) + air - saturation_kpa(set_c)
    rise = _kelvin("hot_c", hot_c) / _kelvin("set_c", set_c)
    return np.asarray(dry * rise + saturation_kpa(hot_c) - air)


def pressure_kind(surface: str, roughness_share: float) -> str:
    """Return which target and floor a stage wants.

    Parameters
    ----------
    surface : str
        Road: gravel, asphalt, snow or ice.
    roughness_share : float
        R of the loop's longest stage after earlier passes.

    Returns
    -------
    str
        Key of `HOT_TARGET_KPA` and `FLOOR_KPA`.

    Raises
    ------
    ValueError
        If the surface is unknown.

    Notes
    -----
    Wet roads have the targets of dry ones; the cold setting then comes out higher by
    itself, as the tyre stays cooler.

    References
    ----------
    .. [1] Common practice, no source.
    """
    if surface == "gravel":
        return "gravel_rough" if roughness_share > ROUGH_FROM else "gravel"
    if surface == "asphalt":
        return "asphalt"
    if surface in {"snow", "ice"}:
        return "winter"
    raise ValueError(f"unknown surface {surface!r}")


def cold_setting_kpa(wanted_kpa: float, floor_kpa: float) -> tuple[float, bool]:
    """Return the cold pressure to print, and whether the floor decides it.

    Parameters
    ----------
    wanted_kpa : float
        Cold pressure that leads to the hot target. [kPa]
    floor_kpa : float
        Least cold pressure: the maker's, else `FLOOR_KPA`. [kPa]

    Returns
    -------
    tuple of float and bool
        Whole kPa, and True where the floor binds.

    Notes
    -----
    Rounded half up, then raised to the floor.

    References
    ----------
    .. [1] Common practice, no source.
    """
    whole = float(np.floor(wanted_kpa + 0.5))
    return (float(floor_kpa), True) if whole < floor_kpa else (whole, False)
