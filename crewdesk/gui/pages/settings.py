"""Settings: what the crew decides once, sizes, and the clock."""

from datetime import timedelta

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QLineEdit

from crewdesk.gui.page import Page
from crewdesk.gui.parts import Choice, button, column, label, row
from crewdesk.gui.session import Session
from crewdesk.gui.texts import clock, zone_words
from crewdesk.gui.theme import Sizes, Theme
from crewdesk.journal.entries import ClockOffset, DocumentsChanged


class SettingsPage(Page):
    """New tyre worth, weight of the worst days, when a better call is offered, touch size."""

    key = "settings"
    wide = True
    touch_chosen = Signal(float)

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.title = label(self.tr("Settings"), "settings_title", "title")
        self.worth = Choice(
            "new_tyre_worth",
            [
                (self.tr("The result first, 1 s"), 1.0),
                (self.tr("Balanced, 5 s"), 5.0),
                (self.tr("Make them last, 25 s"), 25.0),
            ],
            lambda value: self._set("new_tyre_worth_s", value),
            kind="part",
        )
        self.worst = Choice(
            "worst_tenth",
            [
                (self.tr("Ignore"), 0.0),
                (self.tr("Some, a tenth"), 0.1),
                (self.tr("Much, half"), 0.5),
            ],
            lambda value: self._set("worst_tenth_weight", value),
            kind="part",
        )
        self.gain = Choice(
            "keep_gain",
            [(self.tr("2 s"), 2.0), (self.tr("5 s"), 5.0), (self.tr("10 s"), 10.0)],
            lambda value: self._set("keep_gain_s", value),
            kind="part",
        )
        self.call_by = Choice(
            "call_before",
            [(self.tr("15 min"), 15.0), (self.tr("30 min"), 30.0), (self.tr("45 min"), 45.0)],
            lambda value: self._set("call_before_in_min", value),
            kind="part",
        )
        self.touch = Choice(
            "touch_size",
            [(self.tr("1.0"), 1.0), (self.tr("1.2"), 1.2), (self.tr("1.4"), 1.4)],
            self._touch,
            kind="part",
        )
        self.time = QLineEdit()
        self.time.setObjectName("clock_time")
        self.time.setAccessibleName(self.tr("Event time now, hh:mm"))
        self.time.setPlaceholderText(self.tr("hh:mm"))
        self.set_time = button(self.tr("Set the clock"), "clock_set", self._set_clock)
        self.clock_words = label("", "clock_words", "muted", wrap=True)
        grid = QGridLayout()
        grid.setHorizontalSpacing(10)
        grid.setVerticalSpacing(6)
        for at, (name, text, what) in enumerate(
            (
                ("worth", self.tr("One new tyre is worth"), self.worth),
                ("worst", self.tr("The worst day in ten counts"), self.worst),
                ("gain", self.tr("Offer a better call above"), self.gain),
                ("call", self.tr("The call is due before IN"), self.call_by),
                ("touch", self.tr("Touch size"), self.touch),
            )
        ):
            grid.addWidget(label(text, f"settings_{name}", "strong", wrap=True), at, 0)
            grid.addWidget(what, at, 1)
        grid.addWidget(label(self.tr("Clock"), "settings_clock", "strong"), 5, 0)
        grid.addLayout(row(self.time, self.set_time), 5, 1)
        grid.setColumnStretch(0, 2)
        grid.setColumnStretch(1, 5)
        self.setLayout(column(self.title, grid, self.clock_words, 1))

    def heading(self) -> str:
        return self.tr("Settings")

    def primary_text(self) -> str:
        return self.tr("Back")

    def primary(self) -> None:
        self.go.emit("back")

    def refresh(self) -> None:
        if not self.session.is_open:
            return
        settings = self.session.bundle.event.settings
        self.worth.set_value(settings.new_tyre_worth_s)
        self.worst.set_value(settings.worst_tenth_weight)
        self.gain.set_value(settings.keep_gain_s)
        self.call_by.set_value(settings.call_before_in_min)
        zone = self.session.zone
        self.clock_words.setText(
            self.tr(
                "Event time now {0} ({1}), machine {2}. Type the right time and set it."
            ).format(
                clock(self.session.now(), zone),
                zone_words(self.session.now(), zone),
                clock(self.session.clock(), zone),
            )
        )

    def set_look(self, _theme: Theme, sizes: Sizes) -> None:
        self.touch.set_value(sizes.touch)

    def _set(self, name: str, value: object) -> None:
        self.session.enter(
            DocumentsChanged(what="setting", target=name, value=value),
            self.tr("setting: {0}").format(name.replace("_", " ")),
        )

    def _touch(self, value: object) -> None:
        self.touch_chosen.emit(float(str(value)))

    def _set_clock(self) -> None:
        session = self.session
        try:
            hour, minute = (int(x) for x in self.time.text().strip().split(":"))
            wanted = (
                session.now()
                .astimezone(session.zone)
                .replace(hour=hour, minute=minute, second=0, microsecond=0)
            )
        except ValueError:
            session.notice("note", self.tr("Type the time as hh:mm, as 11:25."))
            return
        offset = wanted - session.clock()
        session.enter(
            ClockOffset(offset_s=round(offset / timedelta(seconds=1))),
            self.tr("clock set to {0}").format(self.time.text().strip()),
        )
        self.time.clear()
