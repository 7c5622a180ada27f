"""A tyre that joins the stock during the event, read like a row of the stock table."""

import csv
import io
from collections.abc import Mapping

from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.faults import Findings
from crewdesk.documents.stock import StockTyre
from crewdesk.documents.stock_read import COLUMNS, read_stock
from crewdesk.errors import ReadingError


def tyre_from_row(bundle: EventBundle, row: Mapping[str, str]) -> StockTyre | None:
    """Return the tyre of a row, or None where the row cannot be read."""
    try:
        return checked_tyre(bundle, row)
    except ReadingError:
        return None


def checked_tyre(bundle: EventBundle, row: Mapping[str, str]) -> StockTyre:
    """Return the tyre of a row.

    Raises
    ------
    ReadingError
        Naming what is missing or cannot be read.
    """
    text = io.StringIO()
    columns = list(dict.fromkeys([*COLUMNS, *row]))
    writer = csv.DictWriter(text, columns, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerow({str(key): str(value) for key, value in row.items()})
    found = Findings()
    read = read_stock(text.getvalue(), bundle.event, found)
    if read is None or found.faults or not read.stock.tyres:
        fault = found.faults[0] if found.faults else None
        raise ReadingError(
            fault.what if fault else "The row holds no tyre.",
            hint=fault.hint if fault else "Give the columns of the stock table.",
        )
    return read.stock.tyres[0]
