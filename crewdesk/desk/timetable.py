"""Our times at the controls: due, latest without penalty, entered, and what late costs."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from crewdesk.desk.case import rules_of
from crewdesk.desk.state import DayState
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.itinerary import ChangePlace, ItineraryRow
from crewdesk.regulations.rulebook import Rulebook

ZERO = timedelta(0)
MINUTE = timedelta(minutes=1)
NIGHT = timedelta(hours=12)
"""A window that would have closed longer ago than this closes after midnight."""
LAST_SECOND = timedelta(seconds=59)
"""Seconds of a control minute are dropped: the whole minute is on time."""


@dataclass(frozen=True)
class Control:
    """One control with our times."""

    ref: str
    name: str
    kind: str
    row: int
    leg: int
    planned_utc: datetime
    """As printed, moved by our place in the order."""
    due_utc: datetime
    """With what our actual times have moved."""
    latest_utc: datetime
    """Last moment without a penalty."""
    expected_utc: datetime
    """When the car will be there by what is known."""
    seen_utc: datetime | None = None
    announced: bool = False
    late_min: int = 0
    """Whole minutes behind the due time; negative: early."""
    cost_s: float = 0.0
    out_of_time_utc: datetime | None = None
    """From this moment on the car is out of time; None: no such limit."""
    window: tuple[datetime, datetime] | None = None
    """Inside it the control may be entered freely: a flexi service."""

    @property
    def whole_late_min(self) -> float:
        """Return the lateness that counts towards out of time [min]."""
        if self.seen_utc is None or self.window is not None:
            return 0.0
        return (self.seen_utc - self.planned_utc) / MINUTE


def penalty(rules: Rulebook, late_min: float) -> tuple[int, float]:
    """Return whole minutes early (negative) or late, and what they cost [s]."""
    whole = int(abs(late_min) + 1e-9)
    rate = rules.late_s_per_min if late_min > 0 else rules.early_s_per_min
    return (whole if late_min > 0 else -whole), whole * rate


def is_target(bundle: EventBundle) -> bool:
    """Say whether each due time follows from our own time at the control before."""
    return rules_of(bundle).timing_mode == "target"


def flexi_window(
    bundle: EventBundle, rules: Rulebook, place: ChangePlace
) -> tuple[datetime, datetime] | None:
    """Return from when to when a flexi service may be entered, or None for another place.

    It opens when the car is due in the holding park before it.
    """
    if place.kind != "flexi":
        return None
    itinerary = bundle.itinerary
    opens = place.due_in_utc
    before = itinerary.row_before(place.in_ref)
    while before is not None and before.kind == "refuel":
        before = itinerary.row_before(before.ref)
    if before is not None and before.kind == "regroup_in":
        opens = itinerary.our_due(before) or opens
    if not rules.flexi_window_to:
        return opens, max(place.due_in_utc, opens)
    hour, minute = (int(part) for part in rules.flexi_window_to.split(":"))
    zone = ZoneInfo(bundle.event.zone)
    local_day = place.due_in_utc.astimezone(zone).date()
    closes = datetime.combine(local_day, time(hour, minute), zone)
    if place.due_in_utc - closes > NIGHT:
        closes += timedelta(days=1)
    return opens, max(closes.astimezone(opens.tzinfo), opens)


def timetable(bundle: EventBundle, state: DayState) -> tuple[Control, ...]:
    """Return every control and stage start of the event with our times.

    Under target timing an actual time moves what follows, until a regroup closes the gaps
    again; under scheduled timing each due time stays. A regroup takes up as much lateness as
    the car stands in it.
    """
    return tuple(_controls(bundle, state))


def _controls(bundle: EventBundle, state: DayState) -> Iterator[Control]:
    rules = rules_of(bundle)
    itinerary = bundle.itinerary
    windows = {
        place.in_ref: flexi_window(bundle, rules, place) for place in itinerary.change_places
    }
    flexi_outs = {p.out_ref for p in itinerary.change_places if p.kind == "flexi"}
    target = rules.timing_mode == "target"
    shift = slack = ZERO
    leg: int | None = None
    before: ItineraryRow | None = None
    for index, row in enumerate(itinerary.rows):
        planned = itinerary.our_due(row)
        if planned is None:
            continue
        if row.leg != leg:
            leg, shift, slack = row.leg, ZERO, ZERO
        stands = before is not None and before.kind == "regroup_in"
        stay = timedelta(minutes=row.target_min or 0.0)
        if stands:
            shift = max(shift - stay, ZERO)
        if stands or row.kind.endswith("_out"):
            slack = max(slack - stay, ZERO)
        window = windows.get(row.ref)
        moves = target or row.ref in flexi_outs
        due = planned + shift if moves else planned
        seen = state.times.get(row.ref)
        late, cost_s = 0, 0.0
        if seen is not None:
            at = seen.at
            free = window is not None and window[0] <= at <= window[1] + LAST_SECOND
            if not free:
                late, cost_s = penalty(rules, (at - due) / MINUTE)
            if target or window is not None:
                shift = at - planned
            slack = max(at - due, ZERO)
        expected = seen.at if seen is not None else due if moves else due + slack
        out = None
        if rules.out_of_time_min != float("inf"):
            out = planned + timedelta(minutes=rules.out_of_time_min + 1)
        yield Control(
            ref=row.ref,
            name=row.name,
            kind=row.kind,
            row=index,
            leg=row.leg,
            planned_utc=planned,
            due_utc=due,
            latest_utc=window[1] if window is not None else due + LAST_SECOND,
            expected_utc=expected,
            seen_utc=seen.at if seen is not None else None,
            announced=seen is not None and seen.announced,
            late_min=late,
            cost_s=cost_s,
            out_of_time_utc=out,
            window=window,
        )
        before = row


def control_at(bundle: EventBundle, state: DayState, ref: str) -> Control | None:
    """Return one control, or None where the itinerary gives it no time."""
    wanted = ref.strip().upper()
    return next((c for c in timetable(bundle, state) if c.ref.upper() == wanted), None)


def with_our_times(bundle: EventBundle, state: DayState) -> EventBundle:
    """Return the documents with stages and change places at the times we shall be there.

    Where our lateness eats into a visit whose OUT stays, the visit is shorter.
    """
    if not state.times:
        return bundle
    known = {control.ref: control for control in timetable(bundle, state)}
    stages = tuple(
        stage.model_copy(update={"due_utc": max(stage.due_utc, known[stage.ref].expected_utc)})
        if stage.ref in known
        else stage
        for stage in bundle.itinerary.stages
    )
    places = []
    for place in bundle.itinerary.change_places:
        into, out = known.get(place.in_ref), known.get(place.out_ref)
        if into is None or out is None or place.kind == "start":
            places.append(place)
            continue
        due_out = out.due_utc
        # An early car stands until it is due: nothing of the visit is won by it.
        due_in = min(max(into.expected_utc, into.due_utc), due_out)
        if into.window is not None and into.seen_utc is not None:
            due_in = into.seen_utc
        minutes = min(place.minutes, (due_out - due_in) / MINUTE)
        places.append(
            place.model_copy(
                update={"due_in_utc": due_in, "due_out_utc": due_out, "minutes": minutes}
            )
        )
    itinerary = bundle.itinerary.model_copy(
        update={"stages": stages, "change_places": tuple(places)}
    )
    return bundle.model_copy(update={"itinerary": itinerary})
