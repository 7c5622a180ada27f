"""The state of the day: what a replay of the book gives. Facts only, no estimates."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from crewdesk.documents.stock import StockTyre
from crewdesk.journal.entries import CallUsed, Incident, Report
from crewdesk.regulations.rulebook import Rulebook
from crewdesk.units import Place

Status = Literal["ok", "locked", "scrapped", "away"]


@dataclass(frozen=True)
class Run:
    """Stage kilometres of one tyre in one place."""

    stage: str
    place: Place | None
    """Corner; None while the corner is not known."""
    km: float
    split: float = 1.0
    """Below 1 where the kilometres are shared over possibilities."""


@dataclass(frozen=True)
class ReadingNow:
    """A measurement of a tyre, kept with how far the tyre had run."""

    entry_id: str
    at: datetime
    tread_mm: tuple[float | None, float | None, float | None]
    edge_share: tuple[float, float, float] | None
    hot_kpa: float | None
    cold_kpa: float | None
    where: str
    place: str
    corner: Place | None
    """Where the tyre was when it was read."""
    runs_before: int
    """How many of the tyre's runs lie before it."""
    studs_lost_share: float | None = None
    stud_out_mm: float | None = None
    tread_c: float | None = None
    confirmed: bool = False
    """The crew looked again at a depth far from the expected one and stands by it."""
    set_kpa: float | None = None
    """Cold pressure and air temperature of the last setting before it."""
    set_at_c: float | None = None


@dataclass(frozen=True)
class LookNow:
    """The look of a tyre, kept with how far the tyre had run."""

    entry_id: str
    at: datetime
    look: str
    runs_before: int


@dataclass(frozen=True)
class DriverSaid:
    """What the driver said of the grip of each axle, -2 to +2; None: nothing."""

    at: datetime
    place: str
    front: int | None
    rear: int | None


@dataclass(frozen=True)
class TyreNow:
    """A tyre with all that the book says of it."""

    stock: StockTyre
    place: Place | None
    """Where it is on the car; None: not on it."""
    last_place: Place | None
    rim_id: str
    status: Status
    status_why: str
    counted: bool
    runs: tuple[Run, ...] = ()
    readings: tuple[ReadingNow, ...] = ()
    look: str = ""
    looks: tuple[LookNow, ...] = ()
    cold_set_kpa: float | None = None
    set_at_c: float | None = None
    torque_due_since: str = ""
    """Reference after which the wheel was put on and not re-torqued."""
    ever_fitted: bool = False
    """Has been on a hub, at this event or before."""
    joker_for: str = ""
    """Damaged tyre it replaces, once sheet and name are in."""
    joker_sheet: str = ""
    approved_by: str = ""
    in_zone: bool = False
    ever_mounted: bool = False
    """Has been on a rim: a returnable tyre can no longer go back."""
    mark_readable: bool = True
    treated: bool = False

    @property
    def tyre_id(self) -> str:
        """Return the crew's own name for it."""
        return self.stock.tyre_id

    @property
    def event_km(self) -> float:
        """Return the stage km run at this event [km]."""
        return sum(run.km * run.split for run in self.runs)


@dataclass(frozen=True)
class FittingNow:
    """What is, or was, on the car from a change place on."""

    entry_id: str
    place: str
    at: datetime
    tyres: Mapping[Place, str | None]
    read_back: bool
    """False: as proposed, not checked."""
    source: str
    rules: Rulebook | None = None
    """The rules it was made under; later bulletins leave them alone."""
    override_name: str = ""
    override_reason: str = ""


@dataclass(frozen=True)
class Bulletin:
    """A change of rules, stages, times or places, as it was entered."""

    entry_id: str
    at: datetime
    what: str
    target: str
    value: object
    source: str = ""
    article: str = ""
    bulletin_no: str = ""
    by: str = ""
    valid_from: datetime | None = None


@dataclass(frozen=True)
class ControlSeen:
    """Our time at a control, as entered."""

    at: datetime
    announced: bool
    """Told ahead; the car is not there yet."""


@dataclass(frozen=True)
class OpenQuestion:
    """A fact not known yet."""

    id: str
    """Id of the entry that left it open."""
    since: datetime
    text: str
    possible: tuple[str, ...]
    fields: tuple[str, ...]
    """Fields of the entry still to be filled in."""


@dataclass(frozen=True)
class Torque:
    """A wheel whose nuts are due for a check."""

    corner: Place
    tyre_id: str
    since: str


@dataclass(frozen=True)
class DayState:
    """The fold of the day book over the documents."""

    tyres: Mapping[str, TyreNow]
    fitted: FittingNow | None
    """What is on the car now."""
    fittings: tuple[FittingNow, ...] = ()
    at_place: str | None = None
    """Key of the change place the car is in, after as found and before out."""
    next_place: str | None = None
    """Key of the change place whose call is asked for next; None: the event is run."""
    stages_run: tuple[str, ...] = ()
    cancelled: tuple[str, ...] = ()
    reports: tuple[Report, ...] = ()
    """With ``at`` filled in."""
    incidents: tuple[tuple[str, Incident], ...] = ()
    """(entry id, incident with later answers laid over it)"""
    open_questions: tuple[OpenQuestion, ...] = ()
    call_used: CallUsed | None = None
    """For the change place ahead or the one the car is in."""
    torque_due: tuple[Torque, ...] = ()
    counted: tuple[str, ...] = ()
    """Tyre ids in the order they were counted."""
    counted_by_group: Mapping[str, int] = field(default_factory=dict)
    overrides: tuple[Mapping[str, str], ...] = ()
    rims_out: Mapping[str, str] = field(default_factory=dict)
    """Rims no longer usable, with why."""
    delays_min: Mapping[str, float] = field(default_factory=dict)
    """Minutes late at a control, as entered."""
    last_entry_at: datetime | None = None
    clock_offset_s: float = 0.0
    closed: bool = False
    undoable: str | None = None
    """Id of the entry that undo would take back."""
    redoable: str | None = None
    notes: tuple[tuple[datetime, str], ...] = ()
    stage_times: Mapping[str, float] = field(default_factory=dict)
    """Seconds as driven, by stage."""
    driver_words: tuple[DriverSaid, ...] = ()
    bulletins: tuple[Bulletin, ...] = ()
    times: Mapping[str, ControlSeen] = field(default_factory=dict)
    """Our times at controls, by reference."""
    left_off: frozenset[str] = frozenset()
    """Tyres that the crew decided to leave off the list."""
    off_road: bool = False
    """The car stopped for the day and has not come back."""
    step: str = "before_in"
    """before_in, car_in, fit, out, left_behind or handover: where the crew is."""
