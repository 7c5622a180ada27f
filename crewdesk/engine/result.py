"""What the engine answers."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from crewdesk.units import Corner, Place


@dataclass(frozen=True)
class ReserveWheel:
    """A wheel brought to a zone in case a puncture before it takes a planned one."""

    tyre: str
    rim: str
    corners: tuple[Corner, ...]
    """Of the loop before: it helps where one of them is lost; empty: where two are at once."""
    chance: float
    """Of a loss in which it helps."""
    saves_s: float
    """Mean over all that may happen."""


@dataclass(frozen=True)
class LoopPlan:
    """The fitting of one loop and what it leads to."""

    loop: int
    place: str
    fitting: Mapping[Place, str | None]
    """FL FR RL RR SP1 SP2; a place for a spare is None where none is carried."""
    cold_pressure_kpa: Mapping[Place, float]
    floor_binds: Mapping[Place, bool]
    """Where the floor, not the hot target, sets the cold pressure."""
    hot_target_kpa: float
    bring: tuple[str, ...]
    """Wheels to bring to a zone, decided at the service before: planned ones, then reserve."""
    rims: Mapping[Place, str]
    tread_end_mm: Mapping[str, tuple[float, float, float]]
    """Mean prediction by tyre: inner, middle, outer at the end of the loop."""
    tread_sd_mm: Mapping[str, float]
    edge_end: Mapping[str, tuple[float, float, float]]
    peak_tread_c: Mapping[str, float]
    expected_s: float
    """Stage time alone, mean over scenarios."""
    spread_s: tuple[float, float]
    """10 and 90 % points of the stage time."""
    below_minimum: Mapping[str, float]
    """Chance of ending below the minimum tread, by tyre."""
    stage_tread_mm: Mapping[str, tuple[tuple[str, float, float, float], ...]] = field(
        default_factory=dict
    )
    """By tyre: (stage, least depth, low, high) after every stage; 80 in 100 lie between."""
    bring_rims: Mapping[str, str] = field(default_factory=dict)
    """Rims of the wheels to bring, by tyre."""
    reserve: tuple[ReserveWheel, ...] = ()
    """Those of them that nothing but a puncture would need."""


@dataclass(frozen=True)
class Objective:
    """Parts of the objective; they add up to ``total_s``."""

    time_s: float
    punctures_s: float
    money_s: float
    beyond_s: float
    worst_tenth_s: float

    @property
    def total_s(self) -> float:
        """Return the sum."""
        return (
            self.time_s + self.punctures_s + self.money_s + self.beyond_s + self.worst_tenth_s
        )


@dataclass(frozen=True)
class Reason:
    """One cause of the difference against the next best call."""

    kind: str
    """temperature, wear, balance, spare_mass, punctures, money, later_loops, worst_tenth;
    rule: a limit that is used up, with what one more would be worth in its values."""
    seconds: float
    """Positive: in favour of the call."""
    values: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True)
class Alternative:
    """The best plan behind another next fitting."""

    fitting: Mapping[Place, str | None]
    compounds: Mapping[Place, str]
    objective_s: float
    loss_s: float
    differs: tuple[str, ...]
    """Places that differ from the call."""
    plan: tuple[LoopPlan, ...] = ()


@dataclass(frozen=True)
class Flip:
    """The value of a condition at which another call becomes the better one."""

    what: str
    """road, rain, new_tyre_worth or tread."""
    unit: str
    now: float
    at: float
    then: Mapping[Place, str]
    """Compounds by place."""
    tyre: str = ""
    """Whose tread it is."""
    fitting: Mapping[Place, str | None] = field(default_factory=dict)
    """The call on the far side."""


@dataclass(frozen=True)
class FlipLine:
    """What one way to fit the next loop costs as a condition changes."""

    compounds: Mapping[Place, str]
    seconds: tuple[float, ...]
    """Above the best at each value."""
    fitting: Mapping[Place, str | None] = field(default_factory=dict)
    """The tyres it stands for."""


@dataclass(frozen=True)
class FlipChart:
    """How the ways to fit the next loop stand to each other as a condition changes."""

    what: str
    unit: str
    now: float
    values: tuple[float, ...]
    lines: tuple[FlipLine, ...]
    """The call first."""
    tyre: str = ""


@dataclass(frozen=True)
class ReadingWorth:
    """The one reading that is worth most before the call is made."""

    what: str
    """road, surface or tread."""
    gain_s: float
    """Expected gain."""
    tyre: str = ""


@dataclass(frozen=True)
class Lift:
    """A constraint to lift where there is no plan."""

    code: str
    what: str


@dataclass(frozen=True)
class RuleCheck:
    """A rule that was checked for the call."""

    code: str
    level: str
    ok: bool
    text: str
    values: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True)
class ShortCall:
    """The best fitting that a shortened service can do."""

    plan: LoopPlan
    minutes: float
    wheels: int
    loss_s: float
    """Against the full call."""


@dataclass(frozen=True)
class PlanResult:
    """The call and the plan behind it."""

    plan: tuple[LoopPlan, ...]
    """Empty where there is no plan; then ``lift`` says what stands in the way."""
    objective: Objective | None
    bound_s: float | None
    """No other plan without a breach judges below this."""
    complete: bool
    alternatives: tuple[Alternative, ...] = ()
    short_call: ShortCall | None = None
    reasons: tuple[Reason, ...] = ()
    flips: tuple[Flip, ...] = ()
    rules: tuple[RuleCheck, ...] = ()
    lift: tuple[Lift, ...] = ()
    least_worn: tuple[LoopPlan, ...] = ()
    """Where only the least tread ahead leaves no plan: the best one without it. No call."""
    messages: tuple[str, ...] = ()
    scenarios: int = 0
    seed: int = 0
    elapsed_ms: float = 0.0
    work: int = 0
    """Units of search done; the command line stops by this, not by the clock."""
    flip_charts: tuple[FlipChart, ...] = ()
    reading: ReadingWorth | None = None
    recourse_objective_s: float | None = None
    """Cost when the fittings after the next loop answer to what that loop has shown."""
    recourse_bound_s: float | None = None
    held_fixed: Alternative | None = None
    """The best of plans held fixed, where answering later makes another call the better."""

    @property
    def gap_s(self) -> float | None:
        """Return objective minus bound."""
        if self.objective is None or self.bound_s is None:
            return None
        return self.objective.total_s - self.bound_s


@dataclass(frozen=True)
class JudgeResult:
    """The cost of a given plan under the same model."""

    plan: tuple[LoopPlan, ...]
    objective: Objective | None
    breaches: tuple[RuleCheck, ...]
    completed: bool = False
