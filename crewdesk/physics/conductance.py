"""How a tyre exchanges heat: with the air, with the road, inside itself."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from crewdesk.physics.numbers import SHIPPED, ModelNumbers

Floats = NDArray[np.float64]

TREAD_J_K = 7000.0
"""Heat capacity of the tread. Tuning value: about 3.8 kg of 1800 J/kgK."""
BULK_J_K = 12000.0
"""Heat capacity of carcass, gas and part of the rim. Tuning value of this project."""
TREAD_AREA_M2 = 0.30
"""Cooled tread surface in the wheel arch. Tuning value of this project."""
INSIDE_W_K = 12.0
"""Conduction from the tread's middle to its face. From memory, not verified."""
TREAD_TO_BULK_W_K = 14.0
"""Conduction from tread to carcass. From memory, not verified."""
PATCH_M = 0.12
"""Length of the contact patch."""
RUBBER_EFFUSIVITY = 713.0
"""sqrt(0.25 W/mK x 1130 kg/m3 x 1800 J/kgK)."""
STANDING_ROAD_W_K = 0.5
"""Heat into the ground when standing. Tuning value of this project."""


@dataclass(frozen=True)
class Cooling:
    """Conductances of one situation, floats or arrays of one shape.

    Parameters
    ----------
    tread_air_w_k, bulk_air_w_k : array_like
        To the air. [W/K]
    road_w_k : array_like
        From the tread into the road, water included. [W/K]
    """

    tread_air_w_k: Floats
    bulk_air_w_k: Floats
    road_w_k: Floats


def film_coefficient_w_m2k(speed_ms: ArrayLike) -> Floats:
    r"""Return the heat transfer coefficient to the air.

    Parameters
    ----------
    speed_ms : array_like
        Speed. [m/s]

    Returns
    -------
    numpy.ndarray, float64
        h. [W/m2K]

    Notes
    -----
    .. math:: h = 6 + 4 v^{0.8}

    References
    ----------
    .. [1] Form of the turbulent flat plate; numbers are tuning values of this project.
    """
    v = np.asarray(speed_ms, dtype=np.float64)
    return np.asarray(6.0 + 4.0 * v**0.8)


def contact_w_m2k(
    speed_ms: ArrayLike, road_effusivity: ArrayLike, patch_m: float = PATCH_M
) -> Floats:
    r"""Return the mean heat transfer coefficient of the contact patch.

    Parameters
    ----------
    speed_ms : array_like
        Speed. [m/s]
    road_effusivity : array_like
        Thermal effusivity of the road. [J/m2Ks^0.5]
    patch_m : float
        Length of the patch. [m]

    Returns
    -------
    numpy.ndarray, float64
        Coefficient. [W/m2K]

    Notes
    -----
    .. math:: \bar h = \frac{2 b}{\sqrt{\pi l_c / v}}, \quad b = \frac{e_r e_s}{e_r + e_s}

    Time mean over the contact of two semi-infinite bodies.

    References
    ----------
    .. [1] Carslaw and Jaeger, Conduction of Heat in Solids; from memory, not verified.
    """
    road = np.asarray(road_effusivity, dtype=np.float64)
    both = RUBBER_EFFUSIVITY * road / (RUBBER_EFFUSIVITY + road)
    time_s = patch_m / np.asarray(speed_ms, dtype=np.float64)
    return np.asarray(2.0 * both / np.sqrt(np.pi * time_s))


def rolling_cooling(
    speed_ms: ArrayLike,
    *,
    road_effusivity: ArrayLike,
    water_w_k: ArrayLike,
    width_m: float,
    land_ratio: ArrayLike,
    numbers: ModelNumbers = SHIPPED,
) -> Cooling:
    r"""Return the conductances of a rolling tyre.

    Parameters
    ----------
    speed_ms : array_like
        Speed, above 0.5. [m/s]
    road_effusivity : array_like
        Thermal effusivity of the road. [J/m2Ks^0.5]
    water_w_k : array_like
        Cooling by water on the road. [W/K]
    width_m : float
        Tread width. [m]
    land_ratio : array_like
        Share of the footprint that touches.
    numbers : ModelNumbers
        Numbers of the model.

    Returns
    -------
    Cooling
        Conductances of the broadcast shape.

    Raises
    ------
    ValueError
        If a speed is 0.5 m/s or less.

    Notes
    -----
    .. math:: U_r = \frac{1}{1/U_c + 1/U_i}, \quad U_c = \bar h \, l_c W \phi

    References
    ----------
    .. [1] Series of two conductances; numbers are tuning values of this project.
    """
    v = np.asarray(speed_ms, dtype=np.float64)
    if np.any(v <= 0.5):
        raise ValueError("a rolling tyre needs a speed above 0.5 m/s")
    h = film_coefficient_w_m2k(v)
    area = PATCH_M * width_m * np.asarray(land_ratio, dtype=np.float64)
    contact = contact_w_m2k(v, road_effusivity) * area
    road = 1.0 / (1.0 / contact + 1.0 / INSIDE_W_K)
    return Cooling(
        tread_air_w_k=np.asarray(h * TREAD_AREA_M2),
        bulk_air_w_k=np.asarray(h * numbers.bulk_area_m2),
        road_w_k=np.asarray(road + np.asarray(water_w_k, dtype=np.float64)),
    )


def standing_cooling(numbers: ModelNumbers = SHIPPED) -> Cooling:
    """Return the conductances of a tyre that stands or lies.

    Parameters
    ----------
    numbers : ModelNumbers
        Numbers of the model.

    Returns
    -------
    Cooling
        Conductances as arrays without axes.

    Notes
    -----
    Still air, and 0.5 W/K into the ground.

    References
    ----------
    .. [1] Tuning values of this project.
    """
    h = film_coefficient_w_m2k(0.0)
    return Cooling(
        tread_air_w_k=np.asarray(h * TREAD_AREA_M2),
        bulk_air_w_k=np.asarray(h * numbers.bulk_area_m2),
        road_w_k=np.asarray(STANDING_ROAD_W_K),
    )
