"""Known plans, costed anew as the question changes; fewer scenarios where that will do."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from crewdesk.conditions.moments import Conditions
from crewdesk.engine.course import Course
from crewdesk.engine.evaluate import Evaluator, busy_fits
from crewdesk.engine.groups import Lineup, lineup
from crewdesk.engine.problem import Problem
from crewdesk.engine.result import LoopPlan, PlanResult
from crewdesk.units import CORNERS, Place

FEW = 6
"""Scenarios in questions asked beside the call. Tuning value of this project."""

Signature = tuple[object, ...]
Propose = Callable[..., PlanResult]
Moved = tuple[object, Problem]
"""A key to know it by, and the question."""


def taken(conditions: Conditions, rows: NDArray[np.int64]) -> Conditions:
    """Return conditions with some of the scenarios; the means stay those of all."""
    return replace(
        conditions,
        air_c=conditions.air_c[rows],
        road_c=conditions.road_c[rows],
        state=conditions.state[rows],
        rain_mm_h=conditions.rain_mm_h[rows],
    )


def few(problem: Problem, most: int = FEW) -> Problem:
    """Return a question with a few of its scenarios, spread over cold and warm."""
    n = problem.conditions.air_c.shape[0]
    if n <= most:
        return problem
    order = np.argsort(problem.conditions.road_c.mean(axis=1), kind="stable")
    at = np.round((np.arange(most) + 0.5) * n / most - 0.5).astype(np.int64)
    return replace(problem, conditions=taken(problem.conditions, np.sort(order[at])))


def compounds_of(tyres: Lineup, fitting: Mapping[Place, str | None]) -> dict[Place, str]:
    """Return the compound word by place."""
    word = {t.tyre_id: t.given.stock.compound for t in tyres.tyres}
    return {p: word[t] for p, t in fitting.items() if t is not None}


class Pool:
    """Plans for one question and what they cost when a number in it moves.

    The moved question is costed on few scenarios; what a plan costs as things stand is
    taken from all of them, so that the call keeps its true lead.
    """

    def __init__(self, problem: Problem, result: PlanResult) -> None:
        self.problem = problem
        self.few = few(problem)
        self.tyres = lineup(problem)
        self.plans: list[tuple[LoopPlan, ...]] = []
        self._evaluators: dict[object, Evaluator] = {}
        self._costs: dict[tuple[object, int], float] = {}
        self._now: list[float] = []
        self._full = Evaluator(Course(problem, self.tyres, problem.conditions), self.tyres)
        self.add(result.plan)
        for other in result.alternatives:
            self.add(other.plan)

    def add(self, plan: Sequence[LoopPlan]) -> bool:
        """Take a plan; return whether it is a new one."""
        fits = busy_fits(self.tyres, plan)
        if not plan or any(fits == busy_fits(self.tyres, known) for known in self.plans):
            return False
        self.plans.append(tuple(plan))
        self._now.append(self._full.evaluate(fits).objective.total_s)
        return True

    def signature(self, plan: Sequence[LoopPlan]) -> Signature:
        """Return what makes two calls different ones: compounds by place, new or used."""
        first = plan[0].fitting
        tyre = {t.tyre_id: t for t in self.tyres.tyres}

        def fresh(place: Place) -> bool:
            name = first[place]
            return name is not None and not tyre[name].given.ever_fitted

        words = compounds_of(self.tyres, first)
        corners = tuple(words.get(c) for c in CORNERS)
        carried = tuple(sorted(words[p] for p in ("SP1", "SP2") if p in words))
        front = tuple(sorted((fresh("FL"), fresh("FR"))))
        rear = tuple(sorted((fresh("RL"), fresh("RR"))))
        return corners, carried, front, rear

    def _raw(self, key: object, moved: Problem, number: int) -> float:
        """Return the cost of a plan in a moved question. [s]."""
        if (key, number) not in self._costs:
            if key not in self._evaluators:
                tyres = lineup(moved)
                course = Course(moved, tyres, moved.conditions)
                self._evaluators[key] = Evaluator(course, tyres)
            cost = self._evaluators[key].evaluate(busy_fits(self.tyres, self.plans[number]))
            self._costs[key, number] = cost.objective.total_s
        return self._costs[key, number]

    def by_signature(self, moved: Moved, base: Moved | None = None) -> dict[Signature, float]:
        """Return the least cost of each call in a moved question. [s].

        With the question as it stands beside it, on the same few scenarios, every plan keeps
        the cost that it has now on all of them.
        """
        found: dict[Signature, float] = {}
        for number, plan in enumerate(self.plans):
            cost = self._raw(*moved, number)
            if base is not None:
                cost += self._now[number] - self._raw(*base, number)
            mark = self.signature(plan)
            found[mark] = min(found.get(mark, np.inf), cost)
        return found

    def plan_of(self, mark: Signature) -> tuple[LoopPlan, ...]:
        """Return the first plan known of a call."""
        return next(plan for plan in self.plans if self.signature(plan) == mark)
