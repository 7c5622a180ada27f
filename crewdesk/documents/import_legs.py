"""Legs of an itinerary that somebody else wrote: title rows, comments, a night in between."""

import re
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Final

from crewdesk.documents.faults import quoted
from crewdesk.documents.times import read_clock

_TITLE: Final = re.compile(r"(leg|day|section)\s*(?:no\.?\s*)?(\d{1,2})\b", re.IGNORECASE)
_SERVICE: Final = re.compile(r"(?:flexi[ -]?)?service\s+([A-Z])\b", re.IGNORECASE)
_ISO: Final = re.compile(r"\b(\d{4})-(\d{1,2})-(\d{1,2})\b")
_DAY_FIRST: Final = re.compile(r"\b(\d{1,2})[./](\d{1,2})[./](\d{4})\b")
_WRITTEN: Final = re.compile(r"\b(\d{1,2})(?:st|nd|rd|th)?\s+([a-z]{3})[a-z]*\.?,?\s+(\d{4})\b")
_MONTHS: Final = (
    "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec",
)  # fmt: skip
_NIGHT_MIN: Final = 240
"""A wait over midnight longer than this is the night between two legs; tuning value."""


def with_references(
    rows: Sequence[tuple[int, dict[str, str]]], comments: list[str], notes: list[str]
) -> list[tuple[int, dict[str, str]]]:
    """Fill legs and sections down; a row without a reference becomes a comment.

    A title between the rows, as "Leg 2 - Sunday 13 June 2027", begins a leg (and gives its
    day) or a section.
    """
    kept: list[tuple[int, dict[str, str]]] = []
    last = {"leg": "", "section": ""}
    day: date | None = None
    inside: dict[str, str] = {}
    for line, row in rows:
        words = " ".join(" ".join(v for k, v in row.items() if v and k not in last).split())
        title = _TITLE.match(words) if _only_words(row) else None
        if title:
            name = "section" if title[1].lower() == "section" else "leg"
            last[name] = title[2]
            day = _day_in(words) or day
            comments.append(f"# row {line}: {words}")
            notes.append(f"Row {line} begins {name} {title[2]}: {quoted(words)}.")
            continue
        for name in last:
            row[name] = last[name] = row.get(name) or last[name]
        if not row.get("ref"):
            letter = _SERVICE.match(row.get("name", "") or words)
            if letter and kept and "service" in kept[-1][1].get("name", "").lower():
                # Between its IN and its OUT a printed itinerary names the service itself.
                kept[-1][1].setdefault("service", letter[1].upper())
                inside = {"service": letter[1].upper(), "target_min": row.get("target_min", "")}
            comments.append(f"# row {line}: {words}")
            said = "names the service" if inside else "has no reference; kept as a comment"
            notes.append(f"Row {line} {said}: {quoted(words)}.")
            continue
        for name, text in inside.items():
            if text and not row.get(name):
                row[name] = text
        inside = {}
        clock = read_clock(row.get("first_car_due", ""))
        if clock is not None and day is not None:
            if clock.day is None:
                row["first_car_due"] = f"{day.isoformat()} {row['first_car_due']}"
            day = None
        kept.append((line, row))
    return kept


def _only_words(row: Mapping[str, str]) -> bool:
    return not any(
        row.get(name)
        for name in ("ss_km", "liaison_km", "total_km", "target_min", "first_car_due")
    )


def _day_in(words: str) -> date | None:
    """Return the day that a title names with its year.

    >>> _day_in("Leg 2 - Sunday 13 June 2027"), _day_in("Leg 2, 13 June")
    (datetime.date(2027, 6, 13), None)
    """
    iso, dotted = _ISO.search(words), _DAY_FIRST.search(words)
    written = _WRITTEN.search(words.lower())
    try:
        if iso:
            return date(int(iso[1]), int(iso[2]), int(iso[3]))
        if dotted:
            return date(int(dotted[3]), int(dotted[2]), int(dotted[1]))
        if written and written[2] in _MONTHS:
            return date(int(written[3]), _MONTHS.index(written[2]) + 1, int(written[1]))
    except ValueError:
        return None
    return None


def begin_legs(rows: Sequence[dict[str, str]], notes: list[str]) -> None:
    """Tell the legs apart by the nights between them where the table names none."""
    if any(row.get("leg") for row in rows):
        return
    leg, before = 1, -1
    begun: list[str] = []
    for row in rows:
        clock = read_clock(row.get("first_car_due", ""))
        if clock is not None and clock.day is None:
            now = clock.at.hour * 60 + clock.at.minute
            if now < before and now + 1440 - before > _NIGHT_MIN:
                leg += 1
                begun.append(f"leg {leg} at {row.get('ref') or 'a row without reference'}")
            before = now
        elif clock is not None:
            return
        if any(row.values()):
            row["leg"] = str(leg)
    if begun:
        notes.append(f"A night lies between the times, so taken as begun: {', '.join(begun)}.")
