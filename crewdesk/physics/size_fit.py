"""Whether a size suits a car: load, speed, gearing, how far it is squeezed."""

import re
from typing import Final

from crewdesk.physics.size import MM_PER_INCH, TyreSize
from crewdesk.units import STANDARD_GRAVITY_MS2

_FIRST_INDEX: Final = 60
_LOADS_KG: Final = (
    *(250, 257, 265, 272, 280, 290, 300, 307, 315, 325),
    *(335, 345, 355, 365, 375, 387, 400, 412, 425, 437),
    *(450, 462, 475, 487, 500, 515, 530, 545, 560, 580),
    *(600, 615, 630, 650, 670, 690, 710, 730, 750, 775),
    *(800, 825, 850, 875, 900, 925, 950, 975, 1000, 1030),
    *(1060, 1090, 1120, 1150, 1180, 1215, 1250, 1285, 1320, 1360),
    1400,
)
"""Load index 60 to 120. UN Regulations No. 30 and No. 54, Annex 4; text not opened. [kg]"""
_SYMBOLS: Final = (
    *("A1", "A2", "A3", "A4", "A5", "A6", "A7", "A8", "B", "C", "D", "E", "F", "G", "J"),
    *("K", "L", "M", "N", "P", "Q", "R", "S", "T", "U", "H", "V", "W", "Y"),
)
_KMH: Final = (
    *(5, 10, 15, 20, 25, 30, 35, 40, 50, 60, 65, 70, 80, 90, 100),
    *(110, 120, 130, 140, 150, 160, 170, 180, 190, 200, 210, 240, 270, 300),
)
_SPEEDS_KMH: Final = dict(zip(_SYMBOLS, _KMH, strict=True))
"""Speed symbols. UN Regulation No. 30; A1 to A8 from memory, not verified. [km/h]"""
_SERVICE = re.compile(
    r"(?:^|[\s(])(?P<index>\d{2,3})(?:/\d{2,3})?\s?(?P<speed>A[1-8]|[B-HJ-NP-WY])\)?\s*$"
)

ROLLING: Final = 3.05
"""Rolling circumference over diameter of a radial tyre. ETRTO Standards Manual, seen only at
second hand."""
LOAD_MARGIN: Final = 1.3
"""Of a corner, for cornering, crew and fuel. Tuning value of this project."""
DIAMETER_SHARE: Final = 0.03
"""Change of diameter from which gearing and clearance are asked about. Tuning value."""
SQUEEZED: Final = (0.10, 0.22)
"""Deflection over section height that suits a front tyre. Tuning values of this project."""


def service_of(words: str) -> tuple[int, str] | None:
    """Return load index and speed symbol of a service description, or None.

    Parameters
    ----------
    words : str
        As ``95T``, or a size mark that ends in it.

    Returns
    -------
    tuple or None
        Load index of a single tyre, speed symbol.

    Examples
    --------
    >>> service_of("195/70 R15C 104/102R"), service_of("245/40 ZR18 (97Y)")
    ((104, 'R'), (97, 'Y'))
    """
    found = _SERVICE.search(words.upper().strip())
    if found is None or not _FIRST_INDEX <= int(found["index"]) < _FIRST_INDEX + len(_LOADS_KG):
        return None
    return int(found["index"]), found["speed"]


def max_load_kg(load_index: int) -> float:
    """Return what one tyre of a load index may bear.

    Parameters
    ----------
    load_index : int
        60 to 120.

    Returns
    -------
    float
        Load. [kg]

    Raises
    ------
    ValueError
        If the index is not in the table.

    References
    ----------
    .. [1] UN Regulations No. 30 and No. 54, Annex 4 (text not opened).

    Examples
    --------
    >>> max_load_kg(91)
    615.0
    """
    if not _FIRST_INDEX <= load_index < _FIRST_INDEX + len(_LOADS_KG):
        raise ValueError(f"load index {load_index} is outside 60 to 120")
    return float(_LOADS_KG[load_index - _FIRST_INDEX])


def max_speed_kmh(symbol: str) -> float:
    """Return what speed a speed symbol stands for.

    Parameters
    ----------
    symbol : str
        As ``H``.

    Returns
    -------
    float
        Speed. [km/h]

    Raises
    ------
    ValueError
        If there is no such symbol.

    References
    ----------
    .. [1] UN Regulation No. 30 (text not opened).
    """
    if symbol not in _SPEEDS_KMH:
        raise ValueError(f"{symbol!r} is no speed symbol")
    return float(_SPEEDS_KMH[symbol])


def turns_per_km(size: TyreSize) -> float:
    r"""Return the turns of a wheel in one kilometre.

    Parameters
    ----------
    size : TyreSize
        Size of its tyre.

    Returns
    -------
    float
        Turns. [1/km]

    Notes
    -----
    .. math:: 10^6 / (3.05 \, D_{mm})

    References
    ----------
    .. [1] ETRTO Standards Manual, rolling circumference of radial tyres (second hand).
    """
    return 1e3 / (ROLLING * size.diameter_m)


def gearing_change(old: TyreSize, new: TyreSize) -> tuple[float, float]:
    r"""Return how a change of size moves the force at the wheel and the speed.

    Parameters
    ----------
    old, new : TyreSize
        Sizes.

    Returns
    -------
    tuple of float
        Change of the force at the wheel, of the speed at the same engine speed, as shares.

    Notes
    -----
    .. math:: D_{old} / D_{new} - 1, \quad D_{new} / D_{old} - 1

    References
    ----------
    .. [1] Geometry.
    """
    ratio = new.diameter_m / old.diameter_m
    return 1.0 / ratio - 1.0, ratio - 1.0


def corner_load_kg(mass_kg: float, axle_share: float) -> float:
    """Return the load a tyre of an axle must be made for.

    Parameters
    ----------
    mass_kg : float
        Of the car with its crew, above 0. [kg]
    axle_share : float
        Share of the weight on the axle, 0 to 1.

    Returns
    -------
    float
        Load with the margin for cornering. [kg]

    Raises
    ------
    ValueError
        If the mass or the share cannot be.

    References
    ----------
    .. [1] Tuning value of this project.
    """
    if mass_kg <= 0.0 or not 0.0 <= axle_share <= 1.0:
        raise ValueError("a car has a mass, and an axle a share of it")
    return LOAD_MARGIN * mass_kg * axle_share / 2.0


def stiffness_n_mm(size: TyreSize, kpa: float) -> float:
    r"""Return the vertical stiffness of a radial tyre.

    Parameters
    ----------
    size : TyreSize
        Size.
    kpa : float
        Gauge pressure, not negative. [kPa]

    Returns
    -------
    float
        Stiffness. [N/mm]

    Raises
    ------
    ValueError
        If the pressure is negative or the section too high for the formula.

    Notes
    -----
    .. math:: K = g \left[ 0.00028 \, p \sqrt{(1.03 - 0.004 A) \, W
       \left( \frac{W A}{50} + d \right)} + 3.45 \right]

    with width :math:`W`, rim :math:`d` in mm and aspect :math:`A` in per cent. Made for road
    tyres; a rally casing is stiffer.

    References
    ----------
    .. [1] T. B. Rhyne, "Development of a vertical stiffness relationship for belted radial
       tires", Tire Sci. Technol. 33(3), 2005; from memory, not verified.
    """
    width_mm = 1000.0 * size.width_m
    inside = (
        (1.03 - 0.004 * size.aspect)
        * width_mm
        * (width_mm * size.aspect / 50.0 + MM_PER_INCH * size.rim_inch)
    )
    if kpa < 0.0 or inside <= 0.0:
        raise ValueError("pressure is not negative, and the section suits the formula")
    return float(STANDARD_GRAVITY_MS2 * (0.00028 * kpa * inside**0.5 + 3.45))


def squeezed_share(size: TyreSize, load_n: float, kpa: float) -> float:
    """Return how far a tyre is squeezed under its load, over the height of its section.

    Parameters
    ----------
    size : TyreSize
        Size.
    load_n : float
        Load. [N]
    kpa : float
        Gauge pressure. [kPa]

    Returns
    -------
    float
        Deflection over section height.

    References
    ----------
    .. [1] `stiffness_n_mm`.
    """
    return load_n / stiffness_n_mm(size, kpa) / size.section_mm
