"""The brush tyre: slip and slip work at a given force."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

CAP = 0.995
"""Utilisation above which slip is taken as at it. Tuning value of this project."""


def slip_work_factor(utilisation: ArrayLike) -> NDArray[np.float64]:
    r"""Return the slip work of a brush tyre without its scale.

    Parameters
    ----------
    utilisation : array_like, any shape
        Force over the largest possible force, f.

    Returns
    -------
    numpy.ndarray, float64, same shape
        :math:`\Phi(f)`.

    Notes
    -----
    .. math:: \Phi(f) = 3 f (1 - (1 - f)^{1/3}), \quad 0 \le f \le 0.995

    Parabolic contact pressure; all of force times slip ends as sliding friction.

    References
    ----------
    .. [1] Brush model of tyre science textbooks; from memory, not verified.

    Examples
    --------
    >>> float(slip_work_factor(0.5).round(4))
    0.3094
    """
    f = np.clip(np.asarray(utilisation, dtype=np.float64), 0.0, CAP)
    return np.asarray(3.0 * f * (1.0 - np.cbrt(1.0 - f)))


def slip(utilisation: ArrayLike, mu: ArrayLike, c_per_rad: ArrayLike) -> NDArray[np.float64]:
    r"""Return the slip at which a brush tyre gives a force.

    Parameters
    ----------
    utilisation : array_like
        Force over the largest possible force.
    mu : array_like
        Grip.
    c_per_rad : array_like
        Slip stiffness per load. [1/rad]

    Returns
    -------
    numpy.ndarray, float64, the broadcast shape
        Tangent of the slip angle, or slip ratio.

    Notes
    -----
    .. math:: \sigma = \frac{3 \mu}{c} (1 - (1 - f)^{1/3})

    References
    ----------
    .. [1] Brush model of tyre science textbooks; from memory, not verified.
    """
    f = np.clip(np.asarray(utilisation, dtype=np.float64), 0.0, CAP)
    scale = 3.0 * np.asarray(mu, dtype=np.float64) / np.asarray(c_per_rad, dtype=np.float64)
    return np.asarray(scale * (1.0 - np.cbrt(1.0 - f)))


def slip_work_j_m(
    utilisation: ArrayLike, load_n: ArrayLike, mu: ArrayLike, c_per_rad: ArrayLike
) -> NDArray[np.float64]:
    r"""Return the slip work of a tyre per metre.

    Parameters
    ----------
    utilisation : array_like
        Force over the largest possible force.
    load_n : array_like
        Vertical load. [N]
    mu : array_like
        Grip.
    c_per_rad : array_like
        Slip stiffness per load. [1/rad]

    Returns
    -------
    numpy.ndarray, float64, the broadcast shape
        Work per metre. [J/m]

    Notes
    -----
    .. math:: w = F \sigma = \frac{\mu^2 F_z}{c} \Phi(f)

    References
    ----------
    .. [1] Brush model of tyre science textbooks; from memory, not verified.
    """
    grip = np.asarray(mu, dtype=np.float64)
    scale = grip * grip * np.asarray(load_n, dtype=np.float64)
    return np.asarray(
        scale / np.asarray(c_per_rad, dtype=np.float64) * slip_work_factor(utilisation)
    )
