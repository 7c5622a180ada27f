"""Every key of the window: the table of shortcuts, Enter, and the digits of the call."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import QApplication, QLineEdit, QPlainTextEdit, QTableView, QWidget

from crewdesk.gui.box_host import BoxField
from crewdesk.gui.boxes import ENTER
from crewdesk.gui.keys import KEYS
from crewdesk.gui.wedge import ScannerWedge

if TYPE_CHECKING:
    from crewdesk.gui.window import MainWindow


TYPED_ANYWHERE: Final = frozenset("0123456789.,*-/")


class WindowKeys:
    """What the keys do, wherever the cursor is."""

    def __init__(self, window: "MainWindow") -> None:
        self._window = window
        for key in KEYS:
            if key.keys:
                shortcut = QShortcut(QKeySequence(key.keys), window)
                shortcut.setObjectName(f"shortcut_{key.keys}")
                shortcut.activated.connect(self.action(key.action))
        self.wedge = ScannerWedge(window, window.session.scanned_tyre, window.show_tyre)
        app = QApplication.instance()
        if app is not None:
            app.installEventFilter(self.wedge)

    def leave(self) -> None:
        """Listen no more: the window is closed."""
        app = QApplication.instance()
        if app is not None:
            app.removeEventFilter(self.wedge)

    def action(self, name: str) -> Callable[[], None]:
        """Return what an action of the table of keys does."""
        window = self._window
        kind, _, rest = name.partition(":")
        table: dict[str, Callable[[], None]] = {
            "page": lambda: window.go(rest),
            "slot": lambda: window.focus_slot(rest),
            "short": self._short,
            "full_screen": self._full_screen,
            "view": window.next_theme,
            "undo": lambda: window.page.undo(),
            "redo": lambda: window.page.redo(),
            "primary": window.fire_primary,
            "back": window.back,
            "print": window.print_sheet,
            "keep": self._keep,
            "open": window.open_wanted.emit,
            "save_copy": window.copy_wanted.emit,
        }
        return table[kind]

    def _short(self) -> None:
        if self._window.page.key != "call":
            self._window.go("call")
        self._window.page.toggle_short()

    def _keep(self) -> None:
        if self._window.page.host is not None:
            self._window.page.host.keep_asked()

    def _full_screen(self) -> None:
        if self._window.isFullScreen():
            self._window.showNormal()
        else:
            self._window.showFullScreen()

    def take(self, event: QKeyEvent) -> bool:
        """Take what no control has taken: Enter for the primary, digits for choices."""
        key = event.key()
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._enter(QApplication.focusWidget())
            return True
        if self._window.page.key == "call" and event.text() in ("1", "2", "3", "4"):
            self._window.page.choose_number(int(event.text()))
            return True
        host = self._window.page.host
        if (
            host is not None
            and host.walk.current is not None
            and event.text() in TYPED_ANYWHERE
        ):
            # The cursor went to a button for a moment; the open box still takes what is typed.
            host.press(event.text())
            host.take_up()
            return True
        return False

    def _enter(self, focus: QWidget | None) -> None:
        if isinstance(focus, QLineEdit | QPlainTextEdit):
            self._window.focusNextChild()
        elif isinstance(focus, BoxField):
            if focus.host is not None:
                focus.host.press(ENTER)
        elif isinstance(focus, QTableView) and self._window.page.row_action():
            return
        else:
            self._window.fire_primary()
