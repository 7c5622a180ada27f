"""Wall times of the event's zone: read, checked against gaps and doubled hours, kept as UTC."""

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

_FULL = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})[ T](\d{1,2}):(\d{2})(?::(\d{2}))?")
_CLOCK = re.compile(r"(\d{1,2}):(\d{2})(?::(\d{2}))?")
_DURATION = re.compile(r"(\d{1,3}):(\d{2})")

WallKind = Literal["plain", "ambiguous", "skipped"]


def event_zone(name: str) -> ZoneInfo:
    """Return the zone of an IANA name.

    Raises
    ------
    ValueError
        Where the name is no known zone.
    """
    try:
        return ZoneInfo(name)
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise ValueError(f"{name} is no known time zone") from error


@dataclass(frozen=True)
class Clock:
    """A time as written: with its date, or only hours and minutes."""

    day: date | None
    at: time


def read_clock(text: str) -> Clock | None:
    """Return a written time, or None where the text is none."""
    words = text.strip()
    full = _FULL.fullmatch(words)
    parts = full.groups(default="0") if full else None
    clock = None if full else _CLOCK.fullmatch(words)
    try:
        if parts is not None:
            year, month, day, hour, minute, second = (int(part) for part in parts)
            return Clock(date(year, month, day), time(hour, minute, second))
        if clock is not None:
            hour, minute, second = (int(part) for part in clock.groups(default="0"))
            return Clock(None, time(hour, minute, second))
    except ValueError:
        return None
    return None


def read_duration_min(text: str) -> float | None:
    """Return minutes from ``33``, ``0:33`` or ``00:33``; None where the text is none."""
    words = text.strip()
    split = _DURATION.fullmatch(words)
    if split:
        hours, minutes = int(split[1]), int(split[2])
        return hours * 60.0 + minutes if minutes < 60 else None
    try:
        value = float(words)
    except ValueError:
        return None
    return value if 0 <= value <= 2880 else None


def wall_kind(wall: datetime, zone: ZoneInfo) -> WallKind:
    """Return whether a wall time exists once, twice or never.

    Notes
    -----
    With fold 0 and 1 (PEP 495): a time that does not survive the way to UTC and back was
    skipped by the clocks; one with two offsets came twice.
    """
    first = wall.replace(tzinfo=zone, fold=0)
    second = wall.replace(tzinfo=zone, fold=1)
    back = first.astimezone(UTC).astimezone(zone).replace(tzinfo=None)
    if back != wall.replace(tzinfo=None, fold=0):
        return "skipped"
    return "plain" if first.utcoffset() == second.utcoffset() else "ambiguous"


def to_utc(wall: datetime, zone: ZoneInfo, *, fold: int = 0) -> datetime:
    """Return the instant of a wall time."""
    return wall.replace(tzinfo=zone, fold=fold).astimezone(UTC)


def shifted_wall(wall: datetime, zone: ZoneInfo) -> datetime:
    """Return the wall time that the clocks show where ``wall`` was skipped."""
    return to_utc(wall, zone).astimezone(zone).replace(tzinfo=None)


@dataclass(frozen=True)
class Resolved:
    """An instant, with what had to be decided on the way."""

    utc: datetime
    doubled: bool = False
    """The wall time came twice that day."""
    second_time: bool = False
    """The later of the two was taken."""
    rolled: bool = False
    """The date moved on past midnight."""


def resolve_after(
    clock: Clock, zone: ZoneInfo, *, last_utc: datetime | None, last_day: date | None
) -> Resolved | None:
    """Return the instant of a written time, read in order after an earlier one.

    A time that comes twice is the first of the two, unless that lies before the earlier row;
    a bare time before the earlier row is on the next day.

    Returns
    -------
    Resolved | None
        None where the written time was skipped by the clocks or has no date to stand on.
    """
    day = clock.day or last_day
    if day is None:
        return None
    for extra in (0, 1):
        if extra and clock.day is not None:
            break
        wall = datetime.combine(day + timedelta(days=extra), clock.at)
        kind = wall_kind(wall, zone)
        if kind == "skipped":
            return None
        doubled = kind == "ambiguous"
        for fold in (0, 1) if doubled else (0,):
            utc = to_utc(wall, zone, fold=fold)
            if last_utc is None or utc >= last_utc:
                return Resolved(utc, doubled, bool(fold), bool(extra))
    # Earlier than the row before in every reading: kept as written, the caller says so.
    return Resolved(to_utc(datetime.combine(day, clock.at), zone))
