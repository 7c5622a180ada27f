"""The fitting sheet for the mechanics and the car card for the co-driver, as plain data."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from zoneinfo import ZoneInfo

from crewdesk.desk.answer import Answer
from crewdesk.desk.case import local, models_of
from crewdesk.desk.cautions import cautions_for
from crewdesk.desk.models import model_of
from crewdesk.desk.state import DayState
from crewdesk.desk.targets import target_of
from crewdesk.desk.timetable import with_our_times
from crewdesk.desk.wheels_plan import Mount, VanList, boot_list, mounting_plan, van_list
from crewdesk.desk.words import CORNER_WORDS, bar_words, headline, wheel_name
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.itinerary import ChangePlace, Stage
from crewdesk.engine.result import LoopPlan
from crewdesk.physics.inflation import FLOOR_KPA, pressure_kind
from crewdesk.physics.surface import stage_roughness
from crewdesk.units import CORNERS, PLACES, Place

MOUNT_MIN = 5.0
"""Machine minutes to put a tyre on another rim. Common practice, no source."""


@dataclass(frozen=True)
class TorqueLine:
    """A wheel whose nuts come first."""

    corner: Place
    wheel: str
    why: str


@dataclass(frozen=True)
class PickLine:
    """A wheel to fetch."""

    wheel: str
    tyre_id: str
    code: str
    compound: str
    stack: str
    to: Place
    machine_min: float
    cold_now: str
    cold_kpa: float | None


@dataclass(frozen=True)
class FitLine:
    """A corner or a carried place: what comes off, what goes on."""

    place: Place
    off: str
    on: str
    torque: bool


@dataclass(frozen=True)
class PressureLine:
    """The three numbers of an axle, in bar."""

    axle: str
    cold_now: str
    set_at_c: float | None
    hot: str
    not_below: str
    floor_binds: bool


@dataclass(frozen=True)
class CardLine:
    """A wheel on the car card."""

    place: Place
    wheel: str
    code: str
    compound: str
    cold_now: str


@dataclass(frozen=True)
class Sheet:
    """One page for the crew chief, with the car card at its foot."""

    number: int
    replaces: int | None
    place: str
    title: str
    in_local: datetime
    out_local: datetime
    made_local: datetime
    headline: str
    torque_first: tuple[TorqueLine, ...]
    pick: tuple[PickLine, ...]
    fit: tuple[FitLine, ...]
    pressures: tuple[PressureLine, ...]
    short_call: str
    bring: tuple[str, ...]
    card: tuple[CardLine, ...]
    card_hot: str
    """As "hot 2.35 bar at the stop line of SS5"."""
    card_not_below: str
    notes: tuple[str, ...] = ()
    boot_tools: tuple[str, ...] = ()
    """Fixed before leaving: later work uses carried things only."""
    mounts: tuple[Mount, ...] = ()
    """Tyres that must go on other rims for this and every later place."""
    zone: tzinfo = UTC
    """The event's, for the times of mounts and van."""
    van: VanList | None = None
    """What the van takes to the zone at the end of the loop ahead."""
    cautions: tuple[str, ...] = ()
    card_cautions: tuple[str, ...] = ()


def make_sheet(
    bundle: EventBundle,
    state: DayState,
    answer: Answer,
    now_utc: datetime,
    *,
    number: int = 1,
    replaces: int | None = None,
    which: str = "full",
) -> Sheet | None:
    """Return the sheet of a call, or None where there is no fitting.

    ``which`` is ``full`` or ``short``.
    """
    result = answer.result
    if not result.plan:
        return None
    place = with_our_times(bundle, state).itinerary.place(answer.place)
    loop = result.plan[0]
    if which == "short" and result.short_call is not None:
        loop = result.short_call.plan
    car = state.fitted.tyres if state.fitted is not None else {}
    rims = loop.rims
    stages = {stage.ref: stage for stage in bundle.itinerary.stages}
    ahead = [stages[ref] for ref in place.stages if ref in stages]
    longest = max(ahead, key=lambda s: (s.km, -s.index)) if ahead else None
    hot_kpa = loop.hot_target_kpa or (target_of(longest) if longest else 0.0)
    hot = bar_words(hot_kpa) if hot_kpa else ""
    where = f" at the stop line of {longest.ref}" if longest is not None else ""
    column = answer.conditions.keys
    set_at = (
        round(float(answer.conditions.air_mean_c[answer.conditions.index(place.key)]))
        if place.key in column
        else None
    )
    floor = not_below_kpa(bundle, state, loop, longest)
    return Sheet(
        number=number,
        replaces=replaces,
        place=place.key,
        title=_title(place),
        in_local=local(bundle, place.due_in_utc),
        out_local=local(bundle, place.due_out_utc),
        made_local=local(bundle, now_utc),
        headline=headline(state, loop.fitting),
        torque_first=_torque_first(state, car),
        pick=_pick(state, loop, car),
        fit=_fit(state, loop, car),
        pressures=_pressures(loop, set_at, hot, floor),
        short_call=_short(state, answer),
        bring=loop.bring,
        card=tuple(
            CardLine(
                p,
                wheel_name(state, tyre, rims, p),
                state.tyres[tyre].stock.code,
                state.tyres[tyre].stock.compound,
                bar_words(loop.cold_pressure_kpa[p]) if p in loop.cold_pressure_kpa else "",
            )
            for p in PLACES
            if (tyre := loop.fitting.get(p)) and tyre in state.tyres
        ),
        card_hot=f"hot {hot}{where}" if hot else "",
        card_not_below=f"do not go below {bar_words(floor)}",
        notes=tuple(m for m in answer.call.get("messages", ())),
        boot_tools=boot_list(state, loop).tools,
        mounts=mounting_plan(bundle, state, result.plan),
        zone=ZoneInfo(bundle.event.zone),
        van=_van(bundle, state, result.plan),
        cautions=tuple(one.text for one in cautions_for("sheet", bundle)),
        card_cautions=tuple(one.text for one in cautions_for("card", bundle)),
    )


def _van(bundle: EventBundle, state: DayState, plan: tuple[LoopPlan, ...]) -> VanList | None:
    """Return what goes to the zone at the end of the loop ahead; None: it ends elsewhere."""
    zones = {p.key for p in bundle.itinerary.change_places if p.kind == "zone"}
    if len(plan) < 2 or plan[1].place not in zones:
        return None
    return van_list(bundle, state, plan[1])


def _title(place: ChangePlace) -> str:
    word = {"service": "Service", "flexi": "Flexi service", "zone": "Tyre zone"}.get(place.kind)
    return f"{word} {place.key}" if word else "Start"


def not_below_kpa(
    bundle: EventBundle, state: DayState, loop: LoopPlan, longest: Stage | None
) -> float:
    """Return the cold pressure that is never gone below: the maker's, else the usual one."""
    models = models_of(bundle)
    own = [
        least
        for tyre in loop.fitting.values()
        if tyre
        and tyre in state.tyres
        and (least := model_of(state.tyres[tyre].stock, models).min_cold_kpa) is not None
    ]
    if own:
        return max(own)
    if longest is None:
        surfaces = {stage.surface for stage in bundle.itinerary.stages}
        return max(FLOOR_KPA[pressure_kind(surface, 0.0)] for surface in surfaces or {"gravel"})
    rough = stage_roughness(
        longest.surface, longest.roughness, longest.pass_no, broken=longest.broken
    )
    return float(FLOOR_KPA[pressure_kind(longest.surface, float(rough))])


def _torque_first(state: DayState, car: Mapping[Place, str | None]) -> tuple[TorqueLine, ...]:
    """Return the wheels put on away from a change place and not ticked since."""
    places = {fitting.place for fitting in state.fittings}
    return tuple(
        TorqueLine(
            due.corner,
            wheel_name(state, due.tyre_id, {}, due.corner),
            f"put on the road, {due.since}",
        )
        for due in state.torque_due
        if due.since not in places and car.get(due.corner) == due.tyre_id
    )


def _pick(
    state: DayState, loop: LoopPlan, car: Mapping[Place, str | None]
) -> tuple[PickLine, ...]:
    lines = []
    for place in PLACES:
        tyre_id = loop.fitting.get(place)
        if not tyre_id or car.get(place) == tyre_id or tyre_id not in state.tyres:
            continue
        tyre = state.tyres[tyre_id]
        rim = loop.rims.get(place, "")
        moved = bool(rim) and rim != tyre.rim_id
        kpa = loop.cold_pressure_kpa.get(place)
        on_car = next((p for p, t in car.items() if t == tyre_id), None)
        stack = f"on the car, {_said(on_car)}" if on_car else tyre.stock.stack
        lines.append(
            PickLine(
                wheel=wheel_name(state, tyre_id, loop.rims, place),
                tyre_id=tyre_id,
                code=tyre.stock.code,
                compound=tyre.stock.compound,
                stack=stack or ("tyre zone" if tyre.in_zone else "stock"),
                to=place,
                machine_min=MOUNT_MIN if moved else 0.0,
                cold_now=bar_words(kpa) if kpa is not None else "",
                cold_kpa=kpa,
            )
        )
    return tuple(lines)


def _fit(
    state: DayState, loop: LoopPlan, car: Mapping[Place, str | None]
) -> tuple[FitLine, ...]:
    lines = []
    for place in PLACES:
        off, on = car.get(place), loop.fitting.get(place)
        if off == on:
            continue
        lines.append(
            FitLine(
                place=place,
                off=wheel_name(state, off, {}, place),
                on=wheel_name(state, on, loop.rims, place),
                torque=place in CORNERS,
            )
        )
    return tuple(lines)


def _pressures(
    loop: LoopPlan, set_at_c: float | None, hot: str, floor_kpa: float
) -> tuple[PressureLine, ...]:
    lines = []
    groups: tuple[tuple[str, Place], ...] = (
        ("front", "FL"),
        ("rear", "RL"),
        ("carried", "SP1"),
    )
    for axle, place in groups:
        kpa = loop.cold_pressure_kpa.get(place)
        if kpa is None:
            continue
        lines.append(
            PressureLine(
                axle=axle,
                cold_now=bar_words(kpa),
                set_at_c=set_at_c,
                hot=hot,
                not_below=bar_words(floor_kpa),
                floor_binds=bool(loop.floor_binds.get(place)),
            )
        )
    return tuple(lines)


def _said(place: Place) -> str:
    """Return a place as the mechanics say it."""
    return place if place in CORNERS else CORNER_WORDS[place]


def _short(state: DayState, answer: Answer) -> str:
    short = answer.result.short_call
    if short is None:
        return ""
    car = state.fitted.tyres if state.fitted is not None else {}
    parts = [
        f"{_said(place)} {wheel_name(state, tyre, short.plan.rims, place)}"
        for place in PLACES
        if (tyre := short.plan.fitting.get(place)) and car.get(place) != tyre
    ]
    what = ", ".join(parts) if parts else "leave everything on"
    return f"{short.minutes:g} min, +{short.loss_s:.1f} s: {what}, nothing else"
