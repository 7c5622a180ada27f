"""How stage time answers to grip and mass."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from crewdesk.physics.car import CarParams
from crewdesk.physics.work import power_to_grip

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Sensitivity:
    """Exponents of stage time.

    Parameters
    ----------
    exponent : numpy.ndarray
        e, loss of time per loss of grip, both in the logarithm.
    brake_share, drive_share : numpy.ndarray
        Shares of it that are braking and driving; the rest is cornering.
    mass_exponent : numpy.ndarray
        Loss of time per mass, both in the logarithm.
    """

    exponent: Floats
    brake_share: Floats
    drive_share: Floats
    mass_exponent: Floats

    @property
    def side_share(self) -> Floats:
        """Share of cornering."""
        return 1.0 - self.brake_share - self.drive_share


def sensitivity_at(power_to_grip_ratio: ArrayLike) -> Sensitivity:
    r"""Return the exponents for a ratio of power to grip.

    Parameters
    ----------
    power_to_grip_ratio : array_like
        rho of `work.power_to_grip`.

    Returns
    -------
    Sensitivity
        Exponents of the same shape.

    Notes
    -----
    .. math:: g = \tanh(0.95 \rho), \quad e = 0.5 g^{0.55}, \quad
       s_b = 0.14, \quad s_d = 0.33 g^2, \quad e_m = 0.18 (1 - g) + 0.08 e

    A car limited by grip alone has e = 0.5 exactly, as time on any path goes with one
    over the root of grip.

    References
    ----------
    .. [1] Fitted to this project's own lap simulation, not published; 0.08 for load
       sensitivity is common practice, no source.
    """
    grip_time = np.tanh(0.95 * np.asarray(power_to_grip_ratio, dtype=np.float64))
    exponent = 0.5 * grip_time**0.55
    return Sensitivity(
        exponent=np.asarray(exponent),
        brake_share=np.full_like(exponent, 0.14),
        drive_share=np.asarray(0.33 * grip_time**2),
        mass_exponent=np.asarray(0.18 * (1.0 - grip_time) + 0.08 * exponent),
    )


def sensitivity(car: CarParams, *, mu: float, speed_ms: float) -> Sensitivity:
    """Return the exponents of a car on a surface.

    Parameters
    ----------
    car : CarParams
        Car.
    mu : float
        Grip of the surface.
    speed_ms : float
        Mean speed. [m/s]

    Returns
    -------
    Sensitivity
        Exponents, arrays without axes.

    Notes
    -----
    See `sensitivity_at`.

    References
    ----------
    .. [1] Fitted to this project's own lap simulation, not published.
    """
    return sensitivity_at(power_to_grip(car, mu, speed_ms))
