"""What stands beside the call: other first fittings, and the one with few wheels changed."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from crewdesk.engine.answer import Desk, Stop, Told, reported
from crewdesk.engine.evaluate import fit_of
from crewdesk.engine.plans import Valued
from crewdesk.engine.problem import Choices, Problem
from crewdesk.engine.reasons import reasons
from crewdesk.engine.report import Report
from crewdesk.engine.result import Alternative, Lift, LoopPlan, PlanResult, ShortCall
from crewdesk.engine.searched import searched
from crewdesk.units import CORNERS, PLACES, Place

Ask = Callable[[Problem, int | None], PlanResult]
"""Answers a question quickly with a number of spares fixed for its first loop."""

LOOKED_AT_AGAIN = 3
"""Of the other ways so many are searched again with their first fitting fixed."""
SHORT_WORK = 150
"""Units of work for the fitting with few wheels changed."""
MINUTES_FIXED, MINUTES_A_WHEEL = 2.0, 2.0
"""Time to change wheels. Common practice, no source. [min]"""


def beside(desk: Desk, told: Told, plans: list[Valued], ask: Ask) -> PlanResult:
    """Return the answer with the other ways and why the first of them loses."""
    if told.report is None or told.plan is None:
        return told.result
    others = _alternatives(desk, told.report, told.plan, plans, ask)
    if not others:
        return told.result
    first = others[0][1]
    busy = desk.reporter.busy
    why = reasons(
        desk.reporter.evaluator,
        ([told.report.fits[n] for n in busy], told.report.evaluated),
        ([first.fits[n] for n in busy], first.evaluated),
    )
    return replace(told.result, alternatives=tuple(o for o, _ in others), reasons=why)


def _alternatives(
    desk: Desk, report: Report, chosen: Valued, plans: list[Valued], ask: Ask
) -> list[tuple[Alternative, Report]]:
    """Return the other ways with their loss."""
    found = []
    compound = {t.tyre_id: t.given.stock.compound for t in desk.lineup.tyres}
    call = report.plan[0].fitting
    for number, plan in enumerate(p for p in plans if p is not chosen):
        other = reported(desk, plan)
        if other is None or other.stops:
            continue
        if number < LOOKED_AT_AGAIN and not desk.halted:
            other = _better_behind(desk, other, ask)
        fitting = other.plan[0].fitting
        found.append(
            (
                Alternative(
                    fitting=fitting,
                    compounds={p: compound[t] for p, t in fitting.items() if t is not None},
                    objective_s=other.total_s,
                    loss_s=max(other.total_s - report.total_s, 0.0),
                    differs=tuple(p for p in PLACES if fitting[p] != call[p]),
                    plan=other.plan,
                ),
                other,
            )
        )
    return sorted(found, key=lambda pair: pair[0].objective_s)


def _better_behind(desk: Desk, other: Report, ask: Ask) -> Report:
    """Return a plan with the best that a search with its first fitting fixed finds."""
    fitting = other.plan[0].fitting
    locks = {place: tyre for place, tyre in fitting.items() if tyre is not None}
    carried = sum(place in locks for place in ("SP1", "SP2"))
    asked = replace(desk.problem, choices=Choices(locks, desk.problem.choices.bans))
    answer = ask(asked, carried)
    if not answer.plan or answer.objective is None:
        return other
    if answer.objective.total_s >= other.total_s - 1e-9:
        return other
    fits = tuple(fit_of(desk.lineup, loop.fitting) for loop in answer.plan)
    better = desk.reporter.assemble(fits)
    return other if better.stops or better.total_s >= other.total_s else better


def worn_down(problem: Problem, lift: Sequence[Lift], ask: Ask) -> tuple[LoopPlan, ...]:
    """Return the best plan without the least tread, where nothing else leaves none.

    What lies ahead of tyres is a prediction: the crew has to drive on with something, and
    is told what would go under it.
    """
    if {one.code for one in lift} != {"TRD-1"}:
        return ()
    return ask(without_least_tread(problem), None).plan


def without_least_tread(problem: Problem) -> Problem:
    """Return a question in which tyres may be worn to the base."""
    rules = replace(problem.rules, tread_min_mm=0.0, winter_tread_min_mm=None)
    return replace(problem, rules=rules)


def short_call(problem: Problem, report: Report, stop: Stop | None) -> ShortCall | None:
    """Return the best fitting with few wheels changed."""
    on_car = {t.stock.tyre_id: t.on_car for t in problem.tyres if t.on_car in CORNERS}

    def changes(fitting: Mapping[Place, str | None]) -> int:
        return sum(on_car.get(fitting[c] or "") != c for c in CORNERS)

    wheels = changes(report.plan[0].fitting)
    minutes = MINUTES_FIXED + MINUTES_A_WHEEL * wheels
    most = 2 if problem.max_wheels is None else problem.max_wheels
    if not on_car or wheels <= most:
        return ShortCall(report.plan[0], minutes, wheels, 0.0)
    asked = replace(problem, max_wheels=most)
    short = searched(asked, stop, SHORT_WORK, None, prove=False)
    if short is None or short.found.best is None:
        return None
    other = reported(short, short.found.best)
    if other is None:
        return None
    wheels = changes(other.plan[0].fitting)
    return ShortCall(
        other.plan[0],
        MINUTES_FIXED + MINUTES_A_WHEEL * wheels,
        wheels,
        max(other.total_s - report.total_s, 0.0),
    )
