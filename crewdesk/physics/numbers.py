"""Numbers of the tyre model that belong to no compound, surface or tyre."""

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True)
class ModelNumbers:
    """What the model takes for granted about every tyre and every driver.

    Parameters
    ----------
    bulk_area_m2 : float
        Cooled surface of carcass and rim. [m2]
    hazard_front, hazard_rear : float
        Share of the puncture hazard of a front and of a rear corner; 1 is the mean.
    hazard_driver_slope : float
        Growth of the hazard, in the logarithm, per unit of aggressiveness above 0.8.
    camber_wear_loose, camber_wear_asphalt : float
        Shift of wear to the inner edge per degree of negative camber. [1/deg]
    land_loose, land_asphalt : float
        Share of the footprint that touches, for the heat into the road.
    drift : float
        Slip work in corners relative to driving without drift.

    Notes
    -----
    The defaults are tuning values of this project. Rear tyres taking more than half of
    the punctures, and wear that moves inward with camber, are common practice, no source.
    """

    bulk_area_m2: float = 0.50
    hazard_front: float = 0.7
    hazard_rear: float = 1.3
    hazard_driver_slope: float = 0.6
    camber_wear_loose: float = 0.06
    camber_wear_asphalt: float = 0.14
    land_loose: float = 0.60
    land_asphalt: float = 0.80
    drift: float = 1.0


SHIPPED: Final = ModelNumbers()
"""The numbers the program runs with."""
