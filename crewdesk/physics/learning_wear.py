"""Wear learnt from depths: factors on the predicted loss, one by compound and by corner."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log, sqrt
from typing import Final

import numpy as np
from numpy.typing import NDArray

from crewdesk.physics.bands import MODEL_LN_SD
from crewdesk.physics.kalman import Belief, robust_weight, update

Floats = NDArray[np.float64]

GAUGE_SD_MM: Final = 0.20
"""Of one depth read at one point; ±0.2 mm taken as one standard deviation. Tuning value."""
STAGE_LN_SD: Final = 0.02
"""How far a factor may wander from stage to stage, in ln. Tuning value of this project."""
CLEAR_LOSS_SD: Final = 4.0
"""A loss of this many of its own standard deviations is compared by its logarithm."""
NINETY: Final = 1.6448536269514722
"""90 in 100 of a normal spread lie within this many standard deviations."""


def loss_sd_mm(gauge_sd_mm: float = GAUGE_SD_MM, points: int = 3) -> float:
    r"""Return how unsure a measured loss is.

    Parameters
    ----------
    gauge_sd_mm : float, default 0.20
        Standard deviation of one depth. [mm]
    points : int, default 3
        Points across the tread that were read both times.

    Returns
    -------
    float
        Standard deviation of the mean loss. [mm]

    Raises
    ------
    ValueError
        If no point was read or the gauge is exact.

    Notes
    -----
    .. math:: \sqrt{2} \, \sigma_g / \sqrt{n}

    References
    ----------
    .. [1] Propagation of uncertainty.

    Examples
    --------
    >>> round(loss_sd_mm(), 4)
    0.1633
    """
    if points < 1 or gauge_sd_mm <= 0.0:
        raise ValueError("a loss needs a point that was read twice and a real gauge")
    return sqrt(2.0) * gauge_sd_mm / sqrt(points)


@dataclass(frozen=True, eq=False)
class WearReading:
    """A measured loss of one tyre beside what the tables say of it.

    Parameters
    ----------
    predicted_mm : float
        Loss with every factor 1, above 0. [mm]
    measured_mm : float
        Depth before less depth after; may be zero or negative. [mm]
    share : numpy.ndarray, shape (n,)
        Shares of the loss by compound and surface (they sum to 1) and by corner
        (likewise), in the order of the belief.
    sd_mm : float
        Standard deviation of the measured loss. [mm]
    """

    predicted_mm: float
    measured_mm: float
    share: Floats
    sd_mm: float

    def __post_init__(self) -> None:
        if not self.predicted_mm > 0.0 or not self.sd_mm > 0.0:
            raise ValueError("a predicted loss and its doubt are above 0")


@dataclass(frozen=True, eq=False)
class Weighed:
    """How a reading compares with what was expected of it.

    Parameters
    ----------
    expected_mm : float
        Loss expected with what was known before the reading. [mm]
    off : float
        Difference, in ln or in mm.
    share : numpy.ndarray, shape (n,)
        How that difference answers to the numbers.
    variance : float
        Of the reading alone.
    z2 : float
        Squared difference over its whole variance.
    weight : float
        Robust weight, at most 1.
    by_ln : bool
        Compared by the logarithm of the loss.
    """

    expected_mm: float
    off: float
    share: Floats
    variance: float
    z2: float
    weight: float
    by_ln: bool


def weigh(belief: Belief, reading: WearReading, model_ln_sd: float = MODEL_LN_SD) -> Weighed:
    r"""Compare a reading with what was expected of it.

    Parameters
    ----------
    belief : Belief
        What is known of the logarithms of the factors.
    reading : WearReading
        The reading.
    model_ln_sd : float, default 0.15
        Error of the model itself, in ln of the loss.

    Returns
    -------
    Weighed
        The comparison.

    Notes
    -----
    With the expected loss :math:`l = l_0 e^{Hx}`, a measured loss of at least four of its
    standard deviations :math:`\sigma_l` is taken by its logarithm,

    .. math:: \nu = \ln(l_{meas}/l_0) - Hx, \quad R = \sigma_m^2 + (\sigma_l / l)^2

    and a smaller one as it is, linear about what is known:

    .. math:: \nu = l_{meas} - l, \quad H \to l H, \quad R = \sigma_l^2 + (\sigma_m l)^2

    The variance takes the prediction, not the measurement: a high outlier must not make
    itself look precise.

    References
    ----------
    .. [1] Extended form of the filter of `kalman`, as in textbooks.
    """
    known = belief.value(reading.share)
    expected = reading.predicted_mm * exp(known)
    by_ln = reading.measured_mm >= CLEAR_LOSS_SD * reading.sd_mm
    if by_ln:
        off = log(reading.measured_mm / reading.predicted_mm) - known
        share = reading.share
        variance = model_ln_sd**2 + (reading.sd_mm / expected) ** 2
    else:
        off = reading.measured_mm - expected
        share = reading.share * expected
        variance = reading.sd_mm**2 + (model_ln_sd * expected) ** 2
    z2 = off**2 / (float(share @ belief.cov @ share) + variance)
    return Weighed(expected, off, share, variance, z2, float(robust_weight(z2)), by_ln)


def learn_wear(
    belief: Belief,
    readings: Sequence[WearReading],
    *,
    robust: bool = True,
    model_ln_sd: float = MODEL_LN_SD,
) -> tuple[Belief, tuple[Weighed, ...]]:
    """Return what is known after readings taken at one moment, and how each compared.

    Parameters
    ----------
    belief : Belief
        Before.
    readings : sequence of WearReading
        All together, so that their order does not matter.
    robust : bool, default True
        Let a reading that is far off count less.
    model_ln_sd : float, default 0.15
        Error of the model itself, in ln of the loss.

    Returns
    -------
    Belief
        After.
    tuple of Weighed
        One for each reading.
    """
    seen = tuple(weigh(belief, reading, model_ln_sd) for reading in readings)
    if not seen:
        return belief, ()
    after = update(
        belief,
        [w.off for w in seen],
        np.stack([w.share for w in seen]),
        [w.variance / (w.weight if robust else 1.0) for w in seen],
    )
    return after, seen


def loss_ln_sd(belief: Belief, share: Floats, model_ln_sd: float = MODEL_LN_SD) -> float:
    r"""Return how unsure a predicted loss is.

    Parameters
    ----------
    belief : Belief
        What is known of the logarithms of the factors.
    share : numpy.ndarray, shape (n,)
        Shares of the loss.
    model_ln_sd : float, default 0.15
        Error of the model itself.

    Returns
    -------
    float
        Standard deviation of the logarithm of the loss.

    Notes
    -----
    .. math:: \sqrt{H P H^T + \sigma_m^2}

    References
    ----------
    .. [1] Propagation of uncertainty.
    """
    return sqrt(belief.sd(share) ** 2 + model_ln_sd**2)


def factor_band(mean_ln: float, sd_ln: float, points: float = NINETY) -> tuple[float, float]:
    """Return the low and high end of a factor; as it stands 90 in 100 lie inside.

    Parameters
    ----------
    mean_ln, sd_ln : float
        Of its logarithm.
    points : float
        Standard deviations to either side.

    Returns
    -------
    tuple of float
        Low, high.
    """
    return exp(mean_ln - points * sd_ln), exp(mean_ln + points * sd_ln)


def chi_square_point(count: int, z: float) -> float:
    r"""Return a point of the chi-square distribution.

    Parameters
    ----------
    count : int
        Degrees of freedom, at least 1.
    z : float
        The same point of the standard normal distribution.

    Returns
    -------
    float
        Within 1.5 % of the exact point for z from 1 to 3 and 4 or more degrees.

    Raises
    ------
    ValueError
        If there is no degree of freedom.

    Notes
    -----
    .. math:: \nu \left(1 - \frac{2}{9\nu} + z \sqrt{\frac{2}{9\nu}}\right)^3

    References
    ----------
    .. [1] E. B. Wilson and M. M. Hilferty, "The distribution of chi-square", Proc. Natl.
       Acad. Sci. 17, 1931.
    """
    if count < 1:
        raise ValueError("a chi-square has at least one degree of freedom")
    small = 2.0 / (9.0 * count)
    return count * (1.0 - small + z * sqrt(small)) ** 3


SHAPE_LOSS_SHARE: Final = 0.30
"""How far one point may wear off the predicted pattern, of the mean loss. Tuning value."""


def odd_point(
    read_mm: Sequence[float], expected_mm: Sequence[float], loss_mm: float
) -> tuple[int, float]:
    r"""Return the point that fits least with the others, and how far off it is.

    Parameters
    ----------
    read_mm, expected_mm : sequence of float
        Depths at two or more points, read and as expected. [mm]
    loss_mm : float
        Loss expected since the last reading. [mm]

    Returns
    -------
    int
        Its number in the sequence.
    float
        Squared difference over its variance.

    Raises
    ------
    ValueError
        If the lengths differ or there are fewer than two.

    Notes
    -----
    Differences from their own mean are compared, in which the factor on the loss cancels:

    .. math:: \sigma^2 = \sigma_g^2 \frac{n-1}{n} + (0.3 \, l)^2

    So a slip of the pen at one point shows before anything is learnt.

    References
    ----------
    .. [1] Tuning values of this project.
    """
    n = len(read_mm)
    if n != len(expected_mm) or n < 2:
        raise ValueError("two or more points, read and expected")
    off = np.asarray(read_mm, dtype=np.float64) - np.asarray(expected_mm, dtype=np.float64)
    off = off - off.mean()
    variance = GAUGE_SD_MM**2 * (n - 1) / n + (SHAPE_LOSS_SHARE * max(loss_mm, 0.0)) ** 2
    worst = int(np.argmax(np.abs(off)))
    return worst, float(off[worst] ** 2 / variance)
