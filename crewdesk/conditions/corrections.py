"""What readings change about the forecast, and the errors that are left to draw."""

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from crewdesk.conditions.air import (
    FAR_READING_SD,
    FORECAST_MEMORY_H,
    FORECAST_SD_C,
    LAPSE_SD_K_KM,
    condition_on_readings,
)
from crewdesk.conditions.moments import LiveReport
from crewdesk.conditions.places import Places
from crewdesk.conditions.road import AIR_TO_ROAD
from crewdesk.conditions.scenarios import correlated, paired_normals

ROAD_MEMORY_H: Final = 2.0
"""Common practice, no source."""
NO_FORECAST_SD_C: Final = 5.0
"""Error of an air temperature that somebody guessed. Tuning value of this project."""

Values = NDArray[np.float64]


def correct_air(
    places: Places,
    readings: Sequence[LiveReport],
    reading_places: Places,
    *,
    known: bool,
    messages: list[str],
) -> tuple[Values, Values]:
    """Return the correction to the air at places and the covariance that is left.

    Parameters
    ----------
    places : Places
        Where it is wanted, shape (n,).
    readings : sequence of LiveReport
        With ``air_c``, shape (m,).
    reading_places : Places
        Where they were taken, shape (m,).
    known : bool
        False where there is no forecast at all: the error is larger.
    messages : list of str
        Takes the words about readings that are left out.

    Returns
    -------
    correction_c : ndarray, shape (n,)
    covariance : ndarray, shape (n, n)
        Without the error of the lapse rate.
    """
    sd_c = FORECAST_SD_C if known else NO_FORECAST_SD_C
    doubt = places.doubt if known else np.ones(len(places.at_s))
    prior = sd_c * (reading_places.doubt if known else np.ones(len(readings)))
    noise = np.hypot(
        np.array([r.air_sd_c for r in readings], dtype=np.float64),
        LAPSE_SD_K_KM * reading_places.rise_km,
    )
    measured = np.array([r.air_c for r in readings], dtype=np.float64)
    difference = measured - reading_places.air_c
    kept = _believed("Air", readings, measured, difference, np.hypot(prior, noise), messages)
    return condition_on_readings(
        places.hours,
        sd_c * doubt,
        reading_places.hours[kept],
        prior[kept],
        noise[kept],
        difference[kept],
        FORECAST_MEMORY_H,
    )


def correct_road(
    places: Places,
    readings: Sequence[LiveReport],
    reading_places: Places,
    expected_c: Values,
    *,
    messages: list[str],
) -> tuple[Values, Values]:
    """Return the correction to the road at places and the covariance that is left.

    Parameters
    ----------
    places : Places
        Where it is wanted, shape (n,).
    readings : sequence of LiveReport
        With ``road_c``, shape (m,).
    reading_places : Places
        Where they were taken, shape (m,).
    expected_c : ndarray, shape (m,)
        What the balance gives there.
    messages : list of str
        Takes the words about readings that are left out.

    Returns
    -------
    correction_c : ndarray, shape (n,)
        From readings on the same kind of surface only.
    covariance : ndarray, shape (n, n)
        0 between kinds.
    """
    prior = reading_places.road_sd_c()
    noise = np.array([r.road_sd_c for r in readings], dtype=np.float64)
    measured = np.array([r.road_c for r in readings], dtype=np.float64)
    difference = measured - expected_c
    kept = _believed("Road", readings, measured, difference, np.hypot(prior, noise), messages)
    sd = places.road_sd_c()
    shift = np.zeros(len(sd))
    covariance = np.zeros((len(sd), len(sd)))
    for kind in sorted(set(places.surfaces)):
        here = np.flatnonzero([s == kind for s in places.surfaces])
        mine = np.array([s == kind for s in reading_places.surfaces], dtype=np.bool_) & kept
        shift[here], covariance[np.ix_(here, here)] = condition_on_readings(
            places.hours[here],
            sd[here],
            reading_places.hours[mine],
            prior[mine],
            noise[mine],
            difference[mine],
            ROAD_MEMORY_H,
        )
    return shift, covariance


def _believed(
    what: str,
    readings: Sequence[LiveReport],
    measured_c: Values,
    difference_c: Values,
    spread_c: Values,
    messages: list[str],
) -> NDArray[np.bool_]:
    """Return which readings count, and say in words which do not."""
    kept = np.ones(len(readings), dtype=np.bool_)
    for i, report in enumerate(readings):
        if report.confirmed or abs(difference_c[i]) <= FAR_READING_SD * spread_c[i]:
            continue
        kept[i] = False
        side = "above" if difference_c[i] > 0.0 else "below"
        where = f" on {report.stage}" if report.stage else ""
        messages.append(
            f"{what} {measured_c[i]:.1f} °C reported{where} at {report.at_utc:%H:%M} UTC is "
            f"{abs(difference_c[i]):.0f} °C {side} what the forecast gives. "
            "It is left out until somebody confirms it: check sign and unit."
        )
    return kept


def spreads_c(places: Places, air_cov: Values, road_cov: Values) -> tuple[Values, Values]:
    """Return standard deviations of air and road with the lapse rate's error.

    Parameters
    ----------
    places : Places
        Shape (n,).
    air_cov, road_cov : ndarray, shape (n, n)
        What is left after readings.

    Returns
    -------
    air_sd_c, road_sd_c : ndarray, shape (n,)
        ``sqrt(variance + (1.5 dz)^2)``, the road with 0.85 of the second term.
    """
    lapse = LAPSE_SD_K_KM * places.rise_km
    return (
        np.sqrt(np.maximum(np.diag(air_cov), 0.0) + lapse**2),
        np.sqrt(np.maximum(np.diag(road_cov), 0.0) + (AIR_TO_ROAD * lapse) ** 2),
    )


def draw_errors(
    keys: Sequence[str],
    places: Places,
    air_cov: Values,
    road_cov: Values,
    *,
    n_scenarios: int,
    seed: int,
) -> tuple[Values, Values]:
    """Return errors of air and road in every scenario.

    Parameters
    ----------
    keys : sequence of str, length n
        Names of the moments: the draws of each depend on its own name and on those before it
        in time.
    places : Places
        Shape (n,).
    air_cov, road_cov : ndarray, shape (n, n)
        What is left after readings.
    n_scenarios, seed : int
        As everywhere.

    Returns
    -------
    air_error_c, road_error_c : ndarray, shape (n_scenarios, n)
        With the spreads of `spreads_c`; the road follows the air by 0.85 and adds its own.
    """
    order = np.argsort(places.at_s, kind="stable")
    back = np.argsort(order)

    def drawn(name: str, covariance: Values) -> Values:
        normal = paired_normals(seed, [f"{name} {keys[i]}" for i in order], n_scenarios)
        return correlated(normal, covariance[np.ix_(order, order)])[:, back]

    lapse = paired_normals(seed, ("lapse",), n_scenarios)
    air_error = drawn("air", air_cov) - LAPSE_SD_K_KM * lapse * places.rise_km
    air_sd, road_sd = spreads_c(places, air_cov, road_cov)
    own = np.sqrt(np.diag(road_cov))
    likeness = road_cov / np.outer(own, own)
    # A road that was just measured is known better than its air: then it follows less.
    follow = np.minimum(AIR_TO_ROAD, 0.9 * road_sd / np.maximum(air_sd, math.ulp(1.0)))
    own_sd = np.sqrt(np.maximum(road_sd**2 - (follow * air_sd) ** 2, 0.0))
    return air_error, follow * air_error + own_sd * drawn("road", likeness)
