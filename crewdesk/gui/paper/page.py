"""One A4 page drawn in millimetres, black on white, on a file or a printer."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from PySide6.QtCore import QMarginsF, QPointF, QRectF, Qt
from PySide6.QtGui import (
    QBrush,
    QFont,
    QFontDatabase,
    QFontMetricsF,
    QPagedPaintDevice,
    QPageLayout,
    QPageSize,
    QPainter,
    QPdfWriter,
    QPen,
)

from crewdesk.gui.theme import FAMILY, load_fonts

WIDTH_MM: Final = 210.0
HEIGHT_MM: Final = 297.0
MARGIN_MM: Final = 12.0
LEFT_MM: Final = MARGIN_MM
RIGHT_MM: Final = WIDTH_MM - MARGIN_MM
LEAST_PT: Final = 6.5
"""Smaller letters are not read on a bench; what does not fit is cut with a …"""
HEAD_MM: Final = 6.0
"""Most height of a table's headings."""
_RESOLUTION_DPI: Final = 600
_MM_PER_PT: Final = 25.4 / 72.0


class PaperError(OSError):
    """The page could not be written."""


class Page:
    """Draws on one page; every place and size is in mm, letters in pt."""

    def __init__(self, painter: QPainter, dots_per_mm: float) -> None:
        self._painter = painter
        self._dots = dots_per_mm

    def _font(self, size_pt: float, *, bold: bool) -> QFont:
        font = QFont(FAMILY)
        font.setPixelSize(max(1, round(size_pt * _MM_PER_PT * self._dots)))
        font.setBold(bold)
        return font

    def width(self, words: str, size_pt: float, *, bold: bool = False) -> float:
        """Return how wide words are [mm]."""
        return (
            QFontMetricsF(self._font(size_pt, bold=bold)).horizontalAdvance(words) / self._dots
        )

    def text(
        self,
        left: float,
        base: float,
        words: str,
        size_pt: float,
        *,
        bold: bool = False,
        room: float | None = None,
        align: str = "left",
    ) -> float:
        """Write words on a base line, smaller where room is short; return their width."""
        size = size_pt
        if room is not None:
            while size > LEAST_PT and self.width(words, size, bold=bold) > room:
                size -= 0.25
        font = self._font(size, bold=bold)
        metrics = QFontMetricsF(font)
        if room is not None:
            words = metrics.elidedText(
                words, Qt.TextElideMode.ElideRight, room * self._dots + 1
            )
        advance = metrics.horizontalAdvance(words) / self._dots
        if align == "right":
            left -= advance
        elif align == "centre":
            left -= advance / 2.0
        self._painter.setFont(font)
        self._painter.setPen(Qt.GlobalColor.black)
        self._painter.drawText(QPointF(left * self._dots, base * self._dots), words)
        return advance

    def lines(
        self, words: str, size_pt: float, room: float, *, bold: bool = False
    ) -> list[str]:
        """Break words into lines no wider than the room."""
        done: list[str] = []
        line = ""
        for word in words.split():
            longer = f"{line} {word}".strip()
            if line and self.width(longer, size_pt, bold=bold) > room:
                done.append(line)
                line = word
            else:
                line = longer
        return [*done, line] if line else done

    def paragraph(
        self, left: float, base: float, words: str, size_pt: float, room: float, step: float
    ) -> float:
        """Write words over as many lines as they need; return the base line after them."""
        for line in self.lines(words, size_pt, room):
            self.text(left, base, line, size_pt, room=room)
            base += step
        return base

    def rule(self, left: float, y: float, right: float, width_mm: float = 0.2) -> None:
        """Draw a line across."""
        self._pen(width_mm)
        self._draw_line(left, y, right, y)

    def upright(self, x: float, top: float, foot: float, width_mm: float = 0.2) -> None:
        """Draw a line down."""
        self._pen(width_mm)
        self._draw_line(x, top, x, foot)

    def dashes(self, left: float, y: float, right: float) -> None:
        """Draw the line to cut along."""
        self._pen(0.3, Qt.PenStyle.DashLine)
        self._draw_line(left, y, right, y)

    def box(
        self, left: float, top: float, wide: float, high: float, width_mm: float = 0.3
    ) -> None:
        """Draw an empty box, to tick or round a part."""
        self._pen(width_mm)
        self._painter.setBrush(Qt.BrushStyle.NoBrush)
        self._painter.drawRect(self._rect(left, top, wide, high))

    def block(self, left: float, top: float, wide: float, high: float) -> None:
        """Fill a box in black, for white words on it."""
        self._painter.fillRect(self._rect(left, top, wide, high), QBrush(Qt.GlobalColor.black))

    def white(self, left: float, base: float, words: str, size_pt: float) -> None:
        """Write bold white words on a block."""
        self._painter.setFont(self._font(size_pt, bold=True))
        self._painter.setPen(Qt.GlobalColor.white)
        self._painter.drawText(QPointF(left * self._dots, base * self._dots), words)

    def table(
        self,
        left: float,
        top: float,
        columns: Sequence[tuple[str, float]],
        rows: Sequence[Sequence[str]],
        size_pt: float,
        row_mm: float,
        bold: Sequence[int] = (),
        title: str = "",
    ) -> float:
        """Draw a table with rules between its rows; return where it ends.

        A title takes the place of the first heading.
        """
        right = left + sum(wide for _, wide in columns)
        head = min(row_mm, HEAD_MM)
        x = left
        for number, (heading, wide) in enumerate(columns):
            if title and number == 0:
                self.text(x, top + head * 0.75, title, 11.5, bold=True, room=wide)
            else:
                self.text(x, top + head * 0.75, heading, size_pt * 0.8, room=wide - 1.0)
            x += wide
        top += head
        self.rule(left, top, right, 0.4)
        for row in rows:
            x = left
            for number, (cell, (_, wide)) in enumerate(zip(row, columns, strict=True)):
                base = top + row_mm * 0.5 + size_pt * _MM_PER_PT * 0.36
                is_bold = number in bold
                if cell == "[ ]":
                    side = min(row_mm - 2.0, 5.0)
                    self.box(x, top + (row_mm - side) / 2.0, side, side)
                elif cell == "____":
                    self.rule(x, top + row_mm - 1.6, x + wide - 3.0)
                else:
                    self.text(x, base, cell, size_pt, bold=is_bold, room=wide - 1.0)
                x += wide
            top += row_mm
            self.rule(left, top, right, 0.1)
        return top

    def _pen(self, width_mm: float, style: Qt.PenStyle = Qt.PenStyle.SolidLine) -> None:
        pen = QPen(Qt.GlobalColor.black, width_mm * self._dots)
        pen.setStyle(style)
        self._painter.setPen(pen)

    def _draw_line(self, x1: float, y1: float, x2: float, y2: float) -> None:
        k = self._dots
        self._painter.drawLine(QPointF(x1 * k, y1 * k), QPointF(x2 * k, y2 * k))

    def _rect(self, left: float, top: float, wide: float, high: float) -> QRectF:
        k = self._dots
        return QRectF(left * k, top * k, wide * k, high * k)


def have_letters() -> None:
    """Load the shipped letters where nobody has done so yet."""
    if FAMILY not in QFontDatabase.families():
        load_fonts()


@contextmanager
def page_on(device: QPagedPaintDevice, dots_per_mm: float) -> Iterator[Page]:
    """Open a device for drawing, and close it whatever happens."""
    painter = QPainter()
    if not painter.begin(device):
        raise PaperError("nothing can be drawn there")
    try:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        yield Page(painter, dots_per_mm)
    finally:
        painter.end()


def a4(device: QPagedPaintDevice) -> None:
    """Set a device to A4 upright with no margin of its own: the page keeps its own."""
    layout = QPageLayout(
        QPageSize(QPageSize.PageSizeId.A4),
        QPageLayout.Orientation.Portrait,
        QMarginsF(0.0, 0.0, 0.0, 0.0),
        QPageLayout.Unit.Millimeter,
    )
    layout.setMode(QPageLayout.Mode.FullPageMode)
    device.setPageLayout(layout)


def write_pdf(path: Path, title: str, draw: Callable[[Page], None]) -> None:
    """Write one page to a file: beside it first, then in its place.

    Raises
    ------
    OSError
        If the folder cannot be written to.
    """
    have_letters()
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_name(f".{path.name}.part")
    writer = QPdfWriter(str(beside))
    writer.setTitle(title)
    writer.setCreator("crewdesk")
    writer.setResolution(_RESOLUTION_DPI)
    a4(writer)
    try:
        with page_on(writer, _RESOLUTION_DPI / 25.4) as page:
            draw(page)
        del writer
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)
