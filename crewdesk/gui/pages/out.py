"""Out: wheels read back from the car, a torque tick for each corner, a name."""

from functools import partial

from PySide6.QtWidgets import QGridLayout, QLabel, QLineEdit, QPushButton, QWidget

from crewdesk.gui.box_host import BoxHost
from crewdesk.gui.boxes import BoxSpec, BoxWalk
from crewdesk.gui.page import Page
from crewdesk.gui.parts import button, clear, column, label, row, set_kind
from crewdesk.gui.session import Session
from crewdesk.gui.texts import LONG, SHORT, WALK, as_place, wheel
from crewdesk.gui.views import wheels_off
from crewdesk.journal.entries import ControlTime, ReadBack
from crewdesk.units import CORNERS, PLACES, Corner, Place


class OutPage(Page):
    """Ids are read from the car, not ticked off the sheet."""

    key = "out"
    part = "out"
    keypad = True

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._shape: tuple[object, ...] = ()
        self._ticks: set[Corner] = set()
        self._read: dict[Place, str] = {}
        self._grid_widget = QWidget()
        self._grid = QGridLayout(self._grid_widget)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(10)
        self._grid.setVerticalSpacing(4)
        self.title = label(self.tr("Read the wheels from the car"), "out_title", "title")
        self.words = label("", "out_words", "muted", wrap=True)
        self.name = QLineEdit()
        self.name.setObjectName("out_name")
        self.name.setAccessibleName(self.tr("Name of who read and torqued"))
        self.name.setPlaceholderText(self.tr("name"))
        self.all_torqued = button(self.tr("All torqued"), "torque_all", self._all)
        self.setLayout(
            column(
                self.title,
                self._grid_widget,
                row(
                    label(self.tr("Torqued and read by"), "out_name_label", "strong"),
                    self.name,
                    self.all_torqued,
                    button(
                        self.tr("Cautions"), "out_cautions", lambda: self.go.emit("cautions")
                    ),
                ),
                self.words,
                1,
                spacing=4,
            )
        )

    def heading(self) -> str:
        return self.tr("Out")

    def primary_text(self) -> str:
        return self.tr("Out")

    def entered(self) -> None:
        if self.host is not None:
            self.host.start()

    def refresh(self) -> None:
        if not self.session.is_open:
            return
        state = self.session.state
        fitted = dict(state.fitted.tyres) if state.fitted is not None else {}
        place = self.session.place
        shape = (place.key if place else "", tuple(sorted(fitted.items())))
        if shape != self._shape:
            self._shape = shape
            self._ticks.clear()
            self._read.clear()
            self._build(fitted)
        self._mark()

    def _build(self, fitted: dict[Place, str | None]) -> None:
        if self.host is not None:
            self.host.retire()
        clear(self._grid)
        places = [p for p in WALK if fitted.get(p)]
        walk = BoxWalk(
            [
                BoxSpec(
                    p,
                    "rim",
                    self.tr("{0}: rim or tyre").format(LONG[p]),
                    hint=self.tr("two digits, or all and Enter, or scan"),
                )
                for p in places
            ],
            resolve=self.session.find_tyre,
        )
        self.host = BoxHost(walk, self)
        self.host.committed.connect(self._typed)
        due = {t.corner for t in self.session.state.torque_due}
        for line, p in enumerate(places):
            self._grid.addWidget(label(SHORT[p], f"out_place_{p}", "strong"), line, 0)
            self._grid.addWidget(self.host.make_field(p), line, 1)
            self._grid.addWidget(label("", f"out_says_{p}", ""), line, 2)
            if p in CORNERS:
                text = self.tr("Torque") if p in due else self.tr("Torque again")
                tick = button(
                    text,
                    f"torque_{p}",
                    partial(self._tick, p),
                    spoken=self.tr("{0} torqued").format(LONG[p]),
                    checkable=True,
                )
                self._grid.addWidget(tick, line, 3)
        if not places:
            self._grid.addWidget(
                label(self.tr("Nothing is fitted yet."), "out_none", "strong"), 0, 0
            )
        self._grid.setColumnStretch(1, 2)
        self._grid.setColumnStretch(2, 3)
        self.host_changed.emit()

    def _mark(self) -> None:
        fitted = self.session.state.fitted
        car = fitted.tyres if fitted is not None else {}
        for p in PLACES:
            says = self.findChild(QLabel, f"out_says_{p}")
            read = self._read.get(p)
            if says is None:
                continue
            if read is None:
                text, kind = self.tr("not read yet"), "muted"
            elif read == car.get(p):
                text, kind = self.tr("✓ {0}").format(self._wheel(read)), "ok"
            else:
                text = self.tr("■ stops: sheet says {0}").format(self._wheel(car.get(p)))
                kind = "stops"
            says.setText(text)
            set_kind(says, kind)
            tick = self.findChild(QPushButton, f"torque_{p}")
            if tick is not None:
                on = p in self._ticks
                tick.setChecked(on)
                due = p in {t.corner for t in self.session.state.torque_due}
                plain = self.tr("Torque") if due else self.tr("Torque again")
                tick.setText(self.tr("✓ Torque") if on else plain)
        self.words.setText(
            self.tr("Out without reading back keeps the fitting as proposed, not checked.")
            if not self._read
            else ""
        )

    def _wheel(self, tyre_id: str | None) -> str:
        return wheel(self.session.rim_of(tyre_id), tyre_id)

    def _typed(self, key: str, value: object, word: str) -> None:
        place = as_place(key)
        if place is None:
            return
        if word or value is None:
            self._read.pop(place, None)
        else:
            self._read[place] = str(value)
        self._mark()

    def _tick(self, corner: Corner) -> None:
        self._ticks ^= {corner}
        self._mark()

    def _all(self) -> None:
        fitted = self.session.state.fitted
        car = fitted.tyres if fitted is not None else {}
        self._ticks = {c for c in CORNERS if car.get(c)}
        self._mark()

    def primary(self) -> None:
        place = self.session.place
        if not self.session.is_open or place is None:
            self.go.emit("loop")
            return
        if self._read or self._ticks:
            body = ReadBack(
                place=place.key,
                fitting=dict(self._read),
                torque=tuple(c for c in CORNERS if c in self._ticks),
                name=self.name.text().strip(),
            )
            receipt = self.session.enter(
                body, self.tr("out of {0}, read back").format(place.key)
            )
        else:
            # Nobody passes an OUT control before its time; a press before it is no early start.
            receipt = self.session.enter(
                ControlTime(ref=place.out_ref, time=max(self.session.now(), place.due_out_utc)),
                self.tr("out of {0}, not checked").format(place.key),
            )
        if receipt is None or not receipt.accepted:
            return
        if self.session.state.at_place == place.key:
            # It was not read as the sheet says: the car is still here.
            self._mark()
        else:
            self._shape = ()
            left = wheels_off(self.session.state)
            self.go.emit("left_behind" if left else "on_the_way")
