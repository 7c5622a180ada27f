"""The bottom line: undo, what was said last, open questions, side pages, the primary button."""

import re

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFontMetrics, QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QFrame, QLabel, QSizePolicy

from crewdesk.gui.parts import button, row, set_kind
from crewdesk.gui.session import Session

_BOOK = re.compile(r"(?:(?<![A-Za-z])([Tt]he day book) )?\S+\.daybook\b")
_PATH = re.compile(r"(?:/[^\s/:]+){2,}/([^\s/:]+)")


NARROW_PX = 1200
"""Under this a message that stops would be left with a few words."""


def short_paths(text: str) -> str:
    """Return a message without the folders of its files: two lines hold what matters.

    >>> short_paths("The day book /data/books/9e11.daybook is open only to be read.")
    'The day book is open only to be read.'
    >>> short_paths("/data/books/9e11.daybook was written by a newer crewdesk.")
    'The day book was written by a newer crewdesk.'
    >>> short_paths("Sheet kept as /crew/papers/B/sheet_B_1.pdf")
    'Sheet kept as …/sheet_B_1.pdf'
    """
    return _PATH.sub(r"…/\1", _BOOK.sub(lambda found: found[1] or "The day book", text))


class NoticeLabel(QLabel):
    """One or two lines of a message; the end is left out where it does not fit."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("notice")
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setWordWrap(True)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self._whole = ""

    def show_words(self, text: str) -> None:
        self._whole = text
        self.setToolTip(text)
        self.setAccessibleName(text)
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        self.ensurePolished()
        width = max(40, self.contentsRect().width() - 16)
        metrics = QFontMetrics(self.font())
        self.setText(
            metrics.elidedText(
                short_paths(self._whole), Qt.TextElideMode.ElideRight, int(width * 1.8)
            )
        )


class BottomBar(QFrame):
    """Always on screen; the primary button is never off."""

    primary_fired = Signal()
    undo_wanted = Signal()
    questions_wanted = Signal()
    incident_wanted = Signal()
    wear_wanted = Signal()
    stock_wanted = Signal()
    log_wanted = Signal()

    def __init__(self, session: Session) -> None:
        super().__init__()
        self._session = session
        self.setObjectName("bottombar")
        self.setProperty("kind", "foot")
        self.undo = button(
            self.tr("↶ Undo\nCtrl+Z"),
            "undo",
            self.undo_wanted.emit,
            spoken=self.tr("Undo, Ctrl+Z"),
        )
        self.notice = NoticeLabel()
        self.seen = button(self.tr("Seen"), "notice_seen", session.notice_seen)
        self.seen.hide()
        self.incident = button(
            self.tr("Incident\nCtrl+I"),
            "incident",
            self.incident_wanted.emit,
            spoken=self.tr("Incident, Ctrl+I"),
        )
        self.questions = button("", "questions", self.questions_wanted.emit)
        self.wear = button(
            self.tr("Wear\nF9"), "wear", self.wear_wanted.emit, spoken=self.tr("Wear, F9")
        )
        self.stock = button(
            self.tr("Stock\nF10"), "stock", self.stock_wanted.emit, spoken=self.tr("Stock, F10")
        )
        self.primary = button("", "primary", self.primary_fired.emit, kind="primary")
        self._lines = QBoxLayout(QBoxLayout.Direction.LeftToRight, self)
        self._lines.setContentsMargins(12, 4, 12, 4)
        self._lines.setSpacing(8)
        self._said = row(self.undo, self.notice, self.seen, spacing=8)
        self._said.setStretch(1, 1)
        self._ways = row(
            self.incident, self.questions, self.wear, self.stock, self.primary, spacing=8
        )
        self._lines.addLayout(self._said, 1)
        self._lines.addLayout(self._ways)
        session.changed.connect(self.refresh)
        session.noticed.connect(self.refresh)
        self.refresh()

    def set_upright(self, upright: bool) -> None:
        """Take two lines where the screen is narrow and high."""
        way = QBoxLayout.Direction
        self._lines.setDirection(way.TopToBottom if upright else way.LeftToRight)
        self._lines.setSpacing(4 if upright else 8)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._make_room()

    def _make_room(self) -> None:
        """Give what stops the room of the side pages on a small screen; they have keys."""
        narrow = self.width() < NARROW_PX and self._session.board.waiting
        for made in (self.wear, self.stock, self.incident):
            made.setVisible(not narrow)

    def set_primary(self, text: str) -> None:
        self.primary.setText(f"{text}  ⏎")
        self.primary.setAccessibleName(text)

    def refresh(self) -> None:
        shown = self._session.board.shown
        self.notice.show_words(shown.words if shown is not None else "")
        level = shown.level if shown is not None else ""
        set_kind(
            self.notice,
            level if level in ("watch", "stops") else "ok" if level == "done" else "",
        )
        self.seen.setVisible(self._session.board.waiting)
        self._make_room()
        count = len(self._session.state.open_questions) if self._session.is_open else 0
        self.questions.setText(self.tr("? {0} open\nCtrl+T").format(count))
        self.questions.setAccessibleName(self.tr("{0} open questions, Ctrl+T").format(count))
