"""The compound badge: a shape, a code and a fill, so that colour is never alone."""

from collections.abc import Iterable
from math import cos, pi, sin
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPainterPath, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from crewdesk.gui.theme import BADGES, BLACK, FAMILY, WHITE, BadgeSlot, Theme

if TYPE_CHECKING:
    from crewdesk.documents.stock import StockTyre

_DRY: tuple[BadgeSlot, ...] = ("dry1", "dry2", "dry3", "dry4")
_HARDNESS = {"hard": 0, "medium": 1, "soft": 2}


def badge_slot(tyre: "StockTyre") -> BadgeSlot:
    """Return the badge of a tyre by what it is made for and how hard it is."""
    if tyre.use == "winter":
        return "winter"
    if tyre.use == "asphalt_wet":
        return "rain2" if tyre.hardness == "soft" or "wet" in tyre.compound else "rain1"
    return _DRY[_HARDNESS[tyre.hardness]]


def badge_slots(tyres: "Iterable[StockTyre]") -> dict[str, BadgeSlot]:
    """Return the badge of each compound word of one event, no two of the dry ones alike.

    The key is ``use/compound``; a fourth dry compound takes the hexagon.
    """
    given: dict[str, BadgeSlot] = {}
    for tyre in tyres:
        key = f"{tyre.use}/{tyre.compound}"
        if key in given:
            continue
        wanted = badge_slot(tyre)
        if wanted in given.values() and wanted in _DRY:
            free = [slot for slot in _DRY if slot not in given.values()]
            wanted = free[-1] if free else "dry4"
        elif wanted in given.values() and wanted.startswith("rain"):
            other: BadgeSlot = "rain1" if wanted == "rain2" else "rain2"
            wanted = other if other not in given.values() else wanted
        given[key] = wanted
    return given


def badge_path(slot: BadgeSlot, box: QRectF) -> QPainterPath:
    """Return the outline of a badge inside a box."""
    path = QPainterPath()
    x, y, w, h = box.x(), box.y(), box.width(), box.height()
    if slot == "dry1":
        path.addPolygon(
            QPolygonF([QPointF(x + w / 2, y), QPointF(x + w, y + h), QPointF(x, y + h)])
        )
    elif slot == "dry2":
        side = min(w, h) * 0.92
        path.addRect(QRectF(x + (w - side) / 2, y + (h - side) / 2, side, side))
    elif slot == "dry3":
        high = h * 0.68
        path.addRoundedRect(QRectF(x, y + (h - high) / 2, w, high), high * 0.45, high * 0.45)
    elif slot == "rain1":
        path.addPolygon(
            QPolygonF(
                [
                    QPointF(x + w / 2, y),
                    QPointF(x + w, y + h / 2),
                    QPointF(x + w / 2, y + h),
                    QPointF(x, y + h / 2),
                ]
            )
        )
    elif slot == "rain2":
        path.moveTo(x + w / 2, y)
        path.cubicTo(
            x + w * 0.62, y + h * 0.22, x + w * 0.9, y + h * 0.38, x + w * 0.9, y + h * 0.62
        )
        path.cubicTo(
            x + w * 0.9, y + h * 1.12, x + w * 0.1, y + h * 1.12, x + w * 0.1, y + h * 0.62
        )
        path.cubicTo(x + w * 0.1, y + h * 0.38, x + w * 0.38, y + h * 0.22, x + w / 2, y)
    elif slot == "winter":
        arm_w, arm_h = w / 2, h / 2
        path.addRect(QRectF(x + (w - arm_w) / 2, y, arm_w, h))
        across = QPainterPath()
        across.addRect(QRectF(x, y + (h - arm_h) / 2, w, arm_h))
        path = path.united(across).simplified()
    else:
        points = [
            QPointF(x + w / 2 + w / 2 * cos(pi / 3 * i), y + h / 2 + h / 2 * sin(pi / 3 * i))
            for i in range(6)
        ]
        path.addPolygon(QPolygonF(points))
    path.closeSubpath()
    return path


def badge_size(slot: BadgeSlot, height_px: float) -> tuple[float, float]:
    """Return width and height of a badge; only the bar is wider than it is high."""
    return (
        height_px * (1.5 if slot == "dry3" else 1.25 if slot == "dry1" else 1.12),
        height_px,
    )


def draw_badge(
    painter: QPainter, slot: BadgeSlot, code: str, theme: Theme, at: QPointF, height_px: float
) -> float:
    """Draw a badge with its top left corner at a point; return the width used."""
    look = BADGES[slot]
    fill, ink = look.fill, look.code
    if theme.plain_badges:
        fill, ink = (BLACK, WHITE) if look.dark_fill else (WHITE, BLACK)
    width, height = badge_size(slot, height_px)
    painter.save()
    try:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if theme.tile:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(QColor(theme.tile))
            painter.drawRoundedRect(QRectF(at.x(), at.y(), width, height), 4, 4)
        inner = QRectF(at.x() + 2, at.y() + 2, width - 4, height - 4)
        bordered = look.outline or theme.plain_badges
        painter.setPen(QPen(QColor(BLACK), 2) if bordered else Qt.PenStyle.NoPen)
        painter.setBrush(QColor(fill))
        painter.drawPath(badge_path(slot, inner))
        font = QFont(FAMILY)
        font.setBold(True)
        share = 0.5 if len(code) < 2 else 0.385
        font.setPixelSize(max(20, round(height * share)))
        painter.setFont(font)
        painter.setPen(QColor(ink))
        low = {"dry1": 0.36, "rain2": 0.16}.get(slot, 0.0) * height
        painter.drawText(inner.adjusted(-4, low, 4, 0), Qt.AlignmentFlag.AlignCenter, code)
    finally:
        painter.restore()
    return width


class Badge(QWidget):
    """A badge as a widget of its own."""

    def __init__(
        self, slot: BadgeSlot, code: str, word: str, theme: Theme, height_px: int = 52
    ) -> None:
        super().__init__()
        self._slot, self._code, self._theme = slot, code, theme
        width, height = badge_size(slot, height_px)
        self._size = QSize(round(width), round(height))
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(f"{word} {code}".strip())
        self.setObjectName(f"badge_{code}")

    def set_theme(self, theme: Theme) -> None:
        self._theme = theme
        self.update()

    def sizeHint(self) -> QSize:
        return self._size

    def minimumSizeHint(self) -> QSize:
        return self._size

    def paintEvent(self, _event: QPaintEvent) -> None:
        painter = QPainter(self)
        try:
            draw_badge(
                painter, self._slot, self._code, self._theme, QPointF(0, 0), self.height()
            )
        finally:
            painter.end()
