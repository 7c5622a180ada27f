"""The worst tenth of the scenarios, and weights that stand for it."""

from math import ceil

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def tail_count(n_scenarios: int) -> int:
    """Return how many scenarios make the worst tenth."""
    return ceil(n_scenarios / 10)


def mean_of_worst(cost_s: Floats) -> Floats:
    """Return the mean over the worst tenth of the scenarios, the last axis. [s]."""
    n = tail_count(cost_s.shape[-1])
    return np.asarray(np.sort(cost_s, axis=-1)[..., -n:].mean(axis=-1))


def tail_weights(cost_s: Floats, weight: float) -> Floats:
    """Return weights over scenarios under which a cost of (S,) gives its own objective.

    For any other plan they give no more than its objective.
    """
    s = cost_s.size
    weights = np.full(s, 1.0 / s)
    n = tail_count(s)
    worst = np.argsort(cost_s, kind="stable")[-n:]
    weights[worst] += weight / n
    return weights
