"""Rules asked of entries other than fittings: work on the road, marks, the list, bulletins."""

from typing import Any

from crewdesk.desk.case import base_case, facts_of, local
from crewdesk.desk.nomination import late_change, nomination
from crewdesk.desk.replay import Fold
from crewdesk.desk.spells import full_car, moved_by_hand, swapped
from crewdesk.desk.state import DayState
from crewdesk.journal.entries import (
    AnyEntry,
    DocumentsChanged,
    Incident,
    MarkCheck,
    RoadChange,
    TyreState,
)
from crewdesk.regulations.fitting import FittingCase
from crewdesk.regulations.rulebook import Message
from crewdesk.regulations.rules import check_all
from crewdesk.units import CORNERS, PLACES, Place


def entry_rules(fold: Fold, state: DayState, body: AnyEntry) -> tuple[Message, ...]:
    """Return what the rules say of an entry before it is written."""
    if isinstance(body, RoadChange):
        return _closed(fold, state, body.after, moved_by_hand(fold.ledger.car(), body.fitting))
    if isinstance(body, Incident):
        return _incident(fold, state, body)
    if isinstance(body, MarkCheck):
        return _marks(body)
    if isinstance(body, TyreState):
        return _on_list(fold, state, body)
    if isinstance(body, DocumentsChanged):
        return _bulletin(fold, state, body)
    return ()


def _closed(
    fold: Fold, state: DayState, word: str, car: dict[Place, str | None]
) -> tuple[Message, ...]:
    """Refuse work in a closed area, unless a named person has overridden it (PLC-1)."""
    ledger = fold.ledger
    area = ledger.course.closed_area(word, ledger.passed)
    if not area or state.at_place is not None:
        return ()
    base = base_case(ledger.bundle, state, facts_of(ledger.bundle, state))
    case = FittingCase(
        **base,
        fitting=full_car(car),
        before=dict(ledger.car()),
        by="crew",
        closed_area=True,
        place_name=area,
    )
    return tuple(m for m in check_all(case, "fitting") if m.code == "PLC-1")


def _incident(fold: Fold, state: DayState, body: Incident) -> tuple[Message, ...]:
    if body.changed_by != "crew" or body.tyre_on is None or body.corner not in CORNERS:
        return ()
    car = fold.ledger.car()
    if not car or not body.where.strip():
        return ()
    return _closed(fold, state, body.where, dict(swapped(car, body.corner, body.tyre_on)))


def _marks(body: MarkCheck) -> tuple[Message, ...]:
    """Refuse a note in which one mark stands at two places: nobody can have read that."""
    seen: dict[str, Place] = {}
    for place in PLACES:
        mark = body.noted.get(place, "").strip()
        if mark and mark in seen:
            return (
                Message(
                    "MRK-2",
                    "stops",
                    f"The mark {mark} is noted on {seen[mark]} and {place}. Read both again.",
                    {"mark": mark, "places": (seen[mark], place)},
                ),
            )
        if mark:
            seen[mark] = place
    return ()


def _on_list(fold: Fold, state: DayState, body: TyreState) -> tuple[Message, ...]:
    """Ask whether the list is still open, and whether a cap is passed by it."""
    if body.state not in ("nominated", "not_nominated") or body.tyre_id not in state.tyres:
        return ()
    bundle = fold.ledger.bundle
    at = body.at or state.last_entry_at
    late = late_change(bundle, at, f"{body.reason} {body.note}") if at is not None else None
    messages = [late] if late is not None else []
    stock = state.tyres[body.tyre_id].stock
    rules = fold.ledger.rules()
    if body.state == "nominated" and stock.counts_against == "shakedown":
        messages.append(
            Message(
                "QTY-3",
                "stops",
                f"{body.tyre_id} belongs to the shakedown allowance.",
                {"tyre": body.tyre_id},
            )
        )
    cap = rules.caps.get(stock.cap_group)
    listed = sum(
        t.stock.registered and t.stock.cap_group == stock.cap_group
        for t in state.tyres.values()
        if t.stock.counts_against == "event"
    )
    over = cap is not None and not stock.registered and listed + 1 > cap
    if body.state == "nominated" and over:
        messages.append(
            Message(
                "QTY-2",
                "watch",
                f"{stock.cap_group[:1].upper()}{stock.cap_group[1:]}: {listed + 1} on the "
                f"list, {cap} may be used.",
                {"group": stock.cap_group, "listed": listed + 1, "cap": cap},
            )
        )
    return tuple(messages)


def list_note(fold: Fold, state: DayState, body: TyreState) -> list[Message]:
    """Say after a change of the list what stands on it."""
    if body.state not in ("nominated", "not_nominated") or state.last_entry_at is None:
        return []
    at = body.at or state.last_entry_at
    said = nomination(fold.ledger.bundle, state, at).messages
    return [message for message in said if message.code == "QTY-4"]


def _bulletin(fold: Fold, state: DayState, body: DocumentsChanged) -> tuple[Message, ...]:
    """Say which fittings keep the rules they were made under."""
    if body.what != "rule":
        return ()
    since = body.valid_from or body.at
    kept = [f for f in state.fittings if since is None or f.at >= since]
    if since is None or not kept:
        return ()
    places = ", ".join(f.place for f in kept)
    values: dict[str, Any] = {"fittings": tuple(f.place for f in kept)}
    return (
        Message(
            "NOTE",
            "watch",
            f"{body.target} is valid from {local(fold.ledger.bundle, since):%a %H:%M}; the "
            f"fittings at {places} were made under the old value and keep it. Look at them.",
            values,
        ),
    )
