"""What the rest of the program asks of the weather, and what it gets back."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final

import numpy as np
from numpy.typing import NDArray

STATES: Final[tuple[str, ...]] = (
    "dry",
    "damp",
    "wet",
    "standing",
    "muddy",
    "frozen",
    "snow",
    "ice",
)
"""Surface states by index in ``Conditions.state``; the order carries no meaning."""


@dataclass(frozen=True)
class Moment:
    """A place at a time for which the conditions are wanted."""

    key: str
    """Stage reference, or the key of a change place."""
    at_utc: datetime
    altitude_m: float
    surface: str
    """gravel or asphalt."""
    shade: float
    """Share of the length out of the sun."""
    lat_deg: float
    lon_deg: float
    holds_water: float = 0.0
    road: str = ""
    """Name of the road, the same for later passes; empty: nothing else runs on it."""
    part: str = ""
    """start, middle, end or top of a stage; empty: all of it."""
    part_altitude_m: Mapping[str, float] = field(default_factory=dict)
    """Altitude of the parts that have one of their own."""


@dataclass(frozen=True)
class LiveReport:
    """What somebody reported, as far as the weather is concerned."""

    at_utc: datetime
    altitude_m: float
    surface: str
    air_c: float | None = None
    road_c: float | None = None
    rain_mm_h: float | None = None
    state: str | None = None
    stage: str = ""
    """Stage reference where the report is about one stage only."""
    confirmed: bool = False
    road: str = ""
    """Name of the road where the stage itself is not among the moments any more."""
    part: str = ""
    """start, middle, end or top, where the state is that of a part of the stage only."""
    share: float | None = None
    """Share of the stage's length that the part has; None: a third."""
    air_sd_c: float = 0.5
    """A shaded thermometer; 1.5 for the sensor of a car. Common practice, no source."""
    road_sd_c: float = 1.5
    """Common practice, no source."""


@dataclass(frozen=True)
class Conditions:
    """Air, road and surface at each moment, in every scenario.

    All arrays are float64 of shape (n_scenarios, n_moments) unless said otherwise.
    """

    keys: tuple[str, ...]
    air_c: NDArray[np.float64]
    road_c: NDArray[np.float64]
    """Mean over the length, shaded and open parts by their shares [°C]."""
    state: NDArray[np.int64]
    """Index into STATES."""
    air_mean_c: NDArray[np.float64]
    """Shape (n_moments,), the best estimate without scenarios."""
    air_sd_c: NDArray[np.float64]
    road_mean_c: NDArray[np.float64]
    road_sd_c: NDArray[np.float64]
    state_shares: tuple[dict[str, float], ...]
    """Probability of each surface state at each moment."""
    rain_mm_h: NDArray[np.float64]
    assumed: tuple[str, ...] = ()
    """Inputs nobody gave, in plain words."""
    messages: tuple[str, ...] = ()
    """Worth a word to the crew: readings far from the forecast, hours without a forecast."""
    parts: Mapping[str, tuple[tuple[str, float], ...]] = field(default_factory=dict)
    """By stage: columns of its parts that were told of by themselves, with their shares of
    the length. What they leave has the state of the stage's own column."""

    def index(self, key: str) -> int:
        """Return the column of a moment."""
        return self.keys.index(key)

    def part_states(self, key: str) -> tuple[tuple[NDArray[np.int64], float], ...]:
        """Return the states of a stage's parts, each in every scenario, and their shares."""
        return tuple(
            (self.state[:, self.index(column)], share)
            for column, share in self.parts.get(key, ())
        )

    def columns(self, keys: Sequence[str]) -> NDArray[np.int64]:
        """Return the columns of several moments."""
        return np.array([self.keys.index(k) for k in keys], dtype=np.int64)
