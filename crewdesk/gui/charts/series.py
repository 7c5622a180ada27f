"""Numbers of one wear chart laid out along x: what is drawn and what the table lists."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from crewdesk.desk.answer import StageBand, WearChart, WearPoint, WearSegment
from crewdesk.gui.charts.axis import Scale, Spot, band_ends

TREAD_TOP_MM: Final = 12.0
"""All four charts run from 0 to this, so that corners can be compared at a glance."""

EDGES_GONE_SHARE: Final = 0.40
"""Mean edge sharpness under which the edges are called gone.

Value: common practice, no source."""


@dataclass(frozen=True)
class Line:
    """A line that may be broken: ``joined[i]`` tells whether point i is joined to the next."""

    x: NDArray[np.float64]
    y: NDArray[np.float64]
    joined: NDArray[np.int32]


@dataclass(frozen=True)
class Strip:
    """A stage, service or night along x."""

    label: str
    kind: str
    start: float
    end: float


@dataclass(frozen=True)
class Fan:
    """The range of one planned stay: 80 in 100 lie between low and high."""

    x: NDArray[np.float64]
    low_mm: NDArray[np.float64]
    high_mm: NDArray[np.float64]


@dataclass(frozen=True)
class Change:
    """A tyre comes onto the corner."""

    x: float
    label: str
    is_first: bool
    """The first tyre of the chart: labelled, but no change of tyre."""


@dataclass(frozen=True)
class Series:
    """Everything drawn in one chart, in x of one scale."""

    past: Line
    planned: Line
    edges: Line
    """Mean edge sharpness, scaled so that 100 % lies at the top of the tread scale."""
    fans: tuple[Fan, ...]
    strips: tuple[Strip, ...]
    changes: tuple[Change, ...]
    readings: NDArray[np.float64]
    """Shape (n, 3): x, depth, doubt [mm]."""
    now: float
    now_label: str
    minimum_mm: float
    minimum_label: str
    x_range: tuple[float, float]
    edges_note: str = ""


def series_of(chart: WearChart, scale: Scale) -> Series:
    """Lay one corner's chart out along a scale."""
    past: list[list[tuple[float, float]]] = []
    planned: list[list[tuple[float, float]]] = []
    edges: list[list[tuple[float, float]]] = []
    fans: list[Fan] = []
    changes: list[Change] = []
    before: WearSegment | None = None
    for segment in chart.segments:
        if not segment.points:
            continue
        points = _with_join(segment, before)
        xs = [scale.position(Spot(p.at_utc, p.stage_km)) for p in points]
        depths = [(x, p.tread_mm) for x, p in zip(xs, points, strict=True)]
        (planned if segment.planned else past).append(depths)
        edges.append(
            [(x, p.edge_share * TREAD_TOP_MM) for x, p in zip(xs, points, strict=True)]
        )
        if segment.planned:
            low = np.array([p.low_mm for p in points], dtype=np.float64)
            high = np.array([p.high_mm for p in points], dtype=np.float64)
            fans.append(Fan(np.array(xs, dtype=np.float64), low, high))
        if before is None or before.tyre_id != segment.tyre_id:
            label = f"{segment.rim_id} {segment.code}".strip()
            changes.append(Change(xs[0], label, before is None))
        before = segment
    strips = tuple(Strip(b.label, b.kind, *band_ends(scale, b)) for b in chart.bands)
    here = Spot(chart.now_utc, chart.now_km)
    now = scale.position(here)
    readings = np.array(
        [
            (scale.position(Spot(r.at_utc, r.stage_km)), r.tread_mm, r.sd_mm)
            for r in chart.readings
        ],
        dtype=np.float64,
    ).reshape(-1, 3)
    return Series(
        past=_line(past),
        planned=_line(planned),
        edges=_line(edges),
        fans=tuple(fans),
        strips=strips,
        changes=tuple(changes),
        readings=readings,
        now=now,
        now_label=f"now {scale.say(here)}",
        minimum_mm=chart.minimum_mm,
        minimum_label=(
            f"minimum {chart.minimum_mm:.1f} mm, {chart.minimum_source}"
            if chart.minimum_source
            else f"min {chart.minimum_mm:.1f} mm"
        ),
        x_range=_range(now, past + planned, strips, readings),
        edges_note=edges_note(chart),
    )


def edges_note(chart: WearChart, gone_share: float = EDGES_GONE_SHARE) -> str:
    """Say from about where on the edges are gone, of the tyre that is on or the next ones."""
    on_now = _on_now(chart)
    if on_now is not None and on_now.edge_share < gone_share:
        return "edges gone"
    for segment in chart.segments:
        for point in segment.points:
            if point.at_utc >= chart.now_utc and point.edge_share < gone_share:
                stage = _stage_at(chart.bands, point)
                return f"edges gone about {stage}" if stage else "edges gone later"
    return ""


def _on_now(chart: WearChart) -> WearPoint | None:
    """Return the last point of the past, where a tyre is on the car."""
    past = [p for s in chart.segments if not s.planned for p in s.points]
    return past[-1] if past else None


def _stage_at(bands: Sequence[StageBand], point: WearPoint) -> str:
    stages = [b for b in bands if b.kind == "stage" and b.start_utc <= point.at_utc]
    return max(stages, key=lambda b: b.start_utc).label if stages else ""


def _with_join(segment: WearSegment, before: WearSegment | None) -> tuple[WearPoint, ...]:
    """Begin a planned stay where the past of the same tyre ends, so that no hole is drawn."""
    if (
        before is None
        or before.tyre_id != segment.tyre_id
        or before.planned == segment.planned
        or before.points[-1] == segment.points[0]
    ):
        return segment.points
    return (before.points[-1], *segment.points)


def _line(pieces: Sequence[Sequence[tuple[float, float]]]) -> Line:
    x = [point[0] for piece in pieces for point in piece]
    y = [point[1] for piece in pieces for point in piece]
    joined = [int(n + 1 < len(piece)) for piece in pieces for n in range(len(piece))]
    return Line(
        np.array(x, dtype=np.float64),
        np.array(y, dtype=np.float64),
        np.array(joined, dtype=np.int32),
    )


def _range(
    now: float,
    pieces: Sequence[Sequence[tuple[float, float]]],
    strips: Sequence[Strip],
    readings: NDArray[np.float64],
) -> tuple[float, float]:
    xs = [point[0] for piece in pieces for point in piece]
    xs += [strip.start for strip in strips] + [strip.end for strip in strips]
    xs += [float(x) for x in readings[:, 0]]
    xs.append(now)
    low, high = min(xs), max(xs)
    room = max(0.03 * (high - low), 1.0)
    return low - room, high + room
