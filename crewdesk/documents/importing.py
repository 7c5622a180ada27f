"""Tables as other people write them (CSV or spreadsheet) to the tables of an event."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Final

from crewdesk.documents.faults import SHOWN, CheckReport, Findings, error_from, quoted
from crewdesk.documents.handover_read import HANDOVER_FILE, stock_from_text
from crewdesk.documents.import_grid import grid_of
from crewdesk.documents.import_headings import (
    ALL_TREADS,
    GRAVEL_KM,
    PERCENT,
    Heading,
    Kind,
    columns_of,
    find_heading,
)
from crewdesk.documents.import_legs import with_references
from crewdesk.documents.import_rows import completed
from crewdesk.documents.import_values import Values
from crewdesk.documents.spreadsheet import Cell, number_text
from crewdesk.documents.store import check_texts, read_texts
from crewdesk.documents.tables import decode
from crewdesk.documents.writer import table_text, write_atomic
from crewdesk.errors import DocumentError

KINDS: Final[tuple[Kind, ...]] = ("itinerary", "stock", "weather")
_ROW = re.compile(r"row (\d+)")
_ROWS_NAMED = re.compile(r"\brows \d+ and \d+")


@dataclass(frozen=True)
class Imported:
    """A table in our own layout, with what was decided on the way."""

    file: str
    text: str
    notes: tuple[str, ...]
    headings: tuple[Heading, ...] = ()
    columns: tuple[str, ...] = ()
    """Ours, then those that are kept without using them."""
    rows: tuple[Mapping[str, str], ...] = ()
    comments: tuple[str, ...] = ()
    lines: tuple[int, ...] = ()
    """By row: its number in the file it came from; empty where the rows were typed."""
    headed: bool = True
    """Whether the table had a heading of its own."""

    @property
    def read_as(self) -> tuple[str, ...]:
        """Return in words which headings were read as which columns."""
        return tuple(dict.fromkeys(one.said for one in self.headings if one.said))


@dataclass(frozen=True)
class CellFault:
    """A fault of a table with its place in it."""

    row: int | None
    """Index among the rows; None: of the table as a whole."""
    column: str
    """Empty: of the row as a whole."""
    what: str
    hint: str


def import_into(
    kind: Kind, source: Path, folder: Path, *, first_day: date | None = None
) -> Imported:
    """Bring a table into an event's folder; the file it takes the place of is kept beside.

    Raises
    ------
    DocumentError
        Where the table has faults or the folder refuses; nothing is changed then.
    """
    imported = import_table(kind, source, first_day=first_day)
    texts = event_texts(folder)
    faults = faults_in(imported, check_texts({**texts, imported.file: imported.text}))
    if faults:
        words = fault_lines(source.name, imported, faults)
        more = [f"... and {len(words) - SHOWN} more."] if len(words) > SHOWN else []
        raise DocumentError(
            f"{source.name} cannot be brought in:\n" + "\n".join([*words[:SHOWN], *more]),
            hint="Nothing was changed.",
        )
    write_table(imported, folder, texts)
    return imported


def write_table(imported: Imported, folder: Path, texts: Mapping[str, str]) -> None:
    """Write a table into an event's folder; the one it takes the place of is kept beside.

    Raises
    ------
    DocumentError
        Where the folder refuses; nothing is changed then.
    """
    old = folder / imported.file
    if old.is_file():
        if imported.file not in texts:
            raise DocumentError(f"{old} cannot be read.", hint="Move it away first.")
        write_atomic(old.with_name(f"{old.stem}.before{old.suffix}"), texts[imported.file])
    write_atomic(old, imported.text)


def fault_lines(name: str, imported: Imported, faults: Iterable["CellFault"]) -> list[str]:
    """Return faults in words, each with its place in the file that it came from."""
    lines = []
    for fault in faults:
        place = name
        if fault.row is not None:
            at = imported.lines[fault.row] if imported.lines else fault.row + 1
            place = f"{name} row {at}"
        lines.append(
            f"{place}{f', {fault.column}' if fault.column else ''}: "
            f"{fault.what} {fault.hint}".strip()
        )
    return lines


def event_texts(folder: Path) -> dict[str, str]:
    """Return the texts of an event's folder, whatever stands in them.

    Raises
    ------
    DocumentError
        Where there is no such folder.
    """
    found = Findings()
    texts = read_texts(folder, found)
    if texts is None:
        raise error_from(found.faults, str(folder))
    return texts


def import_table(kind: Kind, source: Path, *, first_day: date | None = None) -> Imported:
    """Return a foreign table in our own layout.

    Raises
    ------
    DocumentError
        Where the file cannot be read or no heading is known.
    """
    try:
        data = source.read_bytes()
    except OSError as error:
        raise DocumentError(
            f"{source} cannot be read ({(error.strerror or 'no reason given').lower()}).",
            hint="Look at the name and its permissions.",
        ) from error
    return import_bytes(kind, source.name, data, first_day=first_day)


def import_bytes(
    kind: Kind,
    name: str,
    data: bytes,
    *,
    first_day: date | None = None,
    columns: Sequence[str] = (),
) -> Imported:
    """Return a foreign table, or what was pasted from one, in our own layout.

    Parameters
    ----------
    name : str
        What it is called in messages.
    first_day : date, optional
        Day of the first leg, for times that have no date.
    columns : sequence of str
        Our columns in the order of the cells where the text has no heading.

    Raises
    ------
    DocumentError
        Where it cannot be read or no heading is known.
    """
    comments: list[str] = []
    notes: list[str] = []
    if kind == "stock" and data.lstrip()[:1] == b"{":
        data = _of_handover(name, data, notes)
    grid = grid_of(name, data, kind, comments, notes)
    start, headings = _heading(name, grid, kind, columns)
    for line, cells in enumerate(grid[: max(start, 0)], start=1):
        words = " ".join(str(cell) for cell in cells if cell != "")
        if words:
            comments.append(f"# row {line}: {words}")
            notes.append(f"Row {line} stands above the heading; kept as a comment.")
    width = max((len(cells) for cells in grid), default=0)
    headings += tuple(Heading(f"column {n + 1}", "") for n in range(len(headings), width))
    values = Values()
    rows: list[tuple[int, dict[str, str]]] = []
    for line, cells in enumerate(grid[start + 1 :], start=start + 2):
        if any(cell != "" for cell in cells):
            rows.append((line, _cells(headings, cells, values)))
    used = {name for _line, row in rows for name, cell in row.items() if cell}
    unknown = _unknown(headings, used, columns_of(kind))
    if kind == "itinerary":
        rows = with_references(rows, comments, notes)
    kept = completed(kind, [row for _line, row in rows], notes, first_day=first_day)
    notes += values.notes()
    if unknown:
        shown = ", ".join(quoted(one) for one in unknown)
        notes.append(f"Kept without using it: {shown}.")
    names = (*columns_of(kind), *unknown)
    return Imported(
        file=f"{kind}.csv",
        text=table_text(names, kept, comments),
        notes=tuple(notes),
        headings=tuple(one for one in headings if one.column or one.written in used),
        columns=names,
        rows=tuple(kept),
        comments=tuple(comments),
        lines=tuple(line for line, _row in rows),
        headed=start >= 0,
    )


def made_of(
    kind: Kind,
    rows: Iterable[Mapping[str, str]],
    *,
    columns: Sequence[str] = (),
    comments: Sequence[str] = (),
    first_day: date | None = None,
) -> Imported:
    """Return typed rows as a table of ours; every row is kept in its place."""
    notes: list[str] = []
    given = completed(kind, [dict(row) for row in rows], notes, first_day=first_day)
    names = tuple(dict.fromkeys((*columns_of(kind), *columns)))
    return Imported(
        file=f"{kind}.csv",
        text=table_text(names, given, comments),
        notes=tuple(notes),
        columns=names,
        rows=tuple(given),
        comments=tuple(comments),
    )


def faults_in(imported: Imported, report: CheckReport) -> tuple[CellFault, ...]:
    """Return the faults that a check found in a table, each at its row and column."""
    before = len(imported.comments) + 2
    made = []
    for fault in report.faults:
        if fault.file != imported.file:
            continue
        row = _ROW.fullmatch(fault.where)
        at = int(row[1]) - before if row else -1
        index = at if 0 <= at < len(imported.rows) else None
        what = _ROWS_NAMED.sub(lambda m: _with_own_rows(m[0], imported, before), fault.what)
        made.append(CellFault(index, fault.column, what, fault.hint))
    return tuple(made)


def _with_own_rows(words: str, imported: Imported, before: int) -> str:
    """Return words that name rows of our file with the rows that the crew sees."""

    def seen(match: re.Match[str]) -> str:
        at = int(match[0]) - before
        if not 0 <= at < len(imported.rows):
            return match[0]
        return str(imported.lines[at] if imported.lines else at + 1)

    return re.sub(r"\d+", seen, words)


def _of_handover(name: str, data: bytes, notes: list[str]) -> bytes:
    """Return the stock table that a handover stands for."""
    found = Findings()
    text = decode(name, data, found)
    table = stock_from_text(text, found) if text is not None else None
    if table is None:
        raise error_from(found.faults, name)
    notes += [note.replace(HANDOVER_FILE, name) for note in found.notes]
    return table.encode()


def _heading(
    name: str, grid: Sequence[Sequence[Cell]], kind: str, columns: Sequence[str]
) -> tuple[int, tuple[Heading, ...]]:
    """Return the row of the heading (-1: none, the columns serve) and its meaning."""
    found = find_heading(grid, kind)
    if found is not None:
        return found
    if columns and any(any(cell != "" for cell in row) for row in grid):
        return -1, tuple(Heading(column, column) for column in columns)
    raise DocumentError(
        f"{name} has no heading of {kind} columns in its first 50 rows.",
        hint=f"Known: {', '.join(columns_of(kind)[:8])} and others.",
    )


def _cells(
    headings: Sequence[Heading], cells: Sequence[Cell], values: Values
) -> dict[str, str]:
    """Return the cells of a row by column; a second filled one of a column is kept apart."""
    row: dict[str, str] = {}
    for heading, cell in zip(headings, cells, strict=False):
        text = values.text(heading.column, cell, heading.unit)
        if not text:
            continue
        name = heading.column or heading.written
        if not row.get(name):
            row[name] = text
        elif row[name] != text:
            row[heading.written if heading.written not in row else f"{name} again"] = text
    share = row.pop(PERCENT, "")
    gravel_km = row.pop(GRAVEL_KM, "")
    try:
        if share:
            row["gravel_share"] = number_text(float(share) / 100)
        elif gravel_km:
            row["gravel_share"] = number_text(round(float(gravel_km) / float(row["ss_km"]), 2))
    except (ValueError, KeyError, ZeroDivisionError):
        row["gravel_share"] = share or gravel_km
    depth = row.pop(ALL_TREADS, "")
    for part in ("in", "mid", "out") if depth else ():
        row.setdefault(f"tread_{part}_mm", depth)
    return row


def _unknown(
    headings: Sequence[Heading], used: set[str], known: Sequence[str]
) -> tuple[str, ...]:
    """Return the columns that are kept without using them, in the order of the table."""
    order = [one.written for one in headings]
    extra = sorted(used - set(known) - set(order))
    return tuple(dict.fromkeys([n for n in order if n in used and n not in known] + extra))
