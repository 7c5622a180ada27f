"""One plot of what was learnt at a time, or the same numbers as a table."""

from datetime import UTC, tzinfo
from typing import Final

from PySide6.QtCore import QT_TRANSLATE_NOOP, QCoreApplication
from PySide6.QtWidgets import (
    QFrame,
    QLabel,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from crewdesk.desk.learnt import Learnt
from crewdesk.gui.charts import learnt_table as tables
from crewdesk.gui.charts.learnt import MOST_READINGS, MOST_ROWS, AirPlot, RatePlot, ReadingPlot
from crewdesk.gui.charts.plot import chart_look
from crewdesk.gui.tables import NumberTable
from crewdesk.gui.theme import Theme

LEAST_TEXT_PX: Final = 16
_LEGENDS: Final[dict[str, str]] = {
    "wear": str(
        QT_TRANSLATE_NOOP(
            "LearntView",
            "Wear in mm/km. ◇ thin line: as the event began. ● thick line: now. "
            "90 in 100 lie on the line.",
        )
    ),
    "depths": str(
        QT_TRANSLATE_NOOP(
            "LearntView",
            "Worn more (+) or less (−) than expected, mm, in the order read. 80 in 100 lie on "
            "their upright line. ◇ large: asked about.",
        )
    ),
    "air": str(
        QT_TRANSLATE_NOOP(
            "LearntView", "Air. □ dashed: forecast for that hour. ● solid: as it came."
        )
    ),
    "other": str(
        QT_TRANSLATE_NOOP("LearntView", "Rubber alone, warmth, grip and punctures in numbers.")
    ),
}
_EMPTY: Final[dict[str, str]] = {
    "wear": str(QT_TRANSLATE_NOOP("LearntView", "No stage is run yet.")),
    "depths": str(
        QT_TRANSLATE_NOOP("LearntView", "No depth has been read beside one before it yet.")
    ),
    "air": str(
        QT_TRANSLATE_NOOP("LearntView", "No report of the air has a forecast of its hour yet.")
    ),
    "other": str(QT_TRANSLATE_NOOP("LearntView", "Nothing has been read yet.")),
}


class LearntView(QFrame):
    """The plots, a table, and the words that explain what is drawn."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("kind", "card")
        self.setObjectName("learnt_view")
        self._learnt: Learnt | None = None
        self._zone: tzinfo = UTC
        self._part = "wear"
        self._as_table = False
        self.legend = QLabel("", self)
        self.legend.setObjectName("learnt_legend")
        self.legend.setWordWrap(True)
        self.rates = RatePlot()
        self.depths = ReadingPlot()
        self.air = AirPlot()
        self.table = NumberTable("learnt_table", self.tr("What was learnt, in numbers"), self)
        self.stack = QStackedWidget(self)
        for widget in (self.rates, self.depths, self.air, self.table):
            self.stack.addWidget(widget)
        inside = QVBoxLayout(self)
        inside.setContentsMargins(10, 6, 10, 6)
        inside.setSpacing(4)
        inside.addWidget(self.legend)
        inside.addWidget(self.stack, 1)

    @property
    def is_table(self) -> bool:
        """Whether the numbers are shown and not the plot."""
        return self._as_table

    def set_learnt(self, learnt: Learnt, zone: tzinfo) -> None:
        """Show what was learnt; times are told in the event's zone."""
        self._learnt, self._zone = learnt, zone
        self.rates.set_rates(learnt.rates)
        self.depths.set_compared(learnt.compared)
        self.air.set_compared(learnt.forecast, zone)
        self._refresh()

    def set_theme(self, theme: Theme, text_px: int = LEAST_TEXT_PX) -> None:
        """Take the colours of a theme; letters never go under 16 px."""
        look = chart_look(theme, max(LEAST_TEXT_PX, text_px))
        for plot in (self.rates, self.depths, self.air):
            plot.set_look(look)

    def show_part(self, part: str) -> None:
        """Bring wear, depths, air or the others to the front."""
        self._part = part
        self._refresh()

    def show_table(self, *, shown: bool) -> None:
        """Show the numbers, or the plot again."""
        self._as_table = shown
        self._refresh()

    def _refresh(self) -> None:
        learnt = self._learnt
        if learnt is None:
            return
        rows = self._rows(learnt)
        plot = {"wear": self.rates, "depths": self.depths, "air": self.air}.get(self._part)
        self.legend.setText(self._legend(learnt, empty=not rows))
        self.stack.setVisible(bool(rows))
        if plot is None or self._as_table:
            self._fill(rows)
            self.stack.setCurrentWidget(self.table)
            return
        name = self.tr("{0} The table has the same numbers.").format(self.legend.text())
        plot.setAccessibleName(name)
        self.stack.setCurrentWidget(plot)

    def _legend(self, learnt: Learnt, *, empty: bool) -> str:
        words = _EMPTY[self._part] if empty else _LEGENDS[self._part]
        text = QCoreApplication.translate("LearntView", words)
        if self._as_table or empty:
            return text
        if self._part == "wear" and len(learnt.rates) > MOST_ROWS:
            text += self.tr(" The {0} read most; all are in the table.").format(MOST_ROWS)
        if self._part == "depths" and len(learnt.compared) > MOST_READINGS:
            text += self.tr(" The newest {0}; all are in the table.").format(MOST_READINGS)
        return text

    def _rows(self, learnt: Learnt) -> tables.Rows:
        if self._part == "wear":
            return tables.rate_rows(learnt.rates)
        if self._part == "depths":
            return tables.reading_rows(learnt.compared, self._zone)
        if self._part == "air":
            return tables.air_rows(learnt.forecast, self._zone)
        return tables.other_rows(learnt.heat, learnt.grip, learnt.punctures, learnt.wear)

    def _fill(self, rows: tables.Rows) -> None:
        names, widths = {
            "wear": (tables.RATE_COLUMNS, tables.RATE_WIDTHS_PX),
            "depths": (tables.READING_COLUMNS, tables.READING_WIDTHS_PX),
            "air": (tables.AIR_COLUMNS, tables.AIR_WIDTHS_PX),
        }.get(self._part, (tables.OTHER_COLUMNS, tables.OTHER_WIDTHS_PX))
        headings = [QCoreApplication.translate("LearntTable", name) for name in names]
        self.table.set_columns(headings, widths)
        self.table.set_rows(rows)
