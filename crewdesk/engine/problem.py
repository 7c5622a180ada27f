"""What the engine is asked: everything it needs, checked once and frozen."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from crewdesk.conditions.moments import Conditions
from crewdesk.documents.event import Car, Settings, TyreModel
from crewdesk.documents.itinerary import ChangePlace, Stage
from crewdesk.documents.stock import StockTyre
from crewdesk.regulations.rulebook import Rulebook
from crewdesk.units import Place


@dataclass(frozen=True)
class TyreInput:
    """One tyre as it stands at decision time."""

    stock: StockTyre
    model: TyreModel
    tread_mm: tuple[float, float, float]
    """Best estimate, inner, middle, outer."""
    edge_share: tuple[float, float, float]
    tread_sd_mm: float
    """How unsure the depth itself is: 0.05 when just measured, more since."""
    rim_id: str
    counted: bool
    ever_fitted: bool
    usable: bool
    """False: locked, scrapped, away, shakedown, unmarked, not nominated."""
    unusable_why: str = ""
    tread_c: float | None = None
    """Tread temperature at decision time; None: at air temperature."""
    bulk_c: float | None = None
    on_car: Place | None = None
    """Where it is on the car as it comes to the change place."""
    available_from: datetime | None = None
    in_zone: bool = False
    """Lies in the zone that the call is for."""
    joker: bool = False
    """Replaces a damaged tyre, with its paper: beside the limits, of a number of its own."""
    joker_used: bool = False
    """Such a one that has been on the car."""
    side: str = ""
    """Side of the car whose sense of rotation ``edge_share`` is for; blank: the stock's own."""


@dataclass(frozen=True)
class Choices:
    """What the crew forces on the call."""

    locks: Mapping[Place, str] = field(default_factory=dict)
    """Tyre fixed to a place for the next loop."""
    bans: frozenset[str] = frozenset()
    """Tyre ids or compound words not to be used at all."""


@dataclass(frozen=True)
class Problem:
    """A call to be made.

    ``places[0]`` is the change place the call is for; ``conditions`` holds one column for
    every stage of every loop and one for every change place (air when pressures are set).
    """

    tyres: tuple[TyreInput, ...]
    """In the order of the stock table; answers must not depend on it."""
    car: Car
    settings: Settings
    rules: Rulebook
    places: tuple[ChangePlace, ...]
    stages: Mapping[str, Stage]
    """By reference."""
    positions: Mapping[int, int]
    """Our position on the road by leg (cars ahead sweep the loose gravel)."""
    conditions: Conditions
    rims: Mapping[str, str]
    """Usable rims, type by id."""
    counted_ids: frozenset[str]
    choices: Choices = Choices()
    xi_money_per_s: float = 0.0
    """Money that one second is worth; 0: money does not count."""
    seed: int = 0
    max_wheels: int | None = None
    """Short call: at most this many wheels may be changed at places[0]."""
    wear_sd: float = 0.48
    """Standard deviation of ln(wear) before any reading (compound, corner, model error)."""
    wear_multiplier: Mapping[str, float] = field(default_factory=dict)
    """What readings have taught of wear, by compound word; 1 where nothing is known."""
    corner_multiplier: Mapping[str, float] = field(default_factory=dict)
    """The same by corner."""
    stage_wear_multiplier: Mapping[tuple[str, str], float] = field(default_factory=dict)
    """By compound word and stage, in place of ``wear_multiplier``: grounds differ."""
    tyre_wear_sd: Mapping[str, float] = field(default_factory=dict)
    """Standard deviation of ln(wear) by tyre id, where readings have told; else ``wear_sd``."""
    assumed: tuple[str, ...] = ()
    counted_this_leg: int = 0
    """Tyres counted in the leg of ``places[0]`` before this call."""
    counted_here: int = 0
    """Tyres counted at ``places[0]`` before this call."""
