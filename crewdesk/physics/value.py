"""What a tyre is worth, and what a stage takes off it."""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

FIRST_FITTING_SHARE: Final = 0.40
"""Share of the price gone when a tyre is first fitted to a hub. Common practice."""


def state_share(
    mean_mm: ArrayLike,
    sharpness: ArrayLike,
    *,
    tread_new_mm: ArrayLike,
    worthless_mm: ArrayLike,
    edge_value_share: ArrayLike,
) -> Floats:
    r"""Return the share of its worth that a tyre keeps by depth and edges.

    Parameters
    ----------
    mean_mm : array_like
        Mean of the three depths. [mm]
    sharpness : array_like
        Mean of the three edges.
    tread_new_mm, worthless_mm : array_like
        Depth when new, and depth at which nothing is left of the worth. [mm]
    edge_value_share : array_like
        Share of the worth that goes with the edges.

    Returns
    -------
    numpy.ndarray, float64
        0 to 1.

    Notes
    -----
    .. math:: \mathrm{clip}\left(\frac{d - d_{min}}{d_{new} - d_{min}}, 0, 1\right)
       (1 - \zeta (1 - \bar S))

    References
    ----------
    .. [1] Tuning values of this project.
    """
    least = np.asarray(worthless_mm, dtype=np.float64)
    depth = (np.asarray(mean_mm, dtype=np.float64) - least) / (
        np.asarray(tread_new_mm, dtype=np.float64) - least
    )
    dull = 1.0 - np.asarray(sharpness, dtype=np.float64)
    edges = 1.0 - np.asarray(edge_value_share, dtype=np.float64) * dull
    return np.asarray(np.clip(depth, 0.0, 1.0) * edges)


def value_linear(price: ArrayLike, share: ArrayLike) -> Floats:
    """Return the worth of a tyre that loses nothing by being fitted.

    Parameters
    ----------
    price : array_like
        Price new. [money]
    share : array_like
        From `state_share`.

    Returns
    -------
    numpy.ndarray, float64
        Worth. [money]

    Notes
    -----
    Price times share.

    References
    ----------
    .. [1] Tuning rule of this project.
    """
    return np.asarray(np.asarray(price, dtype=np.float64) * np.asarray(share, dtype=np.float64))


def value_now(
    price: ArrayLike, share: ArrayLike, *, ever_fitted: ArrayLike, terms: str = "own"
) -> Floats:
    r"""Return the worth of a tyre by its terms.

    Parameters
    ----------
    price : array_like
        Price new. [money]
    share : array_like
        From `state_share`.
    ever_fitted : array_like of bool
        It has been fitted to a hub, at this event or before; being on a rim or carried
        does not count.
    terms : str
        ``own``, ``returnable`` (bought when first fitted) or ``hired`` (nothing left
        when first fitted).

    Returns
    -------
    numpy.ndarray, float64
        Worth. [money]

    Raises
    ------
    ValueError
        If the terms are unknown.

    Notes
    -----
    .. math:: V = P \text{ before the first fitting}, \quad
       V = 0.6 P \cdot share \text{ after it}

    A tyre never fitted is worth its price whatever its shape, so that value lost sums to
    what was paid.

    References
    ----------
    .. [1] Common practice, no source.

    Examples
    --------
    >>> float(value_now(200.0, 0.5, ever_fitted=True))
    60.0
    """
    if terms not in {"own", "returnable", "hired"}:
        raise ValueError(f"unknown terms {terms!r}")
    full = np.asarray(price, dtype=np.float64)
    kept = 0.0 if terms == "hired" else 1.0 - FIRST_FITTING_SHARE
    used = kept * full * np.asarray(share, dtype=np.float64)
    return np.where(np.asarray(ever_fitted, dtype=bool), used, full)


def seconds_from_money(money: ArrayLike, money_per_s: float) -> Floats:
    """Return what money is worth in time.

    Parameters
    ----------
    money : array_like
        Money.
    money_per_s : float
        Money one second is worth; 0: money does not count.

    Returns
    -------
    numpy.ndarray, float64
        Time. [s]

    Raises
    ------
    ValueError
        If the price of a second is negative.

    Notes
    -----
    A quotient, or 0 where money does not count.

    References
    ----------
    .. [1] Set by the crew.
    """
    if money_per_s < 0.0:
        raise ValueError("the price of a second cannot be negative")
    worth = np.asarray(money, dtype=np.float64)
    return np.zeros_like(worth) if money_per_s == 0.0 else np.asarray(worth / money_per_s)
