"""What the six slots show, made from the state of the day; no estimates are made here."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final, Literal

from PySide6.QtCore import QCoreApplication

from crewdesk.gui.badge import badge_slots
from crewdesk.gui.slots import SlotView
from crewdesk.gui.texts import bar, least_point
from crewdesk.gui.theme import BadgeSlot
from crewdesk.units import PLACES, Place

if TYPE_CHECKING:
    from crewdesk.desk.answer import Answer, Estimate
    from crewdesk.desk.state import DayState, TyreNow
    from crewdesk.documents.bundle import EventBundle


_CODE: Final = re.compile(r"^[A-Z]{3,4}-\d+:?\s*")


def _tr(text: str) -> str:
    return QCoreApplication.translate("Slots", text)


def badges(bundle: "EventBundle") -> dict[str, BadgeSlot]:
    """Return the badge of each compound of the event's stock."""
    return badge_slots(bundle.stock.tyres)


def badge_of(bundle: "EventBundle", tyre: "TyreNow") -> BadgeSlot:
    """Return the badge of one tyre."""
    return badges(bundle)[f"{tyre.stock.use}/{tyre.stock.compound}"]


def why_words(tyre: "TyreNow") -> str:
    """Return why a tyre may not be fitted, without the code of the rule."""
    return _CODE.sub("", tyre.status_why) or tyre.status


def tread_text(tyre: "TyreNow", estimates: "Mapping[str, Estimate]") -> str:
    """Return the smallest tread and its point, with ≈ until it is measured.

    Where it has run since and nobody has reckoned it yet, it is what it was.
    """
    known = estimates.get(tyre.tyre_id)
    if known is not None:
        least = least_point(known.tread_mm)
        mark = "" if known.measured else "≈ "
        return f"{mark}{_depth(least)}" if least else ""
    for reading in reversed(tyre.readings):
        least = least_point(reading.tread_mm)
        if least is not None:
            mark = "" if reading.runs_before >= len(tyre.runs) else _tr("was ")
            return f"{mark}{_depth(least)}"
    least = least_point(tyre.stock.tread_mm)
    mark = _tr("was ") if tyre.runs else ""
    return f"{mark}{_depth(least)}" if least else ""


def _depth(least: tuple[float, str]) -> str:
    """Return a depth with its unit and its point; ``in`` behind a bare figure says inches."""
    return f"{least[0]:.1f} mm {least[1]}"


@dataclass(frozen=True)
class Planned:
    """A fitting that is meant: of a call, or of what the crew decided."""

    fitting: Mapping[Place, str | None]
    cold_kpa: Mapping[Place, float]
    rims: Mapping[Place, str] = field(default_factory=dict)
    """Rims that tyres are to be put on for it."""


def planned_of(answer: "Answer | None", state: "DayState") -> Planned | None:
    """Return the call in use, else the call proposed."""
    place = state.at_place or state.next_place
    used = state.call_used
    first = None
    if answer is not None and answer.result.plan and answer.place == place:
        first = answer.result.plan[0]
    if used is not None and used.place == place:
        same = first is not None and not differing(used.fitting, first.fitting)
        return Planned(used.fitting, used.cold_kpa, first.rims if first and same else {})
    if first is None:
        return None
    return Planned(first.fitting, first.cold_pressure_kpa, first.rims)


def _view(
    bundle: "EventBundle",
    state: "DayState",
    estimates: "Mapping[str, Estimate]",
    place: Place,
    tyre_id: str | None,
    *,
    cold_kpa: float | None,
    line: str,
    changed: bool = False,
    marked: bool = False,
) -> SlotView:
    tyre = state.tyres.get(tyre_id) if tyre_id else None
    if tyre is None:
        return SlotView(place)
    return SlotView(
        place=place,
        rim_id=tyre.rim_id,
        tyre_id=tyre.tyre_id,
        badge=badge_of(bundle, tyre),
        code=tyre.stock.code,
        compound=tyre.stock.compound,
        tread=tread_text(tyre, estimates),
        cold=bar(cold_kpa) if cold_kpa is not None else "",
        line=line,
        changed=changed,
        marked=marked,
    )


def car_views(
    bundle: "EventBundle", state: "DayState", estimates: "Mapping[str, Estimate]"
) -> dict[Place, SlotView]:
    """Return what is on the car now."""
    if state.fitted is None:
        return {}
    due = {t.tyre_id for t in state.torque_due}
    views: dict[Place, SlotView] = {}
    for place in PLACES:
        tyre_id = state.fitted.tyres.get(place)
        line, marked = "", False
        tyre = state.tyres.get(tyre_id) if tyre_id else None
        if tyre is not None and tyre.status != "ok":
            line, marked = why_words(tyre).partition(",")[0], True
        elif tyre_id in due:
            line, marked = "torque due", True
        elif tyre is not None:
            line = f"{tyre.event_km:.0f} km run"
        cold = tyre.cold_set_kpa if tyre is not None else None
        views[place] = _view(
            bundle, state, estimates, place, tyre_id, cold_kpa=cold, line=line, marked=marked
        )
    return views


def plan_views(
    bundle: "EventBundle",
    state: "DayState",
    estimates: "Mapping[str, Estimate]",
    planned: Planned,
) -> dict[Place, SlotView]:
    """Return what is planned, with what comes off for it."""
    on_car = state.fitted.tyres if state.fitted is not None else {}
    views: dict[Place, SlotView] = {}
    for place in PLACES:
        tyre_id = planned.fitting.get(place)
        before = on_car.get(place)
        changed = tyre_id != before
        tyre = state.tyres.get(tyre_id) if tyre_id else None
        marked = tyre is not None and tyre.status != "ok"
        if marked and tyre is not None:
            line = why_words(tyre).partition(",")[0]
        elif not changed:
            line = "stays"
        elif before:
            line = (
                f"off {state.tyres[before].rim_id or before}" if before in state.tyres else ""
            )
        else:
            line = "on"
        view = _view(
            bundle,
            state,
            estimates,
            place,
            tyre_id,
            cold_kpa=planned.cold_kpa.get(place),
            line=line,
            changed=changed and tyre_id is not None,
            marked=marked,
        )
        rim = planned.rims.get(place, view.rim_id)
        views[place] = replace(view, rim_id=rim) if view.tyre_id else view
    return views


def shown_slots(
    bundle: "EventBundle",
    state: "DayState",
    answer: "Answer | None",
    planning: bool,
    own: Planned | None = None,
) -> tuple[Literal["planned", "proposed", "moved", "now"], dict[Place, SlotView]]:
    """Return what the slots are to show: the plan, or what is on the car."""
    estimates = answer.estimates if answer is not None else {}
    planned = own or (planned_of(answer, state) if planning else None)
    if planned is not None:
        return "planned", plan_views(bundle, state, estimates, planned)
    if state.fitted is not None and state.fitted.source in ("incident", "road_change"):
        return "moved", car_views(bundle, state, estimates)
    unread = state.fitted is not None and not state.fitted.read_back
    return "proposed" if unread else "now", car_views(bundle, state, estimates)


def slots_title(what: str, *, running: bool) -> str:
    """Return which state of the car the slots show, in words."""
    titles = {
        "planned": _tr("Planned"),
        "proposed": _tr("As proposed, not checked"),
        "moved": _tr("Changed on the road"),
        "now": _tr("As it will come in") if running else _tr("On the car now"),
    }
    return titles[what]


def wheels_off(state: "DayState") -> tuple[str, ...]:
    """Return the tyres that came off at the last change place and are left behind."""
    if len(state.fittings) < 2:
        return ()
    before, last = state.fittings[-2:]
    on = {t for t in last.tyres.values() if t}
    return tuple(t for t in before.tyres.values() if t and t not in on)


def differing(
    one: Mapping[Place, str | None], other: Mapping[Place, str | None]
) -> tuple[Place, ...]:
    """Return the places where two fittings differ."""
    return tuple(p for p in PLACES if (one.get(p) or None) != (other.get(p) or None))
