"""The documents that ``call --json`` and ``judge --json`` print; keys are a contract."""

from collections.abc import Mapping
from datetime import UTC, datetime
from math import isfinite
from typing import Any

from crewdesk.conditions.moments import Conditions
from crewdesk.desk.answer import Answer
from crewdesk.desk.state import DayState
from crewdesk.documents.bundle import EventBundle
from crewdesk.engine.problem import Problem
from crewdesk.engine.result import (
    Alternative,
    Flip,
    FlipChart,
    JudgeResult,
    LoopPlan,
    Objective,
    ReadingWorth,
    ReserveWheel,
    RuleCheck,
    ShortCall,
)
from crewdesk.units import CORNERS, PLACES, Place

FORMAT = 1


def plain(value: Any) -> Any:
    """Return a value as JSON knows it: no endless numbers, sets as lists, others as words."""
    if isinstance(value, Mapping):
        return {str(key): plain(one) for key, one in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(one) for one in value]
    if isinstance(value, (set, frozenset)):
        return sorted((plain(one) for one in value), key=str)
    if isinstance(value, float):
        return float(value) if isfinite(value) else None
    if value is None or isinstance(value, (str, bool, int)):
        return value
    if hasattr(value, "item"):  # a number of numpy's
        return plain(value.item())
    return str(value)


def instant(at: datetime) -> str:
    """Return an instant as ISO 8601 with Z."""
    text = at.astimezone(UTC).isoformat(timespec="seconds")
    return text.replace("+00:00", "Z")


def fitting_with_spares(fitting: Mapping[Place, str | None]) -> dict[str, Any]:
    """Return a fitting with its carried wheels as a list."""
    corners: dict[str, Any] = {corner: fitting.get(corner) for corner in CORNERS}
    corners["spares"] = [t for t in (fitting.get("SP1"), fitting.get("SP2")) if t]
    return corners


def by_place(values: Mapping[Place, Any]) -> dict[str, Any]:
    """Return a map by place in the order of the places, without empty ones."""
    return {place: values[place] for place in PLACES if values.get(place) is not None}


def reserve_element(wheel: ReserveWheel) -> dict[str, Any]:
    """Return a wheel that goes to a zone in case of a puncture before it."""
    return {
        "tyre": wheel.tyre,
        "corners": list(wheel.corners),
        "chance": wheel.chance,
        "saves_s": wheel.saves_s,
    }


def plan_element(plan: LoopPlan) -> dict[str, Any]:
    """Return one loop of a plan."""
    return {
        "loop": plan.loop,
        "place": plan.place,
        "fitting": {place: plan.fitting.get(place) for place in PLACES},
        "cold_pressure_kpa": by_place(plan.cold_pressure_kpa),
        "floor_binds": by_place(plan.floor_binds),
        "hot_target_kpa": plan.hot_target_kpa,
        "bring": list(plan.bring),
        "bring_rims": dict(plan.bring_rims),
        "reserve": [reserve_element(wheel) for wheel in plan.reserve],
        "rims": by_place(plan.rims),
        "tread_end_mm": {tyre: list(mm) for tyre, mm in plan.tread_end_mm.items()},
        "tread_sd_mm": dict(plan.tread_sd_mm),
        "edge_end": {tyre: list(edges) for tyre, edges in plan.edge_end.items()},
        "peak_tread_c": dict(plan.peak_tread_c),
        "expected_s": plan.expected_s,
        "spread_s": list(plan.spread_s),
        "below_minimum": dict(plan.below_minimum),
    }


def short_element(short: ShortCall | None) -> dict[str, Any] | None:
    """Return the short call: a plan element with minutes and loss."""
    if short is None:
        return None
    return {
        **plan_element(short.plan),
        "minutes": short.minutes,
        "wheels": short.wheels,
        "loss_s": short.loss_s,
    }


def objective_parts(objective: Objective | None) -> dict[str, float] | None:
    """Return the parts of the cost; they sum to ``objective_s``."""
    if objective is None:
        return None
    return {
        "time_s": objective.time_s,
        "punctures_s": objective.punctures_s,
        "money_s": objective.money_s,
        "beyond_s": objective.beyond_s,
        "worst_tenth_s": objective.worst_tenth_s,
    }


def compounds_of(state: DayState, fitting: Mapping[Place, str | None]) -> dict[str, str]:
    """Return the compound word by place."""
    return {
        place: state.tyres[tyre].stock.compound
        for place in PLACES
        if (tyre := fitting.get(place)) and tyre in state.tyres
    }


def rule_element(check: RuleCheck) -> dict[str, Any]:
    """Return one checked rule."""
    return {
        "code": check.code,
        "level": check.level,
        "ok": check.ok,
        "values": dict(check.values),
        "text": check.text,
    }


def alternative_element(other: Alternative) -> dict[str, Any]:
    """Return the best plan behind another next fitting."""
    return {
        "fitting": fitting_with_spares(other.fitting),
        "compounds": by_place(other.compounds),
        "objective_s": other.objective_s,
        "loss_s": other.loss_s,
        "differs": list(other.differs),
    }


def flip_element(flip: Flip) -> dict[str, Any]:
    """Return where another call becomes the better one."""
    told = {
        "what": flip.what,
        "unit": flip.unit,
        "now": flip.now,
        "at": flip.at,
        "then": by_place(flip.then),
    }
    return {**told, "tyre": flip.tyre} if flip.tyre else told


def chart_element(chart: FlipChart) -> dict[str, Any]:
    """Return how the calls known stand to each other as one thing moves."""
    return {
        "what": chart.what,
        "unit": chart.unit,
        "tyre": chart.tyre or None,
        "now": chart.now,
        "values": list(chart.values),
        "lines": [
            {
                "fitting": by_place(line.fitting),
                "compounds": by_place(line.compounds),
                "seconds": list(line.seconds),
            }
            for line in chart.lines
        ],
    }


def reading_element(worth: ReadingWorth | None) -> dict[str, Any] | None:
    """Return the one reading that is worth most; a tread with its tyre."""
    if worth is None:
        return None
    what = f"tread {worth.tyre}" if worth.tyre else worth.what
    return {"what": what, "gain_s": worth.gain_s}


def condition_elements(problem: Problem) -> list[dict[str, Any]]:
    """Return the conditions of every stage ahead."""
    conditions: Conditions = problem.conditions
    elements = []
    for place in problem.places:
        for ref in place.stages:
            column = conditions.index(ref)
            elements.append(
                {
                    "stage": ref,
                    "start": instant(problem.stages[ref].due_utc),
                    "air_c": float(conditions.air_mean_c[column]),
                    "air_sd_c": float(conditions.air_sd_c[column]),
                    "road_c": float(conditions.road_mean_c[column]),
                    "road_sd_c": float(conditions.road_sd_c[column]),
                    "surface": dict(conditions.state_shares[column]),
                    "parts": [
                        {
                            "part": key.removeprefix(ref).strip(),
                            "share": share,
                            "surface": dict(conditions.state_shares[conditions.index(key)]),
                        }
                        for key, share in conditions.parts.get(ref, ())
                    ],
                }
            )
    return elements


def call_document(
    bundle: EventBundle,
    state: DayState,
    problem: Problem,
    answer: Answer,
    now_utc: datetime,
) -> dict[str, Any]:
    """Return the call as ``call --json`` prints it.

    What was not worked out is null; so is a reading where none is worth taking.
    """
    result = answer.result
    first = result.plan[0] if result.plan else None
    place = problem.places[0]
    document: dict[str, Any] = {
        "format": FORMAT,
        "event": bundle.event.name,
        "event_id": str(bundle.event.event_id),
        "place": place.key,
        "loop": place.loop,
        "at": instant(now_utc),
        "fitting": fitting_with_spares(first.fitting) if first else None,
        "compounds": compounds_of(state, first.fitting) if first else {},
        "rims": by_place(first.rims) if first else {},
        "plan": [plan_element(loop) for loop in result.plan],
        "short_call": short_element(result.short_call),
        "reading": reading_element(result.reading),
        "objective_s": result.objective.total_s if result.objective else None,
        "objective": objective_parts(result.objective),
        "bound_s": result.bound_s,
        "gap_s": result.gap_s,
        "complete": result.complete,
        "recourse_objective_s": result.recourse_objective_s,
        "recourse_bound_s": result.recourse_bound_s,
        "held_fixed": alternative_element(result.held_fixed) if result.held_fixed else None,
        "alternatives": [alternative_element(other) for other in result.alternatives],
        "flips": [flip_element(flip) for flip in result.flips],
        "flip_charts": [chart_element(chart) for chart in result.flip_charts],
        "reasons": [
            {"kind": r.kind, "values": dict(r.values), "seconds": r.seconds}
            for r in result.reasons
        ],
        "rules": [rule_element(check) for check in result.rules],
        "conditions": condition_elements(problem),
        "assumed": list(problem.assumed),
        "messages": [*problem.conditions.messages, *result.messages],
        "scenarios": result.scenarios or answer.options.scenarios,
        "seed": answer.options.seed,
        "work": result.work,
        "elapsed_ms": result.elapsed_ms,
    }
    if first is None:
        document["lift"] = [{"code": lift.code, "what": lift.what} for lift in result.lift]
        document["least_worn"] = [plan_element(loop) for loop in result.least_worn]
    told: dict[str, Any] = plain(document)
    return told


def judge_document(
    bundle: EventBundle,
    state: DayState,
    problem: Problem,
    judged: JudgeResult,
    now_utc: datetime,
) -> dict[str, Any]:
    """Return the cost of a given plan as ``judge --json`` prints it."""
    first = judged.plan[0] if judged.plan else None
    place = problem.places[0]
    told: dict[str, Any] = plain(
        {
            "format": FORMAT,
            "event": bundle.event.name,
            "event_id": str(bundle.event.event_id),
            "place": place.key,
            "loop": place.loop,
            "at": instant(now_utc),
            "completed": judged.completed,
            "breaches": [rule_element(check) for check in judged.breaches],
            "fitting": fitting_with_spares(first.fitting) if first else None,
            "compounds": compounds_of(state, first.fitting) if first else {},
            "plan": [plan_element(loop) for loop in judged.plan],
            "objective_s": judged.objective.total_s if judged.objective else None,
            "objective": objective_parts(judged.objective),
            "conditions": condition_elements(problem),
            "assumed": list(problem.assumed),
            "scenarios": problem.conditions.air_c.shape[0],
            "seed": problem.seed,
        }
    )
    return told
