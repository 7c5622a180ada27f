"""Help: every key, from the one table."""

from PySide6.QtCore import QCoreApplication
from PySide6.QtWidgets import QGridLayout, QWidget

from crewdesk.gui.keys import KEYS, TYPED
from crewdesk.gui.page import Page
from crewdesk.gui.parts import column, label, scrolling
from crewdesk.gui.session import Session


class HelpPage(Page):
    """All keys under F1."""

    key = "help"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        inside = QWidget()
        grid = QGridLayout(inside)
        grid.setHorizontalSpacing(14)
        grid.setVerticalSpacing(4)
        lines = [(k.shown, k.does) for k in KEYS if k.shown] + list(TYPED)
        half = (len(lines) + 1) // 2
        for at, (keys, does) in enumerate(lines):
            line, side = at % half, 2 * (at // half)
            words = QCoreApplication.translate("Keys", does)
            grid.addWidget(label(keys, f"help_key_{at}", "strong"), line, side)
            grid.addWidget(label(words, f"help_does_{at}", wrap=True), line, side + 1)
        grid.setColumnStretch(1, 1)
        grid.setColumnStretch(3, 1)
        grid.setRowStretch(half, 1)
        self.setLayout(
            column(
                label(self.tr("Help: all keys"), "help_title", "title"),
                label(
                    self.tr(
                        "■ stops: a rule or a limit is broken; a name and a reason take it "
                        "on. ⚠ watch: look at it. note: worth knowing. The call is advice; the "
                        "crew decides and the driver drives to what he finds."
                    ),
                    "help_levels",
                    wrap=True,
                ),
                scrolling("help_keys", inside),
            )
        )

    def heading(self) -> str:
        return self.tr("Help")

    def primary_text(self) -> str:
        return self.tr("Back")

    def primary(self) -> None:
        self.go.emit("back")
