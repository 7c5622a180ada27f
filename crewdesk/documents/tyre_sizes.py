"""Marks of tyre sizes and rims: whether one can be read."""

import re

_METRIC = re.compile(
    r"(?:P|LT|ST|T)?(\d{3})/(\d{2,3})(?:ZR|R|D|B|-)(\d{2}(?:\.5)?)(?:CP|C|LT)?(?:XL|RF)?"
    r"\(?(?:\d{2,3}(?:/\d{2,3})?[A-Z]\d?)?\)?"
)
_SPORT = re.compile(r"(\d{2,3})/(\d{2,3})(?:-|R|X)?(\d{2})")
RIM = re.compile(r"\d{1,2}(?:\.\d)?[A-Z]{0,2}X\d{2}")
"""Width, flange and diameter in inches, as 7Jx15."""

_MM_PER_INCH = 25.4


def normalised(mark: str) -> str:
    """Return a mark in capitals, without spaces, with plain hyphen and x.

    >>> normalised("20/65 – 18")
    '20/65-18'
    """
    return mark.upper().replace(" ", "").replace("–", "-").replace("×", "X")


def size_readable(mark: str) -> bool:
    """Return whether a tyre size mark can be read.

    Metric marks as 195/65 R15 91H (form of ISO 4000-1, from memory, not verified), and the
    competition marks in cm (20/65-18) or mm (205/650-18), which must suit their rim.

    >>> [size_readable(m) for m in ("195/65 R15 91H", "20/65-18", "650/18", "20/45-18")]
    [True, True, False, False]
    """
    text = normalised(mark)
    sport = _SPORT.fullmatch(text)
    if sport:
        width, diameter, rim_inch = (int(part) for part in sport.groups())
        rim_mm = rim_inch * _MM_PER_INCH
        if 12 <= width <= 40 and 45 <= diameter <= 80:
            return rim_mm + 60 <= 10 * diameter <= 2 * rim_mm + 40
        if 105 <= width <= 400 and 400 <= diameter <= 800:
            return rim_mm + 60 <= diameter <= 2 * rim_mm + 40
    metric = _METRIC.match(text)
    return metric is not None and 20 <= int(metric[2]) <= 95
