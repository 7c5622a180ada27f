"""Which tyres are carried where one loop's choice binds another's."""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement

import numpy as np
from numpy.typing import NDArray

from crewdesk.documents.itinerary import ChangePlace
from crewdesk.engine.counting import TOTAL, newly_counted
from crewdesk.engine.groups import Lineup
from crewdesk.engine.limits import Limits

Floats = NDArray[np.float64]
Corners = tuple[int, int, int, int]
Spares = tuple[int, ...]

NODES = 3000
"""Choices looked at for one plan; what is found by then is taken."""


@dataclass(frozen=True)
class Offer:
    """What may be carried in a loop with given tyres on the corners."""

    spares: list[Spares]
    cost_s: Floats
    """(n, S), cost of the loop. [s]"""
    best: int
    """Cheapest on the mean; -1 where nothing may be."""


def behind(places: Sequence[ChangePlace], busy: Sequence[int]) -> tuple[int | None, ...]:
    """Return, by loop with stages, the loop whose car holds all that is there for it.

    Parameters
    ----------
    places : sequence of ChangePlace
        In order of time.
    busy : sequence of int
        Numbers of the places whose loops have stages.

    Returns
    -------
    tuple
        None where other tyres can be fitted as well.

    Notes
    -----
    A remote place has only what is on board as the car comes in.

    References
    ----------
    .. [1] Regulation set of the event.
    """
    found: list[int | None] = []
    for number in busy:
        at = number
        while at >= 0 and places[at].remote:
            at -= 1
            if at in busy:
                break
        found.append(busy.index(at) if at in busy and at < number else None)
    return tuple(found)


class Carry:
    """Picks spares for all loops at once."""

    def __init__(
        self,
        lineup: Lineup,
        limits: Limits,
        after: Sequence[int | None],
        place_of: Sequence[int],
    ) -> None:
        self._limits = limits
        self.after = after
        self._place_of = place_of
        self._counting = frozenset(g.index for g in lineup.groups if TOTAL in g.tyre.draws_on)
        self.binds = bool(limits.spans) or any(a is not None for a in after)

    def pick(
        self,
        corners: Sequence[Corners],
        owners: Sequence[Corners],
        options: Sequence[Offer],
        base: Floats,
        objective: Callable[[Floats], float],
        weight: float,
    ) -> list[int] | None:
        """Return which option of each loop makes the plan cheapest, or None.

        Parameters
        ----------
        corners, owners : sequence
            Paths and groups on the corners, by loop.
        options : sequence
            What may be carried, with the loop's cost, by loop.
        base : numpy.ndarray, shape (S,)
            Cost beside. [s]
        objective : callable
            Objective of a cost.
        weight : float
            Of the worst tenth.

        Returns
        -------
        list of int or None
            None where nothing keeps the limits of legs and places.

        Notes
        -----
        Depth first, the cheapest first, with the mean as a bound; no more than ``NODES``.

        References
        ----------
        .. [1] Branch and bound (operations research textbooks).
        """
        on = [Counter(row) for row in owners]
        seen: set[int] = set()
        firsts: list[Counter[int]] = []
        for row, groups in zip(corners, owners, strict=True):
            fresh = [g for p, g in zip(row, groups, strict=True) if p not in seen]
            firsts.append(Counter(fresh))
            seen |= set(row)
        mean = [[float(m) for m in found.cost_s.mean(axis=1)] for found in options]
        order = [[int(i) for i in np.argsort(m, kind="stable")] for m in mean]
        rest = [0.0]
        for m in reversed(mean):
            rest.append(rest[-1] + min(m))
        rest.reverse()
        best: tuple[float, list[int]] | None = None
        left = NODES
        stack: list[tuple[list[int], Floats, float]] = [([], base, float(base.mean()))]
        while stack and left > 0:
            left -= 1
            picked, cost, so_far = stack.pop()
            loop = len(picked)
            if best is not None and (1.0 + weight) * (so_far + rest[loop]) >= best[0] - 1e-10:
                continue
            if loop == len(options):
                total = objective(cost)
                if best is None or total < best[0] - 1e-10:
                    best = (total, picked)
                continue
            for i in reversed(order[loop]):
                more = [*picked, i]
                spares = [options[k].spares[j] for k, j in enumerate(more)]
                if self._keeps(corners, owners, on, firsts, spares):
                    stack.append((more, cost + options[loop].cost_s[i], so_far + mean[loop][i]))
        return None if best is None else best[1]

    def _keeps(
        self,
        corners: Sequence[Corners],
        owners: Sequence[Corners],
        on: Sequence[Counter[int]],
        firsts: Sequence[Counter[int]],
        spares: Sequence[Spares],
    ) -> bool:
        """Return whether the loops so far keep the limits."""
        loop = len(spares) - 1
        before = self.after[loop]
        if before is not None:
            aboard = Counter(spares[before])
            for path, group in zip(corners[loop], owners[loop], strict=True):
                aboard[group] -= path not in corners[before]
            if any(n < 0 for n in aboard.values()):
                return False
            for path, group in zip(corners[before], owners[before], strict=True):
                aboard[group] += path not in corners[loop]
            if any(aboard[g] < n for g, n in Counter(spares[loop]).items()):
                return False
        if not self._limits.spans:
            return True
        counted = newly_counted(
            on,
            firsts,
            spares,
            self._counting,
            carried_counts=self._limits.carried_counts,
        )
        for span in self._limits.spans:
            n = sum(c for k, c in enumerate(counted) if self._place_of[k] in span.places)
            if n > span.left:
                return False
        return True


def sets_of(members: list[list[int]]) -> list[Spares]:
    """Return the sets of up to two tyres, one for each pair of kinds."""
    sets: list[Spares] = [()]
    sets.extend((m[0],) for m in members)
    for a, b in combinations_with_replacement(range(len(members)), 2):
        if a != b:
            one, two = sorted((members[a][0], members[b][0]))
            sets.append((one, two))
        elif len(members[a]) > 1:
            one, two = sorted(members[a][:2])
            sets.append((one, two))
    return sets


def sets_with(must: Spares, members: list[list[int]]) -> list[Spares]:
    """Return the sets that hold the tyres the crew fixed."""
    if len(must) >= 2:
        return [tuple(must[:2])]
    others = [[g for g in m if g != must[0]] for m in members]
    sets: list[Spares] = [(must[0],)]
    for other in others:
        if other:
            one, two = sorted((must[0], other[0]))
            sets.append((one, two))
    return sets
