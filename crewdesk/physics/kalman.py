"""What is known of a few numbers, and how a reading changes it: linear and normal."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

STUDENT_DOF: Final = 4.0
"""Degrees of freedom of the spread that outliers are taken to come from. Tuning value."""
QUESTIONED_Z2: Final = 9.0
"""Squared standard deviations from which a reading is asked about. Tuning value."""


@dataclass(frozen=True, eq=False)
class Belief:
    """Mean and covariance of n numbers.

    Parameters
    ----------
    mean : numpy.ndarray, shape (n,)
        Best values.
    cov : numpy.ndarray, shape (n, n)
        How unsure they are, and how the doubts hang together.
    """

    mean: Floats
    cov: Floats

    def sd(self, share: ArrayLike) -> float:
        """Return the standard deviation of a weighted sum of the numbers."""
        row = np.asarray(share, dtype=np.float64)
        return float(np.sqrt(max(float(row @ self.cov @ row), 0.0)))

    def value(self, share: ArrayLike) -> float:
        """Return the best value of a weighted sum of the numbers."""
        return float(np.asarray(share, dtype=np.float64) @ self.mean)


def start(mean: ArrayLike, sd: ArrayLike) -> Belief:
    """Return what is known where the numbers do not hang together.

    Parameters
    ----------
    mean, sd : array_like, shape (n,)
        Best values and standard deviations.

    Returns
    -------
    Belief
        With a diagonal covariance.

    Raises
    ------
    ValueError
        If the lengths differ or a standard deviation is negative.
    """
    middle = np.atleast_1d(np.asarray(mean, dtype=np.float64)).copy()
    spread = np.atleast_1d(np.asarray(sd, dtype=np.float64))
    if middle.shape != spread.shape:
        raise ValueError("one standard deviation for every mean")
    if (spread < 0.0).any():
        raise ValueError("a standard deviation is not negative")
    return Belief(middle, np.diag(spread**2))


def widened(belief: Belief, variance: ArrayLike) -> Belief:
    """Return what is known after the numbers may have moved by themselves.

    Parameters
    ----------
    belief : Belief
        Before.
    variance : array_like, shape (n,)
        Variance added to each, not negative.

    Returns
    -------
    Belief
        The same means, less sure.

    Raises
    ------
    ValueError
        If a variance is negative.
    """
    added = np.broadcast_to(np.asarray(variance, dtype=np.float64), belief.mean.shape)
    if (added < 0.0).any():
        raise ValueError("a variance is not negative")
    return Belief(belief.mean, belief.cov + np.diag(added))


def robust_weight(z2: ArrayLike, dof: float = STUDENT_DOF) -> Floats:
    r"""Return how much a reading counts, from how far off it is.

    Parameters
    ----------
    z2 : array_like
        Squared difference from what was expected over its variance.
    dof : float, default 4
        Degrees of freedom.

    Returns
    -------
    numpy.ndarray, float64
        Above 0 and at most 1.

    Notes
    -----
    .. math:: w = \min\left(1, \frac{\nu + 1}{\nu + z^2}\right)

    The variance of the reading is divided by it.

    References
    ----------
    .. [1] Weight of Student's t distribution, as in textbooks of robust statistics.

    Examples
    --------
    >>> round(float(robust_weight(5.679**2)), 4)
    0.1379
    """
    far = np.asarray(z2, dtype=np.float64)
    return np.asarray(np.minimum(1.0, (dof + 1.0) / (dof + far)))


def update(belief: Belief, off: ArrayLike, share: ArrayLike, variance: ArrayLike) -> Belief:
    r"""Return what is known after some independent readings.

    Parameters
    ----------
    belief : Belief
        Before.
    off : array_like, shape (m,)
        Each reading less what was expected of it.
    share : array_like, shape (m, n)
        How each reading answers to the numbers.
    variance : array_like, shape (m,)
        Of each reading, above 0; infinity: it tells nothing.

    Returns
    -------
    Belief
        After.

    Raises
    ------
    ValueError
        If shapes do not fit or a variance is not positive.

    Notes
    -----
    .. math:: S = H P H^T + R, \quad K = P H^T S^{-1}, \quad x' = x + K \nu

    .. math:: P' = (I - K H) P (I - K H)^T + K R K^T

    The last form keeps :math:`P` symmetric and positive in rounded arithmetic.

    References
    ----------
    .. [1] R. E. Kalman, "A new approach to linear filtering and prediction problems",
       J. Basic Eng. 82(1), 1960; the covariance after P. D. Joseph, as in textbooks.
    """
    nu = np.atleast_1d(np.asarray(off, dtype=np.float64))
    h = np.atleast_2d(np.asarray(share, dtype=np.float64))
    r = np.atleast_1d(np.asarray(variance, dtype=np.float64))
    if h.shape != (nu.size, belief.mean.size) or r.shape != nu.shape:
        raise ValueError("readings, their shares and variances do not fit")
    if not (r > 0.0).all():
        raise ValueError("the variance of a reading is above 0")
    told = np.isfinite(r)
    if not told.all():
        nu, h, r = nu[told], h[told], r[told]
    if not nu.size:
        return belief
    ph = belief.cov @ h.T
    s = h @ ph
    s.flat[:: s.shape[0] + 1] += r
    gain = np.linalg.solve(s, ph.T).T
    left = -gain @ h
    left.flat[:: left.shape[0] + 1] += 1.0
    cov = left @ belief.cov @ left.T + (gain * r) @ gain.T
    return Belief(belief.mean + gain @ nu, 0.5 * (cov + cov.T))
