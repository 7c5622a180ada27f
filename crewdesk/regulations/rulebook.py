"""The rules in force at one moment, as typed values."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from crewdesk.documents.event import RuleValue

Level = Literal["stops", "watch", "note"]
MixLevel = Literal["block", "warn", "allow"]


@dataclass(frozen=True)
class Message:
    """One answer of the rules: code, level, the numbers, and the words."""

    code: str
    level: Level
    text: str
    values: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True)
class Rulebook:
    """Values in force; ``None`` means that nothing is checked.

    Built from the regulation set, the event's own values and the bulletins so far.
    """

    name: str
    car_class: str
    qty_total: int | None
    qty_shakedown: int
    shakedown_in_total: bool
    caps: Mapping[str, int]
    """Most tyres by cap group."""
    count_rule: Literal["fitted", "fitted_or_carried"]
    marks_needed: bool
    registration_needed: bool
    spare_min: int
    spare_max: int
    wheel_must_return: bool
    tread_min_mm: float
    winter_tread_min_mm: float | None
    axle_mix: Mapping[str, MixLevel]
    """Keys ``compound`` (a model counts as a compound), ``maker``, ``structure``."""
    joker_total: int
    people_max: Mapping[str, int | None]
    """By kind of place: service, zone, remote."""
    last_service_change: bool
    size_table: Mapping[str, str]
    """Tyre size and rim asked for by the class, keys ``size`` and ``rim``; empty: free."""
    e_mark_needed: bool
    age_watch_years: float
    age_stop_years: float
    early_s_per_min: float
    late_s_per_min: float
    out_of_time_min: float
    cut_allowed: bool
    sources: Mapping[str, str] = field(default_factory=dict)
    """Where each value came from, by field name."""
    insert_allowed: bool = False
    """Foam or other fillings inside the tyre."""
    heat_or_chemicals_allowed: bool = False
    maker_locked: bool = False
    """All tyres of the car from one maker."""
    groove_min_share: float = 0.0
    """Least share of the pattern that is groove."""
    groove_count_min: int = 0
    """Least number of grooves around the tyre."""
    studs: Mapping[str, float] = field(default_factory=dict)
    """Most studs for each 10 cm of the circumference, key ``per_dm``; empty: not checked."""
    stud_watch: Mapping[str, float] = field(default_factory=dict)
    """When worn studs are told of, keys ``out_mm`` and ``lost_share``."""
    stud_exemption_needed: bool = False
    stud_exemption_reference: str = ""
    """Paper that lets rally studs on the open road."""
    retorque_after_km: float = 50.0
    cold_min_kpa: float | None = None
    """Least cold pressure for every tyre; None: each maker's own sheet."""
    qty_per_leg: int | None = None
    """Most tyres newly counted in one leg."""
    qty_per_service: int | None = None
    """Most tyres newly counted at one change place."""
    wets_count: bool = True
    """Rain tyres count against the limit."""
    nominate_by: str = ""
    """When the nomination closes, as written; :func:`crewdesk.desk.nomination.closes_at`."""
    reuse_ok: bool = True
    """A marked tyre that came off may come back."""
    prior_use_cap: int | None = None
    """Most used tyres of earlier events."""
    permitted_makers: tuple[str, ...] = ()
    """Makers of the permitted list; empty: free."""
    road_tread_min_mm: float = 0.0
    """Least tread on the open road."""
    winter_from: str = ""
    winter_to: str = ""
    """Days of the year, MM-DD, between which the winter minimum is in force; blank: always."""
    timing_mode: Literal["scheduled", "target"] = "scheduled"
    flexi_window_to: str = ""
    """Local time, hh:mm, by which a flexi service must have been entered."""
    values: Mapping[str, RuleValue] = field(default_factory=dict)
    """Each value as it was given, with source, article, bulletin and who entered it.

    Cells of a table given on their own stand under their own name, as ``caps.hard``.
    """

    def value_of(self, name: str) -> RuleValue:
        """Return a value with where it came from; blank where the set leaves it open."""
        return self.values.get(name, RuleValue())
