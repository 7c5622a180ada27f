"""Two containers that ask for no more room than they should."""

from typing import Final

from PySide6.QtCore import QSize
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QStackedWidget, QWidget

CHARTS_PX: Final = 480


class PageStack(QStackedWidget):
    """Pages of which only the one in front asks for room."""

    def sizeHint(self) -> QSize:
        page = self.currentWidget()
        return page.sizeHint() if page is not None else super().sizeHint()

    def minimumSizeHint(self) -> QSize:
        page = self.currentWidget()
        return page.minimumSizeHint() if page is not None else super().minimumSizeHint()


class SideColumn(QWidget):
    """The charts beside the slots; they never keep the window from getting smaller."""

    def __init__(self, charts: QWidget) -> None:
        super().__init__()
        self.charts = charts
        self.setMaximumWidth(CHARTS_PX)
        charts.setParent(self)

    def sizeHint(self) -> QSize:
        return QSize(CHARTS_PX, 400)

    def minimumSizeHint(self) -> QSize:
        return QSize(0, 0)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.charts.setGeometry(self.rect())
