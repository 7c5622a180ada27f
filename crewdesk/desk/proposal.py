"""What the rules say of a proposed fitting, before anybody touches a wheel."""

from dataclasses import replace

from crewdesk.desk.ahead import Ahead, told_of
from crewdesk.desk.answer import CallOptions
from crewdesk.desk.case import base_case, facts_of
from crewdesk.desk.minutes import late_work, work_of
from crewdesk.desk.models import model_of
from crewdesk.desk.state import DayState
from crewdesk.documents.bundle import EventBundle
from crewdesk.engine.problem import Problem
from crewdesk.engine.result import LoopPlan
from crewdesk.engine.specs import tyre_spec
from crewdesk.regulations.fitting import FittingCase, TyreFacts
from crewdesk.regulations.rulebook import Message
from crewdesk.regulations.rules import check_all

EIGHTY = 1.2815515655446004
"""80 in 100 of a normal spread lie within this many of its standard deviations."""


def proposal_messages(
    bundle: EventBundle,
    state: DayState,
    problem: Problem,
    loop: LoopPlan,
    options: CallOptions | None = None,
) -> tuple[Message, ...]:
    """Return every message of the rules on the fitting of a plan's first loop."""
    place = problem.places[0]
    facts = facts_of(bundle, state)
    for tyre_id in loop.tread_end_mm:
        if tyre_id in facts:
            facts[tyre_id] = _ahead(bundle, facts[tyre_id], problem, loop)
    for tyre_id in loop.bring:
        if tyre_id in facts:
            facts[tyre_id] = replace(facts[tyre_id], in_zone=True)
    before = dict(state.fitted.tyres) if state.fitted is not None else None
    asked = options or CallOptions()
    surfaces = frozenset(problem.stages[ref].surface for ref in place.stages)
    base = base_case(bundle, state, facts)
    base |= {
        "fitting": dict(loop.fitting),
        "place": place,
        "before": before,
        "rims_chosen": {p: rim for p, rim in loop.rims.items() if loop.fitting.get(p)},
        "zone_known": place.kind == "zone" and any(t.in_zone for t in state.tyres.values()),
        "cold_kpa": dict(loop.cold_pressure_kpa),
        "surfaces": surfaces,
    }
    if before is not None and place.kind != "start":
        work = late_work(bundle, state, place, work_of(before, loop.fitting), asked.people)
        left = asked.minutes_left
        base["minutes_needed"] = float(work.needed_min)
        base["minutes_allowed"] = work.allowed_min if left is None else left
        base["people"] = asked.people
    return check_all(FittingCase(**base), "proposal")


def _ahead(
    bundle: EventBundle, facts: TyreFacts, problem: Problem, loop: LoopPlan
) -> TyreFacts:
    tyre_id = facts.tyre_id
    depth = min(loop.tread_end_mm[tyre_id])
    sd = loop.tread_sd_mm.get(tyre_id, 0.0)
    dry_km, float_kmh = told_of(
        facts.stock,
        [problem.stages[ref] for ref in problem.places[0].stages],
        problem.conditions,
        sum(loop.tread_end_mm[tyre_id]) / 3,
    )
    ahead = Ahead(
        mm=(depth, max(depth - EIGHTY * sd, 0.0), depth + EIGHTY * sd),
        peak_c=loop.peak_tread_c.get(tyre_id),
        window_hi_c=_window(bundle, facts),
        dry_km=dry_km,
        float_kmh=float_kmh,
    )
    return ahead.laid_over(facts)


def _window(bundle: EventBundle, facts: TyreFacts) -> float | None:
    models = {(m.maker, m.model, m.compound): m for m in bundle.event.models}
    try:
        spec = tyre_spec(facts.stock, model_of(facts.stock, models))
    except ValueError:  # a compound outside the catalogue
        return None
    return spec.compound.t_hi_c
