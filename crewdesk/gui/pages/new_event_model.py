"""A table that is typed, pasted or brought in: cells, what was understood, and the faults."""

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final, cast

from PySide6.QtCore import (
    QT_TRANSLATE_NOOP,
    QCoreApplication,
    QModelIndex,
    QPersistentModelIndex,
    Qt,
    Signal,
)
from PySide6.QtGui import QColor

from crewdesk.documents.import_headings import Kind, columns_of
from crewdesk.documents.import_values import JOINED, Values, unit_of
from crewdesk.documents.importing import CellFault
from crewdesk.gui.tables import HeadedModel
from crewdesk.gui.theme import THEMES, Theme

_Index = QModelIndex | QPersistentModelIndex


def _t(text: str) -> str:
    return cast("str", QT_TRANSLATE_NOOP("NewEventTable", text))


SHOWN: Final[Mapping[str, tuple[str, ...]]] = {
    "itinerary": ("leg", "ref", "name", "ss_km", "liaison_km", "target_min", "first_car_due",
                  "surface", "kind", "service", "tyre_change"),
    "stock": ("tyre_id", "maker", "model", "compound", "use", "size", "rim_id",
              "tread_new_mm", "tread_in_mm", "tread_mid_mm", "tread_out_mm", "mark"),
    "weather": ("time", "air_c", "rain_mm_h", "cloud_pct", "wind_kmh", "site", "issued"),
}  # fmt: skip
"""Columns that stand first; all others follow on demand."""
_TITLES: Final[Mapping[str, str]] = {
    "ref": _t("TC or SS"),
    "name": _t("Place"),
    "ss_km": _t("Stage km"),
    "liaison_km": _t("Road km"),
    "total_km": _t("Total km"),
    "target_min": _t("Time, min"),
    "first_car_due": _t("First car due"),
    "tyre_change": _t("Tyres changed"),
    "tyre_id": _t("Tyre"),
    "rim": _t("Rim size"),
    "rim_id": _t("Wheel"),
    "tread_new_mm": _t("New, mm"),
    "tread_in_mm": _t("Inner, mm"),
    "tread_mid_mm": _t("Middle, mm"),
    "tread_out_mm": _t("Outer, mm"),
    "air_c": _t("Air, °C"),
    "rain_mm_h": _t("Rain, mm/h"),
    "cloud_pct": _t("Cloud, %"),
    "wind_kmh": _t("Wind, km/h"),
}
_WIDE: Final = {
    "leg": 60, "ref": 100, "name": 230, "ss_km": 105, "liaison_km": 105, "target_min": 110,
    "first_car_due": 175, "surface": 120, "kind": 140, "service": 90, "tyre_change": 154,
    "tyre_id": 80, "maker": 120, "model": 110, "compound": 115, "use": 95, "size": 105,
    "rim_id": 85, "tread_new_mm": 108, "tread_in_mm": 110, "tread_mid_mm": 125,
    "tread_out_mm": 115, "time": 175, "issued": 175, "note": 240,
}  # fmt: skip
_SHORT: Final = (
    ("empty", _t("empty")),
    ("needs", _t("empty")),
    ("not known", _t("not known")),
    ("no known", _t("not known")),
    ("no compound", _t("not known")),
    ("no number", _t("no number")),
    ("no whole", _t("no whole number")),
    ("no date", _t("no date")),
    ("no time", _t("no time")),
    ("outside", _t("out of range")),
    ("h after", _t("no date")),
    ("more than", _t("too deep")),
    ("twice", _t("twice")),
    ("times", _t("more than once")),
)


def title_of(column: str) -> str:
    """Return the heading that a column has on screen, with its unit."""
    own = _TITLES.get(column)
    if own is not None:
        return QCoreApplication.translate("NewEventTable", own)
    unit = unit_of(column)
    words = column.removesuffix("_" + unit.replace("/", "_")).replace("_", " ")
    tails = {"°C": " c", "km/h": " kmh", "%": " pct", "mm/h": " mm h", "share": " share"}
    words = words.removesuffix(tails.get(unit, "  "))
    shown = "0 to 1" if unit == "share" else unit
    return f"{words[:1].upper()}{words[1:]}, {shown}" if shown else words.capitalize()


def in_titles(text: str, columns: Iterable[str]) -> str:
    """Return a sentence with the headings of the screen in place of the columns' names.

    >>> in_titles("°F turned into °C: air_c.", ["air_c", "leg"])
    '°F turned into °C: Air °C.'
    """
    for name in columns:
        if "_" in name or name == "ref":
            # Without its comma, which would part it in a list.
            text = re.sub(rf"\b{name}\b", title_of(name).replace(",", ""), text)
    for word in JOINED:
        text = text.replace(word, word.replace("_", " "))
    return text


def width_of(column: str) -> int:
    """Return the width of a column in pixels."""
    return _WIDE.get(column, 130)


def short_fault(what: str) -> str:
    """Return the word that marks a faulty cell."""
    for part, word in _SHORT:
        if part in what:
            return QCoreApplication.translate("NewEventTable", word)
    return QCoreApplication.translate("NewEventTable", _t("look at it"))


class TypedTable(HeadedModel):
    """Rows of text; a faulty cell holds the word for its fault, and a colour."""

    edited = Signal()

    def __init__(self, kind: Kind) -> None:
        super().__init__()
        self.kind: Kind = kind
        self.rows: list[dict[str, str]] = []
        self.comments: tuple[str, ...] = ()
        self.extra: tuple[str, ...] = ()
        """Columns that are kept without using them."""
        self.all_columns = False
        self.values = Values()
        """What typed cells were understood as, for the notes."""
        self._filled: Sequence[Mapping[str, str]] = ()
        self._faults: dict[tuple[int, str], CellFault] = {}
        self._theme = THEMES["light"]

    @property
    def columns(self) -> tuple[str, ...]:
        """The columns on screen."""
        first = SHOWN[self.kind]
        if not self.all_columns:
            return first
        rest = [name for name in columns_of(self.kind) if name not in first]
        return (*first, *rest, *self.extra)

    # ---- what it holds

    def set_rows(
        self,
        rows: Sequence[Mapping[str, str]],
        *,
        comments: Sequence[str] = (),
        extra: Sequence[str] = (),
    ) -> None:
        """Take other rows."""
        self.beginResetModel()
        self.rows = [dict(row) for row in rows]
        self.comments, self.extra = tuple(comments), tuple(extra)
        self._filled, self._faults = (), {}
        self.values = Values()
        self.endResetModel()
        self.edited.emit()

    def show_all(self, every: bool) -> None:
        """Show every column, or those that stand first."""
        self.beginResetModel()
        self.all_columns = every
        self.endResetModel()

    def add_row(self) -> int:
        """Add an empty row; return where it is."""
        at = len(self.rows)
        self.beginInsertRows(QModelIndex(), at, at)
        self.rows.append({})
        self.endInsertRows()
        self.edited.emit()
        return at

    def take_row(self, at: int) -> dict[str, str]:
        """Take a row out."""
        self.beginRemoveRows(QModelIndex(), at, at)
        row = self.rows.pop(at)
        self._faults = {}
        self.endRemoveRows()
        self.edited.emit()
        return row

    def put_row(self, at: int, row: Mapping[str, str]) -> None:
        """Put a row back where it was."""
        self.beginInsertRows(QModelIndex(), at, at)
        self.rows.insert(at, dict(row))
        self._faults = {}
        self.endInsertRows()
        self.edited.emit()

    def fill_down(self, at: int, column: str) -> int:
        """Copy a cell into the faulty ones below it, else into the empty ones; return how many.

        Where some are at fault the other empty ones may stay empty, as a control's surface.
        """
        value, done = self._text(at, column), 0
        faulty = any(row > at and name == column for row, name in self._faults)
        for below in range(at + 1, len(self.rows)):
            bad = (below, column) in self._faults
            if bad or (not faulty and not self.rows[below].get(column)):
                self.rows[below][column] = value
                done += 1
        self._all_changed()
        self.edited.emit()
        return done

    def judged(self, filled: Sequence[Mapping[str, str]], faults: Sequence[CellFault]) -> None:
        """Take what was understood and what is at fault."""
        self._filled = filled
        shown = self.columns
        self._faults = {}
        for fault in faults:
            if fault.row is not None:
                column = fault.column if fault.column in shown else ""
                self._faults.setdefault((fault.row, column or shown[0]), fault)
                self._faults.setdefault((fault.row, fault.column), fault)
        self._all_changed()
        if self.rows:
            self.headerDataChanged.emit(Qt.Orientation.Vertical, 0, len(self.rows) - 1)

    def fault_at(self, at: int, column: str) -> CellFault | None:
        """Return the fault of a cell."""
        return self._faults.get((at, column))

    def set_look(self, theme: Theme) -> None:
        """Take the theme."""
        self._theme = theme
        self._all_changed()

    def _all_changed(self) -> None:
        if self.rows:
            last = self.index(len(self.rows) - 1, len(self.columns) - 1)
            self.dataChanged.emit(self.index(0, 0), last)

    def _text(self, at: int, column: str) -> str:
        own = self.rows[at].get(column, "")
        if own or at >= len(self._filled):
            return own
        return self._filled[at].get(column, "")

    # ---- as Qt asks for it

    def rowCount(self, parent: _Index = QModelIndex()) -> int:
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: _Index = QModelIndex()) -> int:
        return 0 if parent.isValid() else len(self.columns)

    def flags(self, index: _Index) -> Qt.ItemFlag:
        return super().flags(index) | Qt.ItemFlag.ItemIsEditable

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not index.isValid():
            return None
        at, column = index.row(), self.columns[index.column()]
        fault = self._faults.get((at, column))
        text = self._text(at, column)
        if text in JOINED:
            text = text.replace("_", " ")
        if role == Qt.ItemDataRole.EditRole:
            return text
        if role == Qt.ItemDataRole.DisplayRole:
            return f"{text}\n■ {short_fault(fault.what)}".strip() if fault else text
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{text}, {fault.what} {fault.hint}".strip(" ,") if fault else text
        if role == Qt.ItemDataRole.BackgroundRole and fault:
            return QColor(self._theme.stops_fill)
        if role == Qt.ItemDataRole.ForegroundRole:
            if fault:
                return QColor(self._theme.stops_ink)
            if not self.rows[at].get(column):
                return QColor(self._theme.muted)
        return None

    def setData(self, index: _Index, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        if role != Qt.ItemDataRole.EditRole or not index.isValid():
            return False
        column = self.columns[index.column()]
        text = self.values.text(column, str(value))
        if text == self._text(index.row(), column):
            return False
        self.rows[index.row()][column] = text
        self.dataChanged.emit(index, index)
        self.edited.emit()
        return True

    def heading(self, section: int) -> str:
        return title_of(self.columns[section])

    def row_heading(self, section: int) -> str:
        bad = any(row == section for row, _column in self._faults)
        return f"■ {section + 1}" if bad else str(section + 1)
