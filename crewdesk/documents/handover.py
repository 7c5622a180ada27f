"""The handover: what the next event starts from, as a file and as stock rows."""

from datetime import date, datetime
from typing import Annotated, Any, ClassVar, Literal
from uuid import UUID

from pydantic import Field

from crewdesk.documents.base import Celsius, Document, Km, Kpa, Mm, Part, Share
from crewdesk.documents.event import Family, RuleValue
from crewdesk.documents.learnt import LearntBefore
from crewdesk.documents.stock_read import COLUMNS
from crewdesk.documents.writer import table_text
from crewdesk.units import Place

TyreState = Literal["keep", "test", "scrap", "hold"]


class RunAt(Part):
    """A stage that a tyre ran, and where on the car."""

    stage: str
    place: Place | None = None
    """None: never known."""
    km: Km


class HandoverTyre(Part):
    """One tyre as it leaves the event."""

    tyre_id: str
    mark: str = ""
    """Official mark of this event; void from now on."""
    maker: str
    model: str
    compound: str
    use: Family
    size: str = ""
    rim: str = ""
    rim_id: str = ""
    dot: str = ""
    e_mark: bool | None = None
    service_desc: str = ""
    tread_new_mm: Mm
    tread_mm: tuple[Mm, Mm, Mm]
    """Inner, middle, outer."""
    tread_source: Literal["measured", "estimated", "new"]
    tread_sd_mm: Annotated[float, Field(ge=0, le=20)] = 0.0
    """How far off an estimated depth may be, one standard deviation."""
    edge_share: tuple[Share, Share, Share]
    stage_km: Km | None = None
    """All stage km since new."""
    event_km: Km = 0.0
    """Stage km of this event."""
    road_km: Km | None = None
    """Road km of this event."""
    heat_cycles: Annotated[int, Field(ge=0)] | None = None
    studs: int | None = None
    price: Annotated[float, Field(ge=0)] | None = None
    terms: Literal["own", "returnable", "hired"] = "own"
    side_run: Literal["", "left", "right", "both"] = ""
    direction: Literal["free", "left", "right", "arrow"] = "free"
    hardness_shore_a: float | None = None
    first_mounted: str = ""
    counted: bool = False
    """Counted against the limit of this event."""
    runs: tuple[RunAt, ...] = ()
    damage: tuple[str, ...] = ()
    state: TyreState
    state_why: str = ""
    code: str = ""
    note: str = ""
    extra: dict[str, str] = Field(default_factory=dict)
    """Columns of the stock that the program does not know."""


class HandoverRim(Part):
    """A rim as it leaves the event."""

    rim_id: str
    rim: str = ""
    tyre_id: str = ""
    state: Literal["good", "check", "scrap"] = "good"
    note: str = ""


class WearFigure(Part):
    """Wear that was seen, with how much stands behind it."""

    maker: str = ""
    model: str = ""
    compound: str
    corner: Literal["FL", "FR", "RL", "RR", "front", "rear", "all"]
    surface: str
    road_low_c: Celsius | None = None
    road_high_c: Celsius | None = None
    mm_per_km: Annotated[float, Field(ge=0, le=5)]
    stages: Annotated[int, Field(ge=1)]
    """Stages behind the figure."""


class PressureKept(Part):
    """A cold setting and the hot pressure it gave."""

    place: str
    axle: Literal["front", "rear"]
    compound: str
    cold_kpa: Kpa
    hot_kpa: Kpa
    air_c: Celsius | None = None
    road_c: Celsius | None = None


class CallMade(Part):
    """A call and what was fitted in its place."""

    place: str
    at_utc: datetime | None = None
    proposed: dict[Place, str | None]
    fitted: dict[Place, str | None]
    expected_s: float | None = None
    override_name: str = ""
    override_reason: str = ""
    alternatives: tuple[dict[Place, str | None], ...] = ()
    """The next best fittings that were on offer."""


class ForecastSeen(Part):
    """What was forecast against what came."""

    place: str
    what: str
    """As "rain from 14:00"."""
    came: str
    """As "rain from 11:45"."""


class OverrideMade(Part):
    """A rule that a named person overrode."""

    code: str = ""
    """Blank: every rule that stopped one fitting."""
    name: str
    reason: str
    place: str = ""


class BulletinSeen(Part):
    """A bulletin or a change of our own, as it was entered."""

    at_utc: datetime
    what: str
    target: str = ""
    value: Any = None
    source: str = ""
    article: str = ""
    bulletin_no: str = ""
    entered_by: str = ""
    valid_from: datetime | None = None


class RanUnder(Part):
    """The limits that a fitting was made under."""

    place: str
    at_utc: datetime
    qty_total: int | None = None
    caps: dict[str, int] = Field(default_factory=dict)
    bulletins: tuple[str, ...] = ()
    """Sources of the values that the crew entered."""


class Counts(Part):
    """What the event's limits were and what was used of them."""

    used: Annotated[int, Field(ge=0)]
    limit: int | None = None
    by_compound: dict[str, int] = Field(default_factory=dict)
    caps: dict[str, int] = Field(default_factory=dict)
    jokers_used: Annotated[int, Field(ge=0)] = 0
    jokers: Annotated[int, Field(ge=0)] = 0
    """Damage replacements (jokers) allowed."""


class Handover(Document):
    """The handover of one event."""

    FORMAT: ClassVar[int] = 1

    event_id: UUID
    event: str
    first_day: date
    last_day: date
    zone: str
    regulation_set: str
    rules: dict[str, RuleValue] = Field(default_factory=dict)
    """Values in force at the end, with their sources and bulletins."""
    counts: Counts
    tyres: tuple[HandoverTyre, ...]
    rims: tuple[HandoverRim, ...] = ()
    open_questions: tuple[str, ...] = ()
    overrides: tuple[OverrideMade, ...] = ()
    bulletins: tuple[BulletinSeen, ...] = ()
    ran_under: tuple[RanUnder, ...] = ()
    """Limits in force at each fitting."""
    wear: tuple[WearFigure, ...] = ()
    learnt: LearntBefore | None = None
    """Factors on wear and heat with their doubts; the next event starts from them."""
    learnt_words: tuple[str, ...] = ()
    """The same in sentences, warnings first."""
    pressures: tuple[PressureKept, ...] = ()
    calls: tuple[CallMade, ...] = ()
    forecasts: tuple[ForecastSeen, ...] = ()
    actions: tuple[str, ...] = ()
    """Left to do, with a name."""
    orders: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    """Gauge, probe and torque tool, each with its number and last calibration."""
    lessons: tuple[str, ...] = ()


def handover_text(handover: Handover) -> str:
    """Return the handover as JSON text."""
    return handover.model_dump_json(indent=2) + "\n"


def stock_rows_from_handover(handover: Handover) -> list[dict[str, str]]:
    """Return the tyres as rows of the next event's stock.

    Marks are void and dropped, every tyre is back in stock and on no list; one that is
    scrapped or on hold stays in the table, locked. A tyre never run is still new.
    """
    return [_row(tyre) for tyre in handover.tyres]


def stock_text_from_handover(handover: Handover) -> str:
    """Return the tyres as the ``stock.csv`` of the next event."""
    rows = stock_rows_from_handover(handover)
    unknown = dict.fromkeys(name for tyre in handover.tyres for name in tyre.extra)
    return table_text([*COLUMNS, *unknown], rows, (f"# from the handover of {handover.event}",))


def _row(tyre: HandoverTyre) -> dict[str, str]:
    new = not tyre.first_mounted and tyre.stage_km == 0 and tyre.event_km == 0
    lock = tyre.state if tyre.state in ("hold", "scrap") else ""
    words = [tyre.note, tyre.state_why, "test only" if tyre.state == "test" else ""]
    values: dict[str, Any] = {
        "tyre_id": tyre.tyre_id,
        "mark": "",
        "maker": tyre.maker,
        "model": tyre.model,
        "compound": tyre.compound,
        "use": tyre.use,
        "size": tyre.size,
        "rim": tyre.rim,
        "rim_id": tyre.rim_id,
        "dot": tyre.dot,
        "e_mark": None if tyre.e_mark is None else ("yes" if tyre.e_mark else "no"),
        "service_desc": tyre.service_desc,
        "condition": "new" if new else "used",
        "tread_new_mm": tyre.tread_new_mm,
        "stage_km": tyre.stage_km,
        "heat_cycles": tyre.heat_cycles,
        "studs": tyre.studs,
        "price_units": tyre.price,
        "counts_against": "none" if tyre.state in ("test", "scrap") else "event",
        "registered": "no",
        "location": "stock",
        "side_run": tyre.side_run,
        "direction": tyre.direction,
        "lock": lock,
        "terms": tyre.terms,
        "hardness_shore_a": tyre.hardness_shore_a,
        "first_mounted": tyre.first_mounted,
        "stack": "",
        "code": tyre.code,
        "note": "; ".join(dict.fromkeys(word for word in words if word)),
    }
    for part, depth in zip(("in", "mid", "out"), tyre.tread_mm, strict=True):
        values[f"tread_{part}_mm"] = depth
    for way, edge in zip(("brake", "drive", "side"), tyre.edge_share, strict=True):
        values[f"edge_{way}_share"] = edge
    cells = dict(tyre.extra)
    for name in COLUMNS:
        value = values[name]
        if value is None:
            cells[name] = ""
        else:
            cells[name] = value if isinstance(value, str) else f"{value:.10g}"
    return cells
