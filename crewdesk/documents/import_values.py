"""Cells of other people's tables as ours have them: units, decimal commas, dates, words."""

import re
from collections.abc import Callable, Mapping
from datetime import date, timedelta
from typing import Final

from crewdesk.documents.import_headings import ALL_TREADS, GRAVEL_KM, PERCENT, SHOWN_AS
from crewdesk.documents.itinerary_read import KINDS
from crewdesk.documents.spreadsheet import Cell, clock_of, number_text

TEXT_COLUMNS: Final = frozenset({
    "ref", "kind", "name", "surface", "service", "tyre_change", "note", "tyre_id", "mark",
    "maker", "model", "compound", "use", "size", "rim", "rim_id", "dot", "e_mark",
    "service_desc", "condition", "counts_against", "registered", "location", "side_run",
    "direction", "lock", "terms", "stack", "code", "site", "source", "surface_state",
})  # fmt: skip
TIMES: Final = frozenset({"first_car_due", "time", "issued"})
_MILE_KM, _INCH_MM, _FOOT_M, _KNOT_KMH = 1.609344, 25.4, 0.3048, 1.852
"""International yard and pound agreement, 1959; the nautical mile of 1852 m, 1929."""
_FACTORS: Final[Mapping[str, Mapping[str, float]]] = {
    "km": {"km": 1, "m": 0.001, "mi": _MILE_KM, "mile": _MILE_KM, "miles": _MILE_KM},
    "mm": {"mm": 1, "cm": 10, "in": _INCH_MM, "inch": _INCH_MM, '"': _INCH_MM,
           "″": _INCH_MM, "32nds": _INCH_MM / 32,
           "/32": _INCH_MM / 32, "1/32": _INCH_MM / 32},
    "m": {"m": 1, "km": 1000, "ft": _FOOT_M, "feet": _FOOT_M},
    "km/h": {"km/h": 1, "kmh": 1, "kph": 1, "m/s": 3.6, "mph": _MILE_KM, "kn": _KNOT_KMH,
             "kt": _KNOT_KMH, "kts": _KNOT_KMH, "knots": _KNOT_KMH},
    "mm/h": {"mm/h": 1, "mm": 1, "l/m2": 1, "in/h": _INCH_MM},
    "%": {"%": 1},
    "share": {"%": 0.01, "share": 1},
    "min": {"min": 1, "minutes": 1, "h": 60, "s": 1 / 60},
    "°C": {"°c": 1, "c": 1, "degc": 1},
}  # fmt: skip
_SPOKEN: Final[Mapping[str, str]] = {
    "in": "inches", '"': "inches", "″": "inches", "/32": "32nds of an inch",
    "1/32": "32nds of an inch", "32nds": "32nds of an inch", "mi": "miles", "h": "hours",
}  # fmt: skip
_FAHRENHEIT: Final = frozenset({"°f", "f", "degf"})
_NUMBER = re.compile(
    r"([(\[])?\s*([+\-−]?[\d\s\u00a0\u202f'.,]*\d)\s*([A-Za-z°%/\"″][A-Za-z°%/\d]*)?\s*[)\]]?"
)
_DAY_FIRST = re.compile(r"(\d{1,2})[./-](\d{1,2})[./-](\d{4}|\d{2})(?:[ T]+(.+))?")
_ISO = re.compile(r"\d{4}-\d{1,2}-\d{1,2}")
_CLOCK = re.compile(r"(\d{1,2})(?:[.hH]|\s*:\s*)(\d{2})(?::\d{2})?\s*h?")
_DIGITS = re.compile(r"\d+")
_YES: Final = frozenset({"y", "yes", "true", "1", "x", "✓", "ja", "si", "oui"})
_NO: Final = frozenset({"n", "no", "false", "0", "nein", "non"})
_SHORT: Final[Mapping[str, Mapping[str, str]]] = {
    "compound": {
        "s": "soft", "m": "medium", "h": "hard", "w": "wet", "rain": "wet", "soft": "soft",
        "medium": "medium", "hard": "hard", "wet": "wet", "studded": "studded",
    },
    "surface": {"tarmac": "asphalt", "tar": "asphalt", "a": "asphalt", "g": "gravel"},
    "use": {"tarmac": "asphalt", "rain": "asphalt_wet", "wet": "asphalt_wet", "snow": "winter"},
}  # fmt: skip

JOINED: Final = frozenset({*(kind for kind in KINDS if "_" in kind), "asphalt_wet"})
"""Words of our tables that are two words everywhere else, as ``service_in``."""


def unit_of(column: str) -> str:
    """Return the unit of one of our columns as it is written; empty where it has none."""
    if column in (PERCENT, GRAVEL_KM):
        return "%" if column == PERCENT else "km"
    if column == ALL_TREADS:
        return "mm"
    if column.endswith("_share") or column in ("twist", "cuts", "shade", "holds_water"):
        return "share"
    for tail, unit in (("mm_h", "mm/h"), ("_kmh", "km/h"), ("_km", "km"), ("_mm", "mm"),
                       ("_min", "min"), ("_pct", "%"), ("_c", "°C"), ("_m", "m")):  # fmt: skip
        if column.endswith(tail):
            return unit
    return ""


class Values:
    """Turns cells into ours and remembers, column by column, what it had to understand."""

    def __init__(self) -> None:
        self._said: dict[str, list[str]] = {}

    def notes(self) -> list[str]:
        """Return what was understood, a sentence for each kind of it."""
        return [f"{what}: {', '.join(columns)}." for what, columns in self._said.items()]

    def _say(self, what: str, column: str) -> None:
        columns = self._said.setdefault(what, [])
        shown = SHOWN_AS.get(column, column)
        if shown not in columns:
            columns.append(shown)

    def text(self, column: str, cell: Cell, unit: str = "") -> str:
        """Return a cell as our tables have it; what is not understood stays as it is."""
        if isinstance(cell, float):
            return self._of_number(column, cell, unit)
        words = " ".join(cell.split())
        if not words or column == "":
            return words
        if column in TIMES or column == "first_mounted":
            return self._time(column, words)
        if column in TEXT_COLUMNS:
            return self._word(column, words)
        if column in ("leg", "section"):
            digits = _DIGITS.search(words)
            return digits[0] if digits else words
        if column == "target_min" and ":" in words:
            return words
        return self._number(column, words, unit)

    def _of_number(self, column: str, cell: float, unit: str) -> str:
        """Return a spreadsheet's number: a day count where a time is meant."""
        if column in TIMES:
            return clock_of(cell)
        if column == "first_mounted":
            return clock_of(cell).split()[0]
        if column == "target_min" and 0 < cell < 1:
            return number_text(round(cell * 1440))
        if column in TEXT_COLUMNS or not unit:
            text = number_text(cell)
            return text.zfill(4) if column == "dot" else text
        return self._turned(column, cell, unit, number_text(cell))

    def _number(self, column: str, words: str, unit: str) -> str:
        match = _NUMBER.fullmatch(words)
        if match is None:
            return words
        bracket, digits, own_unit = match.groups()
        digits = digits.replace("−", "-")
        plain = _plain(digits)
        try:
            value = float(plain)
        except ValueError:
            return words
        if bracket:
            self._say("Brackets dropped", column)
        if "," in digits:
            self._say("Decimal commas read as points", column)
        return self._turned(column, value, own_unit or unit, plain, words)

    def _turned(
        self, column: str, value: float, unit: str, plain: str, words: str | None = None
    ) -> str:
        """Return a value in our unit; one in a unit that is not known stays as written."""
        ours, theirs = unit_of(column), unit.lower()
        if not theirs or theirs == ours.lower():
            return plain
        if ours == "°C" and theirs in _FAHRENHEIT:
            self._say("°F turned into °C", column)
            return number_text(round((value - 32) / 1.8, 2))
        factor = _FACTORS.get(ours, {}).get(theirs)
        if factor is None:
            # As "32 Nm" in a column of km: the crew has to look at it.
            return plain if words is None or not ours else words
        if factor == 1:
            return plain
        self._say(f"{_SPOKEN.get(theirs, unit)} turned into {ours}", column)
        return number_text(round(value * factor, 4))

    def _time(self, column: str, words: str) -> str:
        day = _DAY_FIRST.fullmatch(words)
        if day is not None:
            first, second, year = (int(part) for part in day.groups()[:3])
            month_first = second > 12 >= first
            at = (year + 2000 if year < 100 else year, *((first, second) if month_first
                  else (second, first)))  # fmt: skip
            try:
                written = date(*at).isoformat()
            except ValueError:
                return words
            order = "month first" if month_first else "day first"
            self._say(f"Dates read with the {order}, as {words} = {written}", column)
            clock = day[4] or ""
            return f"{written} {self._time(column, clock)}".strip()
        head, _, tail = words.partition(" ")
        if _ISO.fullmatch(head) and tail:
            return f"{head} {self._time(column, tail)}"
        clock_words = _CLOCK.fullmatch(words)
        if clock_words is not None and ":" not in words:
            self._say("Times read as hours and minutes", column)
            return f"{int(clock_words[1]):02d}:{clock_words[2]}"
        return words

    def _word(self, column: str, words: str) -> str:
        small = words.lower()
        joined = re.sub(r"[\s-]+", "_", small)
        if column in ("e_mark", "registered"):
            known = "yes" if small in _YES else "no" if small in _NO else words
        else:
            known = _SHORT.get(column, {}).get(small, words)
            if column in ("kind", "use") and joined in JOINED:
                known = joined
        if known not in (words, small, joined):
            self._say(f"'{words}' read as {known}", column)
        return known


def _plain(digits: str) -> str:
    """Return digits with one point at most, the signs between thousands taken out.

    >>> _plain("1 234,5"), _plain("1.234,5"), _plain("1,234.5"), _plain("6,80"), _plain("0.5")
    ('1234.5', '1234.5', '1234.5', '6.80', '0.5')
    """
    bare = re.sub(r"[\s\u00a0\u202f']", "", digits)
    comma, point = bare.rfind(","), bare.rfind(".")
    if comma >= 0 and point >= 0:
        thousands = "." if comma > point else ","
        return bare.replace(thousands, "").replace(",", ".")
    sign = "," if comma >= 0 else "."
    return bare.replace(sign, "") if bare.count(sign) > 1 else bare.replace(",", ".")


def with_days(
    rows: list[dict[str, str]], first_day: date, value: Callable[[str], bool]
) -> list[str]:
    """Give the first time of each leg its date where it has none; return those rows' names.

    Parameters
    ----------
    value : callable
        Whether a written time holds a date already.
    """
    dated: list[str] = []
    first_leg: int | None = None
    seen: set[int] = set()
    for row in rows:
        due, leg = row.get("first_car_due", ""), row.get("leg", "")
        if not due or not leg.isdigit() or int(leg) in seen:
            continue
        seen.add(int(leg))
        first_leg = int(leg) if first_leg is None else first_leg
        if not value(due):
            day = first_day + timedelta(days=int(leg) - first_leg)
            row["first_car_due"] = f"{day.isoformat()} {due}"
            dated.append(row.get("ref", ""))
    return dated
