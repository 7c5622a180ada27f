"""What every page of the middle is: it takes values, asks, and has one primary button."""

from functools import partial

from PySide6.QtCore import Qt, QTimer, Signal, Slot
from PySide6.QtWidgets import QLineEdit, QWidget

from crewdesk.gui.box_host import BoxHost
from crewdesk.gui.session import Session
from crewdesk.gui.theme import Sizes, Theme
from crewdesk.gui.views import Planned


class Page(QWidget):
    """Base of the pages."""

    go = Signal(str)
    """Wish for another page, by key."""
    primary_changed = Signal()
    host_changed = Signal()

    key = ""
    part = ""
    """Which of the five parts of a change place this page is; empty: none."""
    keypad = False
    """Whether the keypad stands on the right in place of the slots."""

    about_tyres = False
    """Whether its boxes are about tyres, of which one may be found damaged."""

    wide = False
    """Whether the page takes the room of the right column too."""

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self.host: BoxHost | None = None
        self.setObjectName(f"page_{self.key}")
        self.dirty = True
        session.unwritten.connect(self._keep_unwritten)
        session.written.connect(self._write_soon)

    def heading(self) -> str:
        """Return what the page is called."""
        return ""

    def primary_text(self) -> str:
        """Return what the primary button does here."""
        raise RuntimeError(f"{type(self).__name__} names no primary")

    def primary(self) -> None:
        """Do what the primary button says."""
        raise RuntimeError(f"{type(self).__name__} has no primary")

    def making(self) -> tuple[str, str] | None:
        """Return name and state of what is made here; None: the page is about the day."""
        return None

    def refresh(self) -> None:
        """Show the state of the day."""

    def entered(self) -> None:
        """Take the cursor: the page came to the front."""

    def left(self) -> None:
        """Keep what stands in an open box: the page goes to the back."""
        if self.host is not None:
            self.host.leave()

    def keep_cursor(self) -> None:
        """Give the cursor back to the control that has it, once it has been built anew.

        Without it the cursor falls on the first control of the window.
        """
        held = self.window().focusWidget()
        # Without a cursor anywhere this asks about no control, which the page does not hold.
        if self.isAncestorOf(held) and held.objectName():
            QTimer.singleShot(0, self, partial(self._cursor_to, held.objectName()))

    def _cursor_to(self, name: str, tries: int = 5) -> None:
        found = [w for w in self.findChildren(QWidget, name) if w.isVisible()]
        if found and found[-1].isEnabled():
            found[-1].setFocus(Qt.FocusReason.OtherFocusReason)
        elif tries and not found:
            # What was built anew is shown by its layout, a turn or two later.
            QTimer.singleShot(0, self, partial(self._cursor_to, name, tries - 1))

    @Slot()
    def _keep_unwritten(self) -> None:
        if self.host is not None:
            self.host.not_written()

    @Slot()
    def _write_soon(self) -> None:
        """Try what the book could not take once more, now that it takes entries again."""
        if self.isVisible() and self.host is not None and self.host.holds_unwritten:
            QTimer.singleShot(0, self, self._write_again)

    @Slot()
    def _write_again(self) -> None:
        if self.host is not None:
            self.host.write_again()

    def planned(self) -> Planned | None:
        """Return what the slots are to show as planned; None: the call."""
        return None

    def tyre_of_box(self, _key: str) -> str | None:
        """Return the tyre that a box is about, where boxes here are about tyres."""
        return None

    def choose_number(self, number: int) -> None:
        """Take a digit 1 to 4 where the page offers choices."""

    def toggle_short(self) -> None:
        """Take F4."""

    def row_action(self) -> bool:
        """Take Enter in a table; return whether it was taken."""
        return False

    def undo(self) -> None:
        """Take Ctrl+Z: the last entry of the book goes back."""
        self.session.undo()

    def redo(self) -> None:
        """Take Ctrl+Y: what went back comes again."""
        self.session.redo()

    def escape(self) -> bool:
        """Take Esc; return whether it was taken."""
        return False

    def set_look(self, theme: Theme, sizes: Sizes) -> None:
        """Take the theme and the sizes where the page paints by itself."""

    def typed_number(self, field: QLineEdit) -> float | None:
        """Return a number typed with point or comma; what is none is said and left out."""
        text = field.text().strip().replace(",", ".")
        try:
            return float(text) if text else None
        except ValueError:
            self.session.notice(
                "note", self.tr("“{0}” is not a number and was left out.").format(text)
            )
            return None
