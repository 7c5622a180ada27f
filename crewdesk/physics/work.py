"""Slip work at each corner of the car on one stage."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from crewdesk.physics.brush import slip_work_factor
from crewdesk.physics.car import CarParams
from crewdesk.units import STANDARD_GRAVITY_MS2 as G

CRUISE_UTILISATION = 0.10
"""Utilisation on straight open road. Tuning value of this project."""


@dataclass(frozen=True)
class Drive:
    """How the car is driven on a stage, and the loads that follow.

    Parameters
    ----------
    utilisation : float
        Share of the grip used where grip decides.
    power_to_grip : float
        rho, power over the power that grip could take at stage speed.
    corner_share, brake_share, drive_share, cruise_share : float
        Shares of the distance.
    lateral_transfer : float
        Load moved from the inner to the outer wheel over the wheel's load.
    corner_g, brake_g, drive_g : float
        Acceleration of the car in each mode over gravity.
    """

    utilisation: float
    power_to_grip: float
    corner_share: float
    brake_share: float
    drive_share: float
    cruise_share: float
    lateral_transfer: float
    corner_g: float
    brake_g: float
    drive_g: float


@dataclass(frozen=True)
class CornerWork:
    """Slip work per metre by mode, corners FL FR RL RR.

    Parameters
    ----------
    corner_j_m, brake_j_m, drive_j_m, cruise_j_m : numpy.ndarray, shape (4,)
        Work while cornering, braking, accelerating, rolling. [J/m]
    """

    corner_j_m: NDArray[np.float64]
    brake_j_m: NDArray[np.float64]
    drive_j_m: NDArray[np.float64]
    cruise_j_m: NDArray[np.float64]

    @property
    def total_j_m(self) -> NDArray[np.float64]:
        """Sum over the modes, shape (4,). [J/m]."""
        return self.corner_j_m + self.brake_j_m + self.drive_j_m + self.cruise_j_m


def power_to_grip(car: CarParams, mu: float, speed_ms: float) -> float:
    r"""Return the ratio of the car's power to what the grip could take.

    Parameters
    ----------
    car : CarParams
        Car.
    mu : float
        Grip of the surface.
    speed_ms : float
        Mean speed on the stage. [m/s]

    Returns
    -------
    float
        rho.

    Notes
    -----
    .. math:: \rho = \frac{0.85 P}{m v \mu g}

    References
    ----------
    .. [1] Form: power balance; 0.85 for losses is a tuning value of this project.
    """
    return 0.85 * car.power_kw * 1000.0 / (car.mass_kg * speed_ms * mu * G)


def drive_of(
    car: CarParams, *, mu: float, speed_ms: float, twist: float, aggressiveness: float
) -> Drive:
    r"""Return how the car is driven: shares of the distance and accelerations.

    Parameters
    ----------
    car : CarParams
        Car.
    mu : float
        Grip of the surface.
    speed_ms : float
        Mean speed on the stage. [m/s]
    twist : float
        Twistiness, 0 to 1.
    aggressiveness : float
        Of the driver, 0 to 1.

    Returns
    -------
    Drive
        Modes, accelerations, lateral transfer.

    Raises
    ------
    ValueError
        If grip or speed is not positive, or a share lies outside 0 to 1.

    Notes
    -----
    Each acceleration is the one at which the busier axle reaches the utilisation
    :math:`u = 0.80 + 0.18 A`, with longitudinal load transfer; driving is also limited by
    power. Shares of the distance:

    .. math:: p_c = 0.14 + 0.12\,tw,\quad p_b = 0.32 \tanh(1.2 \rho),\quad
       p_d = 0.38 - 0.10\,tw

    References
    ----------
    .. [1] Axle loads and limits: longitudinal and lateral load transfer of a rigid car.
    .. [2] Shares: fitted to this project's own lap simulation, not published.
    """
    if mu <= 0.0 or speed_ms <= 0.0:
        raise ValueError("grip and speed must be positive")
    if not (0.0 <= twist <= 1.0 and 0.0 <= aggressiveness <= 1.0):
        raise ValueError("twistiness and aggressiveness must lie between 0 and 1")
    used = 0.80 + 0.18 * aggressiveness
    rho = power_to_grip(car, mu, speed_ms)
    limit = used * mu
    front, rear = car.front_share, 1.0 - car.front_share
    lift = car.cg_height_m / car.wheelbase_m
    beta, driven = car.brake_front_share, car.drive_front_share
    brake = limit * rear / (1.0 - beta + limit * lift)
    if beta > limit * lift:
        brake = min(brake, limit * front / (beta - limit * lift))
    drive = 0.85 * car.power_kw * 1000.0 / (car.mass_kg * 0.85 * speed_ms * G)
    if driven > 0.0:
        drive = min(drive, limit * front / (driven + limit * lift))
    if 1.0 - driven > limit * lift:
        drive = min(drive, limit * rear / (1.0 - driven - limit * lift))
    corner_share = 0.14 + 0.12 * twist
    brake_share = 0.32 * float(np.tanh(1.2 * rho))
    drive_share = 0.38 - 0.10 * twist
    return Drive(
        utilisation=used,
        power_to_grip=rho,
        corner_share=corner_share,
        brake_share=brake_share,
        drive_share=drive_share,
        cruise_share=1.0 - corner_share - brake_share - drive_share,
        lateral_transfer=min(2.0 * car.cg_height_m / car.track_m * limit, 0.95),
        corner_g=limit,
        brake_g=brake,
        drive_g=drive,
    )


def corner_work(
    car: CarParams,
    drive: Drive,
    *,
    mu: float,
    c_per_rad: float,
    roughness: float,
    right_share: float,
    drift: float = 1.0,
) -> CornerWork:
    r"""Return the slip work per metre at each corner.

    Parameters
    ----------
    car : CarParams
        Car.
    drive : Drive
        How it is driven.
    mu : float
        Grip of the surface (not of the compound).
    c_per_rad : float
        Slip stiffness per load. [1/rad]
    roughness : float
        R, 0 to 1.
    right_share : float
        Share of the turning that goes right.
    drift : float, default 1
        Work in corners relative to driving without drift.

    Returns
    -------
    CornerWork
        Work by mode, corners FL FR RL RR.

    Raises
    ------
    ValueError
        If a share lies outside 0 to 1.

    Notes
    -----
    .. math:: k = \frac{\mu^2}{c} (1 + DLC^2), \quad DLC = 0.05 + 0.35 R

    Work per metre goes as one over the load at given force; DLC is the dynamic wheel load
    over the static one. Both tyres of an axle share their slip and have stiffness in
    proportion to load, so work goes with load.

    References
    ----------
    .. [1] Brush model of tyre science textbooks; from memory, not verified.
    .. [2] DLC against roughness: tuning values of this project.
    """
    if not (0.0 <= roughness <= 1.0 and 0.0 <= right_share <= 1.0):
        raise ValueError("roughness and share of right turns must lie between 0 and 1")
    dynamic = 0.05 + 0.35 * roughness
    k = mu * mu / c_per_rad * (1.0 + dynamic * dynamic)
    weight_n = car.mass_kg * G
    share = np.array([car.front_share, 1.0 - car.front_share])
    lift = car.cg_height_m / car.wheelbase_m
    toward = np.array([1.0, -1.0])
    brake_load = weight_n * (share + toward * drive.brake_g * lift)
    drive_load = weight_n * (share - toward * drive.drive_g * lift)
    brakes = np.array([car.brake_front_share, 1.0 - car.brake_front_share])
    driven = np.array([car.drive_front_share, 1.0 - car.drive_front_share])
    brake_f = brakes * drive.brake_g * weight_n / (mu * brake_load)
    drive_f = driven * drive.drive_g * weight_n / (mu * drive_load)
    static = share * weight_n / 2.0
    left = 1.0 + drive.lateral_transfer * (2.0 * right_share - 1.0)
    side = np.array([left, 2.0 - left])
    corner = drift * drive.corner_share * k * slip_work_factor(drive.utilisation) * static
    brake = drive.brake_share * k * slip_work_factor(brake_f) * brake_load / 2.0
    power = drive.drive_share * k * slip_work_factor(drive_f) * drive_load / 2.0
    cruise = drive.cruise_share * k * slip_work_factor(CRUISE_UTILISATION) * static
    return CornerWork(
        corner_j_m=np.outer(corner, side).ravel(),
        brake_j_m=np.repeat(brake, 2),
        drive_j_m=np.repeat(power, 2),
        cruise_j_m=np.repeat(cruise, 2),
    )


def road_work_j_m(load_n: float, c_per_rad: float) -> float:
    r"""Return the slip work of a tyre on a road section.

    Parameters
    ----------
    load_n : float
        Vertical load. [N]
    c_per_rad : float
        Slip stiffness per load. [1/rad]

    Returns
    -------
    float
        Work per metre. [J/m]

    Notes
    -----
    .. math:: E = c F_z 0.0035^2 + 4

    The first part is toe and scrub at 0.2 degrees, the second ordinary driving.

    References
    ----------
    .. [1] Tuning values of this project.
    """
    return c_per_rad * load_n * 0.0035**2 + 4.0
