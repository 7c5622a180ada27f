"""A tyre: its compound, its build and its state."""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

FAMILIES: Final[tuple[str, ...]] = ("gravel", "asphalt", "asphalt_wet", "winter")
"""What a tyre is made for, in the order of every tuple of length 4 over families."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Compound:
    """A tread compound of one family.

    Parameters
    ----------
    family, hardness : str
        One of `FAMILIES`; soft, medium or hard.
    k_c_mm3_j : float
        Rubber lost per slip work on the reference surface of the family, inside the
        temperature window. [mm3/J]
    t_opt_c : float
        Mean tread temperature of the highest grip. [°C]
    t_lo_c, t_hi_c : float
        Window inside which wear does not depend on temperature. [°C]
    tg_c : float
        Glass transition temperature. [°C]
    beta_c : float
        Width of the grip curve in decades of sliding speed.
    mu_peak : float
        Grip factor at `t_opt_c`.
    a_hot, a_cold : float
        Growth of wear, in the logarithm, per 10 K above and below the window.
    cut : float
        Factor on the puncture hazard.
    tread_new_mm : float
        Tread depth when new. [mm]
    """

    family: str
    hardness: str
    k_c_mm3_j: float
    t_opt_c: float
    t_lo_c: float
    t_hi_c: float
    tg_c: float
    beta_c: float
    mu_peak: float
    a_hot: float
    a_cold: float
    cut: float
    tread_new_mm: float

    def __post_init__(self) -> None:
        if self.family not in FAMILIES:
            raise ValueError(f"unknown tyre family {self.family!r}")


@dataclass(frozen=True)
class TyreSpec:
    """A tyre as bought.

    Parameters
    ----------
    compound : Compound
        Tread compound.
    width_m, diameter_m : float
        Tread width and outer diameter. [m]
    land_ratio : float
        Share of the tread that is rubber.
    tread_new_mm : float
        Depth when new, of this very model. [mm]
    edge_brake, edge_drive, edge_side : float
        Block edge that stands across braking, driving and cornering slip, 1 = even.
    shoulder_rounded : bool
        A rounded shoulder rides up on loose material.
    directional : bool
        Built for one sense of rotation.
    casing : float
        Factor of the casing on the puncture hazard.
    bead_min_kpa : float
        Gauge pressure below which the bead may leave its seat. [kPa]
    mass_kg : float
        Complete wheel. [kg]
    edge_length_mm : float
        Depth loss over which the edges round (to 1/e). [mm]
    studded : bool
        Carries studs.
    """

    compound: Compound
    width_m: float
    diameter_m: float
    land_ratio: float
    tread_new_mm: float
    edge_brake: float = 1.0
    edge_drive: float = 1.0
    edge_side: float = 1.0
    shoulder_rounded: bool = False
    directional: bool = False
    casing: float = 1.0
    bead_min_kpa: float = 120.0
    mass_kg: float = 22.0
    edge_length_mm: float = 4.5
    studded: bool = False

    def __post_init__(self) -> None:
        sizes = (self.width_m, self.diameter_m, self.land_ratio, self.tread_new_mm)
        if min(sizes) <= 0.0 or self.edge_length_mm <= 0.0:
            raise ValueError("width, diameter, land ratio and depths must be positive")

    @property
    def land_mm2(self) -> float:
        """Rubber area of the tread. [mm2]."""
        return float(np.pi * self.diameter_m * self.width_m * self.land_ratio * 1e6)


@dataclass(frozen=True)
class FamilyDefaults:
    """What a tyre of a family is taken to be where its model does not say.

    Parameters
    ----------
    family : str
        One of `FAMILIES`.
    land_ratio : float
        Share of the tread that is rubber.
    edge_length_mm : float
        Depth loss over which the edges round (to 1/e). [mm]
    edge_value_share : float
        Share of a tyre's worth that goes with its edges.
    tread_worthless_mm : float
        Depth at which a tyre is worth nothing. [mm]
    """

    family: str
    land_ratio: float
    edge_length_mm: float
    edge_value_share: float
    tread_worthless_mm: float


def run_backwards(spec: TyreSpec) -> TyreSpec:
    """Return a directional tyre as it behaves when it turns the wrong way.

    Parameters
    ----------
    spec : TyreSpec
        Tyre in its intended sense of rotation.

    Returns
    -------
    TyreSpec
        The same with braking and driving edges exchanged; a tyre without direction
        comes back as it is.
    """
    if not spec.directional:
        return spec
    return replace(spec, edge_brake=spec.edge_drive, edge_drive=spec.edge_brake)


@dataclass(frozen=True)
class TyreState:
    """State of P tyres in S scenarios.

    Parameters
    ----------
    tread_mm : numpy.ndarray, shape (P, S, 3)
        Depth inner, middle, outer. [mm]
    edge : numpy.ndarray, shape (P, S, 3)
        Sharpness in (0, 1] of the edges loaded in braking, driving, cornering.
    tread_c, bulk_c : numpy.ndarray, shape (P, S)
        Temperature of the tread and of carcass with gas. [°C]

    Notes
    -----
    Any leading axis may have length 1 and is broadcast.
    """

    tread_mm: Floats
    edge: Floats
    tread_c: Floats
    bulk_c: Floats


def moved_across(state: TyreState) -> TyreState:
    """Return the state after a move to the other side of the car.

    Parameters
    ----------
    state : TyreState
        State before the move.

    Returns
    -------
    TyreState
        Rotation is reversed, so the edges of braking and driving change places.
    """
    return replace(state, edge=state.edge[..., [1, 0, 2]])
