"""Four wear charts, one per corner, with the same numbers as a table."""

from datetime import UTC, tzinfo
from typing import Final, Literal

from PySide6.QtCore import QCoreApplication, Qt
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from crewdesk.desk.answer import WearChart
from crewdesk.gui.charts.axis import KmScale, Scale, TimeScale
from crewdesk.gui.charts.leg import this_leg
from crewdesk.gui.charts.plot import WearPanel, chart_look
from crewdesk.gui.charts.table import COLUMNS, WIDTHS_PX, table_rows
from crewdesk.gui.tables import NumberTable
from crewdesk.gui.theme import Theme
from crewdesk.units import CORNERS, Corner

Arrangement = Literal["grid", "column", "pair"]
LEAST_TEXT_PX: Final = 15
_FRONT: Final[tuple[Corner, ...]] = ("FL", "FR")


class WearCharts(QWidget):
    """Tread and edges of the corners: ``grid`` 2 × 2, ``column`` of four, ``pair`` of two."""

    def __init__(
        self, arrangement: Arrangement = "grid", parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._charts: tuple[WearChart, ...] = ()
        self._zone: tzinfo = UTC
        self._arrangement: Arrangement = arrangement
        self._front = True
        self._by_km = False
        self._make()
        self._arrange()
        self._connect()
        self.set_arrangement(arrangement)

    def _make(self) -> None:
        self.panels = {corner: WearPanel(corner, self) for corner in CORNERS}
        self.x_button = QPushButton(self)
        self.x_button.setObjectName("wear_x")
        self.axle_button = QPushButton(self)
        self.axle_button.setObjectName("wear_axle")
        self.table_button = QPushButton(self)
        self.table_button.setObjectName("wear_table_button")
        self.legend = QLabel(
            self.tr(
                "Solid: past. Dashed: expected, 80 in 100 in the shaded range. "
                "○ measured. Thin: edges, right-hand scale."
            ),
            self,
        )
        self.legend.setWordWrap(True)
        self.table = NumberTable("wear_table", self.tr("Wear in numbers"), self)
        self.table.setWordWrap(False)
        self.table.set_columns(
            [QCoreApplication.translate("WearTable", heading) for heading in COLUMNS], WIDTHS_PX
        )

    def _arrange(self) -> None:
        bar = QHBoxLayout()
        bar.setSpacing(6)
        for button in (self.x_button, self.axle_button, self.table_button):
            bar.addWidget(button, 0, Qt.AlignmentFlag.AlignLeft)
        bar.addWidget(self.legend, 50)
        bar.addStretch(1)
        self._grid_page = QWidget(self)
        self._grid = QGridLayout(self._grid_page)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setSpacing(6)
        self.stack = QStackedWidget(self)
        self.stack.addWidget(self._grid_page)
        self.stack.addWidget(self.table)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(6)
        column.addLayout(bar)
        column.addWidget(self.stack, 1)

    def _connect(self) -> None:
        self.x_button.clicked.connect(self._x_pressed)
        self.axle_button.clicked.connect(self._axle_pressed)
        self.table_button.clicked.connect(self._table_pressed)

    def _x_pressed(self) -> None:
        self.set_by_km(by_km=not self._by_km)

    def _axle_pressed(self) -> None:
        self._front = not self._front
        self.set_arrangement(self._arrangement)

    def _table_pressed(self) -> None:
        self.show_table(shown=self.stack.currentWidget() is self._grid_page)

    def set_charts(self, charts: tuple[WearChart, ...], zone: tzinfo | None = None) -> None:
        """Show other charts; times are told in the event's zone."""
        self._charts = charts
        if zone is not None:
            self._zone = zone
        self._refresh()

    def set_by_km(self, *, by_km: bool) -> None:
        """Lay the charts out along stage km, or along event-local time."""
        self._by_km = by_km
        self._refresh()

    def set_arrangement(self, arrangement: Arrangement) -> None:
        """Lay the four charts out 2 × 2, one under another, or one axle at a time."""
        self._arrangement = arrangement
        for panel in self.panels.values():
            self._grid.removeWidget(panel)
        shown = CORNERS
        if arrangement == "pair":
            shown = _FRONT if self._front else ("RL", "RR")
        for place, corner in enumerate(shown):
            row, column = (place, 0) if arrangement == "column" else divmod(place, 2)
            self._grid.addWidget(self.panels[corner], row, column)
        for corner, panel in self.panels.items():
            panel.setVisible(corner in shown)
            panel.is_low = arrangement == "column"
        self.legend.setVisible(arrangement != "column")
        self._refresh()

    def set_theme(self, theme: Theme, text_px: int = LEAST_TEXT_PX) -> None:
        """Take the colours of a theme; letters never go under 15 px."""
        look = chart_look(theme, max(LEAST_TEXT_PX, text_px))
        for panel in self.panels.values():
            panel.plot.set_look(look)

    def show_table(self, *, shown: bool) -> None:
        """Show the numbers as a table, or the charts again."""
        self.stack.setCurrentWidget(self.table if shown else self._grid_page)
        self._refresh()

    @property
    def shown(self) -> tuple[WearChart, ...]:
        """Return the charts as drawn: a narrow column has room for one leg only."""
        if self._arrangement == "column":
            return tuple(this_leg(chart) for chart in self._charts)
        return self._charts

    @property
    def scale(self) -> Scale:
        """Return the way the charts are laid out along x."""
        charts = self.shown
        if self._by_km or not charts:
            return KmScale()
        firsts = [chart.now_utc for chart in charts]
        for chart in charts:
            firsts += [band.start_utc for band in chart.bands]
            firsts += [p.at_utc for segment in chart.segments for p in segment.points]
            firsts += [reading.at_utc for reading in chart.readings]
        bands = max((chart.bands for chart in charts), key=len)
        return TimeScale(bands, min(firsts), self._zone)

    def _refresh(self) -> None:
        scale = self.scale
        by_corner = {chart.corner: chart for chart in self.shown}
        for corner, panel in self.panels.items():
            panel.set_chart(by_corner.get(corner), scale)
        if self.stack.currentWidget() is self.table:
            self._fill_table()
        self._name_buttons()

    def _fill_table(self) -> None:
        self.table.set_rows(table_rows(self._charts, self._zone))

    def _name_buttons(self) -> None:
        is_table = self.stack.currentWidget() is self.table
        self.x_button.setText(self.tr("Show time") if self._by_km else self.tr("Show stage km"))
        self.x_button.setEnabled(not is_table)
        self.axle_button.setText(self.tr("Show rear") if self._front else self.tr("Show front"))
        self.axle_button.setVisible(self._arrangement == "pair" and not is_table)
        self.table_button.setText(
            self.tr("Show as charts") if is_table else self.tr("Show as table")
        )
        for button in (self.x_button, self.axle_button, self.table_button):
            button.setAccessibleName(button.text())
