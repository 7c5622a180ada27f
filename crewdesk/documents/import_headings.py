"""Headings of other people's tables: which of our columns they mean, and in which unit."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from crewdesk.documents import itinerary_read, stock_read, weather_read
from crewdesk.documents.spreadsheet import Cell

Kind = Literal["itinerary", "stock", "weather"]
COLUMNS: Final[Mapping[str, tuple[str, ...]]] = {
    "itinerary": itinerary_read.COLUMNS,
    "stock": stock_read.COLUMNS,
    "weather": weather_read.COLUMNS,
}
PERCENT, GRAVEL_KM, ALL_TREADS = "?percent", "?gravel_km", "?all_treads"
"""Columns that become others of ours: a share in %, in km, one depth for all three points."""
SHOWN_AS: Final[Mapping[str, str]] = {
    PERCENT: "gravel_share",
    GRAVEL_KM: "gravel_share",
    ALL_TREADS: "tread_in_mm, tread_mid_mm and tread_out_mm",
}
"""What the crew is told in their place."""
_WORDS: Final[Mapping[str, Mapping[str, str]]] = {
    "itinerary": {
        **itinerary_read.RENAMES,
        "stage": "name",
        "place": "name",
        "venue": "name",
        "check point": "ref",
        "checkpoint": "ref",
        "tc/ss": "ref",
        "tc ss": "ref",
        "ss/tc": "ref",
        "stage no": "ref",
        "stage number": "ref",
        "distance": "ss_km",
        "ss length": "ss_km",
        "length": "ss_km",
        "liaison dist": "liaison_km",
        "road section": "liaison_km",
        "link": "liaison_km",
        "link distance": "liaison_km",
        "stage length": "ss_km",
        "stage distance": "ss_km",
        "car 1": "first_car_due",
        "car 1 due": "first_car_due",
        "ground": "surface",
        "road surface": "surface",
        "total dist": "total_km",
        "time": "target_min",
        "target": "target_min",
        "gravel": PERCENT,
        "gravel %": PERCENT,
        "gravel km": GRAVEL_KM,
    },
    "stock": {
        "tyre": "tyre_id", "tyre no": "tyre_id", "tyre number": "tyre_id", "no": "tyre_id",
        "id": "tyre_id", "number": "tyre_id", "tyre name": "tyre_id",
        "official mark": "mark", "barcode": "mark", "bar code": "mark", "sticker": "mark",
        "tyre mark": "mark", "serial": "mark", "serial no": "mark", "serial number": "mark",
        "make": "maker", "brand": "maker", "manufacturer": "maker",
        "pattern": "model", "type": "model",
        "hardness": "compound", "mixture": "compound", "rubber": "compound",
        "grade": "compound", "tyre compound": "compound", "rubber compound": "compound",
        "family": "use", "for": "use", "surface": "use",
        "tyre size": "size", "dimension": "size",
        "rim size": "rim", "wheel size": "rim",
        "wheel": "rim_id", "wheel no": "rim_id", "rim no": "rim_id", "rim number": "rim_id",
        "wheel number": "rim_id",
        "date code": "dot", "dot code": "dot",
        "load index": "service_desc", "load/speed": "service_desc",
        "state": "condition", "new/used": "condition",
        "tread new": "tread_new_mm", "new tread": "tread_new_mm", "depth new": "tread_new_mm",
        "tread in": "tread_in_mm", "inner": "tread_in_mm", "inside": "tread_in_mm",
        "tread mid": "tread_mid_mm", "middle": "tread_mid_mm", "centre": "tread_mid_mm",
        "tread out": "tread_out_mm", "outer": "tread_out_mm", "outside": "tread_out_mm",
        "tread": ALL_TREADS, "tread depth": ALL_TREADS, "depth": ALL_TREADS,
        "tread now": ALL_TREADS,
        "km": "stage_km", "km run": "stage_km", "run km": "stage_km", "run": "stage_km",
        "cycles": "heat_cycles",
        "price": "price_units", "cost": "price_units",
        "nominated": "registered",
        "where": "location", "place": "location",
        "pile": "stack", "rack": "stack",
        "shore": "hardness_shore_a", "shore a": "hardness_shore_a",
        "remarks": "note", "notes": "note", "comment": "note",
    },
    "weather": {
        "hour": "time", "local time": "time", "date": "time", "date time": "time",
        "place": "site", "location": "site", "station": "site",
        "altitude": "alt_m", "elevation": "alt_m", "alt": "alt_m",
        "issue": "issued", "issued at": "issued",
        "air": "air_c", "temperature": "air_c", "temp": "air_c", "air temp": "air_c",
        "air temperature": "air_c", "ambient": "air_c", "outside temp": "air_c",
        "rainfall": "rain_mm_h",
        "road": "road_c", "road temp": "road_c", "road temperature": "road_c",
        "cloud": "cloud_pct", "clouds": "cloud_pct", "cloud cover": "cloud_pct",
        "rain": "rain_mm_h", "precipitation": "rain_mm_h", "precip": "rain_mm_h",
        "wind": "wind_kmh", "wind speed": "wind_kmh",
        "humidity": "humidity_pct", "rh": "humidity_pct",
        "surface": "surface_state", "road state": "surface_state",
    },
}  # fmt: skip
_BRACKET = re.compile(r"\s*[(\[]([^)\]]*)[)\]]\s*$")
_SIGNS = re.compile(r"[.:_]+")
_LOOKED_AT: Final = 50
"""Rows at the top of a table in which its heading is looked for."""


@dataclass(frozen=True)
class Heading:
    """A heading as written, and the column of ours that it was read as."""

    written: str
    column: str
    """Empty: none of ours; kept without using it."""
    unit: str = ""
    """The unit that the heading states, as written."""

    @property
    def said(self) -> str:
        """Return in words what was made of it; empty where it is our own word.

        >>> Heading("day", "leg").said
        "'day' read as leg"
        """
        if not self.column:
            return f"'{self.written}' kept without using it"
        if self.written.lower().replace(" ", "_") == self.column:
            return ""
        return f"'{self.written}' read as {SHOWN_AS.get(self.column, self.column)}"


def columns_of(kind: str) -> tuple[str, ...]:
    """Return our columns of a kind of table."""
    return COLUMNS[kind]


def heading_of(written: str, kind: str) -> Heading:
    """Return what a heading means; its unit may stand in brackets or at its end.

    >>> heading_of("SS dist (miles)", "itinerary")
    Heading(written='SS dist (miles)', column='ss_km', unit='miles')
    """
    shown = " ".join(written.split())
    own = shown.lower()
    if own in COLUMNS[kind]:
        return Heading(shown, own)
    bracket = _BRACKET.search(own)
    unit = bracket[1].strip() if bracket else ""
    base = _BRACKET.sub("", own) if bracket else own
    for word in (base, f"{base} {unit}".strip()):
        column = _meant(" ".join(_SIGNS.sub(" ", word).split()), kind)
        if column:
            return Heading(shown, column, unit)
    # A unit may also be the last word: "tread mm", "wind m/s".
    head, _, last = base.rpartition(" ")
    column = _meant(" ".join(_SIGNS.sub(" ", head).split()), kind) if head and not unit else ""
    return Heading(shown, column, last) if column else Heading(shown, "")


def _meant(word: str, kind: str) -> str:
    if word in _WORDS[kind]:
        return _WORDS[kind][word]
    spaced = {name.replace("_", " "): name for name in COLUMNS[kind]}
    if word in spaced:
        return spaced[word]
    # Our own names without their unit, as "tread new" or "humidity".
    bare = {
        re.sub(r" (km|mm|m|c|pct|min|kmh|mm h|share)$", "", s): n for s, n in spaced.items()
    }
    return bare.get(word, "")


def find_heading(
    grid: Sequence[Sequence[Cell]], kind: str
) -> tuple[int, tuple[Heading, ...]] | None:
    """Return the row of the heading and what its cells mean; None where there is none.

    It is the first row with three known words, else the first one with two of them.
    """
    best: tuple[int, tuple[Heading, ...]] | None = None
    for index, cells in enumerate(grid[:_LOOKED_AT]):
        read = tuple(heading_of(str(cell), kind) for cell in cells)
        known = sum(bool(one.column) for one in read)
        if known >= 3:
            return index, read
        filled = sum(bool(one.written) for one in read)
        if known == 2 and filled == 2 and best is None:
            best = index, read
    return best
