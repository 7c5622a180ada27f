"""A day made in pieces, one after the other: where no search of all of it finds a plan."""

from collections.abc import Callable
from dataclasses import replace

from crewdesk.engine.answer import Stop, costed, nothing
from crewdesk.engine.course import Course
from crewdesk.engine.evaluate import fit_of
from crewdesk.engine.groups import lineup
from crewdesk.engine.problem import Problem
from crewdesk.engine.report import Reporter
from crewdesk.engine.result import Lift, PlanResult
from crewdesk.engine.windows import in_windows

Ask = Callable[[Problem, int | None], PlanResult]
"""Answers a shorter question with a number of spares fixed for its first loop."""

LOOPS_OF_PIECE = 3
"""Loops of the first pieces that are tried."""


def in_pieces(
    problem: Problem, loops: int, stop: Stop | None, spares_first: int | None, ask_of: Ask
) -> PlanResult:
    """Return the answer for more loops than can be looked at in one piece."""
    given = [spares_first]

    def ask(part: Problem) -> PlanResult:
        return ask_of(part, given.pop() if given else None)

    # Short pieces are quick but may use up what the last loops need: then longer ones.
    fittings, last = in_windows(problem, min(loops, LOOPS_OF_PIECE), ask)
    for size in range(LOOPS_OF_PIECE + 1, loops + 1):
        if fittings or (stop is not None and stop()):
            break
        given[:] = [spares_first]
        fittings, last = in_windows(problem, size, ask)
    if not fittings:
        return replace(nothing(problem, last.lift), complete=False)
    tyres = lineup(problem)
    reporter = Reporter(problem, tyres, Course(problem, tyres, problem.conditions))
    report = reporter.assemble(tuple(fit_of(tyres, fitting) for fitting in fittings))
    if report.stops:
        stopped = tuple(Lift(c.code, c.text) for c in report.stops)
        return replace(nothing(problem, stopped), complete=False)
    return costed(problem, report)


def rough(
    problem: Problem, stop: Stop | None, spares_first: int | None, ask_of: Ask
) -> PlanResult:
    """Return a plan made in pieces, for a day in which the search found none to begin with."""
    loops = sum(bool(place.stages) for place in problem.places)
    if loops <= LOOPS_OF_PIECE or (stop is not None and stop()):
        return replace(nothing(problem, ()), complete=False)
    return in_pieces(problem, loops - 1, stop, spares_first, ask_of)
