"""Documents back to files: whole or not at all, comments and unknown columns kept."""

import contextlib
import csv
import io
import os
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from zoneinfo import ZoneInfo

from crewdesk.documents import itinerary_read, stock_read
from crewdesk.documents.itinerary import Itinerary
from crewdesk.documents.stock import Stock, StockTyre
from crewdesk.documents.tables import is_blank, is_comment, whole_lines
from crewdesk.errors import DocumentError


def write_atomic(path: Path, text: str) -> None:
    """Write a file whole: beside it first, on disk, then in its place.

    Raises
    ------
    DocumentError
        Where the disk refuses; the file is then as it was.
    """
    beside = path.with_name(f".{path.name}.{os.getpid()}.new")
    try:
        with beside.open("w", encoding="utf-8", newline="") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        beside.replace(path)
    except OSError as error:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)
        raise DocumentError(
            f"{path} could not be written ({(error.strerror or 'no reason given').lower()}).",
            hint="The file is as it was; look at the room on the disk and its permissions.",
        ) from error
    _sync_folder(path.parent)


def _sync_folder(folder: Path) -> None:
    # Only so does the new name survive a power cut; some systems cannot open folders.
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def csv_line(cells: Sequence[str]) -> str:
    """Return one line of a table; a first cell beginning with # is quoted, no comment."""
    stream = io.StringIO(newline="")
    # With this line end the writer also quotes a lone carriage return.
    csv.writer(stream, lineterminator="\r\n").writerow(cells)
    line = stream.getvalue().removesuffix("\r\n") + "\n"
    if line.lstrip().startswith("#"):
        first = '"' + cells[0].replace('"', '""') + '"'
        rest = csv_line(["", *cells[1:]]) if len(cells) > 1 else "\n"
        return first + rest
    return line


def table_text(
    columns: Sequence[str],
    rows: Iterable[Mapping[str, str]],
    comments: Iterable[str] = (),
) -> str:
    """Return a table as text: comments, heading, rows; columns nobody fills are kept."""
    lines = [comment.rstrip() + "\n" for comment in comments]
    lines.append(csv_line(list(columns)))
    lines += [csv_line([row.get(name, "") for name in columns]) for row in rows]
    return "".join(lines)


def _number(value: float | None) -> str:
    return "" if value is None else f"{value:.10g}"


def _yes_no(value: bool | None) -> str:
    return "" if value is None else ("yes" if value else "no")


def stock_cells(tyre: StockTyre) -> dict[str, str]:
    """Return a tyre as the cells of its row."""
    cells = dict(tyre.extra)
    for name in ("tyre_id", "mark", "maker", "model", "compound", "use", "size", "rim"):
        cells[name] = str(getattr(tyre, name))
    for name in ("rim_id", "dot", "service_desc", "counts_against", "location", "side_run"):
        cells[name] = str(getattr(tyre, name))
    for name in ("direction", "lock", "terms", "first_mounted", "stack", "code", "note"):
        cells[name] = str(getattr(tyre, name))
    for name in ("tread_new_mm", "stage_km", "heat_cycles", "studs", "hardness_shore_a"):
        cells[name] = _number(getattr(tyre, name))
    cells["e_mark"] = _yes_no(tyre.e_mark)
    cells["registered"] = _yes_no(tyre.registered)
    cells["condition"] = "new" if tyre.new else "used"
    cells["price_units"] = _number(tyre.price)
    for part, depth in zip(("in", "mid", "out"), tyre.tread_mm, strict=True):
        cells[f"tread_{part}_mm"] = _number(depth)
    for way, edge in zip(("brake", "drive", "side"), tyre.edge_share, strict=True):
        cells[f"edge_{way}_share"] = _number(edge)
    return cells


def stock_text(stock: Stock) -> str:
    """Return the stock as ``stock.csv``, comments and unknown columns with it."""
    unknown = dict.fromkeys(name for tyre in stock.tyres for name in tyre.extra)
    return table_text(
        [*stock_read.COLUMNS, *unknown],
        [stock_cells(tyre) for tyre in stock.tyres],
        stock.comments,
    )


def itinerary_text(itinerary: Itinerary, zone: ZoneInfo) -> str:
    """Return the itinerary as ``itinerary.csv``, times as local wall time."""
    rows: list[dict[str, str]] = []
    for row in itinerary.rows:
        cells: dict[str, str] = {}
        for name in itinerary_read.COLUMNS:
            value = getattr(row, "pass_no" if name == "pass" else name)
            if name == "first_car_due":
                wall = None if value is None else value.astimezone(zone)
                form = "%Y-%m-%d %H:%M:%S" if wall and wall.second else "%Y-%m-%d %H:%M"
                cells[name] = "" if wall is None else wall.strftime(form)
            elif value is None or isinstance(value, str):
                cells[name] = value or ""
            else:
                cells[name] = _number(value)
        rows.append(cells)
    return table_text(itinerary_read.COLUMNS, rows, itinerary.comments)


def edited_table(
    text: str,
    key: str,
    changes: Mapping[str, Mapping[str, str]],
    added: Iterable[Mapping[str, str]] = (),
) -> str:
    """Return a table with some cells changed and rows added, every other line as it was.

    Parameters
    ----------
    key : str
        Column that names a row, as ``tyre_id`` or ``ref``.
    changes : mapping
        New cells by column, by the name of the row.
    added : iterable
        Cells by column of rows to put at the end.

    Raises
    ------
    KeyError
        Where a row or column to change does not exist.
    """
    body = text.removeprefix("\ufeff")
    lines: list[str] = []
    columns: list[str] = []
    left = dict(changes)
    for _start, line, _closed in whole_lines(body):
        if is_comment(line) or is_blank(line):
            lines.append(line)
            continue
        cells = next(csv.reader(io.StringIO(line, newline="")))
        if not columns:
            columns = [cell.strip() for cell in cells]
            lines.append(line)
            continue
        name = cells[columns.index(key)].strip() if key in columns else ""
        new = left.pop(name, None)
        if new is None:
            lines.append(line)
            continue
        for column, value in new.items():
            if column not in columns:
                raise KeyError(column)
            cells[columns.index(column)] = value
        lines.append(csv_line(cells))
    if left:
        raise KeyError(next(iter(left)))
    extra = [csv_line([row.get(name, "") for name in columns]) for row in added]
    if extra and lines and not lines[-1].endswith(("\n", "\r")):
        lines.append("\n")
    return "".join([*lines, *extra])
