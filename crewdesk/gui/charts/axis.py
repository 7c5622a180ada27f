"""Where a moment lies on a chart: event-local time with the nights squeezed, or stage km."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta, tzinfo
from typing import Any, Final, NamedTuple, Protocol

import pyqtgraph as pg

from crewdesk.desk.answer import StageBand

NIGHT_MIN: Final = 45.0
"""Width left to a night on the time axis [minutes of axis]. Value: tuning of this project."""

NIGHT_CLEAR_PX: Final = 40.0
"""No hour label stands nearer to a squeezed night than this: they would collide."""

_HOUR_STEPS: Final = (1, 2, 3, 4, 6, 12, 24)
_KM_STEPS: Final = (2, 5, 10, 20, 25, 50, 100, 200, 500)


class Spot(NamedTuple):
    """A moment of the event: when, and how many stage km lie behind it."""

    at_utc: datetime
    stage_km: float


class Scale(Protocol):
    """A way to lay moments of the event out along x."""

    def position(self, spot: Spot) -> float:
        """Return x of a moment."""

    def ticks(self, low: float, high: float, size_px: float) -> list[tuple[float, str]]:
        """Return the labelled places between two x, for an axis of that many pixels."""

    def say(self, spot: Spot) -> str:
        """Return a moment in words, as ``11:22`` or ``km 42.9``."""


def band_ends(scale: Scale, band: StageBand) -> tuple[float, float]:
    """Return x of both ends of a band."""
    return (
        scale.position(Spot(band.start_utc, band.start_km)),
        scale.position(Spot(band.end_utc, band.end_km)),
    )


class KmScale:
    """Stage kilometres since the start of the event; services and nights take no length."""

    def position(self, spot: Spot) -> float:
        """Return the stage kilometres."""
        return spot.stage_km

    def ticks(self, low: float, high: float, size_px: float) -> list[tuple[float, str]]:
        """Return round kilometres at least 60 px apart."""
        per_px = (high - low) / max(size_px, 1.0)
        step = next((s for s in _KM_STEPS if s >= 60.0 * per_px), _KM_STEPS[-1])
        first = int(-(-max(low, 0.0) // step))
        return [(float(n * step), str(n * step)) for n in range(first, int(high // step) + 1)]

    def say(self, spot: Spot) -> str:
        """Return the kilometres in words."""
        return f"km {spot.stage_km:.1f}"


class TimeScale:
    """Minutes since the event-local midnight before its first moment, nights squeezed.

    The computer's own time zone plays no part: the zone of the event is handed in.
    """

    def __init__(self, bands: Sequence[StageBand], start_utc: datetime, zone: tzinfo) -> None:
        self._zone = zone
        local = start_utc.astimezone(zone)
        self._origin = local.replace(hour=0, minute=0, second=0, microsecond=0).astimezone(UTC)
        self._nights = _merged(
            [
                (self._minutes(band.start_utc), self._minutes(band.end_utc))
                for band in bands
                if band.kind == "night"
            ]
        )

    def _minutes(self, at_utc: datetime) -> float:
        return (at_utc - self._origin).total_seconds() / 60.0

    def _squeezed(self, minutes: float) -> float:
        """Return minutes, less what the nights before them give up."""
        taken = 0.0
        for start, end in self._nights:
            give = max(0.0, end - start - NIGHT_MIN)
            taken += give * min(1.0, max(0.0, (minutes - start) / (end - start)))
        return minutes - taken

    def position(self, spot: Spot) -> float:
        """Return the minutes of the axis."""
        return self._squeezed(self._minutes(spot.at_utc))

    def ticks(self, low: float, high: float, size_px: float) -> list[tuple[float, str]]:
        """Return full hours at least 64 px apart and clear of the nights."""
        per_px = (high - low) / max(size_px, 1.0)
        step = next((s for s in _HOUR_STEPS if s * 60.0 >= 64.0 * per_px), _HOUR_STEPS[-1])
        clear = NIGHT_CLEAR_PX * per_px
        nights = [
            (self._squeezed(start) - clear, self._squeezed(end) + clear)
            for start, end in self._nights
        ]
        found: list[tuple[float, str]] = []
        minutes = 0.0
        while (x := self._squeezed(minutes)) <= high:
            hour = (self._origin + timedelta(minutes=minutes)).astimezone(self._zone)
            is_clear = not any(start < x < end for start, end in nights)
            if x >= low and hour.hour % step == 0 and is_clear:
                found.append((x, hour.strftime("%H:%M")))
            minutes += 60.0
        return found

    def say(self, spot: Spot) -> str:
        """Return the event-local time of day."""
        return spot.at_utc.astimezone(self._zone).strftime("%H:%M")


class EventAxis(pg.AxisItem):
    """An axis of every chart: its places and labels are ours, not the library's."""

    def __init__(self, orientation: str = "bottom") -> None:
        super().__init__(orientation=orientation)
        self.enableAutoSIPrefix(False)
        self._scale: Scale = KmScale()
        self._texts: dict[float, str] = {}

    def set_scale(self, scale: Scale) -> None:
        """Lay the axis out by another scale."""
        self._scale = scale
        self.forget()

    def forget(self) -> None:
        """Drop the labels drawn last."""
        self.picture = None
        self.update()

    def places(self, low: float, high: float, size_px: float) -> list[tuple[float, str]]:
        """Return the labelled places between two x, for an axis of that many pixels."""
        return self._scale.ticks(low, high, size_px)

    def tickValues(self, low: float, high: float, size: float) -> list[tuple[float, Any]]:
        places = self.places(low, high, size)
        self._texts = dict(places)
        return [(1.0, [x for x, _ in places])]

    def tickStrings(self, values: Sequence[float], *_rest: Any) -> list[str]:
        return [self._texts.get(value, "") for value in values]


def kept_labels(
    spans: Sequence[tuple[float, float]], low: float, high: float, space: float = 6.0
) -> list[bool]:
    """Tell which labels stay: those that touch one kept before them, or the frame, do not."""
    kept: list[bool] = []
    edge = low
    for start, end in spans:
        stays = start >= edge and end <= high
        kept.append(stays)
        if stays:
            edge = end + space
    return kept


def _merged(spans: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    merged: list[tuple[float, float]] = []
    for start, end in sorted(spans):
        if merged and start <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(end, merged[-1][1]))
        elif end > start:
            merged.append((start, end))
    return merged
