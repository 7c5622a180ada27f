"""Small forms of words and figures that many pages share; no sentences."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from crewdesk.units import Place

WALK: Final[tuple[Place, ...]] = ("FL", "FR", "RR", "RL", "SP1", "SP2")
"""The order in which one walks round the car. Common practice, no source."""

SHORT: Final[Mapping[Place, str]] = {
    "FL": "FL",
    "FR": "FR",
    "RL": "RL",
    "RR": "RR",
    "SP1": "1",
    "SP2": "2",
}
LONG: Final[Mapping[Place, str]] = {
    "FL": "Front left",
    "FR": "Front right",
    "RL": "Rear left",
    "RR": "Rear right",
    "SP1": "Carried 1",
    "SP2": "Carried 2",
}
POINTS: Final = ("in", "mid", "out")


def as_place(word: str) -> Place | None:
    """Return a place of the car by its word, or None."""
    return next((place for place in WALK if place == word), None)


def wheel(rim_id: str, tyre_id: str | None) -> str:
    """Return a wheel as people name it, rim first."""
    if not tyre_id:
        return "–"
    return f"{rim_id}·{tyre_id}" if rim_id else tyre_id


def bar(pressure_kpa: float | None) -> str:
    """Return a pressure in bar with two decimals."""
    return "–" if pressure_kpa is None else f"{pressure_kpa / 100:.2f}"


def signed_s(seconds: float) -> str:
    """Return a difference with its sign and unit."""
    return f"{seconds:+.1f} s".replace("-", "−")


def degrees(value_c: float | None) -> str:
    """Return a temperature."""
    return "–" if value_c is None else f"{value_c:.0f} °C".replace("-", "−")


def least_point(tread_mm: tuple[float | None, ...]) -> tuple[float, str] | None:
    """Return the least of three depths and where it is."""
    known = [(mm, POINTS[i]) for i, mm in enumerate(tread_mm) if mm is not None]
    return min(known, key=lambda pair: pair[0]) if known else None


def clock(at: datetime, zone: ZoneInfo) -> str:
    """Return event-local time of day."""
    return at.astimezone(zone).strftime("%H:%M")


def zone_words(at: datetime, zone: ZoneInfo) -> str:
    """Return how far local time is ahead of UTC, as people say it.

    >>> from datetime import UTC
    >>> zone_words(datetime(2026, 8, 22, 9, tzinfo=UTC), ZoneInfo("Etc/GMT-2"))
    'UTC+2'
    >>> zone_words(datetime(2026, 8, 22, 9, tzinfo=UTC), ZoneInfo("Asia/Kolkata"))
    'UTC+5:30'
    """
    ahead = at.astimezone(zone).strftime("%z")
    hours = f"{ahead[0]}{int(ahead[1:3])}".replace("-", "−")
    return f"UTC{hours}" if ahead[3:] == "00" else f"UTC{hours}:{ahead[3:]}"


def span(delta: timedelta) -> str:
    """Return a span as mm:ss, from 100 minutes on in hours, from two days on in days."""
    seconds = int(abs(delta.total_seconds()))
    if seconds >= 2 * 86400:
        return f"{seconds // 86400} days"
    if seconds >= 6000:
        return f"{seconds // 3600} h {seconds % 3600 // 60:02d}"
    return f"{seconds // 60:02d}:{seconds % 60:02d}"


def age_min(at: datetime, now: datetime) -> float:
    """Return how long ago something was, in minutes."""
    return (now - at).total_seconds() / 60


def age_words(minutes: float) -> str:
    """Return an age in short words."""
    if minutes < 1:
        return "now"
    if minutes < 100:
        return f"{minutes:.0f} min"
    return f"{minutes / 60:.0f} h"
