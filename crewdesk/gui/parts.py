"""Small builders that every page uses, so that names and kinds are never forgotten."""

from collections.abc import Callable

from PySide6.QtCore import QEvent, QSize, Qt
from PySide6.QtGui import QFont, QFontMetrics, QResizeEvent
from PySide6.QtWidgets import (
    QApplication,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLayout,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QStyle,
    QStyleOptionButton,
    QVBoxLayout,
    QWidget,
)

from crewdesk.gui.theme import FAMILY


def label(text: str, name: str, kind: str = "", *, wrap: bool = False) -> QLabel:
    """Return a label with its name and kind of text."""
    made = QLabel(text)
    made.setObjectName(name)
    made.setTextFormat(Qt.TextFormat.PlainText)
    if kind:
        made.setProperty("text_kind", kind)
    if wrap:
        made.setWordWrap(True)
        policy = made.sizePolicy()
        policy.setHorizontalPolicy(QSizePolicy.Policy.Ignored)
        made.setSizePolicy(policy)
    return made


def set_kind(widget: QLabel, kind: str) -> None:
    """Change the kind of a label and polish it again."""
    if widget.property("text_kind") != kind:
        widget.setProperty("text_kind", kind)
        widget.style().unpolish(widget)
        widget.style().polish(widget)
        # The room for border and padding is only reckoned anew on this event.
        QApplication.sendEvent(widget, QEvent(QEvent.Type.StyleChange))


NARROW_PX = 46


def _advance(text: str) -> int:
    font = QFont(FAMILY)
    font.setPixelSize(17)
    metrics = QFontMetrics(font)
    return max(metrics.horizontalAdvance(line) for line in text.split("\n"))


def button(
    text: str,
    name: str,
    done: Callable[[], object] | None = None,
    *,
    kind: str = "",
    spoken: str = "",
    checkable: bool = False,
) -> QPushButton:
    """Return a button with its name, kind and what it does."""
    made = QPushButton(text)
    made.setObjectName(name)
    made.setAccessibleName(spoken or text.replace("\n", " ").replace("&&", "&"))
    if kind:
        made.setProperty("kind", kind)
    made.setCheckable(checkable)
    # A least width in the style sheet lets a layout squeeze the text: only short ones get it.
    made.setProperty("narrow", bool(text) and _advance(text) < NARROW_PX)
    if done is not None:
        made.clicked.connect(lambda _=False: done())
    return made


class GivingButton(QPushButton):
    """A button that leaves out the middle of its words before it keeps a window wide.

    What it leaves out is told by its accessible name and shown once it is pressed.
    """

    def __init__(self, name: str, done: Callable[[], object], least_px: int) -> None:
        super().__init__()
        self.setObjectName(name)
        self.setCheckable(True)
        self.clicked.connect(lambda _=False: done())
        self._least_px = least_px
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self._parts = ("", "", "")

    def set_words(self, head: str, middle: str, tail: str) -> None:
        """Show words of which only the middle gives way."""
        self._parts = (head, middle, tail)
        self.updateGeometry()
        self._fit()

    @property
    def whole(self) -> str:
        """Return all of the words."""
        return " ".join(self._parts)

    def sizeHint(self) -> QSize:
        self.ensurePolished()
        option = QStyleOptionButton()
        self.initStyleOption(option)
        words = self.fontMetrics().size(Qt.TextFlag.TextShowMnemonic, self.whole)
        kind = QStyle.ContentsType.CT_PushButton
        return self.style().sizeFromContents(kind, option, words, self)

    def minimumSizeHint(self) -> QSize:
        return QSize(min(self._least_px, self.sizeHint().width()), self.sizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() in (QEvent.Type.StyleChange, QEvent.Type.FontChange):
            self._fit()

    def _fit(self) -> None:
        self.ensurePolished()
        option = QStyleOptionButton()
        self.initStyleOption(option)
        inside = QStyle.SubElement.SE_PushButtonContents
        room_px = self.style().subElementRect(inside, option, self).width()
        text, metrics = self.whole, self.fontMetrics()
        if metrics.horizontalAdvance(text) > room_px:
            head, middle, tail = self._parts
            rest_px = metrics.horizontalAdvance(f"{head}  {tail}")
            shown = metrics.elidedText(
                middle, Qt.TextElideMode.ElideRight, max(room_px - rest_px, 0)
            )
            text = f"{head} {shown} {tail}"
        if text != self.text():
            self.setText(text)


def text_field(name: str, spoken: str, hint: str = "") -> QLineEdit:
    """Return a field for a few words with its name."""
    made = QLineEdit()
    made.setObjectName(name)
    made.setAccessibleName(spoken)
    made.setPlaceholderText(hint)
    return made


def row(*items: QWidget | QLayout | int, spacing: int = 8) -> QHBoxLayout:
    """Return a row; an int is a stretch."""
    made = QHBoxLayout()
    made.setContentsMargins(0, 0, 0, 0)
    made.setSpacing(spacing)
    for item in items:
        if isinstance(item, int):
            made.addStretch(item)
        elif isinstance(item, QWidget):
            made.addWidget(item)
        else:
            made.addLayout(item)
    return made


def column(*items: QWidget | QLayout | int, spacing: int = 6) -> QVBoxLayout:
    """Return a column; an int is a stretch."""
    made = QVBoxLayout()
    made.setContentsMargins(0, 0, 0, 0)
    made.setSpacing(spacing)
    for item in items:
        if isinstance(item, int):
            made.addStretch(item)
        elif isinstance(item, QWidget):
            made.addWidget(item)
        else:
            made.addLayout(item)
    return made


def card(name: str, *items: QWidget | QLayout | int, kind: str = "card") -> QFrame:
    """Return a framed card."""
    frame = QFrame()
    frame.setObjectName(name)
    frame.setProperty("kind", kind)
    inside = column(*items, spacing=4)
    inside.setContentsMargins(10, 8, 10, 8)
    frame.setLayout(inside)
    return frame


def clear(layout: QLayout) -> None:
    """Take everything out of a layout."""
    while layout.count():
        item = layout.takeAt(0)
        if item is None:
            return
        widget, inner = item.widget(), item.layout()
        if widget is not None:
            widget.hide()
            widget.setParent(None)
            widget.deleteLater()
        elif inner is not None:
            clear(inner)


def scrolling(name: str, inside: QWidget) -> QScrollArea:
    """Return a scrolling area around a widget; only vertical."""
    area = QScrollArea()
    area.setObjectName(name)
    area.setAccessibleName(name.replace("_", " "))
    area.setWidgetResizable(True)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    area.setWidget(inside)
    return area


def lines_in(name: str, *, spacing: int = 8) -> tuple[QVBoxLayout, QScrollArea]:
    """Return a column for lines or cards, and the scrolling area that it stands in."""
    inside, lines = QWidget(), column(spacing=spacing)
    inside.setLayout(lines)
    return lines, scrolling(name, inside)


class Choice(QWidget):
    """A row of buttons of which one is chosen; each with its own value."""

    def __init__(
        self,
        name: str,
        options: list[tuple[str, object]],
        chosen: Callable[[object], object],
        *,
        spacing: int = 6,
        kind: str = "",
    ) -> None:
        super().__init__()
        self.setObjectName(name)
        self._chosen = chosen
        self.buttons: list[tuple[QPushButton, object]] = []
        line = QHBoxLayout(self)
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(spacing)
        for index, (text, value) in enumerate(options):
            made = button(text, f"{name}_{index}", kind=kind, checkable=True)
            made.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            made.clicked.connect(lambda _=False, v=value: self._take(v))
            line.addWidget(made)
            self.buttons.append((made, value))

    def _take(self, value: object) -> None:
        self.set_value(value)
        self._chosen(value)

    def set_value(self, value: object) -> None:
        """Show which one holds."""
        for made, own in self.buttons:
            made.setChecked(own == value and value is not None)

    @property
    def value(self) -> object:
        """Return the value of the chosen button, or None."""
        return next((own for made, own in self.buttons if made.isChecked()), None)
