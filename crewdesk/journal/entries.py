"""The kinds of entries of the day book, as the crew makes them.

An entry is never edited or deleted; a correction or an undo is a further entry. Every field
that a crew may not know yet can be None: what is not known becomes an open question.
"""

from datetime import datetime, timedelta
from typing import Annotated, Any, Literal

from pydantic import Field, TypeAdapter

from crewdesk.documents.base import AirCelsius, Celsius, Km, Kpa, Mm, Part, RoadCelsius, Share
from crewdesk.documents.weather import SurfaceState
from crewdesk.units import Corner, Place

Look = Literal["moulding_lines", "grained", "even", "feathered", "torn"]
DamageKind = Literal["puncture", "cut", "bulge", "leak", "bead", "flat_spot", "rim", "other"]


class EntryBody(Part):
    """What every entry may carry beside its own fields."""

    at: datetime | None = None
    """When it happened (aware); blank: when it was entered."""
    by: str = ""
    """Who says so."""
    note: str = ""


class DocumentsOpened(EntryBody):
    """The documents the book was opened with, as text by file name."""

    kind: Literal["documents_opened"] = "documents_opened"
    files: dict[str, str]


class DocumentsChanged(EntryBody):
    """A bulletin or a change of our own: of a stage, a limit, our position, a place."""

    kind: Literal["documents_changed"] = "documents_changed"
    what: Literal[
        "stage_cancelled",
        "stage_shortened",
        "stage_road_speed",
        "stage_repeated",
        "service_length",
        "delayed",
        "rule",
        "position",
        "place_moved",
        "setting",
        "stage_card",
        "files",
    ]
    target: str = ""
    """Stage or control reference, rule field, leg number, or setting name."""
    value: Any = None
    unit: str = ""
    source: str = ""
    article: str = ""
    bulletin_no: str = ""
    valid_from: datetime | None = None
    """From when a rule is in force; blank: from when it happened."""


class Report(EntryBody):
    """Weather and road as somebody saw them."""

    kind: Literal["report"] = "report"
    place: str = ""
    """Change place, stage reference or site; blank: where the car is due next."""
    part: Literal["", "start", "middle", "end", "top"] = ""
    """Part of the stage that the surface is meant for; blank: all of it."""
    share: Share | None = None
    """Share of the stage's length that this part has; blank: a third."""
    air_c: AirCelsius | None = None
    road_c: RoadCelsius | None = None
    rain_mm_h: Annotated[float, Field(ge=0, le=200)] | None = None
    cloud_pct: Annotated[float, Field(ge=0, le=100)] | None = None
    surface: SurfaceState | None = None
    caller: str = ""
    confirmed: bool = False
    """The crew has looked again at a value far from the forecast and stands by it."""


class Reading(EntryBody):
    """What was measured on one tyre at one moment."""

    kind: Literal["reading"] = "reading"
    tyre_id: str
    tread_in_mm: Mm | None = None
    tread_mid_mm: Mm | None = None
    tread_out_mm: Mm | None = None
    edge_grade: Annotated[int, Field(ge=0, le=3)] | None = None
    """0 sharp to 3 round."""
    edge_share: tuple[Share, Share, Share] | None = None
    hot_kpa: Kpa | None = None
    cold_kpa: Kpa | None = None
    where: Literal["stop_line", "at_in", "after_regroup", "service"] = "at_in"
    tread_c: Celsius | None = None
    studs_lost_share: Share | None = None
    """Studs lost, of those the tyre had."""
    stud_out_mm: Mm | None = None
    """How far the studs stand out, mean."""
    place: str = ""
    confirmed: bool = False


class LookEntry(EntryBody):
    """The look of a tyre, one tap."""

    kind: Literal["look"] = "look"
    tyre_id: str
    look: Look
    place: str = ""


class AsFound(EntryBody):
    """Ids read off the car when it comes in: the truth about what is on it."""

    kind: Literal["as_found"] = "as_found"
    place: str
    fitting: dict[Place, str | None]
    """Tyre by place; a carried place may be None or missing."""
    since: str | None = None
    """Stage after which it has been so, where it differs from the book; None: not known."""


class Fitting(EntryBody):
    """What is put on the car at a change place."""

    kind: Literal["fitting"] = "fitting"
    place: str
    fitting: dict[Place, str | None]
    cold_kpa: dict[Place, Kpa] = Field(default_factory=dict)
    rims: dict[Place, str] = Field(default_factory=dict)
    set_at_c: AirCelsius | None = None
    """Air temperature at which the pressures were set."""
    bring: tuple[str, ...] = ()
    """Wheels the zone crew takes along from here to the tyre zone ahead."""
    source: Literal["call", "short_call", "own"] = "own"
    override_name: str = ""
    override_reason: str = ""
    people: int | None = None
    """People at the car; blank: as usual."""
    work: tuple[str, ...] = ()
    """Work done beside tyres and pressures, as ``damper``."""


class ReadBack(EntryBody):
    """Ids read from the car before it goes out, with the torque ticks and a name."""

    kind: Literal["read_back"] = "read_back"
    place: str
    fitting: dict[Place, str | None]
    torque: tuple[Corner, ...] = ()
    name: str = ""


class CallUsed(EntryBody):
    """The crew takes a call; proposed and decided are kept apart from what is fitted."""

    kind: Literal["call_used"] = "call_used"
    place: str
    fitting: dict[Place, str | None]
    cold_kpa: dict[Place, Kpa] = Field(default_factory=dict)
    which: Literal["full", "short", "choice", "own"] = "full"
    objective_s: float | None = None
    sheet_no: int | None = None


class StageRun(EntryBody):
    """A stage was driven, with its time if known, or a control was passed."""

    kind: Literal["stage_run"] = "stage_run"
    stage: str
    time_s: Annotated[float, Field(gt=0)] | None = None
    km_driven: Km | None = None
    """Less than the stage where it was interrupted or the car stopped on it."""
    source: str = ""
    """Paper that tells of the interruption."""
    article: str = ""
    bulletin_no: str = ""


class ControlTime(EntryBody):
    """Our actual or announced time at a control, where it differs from the due time."""

    kind: Literal["control_time"] = "control_time"
    ref: str
    time: datetime
    announced: bool = False


class Incident(EntryBody):
    """A puncture, cut, bulge, leak, rim or spin; any field may be unknown."""

    kind: Literal["incident"] = "incident"
    what: DamageKind | Literal["spin"] = "puncture"
    corner: Place | None = None
    side: Literal["left", "right"] | None = None
    where: str = ""
    """Stage or section, as SS5."""
    km_into_stage: Km | None = None
    tyre_off: str | None = None
    tyre_on: str | None = None
    changed_by: Literal["crew", "team", "nobody", ""] = ""
    time_lost_s: float | None = None
    rim_id: str = ""
    rim_state: Literal["", "sound", "bent", "cracked", "scrap"] = ""
    length_mm: Annotated[float, Field(ge=0, le=1000)] | None = None
    depth_mm: Annotated[float, Field(ge=0, le=100)] | None = None
    spot: Literal[
        "", "tread", "shoulder_in", "shoulder_out", "wall_in", "wall_out", "bead", "valve"
    ] = ""
    """Where on the tyre."""
    cord: bool | None = None
    """The cord shows."""
    photo: str = ""
    """Name or number of the photo."""


class RoadChange(EntryBody):
    """The crew moved wheels on the road with what is on board."""

    kind: Literal["road_change"] = "road_change"
    after: str = ""
    """Stage after which it was done."""
    fitting: dict[Place, str | None]


class MarkCheck(EntryBody):
    """Officials read marks."""

    kind: Literal["mark_check"] = "mark_check"
    place: str
    noted: dict[Place, str]
    """Mark as the officials noted it."""
    official: str = ""
    photo: str = ""
    query_by: datetime | None = None
    """By when the officials' answer is wanted; blank: the next change place."""


class OffRoad(EntryBody):
    """The car stopped for the day, or starts again."""

    kind: Literal["off_road"] = "off_road"
    where: str = ""
    restarts: bool = False
    km_into_stage: Km | None = None


class TyreAdded(EntryBody):
    """A tyre joins the stock: a row of the stock table."""

    kind: Literal["tyre_added"] = "tyre_added"
    row: dict[str, str]
    joker_sheet: str = ""
    replaces: str = ""
    approved_by: str = ""


class TyreState(EntryBody):
    """A tyre is locked, released, scrapped, marked or cut by hand."""

    kind: Literal["tyre_state"] = "tyre_state"
    tyre_id: str
    state: Literal[
        "locked",
        "released",
        "scrapped",
        "cut",
        "marked",
        "away",
        "back",
        "nominated",
        "not_nominated",
        "treated",
        "unreadable",
    ]
    reason: str = ""
    damage: DamageKind | None = None
    released_by: str = ""
    """Name of the licensed fitter where a damaged tyre is released."""
    mark: str = ""


class RimMove(EntryBody):
    """A tyre goes onto a rim or comes off one."""

    kind: Literal["rim_move"] = "rim_move"
    tyre_id: str
    rim_id: str | None
    minutes: float | None = None


class Override(EntryBody):
    """A named person overrides a rule for what comes next."""

    kind: Literal["override"] = "override"
    code: str
    name: str
    reason: str
    place: str = ""


class DriverWords(EntryBody):
    """What the driver says of the car: grip by axle and words."""

    kind: Literal["driver_words"] = "driver_words"
    place: str = ""
    front_grip: Annotated[int, Field(ge=-2, le=2)] | None = None
    rear_grip: Annotated[int, Field(ge=-2, le=2)] | None = None
    words: str = ""


class Answer(EntryBody):
    """The answer to an open question."""

    kind: Literal["answer"] = "answer"
    question_id: str
    """Id of the entry that left the question open."""
    values: dict[str, Any]
    """Fields of that entry that are known now."""


class Note(EntryBody):
    """Free words."""

    kind: Literal["note"] = "note"
    text: str


class Correction(EntryBody):
    """Fields of an earlier entry put right."""

    kind: Literal["correction"] = "correction"
    target_id: str
    values: dict[str, Any]


class Undo(EntryBody):
    """An earlier entry is taken back, or an undo is taken back (redo)."""

    kind: Literal["undo"] = "undo"
    target_id: str


class ClockOffset(EntryBody):
    """The machine's clock is wrong by this much; true time = machine + offset."""

    kind: Literal["clock_offset"] = "clock_offset"
    offset_s: float


class EventClosed(EntryBody):
    """The handover is written and the event is over."""

    kind: Literal["event_closed"] = "event_closed"


AnyEntry = Annotated[
    DocumentsOpened
    | DocumentsChanged
    | Report
    | Reading
    | LookEntry
    | AsFound
    | Fitting
    | ReadBack
    | CallUsed
    | StageRun
    | ControlTime
    | Incident
    | RoadChange
    | MarkCheck
    | OffRoad
    | TyreAdded
    | TyreState
    | RimMove
    | Override
    | DriverWords
    | Answer
    | Note
    | Correction
    | Undo
    | ClockOffset
    | EventClosed,
    Field(discriminator="kind"),
]

ENTRY_ADAPTER: TypeAdapter[AnyEntry] = TypeAdapter(AnyEntry)


class StoredEntry(Part):
    """An entry as it stands in the book."""

    seq: int
    """Place in this book."""
    id: str
    """Globally unique."""
    desk: str
    """Which desk wrote it."""
    desk_seq: int
    """Count of that desk."""
    after: tuple[str, ...]
    """Ids of the last entries that the desk had seen."""
    at_utc: datetime
    """Machine clock when it was written."""
    clock_offset_s: float
    kind: str
    version: int
    body: AnyEntry

    @property
    def happened_utc(self) -> datetime:
        """Return when it happened: the entry's own time, else the put-right clock."""
        if self.body.at is not None:
            return self.body.at
        return self.at_utc + timedelta(seconds=self.clock_offset_s)
