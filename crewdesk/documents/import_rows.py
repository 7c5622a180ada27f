"""Rows that leave out what follows from the rest: kinds, visits, places to change, dates."""

import re
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import Final

from crewdesk.documents.import_legs import begin_legs
from crewdesk.documents.import_values import with_days
from crewdesk.documents.times import read_clock

SITE: Final = "Service"
"""Name of the one place with weather until the crew names another."""
_LETTER = re.compile(r"service\s+([A-Z])\b", re.IGNORECASE)
_OUT = re.compile(r"\bout\b")
_VISIT = re.compile(r"\b(?:service|flexi)\b[^/,]*\b(?:in|out)\b")
_PAIRS: Final = (
    ("flexi", "flexi"),
    ("fitting", "tyre_zone"),
    ("tyre zone", "tyre_zone"),
    ("service", "service"),
    ("regroup", "regroup"),
    ("holding", "regroup"),
)
_FAMILY_OF: Final[Mapping[str, str]] = {"wet": "asphalt_wet", "studded": "winter"}


def completed(
    kind: str,
    rows: list[dict[str, str]],
    notes: list[str],
    *,
    first_day: date | None = None,
) -> list[dict[str, str]]:
    """Return rows with what follows from the others filled in, told in ``notes``."""
    makers: Mapping[str, Callable[..., None]] = {
        "itinerary": _itinerary,
        "stock": _stock,
        "weather": _weather,
    }
    makers[kind](rows, notes, first_day)
    return rows


def _itinerary(rows: list[dict[str, str]], notes: list[str], first_day: date | None) -> None:
    begin_legs(rows, notes)
    last = {"leg": "", "section": ""}
    guessed: list[str] = []
    for row in rows:
        if not any(row.values()):
            continue
        for name in last:
            row[name] = last[name] = row.get(name) or last[name]
        row["leg"] = row["leg"] or "1"
        if not row.get("ref"):
            continue
        if not row.get("kind"):
            row["kind"] = kind_of(row)
            guessed.append(row["ref"])
        letter = _LETTER.search(row.get("name", ""))
        if letter and not row.get("service") and row["kind"].startswith(("service", "flexi")):
            row["service"] = letter[1].upper()
    if guessed:
        notes.append(
            f"Kind of {len(guessed)} {'row' if len(guessed) == 1 else 'rows'} taken from "
            "reference and name: "
            + ", ".join(f"{row['ref']} {row['kind']}" for row in rows if row.get("kind")
                        and row["ref"] in guessed[:3])
            + (" and others." if len(guessed) > 3 else ".")
        )  # fmt: skip
    _guess_changes(rows, notes)
    if first_day is not None:
        dated = with_days(rows, first_day, _has_day)
        if dated:
            notes.append(f"Dates counted from {first_day.isoformat()}: {', '.join(dated)}.")


def _has_day(text: str) -> bool:
    clock = read_clock(text)
    return clock is None or clock.day is not None


def kind_of(row: Mapping[str, str]) -> str:
    """Return the kind of a row by its reference and name.

    >>> kind_of({"ref": "TC2C", "name": "Showground, Service B OUT"})
    'service_out'
    >>> kind_of({"ref": "TC4B", "name": "Showground, Service C OUT, finish"})
    'service_out'
    >>> kind_of({"ref": "TC4C", "name": "Finish and parc ferme IN"})
    'finish'
    """
    ref, name = row["ref"].upper().strip(), row.get("name", "").lower()
    if ref.startswith("SS"):
        return "stage"
    if ref.startswith("RF") or "refuel" in name:
        return "refuel"
    # A last service at the finish keeps its IN and its OUT.
    if "finish" in name and "flying" not in name and not _VISIT.search(name):
        return "finish"
    # Of "regroup OUT / Service B IN" the last part says what begins here.
    part = name.split("/")[-1]
    if not any(word in part for word, _kind in _PAIRS):
        part = name.split("/")[0]
    for word, kind in _PAIRS:
        if word in part:
            return f"{kind}_{'out' if _OUT.search(part) else 'in'}"
    return "start" if ref in ("TC0", "TC 0") or "start" in name else "time_control"


def _guess_changes(rows: Sequence[dict[str, str]], notes: list[str]) -> None:
    stages_after = 0
    guessed: list[str] = []
    for row in reversed(rows):
        stages_after += row.get("kind") == "stage"
        if row.get("tyre_change") or not row.get("ref"):
            continue
        row["tyre_change"] = "no"
        if row["kind"] in ("service_out", "flexi_out", "tyre_zone_out") and stages_after:
            row["tyre_change"] = "zone" if row["kind"] == "tyre_zone_out" else "team"
            guessed.append(row["ref"])
    if guessed:
        notes.append(f"Taken as places where tyres may be changed: {', '.join(guessed[::-1])}.")


def _stock(rows: list[dict[str, str]], notes: list[str], _first_day: date | None) -> None:
    _name_tyres(rows, notes)
    _depths_when_new(rows, notes)
    # A rain tyre says nothing of what the others are for.
    families = {
        row["use"]
        for row in rows
        if row.get("use") and row.get("compound", "").lower() not in _FAMILY_OF
    }
    guessed: list[str] = []
    for row in rows:
        if row.get("use") or not row.get("tyre_id"):
            continue
        family = _FAMILY_OF.get(row.get("compound", "").lower(), "")
        if not family and len(families) == 1:
            family = next(iter(families))
        if family:
            row["use"] = family
            guessed.append(f"{row['tyre_id']} {family}")
    if guessed:
        more = " and others" if len(guessed) > 3 else ""
        notes.append(f"Use taken from the other cells: {', '.join(guessed[:3])}{more}.")


def _name_tyres(rows: Sequence[dict[str, str]], notes: list[str]) -> None:
    """Name tyres after their marks where the table has no names, else number them."""
    filled = [row for row in rows if any(row.values())]
    if any(row.get("tyre_id") for row in filled):
        return
    marked = all(row.get("mark") for row in filled)
    # One tyre alone without a name is a tyre whose name is still to be typed.
    if not marked and len(filled) < 4:
        return
    seen: dict[str, int] = {}
    for number, row in enumerate(filled, start=1):
        name = row["mark"] if marked else f"T{number:02d}"
        seen[name] = seen.get(name, 0) + 1
        row["tyre_id"] = name if seen[name] == 1 else f"{name}-{seen[name]}"
    if filled:
        how = "named after their marks" if marked else f"numbered T01 to T{len(filled):02d}"
        notes.append(f"No names of tyres given: {how}.")


def _depths_when_new(rows: Sequence[dict[str, str]], notes: list[str]) -> None:
    """Take the depth when new from the new tyres of the same kind where it is not given."""
    known: dict[tuple[str, ...], str] = {}
    for row in rows:
        if row.get("tread_new_mm"):
            known.setdefault(_kind(row), row["tread_new_mm"])
    for row in rows:
        depths = [d for p in ("in", "mid", "out") if (d := row.get(f"tread_{p}_mm", ""))]
        if row.get("condition", "").lower() == "new" and depths:
            try:
                known.setdefault(_kind(row), max(depths, key=float))
            except ValueError:
                continue
    guessed: dict[str, None] = {}
    for row in rows:
        if row.get("tread_new_mm") or not row.get("model") or _kind(row) not in known:
            continue
        row["tread_new_mm"] = known[_kind(row)]
        guessed[" ".join((*_kind(row), row["tread_new_mm"], "mm"))] = None
    if guessed:
        notes.append(f"Depth when new taken from tyres of the same kind: {', '.join(guessed)}.")


def _kind(row: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(row.get(name, "") for name in ("maker", "model", "compound"))


def _weather(rows: list[dict[str, str]], notes: list[str], first_day: date | None) -> None:
    """Fill a forecast of a few hours: its day, its source, and the hour it was issued."""
    filled: set[str] = set()
    site = next((name for row in rows if (name := row.get("site"))), SITE)
    for row in rows:
        if not row.get("time"):
            continue
        clock = read_clock(row["time"])
        if clock is not None and clock.day is None and first_day is not None:
            row["time"] = f"{first_day.isoformat()} {row['time']}"
            filled.add("time")
        for column, word in (("source", "forecast"), ("site", site)):
            if not row.get(column):
                row[column] = word
                filled.add(column)
    times = [t for row in rows if (t := row.get("time", "")) and _has_day(t)]
    for row in rows:
        if row.get("source") == "forecast" and not row.get("issued") and times:
            # Before the first call of its day, which may lie before its first hour.
            row["issued"] = f"{min(times).split()[0]} 00:00"
            filled.add("issued")
    if filled:
        notes.append(
            f"Not given and taken: {', '.join(sorted(filled))}. A row without a source is a "
            "forecast, issued at the beginning of its first day."
        )
