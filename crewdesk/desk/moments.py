"""Which moment is meant: when a call is decided, and what time it is on a day of practice."""

from datetime import UTC, datetime, timedelta

from crewdesk.desk.state import DayState
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.itinerary import ChangePlace

BEFORE = timedelta(days=3)
"""How long before the first control entries of the event are still about it."""
AFTER = timedelta(days=2)
THINKING = timedelta(minutes=10)
"""Left on the clock for the call where somebody practises."""


def span(bundle: EventBundle) -> tuple[datetime, datetime] | None:
    """Return the first and last due time of the event."""
    itinerary = bundle.itinerary
    dues = [due for row in itinerary.rows if (due := itinerary.our_due(row)) is not None]
    return (min(dues), max(dues)) if dues else None


def in_span(bundle: EventBundle, at: datetime) -> bool:
    """Say whether a moment belongs to the days of the event."""
    days = span(bundle)
    return days is None or days[0] - BEFORE <= at <= days[1] + AFTER


def place_ahead(bundle: EventBundle, state: DayState) -> ChangePlace | None:
    """Return the change place whose call is asked for."""
    if state.next_place is None:
        return None
    return bundle.itinerary.place(state.next_place)


def decision_time(bundle: EventBundle, state: DayState, place: ChangePlace) -> datetime:
    """Return when the call for a place is decided.

    The time of the last entry; where nothing was entered, or only at another date than the
    event's, our due time IN.
    """
    last = state.last_entry_at
    if last is None or not in_span(bundle, last):
        return place.due_in_utc
    return last.astimezone(UTC)


DAY_KINDS = frozenset(
    {
        "report",
        "reading",
        "look",
        "as_found",
        "fitting",
        "read_back",
        "call_used",
        "stage_run",
        "control_time",
        "incident",
        "road_change",
        "mark_check",
        "off_road",
        "driver_words",
    }
)
"""Kinds of entries that are only made while the event runs."""


def practice_time(
    bundle: EventBundle, state: DayState, machine: datetime, kind: str = "report"
) -> datetime:
    """Return the machine's time, or a time of the event where the machine is on another date.

    Whoever tries an event of another month practises: the clock then stands ten minutes before
    the call should stand for the next control IN, or at the last entry where that is later.
    Preparing an event weeks ahead is no practice.
    """
    now = machine + timedelta(seconds=state.clock_offset_s)
    days = span(bundle)
    if days is None or days[0] - BEFORE <= now <= days[1] + AFTER:
        return machine
    last = state.last_entry_at
    started = last is not None and in_span(bundle, last)
    if now < days[0] and kind not in DAY_KINDS and not started:
        return machine
    place = place_ahead(bundle, state)
    ahead = timedelta(minutes=bundle.event.settings.call_before_in_min) + THINKING
    meant = place.due_in_utc - ahead if place is not None else days[1]
    if state.at_place is not None:
        here = [p for p in bundle.itinerary.change_places if p.key == state.at_place]
        meant = here[0].due_in_utc if here else meant
    return max(meant, last) if started and last is not None else meant
