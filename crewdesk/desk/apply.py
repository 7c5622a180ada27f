"""How each kind of entry changes the working sheet."""

from collections.abc import Callable
from datetime import datetime
from typing import Any

from crewdesk.desk.apply_car import as_found, fitting, gone_out, read_back, road_change
from crewdesk.desk.apply_documents import documents_changed, rules_come_into_force
from crewdesk.desk.apply_incident import incident
from crewdesk.desk.apply_stock import tyre_added, tyre_state
from crewdesk.desk.course import END_OF_ROW
from crewdesk.desk.ledger import Ledger, OnStage, mount
from crewdesk.desk.spells import place_of
from crewdesk.desk.state import (
    Bulletin,
    ControlSeen,
    DriverSaid,
    LookNow,
    OpenQuestion,
    ReadingNow,
)
from crewdesk.journal.entries import (
    CallUsed,
    ClockOffset,
    ControlTime,
    DriverWords,
    LookEntry,
    MarkCheck,
    Note,
    OffRoad,
    Override,
    Reading,
    Report,
    RimMove,
    StageRun,
    StoredEntry,
)
from crewdesk.units import PLACES, Place

CARRIED: tuple[Place, ...] = ("SP1", "SP2")


def _report(ledger: Ledger, entry: StoredEntry, body: Report) -> None:
    ledger.reports.append(body.model_copy(update={"at": entry.happened_utc}))
    _leave_left_behind(ledger)


def _leave_left_behind(ledger: Ledger) -> None:
    """Keep that the crew is busy with what lies ahead."""
    if ledger.phase == "left_behind":
        ledger.phase = "before_in"


def _reading(ledger: Ledger, entry: StoredEntry, body: Reading) -> None:
    tyre = ledger.tyres.get(body.tyre_id)
    if tyre is None:
        return
    spot = ledger.course.spot(body.place)
    place = place_of(ledger.car(), body.tyre_id)
    position = ledger.passed
    if spot is not None:
        position = (spot.row_in, END_OF_ROW if spot.stage else 0.0)
        seen = body.where != "stop_line" or body.tread_mid_mm is not None
        if place is not None and seen and position > ledger.passed:
            # A wheel of the car is measured where the car is; only a hot pressure at a stop
            # line may have come by radio.
            ledger.advance(position)
            if spot.place is not None:
                _car_is_in(ledger, spot.place.key)
    tread = (body.tread_in_mm, body.tread_mid_mm, body.tread_out_mm)
    edges = body.edge_share
    if edges is None and body.edge_grade is not None:
        edges = (EDGE_BY_GRADE[body.edge_grade],) * 3
    reading = ReadingNow(
        entry_id=entry.id,
        at=entry.happened_utc,
        tread_mm=tread,
        edge_share=edges,
        hot_kpa=body.hot_kpa,
        cold_kpa=body.cold_kpa,
        where=body.where,
        place=body.place,
        corner=place,
        runs_before=0,
        studs_lost_share=body.studs_lost_share,
        stud_out_mm=body.stud_out_mm,
        tread_c=body.tread_c,
        confirmed=body.confirmed,
        set_kpa=tyre.cold_set_kpa,
        set_at_c=tyre.set_at_c,
    )
    ledger.reading_at[entry.id] = position
    ledger.set_tyre(body.tyre_id, readings=(*tyre.readings, reading))


EDGE_BY_GRADE = {0: 1.0, 1: 0.6, 2: 0.3, 3: 0.1}
"""Sharpness left for an edge graded by eye, 0 sharp to 3 round (tuning value)."""


def _car_is_in(ledger: Ledger, key: str) -> None:
    if ledger.done_place != key and ledger.at_place != key:
        ledger.at_place = key
        ledger.phase = "car_in"


def _look(ledger: Ledger, entry: StoredEntry, body: LookEntry) -> None:
    tyre = ledger.tyres.get(body.tyre_id)
    if tyre is None:
        return
    look = LookNow(entry.id, entry.happened_utc, body.look, 0)
    ledger.reading_at[entry.id] = ledger.passed
    ledger.set_tyre(body.tyre_id, look=body.look, looks=(*tyre.looks, look))


def _call_used(ledger: Ledger, _entry: StoredEntry, body: CallUsed) -> None:
    ledger.call_used = body
    _leave_left_behind(ledger)
    place = ledger.course.place(body.place)
    if place is not None and ledger.at_place == place.key and ledger.phase == "car_in":
        ledger.phase = "fit"


def _stage_run(ledger: Ledger, entry: StoredEntry, body: StageRun) -> None:
    spot = ledger.course.spot(body.stage)
    if spot is None:
        return
    if spot.stage is not None:
        if body.km_driven is not None:
            ledger.km_driven[spot.stage] = body.km_driven
            ledger.bulletins.append(_interrupted(entry, spot.stage, body))
        if body.time_s is not None:
            ledger.stage_times[spot.stage] = body.time_s
        ledger.advance((spot.row_in, END_OF_ROW))
        _car_is_out(ledger, spot.row_in)
    else:
        ledger.advance((spot.row_in, 0.0))


def _interrupted(entry: StoredEntry, stage: str, body: StageRun) -> Bulletin:
    """Return a stage that was not driven to its end as a change of the day."""
    return Bulletin(
        entry_id=entry.id,
        at=entry.happened_utc,
        what="stage_interrupted",
        target=stage,
        value=body.km_driven,
        source=body.source,
        article=body.article,
        bulletin_no=body.bulletin_no,
        by=body.by,
    )


def _car_is_out(ledger: Ledger, row: int) -> None:
    """Keep that the car left the place it was in, read back or not."""
    if ledger.at_place is not None:
        rows = ledger.course.place_rows.get(ledger.at_place)
        if rows is not None and row > rows[1]:
            ledger.at_place = None
    if ledger.at_place is None:
        ledger.phase = "before_in"


def _control_time(ledger: Ledger, entry: StoredEntry, body: ControlTime) -> None:
    spot = ledger.course.spot(body.ref)
    _leave_left_behind(ledger)
    if spot is None:
        return
    for index in (spot.row_in, spot.row_out):
        row = ledger.course.rows[index]
        due = ledger.course.itinerary.our_due(row)
        if row.ref.upper() == body.ref.strip().upper() or spot.row_in == spot.row_out:
            if due is not None:
                late_min = (body.time - due).total_seconds() / 60
                ledger.times[row.ref] = ControlSeen(body.time, body.announced)
                ledger.delays_min[row.ref] = round(late_min, 3)
            if not body.announced:
                ledger.advance((index, 0.0))
                # At the start, one control, its time is that of driving off.
                if index == spot.row_out and (spot.row_out != spot.row_in or spot.place):
                    gone_out(ledger, entry, spot)
            return


def _mark_check(ledger: Ledger, entry: StoredEntry, body: MarkCheck) -> None:
    car = ledger.car()
    parts = []
    carried_ours = {
        ledger.tyres[t].stock.mark for p in CARRIED if (t := car.get(p)) and t in ledger.tyres
    }
    for place in PLACES:
        noted = body.noted.get(place)
        if noted is None:
            continue
        tyre = ledger.tyres.get(car.get(place) or "")
        ours = tyre.stock.mark if tyre is not None else ""
        if place.startswith("SP") and noted in carried_ours:
            continue
        if noted.strip() != ours:
            parts.append((place, noted.strip(), ours or "none"))
    if parts:
        text = "; ".join(f"{p} noted {noted}, ours is {ours}" for p, noted, ours in parts)
        who = f" Query to {body.official}." if body.official else ""
        ledger.questions[entry.id] = OpenQuestion(
            id=entry.id,
            since=entry.happened_utc,
            text=f"Officials' note at {body.place} differs: {text}.{who}",
            possible=tuple(f"{p} {ours}" for p, _, ours in parts),
            fields=("noted",),
        )


def _off_road(ledger: Ledger, _entry: StoredEntry, body: OffRoad) -> None:
    spot = ledger.course.spot(body.where)
    if body.restarts:
        if not ledger.off_road or ledger.off_road[-1].back_row is not None:
            return
        left = ledger.off_road[-1]
        if spot is not None and spot.row_out > left.left[0]:
            back = spot.row_in
        else:
            leg = ledger.course.rows[max(left.left[0], 0)].leg
            rows = enumerate(ledger.course.rows)
            back = next((i for i, row in rows if row.leg > leg), len(ledger.course.rows))
        ledger.off_road[-1] = OnStage(left.left, back)
        ledger.advance((back, 0.0))
        return
    if spot is None:
        position = ledger.passed
    elif spot.stage is not None and not spot.after:
        position = (spot.row_in, body.km_into_stage or 0.0)
        if body.km_into_stage is not None:
            ledger.km_driven[spot.stage] = body.km_into_stage
    else:
        position = (spot.row_out, END_OF_ROW if spot.stage else 0.0)
    ledger.advance(position)
    ledger.off_road.append(OnStage(position))


def _rim_move(ledger: Ledger, _entry: StoredEntry, body: RimMove) -> None:
    mount(ledger, body.tyre_id, body.rim_id or "")


def _override(ledger: Ledger, entry: StoredEntry, body: Override) -> None:
    ledger.overrides.append(
        {
            "code": body.code,
            "name": body.name,
            "reason": body.reason,
            "place": body.place,
            "id": entry.id,
        }
    )


def _note(ledger: Ledger, entry: StoredEntry, body: Note) -> None:
    ledger.notes.append((entry.happened_utc, body.text))


def _driver_words(ledger: Ledger, entry: StoredEntry, body: DriverWords) -> None:
    parts = [
        f"{axle} grip {grip:+d}"
        for axle, grip in (("front", body.front_grip), ("rear", body.rear_grip))
        if grip is not None
    ]
    if body.words:
        parts.append(body.words)
    ledger.notes.append((entry.happened_utc, "Driver: " + ", ".join(parts)))
    ledger.driver_words.append(
        DriverSaid(entry.happened_utc, body.place, body.front_grip, body.rear_grip)
    )


def _clock_offset(ledger: Ledger, _entry: StoredEntry, body: ClockOffset) -> None:
    ledger.clock_offset_s = body.offset_s


def _closed(ledger: Ledger, _entry: StoredEntry, _body: Any) -> None:
    ledger.closed = True


def _nothing(_ledger: Ledger, _entry: StoredEntry, _body: Any) -> None:
    """Leave the sheet alone: the entry says nothing about the day itself."""


_HANDLERS: dict[str, Callable[[Ledger, StoredEntry, Any], None]] = {
    "documents_opened": _nothing,
    "documents_changed": documents_changed,
    "report": _report,
    "reading": _reading,
    "look": _look,
    "as_found": as_found,
    "fitting": fitting,
    "read_back": read_back,
    "call_used": _call_used,
    "stage_run": _stage_run,
    "control_time": _control_time,
    "incident": incident,
    "road_change": road_change,
    "mark_check": _mark_check,
    "off_road": _off_road,
    "tyre_added": tyre_added,
    "tyre_state": tyre_state,
    "rim_move": _rim_move,
    "override": _override,
    "driver_words": _driver_words,
    "note": _note,
    "clock_offset": _clock_offset,
    "event_closed": _closed,
}

_WHEELS = frozenset({"fitting", "as_found", "road_change", "incident", "read_back"})
"""Entries that may put wheels on the car: each keeps the rules it was made under."""

_NO_TIME = frozenset({"documents_opened", "clock_offset"})


def apply_entry(ledger: Ledger, entry: StoredEntry) -> None:
    """Write one standing entry into the sheet."""
    if entry.kind not in _NO_TIME:
        note_time(ledger, entry.happened_utc)
        rules_come_into_force(ledger, entry.happened_utc)
    if entry.kind in _WHEELS:
        ledger.rules_then[entry.id] = ledger.rules()
    _HANDLERS[entry.kind](ledger, entry, entry.body)


def note_time(ledger: Ledger, at: datetime) -> None:
    """Keep the time of the latest entry."""
    if ledger.last_entry_at is None or at > ledger.last_entry_at:
        ledger.last_entry_at = at
