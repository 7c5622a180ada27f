"""What is remarked upon once an entry is in the book: a fact is never refused."""

from collections.abc import Callable, Mapping
from typing import Any

from crewdesk.desk.apply_car import read_car
from crewdesk.desk.case import RAIN_MM_H, weathers_of
from crewdesk.desk.learn_question import question_of
from crewdesk.desk.remarks_road import (
    axle_if,
    no_spare,
    no_spare_since,
    rain_unforeseen,
    snows,
)
from crewdesk.desk.remarks_stock import (
    closed_event,
    documents_changed,
    kept_tyres,
    rim_move,
    tyre_added,
    tyre_state,
)
from crewdesk.desk.remarks_times import control_time
from crewdesk.desk.replay import Fold
from crewdesk.desk.scene import NOTE, Scene
from crewdesk.desk.spells import full_car, moved_by_hand
from crewdesk.desk.state import DayState
from crewdesk.desk.targets import hot_target_for_past
from crewdesk.journal.entries import (
    Answer,
    AnyEntry,
    AsFound,
    Correction,
    Fitting,
    Incident,
    MarkCheck,
    ReadBack,
    Reading,
    Report,
    RoadChange,
)
from crewdesk.regulations.fitting import Weathers
from crewdesk.regulations.rulebook import Message
from crewdesk.units import PLACES, Place

BREAK_EVEN_KM: Mapping[str, float] = {"gravel": 6.0, "asphalt": 7.5, "snow": 6.0, "ice": 6.0}
"""Km left from which stopping to change a wheel costs less than driving on flat.

Common practice, no source.
"""
TREAD_FIELDS = ("tread_in_mm", "tread_mid_mm", "tread_out_mm")


def remarks(
    before: DayState, fold: Fold, after: DayState, body: AnyEntry
) -> tuple[Message, ...]:
    """Return what there is to say after an entry; messages of a fitting come before it."""
    told = _TOLD.get(body.kind)
    return tuple(told(Scene(before, fold, after), body)) if told is not None else ()


def _as_found(scene: Scene, body: AsFound) -> list[Message]:
    book = scene.before.fitted.tyres if scene.before.fitted is not None else None
    found = scene.car()
    codes = {"PLC-2", "SPR-1", "NUT-1"}
    new = {q.id for q in scene.after.open_questions} - {
        q.id for q in scene.before.open_questions
    }
    closed = [
        q
        for q in scene.before.open_questions
        if q.id not in {left.id for left in scene.after.open_questions}
    ]
    if new or body.since is not None:
        codes.add("FND-1")
    messages = scene.ask(
        "reading",
        codes,
        fitting=dict(found),
        found=dict(found),
        before=dict(book) if book is not None else None,
        place=scene.place(body.place),
    )
    messages += [_closed(q.text, scene, q.id) for q in closed if q.id in _incident_ids(scene)]
    return messages


def _incident_ids(scene: Scene) -> set[str]:
    return {key for key, _ in scene.after.incidents}


def _closed(question: str, scene: Scene, key: str) -> Message:
    incident = dict(scene.after.incidents).get(key)
    answer = ""
    if incident is not None and incident.tyre_off:
        answer = f" {incident.corner}: {incident.tyre_off} out"
        answer += f" and {incident.tyre_on} in." if incident.tyre_on else "."
    return Message(
        "OPN-1",
        "note",
        f"Answered: {question}{answer}",
        {"question": key, "closed": True},
    )


def _answer(scene: Scene, body: Answer) -> list[Message]:
    texts = [q.text for q in scene.before.open_questions if q.id == body.question_id]
    left = {q.id for q in scene.after.open_questions}
    messages = []
    if texts and body.question_id not in left:
        messages.append(_closed(texts[0], scene, body.question_id))
    elif body.question_id in left:
        messages += scene.ask("reading", {"OPN-1"})
    messages += scene.ask("reading", {"NUT-1"}, fitting=dict(scene.car()))
    return messages


def _read_back(scene: Scene, body: ReadBack) -> list[Message]:
    planned = scene.before.fitted.tyres if scene.before.fitted is not None else {}
    read = read_car(planned, body)
    messages = scene.ask("time_control", {"RDB-1"}, fitting=dict(planned), read_back=dict(read))
    if not messages:
        messages += scene.ask("time_control", {"NUT-1"}, fitting=dict(planned))
    return messages


def _fitting(scene: Scene, body: Fitting) -> list[Message]:
    """Ask for the torque of every wheel put on here, in one line."""
    key = scene.place(body.place)
    here = key.key if key is not None else body.place
    fresh = [t for t in scene.after.torque_due if t.since == here]
    kept = kept_tyres(scene, body.fitting.values())
    if not fresh:
        return kept
    names = ", ".join(f"{t.corner} ({t.tyre_id})" for t in fresh)
    return [
        *kept,
        Message(
            "NUT-1",
            "watch",
            f"Put on here, torque not entered yet: {names}.",
            {"corners": [t.corner for t in fresh]},
        ),
    ]


def _incident(scene: Scene, body: Incident) -> list[Message]:
    key = next(iter(reversed([k for k, _ in scene.after.incidents])), "")
    known = dict(scene.after.incidents).get(key, body)
    codes = {"DMG-1", "LEAK-1"}
    if scene.after.at_place is None:
        codes |= {"SPR-1", "NUT-1"}
    messages = [
        message
        for message in scene.ask("reading", codes, fitting=dict(scene.car()))
        if message.code not in ("DMG-1", "LEAK-1")
        or message.values.get("tyre") == known.tyre_off
    ]
    if any(q.id == key for q in scene.after.open_questions):
        messages += scene.ask("reading", {"OPN-1"})
        messages += _spares_unknown(scene, known)
        if known.changed_by in ("crew", "team") and known.tyre_on is None:
            messages += axle_if(scene, known)
    elif body.changed_by == "crew" and scene.after.at_place is None:
        messages += no_spare(scene)
    messages += _break_even(scene, body)
    return messages


def _spares_unknown(scene: Scene, incident: Incident) -> list[Message]:
    """Say how many sound spares are left at most where nobody knows which one was used."""
    if incident.changed_by not in ("crew", "team") or incident.tyre_on is not None:
        return []
    sound = [
        tyre
        for place in ("SP1", "SP2")
        if (tyre := scene.car().get(place)) and scene.after.tyres[tyre].status == "ok"
    ]
    most = max(len(sound) - 1, 0)
    return [
        Message(
            "SPR-1",
            "watch",
            f"At most {most} sound {'spare' if most == 1 else 'spares'} on board.",
            {"sound_at_most": most},
        )
    ]


def _break_even(scene: Scene, body: Incident) -> list[Message]:
    """Say how a change on the stage compares with the rule of thumb."""
    spot = scene.course.spot(body.where)
    if spot is None or spot.stage is None or body.km_into_stage is None:
        return []
    stages = {stage.ref: stage for stage in scene.bundle.itinerary.stages}
    stage = stages.get(spot.stage)
    if stage is None or body.what not in ("puncture", "cut", "leak", "bead"):
        return []
    left_km = max(stage.km - body.km_into_stage, 0.0)
    pays_km = BREAK_EVEN_KM[stage.surface]
    more = "more" if left_km > pays_km else "less"
    quicker = "changing" if left_km > pays_km else "driving on"
    return [
        Message(
            NOTE,
            "note",
            f"{left_km:.1f} km were left, {more} than the {pays_km:g} km of the rule of thumb: "
            f"{quicker} was the quicker way.",
            {"left_km": round(left_km, 2), "break_even_km": pays_km},
        )
    ]


def _road_change(scene: Scene, body: RoadChange) -> list[Message]:
    book = scene.before.fitted.tyres if scene.before.fitted is not None else {}
    car = full_car(moved_by_hand(book, body.fitting))
    return scene.ask(
        "fitting",
        {"PLC-1", "PLC-2", "AXL-1", "SPR-1"},
        fitting=dict(car),
        before=dict(book),
        by="crew",
    ) + scene.ask("reading", {"NUT-1"}, fitting=dict(car))


def _correction(scene: Scene, body: Correction) -> list[Message]:
    """Ask about a depth that was put right, or a further point of the same reading."""
    target = next((e.body for e in scene.fold.entries if e.id == body.target_id), None)
    if not isinstance(target, Reading) or not {*body.values} & set(TREAD_FIELDS):
        return []
    at = scene.fold.entries[-1].happened_utc
    asked = question_of(scene.bundle, scene.after, target.tyre_id, at)
    return [asked] if asked is not None else []


def _reading(scene: Scene, body: Reading) -> list[Message]:
    tyre = scene.after.tyres[body.tyre_id]
    place: Place = tyre.place or tyre.last_place or "SP1"
    hot = {place: body.hot_kpa} if body.hot_kpa is not None else {}
    target = hot_target_for_past(scene.bundle, scene.after) if hot else None
    cold = {place: body.cold_kpa} if body.cold_kpa is not None else {}
    told = scene.ask(
        "reading",
        {"TRD-1", "TRD-3", "LEAK-1", "PRS-1", "PRS-2", "PRS-3", "STD-2"},
        fresh=frozenset({body.tyre_id}),
        fitting={place: body.tyre_id},
        hot_kpa=hot,
        cold_kpa=cold,
        hot_target_kpa={place: target} if target is not None else {},
    )
    if any(message.code == "LEAK-1" for message in told):
        told += no_spare_since(scene, body.tyre_id)
    asked = question_of(
        scene.bundle,
        scene.after,
        body.tyre_id,
        scene.after.last_entry_at or tyre.readings[-1].at,
    )
    return [*told, asked] if asked is not None else told


def _report(scene: Scene, body: Report) -> list[Message]:
    """Compare what this report says with what the last call was made for."""
    unforeseen = rain_unforeseen(scene, body)
    seen = weathers_of(scene.after)
    if seen is None:
        return unforeseen
    new = Weathers(
        air_then_c=seen.air_then_c,
        air_now_c=body.air_c,
        road_then_c=seen.road_then_c,
        road_now_c=body.road_c,
        rain_then=seen.rain_then,
        rain_now=None if body.rain_mm_h is None else body.rain_mm_h > RAIN_MM_H,
        snow=snows(scene, body),
    )
    return scene.ask("reading", {"CND-1"}, weathers=new) + unforeseen


def _mark_check(scene: Scene, body: MarkCheck) -> list[Message]:
    place = scene.place(body.place)
    ahead = scene.after.next_place
    return scene.ask(
        "reading",
        {"CHK-1"},
        fitting=dict(scene.car()),
        noted={p: body.noted[p] for p in PLACES if p in body.noted},
        official=body.official,
        place=place,
        place_name=body.place,
        query_by=scene.bundle.itinerary.place(ahead).name if ahead else "",
    )


_TOLD: Mapping[str, Callable[[Scene, Any], list[Message]]] = {
    "as_found": _as_found,
    "answer": _answer,
    "fitting": _fitting,
    "read_back": _read_back,
    "incident": _incident,
    "road_change": _road_change,
    "reading": _reading,
    "correction": _correction,
    "report": _report,
    "mark_check": _mark_check,
    "control_time": control_time,
    "event_closed": closed_event,
    "rim_move": rim_move,
    "tyre_state": tyre_state,
    "tyre_added": tyre_added,
    "documents_changed": documents_changed,
}
