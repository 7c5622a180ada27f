"""Width and diameter from the mark on the sidewall."""

import re

_METRIC = re.compile(
    r"^(?:P|LT|ST|T)?(?P<w>\d{3})/(?P<a>\d{2,3})(?:ZR|R|D|B|-)(?P<rim>\d{2}(?:\.5)?)"
)
_DIAMETER = re.compile(r"^(?P<w>\d{2,3})/(?P<d>\d{2,3})(?:-|R|X)?(?P<rim>\d{2})")


def _normal(mark: str) -> str:
    """Return a mark in capitals without blanks and with plain signs."""
    plain = "".join(mark.upper().split())
    return plain.replace("\N{EN DASH}", "-").replace("\N{MULTIPLICATION SIGN}", "X")


def size_m(mark: str) -> tuple[float, float]:
    """Return width and outer diameter of a tyre from its size mark.

    Parameters
    ----------
    mark : str
        Metric (``195/65 R15 91H``), centimetres (``20/65-18``) or millimetres
        (``205/650-18``); case, blanks and the kind of dash do not matter.

    Returns
    -------
    tuple of float
        Nominal width, outer diameter. [m]

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
    >>> size_m("195/65 R15 91H")
    (0.195, 0.635)
    >>> size_m("20/65-18")
    (0.2, 0.65)
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
        return width_mm / 1000.0, diameter_mm / 1000.0
    found = _METRIC.match(text)
    if found:
        width_mm, aspect = int(found["w"]), int(found["a"])
        rim_mm = int(25.4 * float(found["rim"]) + 0.5)
        height_mm = int(width_mm * aspect / 100.0 + 0.5)
        return width_mm / 1000.0, (rim_mm + 2 * height_mm) / 1000.0
    raise ValueError(f"{mark!r} is no size of a tyre")


def _in_range(width: int, diameter: int) -> bool:
    """Return whether a mark gives a diameter, in centimetres or in millimetres."""
    centimetres = 12 <= width <= 40 and 45 <= diameter <= 80
    return centimetres or (105 <= width <= 400 and 400 <= diameter <= 800)
