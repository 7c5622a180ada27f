"""The boxes of a page on the screen, and what joins them to the logic of ``boxes``."""

from collections.abc import Mapping
from typing import Final, cast

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent
from PySide6.QtWidgets import QPushButton, QSizePolicy

from crewdesk.gui.boxes import BACK, ENTER, TAB, BoxEvent, BoxWalk, Word, shown

SETTLE_MS: Final = 500
"""A value is in the book this long after its box closed, at latest."""


class BoxField(QPushButton):
    """One box; it shows what is typed and hands its keys to the walk."""

    def __init__(self, key: str, label: str, *, thick: bool, small: bool = False) -> None:
        super().__init__("")
        self.key = key
        self.host: BoxHost | None = None
        self.setObjectName(f"box_{key}")
        self.setProperty("kind", "box")
        self.setProperty("thick", thick)
        self.setProperty("small", small)
        self.setAccessibleName(label)
        self._label = label
        self._small = small
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_text(self, text: str, *, outside: bool, active: bool) -> None:
        # Words are longer than any figure: smaller letters, on two lines.
        words = text in ("not known", "damage")
        small = self._small or words
        self.setText(text.replace(" ", "\n") if words else f"⚠ {text}" if outside else text)
        self.setAccessibleName(f"{self._label} {text}".strip())
        looks = {"outside": outside, "active": active, "small": small}
        if any(self.property(name) != value for name, value in looks.items()):
            for name, value in looks.items():
                self.setProperty(name, value)
            self.style().unpolish(self)
            self.style().polish(self)

    def event(self, event: QEvent) -> bool:
        """Give Tab to the walk where it belongs to the box, not to the focus."""
        if event.type() == QEvent.Type.KeyPress and self.host is not None:
            pressed = cast("QKeyEvent", event)
            if pressed.key() == Qt.Key.Key_Tab and self.host.wants_tab(self.key):
                self.host.press(TAB)
                return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        host = self.host
        if host is None or event.modifiers() & (
            Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier
        ):
            event.ignore()
            return
        key = event.key()
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if host.walk.idle:
                host.idle_enter.emit()
            host.press(ENTER)
        elif key in (Qt.Key.Key_Backspace, Qt.Key.Key_Delete):
            host.press(BACK)
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Up):
            host.step(-1)
        elif key in (Qt.Key.Key_Right, Qt.Key.Key_Down):
            host.step(1)
        elif key == Qt.Key.Key_Escape or not event.text().strip():
            event.ignore()
        else:
            host.press(event.text())

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        if self.host is not None and event.reason() != Qt.FocusReason.OtherFocusReason:
            self.host.enter_box(self.key)


class BoxHost(QObject):
    """The boxes of one page: fields, walk and the half second after a box closed."""

    committed = Signal(str, object, str)
    """Key of the box, value, word."""
    changed = Signal()
    kept = Signal(str)
    """Key of a box whose unlikely value the crew stands by."""
    finished = Signal()
    """The last box is closed and half a second has passed."""
    idle_enter = Signal()
    """Enter in an empty box, where it does nothing."""

    def __init__(self, walk: BoxWalk, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.walk = walk
        self.wired = False
        """Whether the window listens to it."""
        self.fields: dict[str, BoxField] = {}
        self._committing: str | None = None
        self._timer = QTimer(self, singleShot=True, interval=SETTLE_MS)
        self._timer.timeout.connect(self._settle)

    def make_field(self, key: str) -> BoxField:
        """Return the field of a box."""
        spec = self.walk.spec(key)
        field = BoxField(key, spec.label, thick=spec.thick, small=spec.kind == "look")
        field.host = self
        field.clicked.connect(lambda _=False: self.enter_box(key))
        self.fields[key] = field
        self._show(key)
        return field

    def start(self) -> None:
        """Put the cursor on the first box still to fill."""
        first = self.walk.first_empty()
        if first is not None:
            self.enter_box(first)

    def enter_box(self, key: str) -> None:
        """Put the cursor on a box."""
        if self.walk.current != key:
            self._handle(self.walk.move_to(key))
        self._focus(key)
        self.show_all()

    def leave(self) -> None:
        """Commit what stands and take the cursor out of the boxes."""
        self._timer.stop()
        self._handle(self.walk.move_to(None), focus=False)
        self.show_all()

    def empty(self) -> None:
        """Commit what stands, then empty the boxes: what comes next is read anew."""
        self.leave()
        self.walk.empty()
        self.show_all()

    def mirror(self, known: Mapping[str, float]) -> None:
        """Show what the book has: after an undo, or entered at another desk."""
        self.walk.mirror(known)
        self.show_all()

    def retire(self) -> None:
        """Let go of the fields: they are about to be built anew.

        A field that goes passes the cursor on to another one, which is no wish of the crew.
        """
        self._timer.stop()
        for field in self.fields.values():
            field.host = None
        self.fields.clear()

    def take_up(self) -> None:
        """Go on where a walk that was handed over stood."""
        if self.walk.swallows:
            self._timer.start()
        if self.walk.current is not None:
            self._focus(self.walk.current)
        self.show_all()

    def step(self, by: int) -> None:
        """Move the cursor by arrow."""
        keys = list(self.fields)
        if self.walk.current in keys:
            place = keys.index(self.walk.current) + by
            if 0 <= place < len(keys):
                self.enter_box(keys[place])

    def wants_tab(self, key: str) -> bool:
        """Whether Tab closes a box or is swallowed, in place of moving the focus."""
        box = self.walk.boxes[key]
        return self.walk.swallows or bool(box.text and not box.closed)

    def press(self, sign: str) -> None:
        """Take a key from the field or the keypad."""
        self._handle(self.walk.press(sign))

    def press_word(self, word: Word) -> None:
        """Take a word key."""
        self._handle(self.walk.press_word(word))

    def ask_about(self, key: str, doubt: str) -> None:
        """Mark a value that is in the book and unlikely, or no more."""
        if key in self.walk.boxes:
            self.walk.boxes[key].doubt = doubt
            self.show_all()

    def keep_asked(self) -> None:
        """Stand by the value that is asked about."""
        self._handle(self.walk.keep())

    def retype_asked(self) -> None:
        """Put the cursor on the value that is asked about."""
        if self.walk.asked is not None:
            self.enter_box(self.walk.asked)

    def show_all(self) -> None:
        for key in self.fields:
            self._show(key)
        self.changed.emit()

    def _settle(self) -> None:
        self._handle(self.walk.settle(), focus=False)

    def _handle(self, events: list[BoxEvent], *, focus: bool = True) -> None:
        for event in events:
            if event.kind == "committed":
                self._commit(event.key, event.value, event.word)
            elif event.kind == "closed":
                self._timer.start()
            elif event.kind == "moved" and focus:
                self._focus(event.key)
            elif event.kind == "kept":
                self.kept.emit(event.key)
            elif event.kind == "done":
                self.finished.emit()
        self.show_all()

    def _commit(self, key: str, value: object, word: str) -> None:
        self._committing = key
        self.committed.emit(key, value, word)
        self._committing = None

    def not_written(self) -> None:
        """Keep what was just handed over, marked: the book could not take it."""
        if self._committing is not None:
            self.walk.boxes[self._committing].unwritten = True

    @property
    def holds_unwritten(self) -> bool:
        """Whether a box waits for the book to take it."""
        return any(box.unwritten for box in self.walk.boxes.values())

    def write_again(self) -> None:
        """Hand over what the book could not take before, one box at a time."""
        for key, box in self.walk.boxes.items():
            if box.unwritten:
                box.unwritten = False
                self._commit(key, box.value, box.word)
                break
        self.show_all()

    def _focus(self, key: str) -> None:
        field = self.fields.get(key)
        if field is not None and not field.hasFocus():
            field.setFocus(Qt.FocusReason.OtherFocusReason)

    def _show(self, key: str) -> None:
        field, box = self.fields[key], self.walk.boxes[key]
        text = shown(self.walk.spec(key).kind, box)
        marked = box.outside or box.unwritten or bool(box.doubt)
        field.show_text(text, outside=marked, active=self.walk.current == key)
