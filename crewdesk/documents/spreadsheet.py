"""Cells of a spreadsheet file (ECMA-376, Office Open XML), values only."""

import io
import re
import zipfile
from datetime import datetime, timedelta
from typing import Final
from xml.etree import ElementTree as ET

from crewdesk.errors import DocumentError

Cell = str | float
MAX_UNPACKED: Final = 50_000_000
MAX_ROWS: Final = 5000
MAX_COLUMNS: Final = 400
_DAY_ZERO: Final = datetime(1899, 12, 30)  # noqa: DTZ001 - the file counts days on the wall
_COLUMN = re.compile(r"([A-Z]{1,3})(\d+)")


def read_sheet(name: str, data: bytes, wanted: str) -> list[list[Cell]]:
    """Return the rows of the sheet named ``wanted``, else of the first one.

    Merged cells repeat the value of their first cell.

    Raises
    ------
    DocumentError
        Where the file cannot be read as a spreadsheet.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as book:
            unpacked = sum(entry.file_size for entry in book.infolist())
            if unpacked > MAX_UNPACKED:
                raise DocumentError(
                    f"{name} holds {unpacked / 1e6:.0f} MB of cells; no table of an event is "
                    f"larger than {MAX_UNPACKED / 1e6:.0f} MB.",
                    hint="Choose the right file, or save the one sheet as CSV UTF-8.",
                )
            texts = _shared_texts(book)
            sheet = _xml(book.read(_sheet_path(book, wanted)))
            rows = _rows(sheet, texts)
            _fill_merged(sheet, rows)
    except (
        zipfile.BadZipFile,
        KeyError,
        IndexError,
        ValueError,
        ET.ParseError,
        NotImplementedError,
        RuntimeError,
        EOFError,
        OSError,
    ) as error:
        raise _unreadable(name) from error
    return rows


def sheet_names(name: str, data: bytes) -> tuple[str, ...]:
    """Return the names of the sheets in their order.

    Raises
    ------
    DocumentError
        Where the file cannot be read as a spreadsheet.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as book:
            sheets = _all(_xml(book.read("xl/workbook.xml")), "sheet")
    except (zipfile.BadZipFile, KeyError, ValueError, ET.ParseError, OSError) as error:
        raise _unreadable(name) from error
    return tuple(sheet.get("name", "") for sheet in sheets)


def _unreadable(name: str) -> DocumentError:
    return DocumentError(
        f"{name} cannot be read as a spreadsheet.", hint="Save the sheet as CSV UTF-8."
    )


def _xml(data: bytes) -> ET.Element:
    # A spreadsheet never declares entities; what does is made to swell up in memory.
    if b"<!DOCTYPE" in data or b"<!ENTITY" in data:
        raise ValueError("declares entities")
    return ET.fromstring(data)  # noqa: S314


def _plain(tag: str) -> str:
    return tag.rsplit("}", 1)[-1]


def _all(node: ET.Element, tag: str) -> list[ET.Element]:
    return [child for child in node.iter() if _plain(child.tag) == tag]


def _shared_texts(book: zipfile.ZipFile) -> list[str]:
    if "xl/sharedStrings.xml" not in book.namelist():
        return []
    root = _xml(book.read("xl/sharedStrings.xml"))
    return [_text_of(item) for item in root if _plain(item.tag) == "si"]


def _text_of(node: ET.Element) -> str:
    return "".join(part.text or "" for part in _all(node, "t"))


def _sheet_path(book: zipfile.ZipFile, wanted: str) -> str:
    sheets = _all(_xml(book.read("xl/workbook.xml")), "sheet")
    chosen = next(
        (s for s in sheets if s.get("name", "").strip().lower() == wanted.lower()), sheets[0]
    )
    key = next(value for name, value in chosen.attrib.items() if _plain(name) == "id")
    links = _xml(book.read("xl/_rels/workbook.xml.rels"))
    target = next(link.get("Target", "") for link in links if link.get("Id") == key)
    return target.lstrip("/") if target.startswith("/") else f"xl/{target}"


def _place(reference: str) -> tuple[int, int]:
    match = _COLUMN.fullmatch(reference)
    if match is None:
        raise ValueError(reference)
    column = 0
    for letter in match[1]:
        column = 26 * column + ord(letter) - 64
    return int(match[2]) - 1, column - 1


def _rows(sheet: ET.Element, texts: list[str]) -> list[list[Cell]]:
    rows: list[list[Cell]] = []
    for cell in _all(sheet, "c"):
        value = _value(cell, texts)
        if value == "":
            continue
        row, column = _place(cell.get("r", ""))
        if row >= MAX_ROWS or column >= MAX_COLUMNS:
            raise ValueError("too far out")
        while len(rows) <= row:
            rows.append([])
        rows[row] += [""] * (column + 1 - len(rows[row]))
        rows[row][column] = value
    return rows


def _value(cell: ET.Element, texts: list[str]) -> Cell:
    kind = cell.get("t", "n")
    if kind == "inlineStr":
        return _text_of(cell).strip()
    raw = next((part.text or "" for part in cell if _plain(part.tag) == "v"), "")
    if kind == "s" and raw:
        return texts[int(raw)].strip()
    if kind == "b":
        return "yes" if raw == "1" else "no"
    if kind in ("str", "e", "d"):
        return raw.strip()
    return float(raw) if raw else ""


def _fill_merged(sheet: ET.Element, rows: list[list[Cell]]) -> None:
    for merged in _all(sheet, "mergeCell"):
        first, _, last = merged.get("ref", "").partition(":")
        top, left = _place(first)
        bottom, right = _place(last or first)
        if top >= len(rows) or left >= len(rows[top]):
            continue
        value = rows[top][left]
        for row in rows[top : min(bottom, MAX_ROWS) + 1]:
            reach = min(right, MAX_COLUMNS) + 1
            row += [""] * (reach - len(row))
            row[left:reach] = [value] * (reach - left)


def clock_of(days: float) -> str:
    """Return a count of days since the file's day zero as a wall time.

    >>> clock_of(0.5), clock_of(46158.3541666667)
    ('12:00', '2026-05-16 08:30')
    """
    at = _DAY_ZERO + timedelta(minutes=round(days * 1440))
    return f"{at:%H:%M}" if days < 1 else f"{at:%Y-%m-%d %H:%M}"


def number_text(value: float) -> str:
    """Return a number as it would be typed.

    >>> number_text(3.0), number_text(6.8)
    ('3', '6.8')
    """
    return f"{value:.10g}"
