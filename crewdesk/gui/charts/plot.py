"""The wear chart of one corner."""

from typing import Final

import pyqtgraph as pg
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFont
from PySide6.QtWidgets import QFrame, QLabel, QVBoxLayout, QWidget

from crewdesk.desk.answer import WearChart
from crewdesk.gui.charts.axis import EventAxis, Scale
from crewdesk.gui.charts.backdrop import Backdrop, Look
from crewdesk.gui.charts.series import TREAD_TOP_MM, Line, Series, series_of
from crewdesk.gui.charts.words import StageAxis, Words
from crewdesk.gui.theme import Theme
from crewdesk.units import Corner

CORNER_NAMES: Final[dict[Corner, str]] = {
    "FL": "Front left",
    "FR": "Front right",
    "RL": "Rear left",
    "RR": "Rear right",
}
_SIDE_PX: Final = 34
_EDGE_PX: Final = 54

pg.setConfigOptions(antialias=True)


def chart_look(theme: Theme, text_px: int) -> Look:
    """Return the chart's colours from the theme."""
    return Look(
        paper=QColor(theme.card),
        stage=QColor(theme.bg),
        ink=QColor(theme.ink),
        muted=QColor(theme.muted),
        line=QColor(theme.line),
        planned=QColor(theme.accent),
        minimum=QColor(theme.stops_fill),
        is_stark=theme.plain_badges,
        text_px=text_px,
    )


class WearPlot(pg.PlotWidget):
    """Tread at the worst point; its items are made once, then given new numbers."""

    def __init__(self, corner: Corner, parent: QWidget | None = None) -> None:
        self.axis = EventAxis()
        self.stages = StageAxis()
        super().__init__(parent, axisItems={"bottom": self.axis, "top": self.stages})
        self.corner = corner
        self.series: Series | None = None
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setObjectName(f"wear_plot_{corner}")
        item = self.getPlotItem()
        view = item.getViewBox()
        item.hideButtons()
        item.setMenuEnabled(False)
        view.setMouseEnabled(x=False, y=False)
        view.disableAutoRange()
        view.setDefaultPadding(0.0)
        view.setYRange(0.0, TREAD_TOP_MM, padding=0.0)
        item.showAxis("right")
        item.showAxis("top")
        item.getAxis("left").setWidth(_SIDE_PX)
        item.getAxis("right").setWidth(_EDGE_PX)
        item.getAxis("left").setTicks(
            [[(mm, f"{mm:.0f}") for mm in (0.0, 3.0, 6.0, 9.0, 12.0)]]
        )
        # The name of the second line stands on its own scale, out of the way of the curves.
        shares = [(0.0, "0 %"), (0.5, "50 %"), (0.75, self.tr("edges")), (1.0, "100 %")]
        item.getAxis("right").setTicks(
            [[(share * TREAD_TOP_MM, text) for share, text in shares]]
        )
        self.backdrop = Backdrop(view)
        self.words = Words(view)
        self.edges = pg.PlotCurveItem()
        self.planned = pg.PlotCurveItem()
        self.past = pg.PlotCurveItem()
        self.doubts = pg.ErrorBarItem(beam=0.0)
        self.readings = pg.ScatterPlotItem(symbol="o", size=11, hoverable=False)
        for curve in (self.edges, self.planned, self.past, self.doubts, self.readings):
            item.addItem(curve, ignoreBounds=True)

    def set_series(self, series: Series, scale: Scale) -> None:
        """Show a series laid out along a scale."""
        self.series = series
        self.axis.set_scale(scale)
        _give(self.past, series.past)
        _give(self.planned, series.planned)
        _give(self.edges, series.edges)
        x, depth, doubt = series.readings.T
        self.readings.setData(x=x, y=depth)
        self.doubts.setData(x=x, y=depth, height=2.0 * doubt)
        self.doubts.setVisible(bool(x.size))
        self.stages.set_strips(series.strips)
        self.backdrop.set_series(series)
        self.words.set_series(series)
        self.getPlotItem().getViewBox().setRange(
            xRange=series.x_range,
            yRange=(0.0, TREAD_TOP_MM),
            padding=0.0,
            disableAutoRange=True,
        )

    def set_look(self, look: Look) -> None:
        """Take the colours and the letter size of the theme."""
        self.setBackground(look.paper)
        font = QFont(self.font())
        font.setPixelSize(look.text_px)
        item = self.getPlotItem()
        for name in ("left", "right", "bottom", "top"):
            axis = item.getAxis(name)
            axis.setStyle(tickFont=font, tickTextOffset=4, tickLength=-5)
            axis.setPen(pg.mkPen(look.line, width=1))
            axis.setTextPen(look.ink)
        self.axis.setHeight(look.text_px + 12)
        self.stages.setHeight(look.text_px + 9)
        self.past.setPen(pg.mkPen(look.ink, width=3))
        self.planned.setPen(pg.mkPen(look.planned, width=3, style=Qt.PenStyle.DashLine))
        self.edges.setPen(pg.mkPen(look.muted, width=1))
        self.readings.setPen(pg.mkPen(look.ink, width=2))
        self.readings.setBrush(pg.mkBrush(look.paper))
        self.doubts.setData(pen=pg.mkPen(look.ink, width=2))
        self.stages.setStyle(tickLength=0)
        self.backdrop.set_look(look)
        self.words.set_look(look)


class WearPanel(QFrame):
    """A chart with its heading and what is to be watched, in words."""

    def __init__(self, corner: Corner, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.corner = corner
        self.is_low = False
        """Whether height is short: the note then stands in the line of the heading."""
        self.setProperty("kind", "card")
        self.setObjectName(f"wear_panel_{corner}")
        self.heading = QLabel(corner, self)
        self.heading.setProperty("text_kind", "strong")
        self.heading.setWordWrap(True)
        self.watch = QLabel("", self)
        self.watch.setProperty("text_kind", "watch")
        self.watch.setWordWrap(True)
        self.note = QLabel("", self)
        self.note.setWordWrap(True)
        self.plot = WearPlot(corner, self)
        self.plot.setMinimumHeight(120)
        column = QVBoxLayout(self)
        column.setContentsMargins(8, 4, 8, 4)
        column.setSpacing(2)
        column.addWidget(self.heading)
        column.addWidget(self.watch)
        column.addWidget(self.note)
        column.addWidget(self.plot, 1)
        self.set_chart(None, None)

    def set_chart(self, chart: WearChart | None, scale: Scale | None) -> None:
        """Show a corner's chart; None: there is nothing to show yet."""
        name = CORNER_NAMES[self.corner]
        if chart is None or scale is None:
            self.heading.setText(self.tr("{corner}  no call yet").format(corner=self.corner))
            self.watch.hide()
            self.note.hide()
            self.plot.setAccessibleName(self.tr("{name} wear chart, empty").format(name=name))
            return
        series = series_of(chart, scale)
        self.plot.set_series(series, scale)
        words = chart.watch
        if words and not words.startswith("⚠"):
            words = self.tr("⚠ watch: {words}").format(words=words)
        # One line less where there is something to watch: on a column height is short.
        notes = [part for part in (words, series.edges_note) if part]
        self.watch.setText(" · ".join(notes) if words else "")
        self.watch.setVisible(bool(words))
        note = "" if words else series.edges_note
        together = note and self.is_low
        self.heading.setText(f"{chart.heading} · {note}" if together else chart.heading)
        self.note.setText("" if together else note)
        self.note.setVisible(bool(note) and not together)
        said = ", ".join([chart.heading, *notes])
        self.plot.setAccessibleName(
            self.tr("{name} wear chart: {said}").format(name=name, said=said)
        )


def _give(curve: pg.PlotCurveItem, line: Line) -> None:
    curve.setData(line.x, line.y, connect=line.joined)
