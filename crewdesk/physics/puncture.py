"""Punctures: how likely, and what they cost with so many spares."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

ROUGH_SLOPE = 3.0
CUTS_SLOPE = 1.0
WORN_SLOPE = 1.0
"""Growth of the hazard, in the logarithm. Tuning values of this project."""
LIMP_S_KM = {"gravel": 20.0, "asphalt": 16.0}
"""Time lost per kilometre on a flat tyre. Common practice, no source."""


def hazard_1_km(
    h0: ArrayLike,
    *,
    roughness: ArrayLike,
    cuts: ArrayLike,
    mean_mm: ArrayLike,
    tread_new_mm: ArrayLike,
    pressure_share: ArrayLike = 1.0,
    cut: ArrayLike = 1.0,
    casing: ArrayLike = 1.0,
) -> Floats:
    r"""Return the puncture hazard of one tyre.

    Parameters
    ----------
    h0 : array_like
        Of a new tyre on a smooth road. [1/km]
    roughness, cuts : array_like
        R and the exposure to cut corners, 0 to 1.
    mean_mm, tread_new_mm : array_like
        Depth now and when new. [mm]
    pressure_share : array_like, default 1
        Hot pressure over its target.
    cut, casing : array_like, default 1
        Factors of compound and casing.

    Returns
    -------
    numpy.ndarray, float64
        Hazard. [1/km]

    Notes
    -----
    .. math:: h = h_0 \, e^{3 R + q + (1 - d/d_{new})} (p / p_{ref})^{-2} \, cut

    References
    ----------
    .. [1] Tuning values of this project; no published rate for competition on gravel was
       found. R. Stocek et al., ACS Rubber Division, 2017, for the direction: cut and chip
       damage is a property of the compound.
    """
    worn = 1.0 - np.asarray(mean_mm, dtype=np.float64) / np.asarray(
        tread_new_mm, dtype=np.float64
    )
    growth = (
        ROUGH_SLOPE * np.asarray(roughness, dtype=np.float64)
        + CUTS_SLOPE * np.asarray(cuts, dtype=np.float64)
        + WORN_SLOPE * np.maximum(0.0, worn)
    )
    factor = np.asarray(cut, dtype=np.float64) * np.asarray(casing, dtype=np.float64)
    share = np.asarray(pressure_share, dtype=np.float64)
    return np.asarray(np.asarray(h0, dtype=np.float64) * np.exp(growth) * factor / share**2)


def mean_change_s(km: ArrayLike, change_s: float, limp_s_km: float) -> Floats:
    r"""Return what one puncture costs on a stage when a spare is on board.

    Parameters
    ----------
    km : array_like
        Length of the stage. [km]
    change_s : float
        Time of a wheel change. [s]
    limp_s_km : float
        Time lost per kilometre on the flat tyre. [s/km]

    Returns
    -------
    numpy.ndarray, float64
        Mean over a uniform place on the stage. [s]

    Raises
    ------
    ValueError
        If a length or time is negative, or limping costs nothing.

    Notes
    -----
    .. math:: \frac{1}{L} \int_0^L \min(t_w, k x) \, dx

    With little left to run nobody stops.

    References
    ----------
    .. [1] Common practice, no source, for 20 s/km on gravel and 16 s/km on asphalt.

    Examples
    --------
    >>> float(mean_change_s(12.0, 120.0, 20.0))
    90.0
    """
    length = np.asarray(km, dtype=np.float64)
    if np.any(length <= 0.0) or change_s < 0.0 or limp_s_km <= 0.0:
        raise ValueError("lengths and limping must be positive, a change not negative")
    even_km = np.minimum(length, change_s / limp_s_km)
    limping = 0.5 * limp_s_km * even_km**2
    return np.asarray((limping + change_s * (length - even_km)) / length)


def loop_change_s(stage_hazard: ArrayLike, stage_change_s: ArrayLike) -> Floats:
    """Return what one puncture costs, over a loop of several stages.

    Parameters
    ----------
    stage_hazard : array_like, shape (..., stages)
        Expected punctures by stage.
    stage_change_s : array_like, shape (stages,)
        From `mean_change_s`. [s]

    Returns
    -------
    numpy.ndarray, float64, shape (...)
        Mean weighted by the hazard; the plain mean where there is none. [s]

    Raises
    ------
    ValueError
        If there is no stage.

    Notes
    -----
    A puncture falls on a stage in proportion to its hazard.

    References
    ----------
    .. [1] Poisson process with a rate that varies.
    """
    hazard = np.asarray(stage_hazard, dtype=np.float64)
    change = np.asarray(stage_change_s, dtype=np.float64)
    if change.size == 0:
        raise ValueError("a loop without stages has no punctures")
    total = hazard.sum(axis=-1)
    weighted = (hazard * change).sum(axis=-1)
    plain = np.broadcast_to(change.mean(), total.shape)
    return np.asarray(np.divide(weighted, total, out=plain.copy(), where=total > 0.0))


def _up_to(mean: Floats, count: int) -> Floats:
    """Return the chance of at most 0, 1 or 2 punctures."""
    terms = np.ones_like(mean)
    if count >= 1:
        terms = terms + mean
    if count >= 2:
        terms = terms + 0.5 * mean * mean
    return np.asarray(np.exp(-mean) * terms)


def expected_cost_s(
    corner_hazard: ArrayLike,
    covers: Sequence[Sequence[bool]],
    *,
    change_s: ArrayLike,
    lost_s: float,
) -> Floats:
    r"""Return the expected cost of punctures of a loop with the spares on board.

    Parameters
    ----------
    corner_hazard : array_like, shape (..., 4)
        Expected punctures by corner, FL FR RL RR.
    covers : sequence of 0, 1 or 2 sequences of 4 booleans
        For each spare, the corners it may be fitted to.
    change_s : array_like, shape (...)
        Cost of a puncture that a spare serves. [s]
    lost_s : float
        Cost of a puncture that none can serve, once. [s]

    Returns
    -------
    numpy.ndarray, float64, shape (...)
        Expected cost. [s]

    Raises
    ------
    ValueError
        If there are more than two spares or a spare has not four corners.

    Notes
    -----
    Punctures of the corners are independent and Poisson. Spares are matched to punctures
    as well as they can be:

    .. math:: J = t_c E[served] + C P(\text{some not served})

    exactly, by the few cases that two spares leave: corners that only the first, only
    the second, both or none of them serve. Where all spares fit everywhere it is

    .. math:: \sum_{k=1}^{n} k t_c P(N = k) + P(N > n) (n t_c + C)

    The mass of the spares is not in it; that is in the stage time.

    References
    ----------
    .. [1] Poisson distribution.

    Examples
    --------
    >>> one = [True] * 4
    >>> quarter = [0.1672 / 4] * 4
    >>> float(expected_cost_s(quarter, [one], change_s=120, lost_s=900).round(2))
    29.74
    """
    hazard = np.asarray(corner_hazard, dtype=np.float64)
    if len(covers) > 2 or any(len(c) != 4 for c in covers) or hazard.shape[-1:] != (4,):
        raise ValueError("give four corners and at most two spares that name four corners")
    fits = np.zeros((2, 4), dtype=bool)
    for spare, cover in enumerate(covers):
        fits[spare] = [bool(c) for c in cover]
    first_only = hazard[..., fits[0] & ~fits[1]].sum(axis=-1)
    second_only = hazard[..., fits[1] & ~fits[0]].sum(axis=-1)
    both = hazard[..., fits[0] & fits[1]].sum(axis=-1)
    nobody = hazard[..., ~fits[0] & ~fits[1]].sum(axis=-1)
    no_first, no_second = np.exp(-first_only), np.exp(-second_only)
    any_first, any_second = 1.0 - no_first, 1.0 - no_second
    # Spares left for the corners that both serve: two, one or none.
    two_left = no_first * no_second
    one_left = any_first * no_second + no_first * any_second
    at_least_one = 1.0 - _up_to(both, 0)
    at_least_two = 1.0 - _up_to(both, 1)
    served = any_first + any_second
    served = served + two_left * (at_least_one + at_least_two) + one_left * at_least_one
    one_first, one_second = first_only * no_first, second_only * no_second
    all_served = np.exp(-nobody) * (
        no_first * no_second * _up_to(both, 2)
        + (one_first * no_second + no_first * one_second) * _up_to(both, 1)
        + one_first * one_second * _up_to(both, 0)
    )
    return np.asarray(
        np.asarray(change_s, dtype=np.float64) * served + lost_s * (1.0 - all_served)
    )


def learnt_rate_1_km(
    model_1_km: float, punctures: int, km: float, weight: float = 2.0
) -> float:
    r"""Return the puncture rate after what has happened.

    Parameters
    ----------
    model_1_km : float
        Rate the model gives, above 0. [1/km]
    punctures : int
        Punctures seen.
    km : float
        Distance they were seen in. [km]
    weight : float, default 2
        How many punctures the model's rate is worth.

    Returns
    -------
    float
        Mean of the rate. [1/km]

    Raises
    ------
    ValueError
        If the model's rate or its weight is not positive, or a count is negative.

    Notes
    -----
    .. math:: \frac{a + k}{a / h + x}

    Gamma distribution of the rate, Poisson count.

    References
    ----------
    .. [1] Conjugate pair of statistics textbooks.

    Examples
    --------
    >>> round(learnt_rate_1_km(0.012, 1, 80.0), 5)
    0.01216
    """
    if model_1_km <= 0.0 or weight <= 0.0 or punctures < 0 or km < 0.0:
        raise ValueError("rate and weight must be positive, punctures and km not negative")
    return (weight + punctures) / (weight / model_1_km + km)
