"""Close leg: last readings, wheels back to stock, what is used, own choices looked back on."""

from PySide6.QtWidgets import QGridLayout, QWidget

from crewdesk.gui.box_host import BoxHost
from crewdesk.gui.boxes import BoxSpec, BoxWalk
from crewdesk.gui.lookback import words_of
from crewdesk.gui.page import Page
from crewdesk.gui.pages.car_in_boxes import POINTS, in_the_book, last_tread
from crewdesk.gui.parts import Choice, button, clear, column, label, lines_in, row
from crewdesk.gui.readings import TreadKeeper
from crewdesk.gui.session import Session
from crewdesk.gui.texts import LONG, SHORT, WALK, as_place, bar, wheel
from crewdesk.gui.timing import (
    LEG_CLOSED,
    leg_closed,
    leg_ended,
    place_ahead,
    stages_unsaid,
)
from crewdesk.gui.views import tread_text, why_words
from crewdesk.journal.entries import Note, Reading, StageRun
from crewdesk.units import CORNERS, Place


class CloseLegPage(Page):
    """The end of a leg; closing it asks once."""

    key = "close_leg"
    keypad = True
    about_tyres = True

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._shape: object = None
        self._leg = 0
        self._sure = False
        self._keeper = TreadKeeper(session)
        self.title = label("", "leg_title", "title", wrap=True)
        self.keep = button(self.tr("Keep it open"), "leg_keep", self._keep)
        self.keep.hide()
        self._grid_widget = QWidget()
        self._grid = QGridLayout(self._grid_widget)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(6)
        self._grid.setVerticalSpacing(2)
        self._lines, area = lines_in("leg_lines", spacing=4)
        self.hot_where = Choice(
            "leg_hot_where",
            [(self.tr("at IN"), "at_in"), (self.tr("stop line"), "stop_line")],
            lambda _value: None,
            kind="part",
        )
        self.hot_where.set_value("stop_line")
        self._hot_label = label(self.tr("Hot read"), "leg_hot_label", "muted")
        head = row(self.title, self._hot_label, self.hot_where, self.keep)
        head.setStretch(0, 1)
        self.unsaid = label("", "leg_unsaid", "watch", wrap=True)
        self.to_loop = button(self.tr("To the loop"), "leg_loop", self._to_loop)
        ask = row(self.unsaid, self.to_loop)
        ask.setStretch(0, 1)
        self.setLayout(column(head, ask, self._grid_widget, area, spacing=4))
        session.answered.connect(self.refresh)

    def heading(self) -> str:
        return self.tr("Close leg")

    def primary_text(self) -> str:
        if not self.session.is_open or not self._leg:
            return self.tr("Step now")
        if leg_closed(self.session.state, self._leg):
            return self.tr("Go on")
        unsaid = self._unsaid()
        if unsaid:
            return (
                self.tr("{0} run").format(" ".join(unsaid))
                if len(unsaid) < 4
                else self.tr("{0} to {1} run").format(unsaid[0], unsaid[-1])
            )
        words = self.tr("Yes, close leg {0}") if self._sure else self.tr("Close leg {0}")
        return words.format(self._leg)

    def primary(self) -> None:
        session = self.session
        if not session.is_open or not self._leg:
            self.go.emit("now")
            return
        if not leg_closed(session.state, self._leg):
            if self._unsaid():
                self._say_run()
                return
            if not self._sure:
                self._sure = True
                self.keep.show()
                self.keep.setFocus()
                self.primary_changed.emit()
                return
            receipt = session.enter(
                Note(text=LEG_CLOSED.format(self._leg)),
                self.tr("leg {0} closed").format(self._leg),
            )
            if receipt is None or not receipt.accepted:
                return
        self._keep()
        ahead = place_ahead(session.bundle, session.state) is not None
        self.go.emit("conditions" if ahead else "handover")

    def _unsaid(self) -> tuple[str, ...]:
        return stages_unsaid(self.session.bundle, self.session.state, self._leg)

    def _say_run(self) -> None:
        """Enter the last stages as run; only then have the tyres run that are to be read."""
        for ref in self._unsaid():
            told = self.session.enter(StageRun(stage=ref), self.tr("{0} run").format(ref))
            if told is None or not told.accepted:
                return
        if self.host is not None:
            self.host.start()

    def _to_loop(self) -> None:
        self.go.emit("loop")

    def _keep(self) -> None:
        self._sure = False
        self.keep.hide()
        self.primary_changed.emit()

    def show_leg(self, leg: int) -> None:
        """Show one leg."""
        self._leg, self._shape = leg, None

    def entered(self) -> None:
        self._keep()
        if self.host is not None:
            self.host.start()

    def left(self) -> None:
        super().left()
        self._sure = False

    # ---- showing

    def refresh(self) -> None:
        session = self.session
        if not session.is_open:
            return
        ended = leg_ended(session.bundle, session.state)
        if ended is not None:
            self._leg = ended
        elif place_ahead(session.bundle, session.state) is None:
            self._leg = session.bundle.itinerary.rows[-1].leg
        if not self._leg:
            self._leg = session.bundle.itinerary.change_places[0].leg
        unread = self._unread()
        unsaid = self._unsaid()
        self.unsaid.setText(
            self.tr(
                "⚠ watch: nobody has said that {0} were run. What was cancelled, or where "
                "the car stopped, is said in the loop; then come the last readings."
            ).format(" ".join(unsaid))
        )
        self.unsaid.setVisible(bool(unsaid))
        self.to_loop.setVisible(bool(unsaid))
        words = self.tr("Leg {0}, last readings") if unread else self.tr("End of leg {0}")
        self.title.setText(words.format(self._leg))
        self.keypad = bool(unread)
        shape = (self._leg, tuple(unread))
        if shape != self._shape:
            self._shape = shape
            self._build(unread)
        elif self.host is not None:
            known = in_the_book(session, unread, self._car(), self._place())
            self.host.mirror(known)
        self._tell()
        self.primary_changed.emit()

    def _place(self) -> str:
        """Return the last service of the leg, where its last readings are taken."""
        rows = self.session.bundle.itinerary.rows
        return next((r.service for r in reversed(rows) if r.leg == self._leg and r.service), "")

    def _car(self) -> dict[Place, str | None]:
        fitted = self.session.state.fitted
        return dict(fitted.tyres) if fitted is not None else {}

    def _unread(self) -> list[Place]:
        """Return the corners whose tyres have run since their tread was read, or here."""
        place = self._place()
        found: list[Place] = []
        for p in WALK:
            tyre = self.session.state.tyres.get(self._car().get(p) or "")
            if tyre is None or p not in CORNERS:
                continue
            read = [r for r in tyre.readings if any(mm is not None for mm in r.tread_mm)]
            done = read[-1].runs_before if read else 0
            here = any(r.place == place for r in tyre.readings)
            if len(tyre.runs) > done or (here and self._leg_is_last()):
                found.append(p)
        return found

    def _leg_is_last(self) -> bool:
        return self._leg == self.session.bundle.itinerary.rows[-1].leg

    def _build(self, places: list[Place]) -> None:
        if self.host is not None:
            self.host.retire()
        clear(self._grid)
        self.hot_where.setVisible(bool(places))
        self._hot_label.setVisible(bool(places))
        car = self._car()
        specs = [
            BoxSpec(f"hot:{p}", "pressure", self.tr("{0}, hot, bar").format(LONG[p]))
            for p in places
        ]
        for p in places:
            for index, point in enumerate(POINTS):
                word = (self.tr("inner"), self.tr("middle"), self.tr("outer"))[index]
                last = last_tread(self.session, car[p] or "", index)
                specs.append(
                    BoxSpec(
                        f"{point}:{p}",
                        "tread",
                        self.tr("{0}, tread {1}, mm").format(LONG[p], word),
                        last=last,
                        hint=self.tr("last {0}").format(f"{last:.1f}") if last else "",
                    )
                )
        walk = BoxWalk(specs)
        walk.mirror(in_the_book(self.session, places, car, self._place()))
        self.host = BoxHost(walk, self)
        self.host.committed.connect(self._typed)
        self._keeper.serve(self, self._place)
        heads = ("", "", self.tr("hot bar"), self.tr("in"), self.tr("mid"), self.tr("out"))
        for at, text in enumerate(heads):
            if text and places:
                self._grid.addWidget(label(text, f"leg_head_{at}", "muted"), 0, at)
        for line, p in enumerate(places, start=1):
            self._grid.addWidget(label(SHORT[p], f"leg_{p}", "strong"), line, 0)
            self._grid.addWidget(
                label(self._wheel(car[p]), f"leg_wheel_{p}", "strong"), line, 1
            )
            for at, what in enumerate(("hot", *POINTS), start=2):
                self._grid.addWidget(self.host.make_field(f"{what}:{p}"), line, at)
                self._grid.setColumnStretch(at, 2)
        self.host_changed.emit()

    def _wheel(self, tyre_id: str | None) -> str:
        return wheel(self.session.rim_of(tyre_id), tyre_id)

    def _tell(self) -> None:
        clear(self._lines)
        state = self.session.state
        estimates = self.session.answer.estimates if self.session.answer is not None else {}
        car = [t for t in self._car().values() if t]
        zone = [t for t, now in state.tyres.items() if now.in_zone]
        used = [t for t, now in state.tyres.items() if now.runs and now.status == "ok"]
        bad = [t for t in state.tyres.values() if t.status != "ok"]
        lines = [
            self.tr("Fitted and carried: {0}").format("  ".join(self._wheel(t) for t in car)),
        ]
        if zone:
            back = "  ".join(self._wheel(t) for t in zone)
            lines.append(self.tr("With the zone crew, back to stock: {0}").format(back))
        rest = [
            f"{self._wheel(t)} {tread_text(state.tyres[t], estimates)}"
            for t in used
            if t not in car
        ]
        if rest:
            lines.append(self.tr("Used and sound, to keep: {0}").format(", ".join(rest)))
        if bad:
            # The reasons have commas of their own.
            said = " · ".join(f"{self._wheel(t.tyre_id)} {why_words(t)}" for t in bad)
            lines.append(self.tr("Not to be fitted: {0}").format(said))
        looked = self.session.looked_back.values()
        lines += [words_of(self.session, one) for one in looked if one is not None]
        for at, text in enumerate(lines):
            self._lines.addWidget(label(text, f"leg_line_{at}", wrap=True))
        self._lines.addStretch(1)

    def tyre_of_box(self, key: str) -> str | None:
        """Return the tyre that a box is about."""
        where = as_place(key.partition(":")[2])
        return self._car().get(where) if where is not None else None

    # ---- entering

    def _typed(self, key: str, value: object, word: str) -> None:
        what, _, named = key.partition(":")
        where = as_place(named)
        tyre_id = self._car().get(where) if where is not None else None
        if word or not tyre_id or not isinstance(value, float | int):
            return
        if what in POINTS:
            self._keeper.take(self, key, tyre_id, float(value), self._place())
            return
        readings = self.session.state.tyres[tyre_id].readings
        if any(r.place == self._place() and r.hot_kpa == value for r in readings):
            return
        body = Reading.model_validate(
            {
                "tyre_id": tyre_id,
                "hot_kpa": float(value),
                "where": self.hot_where.value,
                "place": self._place(),
            }
        )
        self.session.enter(
            body, self.tr("{0} {1} bar hot").format(self._wheel(tyre_id), bar(float(value)))
        )
