"""The day book as lines to read, and what a look over it found."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from crewdesk.desk.case import local
from crewdesk.desk.day import Day, user_data_dir
from crewdesk.desk.resolve import undone_ids
from crewdesk.documents.store import load_event
from crewdesk.errors import JournalError
from crewdesk.journal.book import default_book_path, verify
from crewdesk.journal.entries import AnyEntry
from crewdesk.units import PLACES


def book_lines(day: Day) -> list[str]:
    """Return one line for each entry, in the order of the book, event-local times."""
    dead = undone_ids(day.entries)
    lines = [f"{day.bundle.event.name}: {day.book_path}"]
    for entry in day.entries:
        at = local(day.bundle, entry.happened_utc)
        gone = "  (taken back)" if entry.id in dead else ""
        kind = entry.kind.replace("_", " ")
        lines.append(
            f"{entry.seq:>4}  {at:%d.%m. %H:%M}  {kind:<18} {summary(entry.body)}{gone}"
        )
    if len(lines) == 1:
        lines.append("No entry yet.")
    return lines


def summary(body: AnyEntry) -> str:
    """Return what an entry says in a few words."""
    raw = body.model_dump(exclude_defaults=True, exclude={"kind", "at", "by", "note"})
    if body.kind == "documents_opened":
        return ", ".join(sorted(raw.get("files", {})))
    words = [_word(name, value) for name, value in raw.items()]
    text = ", ".join(word for word in words if word)
    note = f" ({body.note})" if body.note else ""
    return f"{text}{note}"


def _word(name: str, value: Any) -> str:
    if name in ("place", "stage", "tyre_id", "ref", "text", "where") and isinstance(value, str):
        return value
    if isinstance(value, Mapping):
        if set(value) <= set(PLACES):
            inner = " ".join(f"{place} {value[place]}" for place in PLACES if value.get(place))
        else:
            inner = ", ".join(f"{key} {one}" for key, one in value.items())
        return inner if name == "fitting" else f"{name.replace('_', ' ')}: {inner}"
    if isinstance(value, (list, tuple)):
        value = " ".join(str(one) for one in value)
    return f"{name.replace('_', ' ')} {value}"


def verify_lines(event: Path, book: Path | None) -> tuple[list[str], bool]:
    """Return what a look over the book found, and whether it is sound.

    Raises
    ------
    JournalError
        Where there is no book.
    """
    path = book
    if path is None:
        path = default_book_path(load_event(event).event.event_id, user_data_dir())
    if not path.exists():
        raise JournalError(f"There is no day book {path}.", hint="Nothing was entered yet.")
    report = verify(path)
    if report.ok:
        return [f"{path}: {report.entries} entries, no fault found."], True
    return [f"{path}: {fault}" for fault in report.faults], False
