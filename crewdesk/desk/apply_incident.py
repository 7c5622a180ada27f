"""Punctures, cuts and the like: which wheel, what is locked, and what nobody knows yet."""

from dataclasses import dataclass

from crewdesk.desk.course import Position
from crewdesk.desk.ledger import Ledger
from crewdesk.desk.spells import (
    Car,
    Spell,
    behind,
    car_at,
    carried_of,
    changed_corners,
    insert_spell,
    place_of,
    swapped,
)
from crewdesk.desk.state import OpenQuestion, Torque
from crewdesk.journal.entries import Incident, StoredEntry
from crewdesk.units import CORNERS, Corner, Place

LOCKING = frozenset({"puncture", "cut", "bulge", "leak", "bead", "flat_spot", "other"})
"""Damage after which a tyre is locked until a named fitter releases it."""

ON_THE_ROAD = frozenset({"puncture", "cut", "leak", "bead"})
"""Damage for which the crew may have changed a wheel."""


@dataclass(frozen=True)
class Where:
    """Where an incident lies, and whether the car stood in a change place."""

    position: Position
    in_place: bool
    known: bool


def incident(ledger: Ledger, entry: StoredEntry, body: Incident) -> None:
    """Lock what is damaged, move what was changed, ask what is not known."""
    where = _where(ledger, body)
    ledger.advance(where.position)
    spell = car_at(ledger.spells, where.position)
    car: Car = spell.car if spell is not None else {}
    corner = _corner(body, car)
    off = body.tyre_off or (car.get(corner) if corner else None)
    on = body.tyre_on
    changed = body.changed_by in ("crew", "team") or on is not None
    if changed and on is None and not where.in_place:
        left = [t for t in carried_of(car) if _sound(ledger, t)]
        on = left[0] if len(left) == 1 else None
    full = body.model_copy(update={"corner": corner or body.corner, "tyre_off": off})
    if changed and not where.in_place:
        full = full.model_copy(update={"tyre_on": on})
    ledger.incidents[entry.id] = (full, where.position)
    pool = spell.pool if spell is not None else frozenset()
    unknown = _unknown_fields(full, where)
    if changed and not where.in_place and spell is not None:
        if corner in CORNERS and on is not None:
            new = swapped(car, corner, on)
            insert_spell(
                ledger.spells, Spell(where.position, new, entry.id, "incident", pool=pool)
            )
            for moved in changed_corners(car, new):
                since = body.where or "the road"
                ledger.torque[moved] = Torque(moved, new[moved] or "", since)
        elif "corner" in unknown or "tyre_on" in unknown:
            ran = frozenset(possible_off(full, car)) | frozenset(possible_on(full, car))
            insert_spell(
                ledger.spells,
                Spell(where.position, car, entry.id, "incident", pool=pool | ran),
            )
    if off is not None:
        lock_for(ledger, full, off)
    _rim(ledger, body, off)
    if unknown:
        _ask(ledger, entry, full, car, unknown)


def _sound(ledger: Ledger, tyre_id: str) -> bool:
    return tyre_id not in ledger.tyres or ledger.tyres[tyre_id].status == "ok"


def _where(ledger: Ledger, body: Incident) -> Where:
    spot = ledger.course.spot(body.where)
    if spot is None:
        return Where(_here(ledger), ledger.at_place is not None, ledger.at_place is not None)
    if spot.stage is None:
        in_place = spot.place is not None or bool(ledger.course.rows[spot.row_in].service)
        return Where((spot.row_in, 0.0), in_place, True)
    if spot.after or body.km_into_stage is None:
        # Without a kilometre the stage is taken as driven to its end on the damaged wheel.
        return Where(behind(spot.row_in), False, True)
    return Where((spot.row_in, body.km_into_stage), False, True)


def _here(ledger: Ledger) -> Position:
    """Return where the car is as far as is known, behind whatever was entered there."""
    position = ledger.passed
    if ledger.spells and ledger.spells[-1].since >= position:
        last = ledger.spells[-1].since
        position = (last[0], last[1] + 1.0)
    return position


def _corner(body: Incident, car: Car) -> Place | None:
    if body.corner is not None:
        return body.corner
    if body.tyre_off is not None:
        found = place_of(car, body.tyre_off)
        if found is not None:
            return found
    return None


def possible_off(body: Incident, car: Car) -> list[str]:
    """Return the tyres that may be the damaged one."""
    if body.tyre_off:
        return [body.tyre_off]
    corners: tuple[Corner, ...] = CORNERS
    if body.side == "left":
        corners = ("FL", "RL")
    elif body.side == "right":
        corners = ("FR", "RR")
    if body.corner is not None:
        tyre = car.get(body.corner)
        return [tyre] if tyre else []
    return [t for c in corners if (t := car.get(c))]


def possible_on(body: Incident, car: Car) -> list[str]:
    """Return the tyres that may have come onto the corner."""
    if body.changed_by == "nobody":
        return []
    return [body.tyre_on] if body.tyre_on else carried_of(car)


def _unknown_fields(body: Incident, where: Where) -> tuple[str, ...]:
    """Return the fields that are still to be filled in."""
    if body.what == "spin":
        return ()
    unknown = []
    if body.corner is None and body.tyre_off is None and body.what != "rim":
        unknown.append("corner")
    on_road = body.what in ON_THE_ROAD and not where.in_place
    if on_road:
        if body.changed_by in ("crew", "team") and body.tyre_on is None:
            unknown.append("tyre_on")
        if body.changed_by == "" and body.tyre_on is None:
            unknown.append("changed_by")
        if not where.known:
            unknown.append("where")
    return tuple(unknown)


_FIELD_WORDS = {
    "corner": "which corner",
    "tyre_on": "which wheel came on",
    "changed_by": "was a wheel changed, and by whom",
    "where": "where",
}


def _ask(
    ledger: Ledger, entry: StoredEntry, body: Incident, car: Car, unknown: tuple[str, ...]
) -> None:
    side = f" {body.side}" if body.side and body.corner is None else ""
    corner = f" {body.corner}" if body.corner else ""
    where = f", {body.where}" if body.where else ""
    asked = ", ".join(_FIELD_WORDS[field] for field in unknown)
    possible: list[str] = []
    if "corner" in unknown:
        possible += possible_off(body, car)
    if "tyre_on" in unknown or "changed_by" in unknown:
        possible += possible_on(body, car)
    ledger.questions[entry.id] = OpenQuestion(
        id=entry.id,
        since=entry.happened_utc,
        text=f"{body.what.replace('_', ' ').capitalize()}{side}{corner}{where}: {asked}?",
        possible=tuple(dict.fromkeys(possible)),
        fields=unknown,
    )


def lock_for(ledger: Ledger, body: Incident, tyre_id: str) -> None:
    """Lock a damaged tyre; a scrapped one stays scrapped."""
    tyre = ledger.tyres.get(tyre_id)
    if tyre is None or body.what not in LOCKING or tyre.status == "scrapped":
        return
    code = "LEAK-1" if body.what == "leak" else "DMG-1"
    where = f", {body.where}" if body.where else ""
    words = body.what.replace("_", " ")
    ledger.set_tyre(tyre_id, status="locked", status_why=f"{code} {words}{where}")


def _rim(ledger: Ledger, body: Incident, tyre_id: str | None) -> None:
    """Take a bent, cracked or scrapped rim out of the pool."""
    rim = body.rim_id or (
        ledger.tyres[tyre_id].rim_id if tyre_id and tyre_id in ledger.tyres else ""
    )
    if rim and body.rim_state in ("bent", "cracked", "scrap"):
        where = f", {body.where}" if body.where else ""
        ledger.rims_out[rim] = f"{body.rim_state}{where}"
    elif rim and body.rim_state == "sound":
        ledger.rims_out.pop(rim, None)
