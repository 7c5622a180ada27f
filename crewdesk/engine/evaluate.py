"""The exact cost of a plan whose tyres have names; the call and the judge both use it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from crewdesk.engine.course import Course
from crewdesk.engine.groups import REST, Lineup, is_left
from crewdesk.engine.result import LoopPlan, Objective
from crewdesk.engine.tail import mean_of_worst
from crewdesk.engine.tree import Run, State, turned
from crewdesk.physics.stage import StageRun
from crewdesk.regulations.predicates import spare_covers
from crewdesk.units import CORNERS, PLACES, Place

Floats = NDArray[np.float64]
Fit = tuple[int, int, int, int, int, int]
"""Canonical index of the tyre on FL FR RL RR SP1 SP2; -1: none."""


def fit_of(tyres: Lineup, fitting: Mapping[Place, str | None]) -> Fit:
    """Return a fitting by canonical index; raise KeyError for a tyre that is not there."""
    row = [tyres.index(t) if (t := fitting.get(p)) else -1 for p in PLACES]
    return (row[0], row[1], row[2], row[3], row[4], row[5])


def busy_fits(tyres: Lineup, plan: Sequence[LoopPlan]) -> list[Fit]:
    """Return the fittings of the loops with stages of a plan."""
    return [fit_of(tyres, loop.fitting) for loop in plan if loop.expected_s > 0.0]


@dataclass(frozen=True)
class Step:
    """A tyre's stay on a corner through one loop."""

    run: Run
    stages: tuple[StageRun, ...]
    ends_mm: Floats
    """(3,), mean over the scenarios. [mm]"""
    below: float
    """Chance of being below the minimum at the end."""
    room_mm: float
    """Mean least depth over what the rules ask. [mm]"""


@dataclass(frozen=True)
class Evaluated:
    """The cost of a plan, part by part and scenario by scenario."""

    time_s: Floats
    """(L, S)"""
    punctures_s: Floats
    """(L, S)"""
    risk_s: Floats
    """(L,)"""
    money_s: Floats
    """(S,)"""
    beyond_s: Floats
    """(S,)"""
    weight: float
    steps: Mapping[tuple[int, int], Step]
    """By loop and tyre."""

    @property
    def cost_s(self) -> Floats:
        """Total by scenario. [s]."""
        total = self.time_s.sum(axis=0) + self.punctures_s.sum(axis=0) + self.risk_s.sum()
        return np.asarray(total + self.money_s + self.beyond_s)

    @property
    def objective(self) -> Objective:
        """Parts of the objective."""
        return Objective(
            time_s=float(self.time_s.sum(axis=0).mean()),
            punctures_s=float(self.punctures_s.sum(axis=0).mean() + self.risk_s.sum()),
            money_s=float(self.money_s.mean()),
            beyond_s=float(self.beyond_s.mean()),
            worst_tenth_s=float(self.weight * mean_of_worst(self.cost_s)),
        )


class Evaluator:
    """Costs named plans over one course; remembers the paths it has seen."""

    def __init__(self, course: Course, lineup: Lineup) -> None:
        self.course = course
        self.lineup = lineup
        self._states: dict[tuple[int, tuple[int, ...]], tuple[State, int]] = {}
        self._steps: dict[tuple[int, tuple[int, ...]], Step] = {}

    def path(self, tyre: int, fits: Sequence[Fit]) -> tuple[int, ...]:
        """Return the steps of a tyre in a plan."""
        steps = []
        for fit in fits:
            at = [c for c in range(4) if fit[c] == tyre]
            steps.append(at[0] if at else REST)
        return tuple(steps)

    def state(self, tyre: int, steps: tuple[int, ...]) -> tuple[State, int]:
        """Return where some steps leave a tyre, and the side its edges belong to."""
        like = self.lineup.like[tyre]
        key = (like, steps)
        if key in self._states:
            return self._states[key]
        subject = self.lineup.tyres[tyre]
        if not steps:
            side = {"left": 0, "right": 1}.get(subject.side, -1)
            found = (self.course.start_of(subject), side)
        else:
            before, side = self.state(tyre, steps[:-1])
            loop, step = len(steps) - 1, steps[-1]
            if step == REST:
                found = (self.course.rest(loop, before), side)
            else:
                found = (self.step(tyre, steps).run.state, 0 if is_left(step) else 1)
        self._states[key] = found
        return found

    def step(self, tyre: int, steps: tuple[int, ...]) -> Step:
        """Return the last of some steps, which must be a corner."""
        key = (self.lineup.like[tyre], steps)
        if key not in self._steps:
            subject = self.lineup.tyres[tyre]
            before, side = self.state(tyre, steps[:-1])
            loop, corner = len(steps) - 1, steps[-1]
            wanted = 0 if is_left(corner) else 1
            before = turned(before, np.array([side == 1 - wanted]))
            run, stages = self.course.run_of(loop, subject, corner, before)
            ends = run.state.tread_mm[0].mean(axis=0)
            self._steps[key] = Step(
                run=run,
                stages=tuple(stages),
                ends_mm=ends,
                below=float(self.course.below(subject, ends[None])[0]),
                room_mm=float(self.course.room_mm(subject, run.state)[0]),
            )
        return self._steps[key]

    def loop_mu(self, loop: int, fits: Sequence[Fit]) -> Floats:
        """Return (K, S, 4, 3), grips in a loop."""
        grips = []
        for corner in range(4):
            tyre = fits[loop][corner]
            steps = self.path(tyre, fits)[: loop + 1]
            grips.append(self.step(tyre, steps).run.mu[0])
        return np.stack(grips, axis=2)

    def covers(self, fit: Fit) -> NDArray[np.bool_]:
        """Return (n, 4), where each spare could stand in."""
        stock = [t.given.stock for t in self.lineup.tyres]
        fitted = {c: stock[fit[i]] for i, c in enumerate(CORNERS)}
        rows = []
        for tyre in fit[4:]:
            if tyre >= 0:
                found = spare_covers(stock[tyre], fitted, self.course.problem.rules)
                rows.append([c in found for c in CORNERS])
        return np.array(rows, dtype=bool).reshape(len(rows), 4)

    def evaluate(
        self, fits: Sequence[Fit], also_fitted: frozenset[int] = frozenset()
    ) -> Evaluated:
        """Return the cost of a plan.

        Parameters
        ----------
        fits : sequence of Fit
            One for each loop with stages; every corner has a tyre.
        also_fitted : frozenset of int
            Tyres that are on a hub in loops without stages.

        Returns
        -------
        Evaluated
            Parts by loop and scenario.

        Notes
        -----
        See `result.Objective`.

        References
        ----------
        .. [1] Parts as the README defines them.
        """
        course = self.course
        n, s = len(fits), course.n_scenarios
        time, punctures, risk = np.zeros((n, s)), np.zeros((n, s)), np.zeros(n)
        steps: dict[tuple[int, int], Step] = {}
        for loop, fit in enumerate(fits):
            for tyre in fit[:4]:
                steps[loop, tyre] = self.step(tyre, self.path(tyre, fits)[: loop + 1])
            mu = self.loop_mu(loop, fits)
            added = sum(course.spec(self.lineup.tyres[t]).mass_kg for t in fit[4:] if t >= 0)
            time[loop] = course.time_s(loop, mu[None], added)[0]
            hazard = np.stack([steps[loop, t].run.hazard[0] for t in fit[:4]], axis=-1)
            punctures[loop] = course.punctures_s(loop, hazard, self.covers(fit))
            price = course.problem.settings.tread_risk_s
            risk[loop] = price * sum(steps[loop, t].below for t in fit[:4])
        money, beyond = np.zeros(s), np.full(s, -course.beyond_start_s)
        on_hub = {t for fit in fits for t in fit[:4]} | also_fitted
        for tyre in sorted(on_hub):
            subject = self.lineup.tyres[tyre]
            money = money + course.first_fit_of(subject)
            end, _ = self.state(tyre, self.path(tyre, fits))
            money = money + course.wear_money_s(subject, end)[0]
            beyond = beyond + course.beyond_s(subject, end)[0]
        weight = course.problem.settings.worst_tenth_weight
        return Evaluated(time, punctures, risk, money, beyond, weight, steps)
