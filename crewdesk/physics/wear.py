"""Tread wear: volume, depth, and how it spreads across the width."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from crewdesk.physics.tyre import Compound

Floats = NDArray[np.float64]

ACROSS_TURNS = 0.5
ACROSS_PRESSURE_EDGE = 0.4
ACROSS_PRESSURE_MIDDLE = 0.8
LEAST_WEIGHT = 0.2
"""Wear across the width against turning and pressure. Tuning values of this project."""


def temperature_wear(compound: Compound, tread_c: ArrayLike) -> Floats:
    r"""Return the wear factor of a compound at a tread temperature.

    Parameters
    ----------
    compound : Compound
        Compound.
    tread_c : array_like
        Mean tread temperature. [°C]

    Returns
    -------
    numpy.ndarray, float64
        1 inside the window, more outside.

    Notes
    -----
    .. math:: \ln f_T = a_h \frac{\max(0, T - T_{hi})}{10}
       + a_c \frac{\max(0, T_{lo} - T)}{10}

    References
    ----------
    .. [1] C. Ambelang, Tire Science and Technology, 1973, for the direction (cutting
       abrasion rises on both sides of a minimum). Slopes: tuning values.
    """
    t = np.asarray(tread_c, dtype=np.float64)
    hot = compound.a_hot / 10.0 * np.maximum(0.0, t - compound.t_hi_c)
    cold = compound.a_cold / 10.0 * np.maximum(0.0, compound.t_lo_c - t)
    return np.asarray(np.exp(hot + cold))


def volume_mm3_km(
    work_j_m: ArrayLike,
    *,
    k_c_mm3_j: ArrayLike,
    kap: ArrayLike,
    eta: ArrayLike,
    factor: ArrayLike = 1.0,
) -> Floats:
    r"""Return the rubber a tyre loses per kilometre.

    Parameters
    ----------
    work_j_m : array_like
        Slip work per metre. [J/m]
    k_c_mm3_j : array_like
        Abradability of the compound. [mm3/J]
    kap, eta : array_like
        Abrasiveness of the road, share of the work done on rubber.
    factor : array_like, default 1
        Temperature factor times multiplier.

    Returns
    -------
    numpy.ndarray, float64
        Volume. [mm3/km]

    Notes
    -----
    .. math:: V' = k_c \, \kappa \, f_T M \, \eta E \cdot 1000

    Linear in energy, and not otherwise dependent on speed or depth.

    References
    ----------
    .. [1] B. N. J. Persson et al., J. Chem. Phys. 162, 074704, 2025 (wear in proportion
       to load, independent of sliding speed).
    """
    work = np.asarray(work_j_m, dtype=np.float64) * np.asarray(eta, dtype=np.float64)
    rate = np.asarray(k_c_mm3_j, dtype=np.float64) * np.asarray(kap, dtype=np.float64)
    return np.asarray(work * rate * np.asarray(factor, dtype=np.float64) * 1000.0)


def turning_asymmetry(
    corner_share: ArrayLike, lateral_transfer: ArrayLike, toward_outer_share: ArrayLike
) -> Floats:
    r"""Return how much more the outer than the inner shoulder is worked by turning.

    Parameters
    ----------
    corner_share : array_like
        Share of the slip work done in corners.
    lateral_transfer : array_like
        Load moved across over the wheel's load.
    toward_outer_share : array_like
        Share of the turning that has this wheel on the outside: right turns for a left
        wheel.

    Returns
    -------
    numpy.ndarray, float64
        -1 to 1, positive where the outer shoulder works more.

    Notes
    -----
    .. math:: s_{out} = \frac{r' (1 + \lambda)}{r' (1 + \lambda) + (1 - r') (1 - \lambda)},
       \quad asym = \frac{E_c}{E} (2 s_{out} - 1)

    References
    ----------
    .. [1] Load transfer of a rigid car; form is a tuning choice of this project.
    """
    lam = np.asarray(lateral_transfer, dtype=np.float64)
    r = np.asarray(toward_outer_share, dtype=np.float64)
    outside = r * (1.0 + lam)
    share = outside / (outside + (1.0 - r) * (1.0 - lam))
    return np.asarray(np.asarray(corner_share, dtype=np.float64) * (2.0 * share - 1.0))


def width_weights(
    asymmetry: ArrayLike, *, camber_shift: ArrayLike, pressure_error: ArrayLike
) -> Floats:
    r"""Return how the loss spreads over inner, middle and outer.

    Parameters
    ----------
    asymmetry : array_like
        From `turning_asymmetry`.
    camber_shift : array_like
        Negative camber in degrees times the wear per degree.
    pressure_error : array_like
        Hot pressure over its target, less 1.

    Returns
    -------
    numpy.ndarray, float64, shape (..., 3)
        Weights inner, middle, outer that sum to 3.

    Notes
    -----
    .. math:: w_{O,I} = 1 \pm 0.5\,asym \mp 0.06 \gamma - 0.4\,dp, \quad
       w_C = 1 + 0.8\,dp

    each at least 0.2, then scaled to the sum 3.

    References
    ----------
    .. [1] Tuning values of this project; directions are common practice, no source.
    """
    shift = ACROSS_TURNS * np.asarray(asymmetry, dtype=np.float64) - np.asarray(
        camber_shift, dtype=np.float64
    )
    dp = np.asarray(pressure_error, dtype=np.float64)
    rows = np.broadcast_arrays(
        1.0 - shift - ACROSS_PRESSURE_EDGE * dp,
        1.0 + ACROSS_PRESSURE_MIDDLE * dp,
        1.0 + shift - ACROSS_PRESSURE_EDGE * dp,
    )
    weights = np.maximum(np.stack(rows, axis=-1), LEAST_WEIGHT)
    return np.asarray(weights * (3.0 / weights.sum(axis=-1, keepdims=True)))


def km_left(
    tread_mm: ArrayLike, minimum_mm: float, rate_mm_km: ArrayLike, weights: ArrayLike
) -> Floats:
    r"""Return the distance until the first of the three depths is at the minimum.

    Parameters
    ----------
    tread_mm : array_like, shape (..., 3)
        Depths. [mm]
    minimum_mm : float
        Least depth allowed. [mm]
    rate_mm_km : array_like, shape (...)
        Mean loss per kilometre, above 0. [mm/km]
    weights : array_like, shape (..., 3)
        From `width_weights`.

    Returns
    -------
    numpy.ndarray, float64, shape (...)
        Distance, at least 0. [km]

    Notes
    -----
    .. math:: \min_z \frac{d_z - d_{min}}{\delta w_z}

    References
    ----------
    .. [1] Arithmetic.
    """
    left = np.asarray(tread_mm, dtype=np.float64) - minimum_mm
    rate = np.asarray(rate_mm_km, dtype=np.float64)[..., np.newaxis]
    reach = left / (rate * np.asarray(weights, dtype=np.float64))
    return np.asarray(np.maximum(0.0, reach.min(axis=-1)))
