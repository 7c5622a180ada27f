"""What of a wear chart lies under its lines: stages, services, nights, ranges and rules."""

from dataclasses import dataclass
from typing import Final

import pyqtgraph as pg
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPen, QPolygonF

from crewdesk.gui.charts.series import Series, Strip

LEAST_STRIP_PX: Final = 7.0
"""A service or night is never thinner than this, even where it takes no stage km."""


@dataclass(frozen=True)
class Look:
    """Colours and letter size of a chart, all out of the theme."""

    paper: QColor
    stage: QColor
    ink: QColor
    muted: QColor
    line: QColor
    planned: QColor
    minimum: QColor
    is_stark: bool
    """Pure black and white: ranges are hatched, not tinted."""
    text_px: int = 15


class PixelItem(pg.GraphicsObject):
    """An item on the view box that paints in its pixels; given other content, never rebuilt."""

    def __init__(self, view: pg.ViewBox, z: float) -> None:
        super().__init__()
        self._view = view
        self.setParentItem(view)
        self.setZValue(z)
        view.sigResized.connect(self._moved)
        view.sigRangeChanged.connect(self._moved)

    def _moved(self, *_args: object) -> None:
        self.prepareGeometryChange()
        self.update()

    def boundingRect(self) -> QRectF:
        return QRectF(self._view.boundingRect())

    def px(self, x: float, y: float) -> QPointF:
        """Return where a value lies, in pixels of the view."""
        return QPointF(self._view.mapFromView(QPointF(x, y)))


class Layer(PixelItem):
    """What of a wear chart is painted so."""

    def __init__(self, view: pg.ViewBox, z: float) -> None:
        super().__init__(view, z)
        self._series: Series | None = None
        self._look: Look | None = None

    def set_series(self, series: Series) -> None:
        """Show another series."""
        self._series = series
        self.update()

    def set_look(self, look: Look) -> None:
        """Take other colours."""
        self._look = look
        self.update()

    def paint(self, painter: QPainter, *_rest: object) -> None:
        if self._series is None or self._look is None:
            return
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        self.draw(painter, self._series, self._look)

    def draw(self, painter: QPainter, series: Series, look: Look) -> None:
        """Paint; the parts of a chart do it each in their way."""


class Backdrop(Layer):
    """Bands, ranges and rules, under the curves."""

    def __init__(self, view: pg.ViewBox) -> None:
        super().__init__(view, z=-10.0)

    def draw(self, painter: QPainter, series: Series, look: Look) -> None:
        """Paint from the ground up."""
        self._paint_strips(painter, series, look)
        self._paint_fans(painter, series, look)
        self._paint_rules(painter, series, look)

    def _paint_strips(self, painter: QPainter, series: Series, look: Look) -> None:
        frame = self.boundingRect()
        for strip in series.strips:
            box = self._strip_box(strip, frame)
            painter.setPen(Qt.PenStyle.NoPen)
            if strip.kind == "stage":
                painter.fillRect(box, look.stage)
            else:
                style = (
                    Qt.BrushStyle.DiagCrossPattern
                    if strip.kind == "night"
                    else Qt.BrushStyle.BDiagPattern
                )
                painter.fillRect(box, QBrush(look.line, style))
            painter.setPen(_pen(look.line, 1.0))
            painter.drawLine(box.topLeft(), box.bottomLeft())
            painter.drawLine(box.topRight(), box.bottomRight())

    def _strip_box(self, strip: Strip, frame: QRectF) -> QRectF:
        left = self.px(strip.start, 0.0).x()
        right = self.px(strip.end, 0.0).x()
        if strip.kind != "stage" and right - left < LEAST_STRIP_PX:
            middle = (left + right) / 2.0
            left, right = middle - LEAST_STRIP_PX / 2.0, middle + LEAST_STRIP_PX / 2.0
        return QRectF(left, frame.top(), right - left, frame.height())

    def _paint_fans(self, painter: QPainter, series: Series, look: Look) -> None:
        fill = QColor(look.planned)
        fill.setAlpha(60)
        brush = (
            QBrush(look.planned, Qt.BrushStyle.Dense6Pattern) if look.is_stark else QBrush(fill)
        )
        for fan in series.fans:
            high = [self.px(x, y) for x, y in zip(fan.x, fan.high_mm, strict=True)]
            low = [self.px(x, y) for x, y in zip(fan.x, fan.low_mm, strict=True)]
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(brush)
            painter.drawPolygon(QPolygonF([*high, *reversed(low)]))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(_pen(look.planned, 1.5, Qt.PenStyle.DotLine))
            painter.drawPolyline(QPolygonF(high))
            painter.drawPolyline(QPolygonF(low))

    def _paint_rules(self, painter: QPainter, series: Series, look: Look) -> None:
        frame = self.boundingRect()
        for change in series.changes:
            if not change.is_first:
                x = self.px(change.x, 0.0).x()
                painter.setPen(_pen(look.ink, 1.5, Qt.PenStyle.DashLine))
                painter.drawLine(QPointF(x, frame.top()), QPointF(x, frame.bottom()))
        x = self.px(series.now, 0.0).x()
        painter.setPen(_pen(look.ink, 2.0))
        painter.drawLine(QPointF(x, frame.top()), QPointF(x, frame.bottom()))
        y = self.px(0.0, series.minimum_mm).y()
        painter.setPen(_pen(look.minimum, 3.0))
        painter.drawLine(QPointF(frame.left(), y), QPointF(frame.right(), y))


def _pen(colour: QColor, width: float, style: Qt.PenStyle = Qt.PenStyle.SolidLine) -> QPen:
    pen = QPen(colour, width)
    pen.setStyle(style)
    pen.setCosmetic(True)
    return pen
