"""What the rules are asked: a fitting, the tyres, the place and moment, and what is known."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, tzinfo
from typing import Literal

from crewdesk.documents.itinerary import ChangePlace
from crewdesk.documents.stock import StockTyre
from crewdesk.regulations.ledger import Ledger
from crewdesk.regulations.order import natural_key
from crewdesk.regulations.rulebook import Rulebook
from crewdesk.units import CORNERS, PLACES, Corner, Place

When = Literal[
    "import", "nomination", "proposal", "fitting", "reading", "time_control", "close"
]
WHENS: tuple[When, ...] = (
    "import",
    "nomination",
    "proposal",
    "fitting",
    "reading",
    "time_control",
    "close",
)


@dataclass(frozen=True)
class TyreFacts:
    """One tyre as the rules look at it; what is None is not known and not checked."""

    stock: StockTyre
    status: Literal["ok", "locked", "scrapped", "away"] = "ok"
    why: str = ""
    """Words behind a status other than ok, as ``bulge``."""
    why_code: Literal["DMG-1", "LEAK-1"] = "DMG-1"
    """Which rule holds a locked tyre."""
    release_by: str = ""
    """Name of the licensed fitter who may release it."""
    tread_mm: tuple[float, float, float] | None = None
    """Best figures, inner, middle, outer; None: those of the stock table."""
    tread_read: bool = False
    """The figures were measured, not worked out."""
    rim_id: str | None = None
    """Rim it is on now; None: that of the stock table, empty: on none."""
    in_zone: bool = False
    """Brought to the zone, or left there."""
    predicted_mm: tuple[float, float, float] | None = None
    """Least tread at the next change place: best figure, then the 10-in-100 and 90-in-100."""
    km_since_torque: float | None = None
    """Km since its wheel was put on without a torque check after it."""
    joker_for: str = ""
    """Damaged tyre that it replaces."""
    joker_sheet: str = ""
    approved_by: str = ""
    mark_readable: bool = True
    cold_kpa: float | None = None
    """Cold pressure as read, at ``cold_at_c``."""
    cold_at_c: float | None = None
    set_kpa: float | None = None
    """Cold pressure it was set to, at ``set_at_c``."""
    set_at_c: float | None = None
    pair: str = ""
    """Tyre it was set together with."""
    min_cold_kpa: float | None = None
    """The maker's minimum."""
    max_kpa: float | None = None
    peak_tread_c: float | None = None
    window_hi_c: float | None = None
    dry_km: float | None = None
    """Km that a rain tyre is to run, or ran, on a dry road."""
    float_kmh: float | None = None
    """Speed from which it may float in standing water, where water stands ahead."""
    cut: bool = False
    groove_share: float | None = None
    groove_count: int | None = None
    treated: bool = False
    insert: bool = False
    studs_lost_share: float | None = None
    stud_out_mm: float | None = None
    came_off: bool = False
    """Was used at this event and taken off the car again."""

    @property
    def tyre_id(self) -> str:
        """Return the crew's own name for it."""
        return self.stock.tyre_id

    @property
    def tread_now_mm(self) -> tuple[float, float, float]:
        """Return the best figures there are."""
        return self.stock.tread_mm if self.tread_mm is None else self.tread_mm

    @property
    def rim_now(self) -> str:
        """Return the rim it is on; empty: none."""
        return self.stock.rim_id if self.rim_id is None else self.rim_id


@dataclass(frozen=True)
class Asked:
    """An open question."""

    text: str
    since: datetime
    possible: tuple[str, ...] = ()
    km: float = 0.0
    """Km given to no tyre until it is answered."""
    until: str = ""
    """Control where the car is looked at next."""


@dataclass(frozen=True)
class Weathers:
    """Air, road and rain at the last call, and now."""

    air_then_c: float | None = None
    air_now_c: float | None = None
    road_then_c: float | None = None
    road_now_c: float | None = None
    rain_then: bool | None = None
    rain_now: bool | None = None
    snow: bool = False
    """What falls is snow: the air is at or below zero."""


@dataclass(frozen=True)
class Clock:
    """Our time at a control."""

    ref: str
    due: datetime
    late_min: float = 0.0
    """Minutes behind the due time; negative: early."""
    total_late_min: float | None = None
    """Lateness that counts towards out of time, where it differs."""
    on_road: bool = False
    """On a road section, before the control: for information only."""


@dataclass(frozen=True)
class FittingCase:
    """One question to the rules; a rule whose inputs are not here stays mute."""

    rules: Rulebook
    fitting: Mapping[Place, str | None] = field(default_factory=dict)
    tyres: Mapping[str, TyreFacts] = field(default_factory=dict)
    ledger: Ledger = field(default_factory=Ledger)
    place: ChangePlace | None = None
    place_name: str = ""
    """Control or section in words, where it is no change place."""
    next_ref: str = ""
    """Next place where tyres may be changed."""
    next_due: datetime | None = None
    by: Literal["team", "crew"] = "team"
    closed_area: bool = False
    """A control area, parc ferme, regroup or refuel: nobody works here."""
    before: Mapping[Place, str | None] | None = None
    """What was on board until now; None: not known."""
    found: Mapping[Place, str | None] | None = None
    """Ids read off the car as it came in; None: not read."""
    read_back: Mapping[Place, str | None] | None = None
    """Ids read before OUT; None: not read."""
    noted: Mapping[Place, str] = field(default_factory=dict)
    """Marks as the officials noted them."""
    official: str = ""
    query_by: str = ""
    rims: Mapping[str, str] = field(default_factory=dict)
    """Usable rims, type by id; empty: rims are not kept."""
    rims_chosen: Mapping[Place, str] = field(default_factory=dict)
    zone_known: bool = False
    """It is known which wheels were brought to the zone."""
    work: tuple[str, ...] = ()
    """Work wanted here beside tyres and pressures."""
    people: int | None = None
    minutes_needed: float | None = None
    minutes_allowed: float | None = None
    torque_done: frozenset[Corner] | None = None
    """Corners ticked; None: not asked."""
    cold_kpa: Mapping[Place, float] = field(default_factory=dict)
    hot_kpa: Mapping[Place, float] = field(default_factory=dict)
    hot_target_kpa: Mapping[Place, float] = field(default_factory=dict)
    weathers: Weathers | None = None
    surfaces: frozenset[str] = frozenset()
    """Surfaces of the stages up to the next change place."""
    clock: Clock | None = None
    questions: tuple[Asked, ...] = ()
    event_date: date | None = None
    nominate_by: datetime | None = None
    now: datetime | None = None
    undecided: int = 0
    """Tyres without a choice before the nomination closes."""
    zone: tzinfo | None = None
    """The event's time zone, in which messages tell the time; None: UTC."""
    overrides: Mapping[str, str] = field(default_factory=dict)
    """Name of the person by code overridden here."""
    counted_this_leg: int = 0
    """Tyres counted in this leg before this fitting."""
    counted_here: int = 0
    """Tyres counted at this place before this fitting."""

    def placed(self) -> tuple[tuple[Place, TyreFacts], ...]:
        """Return the known tyres of the fitting, in the order of the places."""
        return tuple(
            (place, self.tyres[tyre_id])
            for place in PLACES
            if (tyre_id := self.fitting.get(place)) is not None and tyre_id in self.tyres
        )

    def looked_at(self) -> tuple[tuple[Place | None, TyreFacts], ...]:
        """Return the tyres of the fitting, or the whole stock by name where none is given."""
        if any(self.fitting.values()):
            return self.placed()
        return tuple((None, self.tyres[key]) for key in sorted(self.tyres, key=natural_key))

    def on_corners(self) -> dict[Corner, TyreFacts]:
        """Return the known tyres on the corners."""
        return {
            corner: self.tyres[tyre_id]
            for corner in CORNERS
            if (tyre_id := self.fitting.get(corner)) is not None and tyre_id in self.tyres
        }

    def carried(self) -> tuple[TyreFacts, ...]:
        """Return the known tyres carried."""
        return tuple(tyre for place, tyre in self.placed() if place not in CORNERS)

    def here(self) -> str:
        """Return the name of the place for a message."""
        if self.place is not None:
            return self.place.name or self.place.key
        return self.place_name or "this place"
