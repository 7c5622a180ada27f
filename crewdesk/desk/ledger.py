"""The working sheet of a replay: facts as the entries gave them, before they are summed up."""

from collections.abc import Mapping
from copy import copy
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from crewdesk.desk.case import rules_of
from crewdesk.desk.course import Course, Position
from crewdesk.desk.spells import Car, Spell, car_at
from crewdesk.desk.state import (
    Bulletin,
    ControlSeen,
    DriverSaid,
    FittingNow,
    OpenQuestion,
    Torque,
    TyreNow,
)
from crewdesk.documents.bundle import EventBundle
from crewdesk.journal.entries import CallUsed, DocumentsChanged, Incident, Report
from crewdesk.regulations.rulebook import Rulebook
from crewdesk.units import Corner

START: Position = (-1, 0.0)
"""Before the first row."""


@dataclass(frozen=True)
class OnStage:
    """Where the car left the stages and where it came back."""

    left: Position
    back_row: int | None = None


@dataclass
class Ledger:
    """Everything the fold has gathered; only a fold writes it, and only on its own copy."""

    bundle: EventBundle
    course: Course
    tyres: dict[str, TyreNow]
    spells: list[Spell] = field(default_factory=list)
    passed: Position = START
    """The furthest position the car is known to have passed."""
    km_driven: dict[str, float] = field(default_factory=dict)
    stage_times: dict[str, float] = field(default_factory=dict)
    cancelled: list[str] = field(default_factory=list)
    off_road: list[OnStage] = field(default_factory=list)
    fittings: list[FittingNow] = field(default_factory=list)
    at_place: str | None = None
    done_place: str | None = None
    """The last change place whose fitting was made."""
    phase: str = "before_in"
    reports: list[Report] = field(default_factory=list)
    incidents: dict[str, tuple[Incident, Position]] = field(default_factory=dict)
    questions: dict[str, OpenQuestion] = field(default_factory=dict)
    call_used: CallUsed | None = None
    torque: dict[Corner, Torque] = field(default_factory=dict)
    overrides: list[Mapping[str, str]] = field(default_factory=list)
    rims_out: dict[str, str] = field(default_factory=dict)
    delays_min: dict[str, float] = field(default_factory=dict)
    notes: list[tuple[datetime, str]] = field(default_factory=list)
    driver_words: list[DriverSaid] = field(default_factory=list)
    reading_at: dict[str, Position] = field(default_factory=dict)
    """Position of the car when a reading was taken, by entry id."""
    left_off: list[str] = field(default_factory=list)
    """Tyres left off the list of the nomination."""
    rules_now: Rulebook | None = None
    """Rules in force; made anew after every change of the documents."""
    bulletins: list[Bulletin] = field(default_factory=list)
    times: dict[str, ControlSeen] = field(default_factory=dict)
    rules_then: dict[str, Rulebook] = field(default_factory=dict)
    """Rules in force when an entry put wheels on the car, by its id."""
    rules_ahead: list[DocumentsChanged] = field(default_factory=list)
    """Bulletins known already that are valid only from a later moment."""
    last_entry_at: datetime | None = None
    clock_offset_s: float = 0.0
    closed: bool = False

    def copy(self) -> "Ledger":
        """Return a sheet that can be written without touching this one."""
        new = copy(self)
        for name, value in vars(self).items():
            if isinstance(value, (dict, list)):
                setattr(new, name, value.copy())
        return new

    def car(self) -> Car:
        """Return what is on the car now."""
        return self.spells[-1].car if self.spells else {}

    def spell_at(self, position: Position) -> Spell | None:
        """Return the spell in force at a position."""
        return car_at(self.spells, position)

    def rules(self) -> Rulebook:
        """Return the rules in force."""
        if self.rules_now is None:
            self.rules_now = rules_of(self.bundle)
        return self.rules_now

    def set_tyre(self, tyre_id: str | None, **values: Any) -> None:
        """Put values of one tyre right; an unknown tyre is left out."""
        if tyre_id and tyre_id in self.tyres:
            self.tyres[tyre_id] = replace(self.tyres[tyre_id], **values)

    def advance(self, position: Position) -> None:
        """Keep that the car is known to have come this far."""
        self.passed = max(self.passed, position)

    def place_after_rows(self, row: int) -> str | None:
        """Return the key of the first change place whose OUT lies at or behind a row."""
        place = self.course.change_place_from(row)
        return place.key if place is not None else None


def fresh_ledger(bundle: EventBundle) -> Ledger:
    """Return the sheet of an event before its first entry."""
    tyres: dict[str, TyreNow] = {}
    for stock in bundle.stock.tyres:
        status, why = "ok", ""
        if stock.location == "away":
            status, why = "away", "away"
        elif stock.lock == "scrap":
            status, why = "scrapped", "scrapped in the stock table"
        elif stock.lock == "hold":
            status, why = "locked", "on hold in the stock table"
        tyres[stock.tyre_id] = TyreNow(
            stock=stock,
            place=None,
            last_place=None,
            rim_id=stock.rim_id,
            status=status,  # type: ignore[arg-type]  # one of the three words above
            status_why=why,
            counted=False,
            ever_fitted=not stock.new,
            in_zone=stock.location == "zone",
            ever_mounted=bool(stock.rim_id) or not stock.new,
        )
    return Ledger(bundle=bundle, course=Course(bundle.itinerary), tyres=tyres)


def mount(ledger: Ledger, tyre_id: str, rim_id: str) -> None:
    """Put a tyre on a rim; whatever was on that rim comes off."""
    if rim_id:
        for other in [t.tyre_id for t in ledger.tyres.values() if t.rim_id == rim_id]:
            ledger.set_tyre(other, rim_id="")
        ledger.set_tyre(tyre_id, ever_mounted=True)
    ledger.set_tyre(tyre_id, rim_id=rim_id)
