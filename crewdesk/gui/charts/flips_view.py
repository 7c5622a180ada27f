"""The charts of what would change the call, one at a time or all, and their numbers."""

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import QT_TRANSLATE_NOOP, QCoreApplication
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QLabel,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from crewdesk.desk.flip_view import MOVES, FlipView, value_words
from crewdesk.gui.charts.flips import FlipPlot
from crewdesk.gui.charts.plot import chart_look
from crewdesk.gui.tables import NumberTable
from crewdesk.gui.theme import Theme

LEAST_TEXT_PX: Final = 16
COLUMNS: Final[tuple[str, ...]] = (
    str(QT_TRANSLATE_NOOP("FlipsView", "What moves")),
    str(QT_TRANSLATE_NOOP("FlipsView", "Value")),
    str(QT_TRANSLATE_NOOP("FlipsView", "Fitting")),
    str(QT_TRANSLATE_NOOP("FlipsView", "Above the best")),
)
WIDTHS_PX: Final[tuple[int, ...]] = (330, 110, 480, 150)


def table_rows(views: Sequence[FlipView]) -> list[tuple[str, ...]]:
    """Return a row for every line at every value, value by value."""
    return [
        (view.title, value_words(view.what, value), line.name, f"{line.seconds[at]:.1f} s")
        for view in views
        for at, value in enumerate(view.values)
        for line in view.lines
    ]


class FlipPanel(QFrame):
    """One chart with its title and what it says in words."""

    def __init__(self, what: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("kind", "card")
        self.setObjectName(f"flip_panel_{what}")
        self.title = QLabel("", self)
        self.title.setProperty("text_kind", "strong")
        self.title.setWordWrap(True)
        self.said = QLabel("", self)
        self.said.setObjectName(f"flip_said_{what}")
        self.said.setWordWrap(True)
        self.plot = FlipPlot(what)
        inside = QVBoxLayout(self)
        inside.setContentsMargins(10, 6, 10, 6)
        inside.setSpacing(2)
        inside.addWidget(self.title)
        inside.addWidget(self.said)
        inside.addWidget(self.plot, 1)
        inside.addStretch(0)

    def set_view(self, shown: FlipView) -> None:
        """Show another chart; one that cannot move says why."""
        self.title.setText(shown.title)
        self.said.setText(shown.said)
        self.plot.setVisible(bool(shown.lines))
        self.plot.set_view(shown)


class FlipsView(QWidget):
    """Panels of all that may move; a small screen shows one of them."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("flips_view")
        self._views: tuple[FlipView, ...] = ()
        self._all = False
        self._part: str = MOVES[0]
        self.panels = {what: FlipPanel(what, self) for what in MOVES}
        spoken = self.tr("When the call changes, in numbers")
        self.table = NumberTable("flips_table", spoken, self)
        self.table.set_columns(
            [QCoreApplication.translate("FlipsView", name) for name in COLUMNS], WIDTHS_PX
        )
        grid_page = QWidget(self)
        self._grid = QGridLayout(grid_page)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setSpacing(6)
        for number, panel in enumerate(self.panels.values()):
            self._grid.addWidget(panel, number // 2, number % 2)
        self.stack = QStackedWidget(self)
        self.stack.addWidget(grid_page)
        self.stack.addWidget(self.table)
        inside = QVBoxLayout(self)
        inside.setContentsMargins(0, 0, 0, 0)
        inside.addWidget(self.stack, 1)

    @property
    def is_table(self) -> bool:
        """Whether the numbers are shown."""
        return self.stack.currentWidget() is self.table

    def set_views(self, views: Sequence[FlipView]) -> None:
        """Show other charts."""
        self._views = tuple(views)
        for view in self._views:
            self.panels[view.what].set_view(view)
        self._refresh()

    def show_part(self, part: str) -> None:
        """Bring one of those that move to the front."""
        self._part = part
        self._refresh()

    def show_all(self, *, shown: bool) -> None:
        """Show all four at once, or one."""
        self._all = shown
        self._refresh()

    def show_table(self, *, shown: bool) -> None:
        """Show the numbers, or the charts again."""
        self.stack.setCurrentIndex(int(shown))
        self._refresh()

    def set_theme(self, theme: Theme, text_px: int = LEAST_TEXT_PX) -> None:
        """Take the colours of a theme."""
        look = chart_look(theme, max(LEAST_TEXT_PX, text_px))
        for panel in self.panels.values():
            panel.plot.set_look(look)

    def _refresh(self) -> None:
        for what, panel in self.panels.items():
            panel.setVisible(self._all or what == self._part)
        if not self.is_table:
            return
        shown = [v for v in self._views if self._all or v.what == self._part]
        self.table.set_rows(table_rows(shown))
