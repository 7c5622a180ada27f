"""The numbers of what was learnt as rows of tables."""

from collections.abc import Sequence
from datetime import tzinfo
from typing import Final

from PySide6.QtCore import QT_TRANSLATE_NOOP

from crewdesk.desk.learnt import (
    Compared,
    ForecastCompared,
    GripLearnt,
    HeatLearnt,
    PunctureLearnt,
    WearLearnt,
    WearRate,
)

RATE_COLUMNS: Final[tuple[str, ...]] = (
    str(QT_TRANSLATE_NOOP("LearntTable", "Compound, ground")),
    str(QT_TRANSLATE_NOOP("LearntTable", "Corner")),
    str(QT_TRANSLATE_NOOP("LearntTable", "Began mm/km")),
    str(QT_TRANSLATE_NOOP("LearntTable", "90 in 100")),
    str(QT_TRANSLATE_NOOP("LearntTable", "Now mm/km")),
    str(QT_TRANSLATE_NOOP("LearntTable", "90 in 100")),
    str(QT_TRANSLATE_NOOP("LearntTable", "Readings")),
)
RATE_WIDTHS_PX: Final = (235, 100, 150, 150, 150, 150, 110)
READING_COLUMNS: Final[tuple[str, ...]] = (
    str(QT_TRANSLATE_NOOP("LearntTable", "Time")),
    str(QT_TRANSLATE_NOOP("LearntTable", "Tyre")),
    str(QT_TRANSLATE_NOOP("LearntTable", "Corner")),
    str(QT_TRANSLATE_NOOP("LearntTable", "Since")),
    str(QT_TRANSLATE_NOOP("LearntTable", "Expected mm")),
    str(QT_TRANSLATE_NOOP("LearntTable", "Worn mm")),
    str(QT_TRANSLATE_NOOP("LearntTable", "More mm")),
    str(QT_TRANSLATE_NOOP("LearntTable", "80 in 100")),
    str(QT_TRANSLATE_NOOP("LearntTable", "What became of it")),
)
READING_WIDTHS_PX: Final = (75, 80, 100, 150, 155, 125, 125, 135, 215)
AIR_COLUMNS: Final[tuple[str, ...]] = (
    str(QT_TRANSLATE_NOOP("LearntTable", "Time")),
    str(QT_TRANSLATE_NOOP("LearntTable", "Place")),
    str(QT_TRANSLATE_NOOP("LearntTable", "Forecast °C")),
    str(QT_TRANSLATE_NOOP("LearntTable", "Came °C")),
    str(QT_TRANSLATE_NOOP("LearntTable", "Warmer by")),
)
AIR_WIDTHS_PX: Final = (110, 250, 150, 130, 150)
OTHER_COLUMNS: Final[tuple[str, ...]] = (
    str(QT_TRANSLATE_NOOP("LearntTable", "What")),
    str(QT_TRANSLATE_NOOP("LearntTable", "Began")),
    str(QT_TRANSLATE_NOOP("LearntTable", "Now")),
    str(QT_TRANSLATE_NOOP("LearntTable", "Range")),
    str(QT_TRANSLATE_NOOP("LearntTable", "Readings")),
)
OTHER_WIDTHS_PX: Final = (360, 170, 170, 210, 110)

Rows = list[tuple[str, ...]]


def rate_rows(rates: Sequence[WearRate]) -> Rows:
    """Return a row for every compound, ground and corner."""
    return [
        (
            f"{rate.compound}, {rate.ground}",
            rate.corner,
            f"{rate.start_mm_km:.3f}",
            f"{rate.start_low:.3f}–{rate.start_high:.3f}",
            f"{rate.now_mm_km:.3f}",
            f"{rate.now_low:.3f}–{rate.now_high:.3f}",
            str(rate.readings),
        )
        for rate in rates
    ]


def reading_rows(compared: Sequence[Compared], zone: tzinfo) -> Rows:
    """Return a row for every depth beside what was expected of it."""
    return [
        (
            one.at.astimezone(zone).strftime("%H:%M"),
            one.tyre_id,
            one.corner,
            _since(one.stages),
            f"{one.expected_loss_mm:.2f}",
            f"{one.measured_loss_mm:.2f}",
            f"{one.more_worn_mm:+.2f}",
            f"±{one.either_way_mm:.2f}",
            fate(one),
        )
        for one in compared
    ]


def fate(one: Compared) -> str:
    """Return what became of a reading, in words."""
    if one.questioned:
        return "confirmed, counts little" if one.confirmed else "not taken: read again"
    return "taken" if one.weight > 0.75 else "taken, counts less"


def _since(stages: Sequence[str]) -> str:
    if not stages:
        return ""
    return stages[0] if len(stages) == 1 else f"{stages[0]} to {stages[-1]}"


def air_rows(compared: Sequence[ForecastCompared], zone: tzinfo) -> Rows:
    """Return a row for every report beside its forecast."""
    return [
        (
            one.at.astimezone(zone).strftime("%a %H:%M"),
            one.place,
            f"{one.forecast_c:.1f}",
            f"{one.came_c:.1f}",
            f"{one.came_c - one.forecast_c:+.1f} K",
        )
        for one in compared
    ]


def other_rows(
    heat: HeatLearnt,
    grip: Sequence[GripLearnt],
    punctures: PunctureLearnt | None,
    wear: Sequence[WearLearnt],
) -> Rows:
    """Return rubber alone, heat, grip and punctures, a row each."""
    rows: Rows = [
        (
            f"wear of {one.compound} rubber alone, {one.ground}",
            f"{one.before:.2f} of the table",
            f"{one.rubber_factor:.2f} of the table",
            "told apart" if one.told_apart else "not told apart from corner",
            str(one.readings),
        )
        for one in wear
        if one.readings
    ]
    if heat.readings:
        rows.append(
            (
                "warmth of the tyres over the air",
                "1.00 of reckoned",
                f"{heat.factor:.2f} of reckoned",
                f"{heat.low:.2f}–{heat.high:.2f}",
                str(heat.readings),
            )
        )
    rows += [
        (
            f"grip, {one.what}",
            "as reckoned",
            f"{one.per_cent:+.1f} %",
            f"± {one.sd_per_cent:.1f} %",
            str(one.readings),
        )
        for one in grip
    ]
    if punctures is not None:
        rows.append(
            (
                f"punctures in 100 km ({punctures.count} in {punctures.km:.0f} km)",
                f"{punctures.table_100_km:.2f}",
                f"{punctures.now_100_km:.2f}",
                f"{punctures.low_100_km:.2f}–{punctures.high_100_km:.2f}",
                str(punctures.count),
            )
        )
    return rows
