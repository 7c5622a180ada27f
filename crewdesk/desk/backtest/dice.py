"""Draws that belong to a day and a name, so that no draw moves another."""

import zlib
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Dice:
    """The draws of one simulated day: the same name gives the same draw, whoever asks."""

    seed: int
    day: int

    def stream(self, name: str) -> np.random.Generator:
        """Return the random numbers of a name."""
        key = zlib.crc32(name.encode())
        return np.random.default_rng(np.random.SeedSequence([self.seed, self.day, key]))

    def normal(self, name: str) -> float:
        """Return a standard normal draw."""
        return float(self.stream(name).standard_normal())

    def uniform(self, name: str) -> float:
        """Return a draw from 0 to 1."""
        return float(self.stream(name).random())
