"""Car in: as found, hot pressures of six, look, tread of what stays on, the driver."""

from collections.abc import Mapping
from functools import partial
from typing import Final

from PySide6.QtCore import QTimer, Slot
from PySide6.QtWidgets import QGridLayout, QWidget

from crewdesk.gui.box_host import BoxHost
from crewdesk.gui.boxes import BoxWalk
from crewdesk.gui.page import Page
from crewdesk.gui.pages.car_in_boxes import (
    LOOKS,
    POINTS,
    car_specs,
    in_the_book,
    last_tread,
    prefill,
)
from crewdesk.gui.pages.since import SinceLine
from crewdesk.gui.parts import Choice, button, clear, column, label, row, set_kind
from crewdesk.gui.readings import TreadKeeper
from crewdesk.gui.session import Session
from crewdesk.gui.texts import SHORT, WALK, as_place, bar, wheel
from crewdesk.gui.theme import Sizes, Theme
from crewdesk.gui.views import planned_of
from crewdesk.journal.entries import (
    AsFound,
    Correction,
    DriverWords,
    LookEntry,
    Reading,
)
from crewdesk.units import CORNERS, PLACES, Place


def _keeps(same: set[Place], key: str) -> bool:
    """Say whether a box is still about the same thing once the car is another one."""
    what, _, place = key.partition(":")
    return what == "found" or not place or place in same


FOUND_MS: Final = 300
"""Wheels read one after another are one entry; it is made once nothing more comes."""


class CarInPage(Page):
    """Needed before OUT is a thick box, what can wait a thin one."""

    key = "car_in"
    part = "car_in"
    keypad = True
    about_tyres = True

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._shape: tuple[object, ...] = ()
        self._keeper = TreadKeeper(session)
        self._built: Mapping[Place, str | None] = {}
        self._built_for = ""
        self._read_off: dict[Place, str] = {}
        """Wheels read off the car that the book does not have yet."""
        self._soon = QTimer(self, singleShot=True, interval=FOUND_MS)
        self._soon.timeout.connect(self._enter_found)
        self._compact = False
        # make
        self.agree = button(self.tr("As in the book"), "found_all", self._agree)
        self.differ = button(
            self.tr("One differs"), "found_differs", self._differs, checkable=True
        )
        self.found_words = label(self.tr("As found?"), "found_words", "strong")
        self.cautions = button(
            self.tr("Hot: gloves,\nstands first"),
            "car_in_cautions",
            partial(self.go.emit, "cautions"),
            spoken=self.tr("Hot tyres and brakes: gloves, stands first. Cautions"),
        )
        self._grid_widget = QWidget()
        self._grid = QGridLayout(self._grid_widget)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(6)
        self._grid.setVerticalSpacing(2)
        self.since = SinceLine(session)
        self.since.settled.connect(self.entered)
        self.hot_where = Choice(
            "hot_where",
            [
                (self.tr("at IN"), "at_in"),
                (self.tr("stop\nline"), "stop_line"),
                (self.tr("after\nregroup"), "after_regroup"),
            ],
            self._hot_read_at,
            kind="part",
        )
        self.hot_where.set_value("at_in")
        self._hot_label = label(self.tr("Hot read"), "hot_where_label", "muted")
        self._driver_line = row(spacing=6)
        # arrange
        self._foot = QWidget()
        foot = row(self._hot_label, self.hot_where, 1, self._driver_line, spacing=6)
        self._foot.setLayout(foot)
        self.setLayout(
            column(
                row(
                    self.found_words,
                    self.agree,
                    self.differ,
                    self.since,
                    1,
                    self.cautions,
                    spacing=6,
                ),
                self._grid_widget,
                self._foot,
                1,
                spacing=3,
            )
        )

    def heading(self) -> str:
        return self.tr("Car in")

    def primary_text(self) -> str:
        return self.tr("Keep the call")

    def primary(self) -> None:
        if self.session.is_open and not self._is_found() and self._car():
            self._agree()
        self.go.emit("fit")

    # ---- building

    def refresh(self) -> None:
        if not self.session.is_open:
            return
        state, place = self.session.state, self.session.place
        fitted = dict(state.fitted.tyres) if state.fitted is not None else {}
        planned = planned_of(self.session.answer, state)
        # Where each wheel goes on; one that comes off goes nowhere.
        plan = {t: p for p, t in planned.fitting.items() if t} if planned is not None else {}
        goes = {p: plan.get(fitted.get(p) or "") for p in PLACES}
        shape = (
            place.key if place else "",
            tuple(sorted(fitted.items())),
            tuple(goes.items()),
            self.differ.isChecked(),
        )
        if shape[:1] != self._shape[:1]:
            self.hot_where.set_value(self._hot_was_read_at())
        if shape != self._shape:
            self._shape = shape
            self._build(fitted, goes)
        elif self.host is not None and place is not None and self._is_found():
            self.host.mirror(in_the_book(self.session, WALK, fitted, place.key))
        found = self._is_found()
        asked = self.since.show_for(place.key if place is not None else "")
        for made in (self.agree, self.differ, self.found_words):
            made.setVisible(bool(self._car()) and not asked)
        self.cautions.setVisible(not asked)
        self.found_words.setText(self.tr("✓ As found") if found else self.tr("As found?"))
        set_kind(self.found_words, "ok" if found else "strong")

    def entered(self) -> None:
        if self.host is not None:
            self.host.start()

    def set_look(self, _theme: Theme, sizes: Sizes) -> None:
        if sizes.compact != self._compact:
            self._compact = sizes.compact
            self._hot_label.setVisible(not sizes.compact)
            self._shape = ()

    def _car(self) -> Mapping[Place, str | None]:
        fitted = self.session.state.fitted
        return fitted.tyres if fitted is not None else {}

    def _is_found(self) -> bool:
        place = self.session.place
        return place is not None and self.session.state.at_place == place.key

    def _build(self, fitted: dict[Place, str | None], goes: dict[Place, Place | None]) -> None:
        before, self.host = self.host, None
        if before is not None:
            before.retire()
        clear(self._grid)
        clear(self._driver_line)
        places = [p for p in WALK if fitted.get(p)]
        self._foot.setVisible(bool(places))
        if not places:
            text = self.tr("Nothing is on the car yet. Go on to Fit.")
            self._grid.addWidget(label(text, "car_empty", "strong"), 0, 0)
            self.host_changed.emit()
            return
        stays = {p: goes[p] is not None for p in PLACES}
        specs = car_specs(
            self.session, places, fitted, stays, reads_found=self.differ.isChecked()
        )
        walk = BoxWalk(specs, resolve=self.session.find_tyre)
        prefill(self.session, walk, places, fitted)
        here = self.session.place
        key = here.key if here is not None else ""
        # What was typed at the place before is in the book; a tyre that stayed on is read anew.
        if before is not None and key == self._built_for:
            same = {p for p in places if self._built.get(p) == fitted[p]}
            walk.take_over(before.walk, partial(_keeps, same))
        self._built, self._built_for = dict(fitted), key
        self.host = BoxHost(walk, self)
        self.host.committed.connect(self._typed)
        self._keeper.serve(self, lambda: self._built_for)
        heads = (
            "",
            self.tr("found"),
            self.tr("hot bar"),
            self.tr("look"),
            self.tr("in"),
            self.tr("mid"),
            self.tr("out"),
            "",
        )
        for at, text in enumerate(heads):
            if text:
                self._grid.addWidget(label(text, f"head_{at}", "muted"), 0, at)
        for line, place in enumerate(places, start=1):
            self._row(line, place, fitted[place] or "", goes=goes[place])
        for at, stretch in enumerate((0, 2, 2, 3, 2, 2, 2, 1)):
            self._grid.setColumnStretch(at, stretch)
        for key, text in (
            ("front", self.tr("Driver\nfront grip")),
            ("rear", self.tr("rear\ngrip")),
        ):
            self._driver_line.addWidget(label(text, f"driver_{key}_label", "muted"))
            self._driver_line.addWidget(self.host.make_field(f"driver_{key}"))
        self.host_changed.emit()
        if before is not None and self.isVisible():
            self.host.take_up()

    def _row(self, line: int, place: Place, tyre_id: str, *, goes: Place | None) -> None:
        assert self.host is not None
        self._grid.addWidget(label(SHORT[place], f"place_{place}", "strong"), line, 0)
        found_key = f"found:{place}"
        if found_key in self.host.walk.boxes:
            self._grid.addWidget(self.host.make_field(found_key), line, 1)
        else:
            name = wheel(self.session.rim_of(tyre_id), tyre_id)
            self._grid.addWidget(label(name, f"found_{place}", "strong"), line, 1)
        self._grid.addWidget(self.host.make_field(f"hot:{place}"), line, 2)
        if f"look:{place}" in self.host.walk.boxes:
            self._grid.addWidget(self.host.make_field(f"look:{place}"), line, 3)
        else:
            self._grid.addWidget(
                label(self.tr("carried"), f"carried_{place}", "muted"), line, 3
            )
        for at, point in enumerate(POINTS, start=4):
            key = f"{point}:{place}"
            if key in self.host.walk.boxes:
                self._grid.addWidget(self.host.make_field(key), line, at)
            else:
                mm = last_tread(self.session, tyre_id, at - 4)
                text = f"{mm:.1f}" if mm is not None else "–"
                self._grid.addWidget(label(text, f"last_{point}_{place}", "muted"), line, at)
        word = self.tr("off")
        if goes is not None:
            word = self.tr("stays") if goes == place else self.tr("to {0}").format(SHORT[goes])
        self._grid.addWidget(label(word, f"goes_{place}"), line, 7)

    def tyre_of_box(self, key: str) -> str | None:
        """Return the tyre that a box is about."""
        place = as_place(key.partition(":")[2])
        return self._car().get(place) if place is not None else None

    # ---- entering

    def _agree(self) -> None:
        place = self.session.place
        if place is None:
            return
        if self.differ.isChecked():
            self.differ.setChecked(False)
        car = self._car()
        body = AsFound(place=place.key, fitting={p: car.get(p) for p in PLACES})
        self.session.enter(body, self.tr("car in at {0}, as in the book").format(place.key))
        self.entered()

    def _differs(self) -> None:
        self.refresh()
        if self.differ.isChecked() and self.host is not None:
            places = [p for p in WALK if self._car().get(p)]
            if places:
                self.host.enter_box(f"found:{places[0]}")

    def _typed(self, key: str, value: object, word: str) -> None:
        what, _, named = key.partition(":")
        where = as_place(named)
        place = self.session.place
        if place is None or word in ("skip", "damage"):
            return
        car = self._car()
        tyre_id = car.get(where) if where is not None else None
        if what == "found" and where is not None:
            self._found(where, value, word)
        elif what == "hot" and where is not None and tyre_id and isinstance(value, float | int):
            self._hot(where, tyre_id, float(value))
        elif what == "look" and tyre_id and isinstance(value, float | int):
            look = LOOKS[int(value) - 1]
            self.session.enter(
                LookEntry(tyre_id=tyre_id, look=look, place=place.key),
                self.tr("{0} look {1}").format(self._wheel(tyre_id), look.replace("_", " ")),
            )
        elif what in POINTS and tyre_id and isinstance(value, float | int):
            self._keeper.take(self, key, tyre_id, float(value), place.key)
        elif what.startswith("driver") and isinstance(value, float | int):
            field = "front_grip" if what.endswith("front") else "rear_grip"
            self.session.enter(
                DriverWords.model_validate({"place": place.key, field: int(value)}),
                self.tr("driver {0} {1}").format(field.split("_")[0], f"{int(value):+d}"),
            )

    def _hot(self, where: Place, tyre_id: str, hot_kpa: float) -> None:
        place = self.session.place
        assert place is not None
        tyre = self.session.state.tyres[tyre_id]
        known = [r.hot_kpa or r.cold_kpa for r in tyre.readings if r.place == place.key]
        if hot_kpa in known:
            return
        carried = where in ("SP1", "SP2")
        body = Reading.model_validate(
            {
                "tyre_id": tyre_id,
                "cold_kpa" if carried else "hot_kpa": hot_kpa,
                "where": "service" if carried else self.hot_where.value,
                "place": place.key,
            }
        )
        said = self.tr("{0} {1} bar cold") if carried else self.tr("{0} {1} bar hot")
        self.session.enter(body, said.format(self._wheel(tyre_id), bar(hot_kpa)))

    def _hot_was_read_at(self) -> str:
        """Return where the book has the hot pressures of this visit; at IN without any."""
        place = self.session.place
        read = [
            r
            for t in self._car().values()
            if t and t in self.session.state.tyres
            for r in self.session.state.tyres[t].readings
            if place is not None and r.place == place.key and r.hot_kpa is not None
        ]
        return read[-1].where if read else "at_in"

    def _hot_read_at(self, where: object) -> None:
        """Say where the hot pressures were read; those of this visit are put right."""
        place = self.session.place
        if place is None:
            return
        for tyre_id in [t for p, t in self._car().items() if t and p in CORNERS]:
            for reading in self.session.state.tyres[tyre_id].readings:
                told = reading.place == place.key and reading.hot_kpa is not None
                if told and reading.where != where:
                    self.session.enter(
                        Correction(target_id=reading.entry_id, values={"where": where}),
                        self.tr("hot pressures read: {0}").format(str(where).replace("_", " ")),
                    )

    def _found(self, where: Place, value: object, word: str) -> None:
        if value is None or word:
            self._read_off.pop(where, None)
            return
        self._read_off[where] = str(value)
        self._soon.start()

    @Slot()
    def _enter_found(self) -> None:
        """Enter the car as it was read: wheels that only swapped places are swapped."""
        place = self.session.place if self.session.is_open else None
        car: dict[Place, str | None] = {p: self._car().get(p) for p in PLACES}
        before = dict(car)
        for where, new in self._read_off.items():
            for other, tyre_id in car.items():
                if tyre_id == new and other != where:
                    car[other] = car[where]
            car[where] = new
        self._read_off.clear()
        if place is None or car == before:
            return
        moved = " ".join(
            f"{p} {self._wheel(t)}" for p in PLACES if (t := car[p]) != before[p] and t
        )
        self.session.enter(
            AsFound(place=place.key, fitting=car),
            self.tr("as found {0}; since when?").format(moved),
        )

    def left(self) -> None:
        super().left()
        if self._soon.isActive():
            self._soon.stop()
            self._enter_found()

    def _wheel(self, tyre_id: str) -> str:
        return wheel(self.session.rim_of(tyre_id), tyre_id)
