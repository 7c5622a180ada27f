"""The short call: the best fitting that the minutes left, the people and the rims allow."""

from collections.abc import Callable, Mapping
from dataclasses import replace

from crewdesk.desk.answer import CallOptions
from crewdesk.desk.minutes import people_at, short_wheels, work_min, work_of
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
    need = float(work_min(work_of(car, short.plan.fitting), people))
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
    most = short_wheels(options.minutes_left, people_at(bundle, place, options.people))
    wheels = work_of(car, result.plan[0].fitting).wheels
    if wheels <= most:
        return ShortCall(result.plan[0], 0.0, wheels, 0.0)
    other = propose(
        replace(problem, max_wheels=most), stop=stop, effort="quick", with_flips=False
    )
    if not other.plan or other.objective is None:
        return None
    loss_s = max(other.objective.total_s - result.objective.total_s, 0.0)
    wheels = work_of(car, other.plan[0].fitting).wheels
    return ShortCall(other.plan[0], 0.0, wheels, loss_s)
