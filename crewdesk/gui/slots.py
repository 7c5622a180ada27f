"""The six wheel slots as on a set-up sheet: four corners and two carried wheels."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFont, QFontMetrics, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import (
    QAbstractButton,
    QGridLayout,
    QLabel,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from crewdesk.gui.badge import badge_size, draw_badge
from crewdesk.gui.texts import LONG, SHORT
from crewdesk.gui.theme import FAMILY, BadgeSlot, Sizes, Theme
from crewdesk.units import PLACES, Place

_CELLS: Final[Mapping[Place, tuple[int, int]]] = {
    "FL": (0, 0),
    "FR": (0, 2),
    "RL": (1, 0),
    "RR": (1, 2),
    "SP1": (2, 0),
    "SP2": (2, 2),
}


@dataclass(frozen=True)
class SlotView:
    """What one slot shows; empty where no wheel is there."""

    place: Place
    rim_id: str = ""
    tyre_id: str = ""
    badge: BadgeSlot | None = None
    code: str = ""
    compound: str = ""
    tread: str = ""
    """As ``10.0 mm in`` or ``≈ 4.1 mm out``."""
    cold: str = ""
    line: str = ""
    """As ``off G01``, ``stays``, ``cut``, ``torque due``."""
    changed: bool = False
    marked: bool = False
    """The line is a warning."""

    def spoken(self, title: str) -> str:
        """Return the slot in words, as a reader for the blind says it."""
        if not self.tyre_id:
            return f"{LONG[self.place]}, no wheel, {title}"
        parts = [LONG[self.place], f"wheel {self.rim_id or 'no rim'}", f"tyre {self.tyre_id}"]
        parts += [self.compound, self.code]
        parts += [self.tread] if self.tread else []
        parts += [f"{self.cold} bar cold"] if self.cold else []
        return ", ".join(p for p in (*parts, title.lower(), self.line) if p)


class SlotButton(QAbstractButton):
    """One slot, painted; a button by mouse, touch and key."""

    def __init__(self, place: Place) -> None:
        super().__init__()
        self.place = place
        self._view = SlotView(place)
        self._theme: Theme | None = None
        self._sizes = Sizes()
        self.setObjectName(f"slot_{place}")
        self.setAccessibleName(LONG[place])
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def set_look(self, theme: Theme, sizes: Sizes) -> None:
        self._theme, self._sizes = theme, sizes
        self.updateGeometry()
        self.update()

    def set_view(self, view: SlotView, title: str) -> None:
        self._view = view
        self.setAccessibleName(view.spoken(title))
        self.setToolTip(view.spoken(title))
        self.update()

    @property
    def view(self) -> SlotView:
        """What is shown."""
        return self._view

    def sizeHint(self) -> QSize:
        return self.minimumSizeHint()

    def minimumSizeHint(self) -> QSize:
        wide, high = (150, 136) if self._sizes.compact else (164, 146)
        return QSize(round(wide * max(1.0, self._sizes.text)), self._sizes.target(high))

    def paintEvent(self, _event: QPaintEvent) -> None:
        if self._theme is None:
            return
        painter = QPainter(self)
        try:
            self._paint(painter, self._theme)
        finally:
            painter.end()

    @property
    def _line_px(self) -> int:
        return 17 if self._sizes.compact else 19

    @property
    def _badge_px(self) -> int:
        # Two characters need 52 px, whatever the touch size.
        return 52

    def _font(self, px: float, *, bold: bool = False) -> QFont:
        font = QFont(FAMILY)
        font.setPixelSize(self._sizes.letter(px))
        font.setBold(bold)
        return font

    def _paint(self, painter: QPainter, theme: Theme) -> None:
        view = self._view
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        width = 4 if view.changed else theme.line_px
        half = width / 2
        frame = QRectF(self.rect()).adjusted(half, half, -half, -half)
        painter.setBrush(QColor(theme.accent if self.isDown() else theme.card))
        painter.setPen(QPen(QColor(theme.accent if view.changed else theme.line), width))
        painter.drawRoundedRect(frame, 7, 7)
        if self.hasFocus():
            pen = QPen(QColor(theme.ink), 2, Qt.PenStyle.DashLine)
            painter.setPen(pen)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(frame.adjusted(5, 5, -5, -5), 4, 4)
        ink = QColor(theme.accent_ink if self.isDown() else theme.ink)
        painter.setPen(ink)
        left, right = 11.0, self.width() - 11.0
        small, big = self._font(17, bold=True), self._font(26, bold=True)
        plain = self._font(self._line_px)
        line_px = QFontMetrics(plain).height()
        high = 34 if self._sizes.compact else self._badge_px
        rows = high + (3 if self._sizes.compact else 4) * line_px + 6
        rows += 24 if self._sizes.compact else 0
        top = max(6.0, (self.height() - rows) / 2)
        painter.setFont(small)
        place = SHORT[view.place]
        painter.drawText(QRectF(left, top, 40, high), Qt.AlignmentFlag.AlignVCenter, place)
        x = left + QFontMetrics(small).horizontalAdvance(place) + 8
        if not view.tyre_id:
            painter.setFont(plain)
            painter.drawText(
                QRectF(left, top + high, right - left, line_px),
                Qt.AlignmentFlag.AlignVCenter,
                self.tr("no wheel"),
            )
            return
        name = view.rim_id or view.tyre_id
        # A long name gets smaller letters beside the badge: its last digit must not hide.
        room = right - x
        if view.badge is not None and not self._sizes.compact:
            room -= badge_size(view.badge, 44)[0] + 4
        px = 26
        while px > 12 and QFontMetrics(big).horizontalAdvance(name) > room:
            px -= 1
            big = self._font(px, bold=True)
        name = self._fit(name, big, room)
        painter.setFont(big)
        painter.drawText(QRectF(x, top, room, high), Qt.AlignmentFlag.AlignVCenter, name)
        y = top + high + 2
        named = view.tyre_id if view.rim_id else ""
        cold = self.tr("{0} bar").format(view.cold) if view.cold else ""
        lines = [f"{named}  {view.compound}".strip(), view.tread]
        lines.append(self.tr("cold {0}").format(cold) if cold else "")
        if view.badge is not None:
            # The bar is wider than it is high and still holds two characters at 44.
            tall = 44 if view.badge == "dry3" or self._sizes.compact else self._badge_px
            wide, _ = badge_size(view.badge, tall)
            at = QPointF(right - wide, top + (high - tall) / 2)
            if self._sizes.compact:
                at = QPointF(left, top + high)
                y = top + high
                beside = QRectF(left + wide + 6, y, right - left - wide, tall)
                painter.setFont(plain)
                text = f"{view.tyre_id}\n{cold}".strip()
                painter.drawText(beside, Qt.AlignmentFlag.AlignVCenter, text)
                lines = [view.tread]
                y += tall + 1
            draw_badge(painter, view.badge, view.code, theme, at, tall)
        painter.setPen(ink)
        painter.setFont(plain)
        for text in lines:
            if text:
                painter.drawText(
                    QPointF(left, y + line_px * 0.8), self._fit(text, plain, right - left)
                )
            y += line_px
        if view.line:
            font = self._font(self._line_px, bold=view.changed or view.marked)
            painter.setFont(font)
            text = f"⚠ {view.line}" if view.marked else view.line
            painter.drawText(
                QPointF(left, y + line_px * 0.8), self._fit(text, font, right - left)
            )

    @staticmethod
    def _fit(text: str, font: QFont, width: float) -> str:
        return QFontMetrics(font).elidedText(text, Qt.TextElideMode.ElideRight, int(width))


class _Axles(QWidget):
    """The axle line and the arrow of the driving direction between two slots."""

    def __init__(self, *, arrow: bool, axle: bool) -> None:
        super().__init__()
        self._arrow, self._axle = arrow, axle
        self._theme: Theme | None = None
        self.setFixedWidth(26)

    def set_theme(self, theme: Theme) -> None:
        self._theme = theme
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:
        if self._theme is None:
            return
        painter = QPainter(self)
        try:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setPen(QPen(QColor(self._theme.line), 3))
            middle, cross = self.height() / 2, self.width() / 2
            if self._axle:
                painter.drawLine(QPointF(0, middle - 4), QPointF(self.width(), middle - 4))
                painter.drawLine(QPointF(0, middle + 4), QPointF(self.width(), middle + 4))
            if self._arrow:
                painter.drawLine(QPointF(cross, middle - 16), QPointF(cross, 8))
                painter.drawLine(QPointF(cross, 8), QPointF(cross - 7, 19))
                painter.drawLine(QPointF(cross, 8), QPointF(cross + 7, 19))
        finally:
            painter.end()


class SlotsPanel(QWidget):
    """The six slots with the title of what they show."""

    slot_chosen = Signal(str)
    """Place."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("slots")
        self.title = QLabel()
        self.title.setObjectName("slots_title")
        self.title.setProperty("text_kind", "title")
        self.title.setWordWrap(True)
        self.buttons: dict[Place, SlotButton] = {}
        grid = QGridLayout()
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(2)
        grid.setVerticalSpacing(8)
        for place in PLACES:
            button = SlotButton(place)
            button.clicked.connect(lambda _=False, p=place: self.slot_chosen.emit(p))
            grid.addWidget(button, *_CELLS[place])
            self.buttons[place] = button
        self._axles = [_Axles(arrow=True, axle=True), _Axles(arrow=False, axle=True)]
        grid.addWidget(self._axles[0], 0, 1)
        grid.addWidget(self._axles[1], 1, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(6)
        column.addWidget(self.title)
        column.addLayout(grid, 1)

    def set_look(self, theme: Theme, sizes: Sizes) -> None:
        for button in self.buttons.values():
            button.set_look(theme, sizes)
        for axle in self._axles:
            axle.set_theme(theme)

    def show_views(self, title: str, views: Mapping[Place, SlotView]) -> None:
        """Show the wheels of one state of the car."""
        self.title.setText(title)
        for place, button in self.buttons.items():
            button.set_view(views.get(place, SlotView(place)), title)
