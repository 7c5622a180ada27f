"""The window: what is always on screen, the pages in the middle, and every key."""

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QSettings, QTimer, Signal, Slot
from PySide6.QtWidgets import QWidget

from crewdesk.gui.closing import Closing
from crewdesk.gui.timing import Step, leg_ended, loop_running, steps_of_day
from crewdesk.gui.window_look import WindowLook

if TYPE_CHECKING:
    # None of them is needed for the first drawing.
    from PySide6.QtGui import QCloseEvent, QKeyEvent, QResizeEvent
    from PySide6.QtWidgets import QHBoxLayout, QStackedWidget

    from crewdesk.gui.bottombar import BottomBar
    from crewdesk.gui.keypad import Keypad
    from crewdesk.gui.page import Page
    from crewdesk.gui.page_book import PageBook
    from crewdesk.gui.panels import PageStack, Room, SideColumn
    from crewdesk.gui.partsrow import PartsRow
    from crewdesk.gui.rail import Rail
    from crewdesk.gui.session import Session
    from crewdesk.gui.slots import SlotsPanel
    from crewdesk.gui.theme import Sizes, ThemeName
    from crewdesk.gui.topbar import TopBar

_FULL_WIDTH: Final = frozenset(
    {"load", "before_event", "learnt", "stock", "wear", "help", "stages", "new_event"}
)


class MainWindow(QWidget):
    """The tyre desk."""

    open_wanted = Signal()
    demo_wanted = Signal()
    handover_wanted = Signal()
    print_wanted = Signal()
    copy_wanted = Signal()
    closed = Signal()
    event_made = Signal(object)
    """Folder of an event that was typed in or read from tables."""

    session: "Session"
    top: "TopBar"
    rail: "Rail"
    bottom: "BottomBar"
    slots: "SlotsPanel"
    pad: "Keypad"
    right: "QStackedWidget"
    rooms: "tuple[Room, Room]"
    """Where the page and the right-hand column stand."""
    stack: "PageStack"
    pages: "PageBook"
    parts: "PartsRow"
    middle: "QHBoxLayout"

    def __init__(self, session: "Session | None", settings: QSettings) -> None:
        super().__init__()
        self.settings = settings
        self.filled = False
        """Whether the controls are made; before that only grounds and bars are drawn."""
        self._back: list[str] = []
        self._current = "load"
        self.closing = Closing(self)
        self.setObjectName("window")
        self.setWindowTitle("crewdesk")
        self.look = WindowLook(self)
        self.look.restore()
        self._face: QWidget | None = None
        if session is None:
            self._face = self.look.face()
        else:
            for _ in self.fill(session):
                pass

    def fill(self, session: "Session") -> Iterator[None]:
        """Make what is in the window, a part at each step, so that no step is long."""
        from crewdesk.gui.reminders import Reminders
        from crewdesk.gui.window_keys import WindowKeys
        from crewdesk.gui.window_parts import arrange_parts, make_parts

        self.session = session
        make_parts(self)
        yield
        arrange_parts(self)
        if self._face is not None:
            self._face.raise_()
        yield
        self._connect()
        self.keys = WindowKeys(self)
        self.reminders = Reminders(session, self)
        yield
        self.filled = True
        self.look.apply()
        yield
        self.go("load")
        if self._face is not None:
            self._face.hide()
            self._face.deleteLater()
            self._face = None

    def _connect(self) -> None:
        session = self.session
        session.changed.connect(self._changed)
        session.opened.connect(self._opened)
        session.answered.connect(self._show_slots)
        session.refused.connect(self._refused)
        self.parts.page_wanted.connect(self.go)
        self.top.air_wanted.connect(lambda: self._ask_conditions("air_c"))
        self.top.road_wanted.connect(lambda: self._ask_conditions("road_c"))
        self.top.view_wanted.connect(self.next_theme)
        self.top.steps_wanted.connect(lambda: self.go("steps"))
        self.rail.step_chosen.connect(self.go_step)
        self.bottom.primary_fired.connect(self.fire_primary)
        self.bottom.undo_wanted.connect(lambda: self.page.undo())
        self.bottom.questions_wanted.connect(lambda: self.go("questions"))
        self.bottom.incident_wanted.connect(lambda: self.go("incident"))
        self.bottom.wear_wanted.connect(lambda: self.go("wear"))
        self.bottom.stock_wanted.connect(lambda: self.go("stock"))
        self.slots.slot_chosen.connect(self._slot)
        self.pad.damage_wanted.connect(self._damage)
        self._second = QTimer(self, interval=1000)
        self._second.timeout.connect(self.top.tick)
        self._second.start()

    def take_page(self, page: "Page") -> None:
        """Take a page in that is wanted for the first time."""
        page.go.connect(self.go)
        page.primary_changed.connect(self._show_primary)
        page.host_changed.connect(self._attach)
        if page.key == "settings":
            page.touch_chosen.connect(self.set_touch)  # type: ignore[attr-defined]
        if page.key == "new_event":
            page.made.connect(self.event_made)  # type: ignore[attr-defined]
        if page.key == "unwritten":
            self.closing.serve(page)
        self.look.dress(page)

    # ---- look

    @property
    def theme_name(self) -> "ThemeName":
        """The view that holds."""
        return self.look.theme_name

    @property
    def sizes(self) -> "Sizes":
        """The sizes that hold."""
        return self.look.sizes

    @property
    def charts(self) -> "SideColumn | None":
        """The charts beside the slots, once there was room for them."""
        return self.look.charts

    def next_theme(self) -> None:
        """Step to the next view: light, sunlight, dark."""
        self.look.next_theme()

    def set_theme(self, name: "ThemeName") -> None:
        """Take a theme and remember it."""
        self.look.set_theme(name)

    def set_touch(self, touch: float) -> None:
        """Take the touch size and remember it."""
        self.look.set_touch(touch)

    def resizeEvent(self, event: "QResizeEvent") -> None:
        super().resizeEvent(event)
        if self._face is not None:
            self._face.resize(self.size())
        self.look.apply()

    # ---- pages

    @property
    def has_beside(self) -> bool:
        """Whether slots or keypad stand beside the page in front."""
        page = self.page
        return not (page.wide or page.key in _FULL_WIDTH or self.look.alone(page))

    @property
    def page(self) -> "Page":
        """The page in the middle."""
        return self.pages[self._current]

    @Slot(str)
    def go(self, key: str) -> None:
        """Show a page; ``print`` and ``open`` are wishes that leave the page."""
        wish, _, what = key.partition(":")
        wishes: dict[str, Callable[[], None]] = {
            "print": self.print_sheet,
            "open": self.open_wanted.emit,
            "demo": self.demo_wanted.emit,
            "write_handover": self.handover_wanted.emit,
            "back": self.back,
            "now": lambda: self.go(self._step_page()),
            "on_the_way": self._on_the_way,
            "place": lambda: self.go_step(key),
            "loop": lambda: self.go_step(key),
            "leg": lambda: self.go_step(key),
            "tyre": lambda: self.show_tyre(what),
            "damage": lambda: self._damage_of(what),
            "replace": lambda: self._replace(what),
            "report": lambda: self._report_of(what),
            "late": self._late,
        }
        if wish in wishes and (what or wish not in self.pages):
            wishes[wish]()
            return
        if key not in self.pages:
            return
        if not self.session.is_open and self.pages[key].part:
            key = "load"  # nothing stands there before an event is open
        if key == "cautions" != self._current:
            self.pages["cautions"].come_from(self._current)  # type: ignore[attr-defined]
        if key != self._current:
            self.page.left()
            self._back = [*self._back[-20:], self._current]
        self._current = key
        page = self.page
        self.look.dress(page)
        page.refresh()
        beside = self.has_beside
        # Never both at once: the window would grow to hold the wide page and the panel.
        if not beside:
            self.right.hide()
        self.stack.setCurrentWidget(page)
        # Before the panel is shown: else room is made for it beside the page that went.
        self.rooms[0].updateGeometry()
        self.right.setVisible(beside)
        self.rooms[0].verticalScrollBar().setValue(0)
        self._frame()
        # The page may take the cursor from there.
        self.bottom.primary.setFocus()
        page.entered()

    def back(self) -> None:
        """Go to the page before; nothing is lost."""
        if self.page.escape():
            return
        if self._back:
            key = self._back.pop()
            self.go(key)
            self._back.pop()

    def go_step(self, key: str) -> None:
        """Go to a step of the rail."""
        kind, _, name = key.partition(":")
        if kind == "place":
            place = self.session.place
            if place is not None and place.key == name:
                self.go(self._step_page())
            else:
                self.pages["visit"].show_place(name)  # type: ignore[attr-defined]
                self.go("visit")
        elif kind == "loop":
            self.go("loop")
        elif kind == "leg":
            self.pages["close_leg"].show_leg(int(name))  # type: ignore[attr-defined]
            self.go("close_leg")
        else:
            self.go(kind)

    def _step_page(self) -> str:
        if not self.session.is_open:
            return "load"
        step = self.session.state.step
        if leg_ended(self.session.bundle, self.session.state) is not None:
            return "left_behind" if step == "left_behind" else "close_leg"
        return {"before_in": "call", "handover": "handover"}.get(step, step)

    def _frame(self) -> None:
        """Show what stands around the page."""
        page = self.page
        self.parts.setVisible(bool(page.part) and self.session.is_open)
        self._show_parts()
        self.right.setCurrentWidget(self.pad if page.keypad else self.slots)
        self.look.dress_right()
        self._attach()
        self._show_rail()
        self._show_slots()
        self._show_primary()

    def _attach(self) -> None:
        host = self.page.host
        if host is not None and not host.wired:
            host.wired = True
            host.finished.connect(self._boxes_done)
            host.idle_enter.connect(self._idle_enter)
        host = self.page.host if self.page.keypad else None
        self.pad.attach(host, tyres=self.page.about_tyres)

    @Slot()
    def _idle_enter(self) -> None:
        words = self.tr("Enter closes a box. Ctrl+Enter: {0}")
        self.session.notice("note", words.format(self.page.primary_text()))

    @Slot()
    def _boxes_done(self) -> None:
        """Give the next Enter to the primary: the last box is closed."""
        if self.sender() is self.page.host:
            self.bottom.primary.setFocus()

    def _show_parts(self) -> None:
        if self.session.is_open:
            step = self.session.state.step
            if step == "left_behind" and self._current != "left_behind":
                # What is left behind belongs to the place before; this one begins anew.
                step = "before_in"
            self.parts.show_step(step, self._current, self.page.part)

    def _show_rail(self) -> None:
        if not self.session.is_open:
            self.rail.show_steps((), "")
            return
        if self.page.making() is not None:
            # The steps of the open day are none of the event that is being made.
            words = self.tr("Back to now")
            self.rail.show_steps((Step("now", words, "to come"),), "")
            return
        steps = steps_of_day(self.session.bundle, self.session.state)
        place = self.session.place
        shown = {"load": "load", "handover": "handover"}.get(self._current, "")
        if self._current == "loop":
            shown = next(
                (s.key for s in steps if s.key.startswith("loop") and s.mark == "now"), ""
            )
        if self._current == "close_leg":
            shown = next(
                (s.key for s in steps if s.key.startswith("leg") and s.mark == "now"), ""
            )
        if self.page.part and place is not None:
            shown = f"place:{place.key}"
        if self._current == "left_behind" and self.session.state.fittings:
            shown = f"place:{self.session.state.fittings[-1].place}"
        self.rail.show_steps(steps, shown)

    @Slot()
    def _show_slots(self) -> None:
        session = self.session
        if not session.is_open:
            self.slots.show_views(self.tr("No event open"), {})
            return
        from crewdesk.gui.views import shown_slots, slots_title

        planning = self.page.part in ("before_in", "fit")
        what, views = shown_slots(
            session.bundle, session.state, session.answer, planning, self.page.planned()
        )
        running = loop_running(session.bundle, session.state) is not None
        self.slots.show_views(slots_title(what, running=running), views)
        self.look.feed_charts()

    @Slot()
    def _show_primary(self) -> None:
        self.bottom.set_primary(self.page.primary_text())
        self.top.show_making(self.page.making())
        if self.page.key == "fit":
            self._show_slots()

    # ---- news

    @Slot()
    def _opened(self) -> None:
        day = self.session.day
        along = self.tr(" · reading along") if day is not None and day.read_only else ""
        self.setWindowTitle(f"{self.session.bundle.event.name}{along} · crewdesk")
        for page in self.pages.values():
            page.dirty = True
        self.look.forget()

    @Slot()
    def _changed(self) -> None:
        self.top.refresh()
        self.page.refresh()
        self._show_rail()
        self._show_parts()
        self._show_slots()
        self._show_primary()

    @Slot(object, object)
    def _refused(self, body: object, receipt: object) -> None:
        page = self.pages["override"]
        page.ask(body, receipt)  # type: ignore[attr-defined]
        self.go("override")

    def _ask_conditions(self, what: str) -> None:
        self.go("conditions")
        self.pages["conditions"].ask_for(what)  # type: ignore[attr-defined]

    @Slot(str)
    def _slot(self, place: str) -> None:
        views = self.slots.buttons[place].view  # type: ignore[index]
        if views.tyre_id:
            self.show_tyre(views.tyre_id)

    def show_tyre(self, tyre_id: str) -> None:
        """Show the card of a tyre."""
        self.pages["find"].show_tyre(tyre_id)  # type: ignore[attr-defined]
        self.go("find")

    def _report_of(self, stage: str) -> None:
        self.go("conditions")
        self.pages["conditions"].set_place(stage)  # type: ignore[attr-defined]

    def _on_the_way(self) -> None:
        """Show what follows a change place: its loop, or the end of the leg."""
        over = leg_ended(self.session.bundle, self.session.state) is not None
        self.go("close_leg" if over else "loop")

    def _late(self) -> None:
        self.pages["change"].start_with("late")  # type: ignore[attr-defined]
        self.go("change")

    def _incident_of(self, tyre_id: str) -> None:
        self.pages["incident"].start_for(tyre_id)  # type: ignore[attr-defined]
        self.go("incident")

    def _damage_of(self, tyre_id: str) -> None:
        self.pages["damage"].start_for(tyre_id)  # type: ignore[attr-defined]
        self.go("damage")

    def _replace(self, tyre_id: str) -> None:
        self.go("add_tyre")
        self.pages["add_tyre"].start_for(tyre_id)  # type: ignore[attr-defined]

    @Slot()
    def _damage(self) -> None:
        host = self.page.host
        key = host.walk.current if host is not None else None
        tyre = self.page.tyre_of_box(key) if key else None
        self._incident_of(tyre or "")

    def print_sheet(self) -> None:
        """Print the sheet of the call in use."""
        self.print_wanted.emit()
        self._show_primary()

    # ---- keys

    def fire_primary(self) -> None:
        """Do what the primary button says."""
        if self.page.host is not None:
            self.page.host.leave()
        self.page.primary()

    def focus_slot(self, place: str) -> None:
        """Put the cursor on a slot."""
        self.right.setCurrentWidget(self.slots)
        self.look.dress_right()
        self.right.show()
        self.slots.buttons[place].setFocus()  # type: ignore[index]

    def keyPressEvent(self, event: "QKeyEvent") -> None:
        """Take what no control has taken."""
        if not self.filled or not self.keys.take(event):
            super().keyPressEvent(event)

    def closeEvent(self, event: "QCloseEvent") -> None:
        if self.filled and not self.closing.may_close():
            event.ignore()
            return
        self.settings.setValue("geometry", self.saveGeometry())
        self.settings.sync()
        self.closed.emit()
        if not self.filled:
            super().closeEvent(event)
            return
        self._second.stop()
        self.keys.leave()
        self.reminders.stop()
        self.session.close_day()
        self.session.engine.close()
        super().closeEvent(event)
