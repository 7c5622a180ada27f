"""What else tells of the tyres: hot pressures, a probe, the look, words, times, punctures."""

from math import exp, log, sqrt
from typing import Final

import numpy as np

from crewdesk.physics.heat import standing_map
from crewdesk.physics.kalman import Belief, robust_weight, update

HEAT_LN_SD: Final = 0.20
"""Model error of a rise over the air temperature, in ln. Tuning value of this project."""
HEAT_START_SD: Final = 0.25
"""How far the heat factor may be off before any reading, in ln. Tuning value."""
GAS_SD_K: Final = 2.3
"""Of a gas temperature told by a hot pressure read to ±2 kPa. [K]"""
PROBE_SD_K: Final = 4.0
GUN_SD_K: Final = 8.0
LOOK_SD_K: Final = 8.0
"""Of a needle probe, an infrared gun, the look of the rubber. Tuning values. [K]"""
LEAST_RISE_K: Final = 8.0
"""A tyre predicted less than this over the air tells nothing of the heat factor."""
WORD_LN: Final = 0.02
WORD_SD: Final = 0.03
"""Grip in ln for one step of the driver's scale, and its doubt. Tuning values."""
TIME_LN_SD: Final = 0.006
"""Of the ratio of two times over one stage, in ln. Tuning value of this project."""
GRIP_START_SD: Final = 0.03
"""How far the grip of an axle or a compound may be off before anything is said, in ln."""
PUNCTURE_WEIGHT: Final = 2.0
"""How many punctures the rate of the tables is worth. Tuning value of this project."""

LOOKS: Final = ("moulding_lines", "grained", "even", "feathered", "torn")
FEATHERED_K: Final = 10.0
"""Feathered up to this much above the window, torn beyond. Common practice, no source."""


def look_c(look: str, peak_c: float, t_lo_c: float, t_hi_c: float) -> float:
    """Return the peak tread temperature that the look of a tyre tells of.

    Parameters
    ----------
    look : str
        One of `LOOKS`.
    peak_c : float
        Peak of the loop as predicted. [°C]
    t_lo_c, t_hi_c : float
        Window of the compound. [°C]

    Returns
    -------
    float
        The prediction, moved just into the range the look allows. [°C]

    Raises
    ------
    ValueError
        If there is no such look.

    Notes
    -----
    Moulding lines still on and grained: below the window; even: inside; feathered: up to
    10 K above; torn: beyond that. A prediction inside the range comes back as it is: the
    look then tells nothing new.

    References
    ----------
    .. [1] Common practice, no source.

    Examples
    --------
    >>> look_c("torn", 70.0, 20.0, 75.0)
    85.0
    """
    ranges = {
        "moulding_lines": (-np.inf, t_lo_c),
        "grained": (-np.inf, t_lo_c),
        "even": (t_lo_c, t_hi_c),
        "feathered": (t_hi_c, t_hi_c + FEATHERED_K),
        "torn": (t_hi_c + FEATHERED_K, np.inf),
    }
    if look not in ranges:
        raise ValueError(f"unknown look {look!r}")
    low, high = ranges[look]
    return float(min(max(peak_c, low), high))


def tread_at_stop_c(read_c: float, bulk_c: float, air_c: float, seconds: float) -> float:
    """Return the tread temperature at the stop line from one probed later.

    Parameters
    ----------
    read_c : float
        Mean of the probe. [°C]
    bulk_c : float
        Carcass and gas at the stop line, as predicted. [°C]
    air_c : float
        Air. [°C]
    seconds : float
        From the stop line to the probe, standing. [s]

    Returns
    -------
    float
        At the stop line. [°C]

    Raises
    ------
    ValueError
        If the time is negative.

    Notes
    -----
    The standing step of `heat` read backwards for the tread, the carcass as predicted.

    References
    ----------
    .. [1] `heat.standing_map`.
    """
    if seconds < 0.0:
        raise ValueError("a tyre is probed after the stop line")
    step = standing_map(np.array([air_c]), seconds)
    from_tread, from_bulk = (float(w) for w in step.matrix[0, 0])
    return (read_c - float(step.offset[0, 0]) - from_bulk * bulk_c) / from_tread


def heat_reading(
    observed_c: float, predicted_c: float, air_c: float, sd_k: float
) -> tuple[float, float] | None:
    r"""Return what a temperature tells of the heat factor.

    Parameters
    ----------
    observed_c, predicted_c : float
        Of carcass or tread, at the same moment. [°C]
    air_c : float
        Air. [°C]
    sd_k : float
        Standard deviation of the observed one. [K]

    Returns
    -------
    tuple of float or None
        Logarithm of the factor and its variance; None where the tyre was too cool to tell.

    Notes
    -----
    .. math:: y = \ln\frac{T_{obs} - T_a}{T_{pred} - T_a}, \quad
       R = 0.20^2 + \left(\frac{\sigma}{T_{pred} - T_a}\right)^2

    References
    ----------
    .. [1] Tuning values of this project.
    """
    rise = predicted_c - air_c
    if rise < LEAST_RISE_K:
        return None
    seen = max(observed_c - air_c, 0.05 * rise)
    return log(seen / rise), HEAT_LN_SD**2 + (sd_k / rise) ** 2


def grip_from_words(step: float) -> tuple[float, float]:
    """Return the grip offset of an axle in ln that the driver tells of, and its variance.

    Parameters
    ----------
    step : float
        -2 far too little to +2 far more than thought.

    Returns
    -------
    tuple of float
        Offset, variance.

    Examples
    --------
    >>> grip_from_words(-2)[0]
    -0.04
    """
    return WORD_LN * step, WORD_SD**2


def grip_from_times(
    observed_ratio: float, predicted_ratio: float, exponent: float
) -> tuple[float, float]:
    r"""Return the difference in grip that two times over one stage tell of.

    Parameters
    ----------
    observed_ratio, predicted_ratio : float
        Later time over earlier one, driven and as predicted, above 0.
    exponent : float
        How the logarithm of stage time falls with that of grip, above 0.

    Returns
    -------
    tuple of float
        Difference of the two grips in ln, variance.

    Raises
    ------
    ValueError
        If a ratio or the exponent is not positive.

    Notes
    -----
    .. math:: y = -\frac{1}{e} \ln\frac{t_{obs}}{t_{pred}}, \quad
       \sigma = \frac{0.006}{e}

    Only differences between repeats of one stage, or against the same reference car, are
    taken: the road itself cancels.

    References
    ----------
    .. [1] Tuning values of this project.
    """
    if observed_ratio <= 0.0 or predicted_ratio <= 0.0 or exponent <= 0.0:
        raise ValueError("times and the exponent are above 0")
    return -log(observed_ratio / predicted_ratio) / exponent, (TIME_LN_SD / exponent) ** 2


def learn_one(belief: Belief, off_from_zero: float, share: object, variance: float) -> Belief:
    """Return what is known after one reading of these kinds, far ones counting less.

    Parameters
    ----------
    belief : Belief
        Before.
    off_from_zero : float
        The reading itself, not less what was expected.
    share : array_like, shape (n,)
        How it answers to the numbers.
    variance : float
        Of the reading.

    Returns
    -------
    Belief
        After.
    """
    row = np.asarray(share, dtype=np.float64)
    off = off_from_zero - belief.value(row)
    z2 = off**2 / (belief.sd(row) ** 2 + variance)
    return update(belief, [off], row[None, :], [variance / float(robust_weight(z2))])


def rate_band(
    model_1_km: float, punctures: int, km: float, z: float, weight: float = PUNCTURE_WEIGHT
) -> tuple[float, float]:
    r"""Return the low and high end of the puncture rate after what has happened.

    Parameters
    ----------
    model_1_km : float
        Rate the model gives, above 0. [1/km]
    punctures : int
        Punctures seen.
    km : float
        Distance they were seen in. [km]
    z : float
        Standard deviations of a normal distribution to either side.
    weight : float, default 2
        How many punctures the model's rate is worth.

    Returns
    -------
    tuple of float
        Low, high. [1/km]

    Raises
    ------
    ValueError
        If the model's rate or its weight is not positive, or a count is negative.

    Notes
    -----
    Points of :math:`\Gamma(a + k, b + x)` with :math:`a` the weight and
    :math:`b = a / h`, by the cube-root formula.

    References
    ----------
    .. [1] E. B. Wilson and M. M. Hilferty, "The distribution of chi-square", Proc. Natl.
       Acad. Sci. 17, 1931.
    """
    if model_1_km <= 0.0 or weight <= 0.0 or punctures < 0 or km < 0.0:
        raise ValueError("rate and weight must be positive, punctures and km not negative")
    shape = weight + punctures
    scale = 1.0 / (weight / model_1_km + km)
    small = 1.0 / (9.0 * shape)
    low, high = (
        shape * scale * max(1.0 - small + sign * z * sqrt(small), 0.0) ** 3 for sign in (-1, 1)
    )
    return low, high


def heat_factor(belief: Belief) -> float:
    """Return the factor on the rise of temperature over the air."""
    return exp(float(belief.mean[0]))
