"""Bulletins and our own changes, laid over the documents of the event."""

import math
from collections.abc import Callable, Iterable, Mapping
from datetime import datetime, timedelta
from typing import Any

from pydantic import ValidationError

from crewdesk.desk.course import Course
from crewdesk.desk.repeats import repeated
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.event import RuleValue, Settings
from crewdesk.documents.itinerary import Itinerary, Stage
from crewdesk.documents.itinerary_build import assumed_of
from crewdesk.documents.regulation_sets import REGULATIONS_FILE
from crewdesk.documents.store import load_from_texts
from crewdesk.errors import DocumentError, ReadingError
from crewdesk.journal.entries import DocumentsChanged, StoredEntry
from crewdesk.regulations.build import field_fault, rulebook

STAGE_CARD_FIELDS = (
    "roughness",
    "abrasion",
    "twist",
    "right_share",
    "cuts",
    "shade",
    "gravel_share",
    "holds_water",
    "avg_kmh",
    "broken",
    "pass_no",
)
"""What a stage card may put right."""


def laid_over(bundle: EventBundle, entries: Iterable[StoredEntry]) -> EventBundle:
    """Return the documents with every change among standing entries laid over them."""
    for entry in entries:
        if isinstance(entry.body, DocumentsChanged):
            bundle = changed(bundle, entry.body)
    return bundle


def changed(bundle: EventBundle, body: DocumentsChanged) -> EventBundle:
    """Return the documents after one change; one that fits nothing leaves them as they are."""
    try:
        return checked_change(bundle, body)
    except ReadingError:
        return bundle


def checked_change(bundle: EventBundle, body: DocumentsChanged) -> EventBundle:
    """Return the documents after one change.

    Raises
    ------
    ReadingError
        Where the target is unknown or the value cannot be used.
    """
    return _CHANGES[body.what](bundle, body)


def _number(body: DocumentsChanged, what: str) -> float:
    value = body.value
    if isinstance(value, Mapping):
        value = value.get("min", value.get("km", value.get("value")))
    try:
        number = float(value)
    except (TypeError, ValueError):
        number = math.nan
    if not math.isfinite(number):
        raise ReadingError(
            f"{body.value!r} is no number for {what}.", hint="Give it as a plain number."
        )
    return number


def _stage(bundle: EventBundle, body: DocumentsChanged) -> Stage:
    for stage in bundle.itinerary.stages:
        if stage.ref.upper() == body.target.strip().upper():
            return stage
    known = ", ".join(stage.ref for stage in bundle.itinerary.stages)
    raise ReadingError(
        f"{body.target or 'The stage'} is no stage still to run.", hint=f"Stages: {known}."
    )


def _with_itinerary(bundle: EventBundle, **update: Any) -> EventBundle:
    itinerary = bundle.itinerary.model_copy(update=update)
    return bundle.model_copy(update={"itinerary": itinerary})


def _cancelled(bundle: EventBundle, body: DocumentsChanged) -> EventBundle:
    """Take a stage out; its road is driven as liaison."""
    gone = _stage(bundle, body)
    road_km = gone.liaison_before_km + gone.km
    stages = []
    for stage in bundle.itinerary.stages:
        if stage.ref == gone.ref:
            continue
        if road_km and stage.index > gone.index:
            if stage.loop == gone.loop:
                km = stage.liaison_before_km + road_km
                stage = stage.model_copy(update={"liaison_before_km": km})
            road_km = 0.0
        stages.append(stage)
    places = tuple(
        place.model_copy(update={"stages": tuple(r for r in place.stages if r != gone.ref)})
        for place in bundle.itinerary.change_places
    )
    return _with_itinerary(bundle, stages=tuple(stages), change_places=places)


def _shortened(bundle: EventBundle, body: DocumentsChanged) -> EventBundle:
    stage = _stage(bundle, body)
    km = _number(body, "the new length")
    if not 0 < km <= 150:
        raise ReadingError(
            f"{stage.ref} cannot be {km:g} km long.", hint="Give the new length in km."
        )
    return _replace_stage(bundle, stage, {"km": km})


def _replace_stage(bundle: EventBundle, stage: Stage, update: Mapping[str, Any]) -> EventBundle:
    try:
        new = Stage.model_validate({**stage.model_dump(), **update})
    except ValidationError as error:
        first = error.errors()[0]
        field = ".".join(str(part) for part in first["loc"])
        raise ReadingError(
            f"{field} of {stage.ref} cannot be {first.get('input')!r}.",
            hint="Choose one of the values of the stage card.",
        ) from error
    stages = tuple(new if s.ref == stage.ref else s for s in bundle.itinerary.stages)
    return _with_itinerary(bundle, stages=stages)


def _stage_card(bundle: EventBundle, body: DocumentsChanged) -> EventBundle:
    stage = _stage(bundle, body)
    if not isinstance(body.value, Mapping) or not body.value:
        raise ReadingError(
            f"The card of {stage.ref} holds nothing.",
            hint=f"Give fields by name: {', '.join(STAGE_CARD_FIELDS)}.",
        )
    unknown = [name for name in body.value if name not in STAGE_CARD_FIELDS]
    if unknown:
        raise ReadingError(
            f"A stage card has no field {unknown[0]}.",
            hint=f"Fields: {', '.join(STAGE_CARD_FIELDS)}.",
        )
    touched = [words for name in body.value for words in assumed_of(name, stage.assumed)]
    left = tuple(words for words in stage.assumed if words not in touched)
    changed_bundle = _replace_stage(bundle, stage, {**body.value, "assumed": left})
    return _without_assumed(changed_bundle, touched)


def _without_assumed(bundle: EventBundle, touched: list[str]) -> EventBundle:
    """Say of each phrase only the stages on which it is still assumed."""
    assumed = list(bundle.assumed)
    for words in touched:
        assumed = [a for a in assumed if not a.lower().startswith(words.lower())]
        refs = [s.ref for s in bundle.itinerary.stages if words in s.assumed]
        if refs:
            assumed.append(f"{words[:1].upper()}{words[1:]} on {', '.join(refs)}.")
    return bundle.model_copy(update={"assumed": tuple(assumed)})


def _shifted(
    itinerary: Itinerary, minutes: float, from_row: int, leg: int | None
) -> dict[str, Any]:
    """Return the times from a row on moved by so many minutes, within one leg if given."""
    course = Course(itinerary)
    move = timedelta(minutes=minutes)

    def later(row: int, row_leg: int, at: datetime) -> datetime:
        return at + move if row >= from_row and leg in (None, row_leg) else at

    stages = tuple(
        stage.model_copy(
            update={"due_utc": later(course.row_of_stage[stage.ref], stage.leg, stage.due_utc)}
        )
        for stage in itinerary.stages
    )
    places = []
    for place in itinerary.change_places:
        first, last = course.place_rows[place.key]
        due_in = later(first, itinerary.rows[first].leg, place.due_in_utc)
        due_out = later(last, itinerary.rows[last].leg, place.due_out_utc)
        places.append(place.model_copy(update={"due_in_utc": due_in, "due_out_utc": due_out}))
    return {"stages": stages, "change_places": tuple(places)}


def _with_rows_shifted(
    itinerary: Itinerary, minutes: float, from_row: int, leg: int
) -> dict[str, Any]:
    move = timedelta(minutes=minutes)
    rows = tuple(
        row.model_copy(update={"first_car_due": row.first_car_due + move})
        if index >= from_row and row.leg == leg and row.first_car_due is not None
        else row
        for index, row in enumerate(itinerary.rows)
    )
    return {"rows": rows, **_shifted(itinerary, minutes, from_row, leg)}


def _delayed(bundle: EventBundle, body: DocumentsChanged) -> EventBundle:
    """Move every time from the target on to the end of its leg."""
    minutes = _number(body, "the delay")
    if not -240 <= minutes <= 1440:
        raise ReadingError(f"A delay of {minutes:g} min is not taken.", hint="Give minutes.")
    spot = Course(bundle.itinerary).spot(body.target)
    if spot is None:
        raise ReadingError(
            f"{body.target or 'The target'} is no control or stage of the itinerary.",
            hint="Name the first control that moves, as TC4.",
        )
    leg = bundle.itinerary.rows[spot.row_in].leg
    return _with_itinerary(
        bundle, **_with_rows_shifted(bundle.itinerary, minutes, spot.row_in, leg)
    )


def _position(bundle: EventBundle, body: DocumentsChanged) -> EventBundle:
    """Put our place in the order of a leg, and with it our due times."""
    position = round(_number(body, "the position"))
    legs = {str(leg.leg): leg for leg in bundle.event.legs}
    old = legs.get(body.target.strip().lower().removeprefix("leg").strip())
    if old is None:
        raise ReadingError(
            f"{body.target or 'The leg'} is no leg of the event.",
            hint=f"Legs: {', '.join(legs)}.",
        )
    if not 1 <= position <= 500:
        raise ReadingError(f"{position} is no place in the order.", hint="Give 1 or more.")
    new = old.model_copy(update={"position": position})
    reference = bundle.event.due_reference
    shift = new.offset_min(reference) - old.offset_min(reference)
    event = bundle.event.model_copy(
        update={"legs": tuple(new if leg is old else leg for leg in bundle.event.legs)}
    )
    first = next((i for i, r in enumerate(bundle.itinerary.rows) if r.leg == old.leg), 0)
    offsets = {**bundle.itinerary.offsets_min, old.leg: new.offset_min(reference)}
    update = {**_shifted(bundle.itinerary, shift, first, old.leg), "offsets_min": offsets}
    return _with_itinerary(bundle.model_copy(update={"event": event}), **update)


def _place_moved(bundle: EventBundle, body: DocumentsChanged) -> EventBundle:
    """Move a control and all behind it in the leg: minutes, or the new printed time."""
    if isinstance(body.value, str) and not body.value.strip().lstrip("+-").isdigit():
        spot = Course(bundle.itinerary).spot(body.target)
        try:
            at = datetime.fromisoformat(body.value)
        except ValueError:
            at = None
        row = bundle.itinerary.rows[spot.row_in] if spot is not None else None
        if at is None or at.tzinfo is None or row is None or row.first_car_due is None:
            raise ReadingError(
                f"{body.target} cannot be moved to {body.value!r}.",
                hint="Give minutes, or the printed time with its zone.",
            )
        minutes = (at - row.first_car_due).total_seconds() / 60
        body = body.model_copy(update={"value": minutes})
    return _delayed(bundle, body)


def _service_length(bundle: EventBundle, body: DocumentsChanged) -> EventBundle:
    """Give a visit another length; what follows in the leg moves with its OUT."""
    minutes = _number(body, "the new length")
    place = Course(bundle.itinerary).place(body.target)
    if place is None:
        keys = ", ".join(p.key for p in bundle.itinerary.change_places)
        raise ReadingError(
            f"{body.target or 'The place'} is no change place.", hint=f"Change places: {keys}."
        )
    if not 1 <= minutes <= 600:
        raise ReadingError(f"{place.key} cannot last {minutes:g} min.", hint="Give minutes.")
    out = Course(bundle.itinerary).place_rows[place.key][1]
    update = _with_rows_shifted(bundle.itinerary, minutes - place.minutes, out, place.leg)
    update["change_places"] = tuple(
        p.model_copy(update={"minutes": minutes}) if p.key == place.key else p
        for p in update["change_places"]
    )
    update["rows"] = tuple(
        row.model_copy(update={"target_min": minutes}) if index == out else row
        for index, row in enumerate(update["rows"])
    )
    return _with_itinerary(bundle, **update)


def _rule(bundle: EventBundle, body: DocumentsChanged) -> EventBundle:
    name = body.target.strip()
    fault = field_fault(name, body.value, bundle.event.car_class, body.unit)
    if fault:
        raise ReadingError(
            f"{fault[:1].upper()}{fault[1:]}.",
            hint=f"Rules: {', '.join(sorted(bundle.regulation_set.fields))}.",
        )
    from_when = body.valid_from or body.at
    value = RuleValue(
        value=body.value,
        unit=body.unit,
        source=body.source,
        article=body.article,
        bulletin_no=body.bulletin_no,
        valid_from=from_when.isoformat() if from_when else "",
        entered_by=body.by,
    )
    # The last one wins, so it stands last.
    rules = {key: old for key, old in bundle.event.rules.items() if key != name}
    event = bundle.event.model_copy(update={"rules": {**rules, name: value}})
    try:
        rulebook(event.rules, bundle.regulation_set, event.car_class)
    except DocumentError as error:
        raise ReadingError(error.message, hint=error.hint) from error
    return bundle.model_copy(update={"event": event})


def _setting(bundle: EventBundle, body: DocumentsChanged) -> EventBundle:
    if body.target not in Settings.model_fields:
        raise ReadingError(
            f"{body.target or 'The name'} is no setting.",
            hint=f"Settings: {', '.join(Settings.model_fields)}.",
        )
    try:
        settings = Settings.model_validate(
            {**bundle.event.settings.model_dump(), body.target: body.value}
        )
    except ValidationError as error:
        raise ReadingError(
            f"{body.target} cannot be {body.value!r}: {error.errors()[0]['msg'].lower()}.",
            hint="Give a value inside the limits.",
        ) from error
    event = bundle.event.model_copy(update={"settings": settings})
    assumed = tuple(w for w in bundle.assumed if body.target not in w.replace(" ", "_"))
    return bundle.model_copy(update={"event": event, "assumed": assumed})


def _files(bundle: EventBundle, body: DocumentsChanged) -> EventBundle:
    """Read the documents anew with some files replaced."""
    if not isinstance(body.value, Mapping) or not body.value:
        raise ReadingError("No file was given.", hint="Give the text of each file by its name.")
    texts = {**bundle.source_files, **{str(k): str(v) for k, v in body.value.items()}}
    try:
        read = load_from_texts(texts)
    except DocumentError as error:
        raise ReadingError(error.message, hint=error.hint) from error
    if body.target != REGULATIONS_FILE:
        return read
    # Only the set is another one: what bulletins have changed since stays as it is.
    event = bundle.event.model_copy(update={"regulation_set": read.event.regulation_set})
    return bundle.model_copy(
        update={
            "event": event,
            "regulation_set": read.regulation_set,
            "source_files": read.source_files,
        }
    )


_CHANGES: Mapping[str, Callable[[EventBundle, DocumentsChanged], EventBundle]] = {
    "stage_cancelled": _cancelled,
    "stage_road_speed": _cancelled,
    "stage_shortened": _shortened,
    "stage_repeated": repeated,
    "service_length": _service_length,
    "stage_card": _stage_card,
    "delayed": _delayed,
    "position": _position,
    "place_moved": _place_moved,
    "rule": _rule,
    "setting": _setting,
    "files": _files,
}
