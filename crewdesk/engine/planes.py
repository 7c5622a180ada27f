"""Planes under the cost of a loop: valid for every plan, touching at one."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from crewdesk.engine.course import Course
from crewdesk.engine.limits import Limits, Pattern
from crewdesk.engine.master import Cut, Master, Priced
from crewdesk.engine.tree import Tree

Floats = NDArray[np.float64]

GRID = 49
"""Points along each axle's hazard where a plane under the puncture cost is checked."""


class Planes:
    """Makes planes for one tree, one set of weights over the scenarios."""

    def __init__(
        self,
        course: Course,
        tree: Tree,
        limits: Limits,
        patterns: Sequence[Sequence[Pattern]],
        mass_kg: Sequence[float],
        weights: Floats,
    ) -> None:
        self.course = course
        self.tree = tree
        self.limits = limits
        self.patterns = patterns
        self.weights = weights
        self._mass = self._lightest(mass_kg)
        self._grids: dict[tuple[int, int], tuple[Floats, Floats, Floats, float]] = {}
        self._boxes = [self._box(loop) for loop in range(tree.n_loops)]
        self._hazard = [np.append(h @ weights, 0.0) for h in tree.hazard]

    def _lightest(self, mass_kg: Sequence[float]) -> list[float]:
        """Return the lightest wheel of each class. [kg]."""
        found = [np.inf] * self.limits.n_classes
        for group, kind in enumerate(self.limits.class_of):
            found[kind] = min(found[kind], mass_kg[group])
        return found

    def added_kg(self, pattern: Pattern) -> float:
        """Return the least mass of a pattern's spares. [kg]."""
        return float(sum(self._mass[k] for k in pattern.spares))

    def time_plane(self, loop: int, mu: Floats, added_kg: float) -> Cut:
        """Return a plane under the stage time of a loop.

        Parameters
        ----------
        loop : int
            Loop.
        mu : numpy.ndarray, shape (K, S, 4, 3)
            Grips at which it touches.
        added_kg : float
            Mass of the spares at which it touches. [kg]

        Returns
        -------
        Cut
            Plane in the paths and the patterns.

        Notes
        -----
        Stage time is convex in the grips, and in grips and the logarithm of the mass
        factor together; the plane is the tangent in both.

        References
        ----------
        .. [1] Convex analysis: a tangent lies below a convex function.
        """
        value, slope = self.course.tangent(loop, mu, added_kg)
        weighted = slope * self.weights[None, :, None, None]
        rows = np.zeros(self.tree.corner[loop].size + 1)
        for corner in range(4):
            at = np.flatnonzero(self.tree.corner[loop] == corner)
            if at.size:
                grips = self.tree.mu[loop][at]
                rows[at] = grips.reshape(at.size, -1) @ weighted[:, :, corner].reshape(-1)
        base = float((value * self.weights).sum() - (weighted * mu).sum())
        here = self.course.mass_log(loop, added_kg)
        lift: dict[float, float] = {}
        const = []
        for pattern in self.patterns[loop]:
            added = self.added_kg(pattern)
            if added not in lift:
                there = self.course.mass_log(loop, added)
                lift[added] = float((value * (there - here) * self.weights).sum())
            const.append(base + lift[added])
        return Cut(loop, 0, rows, np.array(const))

    def _box(self, loop: int) -> dict[tuple[int, int], tuple[float, float]]:
        """Return least and most hazard of an axle by (axle, class), over all scenarios."""
        box: dict[tuple[int, int], tuple[float, float]] = {}
        corner, group = self.tree.corner[loop], self.tree.group[loop]
        kind = np.array(self.limits.class_of, dtype=np.int64)[group]
        for k in range(self.limits.n_classes):
            ends = []
            for c in range(4):
                at = (corner == c) & (kind == k)
                hazard = self.tree.hazard[loop][at]
                low = float(hazard.min()) if hazard.size else 0.0
                high = float(hazard.max()) if hazard.size else 0.0
                ends.append((low, high))
            for axle in range(2):
                one, two = ends[2 * axle], ends[2 * axle + 1]
                box[axle, k] = (one[0] + two[0], one[1] + two[1])
        return box

    def _cost(self, loop: int, pattern: Pattern, front: Floats, rear: Floats) -> Floats:
        """Return the puncture cost of a pattern at hazards of the axles. [s]."""
        hazard = np.zeros((*front.shape, 4))
        hazard[..., 0], hazard[..., 2] = front, rear
        return self.course.punctures_s(loop, hazard, pattern.covers)

    def cost_s(self, loop: int, pattern: int, front: float, rear: float) -> float:
        """Return the weighted puncture cost of a pattern at hazards of the axles. [s]."""
        what = self.patterns[loop][pattern]
        cost = self._cost(loop, what, np.array([front]), np.array([rear]))
        return float(cost[0]) * float(self.weights.sum())

    def _grid(self, loop: int, pattern: int) -> tuple[Floats, Floats, Floats, float]:
        """Return a pattern's cost over its box: front, rear, cost, square of a cell."""
        key = (loop, pattern)
        if key not in self._grids:
            what = self.patterns[loop][pattern]
            f0, f1 = self._boxes[loop][0, what.front]
            r0, r1 = self._boxes[loop][1, what.rear]
            front, rear = np.linspace(f0, f1, GRID), np.linspace(r0, r1, GRID)
            mesh = np.meshgrid(front, rear)
            cost = self._cost(loop, what, mesh[0], mesh[1])
            cell = ((f1 - f0) / (GRID - 1)) ** 2 + ((r1 - r0) / (GRID - 1)) ** 2
            self._grids[key] = (front, rear, cost, cell)
        return self._grids[key]

    def puncture_plane(
        self, loop: int, touch: int | None, front: float = 0.0, rear: float = 0.0
    ) -> Cut:
        r"""Return a plane under the puncture cost of a loop.

        Parameters
        ----------
        loop : int
            Loop.
        touch : int or None
            Pattern whose slope it takes; None: a level for each pattern.
        front, rear : float
            Hazards of the axles at which it touches.

        Returns
        -------
        Cut
            Plane in the paths and the patterns.

        Notes
        -----
        For every pattern p the constant is the least of
        :math:`J_p(H) - \langle a, H \rangle` over a grid on the box of possible hazards,
        less what the function can dip between its points.

        References
        ----------
        .. [1] Lower envelope of a smooth function on a box.
        """
        slope = np.zeros(2)
        if touch is not None:
            pattern = self.patterns[loop][touch]
            step = 1e-6
            at = np.array([[front, rear], [front + step, rear], [front, rear + step]])
            cost = self._cost(loop, pattern, at[:, 0], at[:, 1])
            slope = (cost[1:] - cost[0]) / step
        settings = self.course.problem.settings
        curve = 2.0 * (settings.wheel_lost_s + settings.wheel_change_s)
        total = float(self.weights.sum())
        const = []
        for p in range(len(self.patterns[loop])):
            front_at, rear_at, cost, cell = self._grid(loop, p)
            if touch is None:
                const.append(total * float(cost[0, 0]))
                continue
            value = cost - slope[0] * front_at - slope[1] * rear_at[:, None]
            const.append(total * (float(value.min()) - curve * cell / 8.0))
        rows = np.zeros(self.tree.corner[loop].size + 1)
        axle = self.tree.corner[loop] // 2
        rows[:-1] = slope[axle] * self._hazard[loop][:-1]
        return Cut(loop, 1, rows, np.array(const))

    def row_hazard(self, loop: int, rows: NDArray[np.int64]) -> Floats:
        """Return the mean hazard of some rows of a loop."""
        return np.asarray(self._hazard[loop][rows] / float(self.weights.sum()))

    def axle_hazards(self, loop: int, rows: Sequence[int]) -> tuple[float, float]:
        """Return the mean hazards of front and rear with rows on the corners."""
        total = float(self.weights.sum())
        hazard = [float(self._hazard[loop][r]) / total for r in rows]
        return hazard[0] + hazard[1], hazard[2] + hazard[3]

    def opening_plane(self, loop: int) -> Cut:
        """Return a plane touching at the mean of all rows of a loop."""
        tree = self.tree
        grips = []
        for corner in range(4):
            at = np.flatnonzero(tree.corner[loop] == corner)
            grips.append(tree.mu[loop][at].mean(axis=0))
        added = self.added_kg(self.patterns[loop][0])
        return self.time_plane(loop, np.stack(grips, axis=2), added)

    def tighten(self, master: Master, priced: Priced, least_s: float = 1e-3) -> bool:
        """Add planes that touch at the relaxed plan; return whether that raised anything."""
        tree = self.tree
        raised = False
        paths = np.array(list(priced.share), dtype=np.int64)
        share = np.array(list(priced.share.values()))
        for loop in range(tree.n_loops):
            rows = tree.rows[loop, paths]
            on = rows >= 0
            corner = tree.corner[loop][rows[on]]
            grips, hazards = [], []
            for c in range(4):
                at, part = rows[on][corner == c], share[on][corner == c]
                part = part / max(part.sum(), 1e-12)
                grips.append(np.tensordot(part, tree.mu[loop][at], axes=1))
                hazards.append(float(part @ self.row_hazard(loop, at)))
            z = priced.pattern_share[loop]
            n_kg = sum(
                float(z[p]) * self.added_kg(pattern)
                for p, pattern in enumerate(self.patterns[loop])
            )
            mu = np.stack(grips, axis=2)
            time_s = float(self.course.time_s(loop, mu[None], n_kg)[0] @ self.weights)
            if time_s - priced.eta_s[2 * loop] > least_s:
                cut = self.time_plane(loop, mu, n_kg)
                if _over(master, cut, priced) > least_s:
                    master.add_cut(cut)
                    raised = True
            front, rear = hazards[0] + hazards[1], hazards[2] + hazards[3]
            used = [int(p) for p in np.flatnonzero(z > 0.05)]
            cost_s = sum(float(z[p]) * self.cost_s(loop, p, front, rear) for p in used)
            if cost_s - priced.eta_s[2 * loop + 1] <= least_s:
                continue
            for p in used:
                cut = self.puncture_plane(loop, p, front, rear)
                if _over(master, cut, priced) > least_s:
                    master.add_cut(cut)
                    raised = True
        return raised


def _over(master: Master, cut: Cut, priced: Priced) -> float:
    """Return by how much a plane lies above the relaxed plan. [s]."""
    at = sum(
        share * float(cut.slope_s[master.tree.rows[cut.loop, path]])
        for path, share in priced.share.items()
    )
    at += float(cut.const_s @ priced.pattern_share[cut.loop])
    return at - master.floor_s(cut, priced)
