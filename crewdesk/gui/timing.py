"""The clock that counts now, how old a reading is, and the steps of the day."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Final, Literal

from PySide6.QtCore import QCoreApplication

if TYPE_CHECKING:
    from crewdesk.desk.state import DayState
    from crewdesk.documents.bundle import EventBundle
    from crewdesk.documents.itinerary import ChangePlace
    from crewdesk.journal.entries import Report

Freshness = Literal["none", "fresh", "ageing", "old"]
ROAD_LIMITS_MIN: Final = (15.0, 30.0)
AIR_LIMITS_MIN: Final = (30.0, 60.0)
"""Fresh up to the first, old from the second. Common practice, no source."""


@dataclass(frozen=True)
class Countdown:
    """What the top strip counts."""

    what: Literal["call_by", "in", "out", "done"]
    due: datetime
    left: timedelta
    """Negative once it has passed: the strip counts up then."""
    in_due: datetime | None = None

    @property
    def late(self) -> bool:
        """Whether the time has passed."""
        return self.left < timedelta(0)


def place_ahead(bundle: "EventBundle", state: "DayState") -> "ChangePlace | None":
    """Return the change place the car is in, else the next one."""
    key = state.at_place or state.next_place
    return bundle.itinerary.place(key) if key else None


def countdown(bundle: "EventBundle", state: "DayState", now: datetime) -> Countdown | None:
    """Return the clock that counts now, with our own times at the controls in it."""
    ahead = place_ahead(bundle, state)
    if ahead is None:
        return None
    # Both draw in the rules, which the first paint does without.
    from crewdesk.desk.timetable import with_our_times
    from crewdesk.desk.wheels_plan import van_leaves

    place = with_our_times(bundle, state).itinerary.place(ahead.key)
    due_in, due_out = place.due_in_utc, place.due_out_utc
    if state.at_place is not None:
        return Countdown("out", due_out, due_out - now, due_in)
    if state.call_used is not None and state.call_used.place == place.key:
        return Countdown("in", due_in, due_in - now, due_in)
    by = due_in - timedelta(minutes=bundle.event.settings.call_before_in_min)
    if place.kind == "zone":
        van = van_leaves(bundle, state, place)
        # Once the van is away the call is about what it brings.
        by = min(by, van) if now < van else by
    return Countdown("call_by", by, by - now, due_in)


@dataclass(frozen=True)
class Seen:
    """The newest report of one quantity."""

    value: float | None
    at: datetime | None
    age_min: float | None
    freshness: Freshness


def newest(
    reports: "Sequence[Report]",
    what: Literal["air_c", "road_c"],
    now: datetime,
) -> Seen:
    """Return the newest reading of air or road and how fresh it is."""
    limits = AIR_LIMITS_MIN if what == "air_c" else ROAD_LIMITS_MIN
    known = [r for r in reports if getattr(r, what) is not None and r.at is not None]
    if not known:
        return Seen(None, None, None, "none")
    # Of two at the same minute the later entry counts.
    report = max(reversed(known), key=lambda r: r.at or now)
    assert report.at is not None
    age = max(0.0, (now - report.at).total_seconds() / 60)
    fresh: Freshness = "fresh" if age <= limits[0] else "ageing" if age <= limits[1] else "old"
    return Seen(getattr(report, what), report.at, age, fresh)


StepMark = Literal["done", "now", "to come"]


@dataclass(frozen=True)
class Step:
    """One step of the day on the rail."""

    key: str
    """Change place or loop, as ``place:B`` and ``loop:2``, or ``load``, ``handover``."""
    label: str
    mark: StepMark
    sub: str = ""


def _tr(text: str) -> str:
    return QCoreApplication.translate("Steps", text)


def short_label(place: "ChangePlace") -> str:
    """Return what a change place is called on the rail."""
    if place.kind == "start":
        return _tr("Start")
    words = {"zone": _tr("Zone {0}"), "flexi": _tr("Flexi {0}")}
    return words.get(place.kind, _tr("Service {0}")).format(place.key)


def loop_running(bundle: "EventBundle", state: "DayState") -> int | None:
    """Return which change place the car left last, while stages of its loop are to come."""
    places = bundle.itinerary.change_places
    here = state.at_place or state.next_place
    ahead = next((i for i, p in enumerate(places) if p.key == here), len(places))
    if ahead == 0 or state.at_place is not None:
        return None
    run = {*state.stages_run, *state.cancelled}
    return ahead - 1 if any(ref not in run for ref in places[ahead - 1].stages) else None


LEG_CLOSED: Final = "Leg {0} closed"
"""Note that says so in the book; read again by the rail."""


def leg_closed(state: "DayState", leg: int) -> bool:
    """Say whether the crew has closed a leg."""
    wanted = LEG_CLOSED.format(leg)
    return any(text == wanted for _, text in state.notes)


def leg_ended(bundle: "EventBundle", state: "DayState") -> int | None:
    """Return the leg that is over and not closed, until the next one is begun."""
    if state.at_place is not None or loop_running(bundle, state) is not None:
        return None
    places = bundle.itinerary.change_places
    ahead = next((i for i, p in enumerate(places) if p.key == state.next_place), len(places))
    if ahead == 0 or state.closed:
        return None
    leg = places[ahead - 1].leg
    over = ahead == len(places) or places[ahead].leg != leg
    begun = state.call_used is not None
    return leg if over and not begun and not leg_closed(state, leg) else None


def stages_unsaid(bundle: "EventBundle", state: "DayState", leg: int) -> tuple[str, ...]:
    """Return the stages at the end of a leg of which nobody has said that they were run."""
    at = loop_running(bundle, state)
    places = bundle.itinerary.change_places
    if at is None or state.off_road or places[at].leg != leg:
        return ()
    if at + 1 < len(places) and places[at + 1].leg == leg:
        return ()
    said = {*state.stages_run, *state.cancelled}
    return tuple(ref for ref in places[at].stages if ref not in said)


def steps_of_day(bundle: "EventBundle", state: "DayState") -> tuple[Step, ...]:
    """Return the rail: load, every change place with its loop, handover."""
    places = bundle.itinerary.change_places
    here = state.at_place or state.next_place
    ahead = next((i for i, p in enumerate(places) if p.key == here), len(places))
    running = loop_running(bundle, state)
    ended = leg_ended(bundle, state)
    steps = [Step("load", _tr("Load event"), "done")]
    for index, place in enumerate(places):
        mark: StepMark = "done" if index < ahead else "to come"
        if index == ahead and running is None and ended is None:
            mark = "now"
        steps.append(Step(f"place:{place.key}", short_label(place), mark))
        if place.stages:
            steps.append(_loop_step(place, index, ahead, running))
        if index + 1 == len(places) or places[index + 1].leg != place.leg:
            steps.append(_leg_step(state, place.leg, ended, passed=index < ahead))
    over: StepMark = "done" if state.closed else "now" if here is None else "to come"
    if over == "now" and (ended is not None or running is not None):
        over = "to come"
    steps.append(Step("handover", _tr("Handover"), over))
    return tuple(steps)


def _leg_step(state: "DayState", leg: int, ended: int | None, *, passed: bool) -> Step:
    mark: StepMark = "now" if ended == leg else "to come"
    if ended != leg and passed and leg_closed(state, leg):
        mark = "done"
    return Step(f"leg:{leg}", _tr("Close leg {0}").format(leg), mark)


def _loop_step(place: "ChangePlace", index: int, ahead: int, running: int | None) -> Step:
    last = _tr(" to {0}").format(place.stages[-1]) if len(place.stages) > 1 else ""
    mark: StepMark = "done" if index < ahead else "to come"
    if index == running:
        mark = "now"
    label = _tr("Loop {0}").format(place.loop)
    return Step(f"loop:{place.loop}", label, mark, place.stages[0] + last)
