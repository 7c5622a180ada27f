"""Load event: what was read, what is assumed, and whether it is right."""

from collections.abc import Callable
from pathlib import Path
from typing import Final

import platformdirs
from PySide6.QtCore import QTimer
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QBoxLayout

from crewdesk.assets import is_demo
from crewdesk.gui.page import Page
from crewdesk.gui.pages.load_damaged import DamagedBook
from crewdesk.gui.parts import button, card, clear, column, label, lines_in, row
from crewdesk.gui.session import Session
from crewdesk.gui.theme import Sizes, Theme

DRAWN_MS: Final = 50
"""By then the window has drawn itself for the first time."""


class LoadPage(Page):
    """Check totals before anything else; empty: what is missing and two buttons."""

    key = "load"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._opening = ""
        self._drawn = False
        self.damaged = DamagedBook(self, session, self._again)
        self.title = label("", "load_title", "title", wrap=True)
        self._lines, area = lines_in("load_lines", spacing=6)
        self.choose = button(
            self.tr("Choose event folder"), "load_choose", lambda: self.go.emit("open")
        )
        self.demo = button(self.tr("Demo event"), "load_demo", lambda: self.go.emit("demo"))
        self.type_in = button(
            self.tr("New event: type, paste or file"),
            "load_type",
            lambda: self.go.emit("new_event"),
        )
        self.before = button(
            self.tr("Before the event"),
            "load_before",
            lambda: self.go.emit("before_event"),
        )
        self.stages = button(self.tr("Stages"), "load_stages", lambda: self.go.emit("stages"))
        self.bulletin = button(
            self.tr("Bulletin"), "load_bulletin", lambda: self.go.emit("change")
        )
        self.settings = button(
            self.tr("Settings"), "load_settings", lambda: self.go.emit("settings")
        )
        self.help = button(self.tr("Help  F1"), "load_help", lambda: self.go.emit("help"))
        for made in (self.before, self.stages, self.bulletin, self.settings):
            # Until an event is open; the row would be wider than a small screen.
            made.hide()
        self._ways = row(self.choose, self.type_in, self.demo, 1)
        self._more = row(self.before, self.stages, self.bulletin, self.settings, self.help, 1)
        self._buttons = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._buttons.addLayout(self._ways)
        self._buttons.addLayout(self._more, 1)
        self._column = column(self.title, area, self._buttons)
        self.setLayout(self._column)

    def heading(self) -> str:
        return self.tr("Load event")

    def set_look(self, _theme: Theme, sizes: Sizes) -> None:
        way = QBoxLayout.Direction
        # Two lines where one would be wider than an upright screen.
        self._buttons.setDirection(way.TopToBottom if sizes.compact else way.LeftToRight)

    def primary_text(self) -> str:
        if self.session.is_open:
            return self.tr("Event is right")
        if self._opening:
            return self.tr("Opening {0} …").format(self._opening)
        if self.session.busy_book is not None:
            return self.tr("Read along")
        if self.session.shut_book is not None:
            return self.tr("Look only")
        damaged = self.session.damaged_book is not None
        return self.tr("Read sound part") if damaged else self.tr("Choose event")

    def primary(self) -> None:
        if self._opening and not self.session.is_open:
            return  # an Enter too early must not lead away from what is being read
        if not self.session.is_open:
            if self.session.busy_book is not None:
                self._read_along()
            elif self.session.damaged_book is not None:
                self.damaged.read_sound()
            elif self.session.shut_book is not None:
                self._read_shut()
            else:
                self.go.emit("open")
            return
        step = self.session.state.step
        started = self.session.state.reports or self.session.state.fitted
        self.go.emit("conditions" if not started else {"before_in": "call"}.get(step, step))

    def refresh(self) -> None:
        clear(self._lines)
        opened = self.session.is_open
        words = self.tr("New event") if opened else self.tr("New event: type, paste or file")
        self.type_in.setText(words)
        self.type_in.setAccessibleName(words)
        after = (self.before, self.stages, self.bulletin, self.settings)
        # What goes makes room first: all of them at once would widen the window for good.
        for made in (self.demo, *after) if opened else (*after, self.demo):
            made.setVisible((made is not self.demo) == opened)
        # With nothing open the ways to go on come first, under what is missing.
        self._column.removeItem(self._buttons)
        self._column.insertLayout(2 if opened else 1, self._buttons)
        if not opened:
            self._show_nothing()
            return
        self._opening = ""
        self._show_event()

    def show_opening(self, name: str) -> None:
        """Say which event is being read, until it is there."""
        self.damaged.found = None
        self._opening = name
        self.refresh()

    def _show_nothing(self) -> None:
        """Say what is missing, or why the event could not be opened, and how to go on."""
        add = self._lines.addWidget
        shown = self.session.board.shown
        fault = shown.words if shown is not None and shown.level == "stops" else ""
        if self.session.busy_book is not None:
            self._opening = ""
            self.title.setText(self.tr("Another window writes the book of this event."))
            self._busy(fault)
        elif fault:
            self._opening = ""
            self.title.setText(self.tr("The event could not be opened."))
            add(label(fault, "load_fault", "stops", wrap=True))
            if self.damaged.look() is not None:
                self.damaged.show_ways(self._lines)
            if self.session.shut_book is not None:
                look = button(self.tr("Look only"), "load_shut", self._read_shut, kind="big")
                self._lines.addLayout(row(look, 1))
        elif self._opening:
            self.title.setText(self.tr("Opening {0} …").format(self._opening))
            add(label(self.tr("Reading the event and its day book."), "load_opening"))
        else:
            self.title.setText(self.tr("No event is open."))
        if self.session.busy_book is None and not self._opening and not fault:
            self._missing()
        self._lines.addStretch(1)

    def _missing(self) -> None:
        self._lines.addWidget(
            label(
                self.tr(
                    "What is missing is the event: choose its folder, or make one from an "
                    "itinerary and a list of tyres."
                ),
                "load_empty",
                "strong",
                wrap=True,
            )
        )
        self._lines.addWidget(
            label(
                self.tr(
                    "An event's folder holds event.json, itinerary.csv and stock.csv, and "
                    "weather.csv where there is a forecast. The demo event is invented; "
                    "try anything on it."
                ),
                "load_what",
                "muted",
                wrap=True,
            )
        )
        if self._drawn:
            self._handover_found()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        if not self._drawn:
            # What reads the last handover is heavy: the window draws itself before.
            QTimer.singleShot(DRAWN_MS, self, self._after_drawing)

    def _after_drawing(self) -> None:
        self._drawn = True
        if not self.session.is_open and not self._opening:
            self.refresh()

    def _handover_found(self) -> None:
        """Name the last handover where there is one: its tyres can begin the next event."""
        from crewdesk.desk.importing import last_handovers

        data = self.session.data_dir
        roots = (
            (Path(data),)
            if data is not None
            else (
                platformdirs.user_data_path("crewdesk", appauthor=False),
                platformdirs.user_documents_path() / "crewdesk",
            )
        )
        found = last_handovers(*roots)
        if found:
            self._lines.addWidget(
                label(
                    self.tr(
                        "Last handover found: {0}, {1}, {2} tyres. A new event can begin "
                        "with that stock."
                    ).format(found[0].event, found[0].last_day.isoformat(), found[0].tyres),
                    "load_handover",
                    wrap=True,
                )
            )

    def _busy(self, fault: str) -> None:
        """Offer to read along, or to take the book over, where another desk writes it."""
        self._lines.addWidget(
            label(
                self.tr(
                    "Read along: see everything as it comes, enter nothing. Take it over: "
                    "this window writes from now on, the other one reads."
                ),
                "load_busy",
                "strong",
                wrap=True,
            )
        )
        along = button(self.tr("Read along"), "load_along", self._read_along, kind="big")
        over = button(self.tr("Take the book over"), "load_over", self._take_over, kind="big")
        self._lines.addLayout(row(along, over, 1, spacing=14))
        words = fault.removeprefix("■ stops: ")
        self._lines.addWidget(label(words, "load_fault", "muted", wrap=True))

    def _event_and_book(self) -> tuple[Path, Path | None] | None:
        """Return the event and the book that another window writes."""
        if self.session.busy_book is not None:
            return self.session.busy_book
        day, folder = self.session.day, self.session.folder
        return (folder, day.book_path) if day is not None and folder is not None else None

    def _read_along(self) -> None:
        where = self._event_and_book()
        if where is None:
            return
        if self._again(lambda: self.session.open(*where, read_only=True)):
            self.session.notice(
                "watch",
                self.tr("Reading along: what is entered here is not kept. F12, Load event, "
                        "takes the book over."),
            )  # fmt: skip

    def _read_shut(self) -> None:
        where = self.session.shut_book
        if where is not None and self._again(lambda: self.session.open(*where, read_only=True)):
            self.session.notice(
                "watch", self.tr("Only to be read: nothing can be written where the book lies.")
            )

    def _take_over(self) -> None:
        where = self._event_and_book()
        if where is None:
            return
        # What is read along is let go first; one window is not two desks.
        self.session.close_day()
        if self._again(lambda: self.session.open(*where, take_over=True)):
            self.session.notice("done", self.tr("This window writes the book now."))

    def _again(self, opened: Callable[[], bool]) -> bool:
        done = opened()
        if done:
            self.session.notice_seen()
        self.refresh()
        self.primary_changed.emit()
        return done

    def _show_event(self) -> None:
        bundle = self.session.bundle
        itinerary, stock = bundle.itinerary, bundle.stock
        self.title.setText(bundle.event.name)
        day = self.session.day
        if self.session.only_looks:
            self._lines.addWidget(
                label(
                    self.tr(
                        "⚠ watch: only to be read. Nothing can be written where the book lies: "
                        "make its folder writable, then open the event again."
                    ),
                    "load_reading",
                    "watch",
                    wrap=True,
                )
            )
        elif day is not None and day.read_only and not day.missing:
            self._lines.addWidget(
                label(
                    self.tr("⚠ watch: reading along. Another window writes this book."),
                    "load_reading",
                    "watch",
                    wrap=True,
                )
            )
            over = button(self.tr("Take the book over"), "load_over", self._take_over)
            self._lines.addLayout(row(over, 1))
        if is_demo(self.session.folder):
            words = self.tr(
                "A demo event, invented: try anything on it. New event is your own."
            )
            self._lines.addWidget(label(words, "load_invented", "strong", wrap=True))
        km = sum(s.km for s in itinerary.stages)
        legs = sorted({r.leg for r in itinerary.rows})
        by_compound: dict[str, int] = {}
        new = 0
        for tyre in stock.tyres:
            by_compound[tyre.compound] = by_compound.get(tyre.compound, 0) + 1
            new += tyre.new
        compounds = ", ".join(f"{n} {c}" for c, n in by_compound.items())
        places = ", ".join(p.key for p in itinerary.change_places)
        checks = [
            self.tr("{0}, {1}, {2} km of stages").format(
                _many(len(legs), self.tr("leg"), self.tr("legs")),
                _many(len(itinerary.stages), self.tr("stage"), self.tr("stages")),
                f"{km:.1f}",
            ),
            self.tr("Tyres may be changed at: {0}").format(places),
            self.tr("{0} tyres, {1} of them new: {2}").format(len(stock.tyres), new, compounds),
            self.tr("{0}, rules: {1}").format(
                _many(len(bundle.event.rims), self.tr("rim"), self.tr("rims"))
                if bundle.event.rims
                else self.tr("No rims listed"),
                bundle.regulation_set.name,
            ),
            self.tr("Weather: {0} hours").format(len(bundle.weather.rows))
            if bundle.weather.rows
            else self.tr("Weather: no forecast, only what the crew reports"),
        ]
        for leg in legs:
            part = [s for s in itinerary.stages if s.leg == leg]
            offset = itinerary.offsets_min.get(leg, 0.0)
            checks.append(
                self.tr("Leg {0}: {1}, {2} km, we start {3} min after the printed time").format(
                    leg,
                    _many(len(part), self.tr("stage"), self.tr("stages")),
                    f"{sum(s.km for s in part):.1f}",
                    f"{offset:g}",
                )
            )
        lines = [label(f"✓ {text}", f"check_{i}", wrap=True) for i, text in enumerate(checks)]
        self._lines.addWidget(card("load_checks", *lines))
        missing = self.session.day.missing if self.session.day is not None else ()
        for index, text in enumerate(missing):
            self._lines.addWidget(
                label(
                    self.tr("⚠ watch: {0}").format(text), f"missing_{index}", "watch", wrap=True
                )
            )
        for index, text in enumerate(bundle.notes):
            self._lines.addWidget(
                label(self.tr("note: {0}").format(text), f"note_{index}", wrap=True)
            )
        if bundle.assumed:
            self._lines.addWidget(
                label(
                    self.tr("Assumed until somebody touches it ({0}):").format(
                        len(bundle.assumed)
                    ),
                    "assumed_head",
                    "strong",
                )
            )
            for index, text in enumerate(bundle.assumed):
                self._lines.addWidget(
                    label(f"· {text}", f"assumed_{index}", "muted", wrap=True)
                )
        self._lines.addStretch(1)


def _many(count: int, one: str, more: str) -> str:
    return f"{count} {one if count == 1 else more}"
