"""The words inside a wear chart, over its lines, each with a rim of paper round its letters."""

from typing import Final

import pyqtgraph as pg
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPainterPath, QPen

from crewdesk.gui.charts.axis import EventAxis, kept_labels
from crewdesk.gui.charts.backdrop import Layer, Look
from crewdesk.gui.charts.series import Change, Series, Strip

_RIM_PX: Final = 4.0


class Words(Layer):
    """Now, the minimum with its origin, and the wheels at the foot."""

    def __init__(self, view: pg.ViewBox) -> None:
        super().__init__(view, z=10.0)

    def draw(self, painter: QPainter, series: Series, look: Look) -> None:
        """Paint the words where they do not cover one another."""
        font = QFont(painter.font())
        font.setPixelSize(look.text_px)
        metrics = QFontMetricsF(font)
        frame = self.boundingRect()
        now = self.px(series.now, 0.0).x()
        width = metrics.horizontalAdvance(series.now_label)
        is_room = now + 5.0 + width <= frame.right()
        left = now + 5.0 if is_room else now - 5.0 - width
        say(
            painter, font, look, series.now_label, QPointF(left, frame.top() + metrics.ascent())
        )
        foot = frame.bottom() - metrics.descent() - 1.0
        for change, start in self.change_labels(series, metrics):
            say(painter, font, look, change.label, QPointF(start, foot))
        above = self.px(0.0, series.minimum_mm).y() - 5.0
        base = min(above, foot - metrics.height())
        lines = minimum_lines(series.minimum_label, metrics, frame.width() - 12.0)
        for number, line in enumerate(reversed(lines)):
            at = QPointF(frame.left() + 6.0, base - number * metrics.height())
            say(painter, font, look, line, at)

    def change_labels(
        self, series: Series, metrics: QFontMetricsF
    ) -> list[tuple[Change, float]]:
        """Return the wheels with room at the foot, with their left end; later ones win."""
        frame = self.boundingRect()
        spans = []
        for change in series.changes:
            width = metrics.horizontalAdvance(change.label)
            left = max(self.px(change.x, 0.0).x() + 4.0, frame.left() + 4.0)
            left = min(left, frame.right() - 4.0 - width)
            spans.append((left, left + width))
        mirrored = [(-end, -start) for start, end in reversed(spans)]
        keep = reversed(kept_labels(mirrored, -frame.right(), -frame.left()))
        return [
            (change, span[0])
            for change, span, stays in zip(series.changes, spans, keep, strict=True)
            if stays
        ]


class StageAxis(EventAxis):
    """The names of the stages over their bands; those that would touch are left out."""

    def __init__(self) -> None:
        super().__init__("top")
        self._strips: tuple[Strip, ...] = ()
        self.setStyle(tickLength=0)

    def set_strips(self, strips: tuple[Strip, ...]) -> None:
        """Name other stages."""
        self._strips = tuple(strip for strip in strips if strip.kind == "stage")
        self.forget()

    def places(self, low: float, high: float, size_px: float) -> list[tuple[float, str]]:
        """Return the middle and the name of each stage that has room."""
        metrics = QFontMetricsF(self.style["tickFont"] or QFont())
        per_px = (high - low) / max(size_px, 1.0)
        middles = [(strip.start + strip.end) / 2.0 for strip in self._strips]
        spans = []
        for strip, middle in zip(self._strips, middles, strict=True):
            half = metrics.horizontalAdvance(strip.label) / 2.0
            spans.append(((middle - low) / per_px - half, (middle - low) / per_px + half))
        keep = kept_labels(spans, 0.0, size_px)
        return [
            (middle, strip.label)
            for strip, middle, stays in zip(self._strips, middles, keep, strict=True)
            if stays
        ]


def minimum_lines(words: str, metrics: QFontMetricsF, room: float) -> list[str]:
    """Return the words of the minimum; a short word may save a line over the curves."""
    lines = wrapped(words, metrics, room)
    short = wrapped(words.replace("minimum", "min", 1), metrics, room)
    return short if len(short) < len(lines) else lines


def wrapped(words: str, metrics: QFontMetricsF, room: float) -> list[str]:
    """Break words into lines of so many pixels."""
    lines: list[str] = []
    line = ""
    for word in words.split():
        longer = f"{line} {word}".strip()
        if line and metrics.horizontalAdvance(longer) > room:
            lines.append(line)
            line = word
        else:
            line = longer
    return [*lines, line]


def say(painter: QPainter, font: QFont, look: Look, words: str, at: QPointF) -> None:
    """Write words with a rim of paper round their letters."""
    path = QPainterPath()
    path.addText(at, font, words)
    rim = QPen(look.paper, _RIM_PX)
    rim.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    painter.strokePath(path, rim)
    painter.fillPath(path, look.ink)
