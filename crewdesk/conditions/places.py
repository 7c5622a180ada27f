"""Where and when the weather is wanted, with what the forecast says there."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from crewdesk.conditions.air import LAPSE_DAY_K_KM, LAPSE_NIGHT_K_KM, at_altitude_c
from crewdesk.conditions.forecast import Fields, Outlook, fields_at, solar_day
from crewdesk.conditions.ground import GroundTable, ground_table
from crewdesk.conditions.moments import LiveReport, Moment
from crewdesk.conditions.sun import hour_angle_deg, sun_position_deg

ROAD_SD_SUNNY_C: Final = 4.0
ROAD_SD_OVERCAST_C: Final = 3.0
ROAD_SD_NIGHT_C: Final = 2.0
"""All three: common practice, no source."""

Values = NDArray[np.float64]


@dataclass(frozen=True)
class Site:
    """The forecast, the road under it, and where both are."""

    outlook: Outlook
    table: GroundTable
    lat_deg: float
    lon_deg: float


@dataclass(frozen=True)
class Places:
    """Moments or reported roads; all arrays of shape (n,)."""

    at_s: Values
    altitude_m: Values
    surfaces: tuple[str, ...]
    """gravel or asphalt."""
    shade: Values
    site: Fields
    """The forecast at its own site at those times."""
    elevation_deg: Values
    morning: NDArray[np.bool_]
    """Before solar noon."""
    doubt: Values
    """1 where a forecast reaches, 2 where none does."""
    air_c: Values
    """The forecast moved to each place's altitude."""
    rise_km: Values
    """Altitude above the forecast's site."""

    @property
    def hours(self) -> Values:
        """Return the times in hours."""
        return self.at_s / 3600.0

    def road_sd_c(self) -> Values:
        """Return the error of the balance: 4 sunny, 3 overcast, 2 at night, joined between."""
        day = np.clip(self.elevation_deg / 10.0, 0.0, 1.0)
        by_day = (
            ROAD_SD_SUNNY_C + (ROAD_SD_OVERCAST_C - ROAD_SD_SUNNY_C) * self.site.cloud_share
        )
        return np.asarray(self.doubt * (ROAD_SD_NIGHT_C + (by_day - ROAD_SD_NIGHT_C) * day))

    def surface_c(self, table: GroundTable, wetness: str) -> Values:
        """Return the surface at the forecast's site, open and shaded parts by their shares."""
        result = np.empty(len(self.at_s))
        for kind in set(self.surfaces):
            here = np.array([s == kind for s in self.surfaces])
            both = table.at(table.surface_c[kind, wetness], self.at_s[here])
            shade = self.shade[here]
            result[here] = (1.0 - shade) * both[:, 0] + shade * both[:, 1]
        return result


def ground_kind(surface: str) -> str:
    """Return the kind of ground of a surface word; what is not asphalt counts as gravel."""
    return "asphalt" if surface == "asphalt" else "gravel"


def is_about(report: LiveReport, moment: Moment, moments: Sequence[Moment]) -> bool:
    """Return whether a report says something about the road of a moment.

    One about no stage in particular counts for every road of its kind; one about a stage for
    that stage and for what else runs over the same road; one about a part of it for that part
    alone.
    """
    if not report.stage and not report.road:
        return ground_kind(report.surface) == ground_kind(moment.surface)
    if report.part and report.part != moment.part:
        return False
    if report.stage == moment.key.removesuffix(f" {moment.part}" if moment.part else ""):
        return True
    roads = {m.road for m in moments if m.key == report.stage} | {report.road}
    return bool(moment.road) and moment.road in roads


def find_site(outlook: Outlook, moments: Sequence[Moment]) -> Site:
    """Return the road under the forecast for the days of the moments."""
    # A tenth of a degree is far below what matters to the sun, and keeps the stored table in
    # use while the list of moments gets shorter through the day.
    lat = round(float(np.mean([m.lat_deg for m in moments])), 1)
    lon = round(float(np.mean([m.lon_deg for m in moments])), 1)
    times = [m.at_utc.timestamp() for m in moments] + [outlook.points[0][0]]
    days = solar_day(np.array(times), lon)
    first = int(days.min())
    n_days = int(days.max()) - first + 1
    return Site(outlook, ground_table(outlook.points, lat, lon, first, n_days), lat, lon)


def find_places(
    site: Site,
    at_s: Sequence[float],
    altitude_m: Sequence[float],
    surfaces: Sequence[str],
    shade: Sequence[float],
) -> Places:
    """Return places with the forecast at each."""
    time = np.array(at_s, dtype=np.float64)
    altitude = np.array(altitude_m, dtype=np.float64)
    outlook = site.outlook
    fields = fields_at(outlook.points, time, site.lat_deg, site.lon_deg)
    elevation, _ = sun_position_deg(time, site.lat_deg, site.lon_deg)
    # By day 6.5, by night 4.0 K/km, joined through civil twilight.
    daytime = np.clip((elevation + 6.0) / 6.0, 0.0, 1.0)
    lapse = LAPSE_NIGHT_K_KM + (LAPSE_DAY_K_KM - LAPSE_NIGHT_K_KM) * daytime
    inside = (time >= outlook.points[0][0]) & (time <= outlook.points[-1][0])
    doubt = np.where(fields.covered & inside, 1.0, 2.0)
    return Places(
        time,
        altitude,
        tuple(ground_kind(s) for s in surfaces),
        np.clip(np.array(shade, dtype=np.float64), 0.0, 1.0),
        fields,
        elevation,
        hour_angle_deg(time, site.lon_deg) < 0.0,
        doubt,
        at_altitude_c(fields.air_c, outlook.altitude_m, altitude, lapse),
        (altitude - outlook.altitude_m) / 1000.0,
    )


def reported_shades(reports: Sequence[LiveReport], moments: Sequence[Moment]) -> list[float]:
    """Return the shade of each reported road; off the stages it is read in the open."""
    shades = []
    for report in reports:
        named = bool(report.stage or report.road)
        same = [m.shade for m in moments if named and is_about(report, m, moments)]
        shades.append(same[0] if same else 0.0)
    return shades
