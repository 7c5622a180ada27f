"""The road temperature at which another call becomes the better one."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from crewdesk.conditions.moments import Conditions
from crewdesk.engine.course import Course
from crewdesk.engine.evaluate import Evaluator, Fit
from crewdesk.engine.groups import Lineup, lineup
from crewdesk.engine.problem import Problem
from crewdesk.engine.result import Flip, LoopPlan, PlanResult
from crewdesk.units import PLACES, Place

REACH_C = 15.0
"""How far from now a flip is looked for. [K]"""
STEP_C = 0.5
"""To how much it is told. [K]"""


def shifted(conditions: Conditions, by_c: float) -> Conditions:
    """Return conditions with air and road warmer by some degrees."""
    return replace(
        conditions,
        air_c=conditions.air_c + by_c,
        road_c=conditions.road_c + by_c,
        air_mean_c=conditions.air_mean_c + by_c,
        road_mean_c=conditions.road_mean_c + by_c,
    )


def flips(
    problem: Problem,
    result: PlanResult,
    propose: Callable[..., PlanResult],
    most: int = 3,
) -> tuple[Flip, ...]:
    """Return where the call changes with the temperature of the road.

    Parameters
    ----------
    problem : Problem
        The question.
    result : PlanResult
        Its answer with alternatives.
    propose : callable
        Answers a question anew, to confirm each flip.
    most : int
        Flips at most.

    Returns
    -------
    tuple of Flip
        To half a degree, nearest first.

    Notes
    -----
    Air moves with the road. Bisection between the two plans held as they are; the whole
    question is then asked again on both sides.

    References
    ----------
    .. [1] Bisection.
    """
    stages = problem.places[0].stages or next(p.stages for p in problem.places if p.stages)
    column = problem.conditions.index(stages[0])
    now = float(problem.conditions.road_mean_c[column])
    tyres = lineup(problem)
    compound = {t.tyre_id: t.given.stock.compound for t in tyres.tyres}
    call = _fits(tyres, result.plan)
    found: list[tuple[float, Flip]] = []
    memory: dict[tuple[int, float], float] = {}
    plans = [call, *(_fits(tyres, a.plan) for a in result.alternatives)]

    def cost(which: int, by_c: float) -> float:
        key = (which, by_c)
        if key not in memory:
            moved = replace(problem, conditions=shifted(problem.conditions, by_c))
            evaluator = Evaluator(Course(moved, tyres, moved.conditions), tyres)
            for i, plan in enumerate(plans):
                objective = evaluator.evaluate(plan).objective
                memory[i, by_c] = objective.total_s
        return memory[key]

    def lead_over(which: int) -> Callable[[float], float]:
        return lambda by_c: cost(which, by_c) - cost(0, by_c)

    for way in (REACH_C, -REACH_C):
        for which in range(1, len(plans)):
            at = _crossing(lead_over(which), way)
            if at is None:
                continue
            then = _confirmed(problem, propose, result, at, way, compound)
            if then is not None:
                flip = Flip("road", "°C", round(now, 1), round(now + at, 1), then)
                found.append((abs(at), flip))
                break
    found.sort(key=lambda pair: pair[0])
    return tuple(flip for _, flip in found[:most])


def _fits(tyres: Lineup, plan: Sequence[LoopPlan]) -> list[Fit]:
    """Return the fittings of the loops with stages."""
    fits = []
    for loop in plan:
        if loop.expected_s > 0.0:
            row = [tyres.index(t) if (t := loop.fitting[p]) is not None else -1 for p in PLACES]
            fits.append((row[0], row[1], row[2], row[3], row[4], row[5]))
    return fits


def _crossing(lead: Callable[[float], float], way: float) -> float | None:
    """Return where a lead is lost between here and there, to half a degree, or None."""
    n = round(abs(way) / STEP_C)
    sign = 1.0 if way > 0 else -1.0
    if lead(way) >= 0.0:
        return None
    low, high = 0, n
    while high - low > 1:
        middle = (low + high) // 2
        if lead(sign * STEP_C * middle) < 0.0:
            high = middle
        else:
            low = middle
    return sign * STEP_C * high


def _confirmed(
    problem: Problem,
    propose: Callable[..., PlanResult],
    result: PlanResult,
    at: float,
    way: float,
    compound: dict[str, str],
) -> dict[Place, str] | None:
    """Return what the call becomes just beyond a flip, or None where it does not change."""

    def kinds(plan: Sequence[LoopPlan]) -> dict[Place, str]:
        return {p: compound[t] for p, t in plan[0].fitting.items() if t is not None}

    def ask(by_c: float) -> dict[Place, str]:
        moved = replace(problem, conditions=shifted(problem.conditions, by_c))
        answer = propose(moved, effort="quick", work_limit=150)
        return kinds(answer.plan) if answer.plan else {}

    step = STEP_C if way > 0 else -STEP_C
    own = kinds(result.plan)
    beyond = ask(at + step)
    if beyond == own or not beyond:
        return None
    return beyond
