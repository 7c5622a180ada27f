"""The wear charts: what is drawn, in words and in numbers."""

import textwrap
from datetime import UTC, datetime, timedelta, timezone
from itertools import pairwise

import numpy as np
import pyqtgraph as pg
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QFontMetricsF

from crewdesk.desk.answer import StageBand, WearChart, WearPoint, WearReading, WearSegment
from crewdesk.gui.charts.axis import (
    NIGHT_MIN,
    EventAxis,
    KmScale,
    Spot,
    TimeScale,
    band_ends,
    kept_labels,
)
from crewdesk.gui.charts.plot import CORNER_NAMES
from crewdesk.gui.charts.series import edges_note, series_of
from crewdesk.gui.charts.table import COLUMNS, table_rows
from crewdesk.gui.charts.wear import WearCharts
from crewdesk.gui.theme import THEMES
from crewdesk.units import CORNERS, Corner

ZONE = timezone(timedelta(hours=2))
MIDNIGHT = datetime(2026, 8, 21, 22, 0, tzinfo=UTC)
"""Event-local midnight of the invented first day."""

# (label, kind, start min, end min, start km, end km): two invented days, a zone, a night.
_DAY = (
    ("Serv. A", "service", 8 * 60 + 25, 8 * 60 + 40, 0.0, 0.0),
    ("SS1", "stage", 9 * 60 + 16, 9 * 60 + 25, 0.0, 13.6),
    ("SS2", "stage", 9 * 60 + 47, 10 * 60, 13.6, 31.9),
    ("SS3", "stage", 10 * 60 + 29, 10 * 60 + 36, 31.9, 42.9),
    ("Serv. B", "service", 12 * 60, 12 * 60 + 30, 42.9, 42.9),
    ("SS4", "stage", 13 * 60 + 7, 13 * 60 + 16, 42.9, 56.5),
    ("SS5", "stage", 13 * 60 + 38, 13 * 60 + 51, 56.5, 74.8),
    ("SS6", "stage", 14 * 60 + 20, 14 * 60 + 27, 74.8, 85.8),
    ("Flexi C", "service", 15 * 60 + 22, 16 * 60 + 7, 85.8, 85.8),
    ("night", "night", 16 * 60 + 10, 30 * 60 + 40, 85.8, 85.8),
    ("SS7", "stage", 31 * 60 + 46, 31 * 60 + 56, 85.8, 101.5),
    ("SS8", "stage", 32 * 60 + 22, 32 * 60 + 31, 101.5, 113.9),
    ("TC8B", "service", 32 * 60 + 57, 33 * 60 + 12, 113.9, 113.9),
    ("SS9", "stage", 33 * 60 + 39, 33 * 60 + 49, 113.9, 129.6),
    ("SS10", "stage", 34 * 60 + 15, 34 * 60 + 24, 129.6, 142.0),
)


def at(minute: float) -> datetime:
    return MIDNIGHT + timedelta(minutes=minute)


def bands() -> tuple[StageBand, ...]:
    return tuple(
        StageBand(label, kind, at(start), at(end), km_start, km_end)
        for label, kind, start, end, km_start, km_end in _DAY
    )


def _stay(
    tyre: str, rim: str, code: str, rows: list[tuple[float, float, float, float]], planned: bool
) -> WearSegment:
    """Rows: minute, km, tread, edges; the range of a planned stay widens with the loss."""
    first = rows[0][2]
    points = tuple(
        WearPoint(
            at_utc=at(minute),
            stage_km=km,
            tread_mm=tread,
            low_mm=tread - 0.7 * (first - tread) if planned else tread - 0.2,
            high_mm=tread + 0.4 * (first - tread) if planned else tread + 0.2,
            edge_share=edge,
        )
        for minute, km, tread, edge in rows
    )
    return WearSegment(tyre, code, rim, planned, "inner", points)


def sample(corner: Corner, *, watch: str = "") -> WearChart:
    """One corner of an invented event, looked at between SS3 and Service B."""
    number = CORNERS.index(corner) + 1
    low = 0.15 * number
    past = _stay(
        f"H0{number}",
        f"G0{number}",
        "H+",
        [
            (500, 0.0, 10.0, 1.0),
            (556, 0.0, 10.0, 1.0),
            (565, 13.6, 9.3 - low, 0.86),
            (587, 13.6, 9.3 - low, 0.86),
            (600, 31.9, 8.3 - low, 0.7),
            (629, 31.9, 8.3 - low, 0.7),
            (636, 42.9, 7.7 - low, 0.62),
            (682, 42.9, 7.7 - low, 0.62),
        ],
        planned=False,
    )
    kept = _stay(
        f"H0{number}",
        f"G0{number}",
        "H+",
        [(720, 42.9, 7.7 - low, 0.62)],
        planned=True,
    )
    new = _stay(
        f"H0{number + 6}",
        f"G{number + 6:02d}",
        "H+",
        [
            (735, 42.9, 10.0, 1.0),
            (787, 42.9, 10.0, 1.0),
            (796, 56.5, 9.0 - low, 0.8),
            (818, 56.5, 9.0 - low, 0.8),
            (831, 74.8, 7.6 - low, 0.6),
            (860, 74.8, 7.6 - low, 0.6),
            (867, 85.8, 6.7 - low, 0.48),
        ],
        planned=True,
    )
    soft = _stay(
        f"S0{number}",
        f"G{number + 10:02d}",
        "S1",
        [
            (1850, 85.8, 8.0, 0.9),
            (1906, 85.8, 8.0, 0.9),
            (1916, 101.5, 6.2 - low, 0.6),
            (1942, 101.5, 6.2 - low, 0.6),
            (1951, 113.9, 5.0 - low, 0.45),
            (2019, 113.9, 5.0 - low, 0.45),
            (2029, 129.6, 3.6 - low, 0.35),
            (2055, 129.6, 3.6 - low, 0.35),
            (2064, 142.0, 2.6 - low, 0.3),
        ],
        planned=True,
    )
    return WearChart(
        corner=corner,
        segments=(past, kept, new, soft),
        readings=(
            WearReading(f"H0{number}", at(505), 0.0, 10.0),
            WearReading(f"H0{number}", at(670), 42.9, 7.8 - low),
        ),
        bands=bands(),
        now_utc=at(682),
        now_km=42.9,
        minimum_mm=1.6,
        minimum_source="event papers 4.2",
        heading=f"{corner}  end of loop {6.7 - low:.1f} mm inner (4.4–7.9)",
        watch=watch,
    )


def samples() -> tuple[WearChart, ...]:
    watch = "may pass the minimum on loop 5"
    return tuple(sample(c, watch=watch if c == "FL" else "") for c in CORNERS)


@pytest.fixture
def charts(qtbot) -> WearCharts:
    widget = WearCharts("grid")
    qtbot.addWidget(widget)
    widget.set_theme(THEMES["light"])
    widget.set_charts(samples(), ZONE)
    widget.resize(1180, 660)
    widget.show()
    return widget


def test_time_is_told_in_the_zone_of_the_event():
    scale = TimeScale(bands(), at(500), ZONE)
    assert scale.position(Spot(at(500), 0.0)) == pytest.approx(500.0)
    labels = [text for _, text in scale.ticks(480.0, 960.0, 900.0)]
    assert labels == [f"{hour:02d}:00" for hour in range(8, 17) if hour < 16]
    assert scale.say(Spot(at(682), 42.9)) == "11:22"


@pytest.mark.parametrize("machine_zone", ["UTC", "Pacific/Auckland"])
def test_the_computers_own_zone_plays_no_part(machine_zone: str, said):
    code = textwrap.dedent(
        """
        from datetime import UTC, datetime, timedelta, timezone
        from crewdesk.gui.charts.axis import Spot, TimeScale
        start = datetime(2026, 8, 22, 6, 20, tzinfo=UTC)
        scale = TimeScale((), start, timezone(timedelta(hours=2)))
        print(scale.ticks(480.0, 700.0, 300.0), scale.say(Spot(start, 0.0)))
        """
    )
    ticks = "[(480.0, '08:00'), (540.0, '09:00'), (600.0, '10:00'), (660.0, '11:00')] 08:20"
    assert said(code, TZ=machine_zone).strip() == ticks


def test_a_night_is_squeezed_to_a_strip_and_hours_stay_clear_of_it():
    scale = TimeScale(bands(), at(500), ZONE)
    night = next(b for b in bands() if b.kind == "night")
    start, end = band_ends(scale, night)
    assert end - start == pytest.approx(NIGHT_MIN)
    assert scale.position(Spot(night.end_utc + timedelta(minutes=10), 0)) == pytest.approx(
        end + 10
    )
    places = scale.ticks(480.0, 1400.0, 920.0)
    assert places
    assert all(x <= start - 40.0 or x >= end + 40.0 for x, _ in places)


def test_stage_km_has_round_labels_not_too_near_each_other():
    for size_px in (200.0, 400.0, 900.0):
        places = KmScale().ticks(0.0, 142.0, size_px)
        step_px = (places[1][0] - places[0][0]) * size_px / 142.0
        assert step_px >= 60.0
        assert places[0] == (0.0, "0")


def test_labels_that_would_touch_are_left_out():
    spans = [(0.0, 30.0), (20.0, 50.0), (40.0, 70.0), (90.0, 120.0)]
    assert kept_labels(spans, 0.0, 110.0) == [True, False, True, False]


@pytest.mark.parametrize(("width", "most"), [(1180, 8), (480, 5)])
def test_bands_stay_where_their_labels_go(charts: WearCharts, width: int, most: int):
    charts.set_arrangement("grid" if width > 600 else "column")
    charts.resize(width, 660)
    plot = charts.panels["FL"].plot
    assert len(plot.series.strips) == len(charts.shown[0].bands)
    view = plot.getPlotItem().getViewBox()
    low, high = plot.series.x_range
    places = plot.stages.places(low, high, view.width())
    assert places[0][1] == "SS1"
    assert len(places) <= most
    metrics = QFontMetricsF(plot.stages.style["tickFont"])
    per_px = (high - low) / view.width()
    ends = [(x / per_px, metrics.horizontalAdvance(text) / 2.0) for x, text in places]
    assert all(a + half < b - other for (a, half), (b, other) in pairwise(ends))


def test_a_narrow_column_shows_the_leg_that_is_run(charts: WearCharts):
    charts.set_arrangement("grid")
    assert len(charts.shown[0].bands) == len(_DAY)
    charts.set_arrangement("column")
    nights = [band for band in bands() if band.kind == "night"]
    assert nights
    for chart in charts.shown:
        assert all(b.end_utc <= nights[0].start_utc for b in chart.bands)
        assert all(p.at_utc <= nights[0].start_utc for s in chart.segments for p in s.points)
        assert chart.minimum_source == ""


def test_line_breaks_where_the_tyre_changes():
    series = series_of(sample("FL"), KmScale())
    assert [c.label for c in series.changes] == ["G01 H+", "G07 H+", "G11 S1"]
    assert [c.is_first for c in series.changes] == [True, False, False]
    breaks = np.flatnonzero(series.planned.joined == 0)
    assert breaks.tolist() == [1, 8, 17]
    assert series.past.joined[-1] == 0


def test_what_is_planned_goes_on_where_the_past_of_the_same_tyre_ends():
    scale = TimeScale(bands(), at(500), ZONE)
    series = series_of(sample("FL"), scale)
    assert series.planned.x[0] == series.past.x[-1]
    assert series.planned.y[0] == series.past.y[-1]


def test_curves_hold_the_numbers_that_were_given(charts: WearCharts):
    charts.set_by_km(by_km=True)
    for corner in CORNERS:
        chart = sample(corner)
        plot = charts.panels[corner].plot
        x, y = plot.past.getData()
        assert x.tolist() == [p.stage_km for p in chart.segments[0].points]
        assert y.tolist() == [p.tread_mm for p in chart.segments[0].points]
        fan = plot.series.fans[1]
        assert fan.low_mm.tolist() == [p.low_mm for p in chart.segments[2].points]
        assert fan.high_mm.tolist() == [p.high_mm for p in chart.segments[2].points]
        assert len(plot.readings.points()) == len(chart.readings)


def test_all_four_share_the_scale_of_tread(charts: WearCharts):
    for by_km in (False, True):
        charts.set_by_km(by_km=by_km)
        for panel in charts.panels.values():
            low, high = panel.plot.getPlotItem().getViewBox().viewRange()[1]
            assert (low, high) == (0.0, 12.0)


def test_no_axis_of_the_library_tells_the_time(charts: WearCharts):
    items = [i for p in charts.panels.values() for i in p.plot.scene().items()]
    assert not [i for i in items if isinstance(i, pg.DateAxisItem)]
    assert sum(isinstance(i, EventAxis) for i in items) == 2 * len(CORNERS)


def test_new_numbers_make_no_new_items(charts: WearCharts):
    plot = charts.panels["RL"].plot
    before = [id(i) for i in plot.getPlotItem().items]
    charts.set_charts(samples(), ZONE)
    charts.set_by_km(by_km=True)
    assert [id(i) for i in plot.getPlotItem().items] == before


def test_past_is_solid_and_planned_dashed_three_px(charts: WearCharts):
    plot = charts.panels["FL"].plot
    past, planned = plot.past.opts["pen"], plot.planned.opts["pen"]
    assert (past.width(), past.style()) == (3, Qt.PenStyle.SolidLine)
    assert (planned.width(), planned.style()) == (3, Qt.PenStyle.DashLine)
    assert plot.edges.opts["pen"].width() == 1


def test_minimum_is_named_with_value_and_origin():
    series = series_of(sample("FL"), KmScale())
    assert series.minimum_mm == 1.6
    assert series.minimum_label == "minimum 1.6 mm, event papers 4.2"


def test_edges_say_from_which_stage_on_they_are_gone():
    assert edges_note(sample("FL")) == "edges gone about SS9"
    assert edges_note(sample("FL"), gone_share=0.65) == "edges gone"
    assert edges_note(sample("FL"), gone_share=0.2) == ""


def test_watch_words_stand_under_the_heading(charts: WearCharts):
    panel = charts.panels["FL"]
    assert panel.heading.text() == "FL  end of loop 6.5 mm inner (4.4–7.9)"
    said = "⚠ watch: may pass the minimum on loop 5 · edges gone about SS9"
    assert panel.watch.text() == said
    assert panel.watch.isVisible()
    assert not charts.panels["FR"].watch.isVisible()
    assert charts.panels["FR"].note.text() == "edges gone about SS9"


def test_a_low_chart_has_its_note_in_the_line_of_its_heading(charts: WearCharts):
    panel = charts.panels["FR"]
    heading = panel.heading.text()
    assert not any(one.is_low for one in charts.panels.values())
    panel.is_low = True
    panel.set_chart(sample("FR"), KmScale())
    assert panel.heading.text() == f"{heading} · edges gone about SS9"
    assert panel.note.isHidden()
    charts.set_arrangement("grid")
    assert panel.heading.text() == heading
    assert panel.note.isVisible()
    charts.set_arrangement("column")
    assert all(one.is_low for one in charts.panels.values())


def test_charts_take_no_focus_and_are_named(charts: WearCharts):
    for corner, panel in charts.panels.items():
        assert panel.plot.focusPolicy() == Qt.FocusPolicy.NoFocus
        assert panel.plot.accessibleName().startswith(CORNER_NAMES[corner])
        assert "mm inner" in panel.plot.accessibleName()


def test_mouse_moves_nothing(charts: WearCharts, qtbot):
    plot = charts.panels["FL"].plot
    before = plot.getPlotItem().getViewBox().viewRange()
    assert plot.testAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
    qtbot.mouseClick(charts, Qt.MouseButton.LeftButton, pos=plot.geometry().center())
    assert plot.getPlotItem().getViewBox().viewRange() == before


def test_table_gives_the_numbers_of_the_charts(charts: WearCharts, qtbot):
    qtbot.mouseClick(charts.table_button, Qt.MouseButton.LeftButton)
    table = charts.table
    assert table.isVisible()
    rows = table_rows(samples(), ZONE)
    drawn = sum(len(s.points) for c in samples() for s in c.segments) + sum(
        len(c.readings) for c in samples()
    )
    assert table.rowCount() == len(rows) == drawn
    shown = tuple(table.item(2, c).text() for c in range(len(COLUMNS)))
    assert shown == rows[2]
    said = ("FL", "G01·H01", "SS1", "09:25", "13.6", "9.2 inner", "9.0–9.3", "86", "reckoned")
    assert rows[3] == said
    assert rows[1] == (
        "FL",
        "G01·H01",
        "Serv. A",
        "08:25",
        "0.0",
        "10.0",
        "±0.2",
        "",
        "measured",
    )
    qtbot.mouseClick(charts.table_button, Qt.MouseButton.LeftButton)
    assert not table.isVisible()


def test_one_axle_at_a_time_on_a_small_screen(charts: WearCharts, qtbot):
    charts.set_arrangement("pair")
    assert [c for c, p in charts.panels.items() if p.isVisible()] == ["FL", "FR"]
    qtbot.mouseClick(charts.axle_button, Qt.MouseButton.LeftButton)
    assert [c for c, p in charts.panels.items() if p.isVisible()] == ["RL", "RR"]


def test_nothing_to_show_is_said(qtbot):
    widget = WearCharts("column")
    qtbot.addWidget(widget)
    widget.set_theme(THEMES["dark"])
    widget.set_charts(())
    assert widget.panels["FL"].heading.text() == "FL  no call yet"
    widget.show()
    assert widget.grab().width() > 0


@pytest.mark.parametrize("theme", list(THEMES))
def test_letters_are_at_least_15_px(charts: WearCharts, theme: str):
    charts.set_theme(THEMES[theme], text_px=9)
    for panel in charts.panels.values():
        for name in ("left", "right", "bottom"):
            font = panel.plot.getPlotItem().getAxis(name).style["tickFont"]
            assert font.pixelSize() >= 15
    assert not charts.grab().isNull()
