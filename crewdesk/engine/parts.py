"""Parts of plans, and what is picked among the ways to go on with them."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Mask = NDArray[np.bool_]

PAIRS = 24
"""Pairs on an axle that a part of a plan goes on with where only plans are wanted. Tuning
value."""
APART = 1e6
"""Keeps the stretches of a sorted list apart: more than any two prices differ by. [s]"""


@dataclass(frozen=True)
class Parts:
    """B parts of plans, each the first loops of T tyres at most."""

    stem: Ints
    """(B, T), -1 where there is no tyre."""
    group: Ints
    """(B, T)"""
    used: Ints
    """(B, G)"""
    least_s: Floats
    """(B,), no plan that begins like this costs less. [s]"""

    def take(self, rows: Ints | Mask) -> "Parts":
        """Return some of them."""
        return Parts(self.stem[rows], self.group[rows], self.used[rows], self.least_s[rows])


def apart(quad: Ints, t: int) -> Mask:
    """Return whether no open tyre stands on both axles."""
    ok = np.ones(quad.shape[0], dtype=bool)
    for i in (0, 1):
        for j in (2, 3):
            ok &= (quad[:, i] != quad[:, j]) | (quad[:, i] >= t)
    return ok


@dataclass(frozen=True)
class Listed:
    """Pairs on an axle, sorted by part and price."""

    part: Ints
    one: Ints
    two: Ints
    price: Floats


def listed(pair: Floats, most: Floats, all_: bool) -> Listed:
    """Return the pairs of an axle that are cheap enough, or the best of each part."""
    b, n, _ = pair.shape
    flat = pair.reshape(b, n * n)
    limit = most
    if not all_ and n * n > PAIRS:
        limit = np.partition(flat, PAIRS, axis=1)[:, PAIRS]
    part, at = np.nonzero((flat <= limit[:, None]) & np.isfinite(flat))
    price = flat[part, at]
    order = np.lexsort((price, part))
    part, at, price = part[order], at[order], price[order]
    return Listed(part, at // n, at % n, price)


def crossed(f: Listed, r: Listed, slack: Floats) -> tuple[Ints, Ints]:
    """Return which front pairs meet which rear pairs of the same part within its slack."""
    if not f.part.size or not r.part.size:
        none = np.zeros(0, dtype=np.int64)
        return none, none
    key = r.part * APART + r.price
    start = np.searchsorted(r.part, f.part, side="left")
    room = np.minimum(slack[f.part] - f.price, 0.45 * APART)
    # What rounding of the keys lets in too much is looked at once more by its cost.
    end = np.searchsorted(key, f.part * APART + room + 1e-5, side="right")
    count = np.maximum(end - start, 0)
    at_f = np.repeat(np.arange(f.part.size), count)
    offset = np.arange(at_f.size) - np.repeat(np.cumsum(count) - count, count)
    return at_f, np.repeat(start, count) + offset


def best_of_each(owner: Ints, cost: Floats, most: int) -> Ints:
    """Return the cheapest of each part, so many at most."""
    order = np.lexsort((cost, owner))
    order = order[np.isfinite(cost[order])]
    sorted_ = owner[order]
    start = np.searchsorted(sorted_, sorted_, side="left")
    return np.sort(order[np.arange(order.size) - start < most])


def joined(found: list[Parts]) -> Parts:
    """Return several sets of parts as one."""
    wide = max(p.stem.shape[1] for p in found)

    def padded(values: Ints, fill: int) -> Ints:
        more = wide - values.shape[1]
        return np.pad(values, ((0, 0), (0, more)), constant_values=fill)

    return Parts(
        np.concatenate([padded(p.stem, -1) for p in found]),
        np.concatenate([padded(p.group, 0) for p in found]),
        np.concatenate([p.used for p in found]),
        np.concatenate([p.least_s for p in found]),
    )


def without_twins(parts: Parts) -> Parts:
    """Return each part once."""
    if parts.least_s.size < 2:
        return parts
    return parts.take(np.sort(once(parts.stem)[0]))


def once(rows: Ints) -> tuple[Ints, Ints]:
    """Return where each row stands first, and which of these each row is."""
    whole = np.ascontiguousarray(rows)
    view = whole.view(np.dtype((np.void, whole.dtype.itemsize * whole.shape[1]))).ravel()
    _, first, back = np.unique(view, return_index=True, return_inverse=True)
    return first, back.ravel()
