"""The numbers of the wear charts as rows of a table."""

from collections.abc import Sequence
from datetime import datetime, tzinfo
from typing import Final

from PySide6.QtCore import QT_TRANSLATE_NOOP

from crewdesk.desk.answer import StageBand, WearChart

COLUMNS: Final[tuple[str, ...]] = (
    str(QT_TRANSLATE_NOOP("WearTable", "Corner")),
    str(QT_TRANSLATE_NOOP("WearTable", "Wheel · tyre")),
    str(QT_TRANSLATE_NOOP("WearTable", "Where")),
    str(QT_TRANSLATE_NOOP("WearTable", "Time")),
    str(QT_TRANSLATE_NOOP("WearTable", "Stage km")),
    str(QT_TRANSLATE_NOOP("WearTable", "Tread mm")),
    str(QT_TRANSLATE_NOOP("WearTable", "Range mm")),
    str(QT_TRANSLATE_NOOP("WearTable", "Edges %")),
    str(QT_TRANSLATE_NOOP("WearTable", "How known")),
)
WIDTHS_PX: Final[tuple[int, ...]] = (85, 130, 95, 75, 115, 125, 125, 105, 135)


def table_rows(charts: Sequence[WearChart], zone: tzinfo) -> list[tuple[str, ...]]:
    """Return a row for every point and reading drawn, corner by corner in order of time."""
    rows: list[tuple[str, ...]] = []
    for chart in charts:
        mine: list[tuple[datetime, int, tuple[str, ...]]] = []
        rims = {s.tyre_id: s.rim_id for s in chart.segments}
        for segment in chart.segments:
            for point in segment.points:
                row = (
                    chart.corner,
                    _wheel(segment.rim_id, segment.tyre_id),
                    _where(chart.bands, point.at_utc),
                    point.at_utc.astimezone(zone).strftime("%H:%M"),
                    f"{point.stage_km:.1f}",
                    f"{point.tread_mm:.1f} {segment.worst_point}",
                    f"{point.low_mm:.1f}–{point.high_mm:.1f}",
                    f"{point.edge_share * 100:.0f}",
                    "expected" if segment.planned else "reckoned",
                )
                mine.append((point.at_utc, 0, row))
        for reading in chart.readings:
            row = (
                chart.corner,
                _wheel(rims.get(reading.tyre_id, ""), reading.tyre_id),
                _where(chart.bands, reading.at_utc),
                reading.at_utc.astimezone(zone).strftime("%H:%M"),
                f"{reading.stage_km:.1f}",
                f"{reading.tread_mm:.1f}",
                f"±{reading.sd_mm:.1f}",
                "",
                "measured",
            )
            mine.append((reading.at_utc, 1, row))
        mine.sort(key=lambda entry: (entry[0], entry[1]))
        rows += [row for _, _, row in mine]
    return rows


def _wheel(rim_id: str, tyre_id: str) -> str:
    return f"{rim_id}·{tyre_id}" if rim_id else tyre_id


def _where(bands: Sequence[StageBand], at_utc: datetime) -> str:
    """Return the band a moment lies in, the one just ended first."""
    inside = [band for band in bands if band.start_utc <= at_utc <= band.end_utc]
    return inside[0].label if inside else ""
