"""What a search found, named and costed: an answer that keeps every rule, or what to lift."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from crewdesk.engine.checks import first_rules
from crewdesk.engine.course import Course
from crewdesk.engine.found import Found
from crewdesk.engine.groups import Lineup
from crewdesk.engine.lifting import lifts
from crewdesk.engine.limits import Limits
from crewdesk.engine.naming import named
from crewdesk.engine.plans import Valued
from crewdesk.engine.problem import Problem
from crewdesk.engine.report import Report, Reporter
from crewdesk.engine.result import Lift, PlanResult
from crewdesk.engine.search import TOLERANCE_S, Search

Stop = Callable[[], bool]
Progress = Callable[[PlanResult], None]

NAMED = 60
"""Of the plans found so many are named at most, in search of one that keeps every rule."""


@dataclass
class Desk:
    """Everything at hand for one question."""

    problem: Problem
    lineup: Lineup
    limits: Limits
    course: Course
    search: Search
    reporter: Reporter
    found: Found
    stop: Stop | None = None

    @property
    def halted(self) -> bool:
        """Return whether the crew asks for something else already."""
        return self.stop is not None and self.stop()


@dataclass(frozen=True)
class Told:
    """An answer with the plan behind it."""

    result: PlanResult
    report: Report | None = None
    plan: Valued | None = None


def nothing(problem: Problem, lift: tuple[Lift, ...]) -> PlanResult:
    """Return the answer where there is no plan."""
    return PlanResult(
        plan=(),
        objective=None,
        bound_s=None,
        complete=True,
        lift=lift,
        scenarios=int(problem.conditions.air_c.shape[0]),
        seed=problem.seed,
    )


def costed(problem: Problem, report: Report) -> PlanResult:
    """Return a plan as an answer; how good it is nobody knows yet."""
    return PlanResult(
        plan=report.plan,
        objective=report.evaluated.objective,
        bound_s=None,
        complete=False,
        rules=first_rules(problem, report.checks),
        scenarios=int(problem.conditions.air_c.shape[0]),
        seed=problem.seed,
    )


def better(one: PlanResult, other: PlanResult) -> bool:
    """Return whether an answer has a plan that costs less than another's."""
    if one.objective is None or other.objective is None:
        return one.objective is not None
    return one.objective.total_s < other.objective.total_s


def reported(desk: Desk, plan: Valued) -> Report | None:
    """Return a plan with names."""
    wanted = frozenset(desk.problem.choices.locks.values())
    after = desk.search.valuer.carry.after
    fits = named(plan, desk.search.tree, desk.lineup, wanted, after)
    return desk.reporter.report(fits)


def answer(desk: Desk, *, explain: bool = True) -> Told:
    """Return the answer for the best plan that keeps the rules with names, too."""
    found = desk.found
    known = float(found.bound_s) if np.isfinite(found.bound_s) else None
    ranked = sorted(found.seen.values(), key=lambda p: (p.total_s, p.paths))
    nearest: Report | None = None
    for plan in ranked[:NAMED]:
        if desk.stop is not None:
            # Some answer is wanted: only who gives up altogether ends this.
            desk.stop()
        report = reported(desk, plan)
        if report is not None and not report.stops:
            break
        nearest = nearest or report
    else:
        lift: tuple[Lift, ...] = ()
        if nearest is not None:
            lift = tuple(dict.fromkeys(Lift(c.code, c.text) for c in nearest.stops))
        elif explain:
            lift = lifts(desk.problem, stop=desk.stop)
        return Told(replace(nothing(desk.problem, lift), complete=False, bound_s=known))
    total_s = report.total_s
    if known is not None:
        known = min(known - 1e-9 * abs(known), total_s)
    result = replace(
        costed(desk.problem, report),
        bound_s=known,
        complete=known is not None and total_s - known <= TOLERANCE_S,
        work=found.work,
    )
    return Told(result, report, plan)
