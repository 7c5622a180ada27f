"""A road surface in numbers, and blends of several."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

_BLENDED: Final = (
    "mu",
    "c_per_rad",
    "eta",
    "kap",
    "chi",
    "e_s",
    "u_w",
    "psi",
    "ee",
    "ed",
    "h0",
    "stud_grip",
    "stud_wear",
)


@dataclass(frozen=True)
class SurfaceParams:
    """A surface class, or a blend of several.

    Parameters
    ----------
    name : str
        Class, or the classes of a blend joined by ``+``.
    mu : float
        Grip of a competition tyre made for it.
    c_per_rad : float
        Slip stiffness per load. [1/rad]
    eta : float
        Share of the slip work that is done on rubber.
    kap : float
        Abrasiveness relative to the reference surface of the family.
    chi : float
        Share of that work which heats the tread.
    e_s : float
        Thermal effusivity of the road. [J/m2Ks^0.5]
    u_w : float
        Cooling by water. [W/K]
    psi : float
        Speed of edge rounding relative to hard gravel.
    ee, ed : float
        Grip lost with all edge, and with all depth, gone.
    h0 : float
        Puncture hazard of a new tyre on a smooth road. [1/km]
    drain : float
        Grip lost in water with all depth gone; it then stands in place of `ed`.
    tyre_grip, tyre_wear : tuple of 4 floats
        Factors on grip and wear by tyre family, in the order of `tyre.FAMILIES`.
    stud_grip, stud_wear : float
        Factors of a studded tyre.
    loose : float
        Share of the length where a rounded shoulder rides up (loose gravel, snow).
    asphalt : float
        Share of the length that is asphalt.
    """

    name: str
    mu: float
    c_per_rad: float
    eta: float
    kap: float
    chi: float
    e_s: float
    u_w: float
    psi: float
    ee: float
    ed: float
    h0: float
    drain: float = 0.0
    tyre_grip: tuple[float, float, float, float] = (1.0, 1.0, 1.0, 1.0)
    tyre_wear: tuple[float, float, float, float] = (1.0, 1.0, 1.0, 1.0)
    stud_grip: float = 1.0
    stud_wear: float = 1.0
    loose: float = 0.0
    asphalt: float = 0.0

    def __post_init__(self) -> None:
        if min(self.mu, self.c_per_rad, self.e_s) <= 0.0:
            raise ValueError(f"grip, stiffness and effusivity of {self.name} must be positive")


@dataclass(frozen=True)
class StageSurface:
    """The surface of one stage in one state of the road.

    Parameters
    ----------
    params : SurfaceParams
        Numbers after all blends.
    roughness_share : float
        R, 0 new asphalt to 1 breaking.
    cuts_added_share : float
        To be added to the exposure to cut corners.
    mu_state, mu_dry : float
        Grip of the state and of the plain dry class: stage time and speed scale by
        their ratio. Equal on a dry road, so that the given average holds.
    """

    params: SurfaceParams
    roughness_share: float
    cuts_added_share: float = 0.0
    mu_state: float = 1.0
    mu_dry: float = 1.0


def _mixed(one: float, two: float, share: float) -> float:
    """Return the blend of one number, in the logarithm where both are positive."""
    if one > 0.0 and two > 0.0:
        return float(np.exp((1.0 - share) * np.log(one) + share * np.log(two)))
    return (1.0 - share) * one + share * two


def blend(first: SurfaceParams, second: SurfaceParams, share: float) -> SurfaceParams:
    r"""Return a surface between two.

    Parameters
    ----------
    first, second : SurfaceParams
        Surfaces to blend.
    share : float
        Share of `second`, 0 to 1.

    Returns
    -------
    SurfaceParams
        `first` itself at 0, the numbers of `second` at 1.

    Raises
    ------
    ValueError
        If `share` lies outside 0 to 1.

    Notes
    -----
    Positive numbers are blended in the logarithm,

    .. math:: \ln X = (1 - w) \ln X_1 + w \ln X_2,

    a number that is 0 on one side linearly. `loose` and `asphalt` are shares of the
    length and always blend linearly.

    References
    ----------
    .. [1] Blend in the logarithm: tuning rule of this project.
    """
    if not 0.0 <= share <= 1.0:
        raise ValueError(f"share of a surface must lie between 0 and 1, not {share}")
    if share == 0.0:
        return first
    if share == 1.0:
        return second
    values = {
        name: _mixed(getattr(first, name), getattr(second, name), share) for name in _BLENDED
    }
    for name in ("loose", "asphalt", "drain"):
        values[name] = (1.0 - share) * getattr(first, name) + share * getattr(second, name)
    grip = [_mixed(a, b, share) for a, b in zip(first.tyre_grip, second.tyre_grip, strict=True)]
    wear = [_mixed(a, b, share) for a, b in zip(first.tyre_wear, second.tyre_wear, strict=True)]
    return SurfaceParams(
        name=f"{first.name}+{second.name}",
        tyre_grip=(grip[0], grip[1], grip[2], grip[3]),
        tyre_wear=(wear[0], wear[1], wear[2], wear[3]),
        **values,
    )


def swept_share(cars_ahead: float) -> float:
    """Return how far the cars ahead have swept a loose road down to its base.

    Parameters
    ----------
    cars_ahead : float
        Number of cars that have passed.

    Returns
    -------
    float
        0 for the first car, towards 1.

    Raises
    ------
    ValueError
        If the number is negative.

    Notes
    -----
    .. math:: w = 1 - e^{-n/15}

    References
    ----------
    .. [1] Common practice, no source.

    Examples
    --------
    >>> round(swept_share(15), 4)
    0.6321
    """
    if cars_ahead < 0.0:
        raise ValueError("the number of cars ahead cannot be negative")
    return float(-np.expm1(-cars_ahead / 15.0))


def mixed_stage(parts: Sequence[tuple[StageSurface, float]]) -> StageSurface:
    """Return one surface for a stage whose parts differ.

    Parameters
    ----------
    parts : sequence of (StageSurface, float)
        Surface and share of the length of each part; shares are taken relative to their
        sum.

    Returns
    -------
    StageSurface
        Numbers blended as in `blend`, roughness and exposure linearly.

    Raises
    ------
    ValueError
        If there is no part, or a share is negative, or all are 0.
    """
    weights = [weight for _, weight in parts]
    if not weights or min(weights) < 0.0 or sum(weights) <= 0.0:
        raise ValueError("a stage needs parts with shares of its length")
    result, so_far = parts[0]
    for part, weight in parts[1:]:
        if weight == 0.0:
            continue
        share = weight / (so_far + weight)
        so_far += weight
        result = StageSurface(
            params=blend(result.params, part.params, share),
            roughness_share=_linear(result.roughness_share, part.roughness_share, share),
            cuts_added_share=_linear(result.cuts_added_share, part.cuts_added_share, share),
            mu_state=_mixed(result.mu_state, part.mu_state, share),
            mu_dry=_mixed(result.mu_dry, part.mu_dry, share),
        )
    return result


def _linear(one: float, two: float, share: float) -> float:
    """Return the linear blend."""
    return (1.0 - share) * one + share * two


def with_kap(params: SurfaceParams, factor: float) -> SurfaceParams:
    """Return the surface with its abrasiveness multiplied.

    Parameters
    ----------
    params : SurfaceParams
        Surface.
    factor : float
        Factor on `kap`.

    Returns
    -------
    SurfaceParams
        A copy.
    """
    return replace(params, kap=params.kap * factor)
