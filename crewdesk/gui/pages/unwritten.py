"""The window was to be closed while some values are in no book: write them, stay, or lose."""

from PySide6.QtCore import Signal

from crewdesk.gui.page import Page
from crewdesk.gui.parts import button, clear, column, label, lines_in, row
from crewdesk.gui.session import Session


class UnwrittenPage(Page):
    """Names the values; nothing is lost without a tap that says so."""

    key = "unwritten"
    write_wanted = Signal()
    loss_wanted = Signal()

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.values: tuple[str, ...] = ()
        self.title = label("", "unwritten_title", "title", wrap=True)
        self.why = label(
            self.tr(
                "Make room on the disk, or plug it in again, then write them. They stay in "
                "their boxes, marked ⚠, as long as this window is open."
            ),
            "unwritten_why",
            wrap=True,
        )
        self._lines, area = lines_in("unwritten_values", spacing=4)
        self.stay = button(self.tr("Stay, close later"), "unwritten_stay", self._stay)
        self.lose = button("", "unwritten_lose", self.loss_wanted.emit)
        self.setLayout(
            column(self.title, self.why, area, row(self.stay, 1, self.lose, spacing=24))
        )
        self.show_values(())

    def heading(self) -> str:
        return self.tr("Not written")

    def primary_text(self) -> str:
        return self.tr("Write them now") if self.values else self.tr("Back")

    def primary(self) -> None:
        if self.values:
            self.write_wanted.emit()
        else:
            self._stay()

    def show_values(self, values: tuple[str, ...]) -> None:
        """Show what is not in the book."""
        self.values = values
        count = len(values)
        title = self.tr("All that was entered is in the day book.")
        if count == 1:
            title = self.tr("One value is not in the day book yet. Closing would lose it.")
        elif count:
            words = self.tr("{0} values are not in the day book yet. Closing would lose them.")
            title = words.format(count)
        self.title.setText(title)
        self.why.setVisible(bool(count))
        self.lose.setVisible(bool(count))
        words = (
            self.tr("Close and lose 1 value")
            if count == 1
            else self.tr("Close and lose {0} values").format(count)
        )
        self.lose.setText(words)
        self.lose.setAccessibleName(words)
        clear(self._lines)
        for index, text in enumerate(values):
            self._lines.addWidget(label(f"⚠ {text}", f"unwritten_{index}", "strong", wrap=True))
        self._lines.addStretch(1)
        self.primary_changed.emit()

    def _stay(self) -> None:
        self.go.emit("back")
