"""Grip of a tyre against temperature, depth and edges."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from crewdesk.physics.tyre import Compound
from crewdesk.units import KPA_PER_PSI

Floats = NDArray[np.float64]

WLF_1 = 17.44
WLF_2_K = 51.6
"""Universal constants of Williams, Landel and Ferry 1955; from memory, not verified."""

FULL_DEPTH_MM = 5.0
"""Depth below which the pattern loses grip on a road without water. Common practice."""
FULL_DRAIN_MM = 6.0
"""Depth below which the pattern no longer drains. Common practice, no source."""
KM_PER_NAUTICAL_MILE = 1.852
"""Source: SI Brochure, 8th ed., 2006, table 8 (exact)."""
EDGE_CEILING = 1.05
"""Most that a pattern's edge can give against a sharp even pattern. Tuning value."""


def wlf_shift(tread_c: ArrayLike, tg_c: ArrayLike) -> Floats:
    r"""Return the shift of the speed axis at a temperature, in decades.

    Parameters
    ----------
    tread_c : array_like
        Temperature of the rubber, above `tg_c`. [°C]
    tg_c : array_like
        Glass transition temperature. [°C]

    Returns
    -------
    numpy.ndarray, float64
        :math:`\log_{10} a_T`.

    Notes
    -----
    .. math:: \log_{10} a_T = \frac{-17.44 (T - T_g)}{51.6 + T - T_g}

    Not valid below the glass transition.

    References
    ----------
    .. [1] M. L. Williams, R. F. Landel and J. D. Ferry, 1955; constants from memory, not
       verified.

    Examples
    --------
    >>> float(wlf_shift(20.0, -50.0).round(2))
    -10.04
    """
    above = np.asarray(tread_c, dtype=np.float64) - np.asarray(tg_c, dtype=np.float64)
    return np.asarray(-WLF_1 * above / (WLF_2_K + above))


def temperature_factor(
    compound: Compound, tread_c: ArrayLike, speed_decades: ArrayLike = 0.0
) -> Floats:
    r"""Return the grip factor of a compound at a tread temperature.

    Parameters
    ----------
    compound : Compound
        Compound.
    tread_c : array_like
        Mean tread temperature. [°C]
    speed_decades : array_like, default 0
        log10 of the sliding speed over the reference; 0 on a stage.

    Returns
    -------
    numpy.ndarray, float64
        Factor, `mu_peak` at the best temperature.

    Notes
    -----
    .. math:: m_T = \mu_{pk} \, e^{-(x / \beta)^2}, \quad
       x = a(T) - a(T_{opt}) + \log_{10}(v/v_0)

    A bell on the shifted speed axis: steep on the cold side, gentle on the hot one.
    Temperatures below Tg + 5 K are taken as Tg + 5 K.

    References
    ----------
    .. [1] K. A. Grosch, Proc. R. Soc. A 274, 1963 (master curve); from memory, not
       verified.
    .. [2] Best temperature, width and peak: tuning values of this project.
    """
    warm = np.maximum(np.asarray(tread_c, dtype=np.float64), compound.tg_c + 5.0)
    x = (
        wlf_shift(warm, compound.tg_c)
        - wlf_shift(compound.t_opt_c, compound.tg_c)
        + np.asarray(speed_decades, dtype=np.float64)
    )
    return np.asarray(compound.mu_peak * np.exp(-((x / compound.beta_c) ** 2)))


def depth_factor(mean_mm: ArrayLike, ed: ArrayLike) -> Floats:
    r"""Return the grip factor of the depth that is left, away from water.

    Parameters
    ----------
    mean_mm : array_like
        Mean of the three depths. [mm]
    ed : array_like
        Grip lost with all depth gone.

    Returns
    -------
    numpy.ndarray, float64
        Factor.

    Notes
    -----
    .. math:: m = 1 - e_d \max(0, 1 - d / 5\,\mathrm{mm})

    References
    ----------
    .. [1] Critical depth: common practice, no source.
    """
    lost = np.maximum(0.0, 1.0 - np.asarray(mean_mm, dtype=np.float64) / FULL_DEPTH_MM)
    return np.asarray(1.0 - np.asarray(ed, dtype=np.float64) * lost)


def drain_factor(least_mm: ArrayLike, drain: ArrayLike) -> Floats:
    r"""Return the grip factor of the depth that is left, in water.

    Parameters
    ----------
    least_mm : array_like
        Least of the three depths. [mm]
    drain : array_like
        Grip lost with all depth gone: 0 dry and damp, 0.30 wet, 0.50 standing.

    Returns
    -------
    numpy.ndarray, float64
        Factor.

    Notes
    -----
    .. math:: m = 1 - a \max(0, 1 - d_{least} / 6\,\mathrm{mm})

    References
    ----------
    .. [1] Common practice, no source.
    """
    lost = np.maximum(0.0, 1.0 - np.asarray(least_mm, dtype=np.float64) / FULL_DRAIN_MM)
    return np.asarray(1.0 - np.asarray(drain, dtype=np.float64) * lost)


def edge_factor(sharpness: ArrayLike, ee: ArrayLike, pattern: ArrayLike = 1.0) -> Floats:
    r"""Return the grip factor of block edges.

    Parameters
    ----------
    sharpness : array_like
        Sharpness in (0, 1].
    ee : array_like
        Grip lost with all edge gone.
    pattern : array_like, default 1
        Edge that the pattern puts across the slip, 1 = even.

    Returns
    -------
    numpy.ndarray, float64
        Factor.

    Notes
    -----
    .. math:: m = 1 - e_e (1 - \min(a S, 1.05))

    References
    ----------
    .. [1] Tuning values of this project.
    """
    stands = np.minimum(
        np.asarray(pattern, dtype=np.float64) * np.asarray(sharpness, dtype=np.float64),
        EDGE_CEILING,
    )
    return np.asarray(1.0 - np.asarray(ee, dtype=np.float64) * (1.0 - stands))


def crossover_c(softer: Compound, harder: Compound) -> float:
    """Return the tread temperature above which the harder compound grips more.

    Parameters
    ----------
    softer, harder : Compound
        Neighbours of one family.

    Returns
    -------
    float
        Tread temperature. [°C]

    Raises
    ------
    ValueError
        If the two do not cross between the best temperature of the softer and 15 K above
        that of the harder.

    Notes
    -----
    Bisection to 1e-9 K.

    References
    ----------
    .. [1] Follows from `temperature_factor`.
    """

    def harder_leads(at_c: float) -> float:
        soft, hard = temperature_factor(softer, at_c), temperature_factor(harder, at_c)
        return float(hard - soft)

    low, high = softer.t_opt_c, harder.t_opt_c + 15.0
    if harder_leads(low) > 0.0 or harder_leads(high) < 0.0:
        raise ValueError(f"{softer.hardness} and {harder.hardness} do not cross")
    while high - low > 1e-9:
        middle = 0.5 * (low + high)
        if harder_leads(middle) > 0.0:
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)


def hydroplaning_kmh(pressure_kpa: ArrayLike) -> Floats:
    r"""Return the speed from which a smooth tyre may float on deep water.

    Parameters
    ----------
    pressure_kpa : array_like
        Gauge pressure. [kPa]

    Returns
    -------
    numpy.ndarray, float64
        Speed. [km/h]

    Notes
    -----
    .. math:: v_h = 9 \sqrt{p}

    in knots with p in psi; 6.348 in km/h with kPa.

    A limit for a worn tyre; tread raises it. No grip is taken away for it.

    References
    ----------
    .. [1] W. B. Horne and R. C. Dreher, NASA TN D-2056, 1963 (9 knots per root psi);
       coefficient from memory, not verified.

    Examples
    --------
    >>> float(hydroplaning_kmh(180.0).round(1))
    85.2
    """
    psi = np.asarray(pressure_kpa, dtype=np.float64) / KPA_PER_PSI
    return np.asarray(9.0 * KM_PER_NAUTICAL_MILE * np.sqrt(psi))


def may_float(mean_kmh: float, pressure_kpa: float, mean_mm: float) -> bool:
    """Return whether standing water deserves a word of caution.

    Parameters
    ----------
    mean_kmh : float
        Mean speed on the stage. [km/h]
    pressure_kpa : float
        Hot gauge pressure. [kPa]
    mean_mm : float
        Mean depth. [mm]

    Returns
    -------
    bool
        True where the stage is faster than `hydroplaning_kmh` and less than 3 mm is left.

    Notes
    -----
    A caution only.

    References
    ----------
    .. [1] Common practice, no source.
    """
    return mean_mm < 3.0 and mean_kmh > float(hydroplaning_kmh(pressure_kpa))
