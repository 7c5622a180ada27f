"""Temperature of tread and carcass: two nodes, exact steps for constant inputs."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from crewdesk.physics.conductance import (
    BULK_J_K,
    TREAD_J_K,
    TREAD_TO_BULK_W_K,
    Cooling,
    rolling_cooling,
    standing_cooling,
)
from crewdesk.physics.numbers import SHIPPED, ModelNumbers
from crewdesk.units import STANDARD_GRAVITY_MS2 as G

Floats = NDArray[np.float64]

STAGE_ROLLING = 0.012
ROAD_ROLLING = 0.010
"""Rolling resistance on a stage and on the road. Common practice, no source."""


@dataclass(frozen=True)
class AffineMap:
    """What a stretch of time does to both temperatures.

    Parameters
    ----------
    matrix : numpy.ndarray, shape (..., 2, 2)
        Weight of the temperatures at the start; first tread, then bulk.
    offset : numpy.ndarray, shape (..., 2)
        What comes on top. [°C]
    """

    matrix: Floats
    offset: Floats


def step_matrix(cooling: Cooling, seconds: ArrayLike) -> Floats:
    r"""Return the weights of the start temperatures after a time.

    Parameters
    ----------
    cooling : Cooling
        Conductances of shape (...).
    seconds : array_like
        Time, broadcast against them. [s]

    Returns
    -------
    numpy.ndarray, float64, shape (..., 2, 2)
        :math:`e^{A t}`.

    Notes
    -----
    With :math:`s = \mathrm{tr} A / 2` and :math:`\delta = \sqrt{s^2 - \det A}`, which is
    real since the off-diagonals of A are positive,

    .. math:: e^{A t} = e^{s t} (\cosh \delta t \, I
        + \frac{\sinh \delta t}{\delta} (A - s I))

    written with :math:`e^{(s \pm \delta) t}`, both exponents negative, so that long times
    do not overflow.

    References
    ----------
    .. [1] Exponential of a matrix of order two (linear algebra).
    """
    t = np.asarray(seconds, dtype=np.float64)
    a11 = -(cooling.tread_air_w_k + cooling.road_w_k + TREAD_TO_BULK_W_K) / TREAD_J_K
    a12 = TREAD_TO_BULK_W_K / TREAD_J_K
    a21 = TREAD_TO_BULK_W_K / BULK_J_K
    a22 = -(cooling.bulk_air_w_k + TREAD_TO_BULK_W_K) / BULK_J_K
    half = 0.5 * (a11 + a22)
    delta = np.sqrt(0.25 * (a11 - a22) ** 2 + a12 * a21)
    slow, fast = np.exp((half + delta) * t), np.exp((half - delta) * t)
    even, odd = 0.5 * (slow + fast), 0.5 * (slow - fast) / delta
    matrix = np.empty((*even.shape, 2, 2))
    matrix[..., 0, 0] = even + odd * (a11 - half)
    matrix[..., 0, 1] = odd * a12
    matrix[..., 1, 0] = odd * a21
    matrix[..., 1, 1] = even + odd * (a22 - half)
    return matrix


def time_constants_s(cooling: Cooling) -> tuple[Floats, Floats]:
    """Return the slow and the fast time constant.

    Parameters
    ----------
    cooling : Cooling
        Conductances.

    Returns
    -------
    tuple of numpy.ndarray
        Slow, fast. [s]

    Notes
    -----
    Negative inverses of the eigenvalues of A.

    References
    ----------
    .. [1] Linear systems of order two.
    """
    a11 = -(cooling.tread_air_w_k + cooling.road_w_k + TREAD_TO_BULK_W_K) / TREAD_J_K
    a22 = -(cooling.bulk_air_w_k + TREAD_TO_BULK_W_K) / BULK_J_K
    half = 0.5 * (a11 + a22)
    across = TREAD_TO_BULK_W_K * TREAD_TO_BULK_W_K / (TREAD_J_K * BULK_J_K)
    delta = np.sqrt(0.25 * (a11 - a22) ** 2 + across)
    return np.asarray(-1.0 / (half + delta)), np.asarray(-1.0 / (half - delta))


def steady_c(
    cooling: Cooling,
    *,
    air_c: ArrayLike,
    road_c: ArrayLike,
    tread_w: ArrayLike = 0.0,
    bulk_w: ArrayLike = 0.0,
) -> Floats:
    r"""Return the temperatures that constant inputs lead to.

    Parameters
    ----------
    cooling : Cooling
        Conductances.
    air_c, road_c : array_like
        Air and road. [°C]
    tread_w, bulk_w : array_like
        Heat put into tread and bulk. [W]

    Returns
    -------
    numpy.ndarray, float64, shape (..., 2)
        Tread and bulk. [°C]

    Notes
    -----
    .. math:: T_\infty = -A^{-1} q

    References
    ----------
    .. [1] Balance of heat on two nodes.
    """
    air = np.asarray(air_c, dtype=np.float64)
    tread_in = (
        np.asarray(tread_w, dtype=np.float64)
        + cooling.tread_air_w_k * air
        + cooling.road_w_k * np.asarray(road_c, dtype=np.float64)
    )
    bulk_in = np.asarray(bulk_w, dtype=np.float64) + cooling.bulk_air_w_k * air
    tread_out = cooling.tread_air_w_k + cooling.road_w_k + TREAD_TO_BULK_W_K
    bulk_out = cooling.bulk_air_w_k + TREAD_TO_BULK_W_K
    det = tread_out * bulk_out - TREAD_TO_BULK_W_K**2
    tread = (tread_in * bulk_out + bulk_in * TREAD_TO_BULK_W_K) / det
    bulk = (bulk_in * tread_out + tread_in * TREAD_TO_BULK_W_K) / det
    return np.stack(np.broadcast_arrays(tread, bulk), axis=-1)


def affine_map(matrix: Floats, steady: Floats) -> AffineMap:
    r"""Return the map of a step towards the steady temperatures.

    Parameters
    ----------
    matrix : numpy.ndarray, shape (..., 2, 2)
        From `step_matrix`.
    steady : numpy.ndarray, shape (..., 2)
        From `steady_c`. [°C]

    Returns
    -------
    AffineMap
        Map of shape (...).

    Notes
    -----
    .. math:: T(t) = T_\infty + e^{A t} (T_0 - T_\infty)

    References
    ----------
    .. [1] Linear systems with constant inputs.
    """
    offset = steady - np.einsum("...ij,...j->...i", matrix, steady)
    full = np.broadcast_to(matrix, (*offset.shape[:-1], 2, 2))
    return AffineMap(full, offset)


def road_map(
    air_c: ArrayLike,
    road_c: ArrayLike,
    *,
    km: float,
    kmh: float,
    fz_n: float,
    work_j_m: float = 5.0,
    heat_share: float = 0.40,
    road_effusivity: float = 1400.0,
    width_m: float = 0.190,
    land_ratio: float = 0.60,
    water_w_k: float = 0.0,
    numbers: ModelNumbers = SHIPPED,
) -> AffineMap:
    r"""Return what a road section does to a tyre's temperatures.

    Parameters
    ----------
    air_c, road_c : array_like, shape (S,)
        Air and road. [°C]
    km : float
        Length. [km]
    kmh : float
        Mean speed, above 1.8. [km/h]
    fz_n : float
        Vertical load, a quarter of the car's weight. [N]
    work_j_m, heat_share : float
        Slip work and the share of it that heats the tread. [J/m]
    road_effusivity, water_w_k : float
        Road under the tyre. [J/m2Ks^0.5], [W/K]
    width_m, land_ratio : float
        Tread.
    numbers : ModelNumbers
        Numbers of the model.

    Returns
    -------
    AffineMap
        Shapes (S, 2, 2) and (S, 2).

    Raises
    ------
    ValueError
        If the speed is not above 1.8 km/h or the length negative.

    Notes
    -----
    .. math:: Q_t = \chi E v, \quad Q_b = c_{rr} F_z v

    References
    ----------
    .. [1] Tuning values of this project.
    """
    if km < 0.0:
        raise ValueError("a road section cannot have a negative length")
    v = kmh / 3.6
    cooling = rolling_cooling(
        v,
        road_effusivity=road_effusivity,
        water_w_k=water_w_k,
        width_m=width_m,
        land_ratio=land_ratio,
        numbers=numbers,
    )
    steady = steady_c(
        cooling,
        air_c=air_c,
        road_c=road_c,
        tread_w=heat_share * work_j_m * v,
        bulk_w=ROAD_ROLLING * fz_n * v,
    )
    return affine_map(step_matrix(cooling, km * 1000.0 / v), steady)


def standing_map(
    air_c: ArrayLike,
    seconds: float,
    *,
    ground_c: ArrayLike | None = None,
    numbers: ModelNumbers = SHIPPED,
) -> AffineMap:
    """Return what standing, or lying beside the car, does to a tyre's temperatures.

    Parameters
    ----------
    air_c : array_like, shape (S,)
        Air. [°C]
    seconds : float
        Time. [s]
    ground_c : array_like, shape (S,), optional
        Ground under the tyre; as the air where it is not given. [°C]
    numbers : ModelNumbers
        Numbers of the model.

    Returns
    -------
    AffineMap
        Shapes (S, 2, 2) and (S, 2).

    Raises
    ------
    ValueError
        If the time is negative.

    Notes
    -----
    No heat put in, still air.

    References
    ----------
    .. [1] Tuning values of this project.
    """
    if seconds < 0.0:
        raise ValueError("a tyre cannot stand for a negative time")
    cooling = standing_cooling(numbers)
    steady = steady_c(cooling, air_c=air_c, road_c=air_c if ground_c is None else ground_c)
    return affine_map(step_matrix(cooling, seconds), steady)


def apply_map(step: AffineMap, tread_c: ArrayLike, bulk_c: ArrayLike) -> tuple[Floats, Floats]:
    """Return the temperatures after a stretch of time.

    Parameters
    ----------
    step : AffineMap
        Map of shape (S,).
    tread_c, bulk_c : array_like, shape (..., S)
        Temperatures before. [°C]

    Returns
    -------
    tuple of numpy.ndarray, shape (..., S)
        Tread and bulk after. [°C]

    Notes
    -----
    A matrix product and a sum for each scenario.

    References
    ----------
    .. [1] Linear systems with constant inputs.
    """
    tread = np.asarray(tread_c, dtype=np.float64)
    bulk = np.asarray(bulk_c, dtype=np.float64)
    m, o = step.matrix, step.offset
    return (
        np.asarray(m[..., 0, 0] * tread + m[..., 0, 1] * bulk + o[..., 0]),
        np.asarray(m[..., 1, 0] * tread + m[..., 1, 1] * bulk + o[..., 1]),
    )


def then(first: AffineMap, second: AffineMap) -> AffineMap:
    """Return the map of one stretch of time followed by another.

    Parameters
    ----------
    first, second : AffineMap
        Maps in the order of time.

    Returns
    -------
    AffineMap
        Both in one.

    Notes
    -----
    Composition of affine maps.

    References
    ----------
    .. [1] Linear algebra.
    """
    matrix = second.matrix @ first.matrix
    offset = np.einsum("...ij,...j->...i", second.matrix, first.offset) + second.offset
    return AffineMap(matrix, offset)


def quarter_weight_n(mass_kg: float) -> float:
    """Return the mean vertical load of a tyre of a car. [N].

    Parameters
    ----------
    mass_kg : float
        Mass of the car. [kg]

    Returns
    -------
    float
        A quarter of the weight. [N]

    Notes
    -----
    The mean over the corners heats all four bulks alike.

    References
    ----------
    .. [1] SI Brochure, 9th ed., 2019, for standard gravity.
    """
    return mass_kg * G / 4.0
