"""Cells of a table that somebody else wrote: its letters, its sheet, the sign between cells."""

import csv
import io
from typing import Final

from crewdesk.documents.faults import Findings, error_from, quoted
from crewdesk.documents.import_headings import find_heading, heading_of
from crewdesk.documents.spreadsheet import Cell, read_sheet, sheet_names
from crewdesk.documents.tables import decode
from crewdesk.errors import DocumentError

_OLD_BOOK: Final = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
"""First bytes of a compound file, as spreadsheets before XLSX are ([MS-CFB] 2.2)."""
_LOOKED_AT: Final = 50


def grid_of(
    name: str, data: bytes, kind: str, comments: list[str], notes: list[str]
) -> list[list[Cell]]:
    """Return the cells of a table; comments and what had to be decided go into the lists.

    Raises
    ------
    DocumentError
        Where it cannot be read, or holds nothing.
    """
    if data.startswith(b"PK\x03\x04"):
        grid = _of_book(name, data, kind, notes)
    elif data.startswith(_OLD_BOOK):
        raise DocumentError(
            f"{name} is a spreadsheet of the old kind (XLS).", hint="Save it as XLSX or CSV."
        )
    else:
        grid = _of_text(name, data, kind, comments, notes)
    if not any(cell != "" for row in grid for cell in row):
        raise DocumentError(f"{name} is empty.", hint=f"Choose the file with the {kind}.")
    return grid


def _of_book(name: str, data: bytes, kind: str, notes: list[str]) -> list[list[Cell]]:
    """Return the sheet named after the table, else the first one that has its heading."""
    sheets = sheet_names(name, data)
    named = [sheet for sheet in sheets if sheet.strip().lower() == kind]
    taken, grid = sheets[0], read_sheet(name, data, sheets[0])
    for sheet in named or sheets:
        rows = read_sheet(name, data, sheet)
        if named or find_heading(rows, kind) is not None:
            taken, grid = sheet, rows
            break
    if len(sheets) > 1:
        rest = ", ".join(quoted(sheet) for sheet in sheets if sheet != taken)
        notes.append(f"Sheet {quoted(taken)} read; not read: {rest}.")
    return grid


def _of_text(
    name: str, data: bytes, kind: str, comments: list[str], notes: list[str]
) -> list[list[Cell]]:
    text = _letters(name, data, notes)
    lines = text.splitlines(keepends=True)
    comments += [line.strip() for line in lines if line.lstrip().startswith("#")]
    body = "".join("\n" if line.lstrip().startswith("#") else line for line in lines)
    sign = max(("\t", ";", ","), key=lambda sign: _hits(lines, sign, kind))
    reader = csv.reader(io.StringIO(body, newline=""), delimiter=sign, strict=True)
    read: list[list[str]] = []
    whole = 0
    try:
        for row in reader:
            read.append(row)
            whole = reader.line_num
    except csv.Error as error:
        raise DocumentError(
            f"{name} row {whole + 1} cannot be split into cells.",
            hint="Look for a quotation mark that is opened there and not closed.",
        ) from error
    width = max((len(row) for row in read), default=0)
    filled = [row for row in read if any(cell.strip() for cell in row)]
    if len(filled) > 2 and len(filled[-1]) < width and {len(r) for r in filled[:-1]} == {width}:
        notes.append(
            f"The last row has {len(filled[-1])} cells, all others have {width}: "
            "look whether the file is cut off."
        )
    return [[" ".join(cell.split()) for cell in row] for row in read]


def _letters(name: str, data: bytes, notes: list[str]) -> str:
    """Return the text; a spreadsheet's own ways of saving one are understood and told."""
    found = Findings()
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        try:
            data = data.decode("utf-16").encode()
            notes.append("The text was UTF-16.")
        except UnicodeDecodeError:
            pass
    text = decode(name, data, found)
    if text is not None:
        return text
    try:
        # In windows-1252 five bytes stand for no letter, so that other files are refused.
        text = data.decode("cp1252")
    except UnicodeDecodeError:
        text = None
    if text is None or not all("not UTF-8" in fault.what for fault in found.faults):
        raise error_from(found.faults, name)
    other = dict.fromkeys(sign for sign in text if ord(sign) > 127)
    notes.append(
        f"The text was not UTF-8; its letters were read as windows-1252: {' '.join(other)}"
    )
    return text


def _hits(lines: list[str], sign: str, kind: str) -> tuple[int, int]:
    words = max(
        (
            sum(
                bool(heading_of(part.strip(' "\r\n'), kind).column) for part in line.split(sign)
            )
            for line in lines[:_LOOKED_AT]
        ),
        default=0,
    )
    # Without a heading: the sign that most rows have, a comma least of all (6,80).
    return words, sum(sign in line for line in lines) if words == 0 else 0
