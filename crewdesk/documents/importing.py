"""Tables as other people write them (CSV or spreadsheet) to the tables of an event."""

import csv
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

from crewdesk.documents import itinerary_read, stock_read, weather_read
from crewdesk.documents.faults import Findings, error_from, quoted
from crewdesk.documents.spreadsheet import Cell, clock_of, number_text, read_sheet
from crewdesk.documents.store import check_texts, read_texts
from crewdesk.documents.tables import decode
from crewdesk.documents.writer import table_text, write_atomic
from crewdesk.errors import DocumentError

Kind = Literal["itinerary", "stock", "weather"]
KINDS: Final[tuple[Kind, ...]] = ("itinerary", "stock", "weather")
_COLUMNS: Final[Mapping[str, tuple[str, ...]]] = {
    "itinerary": itinerary_read.COLUMNS,
    "stock": stock_read.COLUMNS,
    "weather": weather_read.COLUMNS,
}
_TEXT_COLUMNS: Final = frozenset({
    "ref", "kind", "name", "surface", "service", "tyre_change", "note", "tyre_id", "mark",
    "maker", "model", "compound", "use", "size", "rim", "rim_id", "dot", "e_mark",
    "service_desc", "condition", "counts_against", "registered", "location", "side_run",
    "direction", "lock", "terms", "stack", "code", "site", "source", "surface_state",
})  # fmt: skip
_TIMES: Final = frozenset({"first_car_due", "time", "issued"})
_NUMBER = re.compile(
    r"[(\[]?\s*([+-]?\d+(?:[.,]\d+)?)\s*(?:km|mm|m|%)?\s*[)\]]?", re.IGNORECASE
)
_LETTER = re.compile(r"service\s+([A-Z])\b", re.IGNORECASE)
_OUT = re.compile(r"\bout\b")
_DIGITS = re.compile(r"\d+")
_PAIRS: Final = (
    ("flexi", "flexi"),
    ("fitting", "tyre_zone"),
    ("tyre zone", "tyre_zone"),
    ("service", "service"),
    ("regroup", "regroup"),
    ("holding", "regroup"),
)


@dataclass(frozen=True)
class Imported:
    """A table in our own layout, with what was decided on the way."""

    file: str
    text: str
    notes: tuple[str, ...]


def import_into(kind: Kind, source: Path, folder: Path) -> Imported:
    """Bring a table into an event's folder; the file it takes the place of is kept beside.

    Raises
    ------
    DocumentError
        Where the table has faults or the folder refuses; nothing is changed then.
    """
    imported = import_table(kind, source)
    found = Findings()
    texts = read_texts(folder, found) or {}
    if not folder.is_dir():
        raise error_from(found.faults, str(folder))
    report = check_texts({**texts, imported.file: imported.text})
    faults = [fault for fault in report.faults if fault.file == imported.file]
    if faults:
        raise error_from(faults, f"{source.name} cannot be brought in; what it makes of")
    old = folder / imported.file
    if old.is_file():
        try:
            write_atomic(old.with_name(f"{old.stem}.before{old.suffix}"), texts[imported.file])
        except KeyError:
            raise DocumentError(f"{old} cannot be read.", hint="Move it away first.") from None
    write_atomic(old, imported.text)
    return imported


def import_table(kind: Kind, source: Path) -> Imported:
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
    comments: list[str] = []
    if data.startswith(b"PK\x03\x04"):
        grid = read_sheet(source.name, data, kind)
    else:
        grid = _grid(source.name, data, kind, comments)
    notes: list[str] = []
    start, names = _heading(source.name, grid, kind)
    rows = [
        (line, _cells(names, cells, kind))
        for line, cells in enumerate(grid[start + 1 :], start=start + 2)
        if any(cell != "" for cell in cells)
    ]
    if kind == "itinerary":
        cells = _itinerary(rows, comments, notes)
    else:
        cells = [row for _line, row in rows]
    columns = _COLUMNS[kind]
    unknown = [n for n in dict.fromkeys(names) if n and n not in columns and n[0] != "?"]
    if unknown:
        notes.append(f"Kept without using it: {', '.join(quoted(name) for name in unknown)}.")
    text = table_text([*columns, *unknown], cells, comments)
    return Imported(f"{kind}.csv", text, tuple(notes))


def _grid(name: str, data: bytes, kind: str, comments: list[str]) -> list[list[Cell]]:
    found = Findings()
    text = decode(name, data, found)
    if text is None:
        raise error_from(found.faults, name)
    lines = text.splitlines(keepends=True)
    comments += [line.strip() for line in lines if line.lstrip().startswith("#")]
    body = "".join("\n" if line.lstrip().startswith("#") else line for line in lines)
    known = _known(kind)

    def hits(sign: str) -> int:
        return max(
            (
                sum(part.strip(' "\r\n').lower() in known for part in line.split(sign))
                for line in lines[:50]
            ),
            default=0,
        )

    sign = max((",", ";", "\t"), key=hits)
    try:
        read = list(csv.reader(io.StringIO(body, newline=""), delimiter=sign))
    except csv.Error as error:
        raise DocumentError(
            f"{name} cannot be split into cells.", hint="Look for a lost quotation mark."
        ) from error
    return [[cell.strip() for cell in row] for row in read]


def _known(kind: str) -> dict[str, str]:
    words = {name: name for name in _COLUMNS[kind]}
    if kind != "itinerary":
        return words
    shares = {"gravel %": "?percent", "gravel km": "?gravel_km"}
    return {**itinerary_read.RENAMES, **shares, **words}


def _heading(name: str, grid: Sequence[Sequence[Cell]], kind: str) -> tuple[int, list[str]]:
    """Return the row of the heading and a column name for each of its cells."""
    known = _known(kind)
    for index, row in enumerate(grid[:50]):
        words = [" ".join(str(cell).lower().split()) for cell in row]
        names = [known.get(word, str(cell)) for word, cell in zip(words, row, strict=True)]
        if sum(word in known for word in words) >= 3:
            return index, names
    raise DocumentError(
        f"{name} has no heading of {kind} columns in its first 50 rows.",
        hint=f"Known: {', '.join(_COLUMNS[kind][:8])} and others.",
    )


def _cells(names: Sequence[str], cells: Sequence[Cell], kind: str) -> dict[str, str]:
    """Return the cells of a row by column; of two columns of one name the first filled."""
    row: dict[str, str] = {}
    for name, cell in zip(names, cells, strict=False):
        if name and not row.get(name):
            row[name] = _text(name, cell, kind)
    share = row.pop("?percent", "")
    gravel_km = row.pop("?gravel_km", "")
    try:
        if share:
            row["gravel_share"] = number_text(float(share) / 100)
        elif gravel_km:
            row["gravel_share"] = number_text(round(float(gravel_km) / float(row["ss_km"]), 2))
    except (ValueError, KeyError, ZeroDivisionError):
        row["gravel_share"] = share or gravel_km
    return row


def _text(name: str, cell: Cell, kind: str) -> str:
    """Return a cell as our tables have it: points in numbers, times as times."""
    if isinstance(cell, float):
        if name in _TIMES:
            return clock_of(cell)
        if name == "first_mounted":
            return clock_of(cell).split()[0]
        if name == "target_min" and 0 < cell < 1:
            return number_text(round(cell * 1440))
        text = number_text(cell)
        return text.zfill(4) if name == "dot" else text
    if name in _TEXT_COLUMNS or name in _TIMES or name == "first_mounted":
        return cell
    if name in ("leg", "section") and kind == "itinerary":
        digits = _DIGITS.search(cell)
        return digits[0] if digits else cell
    match = _NUMBER.fullmatch(cell)
    known = name in _COLUMNS[kind] or name.startswith("?")
    return match[1].replace(",", ".") if match and known else cell


def _itinerary(
    rows: Sequence[tuple[int, dict[str, str]]], comments: list[str], notes: list[str]
) -> list[dict[str, str]]:
    """Fill down legs and sections, guess kinds and visits; odd rows become comments."""
    kept: list[dict[str, str]] = []
    last = {"leg": "", "section": ""}
    for line, row in rows:
        for name in last:
            row[name] = last[name] = row.get(name) or last[name]
        if not row.get("ref"):
            words = " ".join(v for k, v in row.items() if v and k not in last)
            comments.append(f"# row {line}: {' '.join(words.split())}")
            notes.append(f"Row {line} has no reference; kept as a comment: {quoted(words)}.")
            continue
        row["leg"] = row["leg"] or "1"
        row["kind"] = row.get("kind") or _kind(row)
        letter = _LETTER.search(row.get("name", ""))
        if letter and not row.get("service") and row["kind"].startswith(("service", "flexi")):
            row["service"] = letter[1].upper()
        kept.append(row)
    _guess_changes(kept, notes)
    return kept


def _kind(row: Mapping[str, str]) -> str:
    """Return the kind of a row by its reference and name."""
    ref, name = row["ref"].upper().strip(), row.get("name", "").lower()
    if ref.startswith("SS"):
        return "stage"
    if ref.startswith("RF") or "refuel" in name:
        return "refuel"
    if "finish" in name and "flying" not in name:
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
        stages_after += row["kind"] == "stage"
        if row.get("tyre_change"):
            continue
        row["tyre_change"] = "no"
        if row["kind"] in ("service_out", "flexi_out", "tyre_zone_out") and stages_after:
            row["tyre_change"] = "zone" if row["kind"] == "tyre_zone_out" else "team"
            guessed.append(row["ref"])
    if guessed:
        notes.append(f"Taken as places where tyres may be changed: {', '.join(guessed[::-1])}.")
