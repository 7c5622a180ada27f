"""What must be on which rim by when, what the van takes to the zone, what goes in the boot."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from crewdesk.desk.case import local, rules_of
from crewdesk.desk.minutes import WorkTimes, times_of, work_times
from crewdesk.desk.state import DayState
from crewdesk.desk.timetable import with_our_times
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.itinerary import ChangePlace
from crewdesk.engine.result import LoopPlan
from crewdesk.regulations.rulebook import Message
from crewdesk.units import PLACES, Place


@dataclass(frozen=True)
class Mount:
    """A tyre that must go on another rim."""

    tyre_id: str
    rim_id: str
    comes_off: str
    """Tyre that is on that rim now; empty: the rim is free."""
    place: str
    """Change place before which, or at which, it is needed."""
    free_utc: datetime | None
    """From when the rim can be had; None: it lies there already."""
    by_utc: datetime
    """When the machine must be done with it."""
    machine_min: float
    in_visit: bool
    """The rim comes in on the car: the work falls into the visit."""


@dataclass(frozen=True)
class VanList:
    """What the zone crew takes along, and when it leaves."""

    place: str
    wheels: tuple[tuple[str, str], ...]
    """(tyre, rim)"""
    tools: tuple[str, ...]
    people_max: int | None
    road_km: float
    leaves_utc: datetime
    due_in_utc: datetime
    reserve: tuple[str, ...] = ()
    """Those of the wheels that nothing but a puncture before the zone would need."""


@dataclass(frozen=True)
class BootList:
    """What the crew carries in the car."""

    wheels: tuple[tuple[Place, str, str], ...]
    """(place, tyre, rim)"""
    cold_kpa: Mapping[Place, float]
    tools: tuple[str, ...]


def mounting_plan(
    bundle: EventBundle,
    state: DayState,
    plan: Sequence[LoopPlan],
    times: WorkTimes | None = None,
) -> tuple[Mount, ...]:
    """Return the tyres that change their rim for a plan, in the order they are needed.

    A tyre is ready before the car is due where its rim can be had earlier; a rim that comes in
    on the car is mounted during the visit.
    """
    t = times or times_of(bundle)
    places = {p.key: p for p in with_our_times(bundle, state).itinerary.change_places}
    rim_of = {tyre.tyre_id: tyre.rim_id for tyre in state.tyres.values() if tyre.rim_id}
    car = set(state.fitted.tyres.values()) if state.fitted is not None else set()
    out_at: datetime | None = None
    freed: dict[str, datetime | None] = {}
    mounts: list[Mount] = []
    for loop in plan:
        place = places[loop.place]
        wheels = [(loop.fitting.get(where), loop.rims.get(where, "")) for where in PLACES]
        wheels += [(wheel.tyre, wheel.rim) for wheel in loop.reserve]
        for tyre, rim in wheels:
            if not tyre or not rim or rim_of.get(tyre) == rim:
                continue
            off = next((other for other, held in rim_of.items() if held == rim), "")
            on_car = bool(off) and off in car
            mounts.append(
                Mount(
                    tyre_id=tyre,
                    rim_id=rim,
                    comes_off=off,
                    place=place.key,
                    free_utc=place.due_in_utc if on_car else freed.get(rim),
                    by_utc=place.due_out_utc if on_car else place.due_in_utc,
                    machine_min=t.machine_min / max(t.machines, 1.0),
                    in_visit=on_car,
                )
            )
            if off:
                del rim_of[off]
            rim_of[tyre] = rim
        out_at = place.due_out_utc
        for tyre in car - set(loop.fitting.values()):
            if tyre and rim_of.get(tyre):
                freed[rim_of[tyre]] = out_at
        car = set(loop.fitting.values())
    return tuple(mounts)


def mounting_messages(
    bundle: EventBundle, mounts: Sequence[Mount], now_utc: datetime
) -> tuple[Message, ...]:
    """Say where the machine has too few minutes for what a place needs (RIM-1)."""
    said = []
    for key in dict.fromkeys(mount.place for mount in mounts):
        here = [m for m in mounts if m.place == key]
        need = sum(m.machine_min for m in here)
        begin = min(max(m.free_utc or now_utc, now_utc) for m in here)
        end = max(m.by_utc for m in here)
        have = max((end - begin).total_seconds() / 60, 0.0)
        if need <= have + 1e-9:
            continue
        tyres = tuple(m.tyre_id for m in here)
        said.append(
            Message(
                "RIM-1",
                "watch",
                f"{', '.join(tyres)} must be on other rims for {key} by "
                f"{local(bundle, end):%H:%M}: {need:g} machine minutes, {have:.0f} there. "
                "Mount them before, or take tyres that are on rims.",
                {"place": key, "tyres": tyres, "needed_min": need, "allowed_min": have},
            )
        )
    return tuple(said)


def road_km(bundle: EventBundle, zone: ChangePlace) -> float:
    """Return the road kilometres from the last service before a zone to its IN."""
    ends = {p.out_ref for p in bundle.itinerary.change_places if p.kind != "zone"}
    km = 0.0
    for row in bundle.itinerary.rows:
        km += row.liaison_km or 0.0
        if row.ref == zone.in_ref:
            return km
        if row.ref in ends:
            km = 0.0
    return km


def van_leaves(
    bundle: EventBundle, state: DayState, zone: ChangePlace, times: WorkTimes | None = None
) -> datetime:
    """Return when the zone crew must leave the last service to be there before the car."""
    t = times or times_of(bundle)
    moved = with_our_times(bundle, state).itinerary.place(zone.key)
    minutes = round(60 * road_km(bundle, zone) / t.van_kmh + t.van_margin_min)
    return moved.due_in_utc - timedelta(minutes=minutes)


def van_list(
    bundle: EventBundle,
    state: DayState,
    loop: LoopPlan,
    *,
    leaves_utc: datetime | None = None,
    times: WorkTimes | None = None,
) -> VanList:
    """Return what goes to a zone and when the van leaves.

    Unless the crew set the minute: the road from the last service at the van's average, and a
    margin before the car is due.

    Raises
    ------
    ValueError
        Where the loop does not begin in a tyre zone.
    """
    t = times or times_of(bundle)
    zone = with_our_times(bundle, state).itinerary.place(loop.place)
    if zone.kind != "zone":
        raise ValueError(f"{loop.place} is no tyre zone")
    rims = {tyre: loop.rims.get(p, "") for p, tyre in loop.fitting.items() if tyre}
    rims |= loop.bring_rims
    return VanList(
        place=zone.key,
        wheels=tuple(
            (tyre, rims.get(tyre) or (state.tyres[tyre].rim_id if tyre in state.tyres else ""))
            for tyre in loop.bring
        ),
        tools=t.zone_tools,
        people_max=rules_of(bundle).people_max.get("zone"),
        road_km=round(road_km(bundle, zone), 2),
        leaves_utc=leaves_utc or van_leaves(bundle, state, zone, t),
        due_in_utc=zone.due_in_utc,
        reserve=tuple(wheel.tyre for wheel in loop.reserve),
    )


def boot_list(state: DayState, loop: LoopPlan, times: WorkTimes | None = None) -> BootList:
    """Return what is carried on a loop: wheels, their cold pressures, tools."""
    carried: tuple[Place, ...] = ("SP1", "SP2")
    wheels = tuple(
        (place, tyre, loop.rims.get(place) or state.tyres[tyre].rim_id)
        for place in carried
        if (tyre := loop.fitting.get(place)) and tyre in state.tyres
    )
    return BootList(
        wheels=wheels,
        cold_kpa={p: loop.cold_pressure_kpa[p] for p in carried if p in loop.cold_pressure_kpa},
        tools=(times or work_times()).carried_tools,
    )
