"""Entries about the wheels on the car: as found, fitting, read back, moved on the road."""

from dataclasses import replace

from crewdesk.desk.apply_incident import lock_for
from crewdesk.desk.course import Position, Spot
from crewdesk.desk.ledger import Ledger, mount
from crewdesk.desk.spells import (
    Car,
    Spell,
    behind,
    car_at,
    carried_of,
    changed_corners,
    full_car,
    insert_spell,
    moved_by_hand,
    same_car,
    swapped,
)
from crewdesk.desk.state import FittingNow, OpenQuestion, Torque
from crewdesk.journal.entries import AsFound, Fitting, ReadBack, RoadChange, StoredEntry
from crewdesk.units import CORNERS, PLACES, Corner, Place


def _key(spot: Spot | None, word: str) -> str:
    return spot.place.key if spot is not None and spot.place is not None else word.strip()


def start_of_spells(ledger: Ledger, position: Position) -> Position:
    """Return where the last fitting of the team before a position began."""
    begins = [s.since for s in ledger.spells if s.kind == "fitting" and s.since < position]
    return begins[-1] if begins else (-1, 0.0)


def as_found(ledger: Ledger, entry: StoredEntry, body: AsFound) -> None:
    """Take the ids on the car as the truth; what the book says of the past gives way."""
    spot = ledger.course.spot(body.place)
    position: Position = (spot.row_in, 0.0) if spot is not None else ledger.passed
    ledger.advance(position)
    book = car_at(ledger.spells, position)
    found = found_car(book.car if book is not None else None, body)
    spell = Spell(position, found, entry.id, "as_found", _key(spot, body.place))
    if book is not None and not same_car(book.car, found):
        moved = changed_corners(book.car, found)
        settled = _settle_incident(ledger, book.car, found, position)
        if settled is None:
            _rewrite(ledger, entry, body, position, book, found)
            since = body.since or "the road"
        else:
            since = settled
        for corner in moved:
            tyre = found[corner]
            if tyre:
                ledger.torque[corner] = Torque(corner, tyre, since)
    pool = (car_at(ledger.spells, position) or spell).pool
    insert_spell(ledger.spells, replace(spell, pool=pool))
    if spot is None or spot.place is None or ledger.done_place != spot.place.key:
        ledger.at_place = _key(spot, body.place)
        ledger.phase = "car_in"
        if ledger.call_used is not None:
            called = ledger.course.place(ledger.call_used.place)
            if called is None or called.key != ledger.at_place:
                ledger.call_used = None


def found_car(book: Car | None, body: AsFound) -> dict[Place, str | None]:
    """Return the whole car as found; what was not read stays as the book has it."""
    given = body.fitting
    if book is None:
        return full_car(given)
    if "SP1" in given or "SP2" in given:
        new: dict[Place, str | None] = {c: given.get(c, book.get(c)) for c in CORNERS}
        new["SP1"], new["SP2"] = given.get("SP1"), given.get("SP2")
        return full_car(new)
    return moved_by_hand(book, {c: given[c] for c in CORNERS if c in given})


def _settle_incident(ledger: Ledger, book: Car, found: Car, position: Position) -> str | None:
    """Answer an open puncture by what was found; return where it was, or None."""
    differing = [c for c in CORNERS if book.get(c) != found.get(c)]
    if len(differing) != 1:
        return None
    corner = differing[0]
    on, off = found.get(corner), book.get(corner)
    if on is None or off is None or on not in carried_of(book):
        return None
    begins = start_of_spells(ledger, position)
    open_here = [
        (key, body, at)
        for key, (body, at) in ledger.incidents.items()
        if key in ledger.questions and begins <= at < position
    ]
    if len(open_here) != 1:
        return None
    key, incident, at = open_here[0]
    side = "left" if corner in ("FL", "RL") else "right"
    if (
        (incident.side is not None and incident.side != side)
        or (incident.corner is not None and incident.corner != corner)
        or (incident.tyre_off is not None and incident.tyre_off != off)
        or (incident.tyre_on is not None and incident.tyre_on != on)
        or incident.changed_by == "nobody"
    ):
        return None
    answered = incident.model_copy(
        update={"corner": corner, "tyre_off": off, "tyre_on": on, "side": side}
    )
    ledger.incidents[key] = (answered, at)
    del ledger.questions[key]
    pool = {on, off}
    for index, spell in enumerate(ledger.spells):
        if spell.entry_id == key or spell.since == at:
            ledger.spells[index] = replace(
                spell, car=swapped(spell.car, corner, on), pool=frozenset()
            )
        elif spell.since > at and spell.pool & pool:
            ledger.spells[index] = replace(spell, pool=frozenset())
    lock_for(ledger, answered, off)
    return incident.where or "the road"


def _rewrite(
    ledger: Ledger,
    entry: StoredEntry,
    body: AsFound,
    position: Position,
    book: Spell,
    found: Car,
) -> None:
    """Put the past right from where the crew says it changed, or ask since when."""
    begins = start_of_spells(ledger, position)
    since = _since_position(ledger, body.since, begins, position)
    if since is not None:
        ledger.spells[:] = [s for s in ledger.spells if not since < s.since < position]
        at_since = car_at(ledger.spells, since)
        pool = (
            at_since.pool if at_since is not None and at_since.since > begins else frozenset()
        )
        insert_spell(
            ledger.spells, Spell(since, full_car(found), entry.id, "as_found", pool=pool)
        )
        return
    for index, spell in enumerate(ledger.spells):
        if spell is book:
            ledger.spells[index] = replace(spell, doubt=full_car(found))
    changes = [
        f"{corner} has {found.get(corner) or 'nothing'}, "
        f"the book says {book.car.get(corner) or 'nothing'}"
        for corner in CORNERS
        if book.car.get(corner) != found.get(corner)
    ]
    if set(carried_of(book.car)) != set(carried_of(found)):
        changes.append(
            f"carried {' '.join(sorted(carried_of(found))) or 'nothing'}, "
            f"the book says {' '.join(sorted(carried_of(book.car))) or 'nothing'}"
        )
    stages = [
        ref
        for ref, row in ledger.course.row_of_stage.items()
        if begins[0] < row < position[0] and ref not in ledger.cancelled
    ]
    first = ledger.fittings[-1].place if ledger.fittings else "start"
    ledger.questions[entry.id] = OpenQuestion(
        id=entry.id,
        since=entry.happened_utc,
        text=f"As found at {body.place}: {'; '.join(changes)}. Since when?",
        possible=(first, *stages),
        fields=("since",),
    )


def _since_position(
    ledger: Ledger, word: str | None, begins: Position, position: Position
) -> Position | None:
    """Return the position a crew's "since" names: after a stage, or from a change place on."""
    if word is None:
        return None
    spot = ledger.course.spot(word)
    if spot is None:
        return None
    if spot.stage is not None:
        since: Position = behind(spot.row_in)
    elif spot.place is not None:
        since = (spot.row_out, 0.0)
    else:
        since = (spot.row_out, 0.0)
    return max(begins, since) if since < position else position


def fitting(ledger: Ledger, entry: StoredEntry, body: Fitting) -> None:
    """Put these wheels on the car at a change place."""
    spot = ledger.course.spot(body.place)
    if spot is None:
        return
    key = _key(spot, body.place)
    position: Position = (spot.row_out, 0.0)
    ledger.advance((spot.row_in, 0.0))
    before_spell = car_at(ledger.spells, (spot.row_out, -1.0))
    before = before_spell.car if before_spell is not None else None
    car = full_car(body.fitting)
    _rims(ledger, body)
    insert_spell(ledger.spells, Spell(position, car, entry.id, "fitting", key))
    for corner in CORNERS:
        ledger.torque.pop(corner, None) if _other(before, car, corner) else None
    for corner in changed_corners(before, car):
        ledger.torque[corner] = Torque(corner, car[corner] or "", key)
    for corner in [c for c in ledger.torque if not car.get(c)]:
        del ledger.torque[corner]
    _zone(ledger, spot, body, before, car)
    for place in PLACES:
        tyre = car[place]
        kpa = body.cold_kpa.get(place)
        if tyre and kpa is not None:
            ledger.set_tyre(tyre, cold_set_kpa=kpa, set_at_c=body.set_at_c)
    now = FittingNow(
        entry.id,
        key,
        entry.happened_utc,
        car,
        read_back=False,
        source=body.source,
        rules=ledger.rules(),
        override_name=body.override_name,
        override_reason=body.override_reason,
    )
    ledger.fittings[:] = [f for f in ledger.fittings if f.place != key]
    ledger.fittings.append(now)
    ledger.done_place = key
    ledger.at_place = key
    ledger.phase = "out"
    if body.override_name:
        ledger.overrides.append(
            {
                "code": "",
                "name": body.override_name,
                "reason": body.override_reason,
                "place": key,
                "id": entry.id,
            }
        )


def _other(before: Car | None, car: Car, corner: Corner) -> bool:
    return before is None or before.get(corner) != car.get(corner)


def _rims(ledger: Ledger, body: Fitting) -> None:
    for place, rim in body.rims.items():
        tyre = body.fitting.get(place)
        if tyre and tyre in ledger.tyres and ledger.tyres[tyre].rim_id != rim:
            mount(ledger, tyre, rim)


def _zone(ledger: Ledger, spot: Spot, body: Fitting, before: Car | None, car: Car) -> None:
    """Keep which wheels are with the zone crew."""
    zone = spot.place is not None and spot.place.kind == "zone"
    if zone:
        on = {t for t in car.values() if t}
        for tyre in on:
            ledger.set_tyre(tyre, in_zone=False)
        for tyre in {t for t in (before or {}).values() if t} - on:
            ledger.set_tyre(tyre, in_zone=True)
        return
    for known in list(ledger.tyres.values()):
        if known.in_zone:
            ledger.set_tyre(known.tyre_id, in_zone=False)
    for tyre_id in body.bring:
        ledger.set_tyre(tyre_id, in_zone=True)


def read_back(ledger: Ledger, entry: StoredEntry, body: ReadBack) -> None:
    """Ids were read from the car before it goes out; only the same ones close the place."""
    spot = ledger.course.spot(body.place)
    if spot is None:
        return
    position: Position = (spot.row_out, 0.0)
    spell = car_at(ledger.spells, position)
    if spell is None or not same_car(spell.car, read_car(spell.car, body)):
        return
    ledger.advance((spot.row_in, 0.0))
    key = _key(spot, body.place)
    for corner in body.torque:
        ledger.torque.pop(corner, None)
    _close_visit(ledger, entry, spot, key, read=True)


def gone_out(ledger: Ledger, entry: StoredEntry, spot: Spot) -> None:
    """Let the car out of a change place without its having been read back."""
    if spot.place is not None and spot.place.key == ledger.at_place:
        _close_visit(ledger, entry, spot, spot.place.key, read=False)


def _close_visit(
    ledger: Ledger, entry: StoredEntry, spot: Spot, key: str, *, read: bool
) -> None:
    """End a visit; where nothing was changed the car as it stands is its fitting."""
    position: Position = (spot.row_out, 0.0)
    spell = car_at(ledger.spells, position)
    mine = [i for i, f in enumerate(ledger.fittings) if f.place == key]
    if mine:
        last = ledger.fittings[mine[-1]]
        ledger.fittings[mine[-1]] = replace(last, read_back=last.read_back or read)
    elif spell is not None:
        insert_spell(
            ledger.spells, replace(spell, since=position, kind="fitting", place=key, doubt=None)
        )
        ledger.fittings.append(
            FittingNow(
                entry.id, key, entry.happened_utc, spell.car, read, "own", ledger.rules()
            )
        )
    if spot.place is not None:
        ledger.done_place = spot.place.key
    ledger.advance(position)
    ledger.at_place = None
    ledger.phase = "left_behind"
    ledger.call_used = None


def read_car(planned: Car, body: ReadBack) -> Car:
    """Return the car as read back; places that were not read count as planned."""
    spares = "SP1" in body.fitting or "SP2" in body.fitting
    return {
        place: body.fitting.get(place)
        if place in body.fitting or (spares and place.startswith("SP"))
        else planned.get(place)
        for place in PLACES
    }


def road_change(ledger: Ledger, entry: StoredEntry, body: RoadChange) -> None:
    """Move wheels that are on board, done by the crew on the road."""
    spot = ledger.course.spot(body.after)
    if spot is None:
        position = (ledger.passed[0], max(ledger.passed[1], 0.0) + 1.0)
    elif spot.stage is not None:
        position = behind(spot.row_in)
    else:
        position = (spot.row_out, 1.0)
    ledger.advance(position)
    spell = car_at(ledger.spells, position)
    before = spell.car if spell is not None else {}
    car = moved_by_hand(before, body.fitting)
    pool = spell.pool if spell is not None else frozenset()
    insert_spell(ledger.spells, Spell(position, car, entry.id, "road_change", pool=pool))
    for corner in changed_corners(before, car):
        ledger.torque[corner] = Torque(corner, car[corner] or "", body.after or "the road")
