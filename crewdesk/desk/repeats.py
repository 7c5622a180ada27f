"""A stage that is run a second time: one more row of the itinerary, with km of its own."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from crewdesk.desk.course import Course, Position
from crewdesk.desk.ledger import Ledger, OnStage
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.itinerary import Itinerary
from crewdesk.errors import ReadingError
from crewdesk.journal.entries import DocumentsChanged

LATER = timedelta(minutes=30)
"""A second run without a time is taken to start this long after. Tuning value."""


def repeated(bundle: EventBundle, body: DocumentsChanged) -> EventBundle:
    """Return the documents with a stage run once more.

    The value may name the row behind which it is run (else the stage's own) as text, or as
    ``after`` beside the printed start ``due``.

    Raises
    ------
    ReadingError
        Where there is no such stage or row, or the time cannot be read.
    """
    itinerary = bundle.itinerary
    course = Course(itinerary)
    wanted = body.target.strip().upper()
    stage = next((s for s in itinerary.stages if s.ref.upper() == wanted), None)
    if stage is None:
        known = ", ".join(s.ref for s in itinerary.stages)
        raise ReadingError(
            f"{body.target or 'The stage'} is no stage of the event.", hint=f"Stages: {known}."
        )
    given = body.value if isinstance(body.value, Mapping) else {"after": body.value}
    word = str(given.get("after") or stage.ref)
    spot = course.spot(word)
    if spot is None:
        raise ReadingError(
            f"{word} is no control or stage of the itinerary.",
            hint="Name the row behind which the stage is run again.",
        )
    at = spot.row_in + 1
    anchor = itinerary.rows[spot.row_in]
    ref = _free_ref(itinerary, stage.ref)
    row = course.rows[course.row_of_stage[stage.ref]].model_copy(
        update={
            "ref": ref,
            "leg": anchor.leg,
            "section": anchor.section,
            "first_car_due": _due(given.get("due"), anchor.first_car_due),
            "note": "run again",
        }
    )
    rows = (*itinerary.rows[:at], row, *itinerary.rows[at:])
    order = {r.ref: index for index, r in enumerate(rows)}
    loop = itinerary.loop_of(anchor.ref) + (anchor.ref in _ends(itinerary))
    due = itinerary.our_due(row)
    again = stage.model_copy(
        update={
            "ref": ref,
            "leg": row.leg,
            "loop": loop,
            "pass_no": min(stage.pass_no + 1, 9),
            "liaison_before_km": stage.km,
            "due_utc": due if due is not None else stage.due_utc,
        }
    )
    stages = sorted((*itinerary.stages, again), key=lambda s: order[s.ref])
    places = tuple(
        place.model_copy(
            update={"stages": tuple(s.ref for s in stages if s.ref in (*place.stages, ref))}
        )
        if place.loop == loop
        else place
        for place in itinerary.change_places
    )
    new = itinerary.model_copy(
        update={
            "rows": rows,
            "stages": tuple(
                s.model_copy(update={"index": index}) for index, s in enumerate(stages)
            ),
            "change_places": places,
        }
    )
    return bundle.model_copy(update={"itinerary": new})


def _ends(itinerary: Itinerary) -> frozenset[str]:
    return frozenset(place.out_ref for place in itinerary.change_places)


def _free_ref(itinerary: Itinerary, ref: str) -> str:
    taken = {row.ref.upper() for row in itinerary.rows}
    number = 1
    new = f"{ref}R"
    while new.upper() in taken:
        number += 1
        new = f"{ref}R{number}"
    return new


def _due(word: Any, before: datetime | None) -> datetime | None:
    if word is None:
        return None if before is None else before + LATER
    try:
        due = word if isinstance(word, datetime) else datetime.fromisoformat(str(word))
    except ValueError:
        due = None
    if due is None or due.tzinfo is None:
        raise ReadingError(
            f"{word!r} is no time for the second run.",
            hint="Give the printed start of the first car with its zone.",
        )
    return due


def rows_added(before: EventBundle, after: EventBundle) -> tuple[int, int]:
    """Return at which row new ones stand, and how many."""
    old, new = before.itinerary.rows, after.itinerary.rows
    at = next((i for i, row in enumerate(old) if row.ref != new[i].ref), len(old))
    return at, len(new) - len(old)


def shift_rows(ledger: Ledger, added: tuple[int, int]) -> None:
    """Move every position of the sheet that lies behind new rows."""
    at, count = added

    def moved(position: Position) -> Position:
        return (position[0] + count, position[1]) if position[0] >= at else position

    ledger.passed = moved(ledger.passed)
    ledger.spells[:] = [replace(s, since=moved(s.since)) for s in ledger.spells]
    for key, (incident, position) in ledger.incidents.items():
        ledger.incidents[key] = (incident, moved(position))
    for key, position in ledger.reading_at.items():
        ledger.reading_at[key] = moved(position)
    ledger.off_road[:] = [
        OnStage(
            moved(stay.left),
            None if stay.back_row is None else moved((stay.back_row, 0.0))[0],
        )
        for stay in ledger.off_road
    ]
