"""Draws that stay put: each variable of each place has its own stream of random numbers."""

import math
import zlib
from collections.abc import Sequence
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

RAIN_LOG_SD: Final = 0.7
RAIN_SHIFT_H: Final = 1.5
"""Onset and end of rain move by up to this, evenly spread. Common practice, no source."""
UNSEEN_RAIN_H: Final = 1.0
"""Rain in the first or the last hour of a forecast reaches this far beyond it."""

Values = NDArray[np.float64]


@lru_cache(maxsize=2048)
def _half_normals(seed: int, name: str, n_pairs: int) -> Values:
    """Return the first members of the pairs of one variable."""
    stream = np.random.default_rng(np.random.SeedSequence([seed, zlib.crc32(name.encode())]))
    drawn = stream.standard_normal(n_pairs)
    drawn.setflags(write=False)
    return drawn


def paired_normals(seed: int, names: Sequence[str], n_scenarios: int) -> Values:
    """Return standard normal draws that cancel out in pairs.

    Parameters
    ----------
    seed : int
        Not negative.
    names : sequence of str
        One name for each column; a column depends on its own name alone, so that another
        column never redraws it.
    n_scenarios : int
        Number of rows; more rows leave the earlier pairs as they are.

    Returns
    -------
    ndarray, shape (n_scenarios, len(names))
        Rows 2i and 2i + 1 are z and -z; the last row of an odd number is 0.

    Raises
    ------
    ValueError
        If there is no scenario, or the seed is negative.
    """
    if n_scenarios < 1:
        raise ValueError(f"{n_scenarios} scenarios: at least one is needed")
    if seed < 0:
        raise ValueError(f"seed {seed} is negative")
    drawn = np.zeros((n_scenarios, len(names)))
    n_pairs = n_scenarios // 2
    for column, name in enumerate(names):
        half = _half_normals(seed, name, n_pairs)
        drawn[0 : 2 * n_pairs : 2, column] = half
        drawn[1 : 2 * n_pairs : 2, column] = -half
    return drawn


def evenly(normal: Values) -> Values:
    """Return standard normal draws as draws spread evenly over -1 to 1; 0 stays 0."""
    flat = [math.erf(z / math.sqrt(2.0)) for z in normal.ravel()]
    return np.array(flat, dtype=np.float64).reshape(normal.shape)


def correlated(draws: Values, covariance: Values) -> Values:
    """Return draws with a covariance, each column from itself and those before it.

    Parameters
    ----------
    draws : ndarray, shape (n_scenarios, n)
        Standard normal.
    covariance : ndarray, shape (n, n)
        Wanted; may be singular.

    Returns
    -------
    ndarray, shape (n_scenarios, n)
        ``draws @ L.T`` with the lower Cholesky factor L.
    """
    if covariance.size == 0:
        return draws.copy()
    # Two moments at one instant make the matrix singular; a trace of its own noise for each
    # (a thousandth of a degree) is far below anything that matters.
    trace = 1e-6 * max(float(np.max(np.diag(covariance))), 1e-6)
    factor = np.linalg.cholesky(covariance + trace * np.eye(len(covariance)))
    # The diagonal is given back, so that the spread is exactly the one that is reported.
    wanted = np.sqrt(np.maximum(np.diag(covariance), 0.0))
    factor *= (wanted / np.sqrt(np.sum(factor * factor, axis=1)))[:, None]
    return np.asarray(draws @ factor.T)


def rain_paths_mm_h(
    grid_h: Values,
    point_h: Values,
    point_mm_h: Values,
    *,
    amount: Values,
    onset_h: Values,
    end_h: Values,
) -> Values:
    """Return the forecast's rain with other amounts, earlier or later.

    Parameters
    ----------
    grid_h : ndarray, shape (n_times,)
        Wanted times [h].
    point_h, point_mm_h : ndarray, shape (n_points,)
        Forecast rain, joined by straight lines, the end values held for one hour outside.
    amount, onset_h, end_h : ndarray, shape (n_scenarios,)
        Factor on the rain, and shift of onset and end of every spell [h].

    Returns
    -------
    ndarray, shape (n_scenarios, n_times)
        Rain [mm/h]. A spell is stretched between its new onset and end; one whose end would
        come before its onset passes the place by.
    """
    rain = np.zeros((len(amount), len(grid_h)))
    for first_h, last_h in _spells(point_h, point_mm_h):
        starts = first_h + onset_h
        lasts = last_h + end_h
        length = lasts - starts
        falls = length > 0.0
        share = (grid_h[None, :] - starts[:, None]) / np.where(falls, length, 1.0)[:, None]
        source_h = first_h + share * (last_h - first_h)
        inside = (share >= 0.0) & (share <= 1.0) & falls[:, None]
        here = np.where(inside, np.interp(source_h, point_h, point_mm_h), 0.0)
        rain = np.maximum(rain, here * amount[:, None])
    return rain


def _spells(point_h: Values, point_mm_h: Values) -> list[tuple[float, float]]:
    """Return the times between which the joined points are above zero."""
    spells: list[tuple[float, float]] = []
    start: float | None = None
    for index, amount in enumerate(point_mm_h):
        if amount > 0.0 and start is None:
            # Rain in the very first hour is taken to have started an hour before.
            start = point_h[index - 1] if index else point_h[0] - UNSEEN_RAIN_H
        elif amount <= 0.0 and start is not None:
            spells.append((float(start), float(point_h[index])))
            start = None
    if start is not None:
        spells.append((float(start), float(point_h[-1]) + UNSEEN_RAIN_H))
    return spells
