"""What each corner's wear chart draws: the past as reckoned and read, then the plan."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import pairwise

from crewdesk.desk.answer import (
    Estimate,
    StageBand,
    WearChart,
    WearPoint,
    WearReading,
    WearSegment,
)
from crewdesk.desk.case import rules_of
from crewdesk.desk.coming_in import as_it_comes_in
from crewdesk.desk.estimate import EIGHTY, History, Step, histories
from crewdesk.desk.learn_runs import Triple
from crewdesk.desk.state import DayState, TyreNow
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.itinerary import Stage
from crewdesk.engine.result import LoopPlan, PlanResult
from crewdesk.units import CORNERS, Corner

POINTS = ("inner", "middle", "outer")
NIGHT = timedelta(hours=6)
NEAR_KM = 1e-6


@dataclass(frozen=True)
class _Axis:
    """Where each stage lies in time and in stage km."""

    start: Mapping[str, tuple[datetime, float]]
    end: Mapping[str, tuple[datetime, float]]
    bands: tuple[StageBand, ...]
    now_km: float


def wear_charts(
    bundle: EventBundle,
    state: DayState,
    result: PlanResult | None,
    estimates: Mapping[str, Estimate],
    now_utc: datetime,
) -> tuple[WearChart, ...]:
    """Return the four charts; without a plan they show the past and the loop being driven."""
    axis = _axis(bundle, state)
    coming = state
    if result is not None and result.plan:
        ahead = bundle.itinerary.place(result.plan[0].place)
        coming = as_it_comes_in(bundle, state, ahead)
    told = histories(bundle, coming, now_utc)
    rules = rules_of(bundle)
    source = rules.sources.get("tread_min_mm") or f"{rules.name}, not checked by the crew"
    charts = []
    for corner in CORNERS:
        past = _split_at_now(_past_segments(coming, told, axis, corner), axis.now_km)
        plan = list(result.plan) if result is not None else []
        planned = _planned_segments(state, estimates, axis, plan, corner, now_utc)
        heading, watch = _heading(planned, corner, rules.tread_min_mm, plan)
        charts.append(
            WearChart(
                corner=corner,
                segments=(*past, *planned),
                readings=_readings(state, axis, corner),
                bands=axis.bands,
                now_utc=now_utc,
                now_km=axis.now_km,
                minimum_mm=rules.tread_min_mm,
                minimum_source=source,
                heading=heading,
                watch=watch,
            )
        )
    return tuple(charts)


def _axis(bundle: EventBundle, state: DayState) -> _Axis:
    stages: Sequence[Stage] = [
        s for s in bundle.itinerary.stages if s.ref not in state.cancelled
    ]
    start: dict[str, tuple[datetime, float]] = {}
    end: dict[str, tuple[datetime, float]] = {}
    bands: list[StageBand] = []
    km = now_km = 0.0
    for stage in stages:
        lasts = timedelta(hours=stage.km / stage.avg_kmh)
        start[stage.ref] = (stage.due_utc, km)
        end[stage.ref] = (stage.due_utc + lasts, km + stage.km)
        bands.append(
            StageBand(
                stage.ref, "stage", stage.due_utc, stage.due_utc + lasts, km, km + stage.km
            )
        )
        km += stage.km
        if stage.ref in state.stages_run:
            now_km = km
    for place in bundle.itinerary.change_places:
        before = [s for s in stages if s.due_utc < place.due_in_utc]
        at_km = end[before[-1].ref][1] if before else 0.0
        bands.append(
            StageBand(place.key, "service", place.due_in_utc, place.due_out_utc, at_km, at_km)
        )
    dues = [
        (due, row.leg)
        for row in bundle.itinerary.rows
        if (due := bundle.itinerary.our_due(row)) is not None
    ]
    for (last, _), (first, _) in pairwise(dues):
        if first - last >= NIGHT:
            before = [s for s in stages if s.due_utc < last]
            at_km = end[before[-1].ref][1] if before else 0.0
            bands.append(StageBand("night", "night", last, first, at_km, at_km))
    bands.sort(key=lambda band: (band.start_utc, band.start_km))
    return _Axis(start, end, tuple(bands), now_km)


def _worst(tread_mm: Triple) -> int:
    return min(range(3), key=lambda index: (tread_mm[index], index))


def _point(
    at: tuple[datetime, float], step: Step | None, history: History, worst: int
) -> WearPoint:
    tread = step.tread_mm if step is not None else history.start_mm
    edges = step.edge_share if step is not None else history.start_edge
    sd = step.sd_mm if step is not None else 0.05
    depth = tread[worst]
    return WearPoint(
        at_utc=at[0],
        stage_km=at[1],
        tread_mm=depth,
        low_mm=max(depth - EIGHTY * sd, 0.0),
        high_mm=depth + EIGHTY * sd,
        edge_share=sum(edges) / 3,
    )


def _past_segments(
    state: DayState, told: Mapping[str, History], axis: _Axis, corner: Corner
) -> list[WearSegment]:
    """Return the stays of tyres on a corner so far, in order of time."""
    segments: list[tuple[datetime, WearSegment]] = []
    for tyre in state.tyres.values():
        history = told[tyre.tyre_id]
        before: Step | None = None
        stay: list[tuple[str, Step, Step | None]] = []
        for step in history.steps:
            if step.measured and stay and step is not history.steps[0]:
                # What was read on a stay stands at its end in place of what was reckoned.
                ref, _, first = stay[-1]
                stay[-1] = (ref, step, first)
                before = step
                continue
            if step.stage and step.place == corner and step.stage in axis.end:
                if stay and not _follows(axis, stay[-1][0], step.stage):
                    segments.append(_stay(tyre, history, axis, stay))
                    stay = []
                stay.append((step.stage, step, before))
            elif step.stage and stay:
                segments.append(_stay(tyre, history, axis, stay))
                stay = []
            before = step
        if stay:
            segments.append(_stay(tyre, history, axis, stay))
    segments.sort(key=lambda pair: pair[0])
    return [segment for _, segment in segments]


def _split_at_now(segments: Sequence[WearSegment], now_km: float) -> list[WearSegment]:
    """Return stays with what is still to be driven of them as expected, not as past."""
    split: list[WearSegment] = []
    for segment in segments:
        run = tuple(p for p in segment.points if p.stage_km <= now_km + NEAR_KM)
        to_come = segment.points[max(len(run) - 1, 0) :]
        if len(run) > 1:
            split.append(replace(segment, points=run))
        if len(run) < len(segment.points):
            split.append(replace(segment, points=to_come, planned=True))
    return split


def _follows(axis: _Axis, first: str, second: str) -> bool:
    """Say whether two stages are one after the other."""
    return abs(axis.end[first][1] - axis.start[second][1]) < 1e-6


def _stay(
    tyre: TyreNow,
    history: History,
    axis: _Axis,
    stay: Sequence[tuple[str, Step, Step | None]],
) -> tuple[datetime, WearSegment]:
    worst = _worst(stay[-1][1].tread_mm)
    first_ref, _, before = stay[0]
    points = [_point(axis.start[first_ref], before, history, worst)]
    points += [_point(axis.end[ref], step, history, worst) for ref, step, _ in stay]
    return axis.start[first_ref][0], WearSegment(
        tyre_id=tyre.tyre_id,
        code=tyre.stock.code,
        rim_id=tyre.rim_id,
        planned=False,
        worst_point=POINTS[worst],
        points=tuple(points),
    )


def _readings(state: DayState, axis: _Axis, corner: Corner) -> tuple[WearReading, ...]:
    found = []
    for tyre in state.tyres.values():
        for reading in tyre.readings:
            depths = [depth for depth in reading.tread_mm if depth is not None]
            on = reading.corner
            ran = tyre.runs[: reading.runs_before]
            if not depths or on != corner or not ran or ran[-1].stage not in axis.end:
                continue
            km = axis.end[ran[-1].stage][1]
            found.append(WearReading(tyre.tyre_id, reading.at, km, min(depths)))
    return tuple(sorted(found, key=lambda r: (r.at_utc, r.tyre_id)))


def _planned_segments(
    state: DayState,
    estimates: Mapping[str, Estimate],
    axis: _Axis,
    plan: Sequence[LoopPlan],
    corner: Corner,
    now_utc: datetime,
) -> list[WearSegment]:
    """Return the stays of the plan, loops with the same tyre joined."""
    segments: list[WearSegment] = []
    edges = {t: sum(e.edge_share) / 3 for t, e in estimates.items()}
    depth_of = {t: e.tread_mm for t, e in estimates.items()}
    sd_of = {t: e.sd_mm for t, e in estimates.items()}
    for loop in plan:
        tyre_id = loop.fitting.get(corner)
        rows = [r for r in loop.stage_tread_mm.get(tyre_id or "", ()) if r[0] in axis.end]
        if not tyre_id or not rows or tyre_id not in state.tyres:
            continue
        end = loop.tread_end_mm.get(tyre_id, depth_of[tyre_id])
        worst = _worst(end)
        begin_edge, end_edge = edges[tyre_id], edges[tyre_id]
        if tyre_id in loop.edge_end:
            end_edge = sum(loop.edge_end[tyre_id]) / 3
        start_mm = depth_of[tyre_id][worst]
        sd = sd_of.get(tyre_id, 0.05)
        at, km = axis.start[rows[0][0]]
        points = [
            WearPoint(
                max(at, now_utc) if not segments else at,
                km,
                start_mm,
                max(start_mm - EIGHTY * sd, 0.0),
                start_mm + EIGHTY * sd,
                begin_edge,
            )
        ]
        for index, (ref, depth, low, high) in enumerate(rows, start=1):
            at, km = axis.end[ref]
            share = index / len(rows)
            edge = begin_edge * (end_edge / begin_edge) ** share if begin_edge > 0 else 0.0
            points.append(WearPoint(at, km, depth, low, high, edge))
        depth_of[tyre_id], edges[tyre_id] = end, end_edge
        sd_of[tyre_id] = (rows[-1][3] - rows[-1][2]) / (2 * EIGHTY)
        tyre = state.tyres[tyre_id]
        last = segments[-1] if segments else None
        if last is not None and last.tyre_id == tyre_id:
            segments[-1] = WearSegment(
                tyre_id,
                last.code,
                last.rim_id,
                True,
                POINTS[worst],
                (*last.points, *points[1:]),
            )
        else:
            rim = loop.rims.get(corner) or tyre.rim_id
            segments.append(
                WearSegment(tyre_id, tyre.stock.code, rim, True, POINTS[worst], tuple(points))
            )
    return segments


def _heading(
    planned: Sequence[WearSegment],
    corner: Corner,
    minimum_mm: float,
    plan: Sequence[LoopPlan],
) -> tuple[str, str]:
    """Return the heading of a chart, and the warning where the range passes the minimum."""
    first = next(
        (loop for loop in plan if loop.fitting.get(corner) and loop.stage_tread_mm), None
    )
    tyre_id = first.fitting.get(corner) if first is not None else None
    rows = first.stage_tread_mm.get(tyre_id or "", ()) if first is not None else ()
    if not planned or not rows or first is None or tyre_id is None:
        return f"{corner}  nothing planned", ""
    _, depth, low, high = rows[-1]
    worst = POINTS[_worst(first.tread_end_mm[tyre_id])]
    heading = f"{corner}  end of loop {depth:.1f} mm {worst} ({low:.1f}–{high:.1f})"
    watch = ""
    if low < minimum_mm:
        watch = f"may pass the minimum {minimum_mm:.1f} mm before the loop ends"
    return heading, watch
