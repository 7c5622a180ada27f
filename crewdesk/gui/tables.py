"""What the tables of the window have in common: headings, look, widths, empty columns."""

from collections.abc import Iterable, Sequence
from typing import Any, Final

from PySide6.QtCore import QAbstractItemModel, QAbstractTableModel, Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QTableView,
    QTableWidget,
    QTableWidgetItem,
    QWidget,
)

from crewdesk.gui.theme import Sizes

ROW_PX: Final = 48
"""How high a row of numbers is."""
NOTHING: Final = frozenset(("", "–"))
"""What stands in a cell that says nothing."""


class HeadedModel(QAbstractTableModel):
    """A table model that is asked for its headings one at a time."""

    def heading(self, section: int) -> str:
        """Return the heading of a column."""
        raise RuntimeError(f"{type(self).__name__} names no column {section}")

    def row_heading(self, section: int) -> str:
        """Return what stands in front of a row."""
        return str(section + 1)

    def headerData(
        self,
        section: int,
        orientation: Qt.Orientation,
        role: int = Qt.ItemDataRole.DisplayRole,
    ) -> Any:
        if role != Qt.ItemDataRole.DisplayRole:
            return None
        if orientation == Qt.Orientation.Horizontal:
            return self.heading(section)
        return self.row_heading(section)


def _by_rows(table: QTableView, name: str, spoken: str, row_px: int) -> None:
    """Have the rows of a table chosen as a whole and not typed in."""
    table.setObjectName(name)
    table.setAccessibleName(spoken)
    table.setTabKeyNavigation(False)
    table.setAlternatingRowColors(True)
    table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
    table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
    table.verticalHeader().setDefaultSectionSize(row_px)
    table.verticalHeader().hide()


class NumberTable(QTableWidget):
    """The numbers of a chart, as text."""

    def __init__(self, name: str, spoken: str, parent: QWidget) -> None:
        super().__init__(0, 0, parent)
        _by_rows(self, name, spoken, ROW_PX)
        self.horizontalHeader().setDefaultAlignment(
            Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        )

    def set_columns(self, headings: Sequence[str], widths_px: Sequence[int]) -> None:
        """Take other columns."""
        self.setColumnCount(len(headings))
        self.setHorizontalHeaderLabels(headings)
        for column, width in enumerate(widths_px):
            self.setColumnWidth(column, width)

    def set_rows(self, rows: Sequence[Sequence[str]]) -> None:
        """Show other rows."""
        self.setRowCount(len(rows))
        for row, texts in enumerate(rows):
            for column, text in enumerate(texts):
                self.setItem(row, column, QTableWidgetItem(text))


def row_table(name: str, spoken: str, model: QAbstractItemModel, row_px: int) -> QTableView:
    """Return a table over a model whose rows are chosen one at a time."""
    table = QTableView()
    _by_rows(table, name, spoken, row_px)
    table.setModel(model)
    table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
    table.horizontalHeader().setHighlightSections(False)
    table.horizontalHeader().setStretchLastSection(True)
    return table


def set_sizes(table: QTableView, row_px: int, widths: Iterable[int], sizes: Sizes) -> None:
    """Give rows and columns their sizes; larger letters want more room both ways."""
    table.verticalHeader().setDefaultSectionSize(sizes.target(sizes.letter(row_px)))
    for at, width in enumerate(widths):
        table.setColumnWidth(at, sizes.letter(width))


def hide_empty(table: QTableView, model: QAbstractItemModel, columns: Iterable[int]) -> None:
    """Leave out those of the named columns in which no row says anything."""
    for at in columns:
        cells = (model.index(row, at).data() for row in range(model.rowCount()))
        table.setColumnHidden(at, all(cell in NOTHING for cell in cells))
