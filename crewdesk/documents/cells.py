"""One cell to one value, with a fault in plain words where it cannot be."""

import math
import re
from collections.abc import Sequence
from datetime import date

from crewdesk.documents.faults import Findings, quoted
from crewdesk.documents.tables import TableRow

_COMMA_NUMBER = re.compile(r"[+-]?\d*,\d+")


class CellReader:
    """Reads the cells of one row; every fault names file, row, column and value."""

    def __init__(self, file: str, row: TableRow, found: Findings) -> None:
        self.file = file
        self.row = row
        self.found = found
        self.failed = False

    def fault(self, column: str, what: str, hint: str = "") -> None:
        """Add a fault of a cell and remember that the row is not whole."""
        self.failed = True
        self.found.fault(
            self.file,
            what,
            hint,
            where=self.row.where,
            column=column,
            value=self.text(column),
        )

    def text(self, column: str) -> str:
        """Return the cell, empty where it is blank or the column is missing."""
        return self.row.cells.get(column, "")

    def needed(self, column: str, what: str) -> str:
        """Return a cell that may not be blank."""
        value = self.text(column)
        if not value:
            self.fault(column, "The cell is empty.", what)
        return value

    def number(
        self,
        column: str,
        low: float,
        high: float,
        unit: str = "",
        *,
        default: float | None = None,
    ) -> float | None:
        """Return a number between two limits, the default where blank."""
        value = self.text(column)
        if not value:
            return default
        span = f"A number from {low:g} to {high:g}{' ' + unit if unit else ''} is wanted."
        if _COMMA_NUMBER.fullmatch(value):
            self.fault(
                column,
                f"{quoted(value)} has a comma.",
                f"Write {value.replace(',', '.')}, with a point.",
            )
            return default
        try:
            number = float(value)
        except ValueError:
            self.fault(column, f"{quoted(value)} is no number.", span)
            return default
        if not math.isfinite(number):
            self.fault(column, f"{quoted(value)} is no number.", span)
            return default
        if not low <= number <= high:
            self.fault(column, f"{value} is outside what can be.", span)
            return default
        return number

    def whole(
        self, column: str, low: int, high: int, *, default: int | None = None
    ) -> int | None:
        """Return a whole number between two limits, the default where blank."""
        number = self.number(column, low, high)
        if number is None:
            return default
        if number != int(number):
            self.fault(
                column,
                f"{self.text(column)} is no whole number.",
                f"A whole number from {low} to {high} is wanted.",
            )
            return default
        return int(number)

    def word(self, column: str, allowed: Sequence[str], *, default: str = "") -> str:
        """Return one of the allowed words, the default where blank or not allowed."""
        value = self.text(column)
        if not value:
            return default
        for word in allowed:
            if value.lower() == word.lower():
                return word
        self.fault(
            column,
            f"{quoted(value)} is not known here.",
            f"Allowed: {', '.join(word for word in allowed if word)}.",
        )
        return default

    def yes_no(self, column: str) -> bool | None:
        """Return yes as True, no as False, blank as None."""
        word = self.word(column, ("yes", "no"))
        return None if not word else word == "yes"

    def day(self, column: str) -> str:
        """Return a date as text YYYY-MM-DD, empty where blank or no date."""
        value = self.text(column)
        if not value:
            return ""
        try:
            return date.fromisoformat(value).isoformat()
        except ValueError:
            self.fault(column, f"{quoted(value)} is no date.", "Write it as 2026-05-16.")
            return ""
