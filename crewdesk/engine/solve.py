"""The call: the best plan, its proof, what stands beside it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from crewdesk.engine.course import Course
from crewdesk.engine.flips import flips
from crewdesk.engine.groups import Lineup, lineup
from crewdesk.engine.lifting import lifts
from crewdesk.engine.limits import Limits, limits
from crewdesk.engine.naming import named
from crewdesk.engine.plans import Valued
from crewdesk.engine.problem import Choices, Problem
from crewdesk.engine.reasons import reasons
from crewdesk.engine.report import Report, Reporter
from crewdesk.engine.result import (
    Alternative,
    Lift,
    PlanResult,
    Reason,
    RuleCheck,
    ShortCall,
)
from crewdesk.engine.rivals import rivals
from crewdesk.engine.search import TOLERANCE_S, Found, Search
from crewdesk.engine.tables import mean_conditions
from crewdesk.errors import EngineError
from crewdesk.units import CORNERS, PLACES, Place

Stop = Callable[[], bool]
Progress = Callable[[PlanResult], None]

WORK = {"full": 1500, "proof": 1500, "quick": 150}
"""Units of work after which the search ends with what it has."""
RIVALS = 4
LOOKED_AT_AGAIN = 3
"""Of the other ways so many are searched again with their first fitting fixed."""
MINUTES_FIXED, MINUTES_A_WHEEL = 2.0, 2.0
"""Time to change wheels. Common practice, no source. [min]"""


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


def propose(
    problem: Problem,
    *,
    stop: Stop | None = None,
    work_limit: int | None = None,
    on_progress: Progress | None = None,
    effort: str = "full",
    with_flips: bool = False,
    spares_first: int | None = None,
) -> PlanResult:
    """Return the call for the first change place of a problem.

    Parameters
    ----------
    problem : Problem
        The question.
    stop : callable, optional
        Asked now and then; True ends the search with the best plan so far.
    work_limit : int, optional
        Units of work at most; the search never looks at the clock.
    on_progress : callable, optional
        Gets every better answer as it is found.
    effort : {"full", "proof", "quick"}
        Proof leaves out alternatives and the short call, quick most of the proof as well.
    with_flips : bool
        Also look for the road temperatures at which the call changes.
    spares_first : int, optional
        Number of spares fixed for the first loop.

    Returns
    -------
    PlanResult
        The call, or what to lift so that there is one.

    Raises
    ------
    EngineError
        If nothing is left to run.
    ValueError
        If effort is none of the three, or the conditions miss a moment.

    Notes
    -----
    Every path a tyre can take is worked out for all scenarios. A linear program over
    them, with tangent planes under stage times and puncture costs, gives the bound; its
    rounding and a whole-number program over the paths that are left give the plan.

    References
    ----------
    .. [1] Column generation and outer approximation (operations research textbooks).
    """
    if effort not in WORK:
        raise ValueError(f"effort is full, proof or quick, not {effort!r}")
    if not any(place.stages for place in problem.places):
        raise EngineError("No stage is left to run.", hint="Close the event.")
    limit = WORK[effort] if work_limit is None else work_limit
    blocked = _blocked(problem)
    if blocked:
        return _none(problem, blocked)
    desk = _run(problem, stop, limit, on_progress, spares_first=spares_first)
    if desk is None or desk.found.best is None:
        return _none(problem, lifts(problem))
    plans: list[Valued] = []
    if effort == "full" and not (stop is not None and stop()):
        before = desk.found.best
        plans = rivals(desk.search, desk.found, RIVALS, limit)
        if desk.found.best is not before:
            plans = rivals(desk.search, desk.found, RIVALS, limit)
    result, report = _answer(desk, plans)
    if effort == "full" and report is not None:
        result = replace(result, short_call=_short(problem, report, stop))
        if with_flips and result.plan:
            result = replace(result, flips=flips(problem, result, propose))
    return result


def _blocked(problem: Problem) -> tuple[Lift, ...]:
    """Return locks to tyres that are not to be used."""
    tyres = {t.tyre_id: t for t in lineup(problem).tyres}
    found = []
    for place, wanted in problem.choices.locks.items():
        tyre = tyres.get(wanted)
        if tyre is None:
            found.append(Lift("LCK-1", f"lock {place}={wanted}: no such tyre"))
        elif not tyre.usable:
            found.append(Lift("LCK-1", f"lock {place}={wanted}: {tyre.why}"))
    return tuple(found)


def _none(problem: Problem, lift: tuple[Lift, ...]) -> PlanResult:
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


def _run(
    problem: Problem,
    stop: Stop | None,
    limit: int,
    on_progress: Progress | None,
    *,
    prove: bool = True,
    spares_first: int | None = None,
) -> Desk | None:
    """Search, on the best estimate first, then over all scenarios."""
    tyres = lineup(problem)
    bounds = replace(limits(problem, tyres), first_spares=spares_first)
    if not tyres.groups:
        return None
    start: Valued | None = None
    work = 0
    quick: Search | None = None
    if problem.conditions.air_c.shape[0] > 1:
        simple = Course(problem, tyres, mean_conditions(problem.conditions))
        quick = Search(simple, tyres, bounds)
        sketch = quick.run(prove=False, rounds=4, work_limit=limit, stop=stop)
        work = sketch.work
        start = sketch.best
    course = Course(problem, tyres, problem.conditions)
    search = Search(course, tyres, bounds)
    reporter = Reporter(problem, tyres, course)
    begin: list[Valued] = []
    if start is not None and quick is not None:
        moved = carried_over(quick, search, start)
        if moved is not None:
            begin.append(moved)

    def tell(found: Found) -> None:
        if on_progress is not None and found.best is not None:
            desk = Desk(problem, tyres, bounds, course, search, reporter, found)
            on_progress(_answer(desk, [])[0])

    if begin and on_progress is not None:
        first = Found(work=work)
        first.offer(begin[0])
        tell(first)
    found = search.run(begin, stop=stop, work_limit=limit, on_better=tell, prove=prove)
    found.work += work
    return Desk(problem, tyres, bounds, course, search, reporter, found)


def carried_over(old: Search, new: Search, plan: Valued) -> Valued | None:
    """Return a plan of one search valued by another, or None where a path is not open."""
    paths = [
        new.tree.find(int(old.tree.leaf_group[p]), int(old.tree.code[p])) for p in plan.paths
    ]
    return None if min(paths) < 0 else new.valuer.value(paths)


def _report(desk: Desk, plan: Valued) -> Report | None:
    """Return a plan with names."""
    wanted = frozenset(desk.problem.choices.locks.values())
    fits = named(plan, desk.search.tree, desk.lineup, wanted)
    return desk.reporter.report(fits)


def _answer(desk: Desk, plans: list[Valued]) -> tuple[PlanResult, Report | None]:
    """Return the answer for the best plan that keeps the rules with names, too."""
    found = desk.found
    ranked = sorted(found.seen.values(), key=lambda p: (p.total_s, p.paths))
    report: Report | None = None
    chosen: Valued | None = None
    for plan in ranked[:30]:
        trial = _report(desk, plan)
        if trial is None:
            continue
        if report is None:
            report, chosen = trial, plan
        if not trial.stops:
            report, chosen = trial, plan
            break
    if report is None or chosen is None:
        return _none(desk.problem, lifts(desk.problem)), None
    objective = report.evaluated.objective
    others = _alternatives(desk, report, chosen, plans)
    bound = min(found.bound_s - 1e-9 * abs(found.bound_s), objective.total_s)
    why: tuple[Reason, ...] = ()
    if others:
        first = others[0][1]
        busy = desk.reporter.busy
        why = reasons(
            desk.reporter.evaluator,
            ([report.fits[n] for n in busy], report.evaluated),
            ([first.fits[n] for n in busy], first.evaluated),
        )
    result = PlanResult(
        plan=report.plan,
        objective=objective,
        bound_s=float(bound) if np.isfinite(bound) else None,
        complete=bool(objective.total_s - bound <= TOLERANCE_S),
        alternatives=tuple(o for o, _ in others),
        reasons=why,
        rules=first_rules(desk.problem, report.checks),
        scenarios=desk.course.n_scenarios,
        seed=desk.problem.seed,
        work=found.work,
    )
    return result, report


def first_rules(problem: Problem, checks: tuple[RuleCheck, ...]) -> tuple[RuleCheck, ...]:
    """Return what the rules say of the next loop."""
    here = problem.places[0].key
    mine = [c for c in checks if c.values.get("place") in {here, ""}]
    codes = {c.code for c in mine}
    for code, text in (
        ("MRK-1", "every tyre carries its mark"),
        ("RIM-1", "every tyre has a rim"),
        ("DIR-1", "every tyre turns the right way"),
    ):
        if code not in codes:
            mine.append(RuleCheck(code, "note", True, text, {"place": here}))
    return tuple(mine)


def _alternatives(
    desk: Desk, report: Report, chosen: Valued, plans: list[Valued]
) -> list[tuple[Alternative, Report]]:
    """Return the other ways with their loss."""
    found = []
    compound = {t.tyre_id: t.given.stock.compound for t in desk.lineup.tyres}
    call = report.plan[0].fitting
    for number, plan in enumerate(p for p in plans if p is not chosen):
        other = _report(desk, plan)
        if other is None or other.stops:
            continue
        if number < LOOKED_AT_AGAIN:
            other = _better_behind(desk, other)
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


def _better_behind(desk: Desk, other: Report) -> Report:
    """Return a plan with the best that a search with its first fitting fixed finds."""
    fitting = other.plan[0].fitting
    locks = {place: tyre for place, tyre in fitting.items() if tyre is not None}
    carried = sum(place in locks for place in ("SP1", "SP2"))
    asked = replace(desk.problem, choices=Choices(locks, desk.problem.choices.bans))
    answer = propose(asked, effort="quick", spares_first=carried)
    if not answer.plan or answer.objective is None:
        return other
    if answer.objective.total_s >= other.total_s - 1e-9:
        return other
    ids = {t.tyre_id: t.index for t in desk.lineup.tyres}
    fits = []
    for loop in answer.plan:
        row = [-1 if (t := loop.fitting.get(p)) is None else ids[t] for p in PLACES]
        fits.append((row[0], row[1], row[2], row[3], row[4], row[5]))
    better = desk.reporter.assemble(tuple(fits))
    return other if better.stops or better.total_s >= other.total_s else better


def _short(problem: Problem, report: Report, stop: Stop | None) -> ShortCall | None:
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
    short = _run(asked, stop, WORK["quick"], None, prove=False)
    if short is None or short.found.best is None:
        return None
    other = _report(short, short.found.best)
    if other is None:
        return None
    wheels = changes(other.plan[0].fitting)
    return ShortCall(
        other.plan[0],
        MINUTES_FIXED + MINUTES_A_WHEEL * wheels,
        wheels,
        max(other.total_s - report.total_s, 0.0),
    )
