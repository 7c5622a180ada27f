"""The keypad, the boxes it fills, and what joins them to the logic of ``boxes``."""

from collections.abc import Mapping
from contextlib import suppress
from typing import Final, cast

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent
from PySide6.QtWidgets import (
    QGridLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

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
        marked = box.outside or box.unwritten
        field.show_text(text, outside=marked, active=self.walk.current == key)


class Keypad(QWidget):
    """Digits and word keys for gloves, with the box they go to above them."""

    damage_wanted = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("keypad")
        self._host: BoxHost | None = None
        self._what = QLabel()
        self._value = QLabel()
        self._hint = QLabel()
        for label, name, kind in (
            (self._what, "keypad_what", "strong"),
            (self._value, "keypad_value", "clock"),
            (self._hint, "keypad_hint", "muted"),
        ):
            label.setObjectName(name)
            label.setProperty("text_kind", kind)
        self._what.setWordWrap(True)
        self._hint.setWordWrap(True)
        self._stack = QStackedWidget()
        self._stack.addWidget(self._digits())
        self._stack.addWidget(self._looks())
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addWidget(self._stack)
        column.addWidget(self._what)
        column.addWidget(self._value)
        column.addWidget(self._hint)
        column.addStretch(1)

    def attach(self, host: BoxHost | None) -> None:
        """Serve the boxes of a page."""
        if self._host is not None:
            with suppress(RuntimeError):
                self._host.changed.disconnect(self._refresh)
        self._host = host
        if host is not None:
            host.changed.connect(self._refresh)
        self._refresh()

    def _key(self, text: str, name: str, spoken: str, kind: str = "key") -> QPushButton:
        button = QPushButton(text)
        button.setObjectName(f"key_{name}")
        button.setProperty("kind", kind)
        button.setAccessibleName(spoken)
        button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        button.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        return button

    def _digits(self) -> QWidget:
        pad = QWidget()
        grid = QGridLayout(pad)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(6)
        for row, signs in enumerate(("789", "456", "123")):
            for column, sign in enumerate(signs):
                button = self._key(sign, sign, sign)
                button.clicked.connect(lambda _=False, s=sign: self._press(s))
                grid.addWidget(button, row, column)
        for column, (text, sign, spoken) in enumerate(
            (
                (self.tr("10+"), "*", self.tr("ten and more")),
                ("0", "0", "0"),
                ("⌫", BACK, self.tr("rub out")),
            )
        ):
            button = self._key(text, {"*": "ten", BACK: "back"}.get(sign, sign), spoken)
            button.clicked.connect(lambda _=False, s=sign: self._press(s))
            grid.addWidget(button, 3, column)
            if sign == "*":
                self._ten = button
        words: tuple[tuple[str, Word], ...] = (
            (self.tr("Same\nS"), "same"),
            (self.tr("Not\nknown /"), "unknown"),
            (self.tr("Dam-\nage"), "damage"),
            (self.tr("Skip"), "skip"),
        )
        for row, (text, word) in enumerate(words):
            spoken = self.tr("Damage") if word == "damage" else text.replace("\n", " ")
            button = self._key(text, word, spoken, kind="wordkey")
            button.clicked.connect(lambda _=False, w=word: self._word(w))
            grid.addWidget(button, row, 3)
        return pad

    def _looks(self) -> QWidget:
        pad = QWidget()
        column = QVBoxLayout(pad)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(6)
        for number, text in enumerate(
            (
                self.tr("Moulding lines"),
                self.tr("Grained"),
                self.tr("Even"),
                self.tr("Feathered"),
                self.tr("Torn or blistered"),
            ),
            start=1,
        ):
            button = self._key(f"{number}  {text}", f"look_{number}", text, kind="big")
            button.clicked.connect(lambda _=False, s=str(number): self._press(s))
            column.addWidget(button)
        column.addStretch(1)
        return pad

    def _press(self, sign: str) -> None:
        if self._host is None:
            return
        if sign == "*" and self._kind() in ("air", "road", "driver"):
            sign = "-"
        self._host.press(sign)

    def _word(self, word: Word) -> None:
        if word == "damage":
            self.damage_wanted.emit()
        if self._host is not None:
            self._host.press_word(word)

    def _kind(self) -> str:
        walk = self._host.walk if self._host is not None else None
        return walk.spec(walk.current).kind if walk is not None and walk.current else ""

    def _refresh(self) -> None:
        walk = self._host.walk if self._host is not None else None
        key = walk.current if walk is not None else None
        kind = self._kind()
        self._stack.setCurrentIndex(1 if kind == "look" else 0)
        signed = kind in ("air", "road", "driver")
        self._ten.setText("−" if signed else self.tr("10+"))
        self._ten.setAccessibleName(self.tr("minus") if signed else self.tr("ten and more"))
        if walk is None or key is None:
            self._what.setText(self.tr("Tap a box to type into it."))
            self._value.setText("")
            self._hint.setText("")
            return
        spec, box = walk.spec(key), walk.boxes[key]
        self._what.setText(spec.label)
        text = shown(spec.kind, box)
        self._value.setText(f"⚠ {text}" if box.outside else text)
        if box.outside:
            low, high = walk.limits.get(spec.kind, (0.0, 0.0))
            if spec.kind == "rim":
                self._hint.setText(
                    self.tr(
                        "No wheel, or more than one. Type all digits and Enter, or rub out (⌫)."
                    )
                )
            elif spec.kind == "pressure":
                self._hint.setText(
                    self.tr("Between {0} and {1} bar. Rub it out (⌫).").format(
                        f"{low / 100:.2f}", f"{high / 100:.2f}"
                    )
                )
            else:
                self._hint.setText(
                    self.tr("Between {0} and {1}. Rub it out (⌫).").format(
                        f"{low:g}", f"{high:g}"
                    )
                )
        else:
            self._hint.setText(spec.hint)
