"""A scanner that types: a whole mark with Enter opens its tyre, wherever the cursor is.

Signs that come as fast as no hand types them are held back for a moment. Where they make up a
mark, a tyre or a rim of the stock and end with Enter they were a scan; everything else goes on
to where it was typed, unchanged and in order.
"""

from collections.abc import Callable
from time import monotonic
from typing import Final, cast

from PySide6.QtCore import QEvent, QObject, Qt, QTimer
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QApplication,
    QLineEdit,
    QPlainTextEdit,
    QWidget,
)
from shiboken6 import isValid

from crewdesk.gui.box_host import BoxField

FAST_MS: Final = 100
"""Signs of one scan follow one another within this time. Common practice, no source."""
LEAST_SIGNS: Final = 4
"""Fewer signs are never a scan: a box takes two or three."""

_MODIFIERS: Final = (
    Qt.KeyboardModifier.ControlModifier
    | Qt.KeyboardModifier.AltModifier
    | Qt.KeyboardModifier.MetaModifier
)
_SHIFTS: Final = (
    Qt.Key.Key_Shift,
    Qt.Key.Key_Control,
    Qt.Key.Key_Alt,
    Qt.Key.Key_AltGr,
    Qt.Key.Key_Meta,
    Qt.Key.Key_CapsLock,
)
"""A scanner presses Shift for each capital: that ends no scan."""
_ENTER: Final = (Qt.Key.Key_Return, Qt.Key.Key_Enter)


class ScannerWedge(QObject):
    """Tells a scan from typing, before any control sees it."""

    def __init__(
        self,
        window: QWidget,
        find: Callable[[str], str | None],
        show: Callable[[str], None],
    ) -> None:
        super().__init__(window)
        self._window, self._find, self._show = window, find, show
        self._held: list[QKeyEvent] = []
        self._to: QWidget | None = None
        self._last_s = 0.0
        self._passing = False
        self._wait = QTimer(self, singleShot=True, interval=FAST_MS)
        self._wait.timeout.connect(self._let_go)

    @property
    def holding(self) -> bool:
        """Whether signs are held back that may yet be a scan."""
        return bool(self._held)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Hold signs back, or let them pass."""
        if event.type() != QEvent.Type.KeyPress or self._passing:
            return False
        if not isinstance(watched, QWidget) or watched.window() is not self._window:
            return False
        pressed = cast("QKeyEvent", event)
        if pressed.key() in _SHIFTS:
            return False
        if self._held and monotonic() - self._last_s > FAST_MS / 1000:
            self._let_go()
        if pressed.key() in _ENTER:
            return self._enter()
        text = pressed.text()
        plain = len(text) == 1 and text.isprintable() and not text.isspace()
        if not plain or pressed.modifiers() & _MODIFIERS or _takes_scans(watched):
            self._let_go()
            return False
        if not self._held:
            self._to = watched
        self._held.append(pressed.clone())
        self._last_s = monotonic()
        self._wait.start()
        return True

    def _enter(self) -> bool:
        """Take Enter at the end of a scan; any other Enter goes on."""
        text = "".join(event.text() for event in self._held)
        found = self._find(text) if len(text) >= LEAST_SIGNS else None
        if found is None:
            self._let_go()
            return False
        self._wait.stop()
        self._held.clear()
        self._show(found)
        return True

    def _let_go(self) -> None:
        """Hand on what was held: it was typed."""
        self._wait.stop()
        held, self._held = self._held, []
        self._passing = True
        try:
            for event in held:
                if self._to is not None and isValid(self._to):
                    QApplication.sendEvent(self._to, event)
        finally:
            self._passing = False


def _takes_scans(widget: QWidget) -> bool:
    """Say whether a control takes a scan itself: a text, or a box for a wheel."""
    if isinstance(widget, QAbstractItemView):
        # Typing there opens an editor, which must get the signs that follow.
        return widget.editTriggers() != QAbstractItemView.EditTrigger.NoEditTriggers
    if isinstance(widget, BoxField):
        host = widget.host
        current = host.walk.current if host is not None else None
        return (
            host is not None and current is not None and host.walk.spec(current).kind == "rim"
        )
    return isinstance(widget, QLineEdit | QPlainTextEdit)
