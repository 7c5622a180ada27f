"""The keypad: digits and word keys for gloves, what they go to, and what is asked about."""

from contextlib import suppress

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QGridLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from crewdesk.gui.asked_line import AskedLine
from crewdesk.gui.box_host import BoxHost
from crewdesk.gui.boxes import BACK, Word, shown


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
        self.question = AskedLine(self._asked_keep, self._asked_retype)
        self._stack = QStackedWidget()
        self._stack.addWidget(self._digits())
        self._stack.addWidget(self._looks())
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addWidget(self._stack)
        column.addWidget(self.question)
        column.addWidget(self._what)
        column.addWidget(self._value)
        column.addWidget(self._hint)
        column.addStretch(1)

    def attach(self, host: BoxHost | None, *, tyres: bool = True) -> None:
        """Serve the boxes of a page; without ``tyres`` no box is about one that is damaged."""
        self.damage.setVisible(tyres)
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
            if word == "damage":
                self.damage = button
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

    def _asked_keep(self) -> None:
        if self._host is not None:
            self._host.keep_asked()

    def _asked_retype(self) -> None:
        if self._host is not None:
            self._host.retype_asked()

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
        self.question.show_for(walk)
        # The question takes the room of what can be seen in the boxes themselves.
        for line in (self._what, self._hint):
            line.setVisible(walk is None or walk.asked is None)
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
