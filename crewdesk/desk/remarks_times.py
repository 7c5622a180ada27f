"""What is remarked upon times at controls: penalties, flexi windows, minutes left."""

from crewdesk.desk.case import local
from crewdesk.desk.minutes import Work, minutes_left, people_at, times_of, work_min
from crewdesk.desk.scene import NOTE, Scene
from crewdesk.desk.timetable import Control, control_at, is_target
from crewdesk.documents.itinerary import ChangePlace
from crewdesk.journal.entries import ControlTime
from crewdesk.regulations.fitting import Clock
from crewdesk.regulations.rulebook import Message


def control_time(scene: Scene, body: ControlTime) -> list[Message]:
    """Say what a time at a control costs, and what is left of the visit."""
    spot = scene.course.spot(body.ref)
    if spot is None:
        return []
    for index in (spot.row_in, spot.row_out):
        row = scene.course.rows[index]
        same = row.ref.upper() == body.ref.strip().upper() or spot.row_in == spot.row_out
        control = control_at(scene.bundle, scene.after, row.ref) if same else None
        if control is None:
            continue
        if control.window is not None and not control.late_min:
            return _chosen(scene, control)
        late_min = (body.time - control.due_utc).total_seconds() / 60
        clock = Clock(
            row.ref, local(scene.bundle, control.due_utc), late_min, control.whole_late_min
        )
        messages = scene.ask("time_control", {"TIM-1", "TIM-2"}, clock=clock)
        messages += _minutes_left(scene, body, late_min)
        place = scene.place(row.ref)
        if place is not None and row.ref == place.in_ref and late_min >= 1:
            messages += _what_is_left(scene, place)
        return messages
    return []


def _chosen(scene: Scene, control: Control) -> list[Message]:
    """Say that a flexi service was entered inside its window."""
    assert control.window is not None  # asked before
    assert control.seen_utc is not None  # what was just entered
    opens, closes = (local(scene.bundle, at) for at in control.window)
    place = scene.place(control.ref)
    out = control_at(scene.bundle, scene.after, place.out_ref) if place is not None else None
    due = f"; OUT due {local(scene.bundle, out.due_utc):%H:%M}" if out is not None else ""
    at = local(scene.bundle, control.seen_utc)
    return [
        Message(
            NOTE,
            "note",
            f"{control.ref} at {at:%H:%M}, inside the window {opens:%H:%M} to "
            f"{closes:%H:%M}: no penalty{due}.",
            {"ref": control.ref, "window": (opens, closes)},
        )
    ]


def _what_is_left(scene: Scene, place: ChangePlace) -> list[Message]:
    """Compare the full work with the minutes that are left."""
    left_min = minutes_left(scene.bundle, scene.after, place)
    people = people_at(scene.bundle, place)
    need = work_min(Work.full(scene.car()), people, times_of(scene.bundle))
    return scene.ask(
        "time_control",
        {"PLC-3"},
        fitting=dict(scene.car()),
        place=place,
        minutes_needed=need,
        minutes_allowed=left_min,
    )


def _minutes_left(scene: Scene, body: ControlTime, late_min: float) -> list[Message]:
    """Say how much of a visit is left where its OUT does not move with us."""
    place = scene.place(body.ref)
    moves = is_target(scene.bundle)
    if place is None or moves or late_min <= 0 or body.ref.upper() == place.out_ref.upper():
        return []
    left = max(place.minutes - late_min, 0.0)
    return [
        Message(
            NOTE,
            "note",
            f"{left:g} of {place.minutes:g} min left at {place.key}; OUT stays due at "
            f"{local(scene.bundle, place.due_out_utc):%H:%M}.",
            {"left_min": left, "minutes": place.minutes},
        )
    ]
