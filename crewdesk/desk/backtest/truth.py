"""What is hidden on a simulated day: weather, wear, sharp stones, and the error of a gauge."""

from dataclasses import dataclass
from functools import cached_property
from math import exp

from crewdesk.conditions.moments import STATES, Conditions
from crewdesk.desk.backtest.dice import Dice
from crewdesk.desk.backtest.sky import Spread, true_conditions
from crewdesk.desk.learn_runs import ground
from crewdesk.desk.outlook import moments_of
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.itinerary import Stage
from crewdesk.documents.stock import StockTyre
from crewdesk.physics.bands import COMPOUND_LN_SD, CORNER_LN_SD, MODEL_LN_SD
from crewdesk.physics.learning_wear import GAUGE_SD_MM
from crewdesk.units import CORNERS

AIR_SD_C = 0.5
ROAD_SD_C = 1.5
"""Noise of the crew's own thermometers, as a call takes it. Common practice, no source."""
RATE_SHAPE = 2.0
"""Of the Gamma spread of a day's punctures. Tuning value of this project."""


@dataclass(frozen=True)
class Truth:
    """One day as it really is. Policies see nothing of it but what a crew reads off."""

    dice: Dice
    spread: Spread
    conditions: Conditions
    """One scenario, every stage and change place."""

    @cached_property
    def puncture_factor(self) -> float:
        """Return the day's punctures over those of the table, 1 on the mean of all days."""
        if self.spread.widen <= 0.0:
            return 1.0
        shape = RATE_SHAPE / self.spread.widen**2
        return float(self.dice.stream("punctures").gamma(shape, 1.0 / shape))

    def ground(self, stage: Stage) -> str:
        """Return the kind of ground a stage really is."""
        column = self.conditions.index(stage.ref)
        return ground(stage.surface, STATES[int(self.conditions.state[0, column])])

    def compound_factor(self, stock: StockTyre, ground_word: str) -> float:
        """Return the wear of a compound on a ground over the table."""
        name = f"wear {stock.use} {stock.compound} {ground_word}"
        drawn = self.spread.widen * COMPOUND_LN_SD * self.dice.normal(name)
        return self.spread.wear_bias * exp(drawn)

    def corner_factor(self, corner: int) -> float:
        """Return how hard this car is on a corner over the table."""
        name = f"corner {CORNERS[corner]}"
        return exp(self.spread.widen * CORNER_LN_SD * self.dice.normal(name))

    def tyre_factor(self, tyre_id: str, loop: int) -> float:
        """Return what neither compound nor corner explains of a tyre's wear in a loop."""
        name = f"tyre {tyre_id} {loop}"
        return exp(self.spread.widen * MODEL_LN_SD * self.dice.normal(name))

    def punctured(self, stage: str, corner: int, hazard: float) -> bool:
        """Say whether a corner is punctured on a stage: the same stones for everybody."""
        drawn = self.dice.uniform(f"stone {stage} {CORNERS[corner]}")
        return drawn < 1.0 - exp(-hazard * self.puncture_factor)

    def puncture_share(self, stage: str, corner: int) -> float:
        """Return how far into the stage, 0 to 1."""
        return self.dice.uniform(f"where {stage} {CORNERS[corner]}")

    def gauge_mm(self, tyre_id: str, place: str, point: int, depth_mm: float) -> float:
        """Return a depth as it is read, in tenths."""
        off = GAUGE_SD_MM * self.dice.normal(f"gauge {place} {tyre_id} {point}")
        return max(round(depth_mm + off, 1), 0.0)

    def air_read_c(self, place: str) -> float:
        """Return the air as the crew reads it at a change place."""
        at = float(self.conditions.air_c[0, self.conditions.index(place)])
        return round(at + AIR_SD_C * self.dice.normal(f"air read {place}"), 1)

    def road_read_c(self, place: str) -> float:
        """Return the road as the crew reads it at a change place."""
        at = float(self.conditions.road_c[0, self.conditions.index(place)])
        return round(at + ROAD_SD_C * self.dice.normal(f"road read {place}"), 1)

    def state_at(self, key: str) -> str:
        """Return the word for the road at a stage or change place."""
        return STATES[int(self.conditions.state[0, self.conditions.index(key)])]

    def rain_at(self, key: str) -> float:
        """Return the rain at a stage or change place. [mm/h]."""
        return float(self.conditions.rain_mm_h[0, self.conditions.index(key)])


def draw_truth(bundle: EventBundle, seed: int, day: int, spread: Spread) -> Truth:
    """Return the hidden truth of a day of a seed."""
    dice = Dice(seed, day)
    itinerary = bundle.itinerary
    moments = moments_of(bundle, itinerary.stages, itinerary.change_places)
    return Truth(dice, spread, true_conditions(bundle.weather, moments, dice, spread))
