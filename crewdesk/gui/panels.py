"""Containers that ask for no more room than they should."""

from typing import Final

from PySide6.QtCore import QEvent, QObject, QSize, Qt, Slot
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QApplication, QFrame, QLabel, QScrollArea, QStackedWidget, QWidget

CHARTS_PX: Final = 480
LOW_PX: Final = QSize(340, 120)
"""What is left of a part at the least on a screen that is too low for all of it."""

LEAST_WORDS_PX: Final = 76
"""Three lines of words that grow."""
WORDS_SHARE: Final = 0.4
"""More of a page they never take from the rest of it."""


class PageStack(QStackedWidget):
    """Pages of which only the one in front asks for room."""

    low = False
    """Whether the screen is too low for all of a page: what it needs is scrolled."""

    def sizeHint(self) -> QSize:
        page = self.currentWidget()
        return page.sizeHint() if page is not None else super().sizeHint()

    def minimumSizeHint(self) -> QSize:
        page = self.currentWidget()
        return page.minimumSizeHint() if page is not None else super().minimumSizeHint()

    def heightForWidth(self, width: int) -> int:
        page = self.currentWidget()
        if not self.low or page is None or not page.hasHeightForWidth():
            return -1
        return page.heightForWidth(width)


class Room(QScrollArea):
    """Holds a part of the window; on a low screen the part is scrolled in it.

    So the strips above and below keep their place, and no button falls off the screen.
    """

    def __init__(self, name: str, inside: QWidget) -> None:
        super().__init__()
        self._inside = inside
        self._low = False
        self.setObjectName(name)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setWidgetResizable(True)
        self.setWidget(inside)
        self.set_low(low=False)
        inside.installEventFilter(self)
        app = QApplication.instance()
        if isinstance(app, QApplication):
            app.focusChanged.connect(self._follow)

    def set_low(self, *, low: bool) -> None:
        """Scroll where the screen is low; else ask for all the room the part needs."""
        self._low = low
        policy = Qt.ScrollBarPolicy
        shown = policy.ScrollBarAsNeeded if low else policy.ScrollBarAlwaysOff
        self.setVerticalScrollBarPolicy(shown)
        self.setHorizontalScrollBarPolicy(shown)
        self.updateGeometry()

    def sizeHint(self) -> QSize:
        return self._inside.sizeHint()

    def minimumSizeHint(self) -> QSize:
        least = self._inside.minimumSizeHint()
        return least.boundedTo(LOW_PX) if self._low else least

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Hide with the part, and ask for other room when it does."""
        if watched is self._inside:
            if event.type() in (QEvent.Type.ShowToParent, QEvent.Type.HideToParent):
                self.setVisible(not self._inside.isHidden())
            elif event.type() == QEvent.Type.LayoutRequest:
                self.updateGeometry()
        return super().eventFilter(watched, event)

    @Slot(QWidget, QWidget)
    def _follow(self, _before: QWidget | None, now: QWidget | None) -> None:
        """Bring the control that has the cursor into view."""
        if self._low and now is not None and self._inside.isAncestorOf(now):
            self.ensureWidgetVisible(now, 12, 12)


def grow(area: QScrollArea, words: QLabel, page_px: int) -> None:
    """Give words the height they need, up to a share of the page.

    What is longer is scrolled, by hand and by the arrow keys.
    """
    words.ensurePolished()
    whole_px = words.heightForWidth(area.viewport().width()) + 2 * area.frameWidth()
    most_px = max(LEAST_WORDS_PX, round(WORDS_SHARE * page_px))
    area.setFixedHeight(min(max(whole_px, LEAST_WORDS_PX), most_px))
    scrolled = whole_px > most_px
    area.setFocusPolicy(Qt.FocusPolicy.StrongFocus if scrolled else Qt.FocusPolicy.NoFocus)


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
