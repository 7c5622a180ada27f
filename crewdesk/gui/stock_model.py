"""The stock as a table model: rows are frozen parts, every cell is made once."""

from dataclasses import dataclass
from typing import Any, Final, cast

from PySide6.QtCore import (
    QT_TRANSLATE_NOOP,
    QCoreApplication,
    QModelIndex,
    QPersistentModelIndex,
    QSortFilterProxyModel,
    Qt,
)

from crewdesk.gui.session import Session
from crewdesk.gui.tables import HeadedModel
from crewdesk.gui.texts import SHORT, bar
from crewdesk.gui.views import tread_text

SORT_ROLE: Final = Qt.ItemDataRole.UserRole + 1
TYRE_ROLE: Final = Qt.ItemDataRole.UserRole + 2

_Index = QModelIndex | QPersistentModelIndex


def _t(text: str) -> str:
    return cast("str", QT_TRANSLATE_NOOP("StockModel", text))


COLUMNS: Final[tuple[tuple[str, int], ...]] = (
    (_t("Wheel"), 90),
    (_t("Tyre"), 80),
    (_t("Compound"), 185),
    (_t("Stack"), 80),
    (_t("State"), 130),
    (_t("Corner"), 80),
    (_t("Tread mm"), 110),
    (_t("Cold bar"), 95),
    (_t("Run km"), 90),
    (_t("Note"), 60),
)
STACK: Final = 3
"""The column of the stacks; a crew that has none does without it."""


@dataclass(frozen=True)
class StockRow:
    """One tyre as the table shows it."""

    tyre_id: str
    cells: tuple[str, ...]
    sort: tuple[Any, ...]
    state: str
    compound: str


def rows_of(session: Session) -> tuple[StockRow, ...]:
    """Return the rows of the stock table."""
    state = session.state
    estimates = session.answer.estimates if session.answer is not None else {}
    made = []
    for tyre in state.tyres.values():
        word = _state_word(tyre.status, tyre.place, tyre.in_zone, ran=bool(tyre.runs))
        # The heading of the column has the unit.
        tread = tread_text(tyre, estimates).replace(" mm", "")
        note = "; ".join(
            n
            for n in (
                tyre.status_why,
                "torque due" if tyre.torque_due_since else "",
                "counted" if tyre.counted else "",
                tyre.stock.note,
            )
            if n
        )
        last = f"last {SHORT[tyre.last_place]}" if tyre.last_place else ""
        corner = SHORT[tyre.place] if tyre.place else last
        cells = (
            tyre.rim_id or "–",
            tyre.tyre_id,
            f"{tyre.stock.code}  {tyre.stock.compound} {tyre.stock.model}",
            tyre.stock.stack,
            word,
            corner,
            tread,
            bar(tyre.cold_set_kpa) if tyre.cold_set_kpa else "",
            f"{tyre.event_km + (tyre.stock.stage_km or 0.0):.0f}",
            note,
        )
        least = float(tread.replace("≈", "").replace("was", "").split()[0]) if tread else 0.0
        sort = (*cells[:6], least, tyre.cold_set_kpa or 0.0, tyre.event_km, note)
        made.append(StockRow(tyre.tyre_id, cells, sort, word, tyre.stock.compound))
    return tuple(made)


def _state_word(status: str, place: str | None, in_zone: object, *, ran: bool) -> str:
    if status == "locked":
        return "locked"
    if status == "scrapped":
        return "used up"
    if status == "away":
        return "away"
    if place in ("SP1", "SP2"):
        return "carried"
    if place:
        return "fitted"
    if in_zone:
        return "with zone crew"
    return "left behind" if ran else "stock"


class StockModel(HeadedModel):
    """Rows of the stock."""

    def __init__(self) -> None:
        super().__init__()
        self._rows: tuple[StockRow, ...] = ()

    def set_stock(self, rows: tuple[StockRow, ...]) -> None:
        """Take new rows; only changed cells are told where the tyres are the same."""
        if [r.tyre_id for r in rows] != [r.tyre_id for r in self._rows]:
            self.beginResetModel()
            self._rows = rows
            self.endResetModel()
            return
        before, self._rows = self._rows, rows
        for at, (old, new) in enumerate(zip(before, rows, strict=True)):
            if old != new:
                self.dataChanged.emit(self.index(at, 0), self.index(at, len(COLUMNS) - 1))

    def rowCount(self, parent: _Index = QModelIndex()) -> int:
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: _Index = QModelIndex()) -> int:
        return 0 if parent.isValid() else len(COLUMNS)

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not index.isValid():
            return None
        row = self._rows[index.row()]
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return row.cells[index.column()]
        if role == SORT_ROLE:
            return row.sort[index.column()]
        if role == TYRE_ROLE:
            return row.tyre_id
        return None

    def heading(self, section: int) -> str:
        return QCoreApplication.translate("StockModel", COLUMNS[section][0])

    def row(self, at: int) -> StockRow:
        """Return a row."""
        return self._rows[at]


class StockFilter(QSortFilterProxyModel):
    """Sort by the sort role, filter by compound and state."""

    def __init__(self) -> None:
        super().__init__()
        self.setSortRole(SORT_ROLE)
        self._compound = ""
        self._state = ""

    def set_filter(self, *, compound: str | None = None, state: str | None = None) -> None:
        """Show only one compound or one state; empty shows all."""
        self._compound = self._compound if compound is None else compound
        self._state = self._state if state is None else state
        self.invalidate()

    def filterAcceptsRow(self, at: int, _parent: _Index) -> bool:
        model = cast("StockModel", self.sourceModel())
        row = model.row(at)
        return (not self._compound or row.compound == self._compound) and (
            not self._state or row.state == self._state
        )
