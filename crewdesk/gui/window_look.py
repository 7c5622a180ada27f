"""How the window looks: theme, sizes, and where its parts stand on screens of each shape."""

from typing import TYPE_CHECKING, Final

from PySide6.QtWidgets import QApplication, QBoxLayout

from crewdesk.gui.panels import SideColumn
from crewdesk.gui.theme import THEME_ORDER, THEMES, Sizes, ThemeName, palette, sheet_text

if TYPE_CHECKING:
    from crewdesk.gui.page import Page
    from crewdesk.gui.window import MainWindow

COMPACT_BELOW: Final = 1200
WIDE_FROM: Final = 1600
WIDEST: Final = 16777215


class WindowLook:
    """Theme and sizes of one window; remembered in its settings."""

    def __init__(self, window: "MainWindow") -> None:
        self._window = window
        self.theme_name: ThemeName = "light"
        self.sizes = Sizes(touch=float(str(window.settings.value("touch", 1.0))))
        self.charts: SideColumn | None = None
        self._done: tuple[object, ...] = ()

    def restore(self) -> None:
        """Take the view, the size and the place of last time."""
        window = self._window
        name = str(window.settings.value("theme", "light"))
        self.theme_name = name if name in THEMES else "light"
        screen = window.screen().availableGeometry()
        window.resize(min(1366, screen.width()), min(700, screen.height()))
        geometry = window.settings.value("geometry")
        if geometry is not None:
            window.restoreGeometry(geometry)
        self.apply()

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
        wide = window.width() >= WIDE_FROM
        compact = window.width() < COMPACT_BELOW
        upright = compact and window.height() > window.width()
        self.sizes = Sizes(self.sizes.touch, 1.18 if wide else 1.0, compact)
        look = (self.theme_name, self.sizes, upright)
        if look == self._done:
            return
        self._done = look
        theme = THEMES[self.theme_name]
        app = QApplication.instance()
        if isinstance(app, QApplication):
            app.setPalette(palette(theme))
        window.setStyleSheet(sheet_text(theme, self.sizes))
        window.slots.set_look(theme, self.sizes)
        window.top.set_theme_name(self.theme_name)
        window.top.set_compact(compact)
        window.top.set_upright(upright)
        window.bottom.set_upright(upright)
        window.rail.setVisible(not compact)
        window.rail.setFixedWidth(self.sizes.target(180))
        self._place_right(upright=upright, wide=wide)
        for page in window.pages.values():
            self.dress(page)
        self._wide_charts(wide=wide)

    def dress(self, page: "Page") -> None:
        """Give a page its theme and sizes."""
        page.set_look(THEMES[self.theme_name], self.sizes)

    def _place_right(self, *, upright: bool, wide: bool) -> None:
        """Put slots and keypad beside the page, on an upright screen below it."""
        right, middle = self._window.right, self._window.middle
        if upright:
            middle.setDirection(QBoxLayout.Direction.TopToBottom)
            right.setMinimumWidth(0)
            right.setMaximumWidth(WIDEST)
            right.setMaximumHeight(self.sizes.target(520))
            return
        middle.setDirection(QBoxLayout.Direction.LeftToRight)
        right.setMaximumHeight(WIDEST)
        narrow = 356 if self.sizes.compact else 440 if wide else 400
        right.setFixedWidth(self.sizes.target(narrow))

    def _wide_charts(self, *, wide: bool) -> None:
        """Put the four wear charts beside the slots where there is room."""
        window = self._window
        if wide and self.charts is None and window.session.is_open:
            from crewdesk.gui.pages.wear import make_charts

            self.charts = SideColumn(make_charts(THEMES[self.theme_name]))
            window.middle.addWidget(self.charts)
        if self.charts is not None:
            self.charts.setVisible(wide)
            self.feed_charts()

    def feed_charts(self) -> None:
        """Give the charts what the last answer holds."""
        session = self._window.session
        if self.charts is not None and session.answer is not None:
            from crewdesk.gui.pages.wear import feed_charts

            feed_charts(self.charts.charts, session, THEMES[self.theme_name])
