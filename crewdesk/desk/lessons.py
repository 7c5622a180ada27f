"""What the day has taught: wear, pressures, calls, weather; for the handover."""

from collections.abc import Sequence
from statistics import mean
from typing import Literal

from crewdesk.desk.case import local
from crewdesk.desk.course import Course
from crewdesk.desk.state import DayState, ReadingNow, Run, TyreNow
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.handover import CallMade, ForecastSeen, PressureKept, WearFigure
from crewdesk.journal.entries import CallUsed, Fitting, Reading, StoredEntry
from crewdesk.units import CORNERS, PLACES, Corner

AXLES: tuple[tuple[Literal["front", "rear"], tuple[Corner, Corner]], ...] = (
    ("front", ("FL", "FR")),
    ("rear", ("RL", "RR")),
)
LEAST_KM = 3.0
"""Shorter stays tell nothing of wear: the gauge is as rough as the loss."""


def wear_figures(bundle: EventBundle, state: DayState) -> tuple[WearFigure, ...]:
    """Return wear per km as read, by model, corner and surface."""
    stages = {stage.ref: stage for stage in bundle.itinerary.stages}
    seen: dict[tuple[str, str, str, str, str], list[tuple[float, float, int]]] = {}
    for tyre in state.tyres.values():
        for depth_before, depth_after, runs in _stays(tyre):
            known = [stages[r.stage] for r in runs if r.stage in stages]
            corners = {r.place for r in runs}
            surfaces = {stage.surface for stage in known}
            km = sum(r.km * r.split for r in runs)
            if len(corners) != 1 or len(surfaces) != 1 or km < LEAST_KM:
                continue
            place = corners.pop()
            if place not in CORNERS:
                continue
            key = (*tyre.stock.kind_key, str(place), surfaces.pop())
            seen.setdefault(key, []).append((depth_before - depth_after, km, len(runs)))
    figures = []
    roads = _roads(state)
    for (maker, model, compound, corner, surface), rows in sorted(seen.items()):
        loss = sum(row[0] for row in rows) / sum(row[1] for row in rows)
        figures.append(
            WearFigure(
                maker=maker,
                model=model,
                compound=compound,
                corner=corner,
                surface=surface,
                road_low_c=min(roads) if roads else None,
                road_high_c=max(roads) if roads else None,
                mm_per_km=round(max(loss, 0.0), 4),
                stages=sum(row[2] for row in rows),
            )
        )
    return tuple(figures)


def _roads(state: DayState) -> list[float]:
    return [r.road_c for r in state.reports if r.road_c is not None]


def _depth(reading: ReadingNow) -> float | None:
    known = [depth for depth in reading.tread_mm if depth is not None]
    return mean(known) if len(known) == len(reading.tread_mm) else None


def _stays(tyre: TyreNow) -> list[tuple[float, float, tuple[Run, ...]]]:
    """Return (depth before, depth after, runs between) for every pair of full readings."""
    depth, at = mean(tyre.stock.tread_mm), 0
    stays: list[tuple[float, float, tuple[Run, ...]]] = []
    for reading in tyre.readings:
        after = _depth(reading)
        if after is None or reading.runs_before <= at:
            continue
        stays.append((depth, after, tyre.runs[at : reading.runs_before]))
        depth, at = after, reading.runs_before
    return stays


def pressures_kept(
    bundle: EventBundle, state: DayState, entries: Sequence[StoredEntry]
) -> tuple[PressureKept, ...]:
    """Return the cold settings with the hot pressures read after them, by axle."""
    course = Course(bundle.itinerary)
    kept = []
    fittings = [e.body for e in entries if isinstance(e.body, Fitting) and e.body.cold_kpa]
    readings = [e.body for e in entries if isinstance(e.body, Reading)]
    for fitting in fittings:
        spot = course.spot(fitting.place)
        if spot is None or spot.place is None:
            continue
        following = [
            p.key
            for p in bundle.itinerary.change_places
            if course.place_rows[p.key][0] > spot.row_out
        ]
        for axle, corners in AXLES:
            tyres = [fitting.fitting.get(corner) for corner in corners]
            cold = [fitting.cold_kpa.get(corner) for corner in corners]
            hot = [
                r.hot_kpa
                for r in readings
                if r.hot_kpa is not None
                and r.tyre_id in tyres
                and following
                and (found := course.place(r.place)) is not None
                and found.key == following[0]
            ]
            known = [value for value in cold if value is not None]
            if not known or not hot:
                continue
            first = state.tyres.get(tyres[0] or "")
            compound = first.stock.compound if first is not None else ""
            kept.append(
                PressureKept(
                    place=spot.place.key,
                    axle=axle,
                    compound=compound,
                    cold_kpa=round(mean(known), 1),
                    hot_kpa=round(mean(hot), 1),
                    air_c=fitting.set_at_c,
                    road_c=_road_after(state, fitting),
                )
            )
    return tuple(kept)


def _road_after(state: DayState, fitting: Fitting) -> float | None:
    if fitting.at is None:
        return None
    for report in reversed(state.reports):
        if report.road_c is not None and report.at is not None and report.at <= fitting.at:
            return report.road_c
    return None


def calls_made(
    bundle: EventBundle, state: DayState, entries: Sequence[StoredEntry]
) -> tuple[CallMade, ...]:
    """Return every call taken beside what was fitted."""
    course = Course(bundle.itinerary)
    fitted = {fitting.place: fitting for fitting in state.fittings}
    made: dict[str, CallMade] = {}
    for entry in entries:
        if not isinstance(entry.body, CallUsed):
            continue
        place = course.place(entry.body.place)
        if place is None:
            continue
        real = fitted.get(place.key)
        reasons = [o for o in state.overrides if o.get("place") == place.key]
        made[place.key] = CallMade(
            place=place.key,
            at_utc=entry.happened_utc,
            proposed={p: entry.body.fitting.get(p) for p in PLACES},
            fitted={p: real.tyres.get(p) for p in PLACES} if real is not None else {},
            expected_s=entry.body.objective_s,
            override_name=str(reasons[-1]["name"]) if reasons else "",
            override_reason=str(reasons[-1]["reason"]) if reasons else "",
        )
    return tuple(made.values())


def forecasts_seen(bundle: EventBundle, state: DayState) -> tuple[ForecastSeen, ...]:
    """Return what the crew reported beside the forecast of that hour."""
    rows = [r for r in bundle.weather.rows if r.source == "forecast"]
    seen = []
    for report in state.reports:
        if report.at is None or report.air_c is None or not rows:
            continue
        at = report.at
        known = [r for r in rows if r.issued_utc is None or r.issued_utc <= at]
        if not known:
            continue
        best = min(
            known,
            key=lambda r: (
                abs((r.time_utc - at).total_seconds()),
                -(r.issued_utc.timestamp() if r.issued_utc else 0.0),
                r.alt_m,
            ),
        )
        if abs((best.time_utc - at).total_seconds()) > 3600:
            continue
        when = f"{local(bundle, at):%d.%m. %H:%M}"
        rain = report.rain_mm_h
        came = f"{report.air_c:.0f} °C" + (f", rain {rain:g} mm/h" if rain is not None else "")
        what = f"{best.air_c:.0f} °C at {when}"
        if best.rain_mm_h is not None:
            what += f", rain {best.rain_mm_h:g} mm/h"
        seen.append(ForecastSeen(place=report.place or "on the road", what=what, came=came))
    return tuple(seen)
