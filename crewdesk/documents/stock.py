"""The stock: every tyre the crew has for the event, one row each."""

from typing import Annotated, Literal

from pydantic import Field

from crewdesk.documents.base import Km, Mm, Part, Share
from crewdesk.documents.event import Family, Hardness, TyreModel

LockWord = Literal[
    "", "FL", "FR", "RL", "RR", "front", "rear", "left", "right", "spare", "hold", "scrap"
]


class StockTyre(Part):
    """A tyre as the stock table has it, blanks resolved (what was assumed is named)."""

    tyre_id: str
    mark: str = ""
    maker: str
    model: str
    compound: str
    """The word of the table, as soft, medium, hard, wet, studded."""
    use: Family
    hardness: Hardness
    """Of the catalogue; ``wet`` is medium of the family asphalt_wet."""
    cap_group: str
    size: str
    rim: str = ""
    rim_id: str = ""
    dot: str = ""
    e_mark: bool | None = None
    service_desc: str = ""
    new: bool
    tread_new_mm: Mm
    tread_mm: tuple[Mm, Mm, Mm]
    """Inner, middle, outer."""
    edge_share: tuple[Share, Share, Share]
    """Sharpness left on the edges loaded in braking, driving, cornering."""
    stage_km: Km | None = None
    heat_cycles: int | None = None
    studs: int | None = None
    price: Annotated[float, Field(ge=0)] | None = None
    counts_against: Literal["event", "shakedown", "none"] = "event"
    registered: bool = False
    location: Literal["stock", "zone", "car", "away"] = "stock"
    side_run: Literal["", "left", "right", "both"] = ""
    direction: Literal["free", "left", "right", "arrow"] = "free"
    lock: LockWord = ""
    terms: Literal["own", "returnable", "hired"] = "own"
    hardness_shore_a: float | None = None
    first_mounted: str = ""
    stack: str = ""
    code: str
    """One or two characters for the badge; the crew's own first."""
    note: str = ""
    extra: dict[str, str] = Field(default_factory=dict)
    """Columns the program does not know, kept as they are."""
    assumed: tuple[str, ...] = ()

    @property
    def kind_key(self) -> tuple[str, str, str]:
        """Maker, model, compound: what an axle rule compares."""
        return (self.maker, self.model, self.compound)


class Stock(Part):
    """The stock table."""

    tyres: tuple[StockTyre, ...]
    comments: tuple[str, ...] = ()

    def tyre(self, tyre_id: str) -> StockTyre:
        """Return a tyre by its id, or raise KeyError."""
        for tyre in self.tyres:
            if tyre.tyre_id == tyre_id:
                return tyre
        raise KeyError(tyre_id)


__all__ = ["LockWord", "Stock", "StockTyre", "TyreModel"]
