"""What every page of the middle is: it takes values, asks, and has one primary button."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLineEdit, QWidget

from crewdesk.gui.keypad import BoxHost
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

    wide = False
    """Whether the page takes the room of the right column too."""

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self.host: BoxHost | None = None
        self.setObjectName(f"page_{self.key}")
        self.dirty = True

    def heading(self) -> str:
        """Return what the page is called."""
        return ""

    def primary_text(self) -> str:
        """Return what the primary button does here."""
        raise RuntimeError(f"{type(self).__name__} names no primary")

    def primary(self) -> None:
        """Do what the primary button says."""
        raise RuntimeError(f"{type(self).__name__} has no primary")

    def refresh(self) -> None:
        """Show the state of the day."""

    def entered(self) -> None:
        """Take the cursor: the page came to the front."""

    def left(self) -> None:
        """Keep what stands in an open box: the page goes to the back."""
        if self.host is not None:
            self.host.leave()

    def planned(self) -> Planned | None:
        """Return what the slots are to show as planned; None: the call."""
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
