"""Stage time from the grip of four corners."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from crewdesk.physics.stage_run import BRAKE, DRIVE, LATERAL
from crewdesk.physics.stage_table import StageTable

Floats = NDArray[np.float64]

AXLE_PENALTY = 0.7
"""0 the mean of the axles, 1 the weaker axle decides. Tuning value of this project."""
SIDE_PENALTY = 0.5
"""The same between left and right in braking and driving. Tuning value."""

FL, FR, RL, RR = range(4)


def _axles(
    table: StageTable, mu: Floats, direction: float
) -> tuple[Floats, Floats, Floats, Floats]:
    """Return front and rear lateral grip in a turn, and the halves of left and right."""
    left = (1.0 + direction * table.lateral_transfer) / 2.0
    right = 1.0 - left
    front = left * mu[..., FL, LATERAL] + right * mu[..., FR, LATERAL]
    rear = left * mu[..., RL, LATERAL] + right * mu[..., RR, LATERAL]
    return front, rear, left, right


def _sides(mu: Floats, mode: int, front_share: float) -> tuple[Floats, Floats]:
    """Return the grip of the left and the right side in braking or driving."""
    rear_share = 1.0 - front_share
    left = front_share * mu[..., FL, mode] + rear_share * mu[..., RL, mode]
    right = front_share * mu[..., FR, mode] + rear_share * mu[..., RR, mode]
    return left, right


def _checked(mu: ArrayLike) -> Floats:
    """Return grip as an array, refused where it is not positive or misses an axis."""
    grip = np.asarray(mu, dtype=np.float64)
    if grip.ndim < 3 or grip.shape[-2:] != (4, 3):
        raise ValueError("grip needs the axes (..., scenarios, 4 corners, 3 modes)")
    return grip


def mode_grips(table: StageTable, mu: ArrayLike) -> Floats:
    r"""Return the grip of the whole car in each mode.

    Parameters
    ----------
    table : StageTable
        Stage.
    mu : array_like, shape (..., S, 4, 3)
        Grip by corner; cornering, braking, driving.

    Returns
    -------
    numpy.ndarray, float64, shape (..., S, 4)
        Right turns, left turns, braking, driving.

    Raises
    ------
    ValueError
        If the last axes are not 4 and 3.

    Notes
    -----
    .. math:: M = \frac{F + B}{2} - \frac{w}{2} |F - B|

    with the axles F and B and w = 0.7 in turns, the sides and w = 0.5 in braking and
    driving. Concave in the grips.

    References
    ----------
    .. [1] Tuning values of this project.
    """
    grip = _checked(mu)
    car = table.car
    rows = []
    for direction in (1.0, -1.0):
        front, rear, _, _ = _axles(table, grip, direction)
        rows.append(0.5 * (front + rear) - 0.5 * AXLE_PENALTY * np.abs(front - rear))
    for mode, share in ((BRAKE, car.brake_front_share), (DRIVE, car.drive_front_share)):
        left, right = _sides(grip, mode, share)
        rows.append(0.5 * (left + right) - 0.5 * SIDE_PENALTY * np.abs(left - right))
    return np.stack(rows, axis=-1)


def mode_shares(table: StageTable) -> Floats:
    """Return how much each mode counts, times the exponent of grip.

    Parameters
    ----------
    table : StageTable
        Stage.

    Returns
    -------
    numpy.ndarray, float64, shape (S, 4)
        Right turns, left turns, braking, driving; the sum is e.

    Notes
    -----
    See `sensitivity.sensitivity_at`.

    References
    ----------
    .. [1] Fitted to this project's own lap simulation, not published.
    """
    answer = table.response
    side = answer.exponent * answer.side_share
    return np.stack(
        [
            side * table.right_share,
            side * (1.0 - table.right_share),
            answer.exponent * answer.brake_share,
            answer.exponent * answer.drive_share,
        ],
        axis=-1,
    )


def stage_time_s(table: StageTable, mu: ArrayLike, added_mass_kg: ArrayLike) -> Floats:
    r"""Return the stage time.

    Parameters
    ----------
    table : StageTable
        Stage.
    mu : array_like, shape (..., S, 4, 3)
        Grip by corner; cornering, braking, driving.
    added_mass_kg : array_like, broadcast against (..., S)
        Spare wheels and the like. [kg]

    Returns
    -------
    numpy.ndarray, float64, shape (..., S)
        Time. [s]

    Raises
    ------
    ValueError
        If the last axes of `mu` are not 4 and 3.

    Notes
    -----
    .. math:: \ln \frac{t}{t_0} = -e \sum_m s_m \ln \frac{M_m}{\mu_s}
       + e_m \ln\left(1 + \frac{\Delta m}{m}\right)

    References
    ----------
    .. [1] Fitted to this project's own lap simulation, not published.
    """
    grips = mode_grips(table, mu)
    scaled = np.log(grips / table.mu[:, np.newaxis])
    log_time = -np.einsum("...sm,sm->...s", scaled, mode_shares(table))
    return np.asarray(table.time_s * np.exp(log_time) * _mass_factor(table, added_mass_kg))


def _mass_factor(table: StageTable, added_mass_kg: ArrayLike) -> Floats:
    """Return the factor of added mass on time."""
    added = np.asarray(added_mass_kg, dtype=np.float64)
    return np.asarray((1.0 + added / table.car.mass_kg) ** table.response.mass_exponent)


def stage_time_tangent(
    table: StageTable, mu_ref: ArrayLike, added_mass_kg: ArrayLike
) -> tuple[Floats, Floats]:
    r"""Return stage time and its slope against every grip.

    Parameters
    ----------
    table : StageTable
        Stage.
    mu_ref : array_like, shape (..., S, 4, 3)
        Grip at which to touch.
    added_mass_kg : array_like, broadcast against (..., S)
        Spare wheels and the like. [kg]

    Returns
    -------
    tuple of numpy.ndarray, shapes (..., S) and (..., S, 4, 3)
        Time, and seconds per unit of grip.

    Raises
    ------
    ValueError
        If the last axes of `mu_ref` are not 4 and 3.

    Notes
    -----
    Time is convex in the grips: each mode's grip is concave in them, and
    :math:`\exp(-\sum e_m \ln M_m)` is convex and falling in the modes' grips. So

    .. math:: t(\mu) \ge t(\mu_0) + \langle g, \mu - \mu_0 \rangle

    everywhere. Where two axles or sides tie, the slope halfway between is returned,
    which is one of the valid ones.

    References
    ----------
    .. [1] Convex analysis: composition of a convex falling with a concave function.
    """
    grip = _checked(mu_ref)
    value = stage_time_s(table, grip, added_mass_kg)
    per_mode = -mode_shares(table) * value[..., np.newaxis] / mode_grips(table, grip)
    gradient = np.zeros((*value.shape, 4, 3))
    for m, direction in ((0, 1.0), (1, -1.0)):
        front, rear, left, right = _axles(table, grip, direction)
        lean = np.sign(front - rear)
        of_front = per_mode[..., m] * 0.5 * (1.0 - AXLE_PENALTY * lean)
        of_rear = per_mode[..., m] * 0.5 * (1.0 + AXLE_PENALTY * lean)
        gradient[..., FL, LATERAL] += of_front * left
        gradient[..., FR, LATERAL] += of_front * right
        gradient[..., RL, LATERAL] += of_rear * left
        gradient[..., RR, LATERAL] += of_rear * right
    car = table.car
    for m, mode, share in (
        (2, BRAKE, car.brake_front_share),
        (3, DRIVE, car.drive_front_share),
    ):
        at_left, at_right = _sides(grip, mode, share)
        lean = np.sign(at_left - at_right)
        of_left = per_mode[..., m] * 0.5 * (1.0 - SIDE_PENALTY * lean)
        of_right = per_mode[..., m] * 0.5 * (1.0 + SIDE_PENALTY * lean)
        gradient[..., FL, mode] += of_left * share
        gradient[..., RL, mode] += of_left * (1.0 - share)
        gradient[..., FR, mode] += of_right * share
        gradient[..., RR, mode] += of_right * (1.0 - share)
    return value, gradient


def balance(table: StageTable, mu: ArrayLike) -> Floats:
    """Return how much more the front axle grips than the rear in turns.

    Parameters
    ----------
    table : StageTable
        Stage.
    mu : array_like, shape (..., S, 4, 3)
        Grip by corner; cornering, braking, driving.

    Returns
    -------
    numpy.ndarray, float64, shape (..., S, 2)
        Right turns, left turns; positive: the car oversteers.

    Raises
    ------
    ValueError
        If the last axes are not 4 and 3.

    Notes
    -----
    The outer wheel counts with the load that turning puts on it.

    References
    ----------
    .. [1] Load transfer of a rigid car.
    """
    grip = _checked(mu)
    rows = []
    for direction in (1.0, -1.0):
        front, rear, _, _ = _axles(table, grip, direction)
        rows.append(front - rear)
    return np.stack(rows, axis=-1)
