"""A bulletin or a change of our own: position, stage, delay, limit."""

from typing import Any

from PySide6.QtWidgets import QGridLayout, QLineEdit

from crewdesk.gui.page import Page
from crewdesk.gui.parts import Choice, column, label, row
from crewdesk.gui.session import Session
from crewdesk.journal.entries import ControlTime, DocumentsChanged


class ChangePage(Page):
    """What changed, to what, and where it was printed."""

    key = "change"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.title = label(self.tr("Bulletin or change"), "change_title", "title")
        self.what = Choice(
            "change_what",
            [
                (self.tr("Our position"), "position"),
                (self.tr("Stage cancelled"), "stage_cancelled"),
                (self.tr("Stage shorter"), "stage_shortened"),
            ],
            self._took,
            kind="part",
        )
        self.more = Choice(
            "change_more",
            [
                (self.tr("Road speed only"), "stage_road_speed"),
                (self.tr("Everything later"), "delayed"),
                (self.tr("A limit"), "rule"),
                (self.tr("We are late"), "late"),
            ],
            self._took_more,
            kind="part",
        )
        self.target, self.value = QLineEdit(), QLineEdit()
        self.source = QLineEdit()
        self.hint = label("", "change_hint", "muted", wrap=True)
        grid = QGridLayout()
        grid.setSpacing(8)
        for at, (key, text, field) in enumerate(
            (
                ("target", self.tr("To what"), self.target),
                ("value", self.tr("New value"), self.value),
                ("source", self.tr("Printed in"), self.source),
            )
        ):
            field.setObjectName(f"change_{key}")
            field.setAccessibleName(text)
            grid.addWidget(label(text, f"change_{key}_label", "strong"), at, 0)
            grid.addWidget(field, at, 1)
        self.setLayout(column(self.title, row(self.what), row(self.more), grid, self.hint, 1))
        self.what.set_value("position")
        self._explain()

    def heading(self) -> str:
        return self.tr("Bulletin or change")

    def primary_text(self) -> str:
        return self.tr("Enter change")

    def start_with(self, kind: str) -> None:
        """Begin with one kind of change."""
        (self.more if kind == "late" else self.what).set_value(kind)
        (self.what if kind == "late" else self.more).set_value(None)
        self._explain()

    def _took(self, _value: object) -> None:
        self.more.set_value(None)
        self._explain()

    def _took_more(self, _value: object) -> None:
        self.what.set_value(None)
        self._explain()

    def _kind(self) -> str:
        return str(self.what.value or self.more.value or "position")

    def _explain(self) -> None:
        kind = self._kind()
        words = {
            "position": self.tr(
                "To what: the leg, as 2. New value: our place in the order, as 9."
            ),
            "stage_cancelled": self.tr("To what: the stage, as SS5."),
            "stage_shortened": self.tr(
                "To what: the stage, as SS5. New value: its length in km."
            ),
            "stage_road_speed": self.tr("To what: the stage that is driven at road speed."),
            "delayed": self.tr("To what: the control from which on. New value: minutes later."),
            "rule": self.tr(
                "To what: the limit, as qty_total. New value: the number now in force."
            ),
            "late": self.tr("To what: the control, as TC3B. New value: minutes late."),
        }
        self.hint.setText(words[kind])

    def primary(self) -> None:
        session = self.session
        if not session.is_open:
            self.go.emit("load")
            return
        kind, target = self._kind(), self.target.text().strip().upper()
        if kind == "rule":
            target = self.target.text().strip()
        if not target:
            session.notice("note", self.tr("Say what it is about: fill in “To what”."))
            self.target.setFocus()
            return
        value = self._number()
        needs = kind not in ("stage_cancelled", "stage_road_speed")
        if needs and value is None:
            session.notice("note", self.tr("Type the new value as a number."))
            self.value.setFocus()
            return
        body: Any
        if kind == "late":
            body = self._late(target, value or 0.0)
            if body is None:
                session.notice(
                    "note", self.tr("No control {0} in the itinerary.").format(target)
                )
                return
        else:
            body = DocumentsChanged.model_validate(
                {
                    "what": kind,
                    "target": target,
                    "value": int(value) if value is not None and value == int(value) else value,
                    "source": self.source.text().strip(),
                }
            )
        receipt = session.enter(
            body, self.tr("change: {0} {1}").format(target, self.value.text())
        )
        if receipt is not None and receipt.accepted:
            for field in (self.target, self.value, self.source):
                field.clear()
            self.go.emit("back")

    def _late(self, ref: str, minutes: float) -> ControlTime | None:
        from datetime import timedelta

        itinerary = self.session.bundle.itinerary
        for line in itinerary.rows:
            due = itinerary.our_due(line)
            if line.ref.upper() == ref and due is not None:
                return ControlTime(
                    ref=line.ref, time=due + timedelta(minutes=minutes), announced=True
                )
        return None

    def _number(self) -> float | None:
        try:
            return float(self.value.text().strip().replace(",", "."))
        except ValueError:
            return None
