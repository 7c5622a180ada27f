"""What hot pressures, probes, looks, punctures and forecasts tell beside the depths."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from math import exp

import numpy as np

from crewdesk.desk.course import Course
from crewdesk.desk.learn_runs import PastRuns, RunDone, last_done
from crewdesk.desk.learn_words import heat_sentence
from crewdesk.desk.learnt import ForecastCompared, HeatLearnt, PunctureLearnt
from crewdesk.desk.outlook import home
from crewdesk.desk.state import DayState, LookNow, ReadingNow, TyreNow
from crewdesk.documents.bundle import EventBundle
from crewdesk.engine.tables import road_and_wait
from crewdesk.physics.bands import TEN_PERCENT_SD
from crewdesk.physics.heat import apply_map
from crewdesk.physics.inflation import atmosphere_kpa, gas_c_from_pressure
from crewdesk.physics.kalman import Belief, start
from crewdesk.physics.learning_channels import (
    GAS_SD_K,
    HEAT_LN_SD,
    HEAT_START_SD,
    LOOK_SD_K,
    PROBE_SD_K,
    heat_reading,
    learn_one,
    look_c,
    rate_band,
    tread_at_stop_c,
)
from crewdesk.physics.learning_wear import factor_band
from crewdesk.physics.puncture import learnt_rate_1_km

NEW_PLACE_HEAT_SD = 0.10
"""Added doubt of the heat factor at another place, in squares. Tuning value."""
LONG_AFTER_S = 2 * 3600.0
"""A tyre read this long after its stop line tells nothing of its heat."""
AT_STOP_S = 600.0
"""Read at a stop line, this is the longest it can have stood there."""
HOLES = frozenset({"puncture", "cut", "leak", "bead"})
"""Incidents that let the air out."""


@dataclass(frozen=True)
class _Sign:
    """Something that tells of a tyre's warmth."""

    at: datetime
    stage: str
    """The last one before it: the model is off alike for all that was seen after it."""
    told: tuple[float, float] | None
    """ln of the heat factor with its variance; None: as predicted, nothing new."""


def heat_of(past: PastRuns) -> HeatLearnt:
    """Return how much warmer than predicted the tyres run."""
    signs: list[_Sign] = []
    for tyre in past.state.tyres.values():
        done = past.done(tyre)
        for reading in tyre.readings:
            signs += _of_reading(past, done[: reading.runs_before], reading)
        signs += [
            sign
            for look in tyre.looks
            if (sign := _of_look(past, tyre, done[: look.runs_before], look)) is not None
        ]
    before = past.bundle.learnt
    belief = start([0.0], [HEAT_START_SD])
    if before is not None and before.heat_readings:
        spread = float(np.hypot(before.heat_ln_sd, NEW_PLACE_HEAT_SD))
        belief = start([before.heat_ln_factor], [spread])
    moments: dict[str, list[tuple[float, float]]] = {}
    for sign in sorted(signs, key=lambda one: one.at):
        if sign.told is not None:
            moments.setdefault(sign.stage, []).append(sign.told)
    for seen in moments.values():
        own = [variance - HEAT_LN_SD**2 for _, variance in seen]
        mean = sum(off for off, _ in seen) / len(seen)
        variance = HEAT_LN_SD**2 + sum(own) / len(seen) ** 2
        belief = learn_one(belief, mean, [1.0], variance)
    return _heat(belief, len(signs))


def _heat(belief: Belief, count: int) -> HeatLearnt:
    mean, sd = float(belief.mean[0]), belief.sd([1.0])
    low, high = factor_band(mean, sd)
    return HeatLearnt(exp(mean), low, high, count, heat_sentence(exp(mean), sd))


def _of_reading(past: PastRuns, done: Sequence[RunDone], reading: ReadingNow) -> list[_Sign]:
    """Return what a hot pressure and a probe tell."""
    last = last_done(tuple(done))
    if last is None or last.stage is None or last.ended is None:
        return []
    seconds = (reading.at - last.ended).total_seconds()
    at_stop = reading.where == "stop_line"
    if not at_stop and not 0.0 <= seconds <= LONG_AFTER_S:
        return []
    tread_c, bulk_c = last.tread_c, last.bulk_c
    if not at_stop:
        tread_c, bulk_c = _later(past, last, seconds)
    signs = []
    if reading.hot_kpa is not None and reading.set_kpa and reading.set_at_c is not None:
        seen_c = gas_c_from_pressure(
            reading.set_kpa,
            reading.set_at_c,
            reading.hot_kpa,
            atmosphere_kpa(home(past.bundle)[2]),
            atmosphere_kpa(_altitude_m(past, last, reading)),
        )
        told = heat_reading(float(seen_c), bulk_c, last.air_c, GAS_SD_K)
        if told is not None:
            signs.append(_Sign(reading.at, last.run.stage, told))
    if reading.tread_c is not None:
        read_c = reading.tread_c
        if at_stop:
            stood_s = min(max(seconds, 0.0), AT_STOP_S)
            read_c = tread_at_stop_c(read_c, bulk_c, last.air_c, stood_s)
        told = heat_reading(read_c, tread_c, last.air_c, PROBE_SD_K)
        if told is not None:
            signs.append(_Sign(reading.at, last.run.stage, told))
    return signs


def _later(past: PastRuns, last: RunDone, seconds: float) -> tuple[float, float]:
    """Return tread and carcass after the road home and the wait, by the clock."""
    stage = last.stage
    assert stage is not None  # asked before
    loop = [s for s in past.bundle.itinerary.stages if s.loop == stage.loop]
    table = past.table(stage)
    way = road_and_wait(
        past.bundle.event.car, loop[0].liaison_before_km, seconds, table.air_c, table.road_c
    )
    tread_c, bulk_c = apply_map(way, np.array([[last.tread_c]]), np.array([[last.bulk_c]]))
    return float(tread_c[0, 0]), float(bulk_c[0, 0])


def _altitude_m(past: PastRuns, last: RunDone, reading: ReadingNow) -> float:
    """Return how high a pressure was read."""
    if reading.where == "stop_line" and last.stage is not None:
        return last.stage.alt_finish_m
    place = Course(past.bundle.itinerary).place(reading.place)
    return place.altitude_m if place is not None else home(past.bundle)[2]


def _of_look(
    past: PastRuns, tyre: TyreNow, done: Sequence[RunDone], look: LookNow
) -> _Sign | None:
    """Return what the look of a tyre tells of its last loop."""
    spec = past.spec(tyre)
    last = last_done(tuple(done))
    if spec is None or last is None or last.stage is None:
        return None
    loop = [one for one in done if one.stage is not None and one.stage.loop == last.stage.loop]
    hottest = max(loop, key=lambda one: one.peak_c)
    compound = spec.compound
    seen_c = look_c(look.look, hottest.peak_c, compound.t_lo_c, compound.t_hi_c)
    told = None
    if seen_c != hottest.peak_c:
        told = heat_reading(seen_c, hottest.peak_c, hottest.air_c, LOOK_SD_K)
    return _Sign(look.at, last.run.stage, told)


def punctures_of(past: PastRuns) -> PunctureLearnt | None:
    """Return how often the car punctures, by the tables and by what happened."""
    run = [past.stages[ref] for ref in past.state.stages_run if ref in past.stages]
    km = sum(stage.km for stage in run)
    if km <= 0.0:
        return None
    expected = sum(float(past.table(stage).hazard.mean(axis=1).sum()) for stage in run)
    count = sum(1 for _, incident in past.state.incidents if incident.what in HOLES)
    table = expected / km
    now = learnt_rate_1_km(table, count, km)
    low, high = rate_band(table, count, km, TEN_PERCENT_SD)
    return PunctureLearnt(
        count,
        km,
        100.0 * table,
        100.0 * now,
        100.0 * low,
        100.0 * high,
        f"Punctures: {count} in {km:.0f} stage km, {expected:.1f} by the table; now one in "
        f"{1.0 / now:.0f} km ({1.0 / high:.0f} to {1.0 / low:.0f}).",
    )


def forecast_compared(bundle: EventBundle, state: DayState) -> tuple[ForecastCompared, ...]:
    """Return the air as reported beside the forecast known at that hour."""
    rows = [r for r in bundle.weather.rows if r.source == "forecast"]
    told: list[ForecastCompared] = []
    for report in state.reports:
        at = report.at
        if at is None or report.air_c is None:
            continue
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
        if abs((best.time_utc - at).total_seconds()) <= 3600.0:
            told.append(
                ForecastCompared(report.place or "on the road", at, best.air_c, report.air_c)
            )
    return tuple(told)
