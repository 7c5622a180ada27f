"""What the day has taught so far: plain data, with the questions that may be asked of it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from math import exp, sqrt

import numpy as np
from numpy.typing import NDArray

from crewdesk.physics import kalman
from crewdesk.physics.bands import COMPOUND_LN_SD, CORNER_LN_SD, MODEL_LN_SD
from crewdesk.physics.learning_wear import STAGE_LN_SD
from crewdesk.units import CORNERS, Corner

Floats = NDArray[np.float64]

FIRST_LN_SD = 0.48
"""Doubt of ln(wear) while nothing was read: rubber, corner and model, rounded up."""


@dataclass(frozen=True, order=True)
class Rubber:
    """A compound on a kind of ground: what a factor on wear is learnt for."""

    use: str
    compound: str
    """The stock's own word."""
    ground: str


@dataclass(frozen=True)
class LossPart:
    """A part of a loss as the tables have it."""

    rubber: Rubber
    corners: tuple[int, ...]
    """Corners it may have been lost on, alike likely."""
    loss_mm: float


class Layout:
    """The order of the numbers that are learnt: compounds on grounds, then corners."""

    def __init__(self, rubbers: Sequence[Rubber]) -> None:
        self.rubbers = tuple(sorted(set(rubbers)))
        self.size = len(self.rubbers) + len(CORNERS)
        self._at = {rubber: number for number, rubber in enumerate(self.rubbers)}

    def share(self, parts: Sequence[LossPart]) -> Floats:
        """Return the shares of a loss, by compound and by corner."""
        row = np.zeros(self.size)
        total = sum(part.loss_mm for part in parts)
        for part in parts:
            weight = part.loss_mm / total if total > 0.0 else 1.0 / len(parts)
            row[self._at[part.rubber]] += weight
            for corner in part.corners:
                row[len(self.rubbers) + corner] += weight / len(part.corners)
        return row

    def of(self, rubber: Rubber) -> int:
        """Return the place of a compound on a ground."""
        return self._at[rubber]

    def corner(self, corner: int) -> int:
        """Return the place of a corner."""
        return len(self.rubbers) + corner


@dataclass(frozen=True)
class WearLearnt:
    """Wear of one compound on one kind of ground."""

    compound: str
    use: str
    ground: str
    factor: float
    """Wear over that of the tables, where it was read."""
    low: float
    high: float
    """90 in 100 lie between them."""
    before: float
    before_low: float
    before_high: float
    """The same when the event began."""
    readings: int
    rubber_factor: float
    """The rubber alone, its corners taken off."""
    told_apart: bool
    """Whether rubber and corner can be told apart."""
    sentence: str


@dataclass(frozen=True)
class WearRate:
    """Wear of one compound on one kind of ground and one corner, in mm of depth per km."""

    compound: str
    use: str
    ground: str
    corner: Corner
    start_mm_km: float
    """As the event began: the tables, with what the last event taught."""
    start_low: float
    start_high: float
    """90 in 100 lie between them; so with the others."""
    now_mm_km: float
    now_low: float
    now_high: float
    readings: int


@dataclass(frozen=True)
class CornerLearnt:
    """Wear of one corner over that of the tables, whatever is on it."""

    corner: Corner
    factor: float
    low: float
    high: float
    readings: int
    sentence: str


@dataclass(frozen=True)
class Compared:
    """A depth that was read beside what was expected of it."""

    entry_id: str
    tyre_id: str
    at: datetime
    compound: str
    ground: str
    corner: str
    """FL, or FL RR where it ran on more than one."""
    stages: tuple[str, ...]
    expected_loss_mm: float
    measured_loss_mm: float
    off: float
    """Differences in standard deviations, above 0: wore more than expected."""
    weight: float
    """How much it counted, 1 at most."""
    questioned: bool
    confirmed: bool
    from_stock: bool
    """The depth before it is that of the stock table."""
    points: tuple[int, ...] = ()
    """Points read: 0 inner, 1 middle, 2 outer; the next four go with them."""
    read_mm: tuple[float, ...] = ()
    expected_mm: tuple[float, ...] = ()
    low_mm: tuple[float, ...] = ()
    high_mm: tuple[float, ...] = ()
    """80 in 100 readings lie between low and high."""
    grounds: tuple[str, ...] = ()
    sentence: str = ""

    @property
    def more_worn_mm(self) -> float:
        """Return by how much more it wore than expected; below 0: less."""
        return self.measured_loss_mm - self.expected_loss_mm

    @property
    def either_way_mm(self) -> float:
        """Return how far off 80 in 100 readings are at the most, mean of the points."""
        if not self.high_mm:
            return 0.0
        wide = sum(high - low for low, high in zip(self.low_mm, self.high_mm, strict=True))
        return wide / (2.0 * len(self.high_mm))


@dataclass(frozen=True)
class HeatLearnt:
    """How much warmer than predicted the tyres run, as a factor on the rise over the air."""

    factor: float = 1.0
    low: float = 1.0
    high: float = 1.0
    readings: int = 0
    sentence: str = ""


@dataclass(frozen=True)
class GripLearnt:
    """Grip over that of the tables, in per cent."""

    what: str
    """front, rear, or a compound on a ground."""
    per_cent: float
    sd_per_cent: float
    readings: int
    sentence: str


@dataclass(frozen=True)
class PunctureLearnt:
    """Punctures per car on the stages so far."""

    count: int
    km: float
    table_100_km: float
    now_100_km: float
    low_100_km: float
    high_100_km: float
    sentence: str


@dataclass(frozen=True)
class ForecastCompared:
    """Air as reported beside the forecast of that hour."""

    place: str
    at: datetime
    forecast_c: float
    came_c: float


@dataclass(frozen=True)
class Learnt:
    """What the day has taught, and how sure that is."""

    layout: Layout
    belief: kalman.Belief
    stages_since: int = 0
    """Stages run since the last reading that taught something."""
    readings: int = 0
    carried_from: str = ""
    """Name of the event it began with; empty: only with the tables."""
    wear: tuple[WearLearnt, ...] = ()
    corners: tuple[CornerLearnt, ...] = ()
    rates: tuple[WearRate, ...] = ()
    compared: tuple[Compared, ...] = ()
    counts: Mapping[Rubber, int] = field(default_factory=dict)
    corner_counts: tuple[int, int, int, int] = (0, 0, 0, 0)
    heat: HeatLearnt = HeatLearnt()
    grip: tuple[GripLearnt, ...] = ()
    punctures: PunctureLearnt | None = None
    forecast: tuple[ForecastCompared, ...] = ()
    doubted: frozenset[tuple[str, int]] = frozenset()
    """Tyre and runs before a reading not taken: far off, not confirmed or read again."""
    warnings: tuple[str, ...] = ()
    """Readings that disagree with the model, in plain words."""
    sentences: tuple[str, ...] = ()

    @property
    def knows(self) -> bool:
        """Whether there is more than the tables."""
        return self.readings > 0 or bool(self.carried_from)

    @property
    def outliers(self) -> tuple[Compared, ...]:
        """Return the readings that were asked about."""
        return tuple(one for one in self.compared if one.questioned)

    def factor(self, rubber: Rubber, corner: int | None = None) -> float:
        """Return the best factor on wear, of a compound alone or on a corner."""
        mean = 0.0
        if rubber in self.layout.rubbers:
            mean += float(self.belief.mean[self.layout.of(rubber)])
        if corner is not None:
            mean += float(self.belief.mean[self.layout.corner(corner)])
        return exp(mean)

    def factor_of_corner(self, corner: int) -> float:
        """Return the best factor of a corner alone."""
        return exp(float(self.belief.mean[self.layout.corner(corner)]))

    def part_factor(self, part: LossPart) -> float:
        """Return the factor on a part of a loss, the mean over its corners."""
        return sum(self.factor(part.rubber, c) for c in part.corners) / len(part.corners)

    def ln_sd(self, rubber: Rubber, corner: int, stages: int = 0) -> float:
        """Return the doubt of ln(wear) on a corner, the model's own error with it."""
        if not self.knows:
            return FIRST_LN_SD
        row = np.zeros(self.layout.size)
        row[self.layout.corner(corner)] = 1.0
        more = COMPOUND_LN_SD**2
        if rubber in self.layout.rubbers:
            row[self.layout.of(rubber)] = 1.0
            more = (self.stages_since + stages) * STAGE_LN_SD**2
        return sqrt(self.belief.sd(row) ** 2 + more + MODEL_LN_SD**2)

    def tyre_ln_sd(self, use: str, compound: str, grounds: Mapping[str, float]) -> float:
        """Return the doubt of ln(wear) of a tyre on no corner yet, over grounds by weight."""
        if not self.knows or not grounds:
            return FIRST_LN_SD
        total = sum(grounds.values()) * len(CORNERS)
        squares = sum(
            weight * self.ln_sd(Rubber(use, compound, ground), corner) ** 2
            for ground, weight in grounds.items()
            for corner in range(len(CORNERS))
        )
        return sqrt(squares / total)

    def loss_sd_mm(self, parts: Sequence[LossPart]) -> float:
        """Return the doubt of a loss made of parts [mm]; the parts with their factors on."""
        lost = sum(part.loss_mm for part in parts)
        if not parts or not self.knows:
            return FIRST_LN_SD * lost
        row = np.zeros(self.layout.size)
        new: dict[Rubber, float] = {}
        for part in parts:
            if part.rubber in self.layout.rubbers:
                row[self.layout.of(part.rubber)] += part.loss_mm
            else:
                new[part.rubber] = new.get(part.rubber, 0.0) + part.loss_mm
            for corner in part.corners:
                row[self.layout.corner(corner)] += part.loss_mm / len(part.corners)
        own = sum((COMPOUND_LN_SD * mm) ** 2 for mm in new.values())
        wander = self.stages_since * (STAGE_LN_SD * lost) ** 2
        return sqrt(self.belief.sd(row) ** 2 + own + wander + (MODEL_LN_SD * lost) ** 2)


def nothing_learnt() -> Learnt:
    """Return what is known where nothing was read and nothing carried over."""
    layout = Layout(())
    return Learnt(layout, kalman.start(np.zeros(layout.size), [CORNER_LN_SD] * len(CORNERS)))
