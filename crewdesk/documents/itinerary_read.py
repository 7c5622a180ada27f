"""``itinerary.csv`` to rows, each with its instant, before anything is derived from them."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, cast, get_args
from zoneinfo import ZoneInfo

from crewdesk.documents.cells import CellReader
from crewdesk.documents.faults import Findings, quoted
from crewdesk.documents.itinerary import ItineraryRow, RowKind
from crewdesk.documents.plain_words import validated
from crewdesk.documents.tables import Table, TableRow, read_table
from crewdesk.documents.times import (
    read_clock,
    read_duration_min,
    resolve_after,
    shifted_wall,
    wall_kind,
)

ITINERARY_FILE = "itinerary.csv"
COLUMNS = (
    "leg", "section", "loop", "ref", "kind", "name", "ss_km", "liaison_km", "total_km",
    "target_min", "first_car_due", "surface", "roughness", "abrasion", "twist", "right_share",
    "cuts", "shade", "gravel_share", "holds_water", "pass", "alt_start_m", "alt_max_m",
    "alt_finish_m", "avg_kmh", "service", "tyre_change", "note",
)  # fmt: skip
NEEDED = (
    "leg", "ref", "kind", "ss_km", "liaison_km", "target_min", "first_car_due", "surface",
    "service", "tyre_change",
)  # fmt: skip
RENAMES: Mapping[str, str] = {
    "day": "leg",
    "sec": "section",
    "control": "ref",
    "tc": "ref",
    "ss": "ref",
    "no": "ref",
    "code": "ref",
    "location": "name",
    "description": "name",
    "ss dist": "ss_km",
    "ss distance": "ss_km",
    "stage km": "ss_km",
    "liaison": "liaison_km",
    "liaison distance": "liaison_km",
    "road": "liaison_km",
    "total": "total_km",
    "total distance": "total_km",
    "target time": "target_min",
    "time allowed": "target_min",
    "first car due": "first_car_due",
    "first car": "first_car_due",
    "due": "first_car_due",
    "water": "holds_water",
    "run": "pass",
    "altitude": "alt_max_m",
    "remarks": "note",
}
SURFACES = ("gravel", "asphalt", "snow", "ice")
KINDS: tuple[str, ...] = get_args(RowKind)
_PACKED = re.compile(r"(\d+(?:\.\d+)?)\s*km")
_LONG_WAIT = timedelta(hours=12)


@dataclass
class _Walk:
    """Where the reading stands: the row before, for times read in order."""

    utc: datetime | None = None
    day: date | None = None
    ref: str = ""
    leg: int = 0


def read_itinerary(
    text: str, zone: ZoneInfo, found: Findings
) -> tuple[tuple[ItineraryRow, ...], Table] | None:
    """Return the rows and the table they came from, or None where nothing can be read."""
    table = read_table(ITINERARY_FILE, text, COLUMNS, NEEDED, found, RENAMES)
    if table is None:
        return None
    if not table.rows:
        found.fault(ITINERARY_FILE, "There is no row under the heading.", "Add the itinerary.")
        return None
    walk = _Walk()
    rows: list[ItineraryRow] = []
    seen: dict[str, int] = {}
    for line in table.rows:
        row = _read_row(line, zone, walk, found)
        if row is None:
            continue
        before = seen.setdefault(row.ref.upper(), row.row)
        if before != row.row:
            found.fault(
                ITINERARY_FILE,
                f"{row.ref} is listed twice, rows {before} and {row.row}.",
                "Give every control and stage a reference of its own.",
                where=line.where,
                column="ref",
                value=row.ref,
            )
        rows.append(row)
    return tuple(rows), table


def _read_row(
    line: TableRow, zone: ZoneInfo, walk: _Walk, found: Findings
) -> ItineraryRow | None:
    cell = CellReader(ITINERARY_FILE, line, found)
    ref = cell.needed("ref", "Every row needs a reference, as TC1 or SS1.")
    cell.needed("leg", "Every row needs its leg, from 1.")
    if not cell.text("kind"):
        cell.needed("kind", f"Allowed: {', '.join(KINDS)}.")
    kind = cell.word("kind", KINDS)
    values: dict[str, Any] = {
        "row": line.line,
        "leg": cell.whole("leg", 1, 30, default=0),
        "section": cell.whole("section", 0, 99),
        "loop": cell.whole("loop", 0, 99),
        "ref": ref,
        "kind": kind,
        "name": cell.text("name"),
        "ss_km": cell.number("ss_km", 0, 150, "km"),
        "liaison_km": cell.number("liaison_km", 0, 1000, "km"),
        "total_km": cell.number("total_km", 0, 1500, "km"),
        "target_min": _target(cell),
        "pass_no": cell.whole("pass", 1, 9),
        "avg_kmh": cell.number("avg_kmh", 10.1, 249, "km/h"),
        "service": cell.text("service"),
        "tyre_change": cell.word("tyre_change", ("no", "team", "zone"), default="no"),
    }
    for name in ("roughness", "abrasion"):
        values[name] = cell.whole(name, 1, 5)
    for name in ("twist", "right_share", "cuts", "shade", "gravel_share", "holds_water"):
        values[name] = cell.number(name, 0, 1)
    for name in ("alt_start_m", "alt_max_m", "alt_finish_m"):
        values[name] = cell.number(name, -500, 6000, "m")
    surface, note, share = _surface(cell, values["ss_km"], found)
    values["surface"] = surface
    values["note"] = note
    if share is not None and values["gravel_share"] is None:
        values["gravel_share"] = share
    if kind == "stage":
        _check_stage(cell, values)
    if values["leg"] and values["leg"] < walk.leg:
        cell.fault(
            "leg",
            f"Leg {values['leg']} comes after leg {walk.leg}.",
            "Legs run forward down the table.",
        )
    values["first_car_due"] = _due(cell, ref, kind, values["leg"], zone, walk, found)
    if cell.failed:
        return None
    return validated(ItineraryRow, ITINERARY_FILE, values, found, where=line.where)


def _check_stage(cell: CellReader, values: Mapping[str, Any]) -> None:
    if not cell.failed and not values["ss_km"]:
        cell.fault("ss_km", "A stage needs its length.", "Write it in km, as 6.80.")
    if not cell.text("surface"):
        cell.fault("surface", "A stage needs its surface.", f"Allowed: {', '.join(SURFACES)}.")
    if not cell.text("first_car_due"):
        cell.fault(
            "first_car_due", "A stage needs its start time.", "Write it as 2026-05-16 08:48."
        )


def _target(cell: CellReader) -> float | None:
    text = cell.text("target_min")
    if not text:
        return None
    minutes = read_duration_min(text)
    if minutes is None:
        cell.fault(
            "target_min", f"{quoted(text)} is no time allowed.", "Write minutes, as 33 or 0:33."
        )
    return minutes


def _surface(
    cell: CellReader, ss_km: float | None, found: Findings
) -> tuple[str | None, str, float | None]:
    """Return surface, note and gravel share; free words are split into the three."""
    note = cell.text("note")
    text = cell.text("surface").lower()
    if not text:
        return None, note, None
    if text in SURFACES:
        return text, note, None
    first = text.split()[0].strip(",")
    if first not in SURFACES:
        cell.word("surface", SURFACES)
        return None, note, None
    rest = text[len(first) :].strip(" ,")
    share = None
    if "broken" in rest and "broken" not in note:
        note = f"{note}; broken".strip("; ")
    packed = _PACKED.search(rest)
    if "gravel" in rest and packed and ss_km:
        share = min(1.0, round(float(packed[1]) / ss_km, 2))
    if share is None and "broken" not in rest:
        note = f"{note}; {rest}".strip("; ")
    found.note(
        f"{ITINERARY_FILE} {cell.row.where}: surface {quoted(text)} taken as {first}"
        + (", broken" if "broken" in rest else "")
        + (f", {share:g} of it gravel" if share is not None else "")
        + "."
    )
    return first, note, share


def _due(
    cell: CellReader,
    ref: str,
    kind: str,
    leg: int,
    zone: ZoneInfo,
    walk: _Walk,
    found: Findings,
) -> datetime | None:
    """Return the printed time as an instant; times run forward down the table."""
    column = "first_car_due"
    text = cell.text(column)
    if not text:
        return None
    clock = read_clock(text)
    if clock is None:
        cell.fault(column, f"{quoted(text)} is no time.", "Write it as 2026-05-16 08:48.")
        return None
    if clock.day is None and walk.day is None:
        cell.fault(column, f"{text} has no date.", "Write the first time as 2026-05-16 08:30.")
        return None
    if clock.day is not None and not 1990 <= clock.day.year <= 2200:
        cell.fault(column, f"{text} is no date of an event.", "Put the year right.")
        return None
    resolved = resolve_after(clock, zone, last_utc=walk.utc, last_day=walk.day)
    if resolved is None:
        wall = datetime.combine(clock.day or cast("date", walk.day), clock.at)
        if wall_kind(wall, zone) != "skipped":
            wall += timedelta(days=1)
        instead = shifted_wall(wall, zone)
        cell.fault(
            column,
            f"{text} does not exist in {zone.key}: the clocks are put forward over it.",
            f"The clocks then show {instead:%Y-%m-%d %H:%M}.",
        )
        return None
    if walk.utc is not None and resolved.utc < walk.utc:
        before = walk.utc.astimezone(zone)
        if kind == "stage":
            cell.fault(
                column,
                f"{ref} is due at {text}, before {walk.ref} at {before:%H:%M}.",
                "A stage starts after its time control; put one of the two right.",
            )
        else:
            cell.fault(
                column,
                f"{ref} is due at {text}, before {walk.ref} at {before:%Y-%m-%d %H:%M}.",
                "Times run forward down the table; put the row in its place or the time right.",
            )
        return None
    if resolved.doubled:
        which = "second" if resolved.second_time else "first"
        found.note(
            f"{ITINERARY_FILE} {cell.row.where}: {text} comes twice that night in {zone.key}; "
            f"the {which} of the two is taken."
        )
    if (
        resolved.rolled
        and walk.utc is not None
        and leg == walk.leg
        and resolved.utc - walk.utc > _LONG_WAIT
    ):
        cell.fault(
            column,
            f"{ref} at {text} would be more than 12 h after {walk.ref}.",
            "Write the time with its date.",
        )
        return None
    walk.utc = resolved.utc
    walk.day = resolved.utc.astimezone(zone).date()
    walk.ref, walk.leg = ref, leg
    return resolved.utc
