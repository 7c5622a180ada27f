"""Wear: hosts the charts, which are built only when the page is first shown."""

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QVBoxLayout, QWidget

from crewdesk.gui.page import Page
from crewdesk.gui.parts import label
from crewdesk.gui.session import Session
from crewdesk.gui.theme import THEMES, Sizes, Theme

if TYPE_CHECKING:
    from crewdesk.gui.charts.wear import WearCharts


def make_charts(theme: Theme, arrangement: Any = "column") -> "WearCharts":
    """Build the charts; their library is heavy, so it is imported here and not before."""
    from crewdesk.gui.charts.wear import WearCharts

    charts = WearCharts(arrangement)
    charts.set_theme(theme)
    return charts


def feed_charts(charts: QWidget, session: Session, theme: Theme) -> None:
    """Give the charts what the last answer holds; without one they are empty."""
    charts.set_theme(theme)  # type: ignore[attr-defined]
    if session.is_open:
        found = session.answer.charts if session.answer is not None else ()
        charts.set_charts(found, session.zone)  # type: ignore[attr-defined]


class WearPage(Page):
    """Four charts of the tread, past and expected."""

    key = "wear"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._charts: WearCharts | None = None
        self._theme = THEMES["light"]
        self._compact = False
        self._wait = label(self.tr("Charts loading …"), "wear_wait", "strong")
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.addWidget(self._wait)
        session.answered.connect(self.refresh)

    def heading(self) -> str:
        return self.tr("Wear")

    def primary_text(self) -> str:
        return self.tr("Back")

    def primary(self) -> None:
        self.go.emit("back")

    def entered(self) -> None:
        if self._charts is None:
            QTimer.singleShot(0, self, self._build)

    def _build(self) -> None:
        if self._charts is not None:
            return
        self._charts = make_charts(self._theme, "pair" if self._compact else "grid")
        self._column.addWidget(self._charts)
        self.refresh()

    def refresh(self) -> None:
        if self._charts is not None and self.isVisible():
            drawn = self.session.answer is not None and bool(self.session.answer.charts)
            # Charts of nothing would be an empty page: say what is missing.
            self._wait.setText(self.tr("No wear to show yet: it comes with the first call."))
            self._wait.setVisible(not drawn)
            self._charts.setVisible(drawn)
            feed_charts(self._charts, self.session, self._theme)

    def set_look(self, theme: Theme, sizes: Sizes) -> None:
        self._theme, self._compact = theme, sizes.compact
        if self._charts is not None:
            self._charts.set_theme(theme)
            self._charts.set_arrangement("pair" if sizes.compact else "grid")
