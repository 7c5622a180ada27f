"""The short call: the best fitting that the minutes left, the people and the rims allow."""

from collections.abc import Callable, Mapping
from dataclasses import replace

from crewdesk.desk.answer import CallOptions
from crewdesk.desk.minutes import people_at, short_wheels, times_of, work_min, work_of
from crewdesk.desk.state import DayState
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.itinerary import ChangePlace
from crewdesk.engine.problem import Problem
from crewdesk.engine.result import PlanResult, ShortCall
from crewdesk.engine.solve import propose
from crewdesk.units import Place


def with_short(
    bundle: EventBundle,
    state: DayState,
    options: CallOptions,
    problem: Problem,
    result: PlanResult,
    stop: Callable[[], bool] | None = None,
) -> PlanResult:
    """Return a result whose short call fits the minutes left, with the minutes it needs.

    Where the crew gave no minutes the short call stays the one with half of the wheels; the
    full call is never made smaller by minutes.
    """
    place = problem.places[0]
    car = state.fitted.tyres if state.fitted is not None else {}
    short = result.short_call
    if options.minutes_left is not None and options.max_wheels is None and car:
        short = _best(bundle, options, problem, result, place, car, stop)
    if short is None or not car:
        return replace(result, short_call=short)
    people = people_at(bundle, place, options.people)
    need = float(work_min(work_of(car, short.plan.fitting), people, times_of(bundle)))
    return replace(result, short_call=replace(short, minutes=need))


def _best(
    bundle: EventBundle,
    options: CallOptions,
    problem: Problem,
    result: PlanResult,
    place: ChangePlace,
    car: Mapping[Place, str | None],
    stop: Callable[[], bool] | None,
) -> ShortCall | None:
    if not result.plan or result.objective is None or options.minutes_left is None:
        return result.short_call
    people, times = people_at(bundle, place, options.people), times_of(bundle)
    left_min = options.minutes_left
    work = work_of(car, result.plan[0].fitting)
    if work_min(work, people, times) <= left_min:
        return ShortCall(result.plan[0], 0.0, work.wheels, 0.0)
    most = min(short_wheels(left_min, people, times), work.wheels)
    # Wheels that go to another corner take longer than fresh ones: then fewer of them.
    for wheels in range(most, -1, -1):
        other = propose(
            replace(problem, max_wheels=wheels), stop=stop, effort="quick", with_flips=False
        )
        if not other.plan or other.objective is None:
            return None
        work = work_of(car, other.plan[0].fitting)
        if work_min(work, people, times) <= left_min or wheels == 0:
            loss_s = max(other.objective.total_s - result.objective.total_s, 0.0)
            return ShortCall(other.plan[0], 0.0, work.wheels, loss_s)
    return None
