"""``event.json``: who we are, where, in which car, under which rules."""

from typing import Annotated, Any, ClassVar, Literal
from uuid import UUID

from pydantic import Field

from crewdesk.documents.base import Document, Kpa, Metres, Mm, Part, Share

Surface = Literal["gravel", "asphalt", "snow", "ice"]
Family = Literal["gravel", "asphalt", "asphalt_wet", "winter"]
Hardness = Literal["soft", "medium", "hard"]


class Gap(Part):
    """The gap in front of the car in ``from_position`` and of those behind it."""

    from_position: Annotated[int, Field(ge=1)]
    gap_min: Annotated[float, Field(ge=0, le=60)]


class Leg(Part):
    """Our place in the order of one leg."""

    leg: Annotated[int, Field(ge=1)]
    position: Annotated[int, Field(ge=1, le=500)]
    gaps: tuple[Gap, ...]

    def offset_min(self, due_reference: str) -> float:
        """Return how many minutes after the printed time we are due.

        With ``first_car`` the gaps of positions 2 to ours add up, with ``car_zero`` also
        the one in front of position 1.
        """
        first = 2 if due_reference == "first_car" else 1
        steps = sorted(self.gaps, key=lambda g: g.from_position)
        total = 0.0
        for position in range(first, self.position + 1):
            known = [g.gap_min for g in steps if g.from_position <= position]
            total += known[-1] if known else (steps[0].gap_min if steps else 0.0)
        return total


class Car(Part):
    """The car, crew included in its mass."""

    mass_kg: Annotated[float, Field(gt=300, lt=4000)]
    front_share: Annotated[float, Field(gt=0.2, lt=0.8)]
    wheelbase_m: Annotated[float, Field(gt=1.0, lt=5.0)]
    cg_height_m: Annotated[float, Field(gt=0.1, lt=1.5)]
    track_m: Annotated[float, Field(gt=0.8, lt=2.5)]
    brake_front_share: Annotated[float, Field(gt=0.2, lt=1.0)]
    drive_front_share: Share
    power_kw: Annotated[float, Field(gt=10, lt=1000)]
    camber_front_deg: dict[str, float] = Field(default_factory=dict)
    """By surface family; negative is top-in."""
    camber_rear_deg: dict[str, float] = Field(default_factory=dict)
    tyre_size: str = ""


class Site(Part):
    """A place with weather."""

    name: str
    lat_deg: Annotated[float, Field(ge=-90, le=90)]
    lon_deg: Annotated[float, Field(ge=-180, le=180)]
    alt_m: Metres
    is_service: bool = False


class Rim(Part):
    """A rim of the crew."""

    rim_id: str
    rim: str
    """Width, flange and diameter in inches, as 7Jx15."""
    fits: str = "all"
    """Free words: which corners or car it fits."""


class RuleValue(Part):
    """One value of the regulations with where it came from."""

    value: Any = None
    unit: str = ""
    source: str = ""
    article: str = ""
    bulletin_no: str = ""
    valid_from: str = ""
    entered_by: str = ""


class TyreModel(Part):
    """A tyre model as the crew buys it; the catalogue fills what is not given."""

    maker: str
    model: str
    compound: str
    """The word in the stock's compound column."""
    family: Family
    hardness: Hardness
    cap_group: str = ""
    """Name of the cap this model counts under; blank: its compound."""
    size: str = ""
    tread_new_mm: Mm | None = None
    price: Annotated[float, Field(ge=0)] | None = None
    edge_brake: Annotated[float, Field(ge=0.7, le=1.15)] = 1.0
    edge_drive: Annotated[float, Field(ge=0.7, le=1.15)] = 1.0
    edge_side: Annotated[float, Field(ge=0.7, le=1.15)] = 1.0
    directional: bool = False
    shoulder: Literal["square", "rounded"] = "square"
    casing: Annotated[float, Field(ge=0.5, le=10)] = 1.0
    bead_min_kpa: Kpa = 120.0
    min_cold_kpa: Kpa | None = None
    """The maker's own minimum cold pressure; blank: the usual floor of the surface."""
    max_kpa: Kpa | None = None
    mass_kg: Annotated[float, Field(ge=8, le=60)] = 22.0
    overrides: dict[str, float] = Field(default_factory=dict)
    """Catalogue numbers that this model replaces, by their catalogue names."""


_OwnMinutes = Annotated[float, Field(gt=0, le=240)]
_OwnCount = Annotated[float, Field(ge=1, le=50)]


class OwnTimes(Part):
    """How long this crew takes; what is left out stays as it ships."""

    stands_min: _OwnMinutes | None = None
    wheel_min: _OwnMinutes | None = None
    torque_min: _OwnMinutes | None = None
    tread_min: _OwnMinutes | None = None
    pressure_min: _OwnMinutes | None = None
    cross_min: _OwnMinutes | None = None
    machine_min: _OwnMinutes | None = None
    machines: _OwnCount | None = None
    people: _OwnCount | None = None
    people_one_day: _OwnCount | None = None
    van_kmh: Annotated[float, Field(ge=5, le=130)] | None = None
    van_margin_min: _OwnMinutes | None = None

    def given(self) -> dict[str, float]:
        """Return the crew's own values by name."""
        return self.model_dump(exclude_none=True)


class Settings(Part):
    """What the crew decides once: money, risk, the costs of a lost wheel, how it works."""

    new_tyre_worth_s: Annotated[float, Field(ge=0, le=1000)] = 5.0
    """Seconds that one new tyre is worth; 0: money does not count."""
    wheel_lost_s: Annotated[float, Field(ge=0, le=10000)] = 900.0
    wheel_change_s: Annotated[float, Field(ge=0, le=2000)] = 120.0
    aggressiveness: Share = 0.8
    worst_tenth_weight: Annotated[float, Field(ge=0, le=5)] = 0.1
    tread_margin_sd: Annotated[float, Field(ge=0, le=5)] = 0.0
    tread_risk_s: Annotated[float, Field(ge=0, le=10000)] = 60.0
    beyond_plan_s_per_mm: Annotated[float, Field(ge=0, le=100)] = 0.0
    budget: Annotated[float, Field(ge=0)] | None = None
    call_before_in_min: Annotated[float, Field(ge=0, le=240)] = 30.0
    """Minutes before IN by which the call should stand."""
    keep_gain_s: Annotated[float, Field(ge=0, le=600)] = 5.0
    """A better call is only offered above this gain for each loop."""
    mixes_ticked: bool = False
    """Side and diagonal mixes may be proposed where the rules only warn."""
    people_at_car: Annotated[int, Field(ge=1, le=50)] | None = None
    """People at the car; left out: as usual. The rule's limit of a place holds all the same."""
    short_call_min: dict[str, Annotated[float, Field(ge=0, le=600)]] = Field(
        default_factory=dict
    )
    """Minutes for the short call by change place; where there are none the clock decides."""
    work_times: OwnTimes = OwnTimes()


class EventFile(Document):
    """``event.json``."""

    FORMAT: ClassVar[int] = 1

    event_id: UUID
    name: str
    zone: str
    """IANA name of the event's time zone."""
    regulation_set: str
    car_class: str = "four_wheel_drive"
    due_reference: Literal["first_car", "car_zero"] = "first_car"
    legs: tuple[Leg, ...]
    car: Car
    sites: tuple[Site, ...] = ()
    rims: tuple[Rim, ...] = ()
    rules: dict[str, RuleValue] = Field(default_factory=dict)
    models: tuple[TyreModel, ...] = ()
    settings: Settings = Settings()
