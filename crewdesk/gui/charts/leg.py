"""The part of a wear chart that a narrow column has room for: the leg that is being run."""

from dataclasses import replace
from datetime import datetime

from crewdesk.desk.answer import WearChart


def this_leg(chart: WearChart) -> WearChart:
    """Return a chart from the night before now to the night after it.

    The origin of the minimum is left to the wide charts.
    """
    nights = [band for band in chart.bands if band.kind == "night"]
    start = max((n.end_utc for n in nights if n.start_utc <= chart.now_utc), default=None)
    end = min((n.start_utc for n in nights if n.start_utc > chart.now_utc), default=None)

    def inside(first: datetime, last: datetime) -> bool:
        return (start is None or last > start) and (end is None or first < end)

    segments = [
        replace(segment, points=points)
        for segment in chart.segments
        if (points := tuple(p for p in segment.points if inside(p.at_utc, p.at_utc)))
    ]
    return replace(
        chart,
        segments=tuple(segments),
        readings=tuple(r for r in chart.readings if inside(r.at_utc, r.at_utc)),
        bands=tuple(b for b in chart.bands if inside(b.start_utc, b.end_utc)),
        minimum_source="",
    )
