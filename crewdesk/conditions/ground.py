"""The road under the forecast: open and shaded, dry and wet, once for each forecast."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from crewdesk.conditions.film import evaporation_mm_h
from crewdesk.conditions.forecast import Point, fields_at
from crewdesk.conditions.ground_heat import GroundColumns
from crewdesk.conditions.road import (
    FOREST_SKY,
    GRAVEL_WET,
    GROUNDS,
    OPEN_SKY,
    Fluxes,
    Ground,
    surface_fluxes,
)
from crewdesk.conditions.sun import sun_position_deg

GRID_S: Final = 600.0
DAY_S: Final = 86400.0
_STEPS: Final = int(DAY_S / GRID_S)

_COLUMNS: Final[tuple[tuple[str, str, Ground], ...]] = (
    ("asphalt", "dry", GROUNDS["asphalt_dry"]),
    ("asphalt", "damp", GROUNDS["asphalt_wet"]),
    ("asphalt", "wet", GROUNDS["asphalt_wet"]),
    ("gravel", "dry", GROUNDS["gravel_dry"]),
    ("gravel", "damp", GROUNDS["gravel_damp"]),
    ("gravel", "wet", GRAVEL_WET),
)
_EXPOSURES: Final = ((0.0, OPEN_SKY), (1.0, FOREST_SKY))
"""Share of the sunbeam that is blocked and share of the sky that is seen."""

Values = NDArray[np.float64]


@dataclass(frozen=True)
class GroundTable:
    """The forecast's site on a grid of ten minutes; all arrays are read-only."""

    start_s: float
    surface_c: Mapping[tuple[str, str], Values]
    """By surface kind and wetness (dry, damp, wet), shape (n_times, 2): open and shaded."""
    evaporation_mm_h: Mapping[str, Values]
    """From a wet road of that kind, shape (n_times, 2): open and shaded."""

    @property
    def n_times(self) -> int:
        """Return the number of grid times."""
        return len(self.evaporation_mm_h["gravel"])

    def index(self, at_s: float) -> int:
        """Return the last grid time not after an instant, kept inside the grid."""
        return int(min(max((at_s - self.start_s) // GRID_S, 0), self.n_times - 1))

    def times_s(self) -> Values:
        """Return the instants of the grid."""
        return np.asarray(self.start_s + GRID_S * np.arange(self.n_times, dtype=np.float64))

    def surface_mix_c(self, kind: str, wetness: str, shade: float) -> Values:
        """Return open and shaded parts by their shares, shape (n_times,)."""
        both = self.surface_c[kind, wetness]
        return np.asarray((1.0 - shade) * both[:, 0] + shade * both[:, 1])

    def at(self, series: Values, at_s: Values) -> Values:
        """Return a series of the grid between its times, along the first axis."""
        place = np.clip((at_s - self.start_s) / GRID_S, 0.0, self.n_times - 1.0)
        low = np.minimum(place.astype(np.int64), self.n_times - 2)
        share = (place - low).reshape(-1, *([1] * (series.ndim - 1)))
        return np.asarray(series[low] * (1.0 - share) + series[low + 1] * share)


@lru_cache(maxsize=16)
def ground_table(
    points: tuple[Point, ...], lat_deg: float, lon_deg: float, first_day: int, n_days: int
) -> GroundTable:
    """Return the road's temperatures for whole days by local solar time.

    Parameters
    ----------
    points : tuple of Point
        The forecast.
    lat_deg, lon_deg : float
        Place [deg].
    first_day : int
        Number of the first day, days since 1970-01-01 by local mean solar time.
    n_days : int
        How many.

    Returns
    -------
    GroundTable
        Columns that are always dry, always damp and always wet; which of them a road is near
        depends on its film of water.

    Raises
    ------
    ValueError
        If no day is asked for.

    Notes
    -----
    Every day is first repeated until it closes on itself, which gives its mean surface
    temperature; then the days run through without a break, with that mean joined from noon to
    noon.
    """
    if n_days < 1:
        raise ValueError(f"{n_days} days: at least one is needed")
    # Whole steps, so that the forecast's hours lie on the grid.
    start_s = GRID_S * round((first_day * DAY_S - lon_deg * 240.0) / GRID_S)
    times = np.asarray(start_s + GRID_S * np.arange(n_days * _STEPS, dtype=np.float64))
    weather = fields_at(points, times, lat_deg, lon_deg)
    elevation, _ = sun_position_deg(times, lat_deg, lon_deg)
    exposures = [
        surface_fluxes(
            elevation_deg=elevation,
            air_c=weather.air_c,
            dew_c=weather.dew_c,
            wind_m_s=weather.wind_m_s,
            cloud_share=weather.cloud_share,
            shade_share=shade,
            sky_share=sky,
        )
        for shade, sky in _EXPOSURES
    ]
    grounds = [ground for _, _, ground in _COLUMNS for _ in _EXPOSURES]
    fluxes = Fluxes(
        *(
            np.stack([getattr(exposures[i % 2], name) for i in range(len(grounds))], axis=1)
            for name in Fluxes.__dataclass_fields__
        )
    )
    surface = _through_the_days(fluxes, grounds, n_days)
    for array in (
        surface,
        elevation,
        *(getattr(weather, n) for n in weather.__dataclass_fields__),
    ):
        array.setflags(write=False)
    by_column = {
        (kind, wetness): surface[:, 2 * i : 2 * i + 2]
        for i, (kind, wetness, _) in enumerate(_COLUMNS)
    }
    evaporation = {}
    for kind in ("asphalt", "gravel"):
        lost = np.stack(
            [
                evaporation_mm_h(by_column[kind, "wet"][:, e], exposures[e])
                for e in range(len(_EXPOSURES))
            ],
            axis=1,
        )
        lost.setflags(write=False)
        evaporation[kind] = lost
    return GroundTable(start_s, by_column, evaporation)


def _through_the_days(fluxes: Fluxes, grounds: list[Ground], n_days: int) -> Values:
    """Return surfaces of shape (n_times, n_columns)."""
    n_columns = len(grounds)

    def side_by_side(array: Values) -> Values:
        # (day, step, column) -> (step, day x column): all days are repeated at once.
        shaped = array.reshape(n_days, _STEPS, n_columns).transpose(1, 0, 2)
        return np.ascontiguousarray(shaped.reshape(_STEPS, n_days * n_columns))

    days = GroundColumns(
        Fluxes(*(side_by_side(getattr(fluxes, n)) for n in Fluxes.__dataclass_fields__)),
        grounds * n_days,
        GRID_S,
    )
    mean_c = side_by_side(fluxes.air_c).mean(axis=0) + 3.0
    state = mean_c.copy()
    _, state = days.day(state, mean_c)
    for _ in range(12):
        surface, state = days.day(state, mean_c)
        moved = surface.mean(axis=0) - mean_c
        if float(np.max(np.abs(moved))) < 0.02:
            break
        # The day's mean follows the ground's by about a third, so a half more lands on it.
        mean_c = mean_c + 1.35 * moved
    daily_c = mean_c.reshape(n_days, n_columns)
    if n_days == 1:
        return surface
    run = GroundColumns(fluxes, grounds, GRID_S)
    noons = (np.arange(n_days) + 0.5) * _STEPS
    steps = np.arange(n_days * _STEPS)
    ground_c = np.stack(
        [np.interp(steps, noons, daily_c[:, column]) for column in range(n_columns)], axis=1
    )
    now = state.reshape(n_days, n_columns)[0]
    through = np.empty((n_days * _STEPS, n_columns))
    for index in range(n_days * _STEPS):
        now = run.step(index, now, ground_c[index])
        through[index] = now
    return through
