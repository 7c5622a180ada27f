"""The stored road under a forecast."""

import numpy as np
import pytest

from crewdesk.conditions.forecast import Point
from crewdesk.conditions.ground import GRID_S, GroundTable, ground_table
from crewdesk.conditions.ground_heat import GroundColumns, periodic_surface_c
from crewdesk.conditions.road import GROUNDS, surface_fluxes
from crewdesk.conditions.sun import sun_position_deg

DAY = 20_600
"""28 May 2026."""


def points(days: int = 1, cloud: float = 0.2) -> tuple[Point, ...]:
    return tuple(
        (
            (DAY + d) * 86400.0 + h * 3600.0,
            12.0 + 6.0 * np.sin(2.0 * np.pi * (h - 9.0) / 24.0),
            cloud,
            0.0,
            2.0,
            6.0,
        )
        for d in range(days)
        for h in range(24)
    )


def table(days: int = 1, cloud: float = 0.2) -> GroundTable:
    return ground_table(points(days, cloud), 48.0, 0.0, DAY, days)


def test_one_day_is_the_repeated_day() -> None:
    got = table()
    times = got.times_s()
    air = np.interp(times, [p[0] for p in points()], [p[1] for p in points()])
    fluxes = surface_fluxes(
        elevation_deg=sun_position_deg(times, 48.0, 0.0)[0][:, None],
        air_c=air[:, None],
        dew_c=6.0,
        wind_m_s=2.0,
        cloud_share=0.2,
    )
    surface, _ = periodic_surface_c(
        GroundColumns(fluxes, [GROUNDS["gravel_dry"]], GRID_S), np.array([12.0])
    )
    # Before three in the morning the road still remembers how the evening's last hour was
    # filled in, where this forecast has no points.
    inside = (times >= points()[3][0]) & (times <= points()[-1][0])
    got_c = got.surface_c["gravel", "dry"][:, 0]
    assert np.max(np.abs(got_c - surface[:, 0])[inside]) < 0.1


def test_days_run_on_without_a_jump() -> None:
    got = table(3)
    for surface in got.surface_c.values():
        steps = np.abs(np.diff(surface, axis=0))
        midnight = steps[[143, 287]]
        assert np.max(midnight) < 0.5
        # Three equal days are one day three times.
        assert np.max(np.abs(surface[144:288] - surface[288:432])[:132]) < 0.3


def test_wet_is_cooler_and_shade_is_cooler_at_noon() -> None:
    got = table()
    noon = got.index(DAY * 86400.0 + 13 * 3600.0)
    for kind in ("gravel", "asphalt"):
        dry, damp, wet = (got.surface_c[kind, w][noon] for w in ("dry", "damp", "wet"))
        assert np.all(dry > damp)
        assert np.all(damp >= wet)
        assert dry[0] > dry[1]
        assert got.evaporation_mm_h[kind][noon, 0] > got.evaporation_mm_h[kind][noon, 1] > 0.0


def test_cloud_cools_the_noon_road() -> None:
    noon = table().index(DAY * 86400.0 + 13 * 3600.0)
    clear, grey = table(cloud=0.0), table(cloud=1.0)
    assert (
        clear.surface_c["gravel", "dry"][noon, 0] > grey.surface_c["gravel", "dry"][noon, 0] + 8
    )


def test_stored_for_the_same_forecast_and_read_only() -> None:
    assert table() is table()
    with pytest.raises(ValueError, match="read-only"):
        table().surface_c["gravel", "dry"][0, 0] = 1.0


def test_series_between_grid_times() -> None:
    got = table()
    series = np.arange(got.n_times, dtype=np.float64)
    at = got.start_s + np.array([0.0, 0.5 * GRID_S, 2.25 * GRID_S, 1e9])
    assert got.at(series, at) == pytest.approx([0.0, 0.5, 2.25, got.n_times - 1.0])


def test_no_day_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one"):
        ground_table(points(), 48.0, 0.0, DAY, 0)
