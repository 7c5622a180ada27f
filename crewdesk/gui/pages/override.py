"""A rule stopped an entry: take it on with a name and a reason, or leave it."""

from typing import TYPE_CHECKING, Any

from PySide6.QtWidgets import QLineEdit

from crewdesk.gui.page import Page
from crewdesk.gui.parts import Choice, button, column, label, row
from crewdesk.gui.session import Session
from crewdesk.journal.entries import Override

if TYPE_CHECKING:
    from crewdesk.desk.answer import Receipt


class OverridePage(Page):
    """Five reasons and free words; the button stays."""

    key = "override"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._body: Any = None
        self._codes: tuple[str, ...] = ()
        self.title = label(self.tr("A rule stops this entry"), "override_title", "title")
        self.said = label("", "override_said", "stops", wrap=True)
        self.reason = Choice(
            "override_reason",
            [
                (self.tr("Driver"), "driver"),
                (self.tr("Damage"), "damage"),
                (self.tr("Parts"), "parts"),
                (self.tr("Time"), "time"),
                (self.tr("Other"), "other"),
            ],
            lambda _value: None,
        )
        self.words, self.name = QLineEdit(), QLineEdit()
        self.words.setObjectName("override_words")
        self.words.setAccessibleName(self.tr("Reason in words"))
        self.words.setPlaceholderText(self.tr("reason in words"))
        self.name.setObjectName("override_name")
        self.name.setAccessibleName(self.tr("Name of who takes it on"))
        self.name.setPlaceholderText(self.tr("name"))
        self.anyway = button(self.tr("Enter it all the same"), "override_anyway", self._anyway)
        self.setLayout(
            column(
                self.title,
                self.said,
                label(self.tr("Reason"), "override_reason_label", "strong"),
                self.reason,
                self.words,
                label(self.tr("Who takes it on"), "override_name_label", "strong"),
                self.name,
                row(1, self.anyway),
                1,
            )
        )

    def heading(self) -> str:
        return self.tr("Stopped")

    def primary_text(self) -> str:
        return self.tr("Back, put it right")

    def primary(self) -> None:
        self.session.notice_seen()
        self.go.emit("back")

    def ask(self, body: object, receipt: "Receipt") -> None:
        """Take what was refused."""
        self._body = body
        stops = [m for m in receipt.messages if m.level == "stops"]
        self._codes = tuple(m.code for m in stops)
        self.said.setText("\n".join(f"■ stops: {m.text} ({m.code})" for m in stops))
        self.reason.set_value(None)
        self.words.clear()

    def _anyway(self) -> None:
        name = self.name.text().strip()
        reason = str(self.reason.value or "")
        words = self.words.text().strip()
        if not name or not (reason or words):
            self.session.notice("note", self.tr("A name and a reason are needed for this."))
            return
        said = ": ".join(w for w in (reason, words) if w)
        place = getattr(self._body, "place", "")
        taken_on = [
            Override(code=code, name=name, reason=said, place=place) for code in self._codes
        ]
        if self._still_stopped(taken_on):
            return
        for one in taken_on:
            receipt = self.session.enter(
                one, self.tr("{0} taken on by {1}").format(one.code, name)
            )
            if receipt is None or not receipt.accepted:
                return
        receipt = self.session.enter(self._body, self.tr("entered all the same"))
        if receipt is not None and receipt.accepted:
            self.go.emit("back")

    def _still_stopped(self, taken_on: list[Override]) -> bool:
        """Say what no name moves; then nothing is entered, the overrides neither."""
        day = self.session.day
        if day is None:
            return True
        stops = [m for m in day.said_after(taken_on, self._body) if m.level == "stops"]
        if not stops:
            return False
        self._codes = tuple(dict.fromkeys((*self._codes, *(m.code for m in stops))))
        self.said.setText("\n".join(f"■ stops: {m.text} ({m.code})" for m in stops))
        self.session.notice("stops", stops[0].text)
        return True
