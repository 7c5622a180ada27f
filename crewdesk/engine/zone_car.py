"""What a car can go on with from a tyre zone when wheels that were planned there are lost."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from crewdesk.engine.checks import breaches, check_plan
from crewdesk.engine.counting import left_of
from crewdesk.engine.evaluate import Evaluator, Fit
from crewdesk.engine.groups import Lineup, Tyre, is_left
from crewdesk.engine.problem import Problem
from crewdesk.regulations.predicates import axle_level

Floats = NDArray[np.float64]

NEAR_S = 2.0
"""How near to the best car it is looked for. Tuning value of this project. [s]"""
TRIES = 12
"""Cars asked the rules for what is left after one loss; one without a breach is worth a third
of them. Tuning value of this project."""


class ZoneCar:
    """Finds the best car that can go on from a zone, and by how much it is the slower one."""

    def __init__(
        self,
        problem: Problem,
        lineup: Lineup,
        evaluator: Evaluator,
        busy: Sequence[int],
        every: Sequence[Fit],
        number: int,
    ) -> None:
        self._problem, self._lineup, self._evaluator = problem, lineup, evaluator
        self._busy, self._every, self._number = busy, every, number
        self._loop = busy.index(number)
        self._fits = [every[n] for n in busy]
        self._mu = evaluator.loop_mu(self._loop, self._fits)
        self._changed: dict[tuple[bool, int, int], float | None] = {}
        self._known: dict[frozenset[int], float] = {}
        self._floor_s: dict[int, float] = {}
        fit = every[number]
        run = {t: evaluator.step(t, self._steps(t, c)).run for c, t in enumerate(fit[:4])}
        self._hazard = np.stack([run[t].hazard[0] for t in fit[:4]], axis=-1)
        self._spares_s = self._punctures_s(fit)
        carried = problem.rules.count_rule == "fitted_or_carried"
        before = every[:number]
        self._counted = {
            t for f in before for i, t in enumerate(f) if t >= 0 and (i < 4 or carried)
        }
        self._left = left_of(problem)
        for tyre in self._counted:
            for key in lineup.tyres[tyre].draws_on:
                if key in self._left:
                    self._left[key] -= 1

    def left_with(self, there: frozenset[int]) -> float:
        """Return by how much the best car from some wheels is slower than the plan's.

        Parameters
        ----------
        there : frozenset of int
            Canonical indices of the sound wheels in the zone.

        Returns
        -------
        float
            A lost wheel where no car without a breach can be made of them. [s]

        Notes
        -----
        Seconds of single changes are added up; stage time is convex in the grips, so the sum
        is near for one or two wheels. What the tyres do in later loops is not looked at.

        References
        ----------
        .. [1] Branch and bound (operations research textbooks).
        """
        if there not in self._known:
            self._known[there] = self._search(there)
        return self._known[there]

    def _search(self, there: frozenset[int]) -> float:
        fewest_s = self._fewest_s(len(there) - 4)
        lost_s = self._problem.settings.wheel_lost_s
        if fewest_s >= lost_s:
            return lost_s
        # First with the planned wheels where they are planned, as a crew would.
        plan = self._every[self._number]
        kept = [
            [(0.0, t)] if t in there else self._sorted(there, c) for c, t in enumerate(plan[:4])
        ]
        best = self._cheapest(kept, there, fewest_s)
        if best > fewest_s + NEAR_S:
            free = [self._sorted(there, corner) for corner in range(4)]
            best = min(best, self._cheapest(free, there, fewest_s))
        return best

    def _cheapest(
        self, costs: Sequence[list[tuple[float, int]]], there: frozenset[int], fewest_s: float
    ) -> float:
        least = [min((s for s, _ in row), default=np.inf) for row in costs]
        rest = [sum(least[c:]) for c in range(5)]
        best, left = self._problem.settings.wheel_lost_s, TRIES
        stack: list[tuple[float, tuple[int, ...]]] = [(0.0, ())]
        while stack and left > 0:
            so_far, four = stack.pop()
            corner = len(four)
            if so_far + rest[corner] + fewest_s >= best - NEAR_S:
                continue
            if corner == 4:
                more = self._car_s(four, there)
                left -= 1 if more is None else TRIES // 3
                if more is not None:
                    best = min(best, so_far + more)
                continue
            stack.extend(
                (so_far + seconds, (*four, tyre))
                for seconds, tyre in reversed(costs[corner])
                if tyre not in four
                and self._goes_beside(four, tyre)
                and self._has_room((*four, tyre))
            )
        return best

    def _fewest_s(self, left: int) -> float:
        """Return the least that fewer spares cost with some wheels left beside the corners."""
        planned = sum(t >= 0 for t in self._every[self._number][4:])
        n = min(planned, left)
        if n < self._problem.rules.spare_min:
            return np.inf
        if n not in self._floor_s:
            whole = np.ones((n, 4), dtype=bool)
            cost = self._evaluator.course.punctures_s(self._loop, self._hazard, whole)
            self._floor_s[n] = max(float(cost.mean()) - self._spares_s, 0.0)
        return self._floor_s[n]

    def _sorted(self, there: frozenset[int], corner: int) -> list[tuple[float, int]]:
        """Return what each wheel costs on a corner, the cheapest first."""
        found = [(s, t) for t in there if (s := self._change_s(t, corner)) is not None]
        return sorted(found)

    def _goes_beside(self, four: tuple[int, ...], tyre: int) -> bool:
        if len(four) not in (1, 3):
            return True
        beside = self._lineup.tyres[four[-1]].given.stock
        stock = self._lineup.tyres[tyre].given.stock
        return axle_level(beside, stock, self._problem.rules) != "block"

    def _has_room(self, tyres: tuple[int, ...]) -> bool:
        """Return whether the limits let some tyres be fitted in the zone."""
        drawn: dict[str, int] = {}
        for tyre in tyres:
            if tyre not in self._counted:
                for key in self._lineup.tyres[tyre].draws_on:
                    drawn[key] = drawn.get(key, 0) + 1
        return all(n <= self._left.get(key, n) for key, n in drawn.items())

    def _car_s(self, four: tuple[int, ...], there: frozenset[int]) -> float | None:
        """Return what fewer or other spares cost with four tyres; None: a rule is broken."""
        plan = self._every[self._number]
        carried = [t for t in plan[4:] if t >= 0]
        left = sorted(there - set(four), key=lambda t: (t not in carried, t))
        for n in range(min(len(carried), len(left)), -1, -1):
            spares = [*left[:n], -1, -1]
            fit = (four[0], four[1], four[2], four[3], spares[0], spares[1])
            if not self._breaks(fit):
                return max(self._punctures_s(fit) - self._spares_s, 0.0)
        return None

    def _breaks(self, fit: Fit) -> bool:
        """Return whether a car in the zone breaks a rule there."""
        fits = [*self._every[: self._number], fit]
        key = self._problem.places[self._number].key
        checks = check_plan(self._problem, self._lineup, fits, None, (), self._busy)
        return any(c.values.get("place") == key for c in breaches(checks))

    def _punctures_s(self, fit: Fit) -> float:
        course, covers = self._evaluator.course, self._evaluator.covers(fit)
        return float(course.punctures_s(self._loop, self._hazard, covers).mean())

    def _steps(self, tyre: int, corner: int) -> tuple[int, ...]:
        return (*self._evaluator.path(tyre, self._fits)[: self._loop], corner)

    def _change_s(self, tyre: int, corner: int) -> float | None:
        """Return what a tyre on a corner costs against the plan's; None: it cannot go there."""
        if self._every[self._number][corner] == tyre:
            return 0.0
        used = any(tyre in fit for fit in self._every)
        # Tyres that the plan leaves alone are as good as their like.
        key = (used, tyre if used else self._lineup.like[tyre], corner)
        if key not in self._changed:
            subject = self._lineup.tyres[tyre]
            fits = corner in subject.corners and self._turns(subject, corner)
            self._changed[key] = self._changed_s(subject, corner) if fits else None
        return self._changed[key]

    def _changed_s(self, subject: Tyre, corner: int) -> float | None:
        course = self._evaluator.course
        step = self._evaluator.step(subject.index, self._steps(subject.index, corner))
        if step.room_mm < 0.0:
            return None
        fit = self._every[self._number]
        mass = sum(course.spec(self._lineup.tyres[t]).mass_kg for t in fit[4:] if t >= 0)
        mu = np.stack([self._mu, self._mu])
        mu[1, :, :, corner] = step.run.mu[0]
        before, after = course.time_s(self._loop, mu, mass).mean(axis=1)
        planned = self._evaluator.step(fit[corner], self._steps(fit[corner], corner))
        risk_s = course.problem.settings.tread_risk_s * (step.below - planned.below)
        fresh = 0.0
        if not any(subject.index in f[:4] for f in self._fits):
            fresh = course.first_fit_of(subject)
        # A tyre that is quicker here is kept for a loop in which it is worth more.
        return max(float(after - before + risk_s + fresh), 0.0)

    def _turns(self, subject: Tyre, corner: int) -> bool:
        """Return whether a tyre of one sense of rotation keeps its side."""
        if not subject.one_side:
            return True
        sides = {is_left(f.index(subject.index)) for f in self._fits if subject.index in f[:4]}
        return sides <= {is_left(corner)}
