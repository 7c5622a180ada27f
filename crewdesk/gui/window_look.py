"""How the window looks: theme, sizes, and where its parts stand on screens of each shape."""

from typing import TYPE_CHECKING, Final

from PySide6.QtWidgets import QApplication, QWidget

from crewdesk.gui.theme import THEME_ORDER, THEMES, Sizes, ThemeName, palette, sheet_text

if TYPE_CHECKING:
    from crewdesk.gui.page import Page
    from crewdesk.gui.panels import SideColumn
    from crewdesk.gui.window import MainWindow

COMPACT_BELOW: Final = 1200
WIDE_FROM: Final = 1600
WIDEST: Final = 16777215
LOW_BELOW: Final = 720
"""A screen with less height than this, in its own scale, cannot hold every page whole: the
frame around a window takes some 20 to 30 of it."""
BAR_PX: Final = 24
ALONE_BELOW: Final = 1000
"""Below this a page that needs no keypad has the width to itself; Ctrl+1 shows the wheels."""


class WindowLook:
    """Theme and sizes of one window; remembered in its settings."""

    def __init__(self, window: "MainWindow") -> None:
        self._window = window
        self.theme_name: ThemeName = "light"
        self.sizes = Sizes(touch=float(str(window.settings.value("touch", 1.0))))
        self.charts: SideColumn | None = None
        self._done: tuple[object, ...] = ()
        self._alone = False
        self.sheet = ""
        """The style sheet that holds."""
        self._worn: dict[QWidget, str] = {}
        """The style sheet that each part of the window was given last."""

    def restore(self) -> None:
        """Take the view, the size and the place of last time."""
        window = self._window
        name = str(window.settings.value("theme", "light"))
        self.theme_name = name if name in THEMES else "light"
        self._grounds()
        screen = window.screen().availableGeometry()
        usual = (min(1366, screen.width()), min(700, screen.height()))
        window.resize(*usual)
        if screen.height() < LOW_BELOW:
            # Elsewhere the first drawing goes without: it takes a sixth of its time.
            from PySide6.QtCore import Qt

            window.setWindowState(Qt.WindowState.WindowMaximized)
        geometry = window.settings.value("geometry")
        if geometry is not None:
            window.restoreGeometry(geometry)
            if window.size().isEmpty():
                # Kept on a screen that had no room for it: it would never draw itself.
                window.resize(*usual)

    def face(self) -> QWidget:
        """Return what the window shows before it has any control."""
        from crewdesk.gui.face import Face

        return Face(self._window, THEMES[self.theme_name], self.sizes, COMPACT_BELOW)

    def next_theme(self) -> None:
        """Step to the next view: light, sunlight, dark."""
        order = THEME_ORDER
        self.set_theme(order[(order.index(self.theme_name) + 1) % len(order)])

    def set_theme(self, name: ThemeName) -> None:
        """Take a theme and remember it."""
        self.theme_name = name
        self._window.settings.setValue("theme", name)
        self.apply()

    def set_touch(self, touch: float) -> None:
        """Take the touch size and remember it."""
        self._window.settings.setValue("touch", touch)
        self.sizes = Sizes(touch=touch, text=self.sizes.text, compact=self.sizes.compact)
        self.apply()

    def forget(self) -> None:
        """Lay everything anew: another event is open."""
        self._done = ()
        self.apply()

    def apply(self) -> None:
        """Lay the window out for its size, where that asks for another look."""
        window = self._window
        if not window.filled:
            return
        wide = window.width() >= WIDE_FROM
        compact = window.width() < COMPACT_BELOW
        upright = compact and window.height() > window.width()
        self.sizes = Sizes(self.sizes.touch, 1.18 if wide else 1.0, compact)
        low = window.screen().availableGeometry().height() < LOW_BELOW
        look = (self.theme_name, self.sizes, upright, low)
        alone = self.alone(window.page)
        if alone != self._alone:
            # The window has grown wide enough for the slots, or too narrow for them.
            self._alone = alone
            window.right.setVisible(window.has_beside)
        if look == self._done:
            return
        self._done = look
        theme = THEMES[self.theme_name]
        self._grounds()
        self.sheet = sheet_text(theme, self.sizes)
        for part in (window.top, window.rail, window.bottom, window.parts):
            self._wear(part)
        self.dress_right()
        window.slots.set_look(theme, self.sizes)
        window.top.set_theme_name(self.theme_name)
        window.top.set_compact(compact)
        window.top.set_upright(upright)
        window.bottom.set_upright(upright)
        window.rail.setVisible(not compact)
        window.rail.setFixedWidth(self.sizes.target(180))
        self._place_right(upright=upright, wide=wide, low=low)
        self.dress(window.page)
        self._wide_charts(wide=wide)

    def _grounds(self) -> None:
        """Colour what no style sheet reaches, where the colours are other ones."""
        app = QApplication.instance()
        wanted = palette(THEMES[self.theme_name])
        if isinstance(app, QApplication) and app.palette() != wanted:
            app.setPalette(wanted)

    def _wear(self, part: QWidget) -> bool:
        """Give a part the style sheet that holds; say whether it had another one."""
        if self._worn.get(part) == self.sheet:
            return False
        self._worn[part] = self.sheet
        part.setStyleSheet(self.sheet)
        return True

    def dress(self, page: "Page") -> None:
        """Give a page its theme and sizes.

        Pages at the back are dressed when they come to the front: all of them at once would
        hold the window up.
        """
        if self._wear(page):
            page.set_look(THEMES[self.theme_name], self.sizes)
        self._show_charts(page)

    def alone(self, page: "Page") -> bool:
        """Whether a page needs the width of the slots too: the screen is low and narrow."""
        window = self._window
        narrow = window.width() < ALONE_BELOW and window.width() > window.height()
        return narrow and not page.keypad

    def dress_right(self) -> None:
        """Give the slots or the keypad, whichever stands on the right, the style that holds."""
        shown = self._window.right.currentWidget()
        if shown is not None:
            self._wear(shown)

    def _place_right(self, *, upright: bool, wide: bool, low: bool) -> None:
        """Put slots and keypad beside the page, on an upright screen below it."""
        from PySide6.QtWidgets import QBoxLayout

        window = self._window
        window.stack.low = low
        for room in window.rooms:
            room.set_low(low=low)
            for bar in (room.verticalScrollBar(), room.horizontalScrollBar()):
                self._wear(bar)
        right, middle = window.rooms[1], window.middle
        middle.setContentsMargins(*((4, 4, 4, 4) if low else (10, 6, 10, 6)))
        middle.setSpacing(6 if low else 10)
        if upright:
            middle.setDirection(QBoxLayout.Direction.TopToBottom)
            right.setMinimumWidth(0)
            right.setMaximumWidth(WIDEST)
            right.setMaximumHeight(self.sizes.target(520))
            return
        middle.setDirection(QBoxLayout.Direction.LeftToRight)
        right.setMaximumHeight(WIDEST)
        narrow = 356 if self.sizes.compact else 440 if wide else 400
        right.setFixedWidth(self.sizes.target(narrow) + (BAR_PX if low else 0))

    def _wide_charts(self, *, wide: bool) -> None:
        """Put the four wear charts beside the slots where there is room."""
        window = self._window
        if wide and self.charts is None and window.session.is_open:
            from crewdesk.gui.pages.wear import make_charts
            from crewdesk.gui.panels import SideColumn

            self.charts = SideColumn(make_charts(THEMES[self.theme_name]))
            window.middle.addWidget(self.charts)
        if self.charts is not None:
            self._wear(self.charts)
            self._show_charts(window.page)
            self.feed_charts()

    def _show_charts(self, page: "Page") -> None:
        """Show the charts at the side where there is room and the page is not about them."""
        if self.charts is not None:
            wide = self._window.width() >= WIDE_FROM
            # Nor beside an event that is being made: they are those of the open day.
            shown = page.key != "wear" and page.making() is None
            self.charts.setVisible(wide and shown)

    def feed_charts(self) -> None:
        """Give the charts what the last answer holds."""
        session = self._window.session
        if self.charts is not None:
            from crewdesk.gui.pages.wear import feed_charts

            feed_charts(self.charts.charts, session, THEMES[self.theme_name])
