"""From the state of the day to what the rules are asked."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo

from crewdesk.desk.course import Course, Position
from crewdesk.desk.leaks import air_at
from crewdesk.desk.state import DayState, TyreNow
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.event import TyreModel
from crewdesk.documents.itinerary import ChangePlace
from crewdesk.regulations.build import rulebook
from crewdesk.regulations.fitting import Asked, FittingCase, TyreFacts, Weathers
from crewdesk.regulations.ledger import Ledger as Count
from crewdesk.regulations.predicates import may_use
from crewdesk.regulations.rulebook import Rulebook
from crewdesk.regulations.rules import check_all
from crewdesk.units import Place

LEAK = "LEAK-1"

RAIN_MM_H = 0.1
"""Less than this is no rain (tuning value of this project)."""
SNOW_AIR_C = 0.0
"""In air this cold or colder what falls is called snow (tuning value of this project)."""


def rules_of(bundle: EventBundle) -> Rulebook:
    """Return the rules in force, bulletins included."""
    event = bundle.event
    return rulebook(event.rules, bundle.regulation_set, event.car_class, day=first_day(bundle))


def first_day(bundle: EventBundle) -> date | None:
    """Return the first day of the event as its own clock counts it."""
    days = [r.first_car_due for r in bundle.itinerary.rows if r.first_car_due is not None]
    return local(bundle, min(days)).date() if days else None


def local(bundle: EventBundle, at: datetime) -> datetime:
    """Return an instant as the event's own clock shows it, without a zone."""
    return at.astimezone(_zone(bundle.event.zone)).replace(tzinfo=None)


@lru_cache(maxsize=16)
def _zone(name: str) -> ZoneInfo:
    return ZoneInfo(name)


def models_of(bundle: EventBundle) -> Mapping[tuple[str, str, str], TyreModel]:
    """Return the models by maker, model and compound."""
    return {(m.maker, m.model, m.compound): m for m in bundle.event.models}


def usable_rims(bundle: EventBundle, state: DayState) -> dict[str, str]:
    """Return the rims that may be used, type by id."""
    return {
        rim.rim_id: rim.rim for rim in bundle.event.rims if rim.rim_id not in state.rims_out
    }


def facts_of(
    bundle: EventBundle, state: DayState, *, fresh: frozenset[str] = frozenset()
) -> dict[str, TyreFacts]:
    """Return every tyre as the rules look at it.

    For ``fresh`` tyres a leak that a reading has just shown is told with its numbers instead
    of as a hold.
    """
    models = models_of(bundle)
    course = Course(bundle.itinerary)
    torque = {t.tyre_id: t.since for t in state.torque_due}
    return {
        tyre.tyre_id: _facts(bundle, state, tyre, models, course, torque, fresh)
        for tyre in state.tyres.values()
    }


def _facts(
    bundle: EventBundle,
    state: DayState,
    tyre: TyreNow,
    models: Mapping[tuple[str, str, str], TyreModel],
    course: Course,
    torque: Mapping[str, str],
    fresh: frozenset[str],
) -> TyreFacts:
    code, why = split_code(tyre.status_why)
    status: Any = tyre.status
    if tyre.tyre_id in fresh and code == LEAK and status == "locked":
        status = "ok"
    model = models.get(tyre.stock.kind_key)
    read = last_read(tyre)
    km = None
    if tyre.tyre_id in torque:
        km = km_since(bundle, state, course, torque[tyre.tyre_id])
    cold = [r for r in tyre.readings if r.cold_kpa is not None]
    tight = tyre.status_why.startswith("released")
    set_before = not cold or not _set_after(state, tyre, cold[-1].at)
    return TyreFacts(
        stock=tyre.stock,
        status=status,
        why=why,
        why_code="LEAK-1" if code == LEAK else "DMG-1",
        tread_mm=read,
        tread_read=read is not None and tyre.readings[-1].runs_before >= len(tyre.runs),
        rim_id="" if tyre.rim_id in state.rims_out else tyre.rim_id,
        in_zone=tyre.in_zone,
        km_since_torque=km,
        joker_for=tyre.joker_for,
        joker_sheet=tyre.joker_sheet,
        approved_by=tyre.approved_by,
        cold_kpa=cold[-1].cold_kpa if cold and set_before and not tight else None,
        cold_at_c=air_at(state.reports, cold[-1].at) if cold else None,
        set_kpa=tyre.cold_set_kpa,
        set_at_c=tyre.set_at_c,
        pair=pair_of(state, tyre.tyre_id),
        min_cold_kpa=model.min_cold_kpa if model else None,
        max_kpa=model.max_kpa if model else None,
        cut="cut_by_hand" in tyre.stock.extra,
        treated=tyre.treated,
        insert=tyre.stock.extra.get("insert", "").strip().lower() == "yes",
        groove_share=_share(tyre.stock.extra.get("groove_pct", "")),
        groove_count=_count(tyre.stock.extra.get("groove_count", "")),
        mark_readable=tyre.mark_readable,
        came_off=tyre.place is None and tyre.last_place is not None,
        studs_lost_share=_last(tyre, "studs_lost_share"),
        stud_out_mm=_last(tyre, "stud_out_mm"),
    )


def _share(word: str) -> float | None:
    try:
        return float(word) / 100 if word.strip() else None
    except ValueError:  # a column of the crew's own that means something else
        return None


def _count(word: str) -> int | None:
    return int(word) if word.strip().isdigit() else None


def _last(tyre: TyreNow, name: str) -> float | None:
    """Return the newest figure of a kind that was read."""
    for reading in reversed(tyre.readings):
        value: float | None = getattr(reading, name)
        if value is not None:
            return value
    return None


def _set_after(state: DayState, tyre: TyreNow, at: datetime) -> bool:
    """Say whether a tyre was fitted, and so set, after a moment."""
    return any(f.at > at and tyre.tyre_id in f.tyres.values() for f in state.fittings)


def split_code(why: str) -> tuple[str, str]:
    """Return the rule code before a reason, and the reason."""
    first, _, rest = why.partition(" ")
    if "-" in first and first.split("-")[0].isupper() and first[-1].isdigit():
        return first, rest
    return "", why


def last_read(tyre: TyreNow) -> tuple[float, float, float] | None:
    """Return the newest depth read at each point, or None where nothing was read."""
    points = list(tyre.stock.tread_mm)
    seen = False
    for reading in tyre.readings:
        for index, depth in enumerate(reading.tread_mm):
            if depth is not None:
                points[index] = depth
                seen = True
    return (points[0], points[1], points[2]) if seen else None


_BESIDE: Mapping[Place, Place] = {
    "FL": "FR",
    "FR": "FL",
    "RL": "RR",
    "RR": "RL",
    "SP1": "SP2",
    "SP2": "SP1",
}


def pair_of(state: DayState, tyre_id: str) -> str:
    """Return the tyre that was set together with this one: its neighbour of that fitting."""
    for fitting in reversed(state.fittings):
        for place, tyre in fitting.tyres.items():
            if tyre == tyre_id:
                return fitting.tyres.get(_BESIDE[place]) or ""
    return ""


def km_since(bundle: EventBundle, state: DayState, course: Course, word: str) -> float:
    """Return how far the car has driven, road and stages, since a stage or place."""
    spot = course.spot(word)
    row = spot.row_out if spot is not None else -1
    return sum(
        stage.km + stage.liaison_before_km
        for stage in bundle.itinerary.stages
        if stage.ref in state.stages_run and course.row_of_stage[stage.ref] > row
    )


def count_of(
    rules: Rulebook, facts: Mapping[str, TyreFacts], counted: tuple[str, ...], jokers: bool
) -> Count:
    """Return the count of the rules for tyres already counted."""
    start = Count.start(rules, facts)
    ids = tuple(dict.fromkeys([*start.counted, *counted]))
    groups = {t: facts[t].stock.cap_group or facts[t].stock.compound for t in ids}
    used_jokers = tuple(t for t, f in facts.items() if f.joker_sheet and jokers)
    return replace(
        start,
        counted=ids,
        groups=groups,
        compounds={t: facts[t].stock.compound for t in ids},
        jokers=used_jokers,
    )


def jokers_in_use(state: DayState) -> tuple[str, ...]:
    """Return the damage replacements that have been on the car."""
    return tuple(
        tyre.tyre_id
        for tyre in state.tyres.values()
        if tyre.joker_sheet and (tyre.last_place is not None or tyre.place is not None)
    )


def base_case(bundle: EventBundle, state: DayState, facts: Mapping[str, TyreFacts]) -> Any:
    """Return the keyword arguments that every question to the rules shares."""
    rules = rules_of(bundle)
    count = replace(
        count_of(rules, facts, state.counted, jokers=False), jokers=jokers_in_use(state)
    )
    ahead = state.next_place
    place = bundle.itinerary.place(ahead) if ahead is not None else None
    return {
        "rules": rules,
        "tyres": facts,
        "ledger": count,
        "rims": usable_rims(bundle, state),
        "next_ref": place.in_ref if place is not None else "",
        "next_due": local(bundle, place.due_in_utc) if place is not None else None,
        "event_date": first_day(bundle),
        "questions": asked_of(bundle, state),
        **counted_lately(bundle, state),
        "overrides": {
            str(o["code"]): str(o["name"])
            for o in state.overrides
            if o["code"] and _still_open(bundle, state, str(o.get("place", "")))
        },
    }


def counted_lately(bundle: EventBundle, state: DayState) -> dict[str, int]:
    """Return how many tyres were counted in the leg and at the place that is decided now."""
    key = state.at_place or state.next_place
    here = next((p for p in bundle.itinerary.change_places if p.key == key), None)
    if here is None:
        return {}
    return {"counted_this_leg": counted_in_leg(bundle, state, here), "counted_here": 0}


def counted_in_leg(bundle: EventBundle, state: DayState, here: ChangePlace) -> int:
    """Return how many tyres were first counted at other places of the leg of a place."""
    places = {p.key: p for p in bundle.itinerary.change_places}
    seen: set[str] = set()
    in_leg = 0
    for fitting in state.fittings:
        new = {t for t in fitting.tyres.values() if t in state.counted} - seen
        seen |= new
        place = places.get(fitting.place)
        if place is not None and place.key != here.key and place.leg == here.leg:
            in_leg += len(new)
    return in_leg


HOLDS = frozenset(
    {
        "MRK-1",
        "MRK-2",
        "QTY-3",
        "QTY-5",
        "JOK-1",
        "TRD-1",
        "TRD-3",
        "WID-1",
        "AGE-1",
        "DMG-1",
        "LEAK-1",
        "ROAD-1",
        "ROAD-2",
        "STD-1",
        "PAT-1",
        "TRT-1",
    }
)
"""Rules that speak of a single tyre: where one stops it, no plan may have it."""


def held_back(base: Mapping[str, Any]) -> dict[str, str]:
    """Return the tyres that a rule keeps off the car whatever stands beside them, and why."""
    rules, facts = base["rules"], base["tyres"]
    held: dict[str, str] = {}
    for tyre_id, one in facts.items():
        usable, code, why = may_use(one, rules)
        if not usable:
            held[tyre_id] = f"{code} {why}"
            continue
        case = FittingCase(**{**base, "questions": (), "fitting": {"FL": tyre_id}})
        for message in check_all(case, "fitting"):
            named = (message.values.get("tyre"), *_listed(message.values.get("tyres")))
            if message.level == "stops" and message.code in HOLDS and tyre_id in named:
                held[tyre_id] = f"{message.code} {message.text}"
                break
    return held


def _listed(tyres: object) -> tuple[object, ...]:
    return tuple(tyres) if isinstance(tyres, (list, tuple)) else ()


def _still_open(bundle: EventBundle, state: DayState, word: str) -> bool:
    """Say whether an override is for the place the car is in or comes to next."""
    if not word:
        return True
    place = Course(bundle.itinerary).place(word)
    return place is None or place.key in (state.at_place, state.next_place)


def asked_of(bundle: EventBundle, state: DayState) -> tuple[Asked, ...]:
    """Return the open questions as the rules say them again."""
    course = Course(bundle.itinerary)
    incidents = dict(state.incidents)
    place = state.at_place or state.next_place
    until = ""
    if place is not None and place in _keys(bundle):
        until = bundle.itinerary.place(place).in_ref
    asked = []
    for question in state.open_questions:
        km = 0.0
        incident = incidents.get(question.id)
        if incident is not None and incident.changed_by != "nobody":
            spot = course.spot(incident.where)
            after: Position = (spot.row_out, 0.0) if spot is not None else (-1, 0.0)
            km = sum(
                stage.km
                for stage in bundle.itinerary.stages
                if stage.ref in state.stages_run and course.row_of_stage[stage.ref] > after[0]
            )
        asked.append(
            Asked(
                question.text.rstrip("?"),
                local(bundle, question.since),
                question.possible,
                km,
                until,
            )
        )
    return tuple(asked)


def _keys(bundle: EventBundle) -> frozenset[str]:
    return frozenset(place.key for place in bundle.itinerary.change_places)


def weathers_of(state: DayState) -> Weathers | None:
    """Return air, road and rain at the last call or fitting, and now."""
    decided = [f.at for f in state.fittings]
    if state.call_used is not None and state.call_used.at is not None:
        decided.append(state.call_used.at)
    if not decided or not state.reports:
        return None
    then = max(decided)

    def newest(name: str, until: datetime | None) -> Any:
        for report in reversed(state.reports):
            value = getattr(report, name)
            in_time = until is None or (report.at is not None and report.at <= until)
            if value is not None and in_time:
                return value
        return None

    def rains(until: datetime | None) -> bool | None:
        for report in reversed(state.reports):
            if until is not None and (report.at is None or report.at > until):
                continue
            if report.rain_mm_h is not None:
                return report.rain_mm_h > RAIN_MM_H
            if report.surface == "dry":
                return False
        return None

    air_now_c = newest("air_c", None)
    return Weathers(
        air_then_c=newest("air_c", then),
        air_now_c=air_now_c,
        road_then_c=newest("road_c", then),
        road_now_c=newest("road_c", None),
        rain_then=rains(then),
        rain_now=rains(None),
        snow=air_now_c is not None and air_now_c <= SNOW_AIR_C,
    )
