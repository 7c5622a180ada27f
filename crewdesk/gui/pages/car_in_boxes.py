"""The boxes of a car that is in: found, hot, look, tread, driver; and what fills them."""

from collections.abc import Mapping, Sequence
from typing import Final

from PySide6.QtCore import QCoreApplication

from crewdesk.gui.boxes import BoxSpec, BoxWalk
from crewdesk.gui.session import Session
from crewdesk.gui.texts import LONG, bar
from crewdesk.journal.entries import Look
from crewdesk.units import CORNERS, Place

LOOKS: Final[tuple[Look, ...]] = ("moulding_lines", "grained", "even", "feathered", "torn")
POINTS: Final = ("tread_in_mm", "tread_mid_mm", "tread_out_mm")


def _tr(text: str) -> str:
    return QCoreApplication.translate("CarInPage", text)


def car_specs(
    session: Session,
    places: list[Place],
    fitted: Mapping[Place, str | None],
    stays: Mapping[Place, bool],
    *,
    reads_found: bool,
) -> list[BoxSpec]:
    """Return the boxes of a visit, in the order of the walk."""
    specs: list[BoxSpec] = []
    if reads_found:
        specs += [
            BoxSpec(f"found:{p}", "rim", _tr("{0}, rim read off the car").format(LONG[p]))
            for p in places
        ]
    answer = session.answer
    for p in places:
        tyre = session.state.tyres.get(fitted[p] or "")
        last = (
            next((r.hot_kpa for r in reversed(tyre.readings) if r.hot_kpa), None)
            if tyre
            else None
        )
        cold = tyre.cold_set_kpa if tyre is not None else None
        hint = _tr("cold was {0} bar").format(bar(cold)) if cold else ""
        specs.append(
            BoxSpec(
                f"hot:{p}",
                "pressure",
                _tr("{0}, hot, bar").format(LONG[p]),
                last=last,
                hint=hint,
            )
        )
    for p in places:
        if p in CORNERS:
            specs.append(BoxSpec(f"look:{p}", "look", _tr("{0}, look").format(LONG[p])))
    # The driver leaves with the car; the treads of what comes off stay here.
    specs.append(
        BoxSpec("driver_front", "driver", _tr("Driver, front grip −2 … +2"), thick=False)
    )
    specs.append(
        BoxSpec("driver_rear", "driver", _tr("Driver, rear grip −2 … +2"), thick=False)
    )
    for p in places:
        tyre_id = fitted[p] or ""
        if not worn(session, tyre_id):
            continue
        known = answer.estimates.get(tyre_id) if answer is not None else None
        for index, point in enumerate(POINTS):
            word = (_tr("inner"), _tr("middle"), _tr("outer"))[index]
            last = last_tread(session, tyre_id, index)
            said = _tr("last {0}").format(f"{last:.1f}") if last is not None else ""
            if known is not None:
                said += _tr(" · expected {0}").format(f"{known.tread_mm[index]:.1f}")
            specs.append(
                BoxSpec(
                    f"{point}:{p}",
                    "tread",
                    _tr("{0}, tread {1}, mm").format(LONG[p], word),
                    thick=stays[p],
                    last=last,
                    hint=said,
                )
            )
    return specs


def worn(session: Session, tyre_id: str) -> bool:
    """Return whether the tyre has run since it was last measured."""
    tyre = session.state.tyres.get(tyre_id)
    if tyre is None:
        return False
    measured = [
        r for r in tyre.readings if r.tread_mm[0] is not None or r.tread_mm[1] is not None
    ]
    place = session.place
    if any(r.place == (place.key if place else "") for r in measured):
        return True
    done = measured[-1].runs_before if measured else 0
    return len(tyre.runs) > done or tyre.place in CORNERS


def last_tread(session: Session, tyre_id: str, index: int) -> float | None:
    """Return the depth of one point read last, else that of the stock."""
    tyre = session.state.tyres.get(tyre_id)
    if tyre is None:
        return None
    for reading in reversed(tyre.readings):
        if reading.tread_mm[index] is not None:
            return reading.tread_mm[index]
    return tyre.stock.tread_mm[index]


def in_the_book(
    session: Session, places: Sequence[Place], fitted: Mapping[Place, str | None], at: str
) -> dict[str, float]:
    """Return the pressures and depths that were read at a place, by their boxes."""
    known: dict[str, float] = {}
    for p in places:
        tyre = session.state.tyres.get(fitted.get(p) or "")
        for reading in tyre.readings if tyre is not None else ():
            if reading.place != at:
                continue
            pressure = reading.hot_kpa or reading.cold_kpa
            if pressure is not None:
                known[f"hot:{p}"] = pressure
            for point, mm in zip(POINTS, reading.tread_mm, strict=True):
                if mm is not None:
                    known[f"{point}:{p}"] = mm
    return known


def prefill(
    session: Session,
    walk: BoxWalk,
    places: list[Place],
    fitted: Mapping[Place, str | None],
) -> None:
    """Show what the book already has of this visit."""
    place = session.place
    if place is None or session.state.at_place != place.key:
        return
    for key, value in in_the_book(session, places, fitted, place.key).items():
        if key in walk.boxes:
            walk.fill(key, value)
    for p in places:
        tyre = session.state.tyres.get(fitted[p] or "")
        if tyre is None or tyre.look not in LOOKS or f"look:{p}" not in walk.boxes:
            continue
        if any(r.place == place.key for r in tyre.readings):
            walk.fill(f"look:{p}", float(LOOKS.index(tyre.look) + 1))
