"""Local times as the crew types them: hh:mm of today, a weekday or a date before it."""

from datetime import datetime, timedelta
from typing import Final
from zoneinfo import ZoneInfo

_DAYS: Final = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def typed_time(text: str, now: datetime, zone: ZoneInfo) -> datetime | None:
    """Return a time with its zone; raise ValueError where it cannot be read.

    >>> from zoneinfo import ZoneInfo
    >>> utc = ZoneInfo("UTC")
    >>> now = datetime(2026, 8, 22, 9, 0, tzinfo=utc)
    >>> f"{typed_time('14:30', now, utc):%m-%d %H:%M}"
    '08-22 14:30'
    >>> f"{typed_time('Sun 6:15', now, utc):%m-%d %H:%M}"
    '08-23 06:15'
    >>> f"{typed_time('2026-08-24 07:00', now, utc):%m-%d %H:%M}"
    '08-24 07:00'
    >>> typed_time('', now, utc) is None
    True
    """
    words = text.strip().lower().split()
    if not words:
        return None
    if len(words) > 2:
        raise ValueError(text)
    here = now.astimezone(zone)
    hour, minute = (int(part) for part in words[-1].replace(".", ":").split(":"))
    day = here.date()
    if len(words) == 2:
        word = words[0]
        if word[:3] in _DAYS:
            day += timedelta(days=(_DAYS.index(word[:3]) - day.weekday()) % 7)
        else:
            day = datetime.fromisoformat(word).date()
    return datetime(day.year, day.month, day.day, hour, minute, tzinfo=zone)
