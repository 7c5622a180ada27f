"""Car in: as found, hot pressures of six, look, tread of what stays on, the driver."""

from collections.abc import Mapping
from typing import Final

from PySide6.QtWidgets import QGridLayout, QLabel, QWidget

from crewdesk.gui.boxes import BoxSpec, BoxWalk
from crewdesk.gui.keypad import BoxHost
from crewdesk.gui.page import Page
from crewdesk.gui.parts import button, clear, column, label, row, set_kind
from crewdesk.gui.readings import TreadKeeper
from crewdesk.gui.session import Session
from crewdesk.gui.texts import LONG, SHORT, WALK, as_place, bar, wheel
from crewdesk.gui.theme import Sizes, Theme
from crewdesk.gui.views import planned_of
from crewdesk.journal.entries import AsFound, DriverWords, Look, LookEntry, Reading
from crewdesk.units import CORNERS, PLACES, Place

LOOKS: Final[tuple[Look, ...]] = ("moulding_lines", "grained", "even", "feathered", "torn")
POINTS: Final = ("tread_in_mm", "tread_mid_mm", "tread_out_mm")


class CarInPage(Page):
    """Needed before OUT is a thick box, what can wait a thin one."""

    key = "car_in"
    part = "car_in"
    keypad = True

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._shape: tuple[object, ...] = ()
        self._keeper = TreadKeeper(session)
        self._compact = False
        # make
        self.agree = button(self.tr("As in the book"), "found_all", self._agree)
        self.differ = button(
            self.tr("One differs"), "found_differs", self._differs, checkable=True
        )
        self.found_words = label(self.tr("As found?"), "found_words", "strong")
        self._grid_widget = QWidget()
        self._grid = QGridLayout(self._grid_widget)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(6)
        self._grid.setVerticalSpacing(2)
        self._driver_line = row(spacing=6)
        # arrange
        self.setLayout(
            column(
                row(self.found_words, self.agree, self.differ, 1, self._driver_line, spacing=6),
                self._grid_widget,
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
        stays = {
            p: bool(fitted.get(p))
            and planned is not None
            and fitted.get(p) in planned.fitting.values()
            for p in PLACES
        }
        shape = (
            place.key if place else "",
            tuple(sorted(fitted.items())),
            tuple(sorted(stays.items())),
            self.differ.isChecked(),
        )
        if shape != self._shape:
            self._shape = shape
            self._build(fitted, stays)
        found = self._is_found()
        self.found_words.setText(self.tr("✓ As found") if found else self.tr("As found?"))
        set_kind(self.found_words, "ok" if found else "strong")

    def entered(self) -> None:
        if self.host is not None:
            self.host.start()

    def set_look(self, _theme: Theme, sizes: Sizes) -> None:
        if sizes.compact != self._compact:
            self._compact = sizes.compact
            self._shape = ()

    def _car(self) -> Mapping[Place, str | None]:
        fitted = self.session.state.fitted
        return fitted.tyres if fitted is not None else {}

    def _is_found(self) -> bool:
        place = self.session.place
        return place is not None and self.session.state.at_place == place.key

    def _build(self, fitted: dict[Place, str | None], stays: dict[Place, bool]) -> None:
        clear(self._grid)
        clear(self._driver_line)
        places = [p for p in WALK if fitted.get(p)]
        for made in (self.found_words, self.agree, self.differ):
            made.setVisible(bool(places))
        if not places:
            self.host = None
            text = self.tr("Nothing is on the car yet. Go on to Fit.")
            self._grid.addWidget(label(text, "car_empty", "strong"), 0, 0)
            self.host_changed.emit()
            return
        specs = self._specs(places, fitted, stays)
        walk = BoxWalk(specs, resolve=self.session.find_tyre)
        self._prefill(walk, places, fitted)
        self.host = BoxHost(walk, self)
        self.host.committed.connect(self._typed)
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
            self._row(line, place, fitted[place] or "", stays=stays[place])
        for at, stretch in enumerate((0, 2, 2, 3, 2, 2, 2, 1)):
            self._grid.setColumnStretch(at, stretch)
        driver = label(self.tr("Driver\n−2 … +2"), "driver_label")
        driver.setVisible(not self._compact)
        self._driver_line.addWidget(driver)
        for key, text in (("front", self.tr("front\ngrip")), ("rear", self.tr("rear\ngrip"))):
            self._driver_line.addWidget(label(text, f"driver_{key}_label", "muted"))
            self._driver_line.addWidget(self.host.make_field(f"driver_{key}"))
        self.host_changed.emit()

    def _specs(
        self, places: list[Place], fitted: dict[Place, str | None], stays: dict[Place, bool]
    ) -> list[BoxSpec]:
        specs: list[BoxSpec] = []
        if self.differ.isChecked():
            specs += [
                BoxSpec(
                    f"found:{p}", "rim", self.tr("{0}, rim read off the car").format(LONG[p])
                )
                for p in places
            ]
        answer = self.session.answer
        for p in places:
            tyre = self.session.state.tyres.get(fitted[p] or "")
            last = (
                next((r.hot_kpa for r in reversed(tyre.readings) if r.hot_kpa), None)
                if tyre
                else None
            )
            cold = tyre.cold_set_kpa if tyre is not None else None
            hint = self.tr("cold was {0} bar").format(bar(cold)) if cold else ""
            specs.append(
                BoxSpec(
                    f"hot:{p}",
                    "pressure",
                    self.tr("{0}, hot, bar").format(LONG[p]),
                    last=last,
                    hint=hint,
                )
            )
        for p in places:
            if p in CORNERS:
                specs.append(BoxSpec(f"look:{p}", "look", self.tr("{0}, look").format(LONG[p])))
        for p in places:
            tyre_id = fitted[p] or ""
            if not self._worn(tyre_id):
                continue
            known = answer.estimates.get(tyre_id) if answer is not None else None
            for index, point in enumerate(POINTS):
                word = (self.tr("inner"), self.tr("middle"), self.tr("outer"))[index]
                last = self._last_tread(tyre_id, index)
                said = self.tr("last {0}").format(f"{last:.1f}") if last is not None else ""
                if known is not None:
                    said += self.tr(" · expected {0}").format(f"{known.tread_mm[index]:.1f}")
                specs.append(
                    BoxSpec(
                        f"{point}:{p}",
                        "tread",
                        self.tr("{0}, tread {1}, mm").format(LONG[p], word),
                        thick=stays[p],
                        last=last,
                        hint=said,
                    )
                )
        specs.append(
            BoxSpec(
                "driver_front", "driver", self.tr("Driver, front grip −2 … +2"), thick=False
            )
        )
        specs.append(
            BoxSpec("driver_rear", "driver", self.tr("Driver, rear grip −2 … +2"), thick=False)
        )
        return specs

    def _worn(self, tyre_id: str) -> bool:
        """Return whether the tyre has run since it was last measured."""
        tyre = self.session.state.tyres.get(tyre_id)
        if tyre is None:
            return False
        measured = [
            r for r in tyre.readings if r.tread_mm[0] is not None or r.tread_mm[1] is not None
        ]
        place = self.session.place
        if any(r.place == (place.key if place else "") for r in measured):
            return True
        done = measured[-1].runs_before if measured else 0
        return len(tyre.runs) > done or tyre.place in CORNERS

    def _last_tread(self, tyre_id: str, index: int) -> float | None:
        tyre = self.session.state.tyres.get(tyre_id)
        if tyre is None:
            return None
        for reading in reversed(tyre.readings):
            if reading.tread_mm[index] is not None:
                return reading.tread_mm[index]
        return tyre.stock.tread_mm[index]

    def _prefill(
        self, walk: BoxWalk, places: list[Place], fitted: dict[Place, str | None]
    ) -> None:
        """Show what the book already has of this visit."""
        place = self.session.place
        if place is None or not self._is_found():
            return
        for p in places:
            tyre = self.session.state.tyres.get(fitted[p] or "")
            for reading in tyre.readings if tyre is not None else ():
                if reading.place != place.key:
                    continue
                pressure = reading.hot_kpa or reading.cold_kpa
                if pressure is not None:
                    walk.fill(f"hot:{p}", pressure)
                for index, point in enumerate(POINTS):
                    mm = reading.tread_mm[index]
                    if mm is not None and f"{point}:{p}" in walk.boxes:
                        walk.fill(f"{point}:{p}", mm)
            if tyre is None or tyre.look not in LOOKS or f"look:{p}" not in walk.boxes:
                continue
            if any(r.place == place.key for r in tyre.readings):
                walk.fill(f"look:{p}", float(LOOKS.index(tyre.look) + 1))

    def _row(self, line: int, place: Place, tyre_id: str, *, stays: bool) -> None:
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
                mm = self._last_tread(tyre_id, at - 4)
                text = f"{mm:.1f}" if mm is not None else "–"
                self._grid.addWidget(label(text, f"last_{point}_{place}", "muted"), line, at)
        word = self.tr("stays") if stays else self.tr("off")
        self._grid.addWidget(QLabel(word), line, 7)

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
            self._keeper.keep(tyre_id, what, float(value), place.key)
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
                "where": "service" if carried else "at_in",
                "place": place.key,
            }
        )
        self.session.enter(
            body, self.tr("{0} {1} bar hot").format(self._wheel(tyre_id), bar(hot_kpa))
        )

    def _found(self, where: Place, value: object, word: str) -> None:
        place = self.session.place
        assert place is not None
        car: dict[Place, str | None] = {p: self._car().get(p) for p in PLACES}
        new = str(value) if value is not None and not word else None
        if new is None or car.get(where) == new:
            return
        for other, tyre_id in car.items():
            if tyre_id == new:
                car[other] = car.get(where)
        car[where] = new
        self.session.enter(
            AsFound(place=place.key, fitting=car),
            self.tr("as found {0} {1}; since when?").format(where, self._wheel(new)),
        )

    def _wheel(self, tyre_id: str) -> str:
        return wheel(self.session.rim_of(tyre_id), tyre_id)
