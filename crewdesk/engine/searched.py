"""A question searched: the last answer first, then a sketch, then all paths."""

from dataclasses import replace

import numpy as np

from crewdesk.engine.answer import Desk, Progress, Stop, answer, costed
from crewdesk.engine.course import Course
from crewdesk.engine.evaluate import Fit
from crewdesk.engine.found import Found
from crewdesk.engine.groups import Lineup, lineup
from crewdesk.engine.limits import Limits, limits
from crewdesk.engine.plans import Valued
from crewdesk.engine.problem import Problem
from crewdesk.engine.reach import Kind, nearest, widest
from crewdesk.engine.report import Reporter
from crewdesk.engine.search import FIRST_PLAN, Search
from crewdesk.engine.tables import mean_conditions
from crewdesk.engine.tree import TooManyPathsError, most_paths
from crewdesk.engine.warm import Memory, as_paths

LONG_DAY = 4
"""Loops with stages from which a day is long."""
REACHED = 3
"""A day that is too long for all its paths has one in so many of those that could be held."""
SKETCH_ROUNDS = 4
"""Rounds of planes for a sketch."""
AT_ONCE = (0, 2)
"""Rounds after which it grows plans: the first of them as soon as can be."""


def searched(
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
    """Search, on the best estimate first, then over all scenarios.

    Parameters
    ----------
    problem : Problem
        The question.
    stop : callable or None
        Asked now and then; True ends the search with the best plan so far.
    limit : int
        Units of work at most.
    on_progress : callable or None
        Gets every better answer as it is found.
    prove : bool
        Look for the proof as well.
    spares_first : int, optional
        Number of spares fixed for the first loop.
    memory : Memory, optional
        Holds the last plan.
    first_plan : int
        Units of work spent on any plan where rounding finds none.

    Returns
    -------
    Desk or None
        None where no tyre may be used. Of a day with more paths than can be held only
        those within reach are searched: ``found`` then has no bound, and finding nothing
        says nothing.

    Raises
    ------
    TooManyPathsError
        If there are too many paths even so: long days with few tyres.

    References
    ----------
    .. [1] Column generation; beam search (operations research textbooks).
    """
    tyres = lineup(problem)
    if not tyres.groups:
        return None
    bounds = replace(limits(problem, tyres), first_spares=spares_first)
    course = Course(problem, tyres, problem.conditions)
    reporter = Reporter(problem, tyres, course)
    last = memory.fits(problem, tyres) if memory is not None else None
    told = reporter.assemble(last) if last is not None and whole(last, reporter) else None
    if told is not None and told.stops:
        told = None
    if told is not None and on_progress is not None:
        on_progress(costed(problem, told))
    best_told = np.inf if told is None else told.total_s

    def tell(search: Search, now: Found) -> None:
        nonlocal best_told
        if on_progress is None or now.best is None or now.best.total_s >= best_told:
            return
        desk = Desk(problem, tyres, bounds, course, search, reporter, now, stop)
        result = answer(desk, explain=False).result
        if result.objective is not None and result.objective.total_s < best_told:
            best_told = result.objective.total_s
            on_progress(result)

    quick = _quick(problem, course, tyres, bounds, stop)
    sketch = Found()
    if quick is not None:
        small = quick

        def tell_small(now: Found) -> None:
            # What it says of all plans holds for its own paths and weather alone.
            tell(small, replace(now, bound_s=-np.inf))

        sketch = quick.run(
            prove=False,
            rounds=SKETCH_ROUNDS,
            work_limit=limit,
            stop=stop,
            on_better=tell_small,
            sketched=AT_ONCE,
        )
    try:
        reach, search = None, Search(course, tyres, bounds, ask=stop)
    except TooManyPathsError:
        most = most_paths(course.n_scenarios) // REACHED
        reach = widest(course.n_loops, _kinds(course, tyres), most)
        if reach is None:
            raise
        search = Search(course, tyres, bounds, reach, stop)
    begin: list[Valued] = []
    if quick is not None and sketch.best is not None:
        moved = carried_over(quick, search, sketch.best)
        if moved is not None:
            begin.append(moved)
    if told is not None:
        kept = as_paths(search, [told.fits[n] for n in reporter.busy])
        if kept is not None:
            begin.append(kept)
    found = search.run(
        begin,
        stop=stop,
        work_limit=limit,
        on_better=lambda now: tell(search, now),
        prove=prove and reach is None,
        first_plan=first_plan,
    )
    if reach is not None:
        if prove and search.last is not None and found.work < limit:
            search.last.widen()
        found.bound_s, found.complete, found.impossible = -np.inf, False, False
    found.work += sketch.work
    return Desk(problem, tyres, bounds, course, search, reporter, found, stop)


def _quick(
    problem: Problem, course: Course, tyres: Lineup, bounds: Limits, stop: Stop | None
) -> Search | None:
    """Return a small search to begin with: the best estimate of the weather, short paths."""
    long = course.n_loops >= LONG_DAY
    alone = course.n_scenarios == 1
    if alone and not long:
        return None
    simple = course if alone else Course(problem, tyres, mean_conditions(problem.conditions))
    if not long:
        return Search(simple, tyres, bounds, ask=stop)
    reach = nearest(course.n_loops, _kinds(course, tyres), most_paths(1) // REACHED)
    return None if reach is None else Search(simple, tyres, bounds, reach, stop)


def _kinds(course: Course, tyres: Lineup) -> list[Kind]:
    """Return what paths the tyres could have."""
    return [Kind(g.size, len(g.tyre.corners), course.opens(g)) for g in tyres.groups]


def whole(fits: tuple[Fit, ...], reporter: Reporter) -> bool:
    """Return whether every corner of the loops with stages has a tyre of its own."""
    return all(len(set(fits[n][:4])) == 4 and min(fits[n][:4]) >= 0 for n in reporter.busy)


def carried_over(old: Search, new: Search, plan: Valued) -> Valued | None:
    """Return a plan of one search valued by another, or None where a path is not open."""
    paths = [
        new.tree.find(int(old.tree.leaf_group[p]), int(old.tree.code[p])) for p in plan.paths
    ]
    return None if min(paths) < 0 else new.valuer.value(paths)
