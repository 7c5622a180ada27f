"""What the stages have taken out of a tyre's studs."""

from datetime import datetime

from crewdesk.desk.course import Course
from crewdesk.desk.state import DayState, TyreNow
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.itinerary import Stage
from crewdesk.physics.studs import bare_share, stud_life_share


def bare_km(bundle: EventBundle, state: DayState, tyre: TyreNow) -> float:
    """Return how far a tyre has run on bare ground at this event.

    The state of a stage is the last one that somebody told of it; where nobody did, dry.
    """
    course = Course(bundle.itinerary)
    stages = {stage.ref: stage for stage in bundle.itinerary.stages}
    total = 0.0
    for run in tyre.runs:
        stage = stages.get(run.stage)
        if stage is not None:
            word = _told(state, course, stage)
            total += run.km * run.split * bare_share(stage.surface, word)
    return total


def _told(state: DayState, course: Course, stage: Stage) -> str:
    """Return the last state told of a stage, dry where nobody told."""
    word, at = "dry", None
    for report in state.reports:
        spot = course.spot(report.place)
        named = spot is not None and spot.stage == stage.ref and not spot.after
        if not named or report.surface is None:
            continue
        if at is None or _later(report.at, at):
            word, at = report.surface, report.at
    return word


def _later(one: datetime | None, other: datetime | None) -> bool:
    return one is not None and (other is None or one >= other)


def stud_words(bundle: EventBundle, state: DayState, tyre: TyreNow) -> str:
    """Return what is left of the studs, empty for a tyre without them."""
    if not tyre.stock.studs:
        return ""
    km = bare_km(bundle, state, tyre)
    used = float(stud_life_share(km))
    if used <= 0.0:
        return f"{tyre.stock.studs} studs, not yet run on bare ground at this event."
    if used >= 1.0:
        return f"{tyre.stock.studs} studs, {km:.1f} km on bare ground: their life is used up."
    return (
        f"{tyre.stock.studs} studs, {km:.1f} km on bare ground: about {100 * used:.0f} % of "
        "their life."
    )
