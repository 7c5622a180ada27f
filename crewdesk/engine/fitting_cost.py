"""What the fitting of one loop costs beyond what the priced planes say."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from crewdesk.engine.course import Course
from crewdesk.engine.master import Master, Priced
from crewdesk.engine.parts import once
from crewdesk.engine.planes import Planes

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

CELLS = 400_000
"""Grips looked at at once, as numbers."""


class FittingCost:
    """Exact cost of four tyres and the spares beside them, less the planes as priced."""

    def __init__(
        self,
        course: Course,
        master: Master,
        planes: Planes,
        priced: Priced,
        open_: Sequence[NDArray[np.bool_]] | None = None,
    ) -> None:
        self._course = course
        self._tree = master.tree
        self._planes = planes
        self._patterns = master.patterns
        self.n_classes = master.limits.n_classes
        self._slope, self._const = master.priced_planes(priced)
        self._open = open_
        self._price = [np.maximum(p, 0.0) for p in priced.pattern_price]
        self._groups = [self._by_axles(loop) for loop in range(self._tree.n_loops)]

    def _by_axles(self, loop: int) -> dict[tuple[int, int], Ints]:
        """Return the patterns of a loop by their classes on the axles."""
        found: dict[tuple[int, int], list[int]] = {}
        for number, pattern in enumerate(self._patterns[loop]):
            if self._open is not None and not self._open[loop][number]:
                continue
            found.setdefault((pattern.front, pattern.rear), []).append(number)
        return {key: np.array(numbers, dtype=np.int64) for key, numbers in found.items()}

    def least(self, loop: int, front: Ints, rear: Ints) -> Floats:
        """Return the least price of a pattern with these classes on the axles. [s]."""
        table = np.full((self.n_classes, self.n_classes), np.inf)
        for key, numbers in self._groups[loop].items():
            table[key] = float(self._price[loop][numbers].min())
        return np.asarray(table[front, rear])

    def above(self, loop: int, rows: Ints, front: Ints, rear: Ints) -> Floats:
        """Return by how much fittings cost more than their rows and patterns are priced.

        Parameters
        ----------
        loop : int
            Loop.
        rows : numpy.ndarray, shape (N, 4)
            Rows of the loop on the corners.
        front, rear : numpy.ndarray, shape (N,)
            Classes on the axles.

        Returns
        -------
        numpy.ndarray, shape (N,)
            With the pattern that makes the whole cheapest; what ``least`` says is taken
            off. Never under 0 but for rounding. [s]
        """
        if not rows.shape[0]:
            return np.zeros(0)
        whole, back = once(rows)
        cost = self.by_pattern(loop, rows[whole], front[whole], rear[whole])
        cost += self._price[loop] - self._const[loop]
        found = cost.min(axis=1) - self.least(loop, front[whole], rear[whole])
        return np.asarray((found - self._slope[loop][rows[whole]].sum(axis=1))[back])

    def within(
        self, loop: int, rows: Ints, front: Ints, rear: Ints, there: NDArray[np.int64]
    ) -> Floats:
        """Return (N,) what fittings cost with the cheapest pattern that tyres are there for.

        ``there`` (N, classes) is how many of each class can be on board. [s]
        """
        whole, back = once(rows)
        cost = self.by_pattern(loop, rows[whole], front[whole], rear[whole])[back]
        kinds = range(self.n_classes)
        needs = np.array([[p.needs(k) for k in kinds] for p in self._patterns[loop]])
        enough = (needs[None] <= there[:, None, :]).all(axis=2)
        return np.asarray(np.where(enough, cost, np.inf).min(axis=1))

    def by_pattern(self, loop: int, rows: Ints, front: Ints, rear: Ints) -> Floats:
        """Return (N, patterns), time and punctures; infinite under classes of others. [s]."""
        found = np.full((rows.shape[0], len(self._patterns[loop])), np.inf)
        stages, scenarios = self._tree.mu[loop].shape[1:3]
        slice_ = max(CELLS // (12 * stages * scenarios), 1)
        for low in range(0, rows.shape[0], slice_):
            at = slice(low, low + slice_)
            self._fill(found[at], loop, rows[at], front[at], rear[at])
        return found

    def _fill(self, found: Floats, loop: int, rows: Ints, front: Ints, rear: Ints) -> None:
        """Fill in what some fittings cost with each pattern."""
        tree, course, weights = self._tree, self._course, self._planes.weights
        mu = np.stack([tree.mu[loop][rows[:, c]] for c in range(4)], axis=3)
        mu = mu.astype(np.float64, copy=False)
        hazard = np.stack([tree.hazard[loop][rows[:, c]] for c in range(4)], axis=-1)
        times: dict[float, Floats] = {}
        for key, numbers in self._groups[loop].items():
            at = np.flatnonzero((front == key[0]) & (rear == key[1]))
            if not at.size:
                continue
            for number in numbers:
                pattern = self._patterns[loop][int(number)]
                added = self._planes.added_kg(pattern)
                if added not in times:
                    times[added] = course.time_s(loop, mu, added) @ weights
                punctures_s = course.punctures_s(loop, hazard[at], pattern.covers)
                found[at, number] = times[added][at] + punctures_s @ weights
