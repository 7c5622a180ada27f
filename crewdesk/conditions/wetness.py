"""Water on every road through the day in every scenario, and what it does to the warmth."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from crewdesk.conditions.film import (
    DAMP_MM,
    DRAIN_PER_H,
    FREEZE_C,
    STANDING_MM,
    THAW_C,
    WET_MM,
)
from crewdesk.conditions.ground import GRID_S, GroundTable
from crewdesk.conditions.moments import LiveReport
from crewdesk.conditions.scenarios import (
    RAIN_LOG_SD,
    RAIN_SHIFT_H,
    evenly,
    paired_normals,
    rain_paths_mm_h,
)

SURFACE_LAG_H: Final = 1.0
"""Time in which a surface that gets wet or dries follows. From the slope of the balance."""
RAIN_REPORT_MEMORY_H: Final = 1.0
"""How long a report of rain outweighs the forecast. Tuning value of this project."""
MELT_K_H: Final = {"frozen": 1.0, "ice": 2.0, "snow": 6.0}
"""Degree hours above +0.25 °C that clear a reported state. Tuning values of this project."""

_FILM_RANGE_MM: Final = {
    "dry": (0.0, 0.0),
    "damp": (DAMP_MM, WET_MM),
    "wet": (WET_MM, STANDING_MM),
    "standing": (STANDING_MM, STANDING_MM),
    "muddy": (WET_MM, STANDING_MM),
    "frozen": (DAMP_MM, WET_MM),
    "ice": (WET_MM, STANDING_MM),
    "snow": (WET_MM, STANDING_MM),
}

Values = NDArray[np.float64]


@dataclass(frozen=True)
class Track:
    """A road with its own film of water: places that share all of this share the film."""

    surface: str
    shade: float
    reports: tuple[LiveReport, ...]
    """Reports of the state that count here, in order of time."""
    warmer_c: float = 0.0
    """Surface here minus the same surface at the forecast's site, for freezing only."""


@dataclass(frozen=True)
class Wetness:
    """Film and its effect at the wanted instants, shape (n_scenarios + 1, n_wanted).

    The last row is the best estimate.
    """

    film_mm: Values
    cooler_c: Values
    """Surface minus the dry surface at the same place and time [°C]."""
    rain_mm_h: Values


def rain_scenarios(
    table: GroundTable,
    points_s: Values,
    points_mm_h: Values,
    reports: Sequence[LiveReport],
    *,
    n_scenarios: int,
    seed: int,
) -> Values:
    """Return rain on the grid, shape (n_scenarios + 1, n_times); the last row is unshifted.

    Parameters
    ----------
    table : GroundTable
        Gives the grid.
    points_s, points_mm_h : ndarray
        Rain of the forecast.
    reports : sequence of LiveReport
        Those with ``rain_mm_h`` correct the rain after them, fading in an hour.
    n_scenarios, seed : int
        As everywhere.

    Returns
    -------
    ndarray
        Rain [mm/h]: amounts times a lognormal factor (median 1, sd of the log 0.7), onset and
        end each shifted by up to 1.5 h, evenly spread, the same for all spells of a scenario.
    """
    draws = np.vstack(
        [
            paired_normals(seed, ("rain amount", "rain onset", "rain end"), n_scenarios),
            np.zeros((1, 3)),
        ]
    )
    shift_h = RAIN_SHIFT_H * evenly(draws[:, 1:])
    origin_s = table.start_s
    grid_h = (table.times_s() - origin_s) / 3600.0
    rain = rain_paths_mm_h(
        grid_h,
        (points_s - origin_s) / 3600.0,
        points_mm_h,
        amount=np.exp(RAIN_LOG_SD * draws[:, 0]),
        onset_h=shift_h[:, 0],
        end_h=shift_h[:, 1],
    )
    for report in sorted(reports, key=lambda r: r.at_utc):
        if report.rain_mm_h is None:
            continue
        first = table.index(report.at_utc.timestamp())
        since_h = grid_h[first:] - grid_h[first]
        wrong = report.rain_mm_h - rain[:, first]
        fade = np.exp(-since_h / RAIN_REPORT_MEMORY_H)
        rain[:, first:] = np.maximum(rain[:, first:] + wrong[:, None] * fade, 0.0)
    return rain


def reported_film_mm(report: LiveReport, normal: Values) -> Values:
    """Return films of water that fit a reported state.

    Parameters
    ----------
    report : LiveReport
        With a state.
    normal : ndarray
        Standard normal draws; 0 gives the middle of the state's range on a log scale.

    Returns
    -------
    ndarray
        Films [mm], spread evenly on a log scale over nine tenths of the range.
    """
    low, high = _FILM_RANGE_MM[report.state or "dry"]
    if low == high:
        return np.full(normal.shape, low)
    half = 0.45 * math.log(high / low)
    return np.asarray(math.sqrt(low * high) * np.exp(half * evenly(normal)))


def run_films(
    table: GroundTable,
    rain_mm_h: Values,
    tracks: Sequence[Track],
    wanted: Sequence[tuple[int, float]],
    *,
    first_s: float,
    seed: int,
) -> Wetness:
    """Return film and cooling at instants on tracks.

    Parameters
    ----------
    table : GroundTable
        Grid, evaporation and surfaces.
    rain_mm_h : ndarray, shape (n_scenarios + 1, n_times)
        From `rain_scenarios`.
    tracks : sequence of Track
        Roads with a film of their own.
    wanted : sequence of (int, float)
        Index of the track and instant [s].
    first_s : float
        First instant of the forecast: the roads are dry before.
    seed : int
        For the spread of a reported film within its state.

    Returns
    -------
    Wetness
        One column for each wanted instant.

    Notes
    -----
    The rules of `film.film_step_mm`, with evaporation of the open and the shaded part by
    their shares. The surface moves from the dry towards the damp or wet column (limits of
    the film) with a lag of one hour. Below -0.25 °C the film stays as it is.
    """
    n_rows, n_wanted = len(rain_mm_h), len(wanted)
    lost = np.stack(
        [
            (1.0 - t.shade) * table.evaporation_mm_h[t.surface][:, 0]
            + t.shade * table.evaporation_mm_h[t.surface][:, 1]
            for t in tracks
        ],
        axis=1,
    )
    dry, damp, wet = (
        np.stack([table.surface_mix_c(t.surface, wetness, t.shade) for t in tracks], axis=1)
        for wetness in ("dry", "damp", "wet")
    )
    damp, wet = damp - dry, wet - dry
    at_place = dry + np.array([t.warmer_c for t in tracks])
    may_freeze = np.any(at_place + np.minimum(damp, wet) < FREEZE_C, axis=1)

    events: dict[int, list[tuple[int, Values]]] = {}
    for column, track in enumerate(tracks):
        for report in track.reports:
            name = f"film {report.stage or report.surface} {report.at_utc.isoformat()}"
            normal = np.append(paired_normals(seed, (name,), max(n_rows - 1, 1))[:, 0], 0.0)
            index = table.index(report.at_utc.timestamp())
            events.setdefault(index, []).append((column, reported_film_mm(report, normal)))
    reads: dict[int, list[int]] = {}
    for place, (_, at_s) in enumerate(wanted):
        reads.setdefault(table.index(at_s), []).append(place)

    step_h = GRID_S / 3600.0
    run_off = math.exp(-DRAIN_PER_H * step_h)
    follow = -math.expm1(-step_h / SURFACE_LAG_H)
    film = np.zeros((n_rows, len(tracks)))
    cooler = np.zeros((n_rows, len(tracks)))
    films = np.zeros((n_rows, n_wanted))
    coolings = np.zeros((n_rows, n_wanted))
    rains = np.zeros((n_rows, n_wanted))
    start = min([table.index(first_s - 3.0 * 3600.0), *events, *reads])
    fallen = rain_mm_h.T[:, :, None] * step_h
    lost = lost * step_h
    for index in range(start, max(reads, default=start) + 1):
        if index > start:
            film = film + fallen[index]
            kept = np.maximum(film - lost[index], DAMP_MM)
            flowing = np.where(film >= DAMP_MM, kept, film) * run_off
            if may_freeze[index]:
                # Frozen water neither runs off nor dries to speak of.
                flowing = np.where(at_place[index] + cooler < FREEZE_C, film, flowing)
            film = np.minimum(flowing, STANDING_MM)
        target = np.where(
            film >= WET_MM, wet[index], np.where(film >= DAMP_MM, damp[index], 0.0)
        )
        cooler += follow * (target - cooler)
        for column, reported in events.get(index, ()):
            film[:, column] = reported
            cooler[:, column] = np.where(
                reported >= WET_MM,
                wet[index, column],
                np.where(reported >= DAMP_MM, damp[index, column], 0.0),
            )
        for place in reads.get(index, ()):
            column = wanted[place][0]
            films[:, place] = film[:, column]
            coolings[:, place] = cooler[:, column]
            rains[:, place] = rain_mm_h[:, index]
    return Wetness(films, coolings, rains)


def still_frozen(
    table: GroundTable, dry_c: Values, shift_c: Values, report: LiveReport, at_s: float
) -> NDArray[np.bool_]:
    """Return in which scenarios a reported frozen, icy or snowy road is so still.

    Parameters
    ----------
    table : GroundTable
        Gives the grid.
    dry_c : ndarray, shape (n_times,)
        Surface of the road on the grid [°C].
    shift_c : ndarray, shape (n_scenarios,)
        What the place's surface differs from it, in each scenario [°C].
    report : LiveReport
        With one of those states.
    at_s : float
        The instant asked about.

    Returns
    -------
    ndarray of bool, shape (n_scenarios,)
        True until the degree hours above +0.25 °C since the report clear the state.
    """
    first, last = table.index(report.at_utc.timestamp()), table.index(at_s)
    over = np.maximum(dry_c[None, first:last] + shift_c[:, None] - THAW_C, 0.0)
    melted_k_h = over.sum(axis=1) * GRID_S / 3600.0
    return np.asarray(melted_k_h <= MELT_K_H[report.state or "frozen"])
