"""Width, diameter and rim from the mark on the sidewall."""

import re
from dataclasses import dataclass
from typing import Final

_METRIC = re.compile(
    r"^(?:P|LT|ST|T)?(?P<w>\d{3})/(?P<a>\d{2,3})(?:ZR|R|D|B|-)(?P<rim>\d{2}(?:\.5)?)"
)
_DIAMETER = re.compile(r"^(?P<w>\d{2,3})/(?P<d>\d{2,3})(?:-|R|X)?(?P<rim>\d{2})")

MM_PER_INCH: Final = 25.4


@dataclass(frozen=True)
class TyreSize:
    """What a size mark says.

    Parameters
    ----------
    width_m, diameter_m : float
        Nominal width and outer diameter. [m]
    rim_inch : float
        Diameter of the rim it belongs on. [inch]
    """

    width_m: float
    diameter_m: float
    rim_inch: float

    @property
    def section_mm(self) -> float:
        """Return the height of the section in mm, from the rim to the tread."""
        return (1000.0 * self.diameter_m - MM_PER_INCH * self.rim_inch) / 2.0

    @property
    def aspect(self) -> float:
        """Return the height of the section over the width, in per cent."""
        return 100.0 * self.section_mm / (1000.0 * self.width_m)


def _normal(mark: str) -> str:
    """Return a mark in capitals without blanks and with plain signs."""
    plain = "".join(mark.upper().split())
    return plain.replace("\N{EN DASH}", "-").replace("\N{MULTIPLICATION SIGN}", "X")


def size_m(mark: str) -> tuple[float, float]:
    """Return width and outer diameter of a tyre from its size mark.

    Parameters
    ----------
    mark : str
        As `size_of` takes it.

    Returns
    -------
    tuple of float
        Nominal width, outer diameter. [m]

    Raises
    ------
    ValueError
        If the mark cannot be read.

    Notes
    -----
    See `size_of`.

    References
    ----------
    .. [1] `size_of`.

    Examples
    --------
    >>> size_m("195/65 R15 91H")
    (0.195, 0.635)
    """
    size = size_of(mark)
    return size.width_m, size.diameter_m


def size_of(mark: str) -> TyreSize:
    """Return what a size mark says.

    Parameters
    ----------
    mark : str
        Metric (``195/65 R15 91H``), centimetres (``20/65-18``) or millimetres
        (``205/650-18``); case, blanks and the kind of dash do not matter.

    Returns
    -------
    TyreSize
        Nominal width, outer diameter, rim.

    Raises
    ------
    ValueError
        If the mark has none of the three forms or its diameter does not suit its rim.

    Notes
    -----
    Metric: rim and section height are rounded half up to 1 mm, D = rim + 2 H. The other
    forms give the diameter. A competition mark whose diameter is not between the rim's
    plus 60 mm and twice the rim's plus 40 mm is refused.

    References
    ----------
    .. [1] UN Regulation No. 30, 6.1.2 (D = d + 2 H); from memory, not verified. Forms of
       competition marks: common practice, no source.

    Examples
    --------
    >>> size_of("20/65-18")
    TyreSize(width_m=0.2, diameter_m=0.65, rim_inch=18.0)
    """
    text = _normal(mark)
    found = _DIAMETER.match(text)
    if found and _in_range(int(found["w"]), int(found["d"])):
        width_mm, diameter_mm = int(found["w"]), int(found["d"])
        if width_mm <= 40:
            width_mm, diameter_mm = 10 * width_mm, 10 * diameter_mm
        rim_mm = int(25.4 * int(found["rim"]) + 0.5)
        if not rim_mm + 60 <= diameter_mm <= 2 * rim_mm + 40:
            raise ValueError(f"{diameter_mm} mm does not suit a rim of {found['rim']} inches")
        return TyreSize(width_mm / 1000.0, diameter_mm / 1000.0, float(found["rim"]))
    found = _METRIC.match(text)
    if found:
        width_mm, aspect = int(found["w"]), int(found["a"])
        rim_mm = int(25.4 * float(found["rim"]) + 0.5)
        height_mm = int(width_mm * aspect / 100.0 + 0.5)
        diameter_m = (rim_mm + 2 * height_mm) / 1000.0
        return TyreSize(width_mm / 1000.0, diameter_m, float(found["rim"]))
    raise ValueError(f"{mark!r} is no size of a tyre")


def _in_range(width: int, diameter: int) -> bool:
    """Return whether a mark gives a diameter, in centimetres or in millimetres."""
    centimetres = 12 <= width <= 40 and 45 <= diameter <= 80
    return centimetres or (105 <= width <= 400 and 400 <= diameter <= 800)
