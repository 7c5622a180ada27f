"""What was on the car over which stretch of the event, and the kilometres that follow."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from crewdesk.desk.course import END_OF_ROW, Position
from crewdesk.desk.state import Run
from crewdesk.units import CORNERS, PLACES, Corner, Place

Car = Mapping[Place, str | None]


@dataclass(frozen=True)
class Spell:
    """The wheels on the car from a position on, until the next spell."""

    since: Position
    car: Car
    entry_id: str
    kind: str
    """fitting, as_found, road_change or incident."""
    place: str = ""
    """Change place where it began, if it began at one."""
    pool: frozenset[str] = frozenset()
    """Tyres of which nobody knows which ones ran: their kilometres are given to none."""
    doubt: Car | None = None
    """What was found at the end where that differs and nobody said since when."""


@dataclass(frozen=True)
class StageDone:
    """A stage that was driven, or the part of it that was."""

    ref: str
    row: int
    km: float


def full_car(fitting: Mapping[Place, str | None]) -> dict[Place, str | None]:
    """Return a fitting with every place in it, carried wheels without holes."""
    carried = [t for t in (fitting.get("SP1"), fitting.get("SP2")) if t]
    car: dict[Place, str | None] = {corner: fitting.get(corner) or None for corner in CORNERS}
    car["SP1"] = carried[0] if carried else None
    car["SP2"] = carried[1] if len(carried) > 1 else None
    return car


def carried_of(car: Car) -> list[str]:
    """Return the carried tyres."""
    return [t for t in (car.get("SP1"), car.get("SP2")) if t]


def corner_of(car: Car, tyre_id: str) -> Corner | None:
    """Return the corner a tyre stands on, or None."""
    return next((corner for corner in CORNERS if car.get(corner) == tyre_id), None)


def place_of(car: Car, tyre_id: str) -> Place | None:
    """Return the place of a tyre on the car, or None."""
    return next((place for place in PLACES if car.get(place) == tyre_id), None)


def same_car(one: Car, other: Car) -> bool:
    """Say whether two cars carry the same; the order of the carried wheels is no matter."""
    return all(one.get(c) == other.get(c) for c in CORNERS) and set(carried_of(one)) == set(
        carried_of(other)
    )


def changed_corners(before: Car | None, after: Car) -> list[Corner]:
    """Return the corners with another tyre than before."""
    return [c for c in CORNERS if after.get(c) and (before or {}).get(c) != after.get(c)]


def swapped(car: Car, corner: Corner, tyre_on: str) -> dict[Place, str | None]:
    """Return the car after a carried wheel went onto a corner and that one into the boot."""
    new = dict(car)
    off = car.get(corner)
    taken_from = place_of(car, tyre_on)
    new[corner] = tyre_on
    if taken_from is not None:
        new[taken_from] = off
    elif off and not new.get("SP1"):
        new["SP1"] = off
    elif off and not new.get("SP2"):
        new["SP2"] = off
    return full_car(new)


def moved_by_hand(car: Car, given: Mapping[Place, str | None]) -> dict[Place, str | None]:
    """Return the car after the crew moved wheels; what was not named goes into the boot."""
    new = {place: car.get(place) for place in PLACES}
    named = {tyre for tyre in given.values() if tyre}
    for place in PLACES:
        if place not in given and new[place] in named:
            new[place] = None
    new.update(given)
    homeless = [
        tyre
        for place in PLACES
        if (tyre := car.get(place)) and place_of(new, tyre) is None and tyre not in named
    ]
    for tyre in homeless:
        for spare in ("SP1", "SP2"):
            if not new.get(spare) and spare not in given:
                new[spare] = tyre
                break
    return full_car(new)


def car_at(spells: Sequence[Spell], position: Position) -> Spell | None:
    """Return the spell in force at a position."""
    found = None
    for spell in spells:
        if spell.since <= position:
            found = spell
    return found


def insert_spell(spells: list[Spell], new: Spell) -> None:
    """Put a spell in its place; one that began at the same position gives way."""
    spells[:] = [s for s in spells if s.since != new.since]
    spells.append(new)
    spells.sort(key=lambda s: s.since)


def runs_by_tyre(
    spells: Sequence[Spell], stages: Sequence[StageDone]
) -> dict[str, list[tuple[int, Run]]]:
    """Return the stage kilometres of each tyre, with the row of the stage beside each run.

    Where the fitting changed on a stage, its kilometres are cut there. A tyre of a pool gets
    none; a tyre that was found elsewhere than booked gets its kilometres without a corner;
    one that was on the car for an unknown part of the stretch gets a share of them.
    """
    runs: dict[str, list[tuple[int, Run]]] = {}
    pieces: list[tuple[Spell, StageDone, float]] = []
    for stage in stages:
        start = (stage.row, 0.0)
        end = (stage.row, stage.km)
        marks = [s for s in spells if start < s.since < end]
        first = car_at(spells, start)
        edges = [(first, 0.0), *((s, s.since[1]) for s in marks)]
        for index, (spell, begins_km) in enumerate(edges):
            ends_km = edges[index + 1][1] if index + 1 < len(edges) else stage.km
            if spell is not None and ends_km > begins_km:
                pieces.append((spell, stage, ends_km - begins_km))
    doubtful: dict[int, list[int]] = {}
    for number, (spell, _, _) in enumerate(pieces):
        if spell.doubt is not None:
            doubtful.setdefault(id(spell), []).append(number)
    for number, (spell, stage, km) in enumerate(pieces):
        for tyre, place, split in _shares(spell, doubtful, number):
            mine = runs.setdefault(tyre, [])
            last = mine[-1][1] if mine else None
            same = (stage.ref, place, split)
            if last is not None and (last.stage, last.place, last.split) == same:
                mine[-1] = (stage.row, Run(stage.ref, place, last.km + km, split))
            else:
                mine.append((stage.row, Run(stage.ref, place, km, split)))
    return runs


def _shares(
    spell: Spell, doubtful: Mapping[int, list[int]], number: int
) -> list[tuple[str, Place | None, float]]:
    """Return who ran one piece: tyre, corner if known, share of the kilometres."""
    shares: list[tuple[str, Place | None, float]] = []
    found = spell.doubt
    if found is None:
        for corner in CORNERS:
            tyre = spell.car.get(corner)
            if tyre and tyre not in spell.pool:
                shares.append((tyre, corner, 1.0))
        return shares
    numbers = doubtful[id(spell)]
    # The change may lie before the first piece, after the last one, or between any two:
    # all alike, so the booked tyre ran piece i of n with (n - i + 1) chances in n + 1.
    still_booked = 1.0 - (numbers.index(number) + 1) / (len(numbers) + 1)
    booked = {t: c for c in CORNERS if (t := spell.car.get(c))}
    as_found = {t: c for c in CORNERS if (t := found.get(c))}
    for tyre in dict.fromkeys([*booked, *as_found]):
        if tyre in spell.pool:
            continue
        before, after = booked.get(tyre), as_found.get(tyre)
        if before is not None and after is not None:
            shares.append((tyre, before if before == after else None, 1.0))
        else:
            shares.append((tyre, None, still_booked if before else 1.0 - still_booked))
    return shares


def behind(row: int) -> Position:
    """Return the position just behind a stage."""
    return (row, END_OF_ROW)
