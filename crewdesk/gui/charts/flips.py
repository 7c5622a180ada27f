"""The chart of one number that may move: what each way to fit loses, and where they cross."""

from collections.abc import Sequence
from typing import Final

import numpy as np
import pyqtgraph as pg
from numpy.typing import NDArray
from PySide6.QtCore import QCoreApplication
from PySide6.QtGui import QPen

from crewdesk.desk.flip_view import FlipView, value_words
from crewdesk.gui.charts.backdrop import Look
from crewdesk.gui.charts.flips_marks import MARK_OF, FlipMarks, Label
from crewdesk.gui.charts.learnt import QuietPlot

DASHES: Final[tuple[tuple[float, ...], ...]] = (
    (),
    (5.0, 3.0),
    (1.0, 2.0),
    (7.0, 2.0, 1.0, 2.0),
    (2.5, 2.5),
)
"""Lines are told apart by these and by their marks; the call's is whole and thick."""
CALL_PX: Final = 5.0
RIVAL_PX: Final = 2.5
NAMES_SHARE: Final = 0.36
"""Part of the width on the right in which the lines are named."""
TOP_SHARE: Final = 0.34
"""Part of the height above the lines in which now and the changes are named."""
LEAST_TOP_S: Final = 5.0


def _tr(text: str) -> str:
    return QCoreApplication.translate("FlipPlot", text)


class FlipPlot(QuietPlot):
    """Seconds above the best, against the number that moves."""

    def __init__(self, what: str) -> None:
        super().__init__(f"flip_plot_{what}")
        self.view_shown: FlipView | None = None
        self.marks = FlipMarks(self.view)
        self.curves = [pg.PlotCurveItem() for _ in DASHES]
        self.points = [pg.ScatterPlotItem(size=11, hoverable=False) for _ in DASHES]
        self.add(*reversed(self.points), *reversed(self.curves))

    def set_view(self, shown: FlipView) -> None:
        """Show another chart."""
        self.view_shown = shown
        drawn = [line for line in shown.lines if line.drawn][: len(DASHES)]
        if not drawn or len(shown.values) < 2:
            return
        x = np.asarray(shown.values, dtype=np.float64)
        top = top_s(shown)
        labels = []
        for number, (curve, points) in enumerate(zip(self.curves, self.points, strict=True)):
            here = number < len(drawn)
            curve.setVisible(here)
            points.setVisible(here and bool(MARK_OF[number]))
            if not here:
                continue
            xs, ys = clipped(x, np.asarray(drawn[number].seconds, dtype=np.float64), top)
            curve.setData(xs, ys, connect="finite")
            seen = np.isfinite(ys) & np.isin(xs, x)
            points.setData(x=xs[seen], y=ys[seen])
            if np.isfinite(ys).any():
                last = int(np.flatnonzero(np.isfinite(ys))[-1])
                name = drawn[number].name
                words = _tr("CALL {0}").format(name) if number == 0 else name
                labels.append(Label(words, float(xs[last]), float(ys[last]), number))
        low, high = float(x[0]), float(x[-1])
        self.axis("bottom").setTicks([value_ticks(shown.what, low, high)])
        self.axis("left").setTicks([second_ticks(top)])
        self.axis("left").setWidth(self.room_for([text for _, text in second_ticks(top)]))
        self.frame(
            (low - 0.01 * (high - low), low + (high - low) / (1.0 - NAMES_SHARE)),
            (-0.05 * top, top / (1.0 - TOP_SHARE)),
        )
        self.marks.set_view(shown, labels, top)
        self.setAccessibleName(f"{shown.title}. {shown.said}")

    def set_look(self, look: Look) -> None:
        super().set_look(look)
        pens = [line_pen(number, look) for number in range(len(DASHES))]
        for number, (curve, points) in enumerate(zip(self.curves, self.points, strict=True)):
            curve.setPen(pens[number])
            if MARK_OF[number]:
                points.setSymbol(MARK_OF[number])
            points.setPen(pg.mkPen(look.ink, width=2))
            points.setBrush(pg.mkBrush(look.paper))
        self.marks.set_look(look, pens)
        if self.view_shown is not None:
            self.set_view(self.view_shown)


def line_pen(number: int, look: Look) -> QPen:
    """Return how a line is drawn; the first is the call's."""
    call = number == 0
    pen = QPen(look.planned if call else look.ink, CALL_PX if call else RIVAL_PX)
    pen.setCosmetic(True)
    if DASHES[number]:
        pen.setDashPattern(list(DASHES[number]))
    return pen


def top_s(shown: FlipView) -> float:
    """Return up to how many seconds are drawn: enough for today, and where lines cross."""
    drawn = [line.seconds for line in shown.lines if line.drawn]
    here = min(range(len(shown.values)), key=lambda i: abs(shown.values[i] - shown.now))
    most = max(max(seconds) for seconds in drawn)
    wanted = max(1.6 * max(seconds[here] for seconds in drawn), LEAST_TOP_S)
    return float(min(wanted, max(1.05 * most, LEAST_TOP_S)))


def clipped(
    x: NDArray[np.float64], y: NDArray[np.float64], top: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return a line that ends where it leaves the chart at the top, not a number beyond."""
    xs, ys = [float(x[0])], [float(y[0]) if y[0] <= top else np.nan]
    for n in range(1, len(x)):
        if (y[n] > top) != (y[n - 1] > top):
            share = (top - y[n - 1]) / (y[n] - y[n - 1])
            xs.append(float(x[n - 1] + share * (x[n] - x[n - 1])))
            ys.append(top)
        xs.append(float(x[n]))
        ys.append(float(y[n]) if y[n] <= top else np.nan)
    return np.asarray(xs), np.asarray(ys)


def value_ticks(what: str, low: float, high: float) -> list[tuple[float, str]]:
    """Return round values along the foot, with the unit."""
    step = _step((high - low) / 5.0)
    count = range(int(np.ceil(low / step - 1e-9)), int(np.floor(high / step + 1e-9)) + 1)
    ticks = []
    for n in count:
        words = value_words(what, n * step)
        number, _, unit = words.partition(" ")
        ticks.append((n * step, f"{number.removesuffix('.0')} {unit}"))
    return ticks


def second_ticks(top: float) -> list[tuple[float, str]]:
    """Return round seconds along the side."""
    step = _step(top / 4.0)
    return [(n * step, f"{n * step:g} s") for n in range(int(top / step + 1e-9) + 1)]


def _step(least: float) -> float:
    """Return the round step next above a width."""
    steps: Sequence[float] = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0)
    return next((s for s in steps if s >= least), 500.0)
