"""What may stand behind an option of the command line."""

import argparse
import math

from crewdesk.units import PLACES

MOST_SCENARIOS = 4096


def number(text: str, low: float, high: float, what: str) -> float:
    """Return a number between two others, both allowed."""
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not low <= value <= high:
        raise argparse.ArgumentTypeError(f"{text} is no {what} from {low:g} to {high:g}")
    return value


def celsius(text: str) -> float:
    """Return a temperature [°C]."""
    return number(text, -50, 85, "temperature in °C")


def seconds(text: str) -> float:
    """Return a number of seconds."""
    return number(text, 0, 1000, "number of seconds")


def whole(text: str, low: int = 1) -> int:
    """Return a whole number from ``low`` up."""
    try:
        value = int(text)
    except ValueError:
        value = low - 1
    if value < low:
        raise argparse.ArgumentTypeError(f"{text} is no whole number from {low} up")
    return value


def count(text: str) -> int:
    """Return a whole number from 0 up."""
    return whole(text, 0)


def positive(text: str) -> int:
    """Return how many courses of the day to work out."""
    value = whole(text, 1)
    if value > MOST_SCENARIOS:
        raise argparse.ArgumentTypeError(f"{text} is more than {MOST_SCENARIOS}")
    return value


def lock(text: str) -> tuple[str, str]:
    """Return place and tyre of a lock, as FL=H07."""
    place, _, tyre = text.partition("=")
    place = place.strip().upper()
    if place not in PLACES or not tyre.strip():
        raise argparse.ArgumentTypeError(
            f"{text} does not name a place and a tyre, as FL=H07; places: {', '.join(PLACES)}"
        )
    return place, tyre.strip()
