"""What one more tyre under a limit would be worth, where the limit is used up."""

from collections.abc import Callable, Iterator
from dataclasses import replace

from crewdesk.engine.limits import counted_already
from crewdesk.engine.pool import Propose, few
from crewdesk.engine.problem import Problem
from crewdesk.engine.result import PlanResult, Reason

LEAST_S = 0.1
QUICK = 80


def used_up(problem: Problem, result: PlanResult) -> Iterator[tuple[str, str, Problem]]:
    """Return the limits that a plan uses up: code, compound, the question with one more."""
    rules = problem.rules
    ids = set(counted_already(problem))
    carried = rules.count_rule == "fitted_or_carried"
    for loop in result.plan:
        for place, tyre in loop.fitting.items():
            if tyre is not None and (carried or not place.startswith("SP")):
                ids.add(tyre)
    rest = [t for t in problem.tyres if t.usable and t.stock.tyre_id not in ids]
    if rules.qty_total is not None and rest and len(ids) >= rules.qty_total:
        more = replace(rules, qty_total=rules.qty_total + 1)
        yield "QTY-1", "", replace(problem, rules=more)
    group = {t.stock.tyre_id: t.stock.cap_group or t.stock.compound for t in problem.tyres}
    for name, cap in sorted(rules.caps.items()):
        left = any(group[t.stock.tyre_id] == name for t in rest)
        if left and sum(group.get(t) == name for t in ids) >= cap:
            more = replace(rules, caps={**rules.caps, name: cap + 1})
            yield "QTY-2", name, replace(problem, rules=more)


def shadow_prices(
    problem: Problem,
    result: PlanResult,
    propose: Propose,
    stop: Callable[[], bool] | None = None,
) -> tuple[Reason, ...]:
    """Return what one more tyre would be worth under each limit that is used up.

    Parameters
    ----------
    problem : Problem
        The question.
    result : PlanResult
        Its answer.
    propose : callable
        Answers a question anew.
    stop : callable, optional
        True ends it with what was found.

    Returns
    -------
    tuple of Reason
        Kind ``rule``; their seconds are 0, as they are no part of the lead over the next
        best; ``values`` holds ``code``, ``compound`` and ``worth_s``.

    Notes
    -----
    With and without one more the question is asked on the same few scenarios with the same
    effort.

    References
    ----------
    .. [1] Price of a limit by a second solution (operations research textbooks).
    """
    found: list[Reason] = []
    base: float | None = None
    for code, compound, more in used_up(problem, result):
        if stop is not None and stop():
            break
        if base is None:
            now = propose(few(problem), effort="quick", work_limit=QUICK, stop=stop)
            if now.objective is None:
                break
            base = now.objective.total_s
        other = propose(few(more), effort="quick", work_limit=QUICK, stop=stop)
        if other.objective is None:
            continue
        worth_s = base - other.objective.total_s
        if worth_s >= LEAST_S:
            values = {"code": code, "compound": compound, "worth_s": worth_s}
            found.append(Reason("rule", 0.0, values))
    return tuple(found)
