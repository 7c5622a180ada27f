"""Constants, the order of the corners, plain conversions; the unit is part of every name."""

from typing import Final, Literal

Corner = Literal["FL", "FR", "RL", "RR"]
Place = Literal["FL", "FR", "RL", "RR", "SP1", "SP2"]

CORNERS: Final[tuple[Corner, ...]] = ("FL", "FR", "RL", "RR")
"""Front left, front right, rear left, rear right: the order of every axis of length 4."""

PLACES: Final[tuple[Place, ...]] = ("FL", "FR", "RL", "RR", "SP1", "SP2")
"""The corners and the two places where a wheel is carried."""

ZERO_C_IN_K: Final = 273.15
"""Source: SI Brochure, 9th ed., 2019 (exact)."""

STANDARD_PRESSURE_KPA: Final = 101.325
"""Mean sea-level pressure. Source: ISO 2533:1975 (value from memory, not verified)."""

STANDARD_GRAVITY_MS2: Final = 9.80665
"""Source: SI Brochure, 9th ed., 2019 (exact)."""

KPA_PER_BAR: Final = 100.0
KPA_PER_PSI: Final = 6.894757293168
"""Source: NIST SP 811 (pound-force per square inch)."""


def bar_from_kpa(pressure_kpa: float) -> float:
    """Return a pressure in bar."""
    return pressure_kpa / KPA_PER_BAR


def kpa_from_bar(pressure_bar: float) -> float:
    """Return a pressure in kPa."""
    return pressure_bar * KPA_PER_BAR
