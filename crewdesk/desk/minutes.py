"""The minutes that work on the wheels needs, and what can be done in those that are left."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from functools import cache
from math import ceil
from typing import Any

from crewdesk.assets import shipped
from crewdesk.desk.case import rules_of
from crewdesk.desk.state import DayState
from crewdesk.desk.timetable import penalty, with_our_times
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.itinerary import ChangePlace
from crewdesk.units import CORNERS, PLACES, Place

_EPS = 1e-9


@dataclass(frozen=True)
class WorkTimes:
    """How long the crew takes; every number may be put right."""

    stands_min: float = 1.0
    wheel_min: float = 3.0
    """One person, one wheel off and one on."""
    torque_min: float = 0.25
    tread_min: float = 0.5
    pressure_min: float = 0.4
    cross_min: float = 1.0
    machine_min: float = 5.0
    machines: float = 1.0
    people: float = 4.0
    people_one_day: float = 2.0
    van_kmh: float = 45.0
    van_margin_min: float = 15.0
    carried_tools: tuple[str, ...] = ()
    zone_tools: tuple[str, ...] = ()
    sources: Mapping[str, str] = field(default_factory=dict)


@cache
def work_times() -> WorkTimes:
    """Return the times that ship with the program."""
    path = shipped("resources") / "regulations" / "work_times.json"
    return _from_data(json.loads(path.read_text(encoding="utf-8")))


def _from_data(raw: Mapping[str, Any]) -> WorkTimes:
    times = raw["times"]
    return WorkTimes(
        **{name: float(one["value"]) for name, one in times.items()},
        carried_tools=tuple(raw["tools"]["carried"]),
        zone_tools=tuple(raw["tools"]["zone"]),
        sources={name: one["source"] for name, one in times.items()},
    )


def times_with(own: Mapping[str, float], times: WorkTimes | None = None) -> WorkTimes:
    """Return the times with some of the crew's own.

    Raises
    ------
    ValueError
        Where a name is unknown or a time is not over 0.
    """
    base = times or work_times()
    known = {f.name for f in fields(WorkTimes) if isinstance(getattr(base, f.name), float)}
    for name, value in own.items():
        if name not in known:
            raise ValueError(f"there is no time named {name}")
        if not value > 0:
            raise ValueError(f"{name} must be over 0, not {value}")
    sources = {**base.sources, **dict.fromkeys(own, "the crew's own")}
    changes: dict[str, Any] = {**own, "sources": sources}
    return replace(base, **changes)


def times_of(bundle: EventBundle) -> WorkTimes:
    """Return the times of this crew: those that ship, under its own for the event."""
    return times_with(bundle.event.settings.work_times.given())


@dataclass(frozen=True)
class Work:
    """What is done to the wheels at a place."""

    wheels: int
    """Corners whose wheel comes off."""
    crossed: int = 0
    """Of these, wheels that go to another corner."""
    torque: int = 0
    """Further wheels that are only torqued."""
    tread: int = 0
    """Tyres measured while the car stands."""
    pressures: int = 0
    """Wheels whose pressure is set."""
    machine: int = 0
    """Tyres mounted while the car stands, since their rims came in on it."""

    @classmethod
    def full(cls, car: Mapping[Place, str | None]) -> "Work":
        """Return a full service of the wheels: all off, measured, the rears turned about."""
        aboard = sum(bool(tyre) for tyre in car.values())
        return cls(wheels=4, crossed=2, tread=4, pressures=max(aboard, 4))


def work_of(
    before: Mapping[Place, str | None],
    after: Mapping[Place, str | None],
    *,
    tread: int = 0,
    machine: int = 0,
) -> Work:
    """Return the work from one fitting to another."""
    changed = [c for c in CORNERS if after.get(c) != before.get(c) and after.get(c)]
    on_corner = {before.get(c) for c in CORNERS}
    crossed = sum(after.get(c) in on_corner for c in changed)
    was = {tyre for tyre in before.values() if tyre}
    spares = sum(
        bool(after.get(p)) and after.get(p) not in was for p in PLACES if p not in CORNERS
    )
    return Work(
        wheels=len(changed),
        crossed=crossed,
        tread=tread,
        pressures=len(changed) + spares,
        machine=machine,
    )


def work_min(work: Work, people: int, times: WorkTimes | None = None) -> int:
    """Return the whole minutes that work needs, from IN to OUT.

    Each person works at one wheel at a time; what is left over of a minute counts whole.
    """
    t = times or work_times()
    hands = max(min(people, 4), 1)
    rounds = ceil(work.wheels / hands)
    total = (
        t.stands_min * bool(work.wheels)
        + t.wheel_min * rounds
        + t.torque_min * (work.wheels + work.torque)
        + t.tread_min * work.tread
        + t.pressure_min * work.pressures
        + t.cross_min * work.crossed
    )
    if work.machine:
        queue = t.machine_min * ceil(work.machine / max(t.machines, 1.0))
        total = max(total, t.stands_min + t.wheel_min + queue + t.torque_min * work.wheels)
    return ceil(total - _EPS)


def short_wheels(
    minutes_left: float, people: int, times: WorkTimes | None = None, *, spares: int = 1
) -> int:
    """Return the most wheels that can be changed in the minutes left, with fresh spares."""
    for wheels in (4, 3, 2, 1):
        if work_min(Work(wheels, pressures=wheels + spares), people, times) <= minutes_left:
            return wheels
    return 0


def people_at(
    bundle: EventBundle,
    place: ChangePlace,
    people: int | None = None,
    times: WorkTimes | None = None,
) -> int:
    """Return how many people work at the car: as given or usual, inside the rule's limit.

    Given is what is asked for, else what the crew keeps with the event.
    """
    t = times or times_of(bundle)
    usual = t.people if len(bundle.event.legs) > 1 else t.people_one_day
    kept = bundle.event.settings.people_at_car
    given = kept if people is None else people
    wanted = int(usual) if given is None else given
    limits = rules_of(bundle).people_max
    most = limits.get("zone" if place.kind == "zone" else "service")
    if place.remote and limits.get("remote") is not None:
        most = limits["remote"]
    return wanted if most is None else min(wanted, most)


def minutes_left(bundle: EventBundle, state: DayState, place: ChangePlace) -> float:
    """Return the minutes of a visit, less what our lateness has eaten of them."""
    moved = with_our_times(bundle, state).itinerary.place(place.key)
    return max(moved.minutes, 0.0)


@dataclass(frozen=True)
class LateWork:
    """Whether work fits into a visit, and what it costs if not."""

    needed_min: int
    allowed_min: float
    late_min: int
    cost_s: float
    people: int

    @property
    def fits(self) -> bool:
        """Whether the car can leave on time."""
        return self.late_min == 0


def late_work(
    bundle: EventBundle,
    state: DayState,
    place: ChangePlace,
    work: Work,
    people: int | None = None,
    times: WorkTimes | None = None,
) -> LateWork:
    """Return how work compares with the minutes of a visit (PLC-3)."""
    t = times or times_of(bundle)
    hands = people_at(bundle, place, people, t)
    need = work_min(work, hands, t)
    have = minutes_left(bundle, state, place)
    late, cost_s = penalty(rules_of(bundle), max(need - have, 0.0))
    return LateWork(need, have, late, cost_s, hands)
