"""CSV tables: text to rows, with comments, unknown columns and every fault kept."""

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from crewdesk.documents.faults import Fault, Findings, quoted

MAX_BYTES = 4_000_000
"""Largest table that is read; the biggest real one is a hundredth of it."""
MAX_COLUMNS = 200
MAX_BROKEN_ROWS = 40
"""Rows that do not fit the heading are named one by one up to here."""
_UTF16 = (b"\xff\xfe", b"\xfe\xff")


@dataclass(frozen=True)
class TableRow:
    """One line: its number in the file and its cells by column."""

    line: int
    cells: Mapping[str, str]

    @property
    def where(self) -> str:
        """Return the row as the crew finds it in the file."""
        return f"row {self.line}"


@dataclass(frozen=True)
class Table:
    """A table as read; ``layout`` remembers comments and their places."""

    file: str
    columns: tuple[str, ...]
    rows: tuple[TableRow, ...]
    comments: tuple[str, ...]
    unknown: tuple[str, ...] = ()


def decode(file: str, data: bytes, found: Findings) -> str | None:
    """Return the text of a file, or None with a fault where it is no UTF-8 text."""
    if len(data) > MAX_BYTES:
        found.fault(
            file,
            f"The file holds {len(data) / 1e6:.1f} MB; "
            f"no file of an event is larger than {MAX_BYTES / 1e6:.0f} MB.",
            "It is probably another file under this name.",
        )
        return None
    if data.startswith(b"PK\x03\x04"):
        found.fault(
            file,
            "This is a spreadsheet file, not a table in text.",
            "Save it as CSV UTF-8, or bring it in with import.",
        )
        return None
    if data.startswith(_UTF16):
        found.fault(file, "The text is UTF-16.", "Save the file as UTF-8.")
        return None
    if b"\x00" in data:
        found.fault(file, "This is not a text file.", "Put the right file under this name.")
        return None
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        found.fault(
            file,
            "A letter here is not UTF-8.",
            "Save the file as UTF-8 (in a spreadsheet: CSV UTF-8).",
            where=f"row {line}",
        )
        return None


def whole_lines(text: str) -> Iterator[tuple[int, str, bool]]:
    """Yield first line number, text, and whether its quotation marks are closed.

    A quoted cell may hold line breaks; a comment never does.
    """
    start, parts, is_open = 0, list[str](), False
    for number, line in enumerate(io.StringIO(text, newline=""), start=1):
        if not is_open:
            start, parts = number, []
            if is_comment(line):
                yield number, line, True
                continue
        parts.append(line)
        is_open ^= line.count('"') % 2 == 1
        if not is_open:
            yield start, "".join(parts), True
    if is_open:
        yield start, "".join(parts), False


def is_comment(line: str) -> bool:
    """Return whether a line is a comment."""
    return line.lstrip().startswith("#")


def is_blank(line: str) -> bool:
    """Return whether a line holds nothing but commas."""
    return not line.strip(" \t\r\n,")


def _cells(line: str) -> list[str] | None:
    try:
        rows = list(csv.reader(io.StringIO(line, newline="")))
    except csv.Error:
        return None
    return [cell.strip() for cell in rows[0]] if rows else []


def _unsplit(file: str, number: int, *, closed: bool) -> Fault:
    if closed:
        what, hint = "A cell is far too long.", "It is probably another file under this name."
    else:
        what = "The row cannot be split into cells."
        hint = "Look for a quotation mark that is opened and never closed."
    return Fault(file, what, hint, where=f"row {number}")


def _few_of(file: str, broken: Sequence[Fault]) -> list[Fault]:
    """Return the faults, those beyond a page of them as one that counts the rest."""
    if len(broken) <= MAX_BROKEN_ROWS:
        return list(broken)
    rest = broken[MAX_BROKEN_ROWS:]
    return [
        *broken[:MAX_BROKEN_ROWS],
        Fault(
            file,
            f"{len(rest)} more rows do not fit the heading, {rest[0].where} to "
            f"{rest[-1].where}.",
            "It is probably another file under this name.",
            where=rest[0].where,
        ),
    ]


def read_table(
    file: str,
    text: str,
    known: Sequence[str],
    needed: Sequence[str],
    found: Findings,
    renames: Mapping[str, str] | None = None,
) -> Table | None:
    """Return the table of a text, or None where nothing in it can be judged.

    Parameters
    ----------
    known : sequence of str
        Columns the program understands; others are kept and named in a note.
    needed : sequence of str
        Columns that must be there.
    renames : mapping, optional
        Other heading words that mean one of ours, in small letters.
    """
    if not _is_table_text(file, text, found):
        return None
    comments: list[str] = []
    columns: tuple[str, ...] = ()
    rows: list[TableRow] = []
    broken: list[Fault] = []
    for number, line, closed in whole_lines(text.removeprefix("\ufeff")):
        if is_comment(line):
            comments.append(line.strip())
            continue
        if is_blank(line):
            continue
        cells = _cells(line) if closed else None
        if cells is None:
            broken.append(_unsplit(file, number, closed=closed))
        elif not columns:
            columns = _heading(file, line, cells, known, needed, found, renames or {})
        else:
            row = _row(file, number, cells, columns)
            if isinstance(row, TableRow):
                rows.append(row)
            else:
                broken.append(row)
        if not columns:
            found.faults += broken
            return None
    found.faults += _few_of(file, broken)
    if not columns:
        found.fault(
            file, "The file is empty.", f"Its first line names the columns: {_few(known)}"
        )
        return None
    unknown = tuple(name for name in columns if name not in known)
    if unknown:
        found.note(f"{file}: kept without using it: {', '.join(quoted(u) for u in unknown)}.")
    return Table(file, columns, tuple(rows), tuple(comments), unknown)


def _is_table_text(file: str, text: str, found: Findings) -> bool:
    if len(text) > MAX_BYTES:
        found.fault(
            file,
            f"The file holds {len(text) / 1e6:.1f} million letters; "
            f"no table of an event is larger than {MAX_BYTES / 1e6:.0f}.",
            "It is probably another file under this name.",
        )
        return False
    if "\x00" in text:
        found.fault(file, "This is not a text file.", "Put the right file under this name.")
        return False
    return True


def _few(known: Sequence[str]) -> str:
    return ", ".join(known[:6]) + (" and others." if len(known) > 6 else ".")


def _heading(
    file: str,
    line: str,
    cells: list[str],
    known: Sequence[str],
    needed: Sequence[str],
    found: Findings,
    renames: Mapping[str, str],
) -> tuple[str, ...]:
    """Return the columns, or () after the fault that makes the rest unreadable."""
    if len(cells) > MAX_COLUMNS:
        found.fault(
            file, f"The first line holds {len(cells)} cells.", f"Columns are {_few(known)}"
        )
        return ()
    words = [cell.lower() for cell in cells]
    names = tuple(
        name if name in known else renames.get(name, cell)
        for name, cell in zip(words, cells, strict=True)
    )
    if not set(names) & set(known):
        for sign, word in ((";", "semicolons"), ("\t", "tabs")):
            parts = {part.strip(' "').lower() for part in line.split(sign)}
            if parts & set(known):
                found.fault(
                    file,
                    f"The cells are separated by {word}.",
                    "Save the table as CSV with commas (in a spreadsheet: CSV UTF-8, "
                    "comma delimited) and points in the numbers.",
                    where="row 1",
                )
                return ()
        found.fault(
            file,
            f"No column is known; the first line reads {quoted(line.strip())}.",
            f"Columns are {_few(known)}",
            where="row 1",
        )
        return ()
    doubles = sorted({name for name in names if name and names.count(name) > 1})
    for name in doubles:
        found.fault(
            file,
            f"The column {quoted(name)} comes twice.",
            "Keep one of the two.",
            where="row 1",
        )
    missing = [name for name in needed if name not in names]
    if missing:
        found.fault(
            file,
            f"The {'column' if len(missing) == 1 else 'columns'} {', '.join(missing)} "
            f"{'is' if len(missing) == 1 else 'are'} missing.",
            "Add it, with empty cells where nothing is known."
            if len(missing) == 1
            else "Add them, with empty cells where nothing is known.",
            where="row 1",
        )
    return () if doubles or missing else names


def _row(
    file: str, number: int, cells: list[str], columns: tuple[str, ...]
) -> TableRow | Fault:
    where = f"row {number}"
    if len(cells) < len(columns):
        return Fault(
            file,
            f"The row ends after {len(cells)} of {len(columns)} cells.",
            "Complete it; an unknown cell stays empty between its commas.",
            where=where,
            value=",".join(cells),
        )
    if any(cells[len(columns) :]):
        return Fault(
            file,
            f"The row has {len(cells)} cells, the heading {len(columns)}.",
            "Numbers take a point (9.5, not 9,5); "
            "a text with a comma stands in quotation marks.",
            where=where,
            value=",".join(cells),
        )
    return TableRow(number, {c: v for c, v in zip(columns, cells, strict=False) if c or v})
