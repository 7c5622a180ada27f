"""The forecast as the crew could know it: the newest issue of each hour, joined up."""

from collections import Counter
from dataclasses import dataclass
from datetime import datetime
from typing import Final

import numpy as np
from numpy.typing import NDArray

from crewdesk.conditions.air import LAG_MIN_H, daily_curve_c, residual_curve_c
from crewdesk.conditions.road import WIND_10M_TO_ROAD, dew_point_c
from crewdesk.conditions.sun import daylight
from crewdesk.documents.weather import Weather, WeatherRow

STRAIGHT_LINE_H: Final = 3.0
"""Points no further apart are joined by straight lines, and count as covered between."""
ASSUMED_CLOUD_SHARE: Final = 0.5
ASSUMED_WIND_KMH: Final = 8.0
ASSUMED_HUMIDITY_SHARE: Final = 0.7
ASSUMED_AIR_C: Final = 15.0
"""All four: tuning values of this project, used and named where nobody gave any."""

_DAY_S: Final = 86400.0

Values = NDArray[np.float64]
Point = tuple[float, float, float, float, float, float]
"""Instant [s], air [°C], cloud share, rain [mm/h], wind at 2 m [m/s], dew point [°C]."""


@dataclass(frozen=True)
class Outlook:
    """Forecast points of one site in rising order of time."""

    points: tuple[Point, ...]
    altitude_m: float
    assumed: tuple[str, ...]
    known: bool
    """False where there is no forecast at all and the points are made up."""


@dataclass(frozen=True)
class Fields:
    """Weather of the forecast's site at wanted times, arrays of one shape."""

    air_c: Values
    cloud_share: Values
    wind_m_s: Values
    dew_c: Values
    covered: NDArray[np.bool_]
    """False where no forecast reaches: the error counts double there."""


def _newest_rows(weather: Weather, now_utc: datetime) -> list[WeatherRow]:
    """Return for each hour of the leading site the row of the newest issue that is out."""
    out = [
        row
        for row in weather.rows
        if row.source == "forecast" and row.issued_utc is not None and row.issued_utc <= now_utc
    ]
    if not out:
        return []
    hours = Counter(site for site, _ in {(row.site, row.time_utc) for row in out})
    # The site with most hours leads; the name settles a tie whatever the order of the rows.
    leading = min(hours, key=lambda site: (-hours[site], site))
    newest: dict[datetime, WeatherRow] = {}
    for row in out:
        if row.site != leading:
            continue
        held = newest.get(row.time_utc)
        if held is None or _issue_rank(row) > _issue_rank(held):
            newest[row.time_utc] = row
    return [newest[time] for time in sorted(newest)]


def _issue_rank(row: WeatherRow) -> tuple[float, float]:
    issued = row.issued_utc.timestamp() if row.issued_utc is not None else 0.0
    # Two rows of one issue and hour contradict each other; the later line corrects the earlier.
    return issued, float(row.row)


def read_outlook(
    weather: Weather,
    now_utc: datetime,
    *,
    fallback_c: float | None,
    fallback_altitude_m: float,
) -> Outlook:
    """Return the forecast that is visible at a moment.

    Parameters
    ----------
    weather : Weather
        The table; observed rows and later issues are not looked at.
    now_utc : datetime
        The moment of the decision.
    fallback_c : float or None
        Air somebody reported, taken where there is no forecast at all.
    fallback_altitude_m : float
        Altitude of that report, or of the places asked about [m].

    Returns
    -------
    Outlook
        Points, and in plain words what nobody gave.
    """
    rows = _newest_rows(weather, now_utc)
    if not rows:
        air_c = ASSUMED_AIR_C if fallback_c is None else fallback_c
        words = (
            f"no forecast: air {air_c:.1f} °C all day, as reported"
            if fallback_c is not None
            else f"no forecast and no report: air {air_c:.0f} °C all day"
        )
        dew = float(dew_point_c(air_c, ASSUMED_HUMIDITY_SHARE))
        wind = ASSUMED_WIND_KMH / 3.6 * WIND_10M_TO_ROAD
        point = (now_utc.timestamp(), air_c, ASSUMED_CLOUD_SHARE, 0.0, wind, dew)
        return Outlook(
            (point,),
            fallback_altitude_m,
            (words, *_sky_words(cloud=True, wind=True)),
            known=False,
        )
    lowest_c = min(row.air_c for row in rows)
    points: list[Point] = []
    for row in rows:
        cloud = ASSUMED_CLOUD_SHARE if row.cloud_pct is None else row.cloud_pct / 100.0
        wind_kmh = ASSUMED_WIND_KMH if row.wind_kmh is None else row.wind_kmh
        dew = (
            # Air that cooled all night has usually reached its dew point by the morning.
            min(lowest_c, row.air_c)
            if row.humidity_pct is None
            else float(dew_point_c(row.air_c, row.humidity_pct / 100.0))
        )
        points.append(
            (
                row.time_utc.timestamp(),
                row.air_c,
                cloud,
                row.rain_mm_h or 0.0,
                wind_kmh / 3.6 * WIND_10M_TO_ROAD,
                dew,
            )
        )
    words_list = list(
        _sky_words(
            cloud=any(row.cloud_pct is None for row in rows),
            wind=any(row.wind_kmh is None for row in rows),
        )
    )
    if any(row.humidity_pct is None for row in rows):
        words_list.append("humidity: as if the air were saturated at the coldest hour")
    if any(row.rain_mm_h is None for row in rows):
        words_list.append("rain: none where the forecast does not say")
    return Outlook(tuple(points), rows[0].alt_m, tuple(words_list), known=True)


def _sky_words(*, cloud: bool, wind: bool) -> tuple[str, ...]:
    words = []
    if cloud:
        words.append(
            f"cloud: {ASSUMED_CLOUD_SHARE * 100:.0f} % where the forecast does not say"
        )
    if wind:
        words.append(f"wind: {ASSUMED_WIND_KMH:.0f} km/h where the forecast does not say")
    return tuple(words)


def solar_day(unix_s: Values | float, lon_deg: float) -> NDArray[np.int64]:
    """Return the number of the day by local mean solar time."""
    return np.floor((np.asarray(unix_s) + lon_deg * 240.0) / _DAY_S).astype(np.int64)


def fields_at(
    points: tuple[Point, ...], at_s: Values, lat_deg: float, lon_deg: float
) -> Fields:
    """Return the weather of the forecast's site between and beyond its points.

    Parameters
    ----------
    points : tuple of Point
        In rising order of time, at least one.
    at_s : ndarray, shape (n,)
        Wanted instants, seconds since 1970-01-01 UTC.
    lat_deg, lon_deg : float
        Place, for the daily curve [deg].

    Returns
    -------
    Fields
        Straight lines between points up to three hours apart; the daily curve through the
        points elsewhere on days that have some; on other days the same hour of the last day
        that has some.
    """
    table = np.array(points, dtype=np.float64)
    time, air = table[:, 0], table[:, 1]
    point_day = solar_day(time, lon_deg)
    day = solar_day(at_s, lon_deg)
    days = np.unique(point_day)
    # A day without points borrows the last day before it that has some, else the first after.
    lender = days[np.clip(np.searchsorted(days, day, side="right") - 1, 0, len(days) - 1)]
    source_s = at_s - (day - lender) * _DAY_S

    after = np.searchsorted(time, source_s, side="left")
    left = time[np.clip(after - 1, 0, len(time) - 1)]
    right = time[np.clip(after, 0, len(time) - 1)]
    on_point = right == source_s
    between = (after > 0) & (after < len(time)) & (right - left <= STRAIGHT_LINE_H * 3600.0)
    near = on_point | between
    covered = near & (lender == day)

    straight = np.interp(source_s, time, air)
    bent = straight
    if not bool(np.all(near)):
        bent = residual_curve_c(
            source_s,
            time,
            air,
            _daily_shape_c(source_s, time, air, point_day, lat_deg, lon_deg),
            _daily_shape_c(time, time, air, point_day, lat_deg, lon_deg),
        )
    air_at = np.where(near, straight, bent)
    dew = np.interp(source_s, time, table[:, 5])
    return Fields(
        air_at,
        np.interp(source_s, time, table[:, 2]),
        np.interp(source_s, time, table[:, 4]),
        np.minimum(dew, air_at),
        covered,
    )


def _daily_shape_c(
    at_s: Values,
    time: Values,
    air: Values,
    point_day: NDArray[np.int64],
    lat_deg: float,
    lon_deg: float,
) -> Values:
    """Return the daily curve of every day through the extremes of its own points."""
    day = solar_day(at_s, lon_deg)
    shape = np.interp(at_s, time, air)
    known = {int(number) for number in point_day}

    def start_s(number: int) -> float:
        return number * _DAY_S - lon_deg * 240.0

    def curve_c(number: int, when_s: Values) -> Values | None:
        light = daylight(start_s(number) + 0.5 * _DAY_S, lat_deg, lon_deg)
        if light is None:
            return None
        own = air[point_day == number]
        follow = air[point_day == number + 1]
        return daily_curve_c(
            (when_s - start_s(number)) / 3600.0,
            day_max_c=float(own.max()),
            day_min_c=float(own.min()),
            next_min_c=float(follow.min() if follow.size else own.min()),
            sunrise_h=(light.sunrise_s - start_s(number)) / 3600.0,
            sunset_h=(light.sunset_s - start_s(number)) / 3600.0,
        )

    for number in sorted({int(n) for n in day} & known):
        mask = day == number
        light = daylight(start_s(number) + 0.5 * _DAY_S, lat_deg, lon_deg)
        if light is None:
            continue
        own_c = curve_c(number, at_s[mask])
        if own_c is not None:
            shape[mask] = own_c
        # The hours before sunrise belong to the night of the day before, where that is known:
        # otherwise the curve would jump at midnight.
        early = mask & (at_s < light.sunrise_s + LAG_MIN_H * 3600.0)
        before_c = curve_c(number - 1, at_s[early]) if number - 1 in known else None
        if before_c is not None:
            shape[early] = before_c
    return shape
