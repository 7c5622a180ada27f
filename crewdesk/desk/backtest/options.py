"""What may stand behind the options of simulated days."""

import argparse
import math


def _number(text: str, low: float, high: float, what: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not low <= value <= high:
        raise argparse.ArgumentTypeError(f"{text} is no {what} from {low:g} to {high:g}")
    return value


def widened(text: str) -> float:
    """Return a factor on how far a day may lie from what is expected."""
    return _number(text, 0.0, 5.0, "factor")


def warmer(text: str) -> float:
    """Return how much warmer a day is than forecast. [°C]."""
    return _number(text, -20.0, 20.0, "difference in °C")


def wear(text: str) -> float:
    """Return a factor on wear."""
    return _number(text, 0.1, 10.0, "factor")


def whole(text: str) -> int:
    """Return a whole number from 1 up."""
    try:
        value = int(text)
    except ValueError:
        value = 0
    if value < 1:
        raise argparse.ArgumentTypeError(f"{text} is no whole number from 1 up")
    return value
