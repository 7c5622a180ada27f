"""Plots of what was learnt: wear by corner, depths beside the expected, air beside forecast."""

from collections.abc import Sequence
from datetime import tzinfo
from typing import Final

import numpy as np
import pyqtgraph as pg
from numpy.typing import NDArray
from PySide6.QtCore import QCoreApplication, Qt
from PySide6.QtGui import QFont, QFontMetrics

from crewdesk.desk.learnt import Compared, ForecastCompared, WearRate
from crewdesk.gui.charts.axis import EventAxis, Spot, TimeScale
from crewdesk.gui.charts.backdrop import Look

MOST_ROWS: Final = 16
"""More rows of the wear plot than this could not be read; the table has them all."""
MOST_READINGS: Final = 30
_BEAM: Final = 0.0
_SIDE_PX: Final = 52


def _tr(text: str) -> str:
    return QCoreApplication.translate("LearntPlots", text)


class QuietPlot(pg.PlotWidget):
    """A plot that is looked at only: no mouse, no menu, letters as the theme has them."""

    def __init__(self, name: str, **axes: pg.AxisItem) -> None:
        super().__init__(axisItems=axes) if axes else super().__init__()
        self.setObjectName(name)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setMinimumHeight(160)
        self.look: Look | None = None
        self.letters = QFont(self.font())
        item = self.getPlotItem()
        item.hideButtons()
        item.setMenuEnabled(False)
        self.view = item.getViewBox()
        self.view.setMouseEnabled(x=False, y=False)
        self.view.disableAutoRange()
        self.view.setDefaultPadding(0.0)
        for side in ("left", "bottom", "right", "top"):
            item.getAxis(side).enableAutoSIPrefix(False)

    def add(self, *items: pg.GraphicsObject) -> None:
        """Put items on the plot once and for all."""
        for item in items:
            self.getPlotItem().addItem(item, ignoreBounds=True)

    def axis(self, side: str) -> pg.AxisItem:
        """Return an axis."""
        return self.getPlotItem().getAxis(side)

    def set_look(self, look: Look) -> None:
        """Take the colours and the letter size of the theme."""
        self.look = look
        self.setBackground(look.paper)
        self.letters.setPixelSize(look.text_px)
        for side in ("left", "bottom", "right", "top"):
            axis = self.axis(side)
            axis.setStyle(tickFont=self.letters, tickTextOffset=6, tickLength=-5)
            axis.setPen(pg.mkPen(look.line, width=1))
            axis.setTextPen(look.ink)
        self.axis("bottom").setHeight(look.text_px + 14)

    def frame(self, x: tuple[float, float], y: tuple[float, float]) -> None:
        """Show a range of values."""
        self.view.setRange(xRange=x, yRange=y, padding=0.0, disableAutoRange=True)

    def room_for(self, texts: Sequence[str]) -> int:
        """Return how wide an axis must be for its texts."""
        metrics = QFontMetrics(self.letters)
        return max((metrics.horizontalAdvance(text) for text in texts), default=0) + 16


def rate_words(rate: WearRate) -> str:
    """Return whose wear a rate is."""
    return f"{rate.compound}, {rate.ground}  {rate.corner}"


class RatePlot(QuietPlot):
    """Wear by compound, ground and corner: a thin line as it began, a thick one now."""

    def __init__(self) -> None:
        super().__init__("learnt_rate_plot")
        self.getPlotItem().showAxis("right")
        self.began = pg.ErrorBarItem(x=[0.0], y=[0.0], beam=_BEAM)
        self.now = pg.ErrorBarItem(x=[0.0], y=[0.0], beam=_BEAM)
        self.began_marks = pg.ScatterPlotItem(symbol="d", size=13, hoverable=False)
        self.now_marks = pg.ScatterPlotItem(symbol="o", size=13, hoverable=False)
        self.add(self.began, self.now, self.began_marks, self.now_marks)
        self.rates: tuple[WearRate, ...] = ()

    def set_rates(self, rates: Sequence[WearRate]) -> None:
        """Show rates; of too many those with most readings."""
        kept = sorted(rates, key=lambda r: -r.readings)[:MOST_ROWS]
        self.rates = tuple(rate for rate in rates if rate in kept)
        rows = [float(len(self.rates) - 1 - at) for at in range(len(self.rates))]
        up = [row + 0.18 for row in rows]
        down = [row - 0.14 for row in rows]
        start = [rate.start_mm_km for rate in self.rates]
        now = [rate.now_mm_km for rate in self.rates]
        for bars, marks, y, x, low, high in (
            (self.began, self.began_marks, up, start, "start_low", "start_high"),
            (self.now, self.now_marks, down, now, "now_low", "now_high"),
        ):
            left = [v - getattr(r, low) for v, r in zip(x, self.rates, strict=True)]
            right = [getattr(r, high) - v for v, r in zip(x, self.rates, strict=True)]
            bars.setVisible(bool(x))
            if x:
                bars.setData(
                    x=_array(x),
                    y=_array(y),
                    left=_array(left),
                    right=_array(right),
                )
            marks.setData(x=x, y=y)
        names = [rate_words(rate) for rate in self.rates]
        self.axis("left").setTicks([list(zip(rows, names, strict=True))])
        counts = [_count_words(rate.readings) for rate in self.rates]
        self.axis("right").setTicks([list(zip(rows, counts, strict=True))])
        self.axis("left").setWidth(self.room_for(names))
        self.axis("right").setWidth(self.room_for(counts))
        most = max([0.01, *(max(r.start_high, r.now_high) for r in self.rates)])
        self.frame((0.0, 1.04 * most), (-0.6, max(len(rows), 1) - 0.4))

    def set_look(self, look: Look) -> None:
        super().set_look(look)
        self.began.setData(pen=pg.mkPen(look.muted, width=2))
        self.began_marks.setPen(pg.mkPen(look.ink, width=2))
        self.began_marks.setBrush(pg.mkBrush(look.paper))
        self.now.setData(pen=pg.mkPen(look.planned, width=5))
        self.now_marks.setPen(pg.mkPen(look.planned, width=2))
        self.now_marks.setBrush(pg.mkBrush(look.planned))
        self.set_rates(self.rates)


class ReadingPlot(QuietPlot):
    """How much more each tyre wore than expected, with the range of 80 in 100."""

    def __init__(self) -> None:
        super().__init__("learnt_reading_plot")
        self.zero = pg.InfiniteLine(pos=0.0, angle=0, movable=False)
        self.ranges = pg.ErrorBarItem(x=[0.0], y=[0.0], beam=0.3)
        self.marks = pg.ScatterPlotItem(symbol="o", size=13, hoverable=False)
        self.odd = pg.ScatterPlotItem(symbol="d", size=20, hoverable=False)
        self.add(self.ranges, self.zero, self.marks, self.odd)
        self.compared: tuple[Compared, ...] = ()

    def set_compared(self, compared: Sequence[Compared]) -> None:
        """Show readings in the order they were taken; of too many the newest."""
        self.compared = tuple(compared)[-MOST_READINGS:]
        x = [float(at) for at in range(len(self.compared))]
        y = [one.more_worn_mm for one in self.compared]
        reach = [one.either_way_mm for one in self.compared]
        self.ranges.setVisible(bool(x))
        if x:
            self.ranges.setData(
                x=_array(x), y=_array([0.0] * len(x)), top=_array(reach), bottom=_array(reach)
            )
        asked = [one.questioned for one in self.compared]
        self.marks.setData(
            x=[v for v, odd in zip(x, asked, strict=True) if not odd],
            y=[v for v, odd in zip(y, asked, strict=True) if not odd],
        )
        self.odd.setData(
            x=[v for v, odd in zip(x, asked, strict=True) if odd],
            y=[v for v, odd in zip(y, asked, strict=True) if odd],
        )
        step = 1 + len(x) // 16
        names = [
            (at, one.tyre_id)
            for at, one in zip(x, self.compared, strict=True)
            if int(at) % step == 0 or one.questioned
        ]
        self.axis("bottom").setTicks([names])
        most = max([0.5, *reach, *(abs(v) for v in y)]) * 1.15
        self.axis("left").setTicks([_even_ticks(most)])
        self.axis("left").setWidth(_SIDE_PX)
        self.frame((-0.7, max(len(x), 1) - 0.3), (-most, most))

    def set_look(self, look: Look) -> None:
        super().set_look(look)
        self.zero.setPen(pg.mkPen(look.line, width=2))
        self.ranges.setData(pen=pg.mkPen(look.muted, width=2))
        self.marks.setPen(pg.mkPen(look.planned, width=2))
        self.marks.setBrush(pg.mkBrush(look.planned))
        self.odd.setPen(pg.mkPen(look.minimum, width=4))
        self.odd.setBrush(pg.mkBrush(look.paper))
        self.set_compared(self.compared)


class AirPlot(QuietPlot):
    """The air as reported beside the forecast of that hour."""

    def __init__(self) -> None:
        self.times = EventAxis()
        super().__init__("learnt_air_plot", bottom=self.times)
        self.told_line = pg.PlotCurveItem()
        self.came_line = pg.PlotCurveItem()
        self.told = pg.ScatterPlotItem(symbol="s", size=13, hoverable=False)
        self.came = pg.ScatterPlotItem(symbol="o", size=13, hoverable=False)
        self.add(self.told_line, self.came_line, self.told, self.came)

    def set_compared(self, compared: Sequence[ForecastCompared], zone: tzinfo) -> None:
        """Show reports with their forecasts."""
        rows = sorted(compared, key=lambda one: one.at)
        if not rows:
            for curve in (self.told_line, self.came_line, self.told, self.came):
                curve.setData(x=[], y=[])
            return
        scale = TimeScale([], rows[0].at, zone)
        self.times.set_scale(scale)
        x = [scale.position(Spot(one.at, 0.0)) for one in rows]
        told, came = [one.forecast_c for one in rows], [one.came_c for one in rows]
        for line, marks, y in (
            (self.told_line, self.told, told),
            (self.came_line, self.came, came),
        ):
            line.setData(_array(x), _array(y))
            marks.setData(x=x, y=y)
        low, high = min(told + came) - 2.0, max(told + came) + 2.0
        span = max(x[-1] - x[0], 60.0)
        degrees = range(int(low), int(high) + 1, _step(low, high))
        self.axis("left").setTicks([[(float(c), f"{c} °C") for c in degrees]])
        self.axis("left").setWidth(_SIDE_PX + 20)
        self.frame((x[0] - 0.05 * span, x[0] + 1.05 * span), (low, high))

    def set_look(self, look: Look) -> None:
        super().set_look(look)
        self.told_line.setPen(pg.mkPen(look.muted, width=2, style=Qt.PenStyle.DashLine))
        self.told.setPen(pg.mkPen(look.ink, width=2))
        self.told.setBrush(pg.mkBrush(look.paper))
        self.came_line.setPen(pg.mkPen(look.planned, width=3))
        self.came.setPen(pg.mkPen(look.planned, width=2))
        self.came.setBrush(pg.mkBrush(look.planned))


def _array(values: Sequence[float]) -> NDArray[np.float64]:
    return np.asarray(values, dtype=np.float64)


def _count_words(count: int) -> str:
    if count == 0:
        return _tr("not read")
    return _tr("1 reading") if count == 1 else _tr("{0} readings").format(count)


def _even_ticks(most: float) -> list[tuple[float, str]]:
    """Return round depths either side of nothing."""
    step = next(s for s in (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 100.0) if most / s <= 4.5)
    count = int(most / step)
    return [(n * step, f"{n * step:+.1f}" if n else "0") for n in range(-count, count + 1)]


def _step(low: float, high: float) -> int:
    return next(s for s in (1, 2, 5, 10, 20, 50) if (high - low) / s <= 8)
