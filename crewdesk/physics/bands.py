"""How sure a predicted loss of tread is."""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

COMPOUND_LN_SD: Final = 0.40
CORNER_LN_SD: Final = 0.20
MODEL_LN_SD: Final = 0.15
"""Before any reading, in ln of the loss. Tuning values of this project."""
TEN_PERCENT_SD: Final = 1.2815515655446004
"""Point of the normal distribution with a tenth above it (published tables: 1.2816)."""


def ln_loss_sd(
    compound_sd: float = COMPOUND_LN_SD,
    corner_sd: float = CORNER_LN_SD,
    model_sd: float = MODEL_LN_SD,
) -> float:
    r"""Return the standard deviation of the logarithm of a loss.

    Parameters
    ----------
    compound_sd, corner_sd, model_sd : float
        Of compound on surface, of corner, of the model itself.

    Returns
    -------
    float
        Root of the sum of squares.

    Notes
    -----
    .. math:: \sqrt{0.40^2 + 0.20^2 + 0.15^2} = 0.47

    References
    ----------
    .. [1] Tuning values of this project; they narrow with readings.

    Examples
    --------
    >>> round(ln_loss_sd(), 2)
    0.47
    """
    return float(np.sqrt(compound_sd**2 + corner_sd**2 + model_sd**2))


def normal_cdf(z: ArrayLike) -> Floats:
    r"""Return the normal distribution function.

    Parameters
    ----------
    z : array_like
        Standard deviations from the mean.

    Returns
    -------
    numpy.ndarray, float64
        0 to 1, to 7.5e-8.

    Notes
    -----
    Polynomial times :math:`e^{-z^2/2}`, formula 26.2.17.

    References
    ----------
    .. [1] M. Abramowitz and I. A. Stegun, "Handbook of Mathematical Functions", National
       Bureau of Standards, 1964, 26.2.17.

    Examples
    --------
    >>> float(normal_cdf(1.2815515655446004).round(6))
    0.9
    """
    x = np.asarray(z, dtype=np.float64)
    size = np.minimum(np.abs(x), 38.0)
    t = 1.0 / (1.0 + 0.2316419 * size)
    poly = t * (
        0.319381530
        + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429)))
    )
    tail = np.exp(-0.5 * size * size) / np.sqrt(2.0 * np.pi) * poly
    return np.asarray(np.where(x >= 0.0, 1.0 - tail, tail))


def loss_band_mm(
    loss_mm: ArrayLike, sd: float, points: float = TEN_PERCENT_SD
) -> tuple[Floats, Floats]:
    r"""Return the low and high end of a predicted loss.

    Parameters
    ----------
    loss_mm : array_like
        Prediction. [mm]
    sd : float
        Standard deviation of its logarithm.
    points : float
        How many of them to either side; as it stands 80 in 100 lie inside.

    Returns
    -------
    tuple of numpy.ndarray
        Low, high. [mm]

    Notes
    -----
    .. math:: l \, e^{\pm z s}

    References
    ----------
    .. [1] Lognormal distribution.
    """
    loss = np.asarray(loss_mm, dtype=np.float64)
    spread = float(np.exp(points * sd))
    return np.asarray(loss / spread), np.asarray(loss * spread)


def depth_band_mm(
    start_mm: ArrayLike,
    loss_mm: ArrayLike,
    sd: float,
    start_sd_mm: float,
    points: float = TEN_PERCENT_SD,
) -> tuple[Floats, Floats]:
    r"""Return the low and high end of a predicted depth.

    Parameters
    ----------
    start_mm, loss_mm : array_like
        Depth now and loss from now. [mm]
    sd : float
        Standard deviation of the logarithm of the loss.
    start_sd_mm : float
        Standard deviation of the depth now. [mm]
    points : float
        How many standard deviations to either side.

    Returns
    -------
    tuple of numpy.ndarray
        Low and high depth, at least 0. [mm]

    Notes
    -----
    The two sources are independent, so their reaches add in squares on either side:

    .. math:: d - l \mp \sqrt{(l e^{\pm z s} - l)^2 + (z s_0)^2}

    References
    ----------
    .. [1] Propagation of uncertainty.
    """
    start = np.asarray(start_mm, dtype=np.float64)
    loss = np.asarray(loss_mm, dtype=np.float64)
    least, most = loss_band_mm(loss, sd, points)
    own = points * start_sd_mm
    low = start - loss - np.hypot(most - loss, own)
    high = start - loss + np.hypot(loss - least, own)
    return np.asarray(np.maximum(0.0, low)), np.asarray(np.maximum(0.0, high))


def chance_below(
    start_mm: ArrayLike, loss_mm: ArrayLike, minimum_mm: ArrayLike, sd: float
) -> Floats:
    r"""Return the chance that a depth ends below a minimum.

    Parameters
    ----------
    start_mm, loss_mm : array_like
        Depth now and predicted loss from now. [mm]
    minimum_mm : array_like
        Least depth. [mm]
    sd : float
        Standard deviation of the logarithm of the loss, above 0.

    Returns
    -------
    numpy.ndarray, float64
        0 to 1; 1 where the depth is below the minimum already, 0 where it is not and
        nothing is lost.

    Raises
    ------
    ValueError
        If the standard deviation is not positive.

    Notes
    -----
    .. math:: \Phi\left( \frac{\ln l - \ln(d - d_{min})}{s} \right)

    References
    ----------
    .. [1] Lognormal distribution.
    """
    if sd <= 0.0:
        raise ValueError("the standard deviation of the loss must be positive")
    room = np.asarray(start_mm, dtype=np.float64) - np.asarray(minimum_mm, dtype=np.float64)
    loss = np.asarray(loss_mm, dtype=np.float64)
    tiny = 1e-12
    z = (np.log(np.maximum(loss, tiny)) - np.log(np.maximum(room, tiny))) / sd
    chance = normal_cdf(z)
    return np.where(room < 0.0, 1.0, np.where(loss <= 0.0, 0.0, chance))
