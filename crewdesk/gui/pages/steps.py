"""All steps and all pages as buttons: the rail where there is no room for it."""

from functools import partial

from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QGridLayout, QWidget

from crewdesk.gui.page import Page
from crewdesk.gui.parts import button, clear, column, label, scrolling
from crewdesk.gui.session import Session
from crewdesk.gui.timing import steps_of_day

BUTTON_PX = 180
SCROLL_PX = 40
STEPS_TOO = ("load", "handover")
"""Pages that stand among the steps of the day where an event is open."""
_SIGNS = {"done": "✓", "now": "▶", "to come": "○"}


class StepsPage(Page):
    """F12."""

    key = "steps"
    wide = True

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._inside = QWidget()
        self._grid = QGridLayout(self._inside)
        self._grid.setSpacing(6)
        self._in_a_row = 4
        self.setLayout(
            column(
                label(self.tr("All steps"), "steps_title", "title"),
                scrolling("steps_list", self._inside),
            )
        )

    def heading(self) -> str:
        return self.tr("All steps")

    def primary_text(self) -> str:
        return self.tr("Step now")

    def primary(self) -> None:
        self.go.emit("now")

    def refresh(self) -> None:
        clear(self._grid)
        at, per_row = 0, self._in_a_row
        open_now = self.session.is_open
        if open_now:
            for step in steps_of_day(self.session.bundle, self.session.state):
                text = f"{_SIGNS[step.mark]} {step.label}"
                made = button(
                    text,
                    f"steps_{at}",
                    partial(self.go.emit, step.key),
                    spoken=f"{step.label}, {step.mark}",
                    kind="step",
                )
                self._grid.addWidget(made, at // per_row, at % per_row)
                at += 1
        at = -(-at // per_row) * per_row
        for text, key in (
            (self.tr("Load event"), "load"),
            (self.tr("New event"), "new_event"),
            (self.tr("Before the event"), "before_event"),
            (self.tr("Stages"), "stages"),
            (self.tr("Bulletin"), "change"),
            (self.tr("Rules"), "rules"),
            (self.tr("Rules say now"), "rules_say"),
            (self.tr("Minutes, people"), "minutes"),
            (self.tr("Wheels plan"), "wheels_plan"),
            (self.tr("Wheels moved"), "moved"),
            (self.tr("Find a wheel"), "find"),
            (self.tr("Add a tyre"), "add_tyre"),
            (self.tr("Damage card"), "damage"),
            (self.tr("Tyre check"), "mark_check"),
            (self.tr("List of tyres"), "nomination"),
            (self.tr("Cautions"), "cautions"),
            (self.tr("What was learnt"), "learnt"),
            (self.tr("When the call changes"), "flips"),
            (self.tr("Simulated days"), "backtest"),
            (self.tr("Day book"), "book"),
            (self.tr("Settings"), "settings"),
            (self.tr("Handover"), "handover"),
            (self.tr("Help"), "help"),
        ):
            if open_now and key in STEPS_TOO:
                continue
            self._grid.addWidget(
                button(text, f"to_{key}", partial(self.go.emit, key), kind="step"),
                at // per_row,
                at % per_row,
            )
            at += 1
        for line in range(self._grid.rowCount()):
            self._grid.setRowStretch(line, 0)
        self._grid.setRowStretch(at // per_row + 1, 1)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        room = max(3, (event.size().width() - SCROLL_PX) // BUTTON_PX)
        if room != self._in_a_row:
            self._in_a_row = room
            self.refresh()
