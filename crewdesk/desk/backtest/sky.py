"""The weather as it really is on a simulated day: the forecasts with errors laid over them."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np

from crewdesk.conditions.air import (
    FORECAST_MEMORY_H,
    FORECAST_SD_C,
    LAPSE_SD_K_KM,
)
from crewdesk.conditions.corrections import NO_FORECAST_SD_C, ROAD_MEMORY_H
from crewdesk.conditions.forecast import ASSUMED_AIR_C, STRAIGHT_LINE_H, read_outlook
from crewdesk.conditions.moments import Conditions, Moment
from crewdesk.conditions.outlook import forecast_conditions
from crewdesk.conditions.places import Places, find_places, find_site
from crewdesk.conditions.road import AIR_TO_ROAD
from crewdesk.conditions.scenarios import RAIN_LOG_SD, RAIN_SHIFT_H, rain_paths_mm_h
from crewdesk.desk.backtest.dice import Dice, Floats
from crewdesk.documents.weather import Weather, WeatherRow

STEP_MIN = 15
"""Grid of the true weather between two rows of the forecast. [min]"""
HOUR = timedelta(hours=1)
AFTER_ALL = datetime(9999, 1, 1, tzinfo=UTC)


@dataclass(frozen=True)
class Spread:
    """How far the truth of a simulated day may lie from what the crew goes by."""

    widen: float = 1.0
    """Factor on every standard deviation; 0: the day is as expected."""
    bias_air_c: float = 0.0
    """True air over the forecast. [°C]"""
    wear_bias: float = 1.0
    """True wear over the table."""


def true_conditions(
    weather: Weather, moments: Sequence[Moment], dice: Dice, spread: Spread
) -> Conditions:
    """Return air, road and surface as they really are, one scenario.

    Each hour has the newest forecast that is out by then, with an error of 2 °C and a memory
    of six hours, rain of another amount, earlier or later; ground, film and frost follow from
    that weather by the same equations as in a call. The height adds the error of the lapse
    rate, the road one of its own.
    """
    rows = _truth_rows(weather, moments, dice, spread)
    seen = forecast_conditions(
        Weather(rows=rows), moments, (), now_utc=AFTER_ALL, n_scenarios=1
    )
    places = _places(Weather(rows=rows), moments)
    lapse_c = -spread.widen * LAPSE_SD_K_KM * dice.normal("lapse") * places.rise_km
    own_c = _road_error_c(places, moments, dice, spread)
    air = seen.air_mean_c + lapse_c
    road = seen.road_mean_c + AIR_TO_ROAD * lapse_c + own_c
    return replace(
        seen,
        air_c=air[None, :],
        road_c=road[None, :],
        air_mean_c=air,
        road_mean_c=road,
        air_sd_c=np.zeros_like(air),
        road_sd_c=np.zeros_like(road),
    )


def _truth_rows(
    weather: Weather, moments: Sequence[Moment], dice: Dice, spread: Spread
) -> tuple[WeatherRow, ...]:
    """Return the true weather of the forecast's site on a fine grid."""
    valid = _valid_rows(weather)
    known = bool(valid)
    rows = _fine(valid) if known else _nothing_known(moments)
    at_h = np.array([row.time_utc.timestamp() / 3600.0 for row in rows])
    sd_c = spread.widen * (FORECAST_SD_C if known else NO_FORECAST_SD_C)
    error = sd_c * _memory(dice, "air", at_h, FORECAST_MEMORY_H) + spread.bias_air_c
    rain = _rain_mm_h(valid, at_h, dice, spread) if known else np.zeros(len(rows))
    return tuple(
        row.model_copy(
            update={"air_c": row.air_c + float(error[i]), "rain_mm_h": float(rain[i])}
        )
        for i, row in enumerate(rows)
    )


def _valid_rows(weather: Weather) -> list[WeatherRow]:
    """Return for each hour of the leading site the newest forecast out by that hour."""
    out = [r for r in weather.rows if r.source == "forecast" and r.issued_utc is not None]
    if not out:
        return []
    hours = Counter(site for site, _ in {(row.site, row.time_utc) for row in out})
    leading = min(hours, key=lambda site: (-hours[site], site))
    best: dict[datetime, WeatherRow] = {}
    for row in (r for r in out if r.site == leading):
        held = best.get(row.time_utc)
        if held is None or _rank(row) > _rank(held):
            best[row.time_utc] = row
    return [best[at] for at in sorted(best)]


def _rank(row: WeatherRow) -> tuple[bool, float, int]:
    """Return what makes a forecast of an hour the better one: out by then, then new."""
    assert row.issued_utc is not None  # others were left out before
    out = row.issued_utc <= row.time_utc
    issued = row.issued_utc.timestamp()
    return out, issued if out else -issued, row.row


def _nothing_known(moments: Sequence[Moment]) -> list[WeatherRow]:
    """Return hours as a call takes them where nobody gave a forecast."""
    first, last = min(m.at_utc for m in moments), max(m.at_utc for m in moments)
    count = int((last - first) / HOUR) + 2
    return [
        WeatherRow(
            row=n,
            time_utc=first + n * HOUR,
            site="",
            alt_m=moments[0].altitude_m,
            source="forecast",
            issued_utc=first,
            air_c=ASSUMED_AIR_C,
        )
        for n in range(count)
    ]


def _fine(rows: Sequence[WeatherRow]) -> list[WeatherRow]:
    """Return rows on the grid: straight lines where the forecast counts as joined up."""
    found: list[WeatherRow] = []
    for one, two in zip(rows, [*rows[1:], None], strict=True):
        found.append(one)
        if two is None or two.time_utc - one.time_utc > STRAIGHT_LINE_H * HOUR:
            continue
        steps = max(round((two.time_utc - one.time_utc) / timedelta(minutes=STEP_MIN)), 1)
        for step in range(1, steps):
            share = step / steps
            found.append(
                one.model_copy(
                    update={
                        "time_utc": one.time_utc + share * (two.time_utc - one.time_utc),
                        "air_c": one.air_c + share * (two.air_c - one.air_c),
                        "cloud_pct": _between(one.cloud_pct, two.cloud_pct, share),
                        "wind_kmh": _between(one.wind_kmh, two.wind_kmh, share),
                        "humidity_pct": _between(one.humidity_pct, two.humidity_pct, share),
                    }
                )
            )
    issued = rows[0].time_utc - HOUR
    return [
        row.model_copy(update={"row": n, "issued_utc": issued}) for n, row in enumerate(found)
    ]


def _between(one: float | None, two: float | None, share: float) -> float | None:
    if one is None or two is None:
        return one if two is None else two
    return one + share * (two - one)


def _rain_mm_h(rows: Sequence[WeatherRow], at_h: Floats, dice: Dice, spread: Spread) -> Floats:
    """Return the rain that falls: another amount, onset and end than forecast."""
    shift = spread.widen * RAIN_SHIFT_H
    rain = rain_paths_mm_h(
        at_h,
        np.array([row.time_utc.timestamp() / 3600.0 for row in rows]),
        np.array([row.rain_mm_h or 0.0 for row in rows]),
        amount=np.exp(np.array([spread.widen * RAIN_LOG_SD * dice.normal("rain amount")])),
        onset_h=np.array([shift * (2.0 * dice.uniform("rain onset") - 1.0)]),
        end_h=np.array([shift * (2.0 * dice.uniform("rain end") - 1.0)]),
    )
    return np.asarray(np.minimum(rain[0], 200.0))


def _memory(dice: Dice, name: str, at_h: Floats, memory_h: float) -> Floats:
    """Return a standard normal error at rising times that forgets itself."""
    fresh = dice.stream(name).standard_normal(len(at_h))
    error = np.zeros(len(at_h))
    for i, new in enumerate(fresh):
        kept = np.exp(-(at_h[i] - at_h[i - 1]) / memory_h) if i else 0.0
        error[i] = kept * error[i - 1] + np.sqrt(1.0 - kept**2) * new
    return error


def _places(weather: Weather, moments: Sequence[Moment]) -> Places:
    """Return the moments with the true weather at each."""
    outlook = read_outlook(weather, AFTER_ALL, fallback_c=None, fallback_altitude_m=0.0)
    return find_places(
        find_site(outlook, moments),
        [m.at_utc.timestamp() for m in moments],
        [m.altitude_m for m in moments],
        [m.surface for m in moments],
        [m.shade for m in moments],
    )


def _road_error_c(
    places: Places, moments: Sequence[Moment], dice: Dice, spread: Spread
) -> Floats:
    """Return the road's own error: what its spread holds beside that of the air."""
    follows = AIR_TO_ROAD * FORECAST_SD_C * places.doubt
    own_sd = np.sqrt(np.maximum(places.road_sd_c() ** 2 - follows**2, 0.0))
    error = np.zeros(len(moments))
    for kind in sorted(set(places.surfaces)):
        here = np.flatnonzero([surface == kind for surface in places.surfaces])
        order = here[np.argsort(places.at_s[here], kind="stable")]
        error[order] = _memory(dice, f"road {kind}", places.hours[order], ROAD_MEMORY_H)
    return np.asarray(spread.widen * own_sd * error)
