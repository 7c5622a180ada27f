"""Whether the readings still fit the model, and whether the gauge is right."""

from collections.abc import Sequence
from math import sqrt
from typing import Final

import numpy as np

from crewdesk.physics.bands import MODEL_LN_SD
from crewdesk.physics.kalman import Belief
from crewdesk.physics.learning_wear import GAUGE_SD_MM, Weighed, chi_square_point, loss_sd_mm

DISAGREE_Z: Final = 2.326
"""One time in a hundred a right model is doubted. Tuning value of this project."""
GAUGE_Z: Final = 2.0
LEAST_OFFSET_MM: Final = 0.12
"""A gauge off by less is not worth a word. Tuning value of this project."""


def joint_z2(belief: Belief, seen: Sequence[Weighed]) -> float:
    r"""Return how far the readings of one moment are off together.

    Parameters
    ----------
    belief : Belief
        What was known before them.
    seen : sequence of Weighed
        The readings as they compared.

    Returns
    -------
    float
        Chi-square with as many degrees of freedom as readings, if the model is right.

    Notes
    -----
    .. math:: \nu^T (H P H^T + R)^{-1} \nu

    References
    ----------
    .. [1] Consistency test of textbook filters (normalised innovation squared).
    """
    if not seen:
        return 0.0
    off = np.array([w.off for w in seen])
    share = np.stack([w.share for w in seen])
    spread = share @ belief.cov @ share.T + np.diag([w.variance for w in seen])
    return float(off @ np.linalg.solve(spread, off))


def disagree(moments: Sequence[tuple[int, float]]) -> bool:
    """Say whether readings are further off than the model allows.

    Parameters
    ----------
    moments : sequence of tuple
        Count of readings and their `joint_z2`, by moment.

    Returns
    -------
    bool
        True where their sum is beyond all but one in a hundred.
    """
    count = sum(n for n, _ in moments)
    if count < 1:
        return False
    return sum(z2 for _, z2 in moments) > chi_square_point(count, DISAGREE_Z)


def gauge_offset(
    from_stock: Sequence[tuple[float, float]], between: Sequence[tuple[float, float]]
) -> tuple[float, float]:
    r"""Return how much too deep a gauge reads beside the depths of the stock table.

    Parameters
    ----------
    from_stock : sequence of tuple
        Expected and measured loss from a depth of the stock table to a reading. [mm]
    between : sequence of tuple
        The same between two readings, where the gauge cancels. [mm]

    Returns
    -------
    tuple of float
        Offset [mm] and its standard deviation [mm]; above 0: the gauge reads too deep.

    Raises
    ------
    ValueError
        If either is empty.

    Notes
    -----
    A gauge that reads :math:`b` too deep takes :math:`b` off every loss that begins with a
    maker's depth. The factor :math:`f` on the predicted losses comes from the others:

    .. math:: b = \overline{f l_0 - l}, \quad f = \frac{\sum l}{\sum l_0}

    References
    ----------
    .. [1] Propagation of uncertainty.
    """
    if not from_stock or not between:
        raise ValueError("losses of both kinds are needed")
    told = sum(expected for expected, _ in between)
    factor = sum(measured for _, measured in between) / told
    sd = loss_sd_mm()
    own = sum(factor * expected - measured for expected, measured in from_stock)
    offset = own / len(from_stock)
    mean = sum(expected for expected, _ in from_stock) / len(from_stock)
    var_factor = (
        len(between) * sd**2 + sum((MODEL_LN_SD * e) ** 2 for e, _ in between)
    ) / told**2
    variance = (GAUGE_SD_MM**2 / 3.0 + (MODEL_LN_SD * mean) ** 2) / len(
        from_stock
    ) + mean**2 * var_factor
    return offset, sqrt(variance)


def gauge_is_off(offset_mm: float, sd_mm: float) -> bool:
    """Say whether an offset of a gauge is worth a word."""
    return abs(offset_mm) >= LEAST_OFFSET_MM and abs(offset_mm) > GAUGE_Z * sd_mm
