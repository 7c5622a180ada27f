"""``weather.csv`` to rows with instants."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, get_args
from zoneinfo import ZoneInfo

from crewdesk.documents.cells import CellReader
from crewdesk.documents.event import EventFile, Site
from crewdesk.documents.faults import Findings, quoted
from crewdesk.documents.plain_words import validated
from crewdesk.documents.tables import Table, TableRow, read_table
from crewdesk.documents.times import read_clock, shifted_wall, to_utc, wall_kind
from crewdesk.documents.weather import SurfaceState, Weather, WeatherRow

WEATHER_FILE = "weather.csv"
COLUMNS = (
    "time", "site", "alt_m", "source", "issued", "air_c", "cloud_pct", "rain_mm_h", "wind_kmh",
    "humidity_pct", "road_c", "surface_state",
)  # fmt: skip
NEEDED = ("time", "site", "source", "issued", "air_c")
STATES: tuple[str, ...] = get_args(SurfaceState)

_Series = tuple[str, str, str]


@dataclass
class _Walk:
    """The last instant of each series, so that a doubled hour is read in order."""

    last: dict[_Series, datetime]


def read_weather(
    text: str, zone: ZoneInfo, event: EventFile, found: Findings
) -> tuple[Weather, Table] | None:
    """Return the weather, or None where nothing can be read."""
    table = read_table(WEATHER_FILE, text, COLUMNS, NEEDED, found)
    if table is None:
        return None
    sites = {site.name: site for site in event.sites}
    walk = _Walk({})
    rows: list[WeatherRow] = []
    seen: dict[tuple[object, ...], int] = {}
    for line in table.rows:
        row = _read_row(line, zone, sites, walk, found)
        if row is None:
            continue
        key = (row.time_utc, row.site, row.source, row.issued_utc)
        before = seen.setdefault(key, row.row)
        if before != row.row:
            found.fault(
                WEATHER_FILE,
                f"{row.site} has two rows of {row.source} weather for "
                f"{row.time_utc.astimezone(zone):%Y-%m-%d %H:%M}, rows {before} and {row.row}.",
                "Keep one of them.",
                where=line.where,
                column="time",
            )
        rows.append(row)
    return Weather(rows=tuple(rows), comments=table.comments), table


def _read_row(
    line: TableRow,
    zone: ZoneInfo,
    sites: Mapping[str, Site],
    walk: _Walk,
    found: Findings,
) -> WeatherRow | None:
    cell = CellReader(WEATHER_FILE, line, found)
    site = cell.needed("site", "Write the name of the place, as in event.json.")
    cell.needed("source", "Allowed: observed, forecast.")
    cell.needed("air_c", "Write the air temperature in °C, or take the row out.")
    source = cell.word("source", ("observed", "forecast"))
    if site and sites and site not in sites:
        cell.fault(
            "site",
            f"{quoted(site)} is no site of event.json.",
            f"Known: {', '.join(sites)}.",
        )
    issued = _instant(cell, "issued", zone, None)
    if source == "forecast" and not cell.text("issued"):
        cell.needed("issued", "A forecast needs its time of issue, as 2026-05-16 05:00.")
    if not cell.text("time"):
        cell.needed("time", "Write the full hour, as 2026-05-16 08:00.")
    series = (site, source, cell.text("issued"))
    when = _instant(cell, "time", zone, walk.last.get(series))
    if when is not None and (when.minute or when.second) and not cell.failed:
        cell.fault("time", f"{cell.text('time')} is no full hour.", "Rows stand on full hours.")
    values: dict[str, Any] = {
        "row": line.line,
        "time_utc": when,
        "site": site,
        "alt_m": cell.number(
            "alt_m", -500, 6000, "m", default=sites[site].alt_m if site in sites else 0.0
        ),
        "source": source,
        "issued_utc": issued,
        "air_c": cell.number("air_c", -50, 55, "°C"),
        "cloud_pct": cell.number("cloud_pct", 0, 100, "%"),
        "rain_mm_h": cell.number("rain_mm_h", 0, 200, "mm/h"),
        "wind_kmh": cell.number("wind_kmh", 0, 250, "km/h"),
        "humidity_pct": cell.number("humidity_pct", 0, 100, "%"),
        "road_c": cell.number("road_c", -50, 85, "°C"),
        "surface_state": cell.word("surface_state", STATES) or None,
    }
    if when is not None:
        walk.last[series] = when
    if site in sites and cell.text("alt_m") and values["alt_m"] != sites[site].alt_m:
        found.note(
            f"{WEATHER_FILE}: {site} at {values['alt_m']:g} m, event.json has "
            f"{sites[site].alt_m:g} m."
        )
    if cell.failed or when is None:
        return None
    return validated(WeatherRow, WEATHER_FILE, values, found, where=line.where)


def _instant(
    cell: CellReader, column: str, zone: ZoneInfo, last: datetime | None
) -> datetime | None:
    text = cell.text(column)
    if not text:
        return None
    clock = read_clock(text)
    if clock is None or clock.day is None or not 1990 <= clock.day.year <= 2200:
        cell.fault(
            column, f"{quoted(text)} is no date with time.", "Write it as 2026-05-16 08:00."
        )
        return None
    wall = datetime.combine(clock.day, clock.at)
    kind = wall_kind(wall, zone)
    if kind == "skipped":
        cell.fault(
            column,
            f"{text} does not exist in {zone.key}: the clocks are put forward over it.",
            f"The clocks then show {shifted_wall(wall, zone):%Y-%m-%d %H:%M}.",
        )
        return None
    first = to_utc(wall, zone)
    # In a series by the hour the second coming of a doubled hour follows the first.
    if kind == "ambiguous" and last is not None and last >= first:
        return to_utc(wall, zone, fold=1)
    return first
