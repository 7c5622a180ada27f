"""Asking the engine: the problem as it stands, and the answer with all that is shown of it."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime
from statistics import median
from time import perf_counter
from typing import Any

from crewdesk.conditions.moments import STATES, Conditions
from crewdesk.conditions.outlook import forecast_conditions
from crewdesk.desk.answer import Answer, CallOptions, Estimate
from crewdesk.desk.call_json import call_document
from crewdesk.desk.case import (
    base_case,
    counted_in_leg,
    facts_of,
    held_back,
    rules_of,
    usable_rims,
)
from crewdesk.desk.charts import wear_charts
from crewdesk.desk.coming_in import as_it_comes_in, warmth_c
from crewdesk.desk.course import Course
from crewdesk.desk.estimate import estimates_of, side_of, told_ways
from crewdesk.desk.learn import disagreements
from crewdesk.desk.learn_problem import with_learnt
from crewdesk.desk.models import model_of
from crewdesk.desk.moments import decision_time, place_ahead
from crewdesk.desk.outlook import live_reports, moments_of, option_report
from crewdesk.desk.proposal import proposal_messages
from crewdesk.desk.short_call import with_short
from crewdesk.desk.state import DayState, TyreNow
from crewdesk.desk.timetable import with_our_times
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.event import TyreModel
from crewdesk.documents.itinerary import ChangePlace
from crewdesk.documents.stock import StockTyre
from crewdesk.engine.beside import beside
from crewdesk.engine.problem import Choices, Problem, TyreInput
from crewdesk.engine.result import PlanResult
from crewdesk.engine.solve import propose
from crewdesk.engine.warm import Memory
from crewdesk.errors import EngineError
from crewdesk.regulations.ledger import is_approved_joker
from crewdesk.regulations.rulebook import Message

LAST = Memory()
"""Plan of the last call shown as it grew: the window's engine lives on between calls."""


def place_for(bundle: EventBundle, state: DayState, at: str | None) -> ChangePlace:
    """Return the change place a call is for.

    Raises
    ------
    EngineError
        Where no team may change tyres there, or its fitting is made already.
    """
    places = bundle.itinerary.change_places
    listed = ", ".join(place.key for place in places)
    if not places:
        raise EngineError(
            "The itinerary has no place where tyres may be changed.",
            hint="Set tyre_change on the OUT rows of the visits.",
        )
    if at is None:
        ahead = place_ahead(bundle, state)
        if ahead is None:
            raise EngineError(
                "The last change place is behind the car: there is no call to make.",
                hint=f"Change places of the event: {listed}.",
            )
        return ahead
    try:
        place = bundle.itinerary.place(at)
    except KeyError:
        row = Course(bundle.itinerary).spot(at)
        what = "is not in the itinerary"
        if row is not None:
            what = "is no place where the team may change tyres"
        raise EngineError(f"{at} {what}.", hint=f"Change places: {listed}.") from None
    keys = [p.key for p in places]
    if state.next_place is not None and keys.index(place.key) < keys.index(state.next_place):
        raise EngineError(
            f"The fitting at {place.key} is made; the book is past it.",
            hint=f"The next change place is {state.next_place}.",
        )
    if state.next_place is None and state.fittings:
        raise EngineError(
            "The last change place is behind the car: there is no call to make.",
            hint=f"Change places of the event: {listed}.",
        )
    return place


def moment_of(
    bundle: EventBundle, state: DayState, place: ChangePlace, has_book: bool
) -> datetime:
    """Return when the call is decided: the last entry of the book, else our due time IN."""
    return decision_time(bundle, state, place) if has_book else place.due_in_utc


def places_ahead(
    bundle: EventBundle, state: DayState, place: ChangePlace
) -> tuple[ChangePlace, ...]:
    """Return the change places from one on, without the stages that are run or cancelled."""
    gone = {*state.stages_run, *state.cancelled}
    places = with_our_times(bundle, state).itinerary.change_places
    first = [p.key for p in places].index(place.key)
    return tuple(
        p.model_copy(update={"stages": tuple(ref for ref in p.stages if ref not in gone)})
        for p in places[first:]
    )


def build_problem(
    bundle: EventBundle,
    state: DayState,
    options: CallOptions,
    now_utc: datetime,
) -> Problem:
    """Return the problem the engine is asked.

    Parameters
    ----------
    bundle : EventBundle
        Documents with the changes laid over them.
    state : DayState
        The day so far; without a book that of its beginning.
    options : CallOptions
        What the crew asks for.
    now_utc : datetime
        The moment of the decision.

    Raises
    ------
    EngineError
        Where the place, a locked or a banned tyre does not exist.
    """
    bundle = with_our_times(bundle, state)
    place = place_for(bundle, state, options.at)
    _check_choices(bundle, state, options)
    ahead = places_ahead(bundle, state, place)
    refs = [ref for p in ahead for ref in p.stages]
    stages = {stage.ref: stage for stage in bundle.itinerary.stages}
    conditions = conditions_for(bundle, state, options, now_utc, ahead)
    rules = rules_of(bundle)
    settings = bundle.event.settings
    if options.new_tyre_worth_s is not None:
        settings = settings.model_copy(update={"new_tyre_worth_s": options.new_tyre_worth_s})
    ways, learnt = told_ways(bundle, as_it_comes_in(bundle, state, place), now_utc)
    facts = facts_of(bundle, state)
    base = base_case(bundle, state, facts)
    held = held_back(base)
    jokers = base["ledger"].jokers
    models = {(m.maker, m.model, m.compound): m for m in bundle.event.models}
    tyres = []
    for tyre in state.tyres.values():
        why = held.get(tyre.tyre_id, "")
        way = ways[tyre.tyre_id]
        warm = warmth_c(bundle, way, ahead[0], conditions, on_car=bool(side_of(tyre.place)))
        tyres.append(
            TyreInput(
                stock=tyre.stock,
                model=model_of(tyre.stock, models),
                tread_mm=way.tread_mm,
                edge_share=way.edge_share,
                tread_sd_mm=way.sd_mm,
                rim_id="" if tyre.rim_id in state.rims_out else tyre.rim_id,
                counted=tyre.counted,
                ever_fitted=tyre.ever_fitted,
                usable=not why,
                unusable_why=why,
                on_car=tyre.place,
                tread_c=warm[0] if warm else None,
                bulk_c=warm[1] if warm else None,
                in_zone=tyre.in_zone,
                joker=is_approved_joker(facts[tyre.tyre_id]),
                joker_used=tyre.tyre_id in jokers,
                side=last_side(tyre),
            )
        )
    problem = Problem(
        tyres=tuple(tyres),
        car=bundle.event.car,
        settings=settings,
        rules=rules,
        places=ahead,
        stages={ref: stages[ref] for ref in refs},
        positions={leg.leg: leg.position for leg in bundle.event.legs},
        conditions=conditions,
        rims=usable_rims(bundle, state),
        counted_ids=frozenset(base["ledger"].counted),
        choices=Choices(locks=dict(options.locks), bans=options.bans),
        xi_money_per_s=money_per_s(bundle, settings.new_tyre_worth_s),
        seed=options.seed,
        max_wheels=options.max_wheels,
        assumed=assumed_words(bundle, conditions),
        counted_this_leg=counted_in_leg(bundle, state, place),
    )
    return with_learnt(problem, learnt)


def last_side(tyre: TyreNow) -> str:
    """Return the side of the car a tyre last ran on at this event; empty: not at all."""
    for run in reversed(tyre.runs):
        side = side_of(run.place)
        if side:
            return side
    return ""


def conditions_for(
    bundle: EventBundle,
    state: DayState,
    options: CallOptions,
    now_utc: datetime,
    places: tuple[ChangePlace, ...],
) -> Conditions:
    """Return the conditions of every stage and change place ahead."""
    known = {stage.ref: stage for stage in bundle.itinerary.stages}
    refs = [ref for place in places for ref in place.stages]
    moments = moments_of(bundle, [known[ref] for ref in refs], places)
    reports = [r for r in live_reports(bundle, state) if r.at_utc <= now_utc]
    said = option_report(bundle, places[0], options, now_utc)
    if said is not None:
        reports.append(said)
    loop = next((place.stages for place in places if place.stages), ())
    hold = said if options.hold else None
    return forecast_conditions(
        bundle.weather,
        moments,
        tuple(reports),
        now_utc=now_utc,
        n_scenarios=options.scenarios,
        seed=options.seed,
        hold=hold,
        hold_keys=loop if hold is not None else (),
    )


def _check_choices(bundle: EventBundle, state: DayState, options: CallOptions) -> None:
    for place, tyre in options.locks.items():
        if tyre not in state.tyres:
            raise EngineError(
                f"{tyre}, to be locked to {place}, is not in the stock.",
                hint="Use the crew's own tyre names, as in the stock table.",
            )
    doubled = [t for t in options.locks.values() if list(options.locks.values()).count(t) > 1]
    if doubled:
        raise EngineError(
            f"{doubled[0]} is locked to two places at once.", hint="Lock it to one."
        )
    words = {t.stock.compound.lower() for t in state.tyres.values()}
    for word in sorted(options.bans):
        if word not in state.tyres and word.lower() not in words:
            raise EngineError(
                f"{word} is neither a tyre nor a compound of the stock.",
                hint=f"Compounds: {', '.join(sorted(words))}.",
            )
    if options.surface is not None and options.surface not in STATES:
        raise EngineError(
            f"{options.surface} is no state of a road.", hint=f"States: {', '.join(STATES)}."
        )
    if not bundle.stock.tyres:
        raise EngineError("The stock is empty.", hint="Add tyres to stock.csv.")


def money_per_s(bundle: EventBundle, worth_s: float) -> float:
    """Return the money that one second is worth; 0 where money does not count."""
    models = {(m.maker, m.model, m.compound): m for m in bundle.event.models}
    prices = [
        price
        for tyre in bundle.stock.tyres
        if tyre.new and (price := _price(tyre, models)) is not None
    ]
    if worth_s <= 0 or not prices:
        return 0.0
    return median(prices) / worth_s


def _price(tyre: StockTyre, models: Mapping[tuple[str, str, str], TyreModel]) -> float | None:
    if tyre.price is not None:
        return tyre.price
    model = models.get(tyre.kind_key)
    return model.price if model is not None else None


def assumed_words(bundle: EventBundle, conditions: Conditions) -> tuple[str, ...]:
    """Return what nobody has touched, one phrase each, however the stock is ordered."""
    return tuple(sorted({*bundle.assumed, *conditions.assumed}))


def answer(
    bundle: EventBundle,
    state: DayState,
    options: CallOptions,
    number: int,
    now_utc: datetime,
    stop: Callable[[], bool] | None = None,
    on_progress: Callable[[Answer], None] | None = None,
    *,
    with_flips: bool = True,
) -> Answer:
    """Return the call for a place, with all that is shown beside it.

    A pure function of its arguments apart from the time it takes; it may run in another
    process. ``on_progress`` gets answers that are not final, then the final call before what
    stands beside it (flips, the reading worth most, limits) is worked out.
    """
    place = place_for(bundle, state, options.at)
    estimates = estimates_of(bundle, as_it_comes_in(bundle, state, place), now_utc)
    problem = build_problem(bundle, state, options, now_utc)
    warnings = disagreements(bundle, state, now_utc)

    began = perf_counter()

    def dressed(result: PlanResult, *, final: bool) -> Answer:
        timed = replace(result, elapsed_ms=(perf_counter() - began) * 1e3)
        made = dress(
            bundle, state, options, number, now_utc, problem, timed, estimates, final=final
        )
        return replace(made, warnings=warnings)

    def tell(result: PlanResult) -> None:
        if on_progress is not None:
            on_progress(dressed(result, final=False))

    shown = on_progress is not None
    result = propose(
        problem,
        stop=stop,
        on_progress=tell if shown else None,
        memory=LAST if shown else None,
    )
    result = with_short(bundle, state, options, problem, result, stop)
    if with_flips and result.plan and not (stop is not None and stop()):
        if on_progress is not None:
            on_progress(dressed(result, final=True))
        result = beside(problem, result, stop)
    return dressed(result, final=True)


def dress(
    bundle: EventBundle,
    state: DayState,
    options: CallOptions,
    number: int,
    now_utc: datetime,
    problem: Problem,
    result: PlanResult,
    estimates: Mapping[str, Estimate],
    *,
    final: bool,
) -> Answer:
    """Return an engine's result as the window and the command line show it."""
    place = problem.places[0]
    bare = Answer(
        number=number,
        place=place.key,
        options=options,
        result=result,
        call={},
        conditions=problem.conditions,
        estimates=estimates,
        charts=(),
        final=final,
        made_for=made_for(problem, now_utc),
    )
    call = call_document(bundle, state, problem, bare, now_utc)
    charts = wear_charts(bundle, state, result, estimates, now_utc)
    messages: tuple[Message, ...] = ()
    if result.plan:
        messages = proposal_messages(bundle, state, problem, result.plan[0], options)
    return replace(bare, call=call, charts=charts, messages=messages)


def made_for(problem: Problem, now_utc: datetime) -> Mapping[str, Any]:
    """Return the inputs a call was made for, to see when they change."""
    conditions = problem.conditions
    keys = [ref for ref in problem.places[0].stages if ref in conditions.keys]
    keys = keys or [problem.places[0].key]
    columns = [conditions.index(key) for key in keys]
    likely: dict[str, float] = {}
    for column in columns:
        for word, share in conditions.state_shares[column].items():
            likely[word] = likely.get(word, 0.0) + share / len(columns)
    return {
        "at_utc": now_utc,
        "air_c": float(conditions.air_mean_c[columns].mean()),
        "road_c": float(conditions.road_mean_c[columns].mean()),
        "surface": max(likely, key=lambda word: likely[word]) if likely else "dry",
        "rain": float(conditions.rain_mm_h[:, columns].mean()) > 0.05,
    }


def answer_at(
    bundle: EventBundle, state: DayState, options: CallOptions, *, has_book: bool
) -> Answer:
    """Return the call as the command line makes it: it ends by work done and so repeats."""
    place = place_for(bundle, state, options.at)
    now_utc = moment_of(bundle, state, place, has_book)
    return answer(bundle, state, options, 0, now_utc)
