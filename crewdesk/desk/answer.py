"""What the window and the command line get back when they ask; plain data, no Qt."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from crewdesk.conditions.moments import Conditions
from crewdesk.engine.result import PlanResult
from crewdesk.regulations.rulebook import Message
from crewdesk.units import Corner, Place


@dataclass(frozen=True)
class CallOptions:
    """The options of ``crewdesk call``; the window fills the same ones."""

    at: str | None = None
    """Change place; None: the next one."""
    air_c: float | None = None
    road_c: float | None = None
    surface: str | None = None
    hold: bool = False
    locks: Mapping[Place, str] = field(default_factory=dict)
    bans: frozenset[str] = frozenset()
    seed: int = 0
    scenarios: int = 64
    new_tyre_worth_s: float | None = None
    max_wheels: int | None = None
    minutes_left: float | None = None
    """Minutes left at the place; bounds the wheels that can be changed."""
    people: int | None = None
    """People at the car; None: as usual, inside the rule's limit."""


@dataclass(frozen=True)
class Estimate:
    """Best knowledge of one tyre now."""

    tyre_id: str
    tread_mm: tuple[float, float, float]
    sd_mm: float
    edge_share: tuple[float, float, float]
    measured: bool
    """True: read since it last ran; False: reckoned (shown with ≈)."""


@dataclass(frozen=True)
class WearPoint:
    """Least tread of a corner's tyre at one moment."""

    at_utc: datetime
    stage_km: float
    tread_mm: float
    low_mm: float
    high_mm: float
    """80 in 100 lie between low and high."""
    edge_share: float
    """Mean of the three edges."""


@dataclass(frozen=True)
class WearSegment:
    """One tyre's stay on a corner, past or planned."""

    tyre_id: str
    code: str
    rim_id: str
    planned: bool
    worst_point: str
    """inner, middle or outer."""
    points: tuple[WearPoint, ...]


@dataclass(frozen=True)
class WearReading:
    """A measured depth on the chart."""

    tyre_id: str
    at_utc: datetime
    stage_km: float
    tread_mm: float
    sd_mm: float = 0.2
    """Doubt of one depth reading; treated as one standard deviation. Tuning value."""


@dataclass(frozen=True)
class StageBand:
    """A stage, a service or a night on the chart's axis."""

    label: str
    kind: str
    """stage, service or night."""
    start_utc: datetime
    end_utc: datetime
    start_km: float
    end_km: float


@dataclass(frozen=True)
class WearChart:
    """Everything one corner's chart draws."""

    corner: Corner
    segments: tuple[WearSegment, ...]
    readings: tuple[WearReading, ...]
    bands: tuple[StageBand, ...]
    now_utc: datetime
    now_km: float
    minimum_mm: float
    minimum_source: str
    heading: str
    """As ``FL  end of loop 5.3 mm inner (4.0–6.5)``."""
    watch: str = ""
    """A warning in words where the range passes the minimum."""


@dataclass(frozen=True)
class Answer:
    """One answer of the engine with all that is shown beside it."""

    number: int
    place: str
    options: CallOptions
    result: PlanResult
    call: dict[str, Any]
    """The document of ``crewdesk call --json``."""
    conditions: Conditions
    estimates: Mapping[str, Estimate]
    """Of every tyre as the car will come in."""
    charts: tuple[WearChart, ...]
    final: bool
    """False: a better answer is still being looked for."""
    messages: tuple[Message, ...] = ()
    """What the rules say of the proposed fitting, watches and notes included."""
    warnings: tuple[str, ...] = ()
    """Readings, or reports of the air, that disagree with what was expected."""
    made_for: Mapping[str, Any] = field(default_factory=dict)
    """Inputs the call was made for (air, road, surface, when), to see when they change."""


@dataclass(frozen=True)
class Receipt:
    """The answer to one entry."""

    accepted: bool
    id: str | None
    messages: tuple[Message, ...]
    counters: Mapping[str, Any]
    """used, limit, by_compound."""
