"""What it is worth that later fittings can answer to what the next loop shows."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from crewdesk.engine.course import Course
from crewdesk.engine.evaluate import Fit, busy_fits
from crewdesk.engine.groups import REST, Lineup, lineup
from crewdesk.engine.limits import limits
from crewdesk.engine.master import Master, Priced, StoppedError
from crewdesk.engine.moving import DRY, first_columns
from crewdesk.engine.planes import Planes
from crewdesk.engine.plans import Valued
from crewdesk.engine.problem import Problem
from crewdesk.engine.result import PlanResult
from crewdesk.engine.search import Search
from crewdesk.engine.tail import tail_weights
from crewdesk.engine.tree import TooManyPathsError, encode

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]
Stop = Callable[[], bool]

ROUNDS = 8
DIVES = 3
LEAD_S = 0.1
"""By less than this another call does not take the place of the one held fixed. [s]"""
LEAST_ROWS = 8
"""Scenarios of one kind of loop at least; fewer are not told apart."""


@dataclass(frozen=True)
class Recourse:
    """A call with answers behind it."""

    objective_s: float
    bound_s: float
    best: int
    """0 the call held fixed, else the number of an alternative from 1."""


class Answers(Search):
    """One tree of paths, searched part of the scenarios after part."""

    def part(self, weights: Floats, touch: Sequence[Valued]) -> tuple[Master, Planes, Priced]:
        """Return the relaxed program for some weights over the scenarios."""
        master, planes = self.begun(weights, touch)
        priced = master.relax()
        for _ in range(ROUNDS):
            if not priced.feasible or not planes.tighten(master, priced):
                break
            priced = master.relax()
        return master, planes, priced

    def behind(self, master: Master, planes: Planes, first: Valued) -> list[Valued]:
        """Return plans with the first fitting of another one, whatever comes later."""
        tree = self.tree
        owner = [int(tree.leaf_group[p]) for p in first.corners[0]]
        step = tree.first_step
        wanted = np.append(np.array(owner, dtype=np.int64), -1)[step]
        fits = (step == REST) | (tree.leaf_group == wanted)
        choice = self.choice_of(first)
        if choice is None:
            return []
        own = np.array([p == choice.patterns[0] for p in range(len(self.patterns[0]))])
        others = [np.ones(len(p), dtype=bool) for p in self.patterns[1:]]
        master.restrict(fits, [own, *others])
        found: list[Valued] = []
        for _ in range(DIVES):
            dived, _ = master.dive()
            plan = None if dived is None else self.valuer.value(dived.paths)
            if plan is None or any(plan.paths == p.paths for p in found):
                break
            self.touch(master, planes, plan)
            mine = [int(tree.leaf_group[p]) for p in plan.corners[0]]
            if mine == owner and plan.spares[0] == first.spares[0]:
                found.append(plan)
        master.restrict()
        return found

    def known(self, tyres: Lineup, fits: Sequence[Fit]) -> Valued | None:
        """Return a named plan as paths, or None where a path is not open."""
        paths = []
        for tyre in sorted({t for fit in fits for t in fit[:4]}):
            steps = tuple(fit[:4].index(tyre) if tyre in fit[:4] else REST for fit in fits)
            paths.append(self.tree.find(tyres.group_of[tyre], encode(steps)))
        return None if min(paths) < 0 else self.valuer.value(paths)


def kinds_of_loop(problem: Problem) -> list[Mask]:
    """Return the scenarios by what the crew will have seen at the end of the next loop.

    Whether the road was ever wet, and whether it was warmer than to be expected; kinds with
    few scenarios are not told apart.
    """
    columns = first_columns(problem)
    conditions = problem.conditions
    n = conditions.air_c.shape[0]
    parts = [np.ones(n, dtype=bool)]
    wet = (conditions.state[:, columns] != DRY).any(axis=1)
    road = conditions.road_c[:, columns].mean(axis=1)
    for which in ("wet", "warm"):
        finer: list[Mask] = []
        for part in parts:
            mark = wet if which == "wet" else road > np.median(road[part])
            if min(int((part & mark).sum()), int((part & ~mark).sum())) < LEAST_ROWS:
                finer.append(part)
            else:
                finer += [part & mark, part & ~mark]
        parts = finer
    return parts


def recourse(problem: Problem, result: PlanResult, stop: Stop | None = None) -> Recourse | None:
    r"""Return what the call and its alternatives cost when later fittings answer.

    Parameters
    ----------
    problem : Problem
        The question.
    result : PlanResult
        Its answer.
    stop : callable, optional
        True ends it without an answer.

    Returns
    -------
    Recourse or None
        None where it was stopped, the day is too long to hold all its paths at once, or the
        call has no paths of its own in the search, or nothing can answer and no bound is known.

    Notes
    -----
    The next fitting is the same in all scenarios. At the change place after it the crew
    knows what the loop was like, not what comes: whether it was wet, whether warmer than to
    be expected. Each such kind of loop has one plan for all the rest. The cost is exact for
    these plans. With weights :math:`w_s` over the scenarios that the worst tenth allows,
    :math:`\sum_b \min_x \sum_{s \in b} w_s c_s(x)` is a bound for all plans that answer
    once in this way, the least over first fittings taken in each part.

    References
    ----------
    .. [1] Two-stage stochastic programming (operations research textbooks).
    """
    if result.objective is None:
        return None
    fixed_s = result.objective.total_s
    parts = kinds_of_loop(problem)
    if sum(bool(p.stages) for p in problem.places) < 2 or len(parts) < 2:
        # Later fittings have nothing to answer to. Of a plan made in pieces no bound is known.
        return None if result.bound_s is None else Recourse(fixed_s, result.bound_s, 0)
    tyres = lineup(problem)
    course = Course(problem, tyres, problem.conditions)
    try:
        search = Answers(course, tyres, limits(problem, tyres), ask=stop)
    except TooManyPathsError:
        return None
    if not search.serves_all:
        return None
    plans = [result.plan, *(a.plan for a in result.alternatives)]
    firsts = [search.known(tyres, busy_fits(tyres, plan)) for plan in plans]
    own = firsts[0]
    if own is None:
        return None
    weights = tail_weights(own.cost_s, search.valuer.weight)
    costs = [None if plan is None else plan.cost_s.copy() for plan in firsts]
    bound_s = 0.0
    for part in parts:
        if stop is not None and stop():
            return None
        try:
            value_s = _answer_part(search, part, weights * part, firsts, costs, stop)
        except StoppedError:
            return None
        if value_s is None:
            return None
        bound_s += value_s
    if stop is not None and stop():
        return None
    totals = [np.inf if c is None else search.valuer.objective_s(c) for c in costs]
    totals[0] = min(totals[0], fixed_s)
    best_at = int(np.argmin(totals))
    if totals[best_at] > totals[0] - LEAD_S:
        best_at = 0
    objective_s = float(totals[best_at])
    return Recourse(objective_s, min(bound_s - 1e-9 * abs(bound_s), objective_s), best_at)


def _answer_part(
    search: Answers,
    part: Mask,
    share: Floats,
    firsts: Sequence[Valued | None],
    costs: Sequence[Floats | None],
    stop: Stop | None,
) -> float | None:
    """Put the best answers to one kind of loop into the costs; return a bound under all."""
    known = [p for p in firsts if p]
    master, planes, priced = search.part(share, known[:1])
    if not priced.feasible:
        return None
    for first, cost_s in zip(firsts, costs, strict=True):
        if first is None or cost_s is None or (stop is not None and stop()):
            continue
        behind = [*search.behind(master, planes, first), *known]
        alike = [p for p in behind if _alike(search, p, first)]
        best = min(alike, key=lambda p: float(p.cost_s @ share))
        cost_s[part] = best.cost_s[part]
    return priced.value_s


def _alike(search: Search, one: Valued, two: Valued) -> bool:
    """Return whether two plans have the same next fitting but for the names."""
    owners = [[int(search.tree.leaf_group[c]) for c in p.corners[0]] for p in (one, two)]
    return owners[0] == owners[1] and one.spares[0] == two.spares[0]
