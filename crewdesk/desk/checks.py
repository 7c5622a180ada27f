"""Every entry is judged here before it goes into the book."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any

from crewdesk.desk.ahead_told import AheadTold, stages_ahead
from crewdesk.desk.case import base_case, facts_of, local, rules_of
from crewdesk.desk.entry_rules import entry_rules
from crewdesk.desk.estimate import ahead_of
from crewdesk.desk.minutes import late_work, work_of
from crewdesk.desk.replay import Fold, counted_tyres, finish, fold_all
from crewdesk.desk.sanity import sanity
from crewdesk.desk.spells import Car, car_at, full_car
from crewdesk.desk.state import DayState
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.itinerary import ChangePlace
from crewdesk.journal.entries import AnyEntry, Fitting, StoredEntry, TyreAdded
from crewdesk.regulations.fitting import FittingCase
from crewdesk.regulations.rulebook import Message
from crewdesk.regulations.rules import check_all


@dataclass(frozen=True)
class Judged:
    """What became of an entry before it is written."""

    accepted: bool
    messages: tuple[Message, ...]
    after: Fold
    """The fold as it would be with the entry."""


def judge_entry(
    fold: Fold, state: DayState, body: AnyEntry, known: AheadTold | None = None
) -> Judged:
    """Return whether an entry can be taken, what speaks against it, and where it leads.

    ``known`` is what lies ahead of some wheels, where it is worked out already.
    """
    messages = list(sanity(fold, state, body))
    if not _stopped(messages):
        if isinstance(body, Fitting):
            messages += _fitting(fold, state, body, known)
        elif isinstance(body, TyreAdded):
            messages += _joker(fold, state, body)
        else:
            messages += entry_rules(fold, state, body)
    if _stopped(messages):
        return Judged(False, tuple(messages), fold)
    return Judged(True, tuple(messages), fold_all(fold, (_unwritten(fold, body),)))


def judge_after(fold: Fold, taken_on: Sequence[AnyEntry], body: AnyEntry) -> Judged:
    """Return what is said of an entry once a named person has taken on what stops it."""
    for one in taken_on:
        fold = fold_all(fold, (_unwritten(fold, one),))
    return judge_entry(fold, finish(fold), body)


def _stopped(messages: list[Message]) -> bool:
    return any(message.level == "stops" for message in messages)


def _unwritten(fold: Fold, body: AnyEntry) -> StoredEntry:
    """Return the entry as it would stand in the book."""
    last = fold.entries[-1] if fold.entries else None
    at = body.at or (last.at_utc if last is not None else datetime.now(UTC))
    return StoredEntry(
        seq=(last.seq if last is not None else 0) + 1,
        id="not written yet",
        desk="",
        desk_seq=1,
        after=(),
        at_utc=at,
        clock_offset_s=0.0,
        kind=body.kind,
        version=1,
        body=body,
    )


def counters(bundle: EventBundle, state: DayState) -> dict[str, Any]:
    """Return how many tyres are used, of how many, and of which compound."""
    rules = rules_of(bundle)
    by_compound: dict[str, int] = {}
    for tyre_id in state.counted:
        word = state.tyres[tyre_id].stock.compound
        by_compound[word] = by_compound.get(word, 0) + 1
    jokers = [t for t in state.tyres.values() if t.joker_sheet]
    return {
        "used": len(state.counted),
        "limit": rules.qty_total,
        "by_compound": dict(sorted(by_compound.items())),
        "caps": dict(rules.caps),
        "jokers_used": len(jokers),
        "jokers": rules.joker_total,
    }


def _fitting(
    fold: Fold, state: DayState, body: Fitting, known: AheadTold | None
) -> tuple[Message, ...]:
    """Ask every rule about a fitting."""
    ledger = fold.ledger
    bundle = ledger.bundle
    spot = ledger.course.spot(body.place)
    assert spot is not None  # looked at before
    here = (spot.row_out, 0.0)
    earlier = [s for s in ledger.spells if not (s.since == here and s.kind == "fitting")]
    spell = car_at(earlier, here)
    facts = facts_of(bundle, state)
    stages = stages_ahead(bundle, state, spot.place)
    at = body.at or state.last_entry_at or datetime.now(UTC)
    told = known.of(body.fitting, stages, at) if known is not None else None
    if told is None:
        told = ahead_of(bundle, state, body.fitting, stages, at)
    for tyre_id, ahead in told.items():
        facts[tyre_id] = ahead.laid_over(facts[tyre_id])
    for tyre_id in body.bring:
        facts[tyre_id] = replace(facts[tyre_id], in_zone=True)
    base = base_case(bundle, state, facts)
    # A fitting that is made anew before OUT counts nothing twice.
    only = ledger.copy()
    only.spells = earlier
    kept = set(counted_tyres(only))
    count = base["ledger"]
    base["ledger"] = replace(count, counted=tuple(t for t in count.counted if t in kept))
    place = spot.place
    row = ledger.course.rows[spot.row_in]
    after = [
        p
        for p in bundle.itinerary.change_places
        if ledger.course.place_rows[p.key][1] > spot.row_out
    ]
    surfaces = frozenset(
        stage.surface
        for stage in bundle.itinerary.stages
        if place is not None and stage.ref in place.stages
    )
    chosen = {p: rim for p, rim in body.rims.items() if body.fitting.get(p)}
    base |= {
        "fitting": full_car(body.fitting),
        "place": place,
        "place_name": row.name or body.place,
        "before": dict(spell.car) if spell is not None else None,
        "rims_chosen": chosen,
        "work": body.work,
        "people": body.people,
        "zone_known": any(t.in_zone for t in state.tyres.values()),
        "closed_area": bool(place is None and ledger.course.rows[spot.row_in].ref),
        "cold_kpa": dict(body.cold_kpa),
        "surfaces": surfaces,
        "next_ref": after[0].in_ref if after else "",
        "next_due": local(bundle, after[0].due_in_utc) if after else None,
    }
    if spot.place is not None and spot.place.kind != "start" and spell is not None:
        base |= _minutes(bundle, state, spot.place, spell.car, body)
    if body.override_name.strip():
        first = check_all(FittingCase(**base), "fitting")
        own = {m.code: body.override_name for m in first if m.level == "stops"}
        base["overrides"] = {**base["overrides"], **own}
    return check_all(FittingCase(**base), "fitting")


def _minutes(
    bundle: EventBundle, state: DayState, place: ChangePlace, before: Car, body: Fitting
) -> dict[str, Any]:
    """Return how long the work takes and how long the visit is."""
    work = late_work(bundle, state, place, work_of(before, body.fitting), body.people)
    return {"minutes_needed": float(work.needed_min), "minutes_allowed": work.allowed_min}


def _joker(fold: Fold, state: DayState, body: TyreAdded) -> tuple[Message, ...]:
    """Ask for the papers of a damage replacement."""
    if not (body.replaces or body.joker_sheet):
        return ()
    bundle = fold.ledger.bundle
    facts = facts_of(bundle, state)
    tyre_id = body.row.get("tyre_id", "").strip()
    known = facts.get(tyre_id) or facts.get(body.replaces)
    if known is None:
        return ()
    asked = replace(
        known,
        stock=known.stock.model_copy(update={"tyre_id": tyre_id}),
        status="ok",
        joker_for=body.replaces or "a damaged tyre",
        joker_sheet=body.joker_sheet,
        approved_by=body.approved_by,
    )
    base = base_case(bundle, state, {**facts, tyre_id: asked})
    taken = tuple(t.tyre_id for t in state.tyres.values() if t.joker_sheet)
    base["ledger"] = replace(base["ledger"], jokers=taken)
    case = FittingCase(**base, fitting={"SP1": tyre_id})
    return tuple(m for m in check_all(case, "fitting") if m.code in ("JOK-1", "JOK-2"))
