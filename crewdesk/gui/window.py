"""The window: what is always on screen, the pages in the middle, and every key."""

from collections.abc import Callable
from typing import Final

from PySide6.QtCore import QSettings, Qt, QTimer, Signal, Slot
from PySide6.QtGui import QCloseEvent, QKeyEvent, QKeySequence, QResizeEvent, QShortcut
from PySide6.QtWidgets import (
    QApplication,
    QHBoxLayout,
    QLineEdit,
    QPlainTextEdit,
    QStackedWidget,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from crewdesk.gui.bottombar import BottomBar
from crewdesk.gui.boxes import ENTER
from crewdesk.gui.keypad import BoxField, Keypad
from crewdesk.gui.keys import KEYS
from crewdesk.gui.page import Page
from crewdesk.gui.pages import PAGE_CLASSES
from crewdesk.gui.panels import PageStack, SideColumn
from crewdesk.gui.partsrow import PartsRow
from crewdesk.gui.rail import Rail
from crewdesk.gui.session import Session
from crewdesk.gui.slots import SlotsPanel
from crewdesk.gui.theme import THEME_ORDER, THEMES, Sizes, ThemeName, palette, sheet_text
from crewdesk.gui.timing import steps_of_day
from crewdesk.gui.topbar import TopBar
from crewdesk.gui.views import shown_slots

COMPACT_BELOW: Final = 1200
WIDE_FROM: Final = 1600

_FULL_WIDTH: Final = frozenset({"load", "stock", "wear", "help", "stages", "by_hand"})


class MainWindow(QWidget):
    """The tyre desk."""

    open_wanted = Signal()
    demo_wanted = Signal()
    handover_wanted = Signal()
    print_wanted = Signal()
    copy_wanted = Signal()

    def __init__(self, session: Session, settings: QSettings) -> None:
        super().__init__()
        self.session = session
        self.settings = settings
        self.theme_name: ThemeName = "light"
        self.sizes = Sizes(touch=float(str(settings.value("touch", 1.0))))
        self._back: list[str] = []
        self._current = "load"
        self._look: tuple[object, ...] = ()
        self._charts: SideColumn | None = None
        self.setObjectName("window")
        self.setWindowTitle("crewdesk")
        self._make()
        self._arrange()
        self._connect()
        self._restore()

    # ---- headed steps

    def _make(self) -> None:
        self.top = TopBar(self.session)
        self.rail = Rail()
        self.bottom = BottomBar(self.session)
        self.slots = SlotsPanel()
        self.pad = Keypad()
        self.right = QStackedWidget()
        self.right.setObjectName("right")
        self.right.addWidget(self.slots)
        self.right.addWidget(self.pad)
        self.stack = PageStack()
        self.stack.setObjectName("centre")
        self.pages: dict[str, Page] = {}
        for made in PAGE_CLASSES:
            page = made(self.session)
            self.pages[page.key] = page
            self.stack.addWidget(page)
        self.parts = PartsRow()

    def _arrange(self) -> None:
        centre = QVBoxLayout()
        centre.setContentsMargins(0, 0, 0, 0)
        centre.setSpacing(6)
        centre.addWidget(self.parts)
        centre.addWidget(self.stack, 1)
        self._middle = QHBoxLayout()
        self._middle.setContentsMargins(10, 6, 10, 6)
        self._middle.setSpacing(10)
        self._middle.addWidget(self.rail)
        self._middle.addLayout(centre, 1)
        self._middle.addWidget(self.right)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(0)
        whole.addWidget(self.top)
        whole.addLayout(self._middle, 1)
        whole.addWidget(self.bottom)

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
        self.bottom.undo_wanted.connect(session.undo)
        self.bottom.questions_wanted.connect(lambda: self.go("questions"))
        self.bottom.incident_wanted.connect(lambda: self.go("incident"))
        self.bottom.wear_wanted.connect(lambda: self.go("wear"))
        self.bottom.stock_wanted.connect(lambda: self.go("stock"))
        self.slots.slot_chosen.connect(self._slot)
        self.pad.damage_wanted.connect(self._damage)
        for page in self.pages.values():
            page.go.connect(self.go)
            page.primary_changed.connect(self._show_primary)
            page.host_changed.connect(self._attach)
        for key in KEYS:
            if key.keys:
                shortcut = QShortcut(QKeySequence(key.keys), self)
                shortcut.setObjectName(f"shortcut_{key.keys}")
                shortcut.activated.connect(self._action(key.action))
        self.pages["settings"].touch_chosen.connect(self.set_touch)  # type: ignore[attr-defined]
        self._second = QTimer(self, interval=1000)
        self._second.timeout.connect(self.top.tick)
        self._second.start()

    def _restore(self) -> None:
        name = str(self.settings.value("theme", "light"))
        self.theme_name = name if name in THEMES else "light"
        screen = self.screen().availableGeometry()
        self.resize(min(1366, screen.width()), min(700, screen.height()))
        geometry = self.settings.value("geometry")
        if geometry is not None:
            self.restoreGeometry(geometry)
        self._apply_look()
        self.go("load")

    # ---- look

    def next_theme(self) -> None:
        """Step to the next view: light, sunlight, dark."""
        order = THEME_ORDER
        self.set_theme(order[(order.index(self.theme_name) + 1) % len(order)])

    def set_theme(self, name: ThemeName) -> None:
        """Take a theme and remember it."""
        self.theme_name = name
        self.settings.setValue("theme", name)
        self._apply_look()

    def set_touch(self, touch: float) -> None:
        """Take the touch size and remember it."""
        self.settings.setValue("touch", touch)
        self.sizes = Sizes(touch=touch, text=self.sizes.text, compact=self.sizes.compact)
        self._apply_look()

    def _apply_look(self) -> None:
        wide = self.width() >= WIDE_FROM
        compact = self.width() < COMPACT_BELOW
        self.sizes = Sizes(self.sizes.touch, 1.18 if wide else 1.0, compact)
        look = (self.theme_name, self.sizes)
        if look == self._look:
            return
        self._look = look
        theme = THEMES[self.theme_name]
        app = QApplication.instance()
        if isinstance(app, QApplication):
            app.setPalette(palette(theme))
        self.setStyleSheet(sheet_text(theme, self.sizes))
        self.slots.set_look(theme, self.sizes)
        self.top.set_theme_name(self.theme_name)
        self.top.set_compact(compact)
        self.rail.setVisible(not compact)
        self.rail.setFixedWidth(self.sizes.target(180))
        self.right.setFixedWidth(self.sizes.target(356 if compact else 440 if wide else 400))
        for page in self.pages.values():
            page.set_look(theme, self.sizes)
        self._wide_charts(wide=wide)

    def _wide_charts(self, *, wide: bool) -> None:
        """Put the four wear charts beside the slots where there is room."""
        if wide and self._charts is None and self.session.is_open:
            from crewdesk.gui.pages.wear import make_charts

            self._charts = SideColumn(make_charts(THEMES[self.theme_name]))
            self._middle.addWidget(self._charts)
        if self._charts is not None:
            self._charts.setVisible(wide)
            self._feed_charts()

    def _feed_charts(self) -> None:
        if self._charts is not None and self.session.answer is not None:
            from crewdesk.gui.pages.wear import feed_charts

            feed_charts(self._charts.charts, self.session, THEMES[self.theme_name])

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._apply_look()

    # ---- pages

    @property
    def page(self) -> Page:
        """The page in the middle."""
        return self.pages[self._current]

    @Slot(str)
    def go(self, key: str) -> None:
        """Show a page; ``print`` and ``open`` are wishes that leave the page."""
        wish, _, what = key.partition(":")
        wishes: dict[str, Callable[[], None]] = {
            "print": self._print,
            "open": self.open_wanted.emit,
            "demo": self.demo_wanted.emit,
            "write_handover": self.handover_wanted.emit,
            "back": self.back,
            "now": lambda: self.go(self._step_page()),
            "place": lambda: self.go_step(key),
            "loop": lambda: self.go_step(key),
            "tyre": lambda: self._show_tyre(what),
            "damage": lambda: self._incident_of(what),
            "report": lambda: self._report_of(what),
            "late": self._late,
        }
        if wish in wishes and (what or wish not in self.pages):
            wishes[wish]()
            return
        if key not in self.pages:
            return
        if key != self._current:
            self.page.left()
            self._back = [*self._back[-20:], self._current]
        self._current = key
        page = self.page
        page.refresh()
        beside = key not in _FULL_WIDTH
        # Never both at once: the window would grow to hold the wide page and the panel.
        if not beside:
            self.right.hide()
        self.stack.setCurrentWidget(page)
        self.right.setVisible(beside)
        self._frame()
        page.entered()
        if page.host is None:
            self.bottom.primary.setFocus(Qt.FocusReason.OtherFocusReason)

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
        else:
            self.go(kind)

    def _step_page(self) -> str:
        if not self.session.is_open:
            return "load"
        step = self.session.state.step
        return {"before_in": "call", "handover": "handover"}.get(step, step)

    def _frame(self) -> None:
        """Show what stands around the page."""
        page = self.page
        self.parts.setVisible(bool(page.part) and self.session.is_open)
        self._show_parts()
        self.right.setCurrentWidget(self.pad if page.keypad else self.slots)
        self._attach()
        self._show_rail()
        self._show_slots()
        self._show_primary()

    def _attach(self) -> None:
        host = self.page.host
        if host is not None and not host.wired:
            host.wired = True
            host.finished.connect(self._boxes_done)
        self.pad.attach(self.page.host if self.page.keypad else None)

    @Slot()
    def _boxes_done(self) -> None:
        """Give the next Enter to the primary: the last box is closed."""
        if self.sender() is self.page.host:
            self.bottom.primary.setFocus(Qt.FocusReason.OtherFocusReason)

    def _show_parts(self) -> None:
        if self.session.is_open:
            self.parts.show_step(self.session.state.step, self._current, self.page.part)

    def _show_rail(self) -> None:
        if not self.session.is_open:
            self.rail.show_steps((), "")
            return
        steps = steps_of_day(self.session.bundle, self.session.state)
        place = self.session.place
        shown = {"load": "load", "handover": "handover"}.get(self._current, "")
        if self._current == "loop":
            shown = next(
                (s.key for s in steps if s.key.startswith("loop") and s.mark == "now"), ""
            )
        if self.page.part and place is not None:
            shown = f"place:{place.key}"
        self.rail.show_steps(steps, shown)

    @Slot()
    def _show_slots(self) -> None:
        session = self.session
        if not session.is_open:
            self.slots.show_views(self.tr("No event open"), {})
            return
        planning = self.page.part in ("before_in", "fit")
        what, views = shown_slots(session.bundle, session.state, session.answer, planning)
        titles = {
            "planned": self.tr("Planned"),
            "proposed": self.tr("As proposed, not checked"),
            "now": self.tr("On the car now"),
        }
        self.slots.show_views(titles[what], views)
        self._feed_charts()

    @Slot()
    def _show_primary(self) -> None:
        self.bottom.set_primary(self.page.primary_text())

    # ---- news

    @Slot()
    def _opened(self) -> None:
        self.setWindowTitle(f"{self.session.bundle.event.name} · crewdesk")
        for page in self.pages.values():
            page.dirty = True
        self._look = ()
        self._apply_look()

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
            self._show_tyre(views.tyre_id)

    def _show_tyre(self, tyre_id: str) -> None:
        self.pages["find"].show_tyre(tyre_id)  # type: ignore[attr-defined]
        self.go("find")

    def _report_of(self, stage: str) -> None:
        self.go("conditions")
        self.pages["conditions"].set_place(stage)  # type: ignore[attr-defined]

    def _late(self) -> None:
        self.pages["change"].start_with("late")  # type: ignore[attr-defined]
        self.go("change")

    def _incident_of(self, tyre_id: str) -> None:
        self.pages["incident"].start_for(tyre_id)  # type: ignore[attr-defined]
        self.go("incident")

    @Slot()
    def _damage(self) -> None:
        host = self.page.host
        key = host.walk.current if host is not None else None
        tyre = self.page.tyre_of_box(key) if key and hasattr(self.page, "tyre_of_box") else None
        self._incident_of(tyre or "")

    def _print(self) -> None:
        self.print_wanted.emit()
        self._show_primary()

    # ---- keys

    def fire_primary(self) -> None:
        """Do what the primary button says."""
        if self.page.host is not None:
            self.page.host.leave()
        self.page.primary()

    def _action(self, name: str) -> Callable[[], None]:
        kind, _, rest = name.partition(":")
        table: dict[str, Callable[[], None]] = {
            "page": lambda: self.go(rest),
            "slot": lambda: self._slot_focus(rest),
            "short": self._short,
            "full_screen": self._full_screen,
            "view": self.next_theme,
            "undo": self.session.undo,
            "redo": self.session.redo,
            "primary": self.fire_primary,
            "back": self.back,
            "print": self._print,
            "open": self.open_wanted.emit,
            "save_copy": self.copy_wanted.emit,
        }
        return table[kind]

    def _slot_focus(self, place: str) -> None:
        self.right.setCurrentWidget(self.slots)
        self.right.show()
        self.slots.buttons[place].setFocus()  # type: ignore[index]

    def _short(self) -> None:
        if self._current != "call":
            self.go("call")
        self.page.toggle_short()

    def _full_screen(self) -> None:
        if self.isFullScreen():
            self.showNormal()
        else:
            self.showFullScreen()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take what no control has taken: Enter for the primary, digits for choices."""
        key = event.key()
        focus = QApplication.focusWidget()
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._enter(focus)
        elif self._current == "call" and event.text() in ("1", "2", "3", "4"):
            self.page.choose_number(int(event.text()))
        else:
            super().keyPressEvent(event)

    def _enter(self, focus: QWidget | None) -> None:
        if isinstance(focus, QLineEdit | QPlainTextEdit):
            self.focusNextChild()
        elif isinstance(focus, BoxField):
            if focus.host is not None:
                focus.host.press(ENTER)
        elif isinstance(focus, QTableView) and self.page.row_action():
            return
        else:
            self.fire_primary()

    def closeEvent(self, event: QCloseEvent) -> None:
        self.settings.setValue("geometry", self.saveGeometry())
        self.settings.sync()
        self._second.stop()
        self.session.close_day()
        self.session.engine.close()
        super().closeEvent(event)
