"""All steps and all pages as buttons: the rail where there is no room for it."""

from functools import partial

from PySide6.QtWidgets import QGridLayout, QWidget

from crewdesk.gui.page import Page
from crewdesk.gui.parts import button, clear, column, label, scrolling
from crewdesk.gui.session import Session
from crewdesk.gui.timing import steps_of_day

_SIGNS = {"done": "✓", "now": "▶", "to come": "○"}


class StepsPage(Page):
    """F12."""

    key = "steps"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._inside = QWidget()
        self._grid = QGridLayout(self._inside)
        self._grid.setSpacing(6)
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
        at = 0
        if self.session.is_open:
            for step in steps_of_day(self.session.bundle, self.session.state):
                text = f"{_SIGNS[step.mark]} {step.label}"
                made = button(
                    text,
                    f"steps_{at}",
                    partial(self.go.emit, step.key),
                    spoken=f"{step.label}, {step.mark}",
                    kind="step",
                )
                self._grid.addWidget(made, at // 4, at % 4)
                at += 1
        at = (at + 3) // 4 * 4
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
            (self.tr("Simulated days"), "backtest"),
            (self.tr("Day book"), "book"),
            (self.tr("Settings"), "settings"),
            (self.tr("Handover"), "handover"),
            (self.tr("Help"), "help"),
        ):
            self._grid.addWidget(
                button(text, f"to_{key}", partial(self.go.emit, key), kind="step"),
                at // 4,
                at % 4,
            )
            at += 1
        self._grid.setRowStretch(at // 4 + 1, 1)
