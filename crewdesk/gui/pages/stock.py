"""The stock table with its filters as buttons."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QBoxLayout, QHBoxLayout

from crewdesk.gui.page import Page
from crewdesk.gui.parts import Choice, clear, column, label
from crewdesk.gui.session import Session
from crewdesk.gui.stock_model import COLUMNS, STACK, TYRE_ROLE, StockFilter, StockModel, rows_of
from crewdesk.gui.tables import hide_empty, row_table, set_sizes
from crewdesk.gui.theme import Sizes, Theme

ROW_PX = 48


class StockPage(Page):
    """Every tyre of the crew."""

    key = "stock"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.model = StockModel()
        self.proxy = StockFilter()
        self.proxy.setSourceModel(self.model)
        spoken = self.tr("Stock of tyres")
        self.table = row_table("stock_table", spoken, self.proxy, ROW_PX)
        self.table.setSortingEnabled(True)
        self.table.sortByColumn(1, Qt.SortOrder.AscendingOrder)
        self.table.clicked.connect(lambda _index: self.row_action())
        self._filters = QHBoxLayout()
        self._filters.setSpacing(8)
        self._compounds: tuple[str, ...] = ()
        self.words = label("", "stock_words", "muted")
        self.states = Choice(
            "stock_state",
            [
                (self.tr("All"), "all"),
                (self.tr("Stock"), "stock"),
                (self.tr("Fitted"), "fitted"),
                (self.tr("Carried"), "carried"),
                (self.tr("Left behind"), "left behind"),
                (self.tr("Locked"), "locked"),
                (self.tr("Used up"), "used up"),
            ],
            lambda value: self._filter(state=str(value)),
            kind="part",
        )
        self.states.set_value("all")
        self._heads = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._heads.setSpacing(8)
        self._heads.addLayout(self._filters)
        self._heads.addWidget(self.states)
        self.setLayout(column(self._heads, self.table, self.words))

    def heading(self) -> str:
        return self.tr("Stock")

    def primary_text(self) -> str:
        return self.tr("Back")

    def primary(self) -> None:
        self.go.emit("back")

    def row_action(self) -> bool:
        index = self.table.currentIndex()
        if not index.isValid():
            return False
        self.go.emit(f"tyre:{index.data(TYRE_ROLE)}")
        return True

    def entered(self) -> None:
        if not self.table.currentIndex().isValid() and self.proxy.rowCount():
            self.table.setCurrentIndex(self.proxy.index(0, 0))
        self.table.setFocus()

    def refresh(self) -> None:
        if not self.session.is_open:
            return
        rows = rows_of(self.session)
        self.model.set_stock(rows)
        hide_empty(self.table, self.model, (STACK,))
        compounds = tuple(dict.fromkeys(r.compound for r in rows))
        if compounds != self._compounds:
            self._compounds = compounds
            clear(self._filters)
            choice = Choice(
                "stock_compound",
                [(self.tr("All"), "all"), *[(c, c) for c in compounds]],
                lambda value: self._filter(compound=str(value)),
                kind="part",
            )
            choice.set_value("all")
            self._filters.addWidget(choice)
        self._count()

    def _filter(self, *, compound: str | None = None, state: str | None = None) -> None:
        self.proxy.set_filter(
            compound="" if compound == "all" else compound,
            state="" if state == "all" else state,
        )
        self._count()

    def _count(self) -> None:
        self.words.setText(
            self.tr("{0} of {1} tyres. A tap or Enter shows the tyre in the row.").format(
                self.proxy.rowCount(), self.model.rowCount()
            )
        )

    def set_look(self, _theme: Theme, sizes: Sizes) -> None:
        set_sizes(self.table, ROW_PX, (width for _, width in COLUMNS), sizes)
        way = QBoxLayout.Direction
        self._heads.setDirection(way.TopToBottom if sizes.compact else way.LeftToRight)
