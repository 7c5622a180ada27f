"""The itinerary: rows as printed, and what follows from them."""

from datetime import datetime, timedelta
from typing import Annotated, Literal

from pydantic import Field

from crewdesk.documents.base import Km, Metres, Part, Share

RowKind = Literal[
    "start",
    "time_control",
    "stage",
    "service_in",
    "service_out",
    "flexi_in",
    "flexi_out",
    "regroup_in",
    "regroup_out",
    "tyre_zone_in",
    "tyre_zone_out",
    "refuel",
    "finish",
]
Grade = Annotated[int, Field(ge=1, le=5)]


class ItineraryRow(Part):
    """One line of the itinerary; an empty cell is None and means unknown or not meant."""

    row: int
    """Line of the file, heading = 1."""
    leg: int
    section: int | None = None
    loop: int | None = None
    """As printed; the program's own count is :meth:`Itinerary.loop_of`."""
    ref: str
    kind: RowKind
    name: str = ""
    ss_km: Km | None = None
    liaison_km: Km | None = None
    total_km: Km | None = None
    target_min: float | None = None
    first_car_due: datetime | None = None
    """Aware; local wall time resolved in the event's zone, kept as UTC."""
    surface: Literal["gravel", "asphalt", "snow", "ice"] | None = None
    roughness: Grade | None = None
    abrasion: Grade | None = None
    twist: Share | None = None
    right_share: Share | None = None
    cuts: Share | None = None
    shade: Share | None = None
    gravel_share: Share | None = None
    holds_water: Share | None = None
    pass_no: Annotated[int, Field(ge=1, le=9)] | None = None
    alt_start_m: Metres | None = None
    alt_max_m: Metres | None = None
    alt_finish_m: Metres | None = None
    avg_kmh: Annotated[float, Field(gt=10, lt=250)] | None = None
    service: str = ""
    tyre_change: Literal["no", "team", "zone"] = "no"
    note: str = ""


class Stage(Part):
    """A stage as the physics needs it, defaults filled in and named in ``assumed``."""

    ref: str
    index: int
    """Place among the stages of the event, from 0."""
    leg: int
    loop: int
    name: str
    km: Km
    surface: Literal["gravel", "asphalt", "snow", "ice"]
    roughness: Grade
    abrasion: Grade
    twist: Share
    right_share: Share
    cuts: Share
    shade: Share
    gravel_share: Share
    holds_water: Share
    pass_no: int
    alt_start_m: float
    alt_max_m: float
    alt_finish_m: float
    avg_kmh: float
    broken: bool
    liaison_before_km: Km
    """Road section to the control before this stage, since the last stage or change place."""
    due_utc: datetime
    """Our own due start."""
    assumed: tuple[str, ...] = ()

    @property
    def altitude_m(self) -> float:
        """Mean of start, top and finish [m]."""
        return (self.alt_start_m + self.alt_max_m + self.alt_finish_m) / 3


class ChangePlace(Part):
    """A visit where the team may fit tyres."""

    key: str
    """Name on the command line: the service letter, else the OUT control, or ``start``."""
    loop: int
    """Number of the loop that begins here."""
    kind: Literal["start", "service", "flexi", "zone"]
    leg: int
    in_ref: str
    out_ref: str
    name: str
    due_in_utc: datetime
    """Our own due time IN (for ``start`` the start itself)."""
    due_out_utc: datetime
    minutes: float
    """Length of the visit [min]."""
    stages: tuple[str, ...]
    """References of the stages up to the next change place; may be empty."""
    altitude_m: float
    remote: bool = False
    """Away from the service park: only what is on board can be fitted."""


class Itinerary(Part):
    """All rows, with the loops, change places and our due times that follow from them."""

    rows: tuple[ItineraryRow, ...]
    stages: tuple[Stage, ...]
    change_places: tuple[ChangePlace, ...]
    comments: tuple[str, ...] = ()
    offsets_min: dict[int, float]
    """Minutes between the printed time and ours, by leg."""

    def place(self, key: str) -> ChangePlace:
        """Return the change place named by key, letter or either control of the visit.

        Raises
        ------
        KeyError
            Where no such change place exists.
        """
        wanted = key.strip().upper()
        for place in self.change_places:
            if wanted in {place.key.upper(), place.in_ref.upper(), place.out_ref.upper()}:
                return place
        if wanted == "START" and self.change_places:
            return self.change_places[0]
        raise KeyError(key)

    def place_of_loop(self, loop: int) -> ChangePlace | None:
        """Return the change place at which a loop begins, or None for loop 0."""
        return next((place for place in self.change_places if place.loop == loop), None)

    def next_place_after(self, when_utc: datetime) -> ChangePlace | None:
        """Return the first change place whose OUT is not yet past, or None after the last."""
        return next((p for p in self.change_places if p.due_out_utc >= when_utc), None)

    def row_of(self, ref: str) -> ItineraryRow:
        """Return a row by its reference, any case, or raise KeyError."""
        wanted = ref.strip().upper()
        for row in self.rows:
            if row.ref.upper() == wanted:
                return row
        raise KeyError(ref)

    def row_before(self, ref: str) -> ItineraryRow | None:
        """Return the row above one, or None for the first."""
        index = self.rows.index(self.row_of(ref))
        return self.rows[index - 1] if index else None

    def loop_of(self, ref: str) -> int:
        """Return the loop that a row belongs to, by the rule (not as printed).

        An OUT row where the team may change tyres still belongs to the loop it ends.
        """
        wanted = self.row_of(ref)
        loop = 0
        ends = {place.out_ref for place in self.change_places}
        for row in self.rows:
            if row is wanted:
                break
            loop += row.ref in ends
        return loop

    def control_of(self, stage_ref: str) -> ItineraryRow | None:
        """Return the time control that leads to a stage, or None where none is listed."""
        row = self.row_before(stage_ref)
        while row is not None and row.kind != "stage":
            if row.kind == "time_control":
                return row
            row = self.row_before(row.ref)
        return None

    def stage_before(self, ref: str) -> Stage | None:
        """Return the last stage above a row, or None before the first."""
        last = None
        for row in self.rows:
            if row.ref == self.row_of(ref).ref:
                return last
            if row.kind == "stage":
                last = self.stage(row.ref)
        return last

    def liaison_min(self, ref: str) -> float | None:
        """Return the time allowed for the road section alone that ends at a control [min].

        The target time of a control covers the stage before it; the stage's own time at the
        expected average is taken off. None where the row has no target time.
        """
        row = self.row_of(ref)
        if row.target_min is None:
            return None
        before = self.row_before(ref)
        while before is not None and before.kind == "refuel":
            before = self.row_before(before.ref)
        if before is None or before.kind != "stage":
            return row.target_min
        stage = self.stage(before.ref)
        return max(0.0, row.target_min - 60.0 * stage.km / stage.avg_kmh)

    def due_of(self, ref: str) -> datetime | None:
        """Return our own due time at a reference, UTC, or None where it has no time."""
        return self.our_due(self.row_of(ref))

    @property
    def start_row(self) -> ItineraryRow:
        """Return the row where the event begins."""
        return next((row for row in self.rows if row.kind == "start"), self.rows[0])

    @property
    def finish_row(self) -> ItineraryRow:
        """Return the row where the event ends."""
        return next((row for row in self.rows if row.kind == "finish"), self.rows[-1])

    def stage(self, ref: str) -> Stage:
        """Return a stage by its reference, or raise KeyError."""
        for stage in self.stages:
            if stage.ref == ref:
                return stage
        raise KeyError(ref)

    def our_due(self, row: ItineraryRow) -> datetime | None:
        """Return our due time at a row, UTC, or None where the row has no time."""
        if row.first_car_due is None:
            return None
        return row.first_car_due + timedelta(minutes=self.offsets_min[row.leg])
