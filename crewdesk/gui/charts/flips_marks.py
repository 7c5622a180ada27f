"""What stands over the lines of a flip chart: now, the changes, and the lines' names."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import pyqtgraph as pg
from PySide6.QtCore import QCoreApplication, QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QFont, QFontMetricsF, QPainter, QPen

from crewdesk.desk.flip_view import FlipView, value_words
from crewdesk.gui.charts.backdrop import Look, PixelItem
from crewdesk.gui.charts.words import say, wrapped

_SAMPLE_PX: Final = 40.0
_LEAD_PX: Final = 16.0


def _tr(text: str) -> str:
    return QCoreApplication.translate("FlipPlot", text)


@dataclass(frozen=True)
class Label:
    """The name of a line, and where the line ends."""

    words: str
    x: float
    y: float
    number: int


class FlipMarks(PixelItem):
    """Painted in the pixels of the view, each word with a rim of paper."""

    def __init__(self, view: pg.ViewBox) -> None:
        super().__init__(view, 10.0)
        self._shown: FlipView | None = None
        self._labels: Sequence[Label] = ()
        self._top = 1.0
        self._look: Look | None = None
        self._pens: Sequence[QPen] = ()

    def set_view(self, shown: FlipView, labels: Sequence[Label], top: float) -> None:
        """Mark another chart."""
        self._shown, self._labels, self._top = shown, labels, top
        self.update()

    def set_look(self, look: Look, pens: Sequence[QPen]) -> None:
        """Take other colours and pens."""
        self._look, self._pens = look, pens
        self.update()

    def paint(self, painter: QPainter, *_rest: object) -> None:
        if self._shown is None or self._look is None:
            return
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        font = QFont(painter.font())
        font.setPixelSize(self._look.text_px)
        self._paint_far(painter, self._shown, self._look)
        self._paint_rules(painter, font, self._shown, self._look)
        self._paint_names(painter, font, self._shown, self._look)

    def _paint_far(self, painter: QPainter, shown: FlipView, look: Look) -> None:
        """Hatch what lies beyond a change, and close the lines' room on the right."""
        frame = self.boundingRect()
        ends = (self.px(shown.values[0], 0.0).x(), self.px(shown.values[-1], 0.0).x())
        for change in shown.changes:
            x = self.px(change.at, 0.0).x()
            left, right = (ends[0], x) if change.at < shown.now else (x, ends[1])
            if change.sure:
                brush = QBrush(look.line, Qt.BrushStyle.BDiagPattern)
                painter.fillRect(QRectF(left, frame.top(), right - left, frame.height()), brush)
        painter.setPen(QPen(look.line, 1.0))
        painter.drawLine(QPointF(ends[1], frame.top()), QPointF(ends[1], frame.bottom()))

    def _paint_rules(self, painter: QPainter, font: QFont, shown: FlipView, look: Look) -> None:
        metrics = QFontMetricsF(font)
        bold = QFont(font)
        bold.setBold(True)
        rules = [(shown.now, _tr("now {0}").format(shown.now_words), Qt.PenStyle.SolidLine)]
        for change in shown.changes:
            at = value_words(shown.what, change.at)
            words = _tr("changes at {0}") if change.sure else _tr("close at about {0}")
            style = Qt.PenStyle.DashLine if change.sure else Qt.PenStyle.DotLine
            rules.append((change.at, words.format(at), style))
        frame = self.boundingRect()
        right = self.px(shown.values[-1], 0.0).x()
        for row, (value, words, style) in enumerate(rules):
            x = self.px(value, 0.0).x()
            base = frame.top() + (row + 1) * metrics.height()
            pen = QPen(look.ink, 3.0 if row else 2.0)
            pen.setStyle(style)
            painter.setPen(pen)
            painter.drawLine(QPointF(x, base - metrics.ascent()), QPointF(x, frame.bottom()))
            width = QFontMetricsF(bold).horizontalAdvance(words)
            left = x + 6.0 if x + 6.0 + width <= right else x - 6.0 - width
            say(painter, bold, look, words, QPointF(max(left, frame.left() + 2.0), base))

    def _paint_names(self, painter: QPainter, font: QFont, shown: FlipView, look: Look) -> None:
        """Name the lines on the right, each beside a piece of itself, none over another."""
        bold = QFont(font)
        bold.setBold(True)
        fonts = [bold if label.number == 0 else font for label in self._labels]
        ordered = sorted(
            zip(self._labels, fonts, strict=True), key=lambda p: (-p[0].y, p[0].number)
        )
        frame = self.boundingRect()
        edge = self.px(shown.values[-1], 0.0).x()
        start = edge + _LEAD_PX + _SAMPLE_PX + 8.0
        blocks = []
        for label, used in ordered:
            metrics = QFontMetricsF(used)
            lines = wrapped(label.words, metrics, frame.right() - start - 4.0)
            blocks.append((label, lines, len(lines) * metrics.height() + 4.0))
        middles = [self.px(label.x, label.y).y() for label, _, _ in blocks]
        tops = spread(
            [y - block[2] / 2.0 for y, block in zip(middles, blocks, strict=True)],
            [height for _, _, height in blocks],
            frame.top() + 2.0,
            frame.bottom() - 2.0,
        )
        for (label, lines, height), (_, used), top in zip(blocks, ordered, tops, strict=True):
            metrics = QFontMetricsF(used)
            middle = top + height / 2.0
            end = self.px(label.x, label.y)
            painter.setPen(QPen(look.ink, 1.0))
            if end.x() >= edge - 1.0:
                painter.drawLine(end, QPointF(edge + _LEAD_PX, middle))
            painter.setPen(self._pens[label.number])
            painter.drawLine(
                QPointF(edge + _LEAD_PX, middle),
                QPointF(edge + _LEAD_PX + _SAMPLE_PX, middle),
            )
            self._paint_sample_mark(
                painter, look, label.number, QPointF(edge + _LEAD_PX + _SAMPLE_PX / 2, middle)
            )
            for n, words in enumerate(lines):
                base = top + 2.0 + metrics.ascent() + n * metrics.height()
                say(painter, used, look, words, QPointF(start, base))

    def _paint_sample_mark(
        self, painter: QPainter, look: Look, number: int, at: QPointF
    ) -> None:
        symbol = pg.graphicsItems.ScatterPlotItem.Symbols.get(MARK_OF[number])
        if symbol is None:
            return
        painter.save()
        painter.translate(at)
        painter.scale(11.0, 11.0)
        pen = QPen(look.ink, 2.0)
        pen.setCosmetic(True)
        painter.setPen(pen)
        painter.setBrush(QBrush(look.paper))
        painter.drawPath(symbol)
        painter.restore()


MARK_OF: Final = ("", "s", "o", "t", "d")
"""Marks on the lines; the call's has none."""


def spread(
    tops: Sequence[float], heights: Sequence[float], low: float, high: float
) -> list[float]:
    """Return where blocks stand so that none covers another, near where they were wanted.

    Blocks come from top to bottom; where there is too little room the last ones run out.
    """
    placed: list[float] = []
    edge = low
    for top, height in zip(tops, heights, strict=True):
        placed.append(max(top, edge))
        edge = placed[-1] + height
    edge = high
    for n in reversed(range(len(placed))):
        placed[n] = max(min(placed[n], edge - heights[n]), low)
        edge = placed[n]
    return placed
