"""The call: the best plan, its proof, what stands beside it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from crewdesk.engine.checks import first_rules
from crewdesk.engine.course import Course
from crewdesk.engine.evaluate import Fit
from crewdesk.engine.flips import flips
from crewdesk.engine.found import Found
from crewdesk.engine.groups import Lineup, lineup
from crewdesk.engine.lifting import lifts
from crewdesk.engine.limits import Limits, limits
from crewdesk.engine.master import StoppedError
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
    ShortCall,
)
from crewdesk.engine.rivals import rivals
from crewdesk.engine.search import FIRST_PLAN, TOLERANCE_S, Search
from crewdesk.engine.tables import mean_conditions
from crewdesk.engine.tree import TooManyPathsError
from crewdesk.engine.warm import Memory, as_paths
from crewdesk.engine.windows import in_windows
from crewdesk.errors import EngineError
from crewdesk.units import CORNERS, PLACES, Place

Stop = Callable[[], bool]
Progress = Callable[[PlanResult], None]

WORK = {"full": 1500, "proof": 1500, "quick": 150}
"""Units of work after which the search ends with what it has."""
WORK_ALONE = {"full": 150, "proof": 1500, "quick": 30}
"""The same for a long day on one course of the weather, where many plans are nearly alike."""
LONG_DAY = 4
"""Loops with stages from which a day is long."""
RIVALS = 4
LOOKED_AT_AGAIN = 3
"""Of the other ways so many are searched again with their first fitting fixed."""
PIECE, LOOPS_OF_PIECE = 20, 3
"""Units of work, and loops, for each piece of a day that is too long for one."""
NAMED = 60
"""Of the plans found so many are named at most, in search of one that keeps every rule."""
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
    stop: Stop | None = None

    @property
    def halted(self) -> bool:
        """Return whether the crew asks for something else already."""
        return self.stop is not None and self.stop()


def propose(
    problem: Problem,
    *,
    stop: Stop | None = None,
    work_limit: int | None = None,
    on_progress: Progress | None = None,
    effort: str = "full",
    with_flips: bool = False,
    spares_first: int | None = None,
    explain: bool = True,
    memory: Memory | None = None,
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
    explain : bool
        Where there is no plan, look for what to lift.
    memory : Memory, optional
        Holds the last plan, which is told first where it still keeps the rules, and then
        the plan of this answer.

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
    long = sum(bool(place.stages) for place in problem.places) >= LONG_DAY
    one = long and problem.conditions.air_c.shape[0] == 1
    usual = WORK_ALONE if one else WORK
    limit = usual[effort] if work_limit is None else work_limit
    blocked = _blocked(problem)
    if blocked:
        return _none(problem, blocked)
    try:
        desk = _run(problem, stop, limit, on_progress, spares_first=spares_first, memory=memory)
    except TooManyPathsError as error:
        return _in_pieces(problem, error.loops, stop, limit, spares_first)
    rough: PlanResult | None = None
    if desk is not None and desk.found.best is None and not desk.found.impossible:
        rough = _rough(problem, stop, limit, spares_first)
        kept = Memory()
        kept.keep(rough.plan)
        if rough.plan and on_progress is not None:
            on_progress(rough)
        desk = _run(
            problem,
            stop,
            limit,
            on_progress,
            spares_first=spares_first,
            memory=kept,
            first_plan=limit,
        )
        if rough.plan and (desk is None or desk.found.best is None):
            return rough
    if desk is None or desk.found.best is None:
        nothing = _none(problem, lifts(problem, stop=stop) if explain else ())
        return replace(nothing, complete=desk is None or desk.found.impossible)
    plans: list[Valued] = []
    if effort == "full" and not (stop is not None and stop()):
        before = desk.found.best
        try:
            plans = rivals(desk.search, desk.found, RIVALS, limit)
            if desk.found.best is not before:
                plans = rivals(desk.search, desk.found, RIVALS, limit)
        except StoppedError:
            plans = []
    result, report = _answer(desk, plans)
    if rough is not None and _better(rough, result):
        result = replace(rough, bound_s=result.bound_s)
    spares = problem.rules.spare_max
    short_of_rims = bool(result.lift) and {lift.code for lift in result.lift} == {"RIM-1"}
    if short_of_rims and spares_first is None and spares > problem.rules.spare_min:
        # Fewer wheels on board leave more rims for what the zone needs.
        fewer = replace(problem, rules=replace(problem.rules, spare_max=spares - 1))
        other = propose(fewer, stop=stop, work_limit=work_limit, effort=effort)
        if other.plan:
            return replace(other, bound_s=result.bound_s, complete=False)
    if effort == "full" and report is not None and not (stop is not None and stop()):
        result = replace(result, short_call=_short(problem, report, stop))
        if with_flips and result.plan:
            result = replace(result, flips=flips(problem, result, propose))
    if memory is not None:
        memory.keep(result.plan)
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
    memory: Memory | None = None,
    first_plan: int = FIRST_PLAN,
) -> Desk | None:
    """Search, on the best estimate first, then over all scenarios."""
    tyres = lineup(problem)
    bounds = replace(limits(problem, tyres), first_spares=spares_first)
    if not tyres.groups:
        return None
    course = Course(problem, tyres, problem.conditions)
    reporter = Reporter(problem, tyres, course)
    last = memory.fits(problem, tyres) if memory is not None else None
    told = reporter.assemble(last) if last is not None and _whole(last, reporter) else None
    if told is not None and told.stops:
        told = None
    if told is not None and on_progress is not None:
        on_progress(_first_answer(problem, told))
    start: Valued | None = None
    work = 0
    quick: Search | None = None
    if problem.conditions.air_c.shape[0] > 1:
        simple = Course(problem, tyres, mean_conditions(problem.conditions))
        quick = Search(simple, tyres, bounds)
        sketch = quick.run(prove=False, rounds=4, work_limit=limit, stop=stop)
        work = sketch.work
        start = sketch.best
    search = Search(course, tyres, bounds)
    begin: list[Valued] = []
    if start is not None and quick is not None:
        moved = carried_over(quick, search, start)
        if moved is not None:
            begin.append(moved)
    if told is not None:
        kept = as_paths(search, [told.fits[n] for n in reporter.busy])
        if kept is not None:
            begin.append(kept)
    best_told = np.inf if told is None else told.total_s

    def tell(found: Found) -> None:
        nonlocal best_told
        if on_progress is None or found.best is None or found.best.total_s >= best_told:
            return
        desk = Desk(problem, tyres, bounds, course, search, reporter, found, stop)
        better, _ = _answer(desk, [], explain=False)
        if better.objective is not None and better.objective.total_s < best_told:
            best_told = better.objective.total_s
            on_progress(better)

    if begin and on_progress is not None:
        first = Found(work=work)
        first.offer(begin[0])
        tell(first)
    found = search.run(
        begin,
        stop=stop,
        work_limit=limit,
        on_better=tell,
        prove=prove,
        first_plan=first_plan,
    )
    found.work += work
    return Desk(problem, tyres, bounds, course, search, reporter, found, stop)


def _in_pieces(
    problem: Problem, loops: int, stop: Stop | None, limit: int, spares_first: int | None
) -> PlanResult:
    """Return the answer for more loops than can be looked at in one piece."""
    given = [spares_first]

    def ask(part: Problem) -> PlanResult:
        n = given.pop() if given else None
        return propose(
            part, stop=stop, work_limit=min(limit, PIECE), effort="quick", spares_first=n
        )

    # Short pieces are quick but may use up what the last loops need: then longer ones.
    fittings, last = in_windows(problem, min(loops, LOOPS_OF_PIECE), ask)
    for size in range(LOOPS_OF_PIECE + 1, loops + 1):
        if fittings or (stop is not None and stop()):
            break
        given[:] = [spares_first]
        fittings, last = in_windows(problem, size, ask)
    if not fittings:
        return replace(_none(problem, last.lift), complete=False)
    tyres = lineup(problem)
    ids = {t.tyre_id: t.index for t in tyres.tyres}
    every: list[Fit] = []
    for fitting in fittings:
        row = [-1 if (t := fitting.get(p)) is None else ids[t] for p in PLACES]
        every.append((row[0], row[1], row[2], row[3], row[4], row[5]))
    reporter = Reporter(problem, tyres, Course(problem, tyres, problem.conditions))
    report = reporter.assemble(tuple(every))
    if report.stops:
        stopped = tuple(Lift(c.code, c.text) for c in report.stops)
        return replace(_none(problem, stopped), complete=False)
    return _first_answer(problem, report)


def _rough(
    problem: Problem, stop: Stop | None, limit: int, spares_first: int | None
) -> PlanResult:
    """Return a plan made in pieces, for a day in which the search found none to begin with."""
    loops = sum(bool(place.stages) for place in problem.places)
    if loops <= LOOPS_OF_PIECE or (stop is not None and stop()):
        return replace(_none(problem, ()), complete=False)
    return _in_pieces(problem, loops - 1, stop, limit, spares_first)


def _better(one: PlanResult, other: PlanResult) -> bool:
    """Return whether an answer has a plan that costs less than another's."""
    if one.objective is None or other.objective is None:
        return one.objective is not None
    return one.objective.total_s < other.objective.total_s


def _whole(fits: tuple[Fit, ...], reporter: Reporter) -> bool:
    """Return whether every corner of the loops with stages has a tyre of its own."""
    return all(len(set(fits[n][:4])) == 4 and min(fits[n][:4]) >= 0 for n in reporter.busy)


def _first_answer(problem: Problem, report: Report) -> PlanResult:
    """Return a plan kept from before, costed anew; how good it is nobody knows yet."""
    return PlanResult(
        plan=report.plan,
        objective=report.evaluated.objective,
        bound_s=None,
        complete=False,
        rules=first_rules(problem, report.checks),
        scenarios=int(problem.conditions.air_c.shape[0]),
        seed=problem.seed,
    )


def carried_over(old: Search, new: Search, plan: Valued) -> Valued | None:
    """Return a plan of one search valued by another, or None where a path is not open."""
    paths = [
        new.tree.find(int(old.tree.leaf_group[p]), int(old.tree.code[p])) for p in plan.paths
    ]
    return None if min(paths) < 0 else new.valuer.value(paths)


def _report(desk: Desk, plan: Valued) -> Report | None:
    """Return a plan with names."""
    wanted = frozenset(desk.problem.choices.locks.values())
    after = desk.search.valuer.carry.after
    fits = named(plan, desk.search.tree, desk.lineup, wanted, after)
    return desk.reporter.report(fits)


def _answer(
    desk: Desk, plans: list[Valued], *, explain: bool = True
) -> tuple[PlanResult, Report | None]:
    """Return the answer for the best plan that keeps the rules with names, too."""
    found = desk.found
    ranked = sorted(found.seen.values(), key=lambda p: (p.total_s, p.paths))
    report: Report | None = None
    chosen: Valued | None = None
    nearest: Report | None = None
    for plan in ranked[:NAMED]:
        trial = _report(desk, plan)
        if trial is not None and not trial.stops:
            report, chosen = trial, plan
            break
        nearest = nearest or trial
    if report is None or chosen is None:
        lift: tuple[Lift, ...] = ()
        if nearest is not None:
            lift = tuple(dict.fromkeys(Lift(c.code, c.text) for c in nearest.stops))
        elif explain:
            lift = lifts(desk.problem, stop=desk.stop)
        bound = desk.found.bound_s if np.isfinite(desk.found.bound_s) else None
        return replace(_none(desk.problem, lift), complete=False, bound_s=bound), None
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
        if number < LOOKED_AT_AGAIN and not desk.halted:
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
    answer = propose(asked, effort="quick", stop=desk.stop, spares_first=carried, explain=False)
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
