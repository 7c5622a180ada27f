"""What an entry must hold to be taken at all, before any rule is asked."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from pydantic import ValidationError

from crewdesk.desk.changes import checked_change
from crewdesk.desk.repeats import rows_added
from crewdesk.desk.replay import Fold
from crewdesk.desk.resolve import overlaid, resolve, undone_ids
from crewdesk.desk.sanity_base import EntryFaults
from crewdesk.desk.sanity_stock import rim_move, tyre_added, tyre_state
from crewdesk.desk.spells import carried_of, corner_of
from crewdesk.desk.state import DayState
from crewdesk.errors import ReadingError
from crewdesk.journal.entries import (
    Answer,
    AnyEntry,
    AsFound,
    CallUsed,
    ControlTime,
    Correction,
    DocumentsChanged,
    Fitting,
    Incident,
    LookEntry,
    MarkCheck,
    OffRoad,
    Override,
    ReadBack,
    Reading,
    Report,
    RoadChange,
    StageRun,
    Undo,
)
from crewdesk.regulations.rulebook import Message
from crewdesk.units import CORNERS, Place


def sanity(fold: Fold, state: DayState, body: AnyEntry) -> tuple[Message, ...]:
    """Return what speaks against an entry on its own."""
    faults = EntryFaults(fold, state)
    check = _CHECKS.get(body.kind)
    if check is not None:
        check(faults, body)
    return tuple(faults.found)


def _reading(faults: EntryFaults, body: Reading) -> None:
    if not faults.tyre(body.tyre_id):
        return
    faults.somewhere(body.place)
    tread = {
        "inner": body.tread_in_mm,
        "middle": body.tread_mid_mm,
        "outer": body.tread_out_mm,
    }
    known = {name: depth for name, depth in tread.items() if depth is not None}
    nothing = (body.edge_grade, body.edge_share, body.hot_kpa, body.cold_kpa, body.tread_c)
    if not known and all(value is None for value in nothing):
        faults.stop(f"Nothing was read on {body.tyre_id}.", tyre=body.tyre_id)
        return
    tyre = faults.state.tyres[body.tyre_id]
    before = dict(zip(tread, tyre.stock.tread_mm, strict=True))
    for reading in tyre.readings:
        for name, depth in zip(tread, reading.tread_mm, strict=True):
            before[name] = depth if depth is not None else before[name]
    grown = [n for n, depth in known.items() if depth > before[n] + GROWS_MM]
    if grown and not body.confirmed:
        name = grown[0]
        faults.watch(
            f"{body.tyre_id} {name} {known[name]:.1f} mm is deeper than the "
            f"{before[name]:.1f} mm before: look again.",
            tyre=body.tyre_id,
            point=name,
            read_mm=known[name],
            before_mm=before[name],
        )


GROWS_MM = 0.3
"""A depth may read this much over the one before: two hands, two gauges (tuning value)."""


def _look(faults: EntryFaults, body: LookEntry) -> None:
    faults.tyre(body.tyre_id)


def _as_found(faults: EntryFaults, body: AsFound) -> None:
    faults.place(body.place)
    faults.car(body.fitting, whole=False)
    if body.since is not None:
        _since(faults, body.since)


def _since(faults: EntryFaults, since: object) -> None:
    if not isinstance(since, str) or faults.course.spot(since) is None:
        faults.stop(
            f"{since!r} is neither a stage nor a change place. Name the stage after which "
            "it has been so, or the place where the loop began.",
            since=since,
        )


def _fitting(faults: EntryFaults, body: Fitting) -> None:
    faults.place_or_control(body.place)
    faults.car(body.fitting, whole=True)
    seen: dict[str, Place] = {}
    for place, rim in body.rims.items():
        faults.rim(rim)
        if rim in seen:
            faults.stop(f"Rim {rim} is given twice, at {seen[rim]} and {place}.", rim=rim)
        seen[rim] = place
    for tyre in body.bring:
        if faults.tyre(tyre) and tyre in body.fitting.values():
            faults.stop(
                f"{tyre} cannot be on the car and go to the zone with the van.", tyre=tyre
            )
    if bool(body.override_name.strip()) != bool(body.override_reason.strip()):
        faults.stop("An override needs both a name and a reason.")


def _read_back(faults: EntryFaults, body: ReadBack) -> None:
    faults.place(body.place)
    faults.car(body.fitting, whole=False)
    if not faults.state.fitted:
        faults.stop("Nothing is on the car yet: enter the fitting first.")


def _call_used(faults: EntryFaults, body: CallUsed) -> None:
    faults.place(body.place)
    faults.car(body.fitting, whole=False)


def _road_change(faults: EntryFaults, body: RoadChange) -> None:
    faults.car(body.fitting, whole=False)
    faults.somewhere(body.after)
    board = {t for t in faults.ledger.car().values() if t}
    for tyre in body.fitting.values():
        if tyre and tyre in faults.state.tyres and tyre not in board:
            faults.stop(
                f"{tyre} is not on board: the crew has only what it carries.", tyre=tyre
            )


def _report(faults: EntryFaults, body: Report) -> None:
    faults.somewhere(body.place)
    said = (body.air_c, body.road_c, body.rain_mm_h, body.cloud_pct, body.surface)
    if all(value is None for value in said):
        faults.stop("The report holds no air, road, rain, cloud or surface.")


def _stage_run(faults: EntryFaults, body: StageRun) -> None:
    faults.stage(body.stage)
    km = faults.course.stage_km().get(body.stage)
    if km is not None and body.km_driven is not None and body.km_driven > km + 0.5:
        faults.stop(
            f"{body.stage} is {km:g} km long; {body.km_driven:g} km cannot have been driven.",
            stage=body.stage,
        )


def _control_time(faults: EntryFaults, body: ControlTime) -> None:
    if faults.course.spot(body.ref) is None:
        faults.stop(f"{body.ref or 'The control'} is not in the itinerary.", ref=body.ref)


def _incident(faults: EntryFaults, body: Incident) -> None:
    faults.somewhere(body.where)
    off, on = body.tyre_off, body.tyre_on
    known_off = off is None or faults.tyre(off)
    known_on = on is None or faults.tyre(on)
    spot = faults.course.spot(body.where)
    if spot is not None and spot.stage is not None and body.km_into_stage is not None:
        km = faults.course.stage_km()[spot.stage]
        if body.km_into_stage > km + 0.5:
            faults.stop(f"{spot.stage} is only {km:g} km long.", stage=spot.stage)
    if not (known_off and known_on) or body.changed_by == "team":
        return
    car = faults.ledger.car()
    if not car:
        return
    if off and off not in car.values() and faults.state.at_place is None:
        faults.stop(f"{off} is not on the car.", tyre=off)
    if on and on not in carried_of(car) and corner_of(car, on) != body.corner:
        faults.stop(
            f"{on} is not carried: on board are {' '.join(carried_of(car)) or 'no spares'}.",
            tyre=on,
        )
    if off and body.corner in CORNERS and corner_of(car, off) not in (None, body.corner):
        faults.stop(
            f"{body.corner} has {car.get(body.corner)}, not {off}.",
            corner=body.corner,
            tyre=off,
        )


def _mark_check(faults: EntryFaults, body: MarkCheck) -> None:
    faults.somewhere(body.place)


def _off_road(faults: EntryFaults, body: OffRoad) -> None:
    faults.somewhere(body.where)


def _override(faults: EntryFaults, body: Override) -> None:
    if not body.name.strip() or not body.reason.strip():
        faults.stop("An override needs both a name and a reason.")


def _documents_changed(faults: EntryFaults, body: DocumentsChanged) -> None:
    try:
        changed = checked_change(faults.bundle, body)
    except ReadingError as error:
        faults.stop(f"{error}")
        return
    if body.what == "stage_repeated":
        at, _ = rows_added(faults.bundle, changed)
        if at <= faults.ledger.passed[0]:
            here = faults.course.rows[faults.ledger.passed[0]].ref
            faults.stop(
                f"The car is past the place of the second run. Name {here} or a later row as "
                "the one behind which it is run.",
                passed=here,
            )


def _undo(faults: EntryFaults, body: Undo) -> None:
    known = {entry.id: entry for entry in faults.fold.entries}
    target = known.get(body.target_id)
    if target is None or target.kind == "documents_opened":
        faults.stop("There is no such entry to take back.", target=body.target_id)
    elif body.target_id in undone_ids(faults.fold.entries):
        faults.stop("That entry is taken back already.", target=body.target_id)


def _standing_body(faults: EntryFaults, target: str) -> AnyEntry | None:
    for entry in resolve(faults.fold.entries).entries:
        if entry.id == target:
            return entry.body
    return None


def _overlay(faults: EntryFaults, target: str, values: Mapping[str, Any], what: str) -> None:
    body = _standing_body(faults, target)
    if body is None:
        faults.stop(f"There is no such {what}.", target=target)
        return
    fields = type(body).model_fields
    unknown = [name for name in values if name not in fields or name == "kind"]
    if unknown or not values:
        names = ", ".join(name for name in fields if name != "kind")
        kind = body.kind.replace("_", " ")
        said = f"there is no {unknown[0]} in it" if unknown else "nothing was given"
        faults.stop(f"The {kind} stays as it is: {said}. Fields: {names}.", target=target)
        return
    try:
        new = overlaid(body, values)
    except ValidationError as error:
        first = error.errors()[0]
        field = ".".join(str(part) for part in first["loc"][1:])
        faults.stop(f"{field} cannot be {first.get('input')!r}.", field=field)
        return
    for message in _again(faults, new):
        faults.found.append(message)


def _again(faults: EntryFaults, body: AnyEntry) -> Iterable[Message]:
    """Check the put-right entry for what does not depend on the car of today."""
    if isinstance(body, (AsFound, Fitting, RoadChange)):
        again = EntryFaults(faults.fold, faults.state)
        again.car(body.fitting, whole=isinstance(body, Fitting))
        if isinstance(body, AsFound) and body.since is not None:
            _since(again, body.since)
        return again.found
    if isinstance(body, (Incident, Reading)):
        again = EntryFaults(faults.fold, faults.state)
        tyres = (body.tyre_off, body.tyre_on) if isinstance(body, Incident) else (body.tyre_id,)
        for tyre in tyres:
            if tyre:
                again.tyre(tyre)
        return again.found
    return ()


def _answer(faults: EntryFaults, body: Answer) -> None:
    open_now = {question.id for question in faults.state.open_questions}
    if body.question_id not in open_now:
        faults.stop("That question is not open.", question=body.question_id)
        return
    _overlay(faults, body.question_id, body.values, "question")


def _correction(faults: EntryFaults, body: Correction) -> None:
    _overlay(faults, body.target_id, body.values, "entry")


_CHECKS: Mapping[str, Callable[[EntryFaults, Any], None]] = {
    "reading": _reading,
    "look": _look,
    "as_found": _as_found,
    "fitting": _fitting,
    "read_back": _read_back,
    "call_used": _call_used,
    "road_change": _road_change,
    "report": _report,
    "stage_run": _stage_run,
    "control_time": _control_time,
    "incident": _incident,
    "mark_check": _mark_check,
    "off_road": _off_road,
    "tyre_state": tyre_state,
    "rim_move": rim_move,
    "tyre_added": tyre_added,
    "override": _override,
    "documents_changed": _documents_changed,
    "undo": _undo,
    "answer": _answer,
    "correction": _correction,
}
