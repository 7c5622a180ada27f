"""Bringing tables in: what was understood, in plain lines, and the last handover there is."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Final

from crewdesk.documents.faults import Findings
from crewdesk.documents.handover_read import HANDOVER_FILE, handover_from_text
from crewdesk.documents.import_headings import Kind
from crewdesk.documents.importing import (
    KINDS,
    Imported,
    event_texts,
    fault_lines,
    faults_in,
    import_table,
    write_table,
)
from crewdesk.documents.learnt import LEARNT_FILE, learnt_text_in_handover
from crewdesk.documents.store import check_texts
from crewdesk.documents.writer import write_atomic

__all__ = ["KINDS", "FoundHandover", "Kind", "bring_in", "last_handovers", "preview_lines"]

SHOWN_ROWS: Final = 6
_CELL: Final = 22
_WIDTH: Final = 96
_FIRST: Final[dict[str, tuple[str, ...]]] = {
    "itinerary": ("leg", "ref", "kind", "ss_km", "liaison_km", "target_min", "first_car_due",
                  "surface", "tyre_change"),
    "stock": ("tyre_id", "compound", "use", "size", "rim_id", "tread_new_mm", "tread_in_mm",
              "tread_mid_mm", "tread_out_mm"),
    "weather": ("time", "site", "source", "air_c", "road_c", "rain_mm_h", "cloud_pct"),
}  # fmt: skip


@dataclass(frozen=True)
class FoundHandover:
    """A handover of an earlier event that lies in the crew's folders."""

    path: Path
    event: str
    last_day: date
    tyres: int


def bring_in(
    kind: Kind, source: Path, folder: Path, *, first_day: date | None, look: bool
) -> tuple[list[str], list[str]]:
    """Bring a table into an event, or only look at it; return preview and fault lines.

    Raises
    ------
    DocumentError
        Where the file cannot be read or the folder refuses.
    """
    imported = import_table(kind, source, first_day=first_day)
    texts = event_texts(folder)
    faults = faults_in(imported, check_texts({**texts, imported.file: imported.text}))
    lines = preview_lines(kind, source.name, imported)
    if faults:
        words = fault_lines(source.name, imported, faults)
        if first_day is None and any("no date" in fault.what for fault in faults):
            words.append("Or name the day of the first leg: --first-day 2026-05-16.")
        return lines, [*words, "Nothing was changed."]
    if look:
        return [*lines, "No fault found. Nothing was changed."], []
    had = (folder / f"{kind}.csv").is_file()
    write_table(imported, folder, texts)
    lines.append(f"Written: {folder / imported.file}.")
    if had:
        lines.append(f"The table that was there is kept as {kind}.before.csv.")
    learnt = _learnt_in(source) if kind == "stock" else None
    if learnt is not None:
        write_atomic(folder / LEARNT_FILE, learnt)
        lines.append(f"What was learnt there is the starting value here: {LEARNT_FILE}.")
    lines.append("A day book that is open already keeps the copy it was opened with.")
    return lines, []


def _learnt_in(source: Path) -> str | None:
    """Return what a handover has learnt, as the text of its file; None for any other file."""
    if source.suffix.lower() != ".json":
        return None
    return learnt_text_in_handover(source.read_text(encoding="utf-8-sig"))


def preview_lines(kind: Kind, source: str, imported: Imported) -> list[str]:
    """Return what was understood of a table, in plain lines."""
    rows = imported.rows
    lines = [f"{source}: {kind}, {len(rows)} {'row' if len(rows) == 1 else 'rows'}."]
    if imported.read_as:
        lines.append(f"Headings: {'; '.join(imported.read_as)}.")
    lines += [f"note: {note}" for note in imported.notes]
    return [*lines, *_table(kind, imported)]


def _table(kind: Kind, imported: Imported) -> list[str]:
    """Return the first and the last rows in columns that fit a terminal."""
    rows = imported.rows
    if not rows:
        return []
    half = SHOWN_ROWS // 2
    few = [*rows[:half], *rows[-half:]] if len(rows) > SHOWN_ROWS else list(rows)
    shown = [name for name in _FIRST[kind] if any(row.get(name) for row in few)]
    cells = [[row.get(name, "")[:_CELL] for name in shown] for row in few]
    widths = [max(len(c) for c in column) for column in zip(shown, *cells, strict=True)]
    while sum(widths) + 2 * len(widths) > _WIDTH:
        widths.pop()
    made = [_line(shown, widths), *(_line(line, widths) for line in cells)]
    if len(rows) > SHOWN_ROWS:
        made.insert(1 + half, f"  ... {len(rows) - len(few)} more ...")
    return made


def _line(cells: Sequence[str], widths: Sequence[int]) -> str:
    pairs = zip(cells, widths, strict=False)
    return ("  " + "  ".join(cell.ljust(width) for cell, width in pairs)).rstrip()


def last_handovers(*roots: Path) -> tuple[FoundHandover, ...]:
    """Return the handovers under these folders, the latest event first.

    A handover lies in ``handovers`` of the data folder or among the papers of its event;
    one that cannot be read is left out here and told when it is chosen by name.
    """
    found: dict[Path, FoundHandover] = {}
    for root in roots:
        for pattern in (f"handovers/**/{HANDOVER_FILE}", f"*/handover/{HANDOVER_FILE}"):
            for path in _paths(root, pattern):
                one = _read(path)
                if one is not None:
                    found[path.resolve()] = one
    order = sorted(found.values(), key=lambda f: (f.last_day, f.event), reverse=True)
    return tuple(order)


def _paths(root: Path, pattern: str) -> list[Path]:
    try:
        return sorted(root.glob(pattern))
    except OSError:
        return []


def _read(path: Path) -> FoundHandover | None:
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        return None
    handover = handover_from_text(path.name, text, Findings())
    if handover is None:
        return None
    return FoundHandover(path, handover.event, handover.last_day, len(handover.tyres))
