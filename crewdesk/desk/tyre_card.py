"""The card of one tyre: whose it is, what happened to it, and what officials will read."""

from dataclasses import dataclass
from typing import Literal

from crewdesk.desk.case import first_day, rules_of, split_code
from crewdesk.desk.state import DayState, TyreNow
from crewdesk.desk.studs import stud_words
from crewdesk.documents.bundle import EventBundle
from crewdesk.journal.entries import Incident
from crewdesk.regulations.rulebook import Rulebook
from crewdesk.units import PLACES, Place

Terms = Literal["own", "returnable", "kept", "hired"]
"""``kept``: was returnable and has been mounted, so that it is ours now."""

CORD_LENGTH_MM = 25.0
CORD_WIDTH_SHARE = 0.10
"""A cut to the cord longer than the greater of both is not allowed on open roads.

UK Road Vehicles (Construction and Use) Regulations 1986, reg. 27.
"""

SPOT_WORDS = {
    "tread": "tread",
    "shoulder_in": "inner shoulder",
    "shoulder_out": "outer shoulder",
    "wall_in": "inner sidewall",
    "wall_out": "outer sidewall",
    "bead": "bead",
    "valve": "valve",
}


@dataclass(frozen=True)
class Expected:
    """A mark that the officials should read at the next tyre check."""

    place: Place
    tyre_id: str
    mark: str
    new_count: bool
    """The tyre is counted for the first time with this fitting."""


@dataclass(frozen=True)
class DamageCard:
    """One damage with all that is known of it."""

    entry_id: str
    kind: str
    tyre_id: str
    corner: str
    where: str
    words: str
    length_mm: float | None
    depth_mm: float | None
    spot: str
    cord: bool | None
    rim_id: str
    rim_state: str
    photo: str
    by: str


@dataclass(frozen=True)
class TyreCard:
    """What the desk knows of a tyre beside its figures."""

    tyre_id: str
    mark: str
    terms: Terms
    terms_words: str
    locked: str
    """Why it is held; empty: it is not."""
    lock_code: str
    released_by: str
    damages: tuple[DamageCard, ...]
    joker_words: str
    notes: tuple[str, ...]


def expected_at_check(state: DayState) -> tuple[Expected, ...]:
    """Return the marks fitted and carried, in the order of the places."""
    if state.fitted is None:
        return ()
    earlier: set[str] = set()
    for fitting in state.fittings[:-1]:
        earlier |= {t for t in fitting.tyres.values() if t}
    return tuple(
        Expected(
            place,
            tyre_id,
            state.tyres[tyre_id].stock.mark,
            tyre_id in state.counted and tyre_id not in earlier,
        )
        for place in PLACES
        if (tyre_id := state.fitted.tyres.get(place)) and tyre_id in state.tyres
    )


def terms_of(tyre: TyreNow) -> Terms:
    """Return whose a tyre is by now: a returnable one is ours once it was on a rim."""
    if tyre.stock.terms == "returnable":
        return "kept" if tyre.ever_mounted or tyre.place or tyre.last_place else "returnable"
    return tyre.stock.terms


def terms_words(tyre: TyreNow) -> str:
    """Return the terms in words."""
    price = f" (price {tyre.stock.price:g})" if tyre.stock.price is not None else ""
    return {
        "own": "own",
        "returnable": f"goes back at full price while never mounted{price}",
        "kept": f"was returnable; mounted, so it is ours now{price}",
        "hired": f"hired{price}",
    }[terms_of(tyre)]


def damage_words(body: Incident) -> str:
    """Return a damage in words: kind, place on the tyre, size."""
    parts = [body.what.replace("_", " ")]
    if body.spot:
        parts.append(SPOT_WORDS[body.spot])
    if body.length_mm is not None:
        parts.append(f"{body.length_mm:g} mm long")
    if body.depth_mm is not None:
        parts.append(f"{body.depth_mm:g} mm deep")
    if body.cord:
        parts.append("the cord shows")
    return ", ".join(parts)


def damages_of(state: DayState, tyre_id: str) -> tuple[DamageCard, ...]:
    """Return every damage entered for a tyre."""
    return tuple(
        DamageCard(
            entry_id=key,
            kind=body.what,
            tyre_id=tyre_id,
            corner=body.corner or "",
            where=body.where,
            words=damage_words(body),
            length_mm=body.length_mm,
            depth_mm=body.depth_mm,
            spot=body.spot,
            cord=body.cord,
            rim_id=body.rim_id,
            rim_state=body.rim_state,
            photo=body.photo,
            by=body.by,
        )
        for key, body in state.incidents
        if body.tyre_off == tyre_id and body.what not in ("spin", "rim")
    )


def tyre_card(bundle: EventBundle, state: DayState, tyre_id: str) -> TyreCard:
    """Return the card of a tyre, or raise KeyError."""
    tyre = state.tyres[tyre_id]
    code, why = split_code(tyre.status_why)
    locked = why if tyre.status in ("locked", "scrapped") else ""
    released = ""
    if tyre.status == "ok" and tyre.status_why.startswith("released by "):
        released = tyre.status_why.removeprefix("released by ")
    joker = ""
    if tyre.joker_for:
        joker = (
            f"damage replacement (joker) for {tyre.joker_for}, sheet {tyre.joker_sheet}, "
            f"agreed by {tyre.approved_by}"
        )
    return TyreCard(
        tyre_id=tyre_id,
        mark=tyre.stock.mark,
        terms=terms_of(tyre),
        terms_words=terms_words(tyre),
        locked=locked,
        lock_code=code if locked else "",
        released_by=released,
        damages=damages_of(state, tyre_id),
        joker_words=joker,
        notes=_notes(bundle, state, tyre, rules_of(bundle)),
    )


def _notes(
    bundle: EventBundle, state: DayState, tyre: TyreNow, rules: Rulebook
) -> tuple[str, ...]:
    notes = []
    if studs := stud_words(bundle, state, tyre):
        notes.append(studs)
    if rules.marks_needed and tyre.stock.mark:
        notes.append(
            "Officials may test any tyre presented, spares and rain tyres included, and cut a "
            "sample of rubber (Motorsport UK, National Competition Rules 2026, ch. 8 App. 3)."
        )
    day = first_day(bundle)
    if tyre.stock.mark and day is not None:
        notes.append(f"The mark is void after the event of {day:%Y-%m-%d}.")
    return tuple(notes)
