"""Rounding of block edges."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

ROUNDEST_MM = 3.0
"""Radius of an edge that is as round as it gets. Tuning value of this project."""


def edge_load(brake_j_m: ArrayLike, drive_j_m: ArrayLike, corner_j_m: ArrayLike) -> Floats:
    r"""Return how hard each edge is used against the mean of the three.

    Parameters
    ----------
    brake_j_m, drive_j_m, corner_j_m : array_like, shape (...)
        Slip work of the three modes. [J/m]

    Returns
    -------
    numpy.ndarray, float64, shape (..., 3)
        Braking, driving, cornering; 0.3 to 2.

    Notes
    -----
    .. math:: \omega_e = \mathrm{clip}\left(\frac{3 E_e}{E_b + E_d + E_c}, 0.3, 2\right)

    References
    ----------
    .. [1] Tuning values of this project.
    """
    rows = [np.asarray(x, dtype=np.float64) for x in (brake_j_m, drive_j_m, corner_j_m)]
    work = np.stack(np.broadcast_arrays(*rows), axis=-1)
    return np.asarray(np.clip(3.0 * work / work.sum(axis=-1, keepdims=True), 0.3, 2.0))


def rounded(
    sharpness: ArrayLike,
    loss_mm: ArrayLike,
    *,
    load: ArrayLike,
    psi: ArrayLike,
    edge_length_mm: ArrayLike,
) -> Floats:
    r"""Return the sharpness of an edge after a loss of depth.

    Parameters
    ----------
    sharpness : array_like
        Before, in (0, 1].
    loss_mm : array_like
        Depth lost beside that edge. [mm]
    load : array_like
        From `edge_load`.
    psi : array_like
        Speed of rounding on the surface.
    edge_length_mm : array_like
        Depth loss over which an edge rounds to 1/e. [mm]

    Returns
    -------
    numpy.ndarray, float64
        After.

    Notes
    -----
    .. math:: S \leftarrow S \, e^{-\psi \omega \, \Delta d / x_e}

    Concentrated pressure rounds a fresh edge quickly; lowering of the block face takes
    the rounding away again, so that the radius tends to an equilibrium.

    References
    ----------
    .. [1] Tuning values of this project; no published rate was found for gravel.
    """
    loss = np.asarray(loss_mm, dtype=np.float64) * np.asarray(load, dtype=np.float64)
    rate = np.asarray(psi, dtype=np.float64) / np.asarray(edge_length_mm, dtype=np.float64)
    return np.asarray(np.asarray(sharpness, dtype=np.float64) * np.exp(-loss * rate))


def edge_radius_mm(sharpness: ArrayLike) -> Floats:
    """Return the radius of an edge. [mm].

    Parameters
    ----------
    sharpness : array_like
        In (0, 1].

    Returns
    -------
    numpy.ndarray, float64
        0 sharp, 3 mm as round as it gets. [mm]

    Notes
    -----
    Linear in what is lost of the sharpness.

    References
    ----------
    .. [1] Tuning value of this project.
    """
    return np.asarray(ROUNDEST_MM * (1.0 - np.asarray(sharpness, dtype=np.float64)))


def assumed_sharpness(
    mean_mm: ArrayLike, tread_new_mm: ArrayLike, edge_length_mm: ArrayLike
) -> Floats:
    r"""Return the sharpness to assume for a used tyre that nobody has looked at.

    Parameters
    ----------
    mean_mm : array_like
        Mean depth. [mm]
    tread_new_mm : array_like
        Depth when new. [mm]
    edge_length_mm : array_like
        Depth loss over which an edge rounds to 1/e. [mm]

    Returns
    -------
    numpy.ndarray, float64
        In (0, 1].

    Notes
    -----
    .. math:: S = e^{-(d_{new} - d) / x_e}

    References
    ----------
    .. [1] Tuning value of this project.
    """
    lost = np.asarray(tread_new_mm, dtype=np.float64) - np.asarray(mean_mm, dtype=np.float64)
    return np.asarray(
        np.exp(-np.maximum(0.0, lost) / np.asarray(edge_length_mm, dtype=np.float64))
    )
