"""The list of tyres that is handed in: until when, what is on it, who is still undecided."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from crewdesk.desk.case import base_case, facts_of, first_day, local, rules_of
from crewdesk.desk.state import DayState
from crewdesk.documents.bundle import EventBundle
from crewdesk.regulations.fitting import FittingCase
from crewdesk.regulations.order import natural_key
from crewdesk.regulations.rulebook import Message
from crewdesk.regulations.rules import check_all

REMIND_BEFORE = (timedelta(hours=24), timedelta(hours=2))
"""When the crew is reminded before the list closes."""

_DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_WEEKDAY = re.compile(r"^([a-z]+)\s+(\d{1,2}):(\d{2})$")


@dataclass(frozen=True)
class Nomination:
    """Where the list stands at one moment."""

    closes_utc: datetime | None
    reminders_utc: tuple[datetime, ...]
    listed: Mapping[str, tuple[str, ...]]
    """Tyres on the list by compound."""
    undecided: tuple[str, ...]
    """Tyres of the event that nobody has put on the list or off it."""
    limit: int | None
    caps: Mapping[str, int]
    closed: bool
    messages: tuple[Message, ...]


def closes_at(bundle: EventBundle) -> datetime | None:
    """Return when the nomination closes, or None where the papers give no time.

    A weekday means the last such day up to the first day of the event, in the event's zone.
    """
    word = rules_of(bundle).nominate_by.strip()
    zone = ZoneInfo(bundle.event.zone)
    try:
        at = datetime.fromisoformat(word)
    except ValueError:
        at = None
    if at is not None:
        return at if at.tzinfo is not None else at.replace(tzinfo=zone)
    found = _WEEKDAY.match(word.lower())
    day = first_day(bundle)
    if found is None or found[1] not in _DAYS or day is None:
        return None
    back = (day.weekday() - _DAYS.index(found[1])) % 7
    try:
        clock = time(int(found[2]), int(found[3]))
    except ValueError:
        return None
    return datetime.combine(day - timedelta(days=back), clock, zone)


def nomination(bundle: EventBundle, state: DayState, now_utc: datetime) -> Nomination:
    """Return where the list stands, with what the rules say of it now.

    The reminder speaks from 24 h before the list closes, and anew from 2 h before.
    """
    closes = closes_at(bundle)
    rules = rules_of(bundle)
    tyres = sorted(state.tyres.values(), key=lambda t: natural_key(t.tyre_id))
    ours = [t for t in tyres if t.stock.counts_against == "event"]
    listed: dict[str, list[str]] = {}
    for tyre in ours:
        if tyre.stock.registered:
            listed.setdefault(tyre.stock.compound, []).append(tyre.tyre_id)
    undecided = tuple(
        t.tyre_id
        for t in ours
        if not t.stock.registered and t.status == "ok" and t.tyre_id not in state.left_off
    )
    messages: tuple[Message, ...] = ()
    closed = closes is not None and now_utc > closes
    if rules.registration_needed:
        base = base_case(bundle, state, facts_of(bundle, state))
        base |= {
            "nominate_by": closes,
            "now": now_utc,
            "undecided": len(undecided),
            "zone": ZoneInfo(bundle.event.zone),
        }
        messages = check_all(FittingCase(**base), "nomination")
        messages += _said(listed, rules.qty_total, rules.caps)
    return Nomination(
        closes_utc=closes,
        reminders_utc=() if closes is None else tuple(closes - t for t in REMIND_BEFORE),
        listed={word: tuple(ids) for word, ids in sorted(listed.items())},
        undecided=undecided,
        limit=rules.qty_total,
        caps=dict(rules.caps),
        closed=closed,
        messages=messages,
    )


def _said(
    listed: Mapping[str, list[str]], limit: int | None, caps: Mapping[str, int]
) -> tuple[Message, ...]:
    total = sum(map(len, listed.values()))
    if not total:
        return ()
    by_word = {word: len(ids) for word, ids in sorted(listed.items())}
    parts = ", ".join(f"{n} {word}" for word, n in by_word.items())
    most = f"; {limit} may be used" if limit is not None else ""
    capped = ", ".join(f"{word} {cap}" for word, cap in sorted(caps.items()))
    said = f" Most of each: {capped}." if caps else ""
    values = {"listed": total, "by_compound": by_word, "limit": limit, "caps": dict(caps)}
    return (Message("QTY-4", "note", f"On the list: {total} ({parts}){most}.{said}", values),)


def late_change(bundle: EventBundle, at: datetime, reason: str) -> Message | None:
    """Say that the list is closed, where a change of it names no bulletin."""
    closes = closes_at(bundle)
    if closes is None or at <= closes or "bulletin" in reason.lower():
        return None
    return Message(
        "QTY-4",
        "stops",
        f"The nomination closed {local(bundle, closes):%a %H:%M}: the list changes only by "
        "bulletin. Write its number into the reason.",
        {"closed": closes},
    )
