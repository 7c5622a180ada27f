"""Help: every key, from the one table, and the user guide beside it."""

from PySide6.QtCore import QCoreApplication
from PySide6.QtWidgets import QGridLayout, QSizePolicy, QWidget

from crewdesk.gui.keys import KEYS, TYPED
from crewdesk.gui.page import Page
from crewdesk.gui.pages.guide import GuideView
from crewdesk.gui.parts import column, label, row, scrolling
from crewdesk.gui.session import Session
from crewdesk.gui.theme import Sizes, Theme

_KEYS_PX, _KEYS_COMPACT_PX = 400, 320


class HelpPage(Page):
    """All keys under F1, and the guide."""

    key = "help"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        inside = QWidget()
        grid = QGridLayout(inside)
        grid.setContentsMargins(0, 0, 4, 0)
        grid.setHorizontalSpacing(12)
        grid.setVerticalSpacing(6)
        lines = [(k.shown, k.does) for k in KEYS if k.shown] + list(TYPED)
        for at, (keys, does) in enumerate(lines):
            words = QCoreApplication.translate("Keys", does)
            grid.addWidget(label(keys, f"help_key_{at}", "strong", wrap=True), at, 0)
            grid.addWidget(label(words, f"help_does_{at}", wrap=True), at, 1)
        grid.setColumnMinimumWidth(0, 130)
        grid.setColumnStretch(1, 1)
        grid.setRowStretch(len(lines), 1)
        self.guide = GuideView()
        keys_side = QWidget()
        keys_side.setLayout(
            column(
                label(self.tr("All keys"), "help_title", "title"),
                scrolling("help_keys", inside),
            )
        )
        keys_side.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Preferred)
        self._keys_side = keys_side
        both = row(keys_side, self.guide, spacing=12)
        both.setStretch(1, 1)
        self.setLayout(both)

    def heading(self) -> str:
        return self.tr("Help")

    def primary_text(self) -> str:
        return self.tr("Back")

    def primary(self) -> None:
        self.go.emit("back")

    def entered(self) -> None:
        self.guide.search.setFocus()

    def set_look(self, theme: Theme, sizes: Sizes) -> None:
        self._keys_side.setFixedWidth(_KEYS_COMPACT_PX if sizes.compact else _KEYS_PX)
        self.guide.set_look(theme, sizes)
