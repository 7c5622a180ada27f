"""Readings that disagree with the model, in plain words."""

from collections.abc import Sequence
from math import exp

from crewdesk.desk.learn_readings import Walk
from crewdesk.desk.learn_words import ground_words, how_fast, listed, many
from crewdesk.desk.learnt import ForecastCompared, Learnt
from crewdesk.physics.learning_checks import disagree, gauge_is_off, gauge_offset
from crewdesk.physics.learning_wear import GAUGE_SD_MM

RECENT = 3
"""Services whose readings are looked at together."""
LEAST_OF_A_KIND = 4
"""Readings of a kind before the gauge is judged by them."""
LEAST_FORECASTS = 2
"""Reports before a forecast is judged by them."""
FAR_FACTOR = 1.25
"""Wear further off the table than this is worth a warning."""


def warnings_of(learnt: Learnt, told: Walk) -> tuple[str, ...]:
    """Return what to warn of, the gravest first; empty where readings and model agree."""
    return (*(_apart(told) or _gauge(told)), *_table(learnt))


def _apart(told: Walk) -> list[str]:
    recent = told.moments[-RECENT:]
    if not disagree(recent):
        return []
    count = sum(n for n, _ in recent)
    words = (
        f"The last {count} depths are further from what was expected than they should be. "
        "Measure the odd ones again; look at tyre ids and corners, at the gauge, and at the "
        "road and weather as entered. The ranges are too narrow until they agree."
    )
    return [words]


def _gauge(told: Walk) -> list[str]:
    fresh = [off for _, off in told.unrun]
    if len(fresh) > 1:
        offset = sum(fresh) / len(fresh)
        if gauge_is_off(offset, GAUGE_SD_MM / (3 * len(fresh)) ** 0.5):
            return [_gauge_words(offset, f"on {len(fresh)} tyres before they ran")]
    rows: dict[bool, list[tuple[float, float]]] = {True: [], False: []}
    for pair, _ in told.pairs:
        known = exp(told.belief.value(told.layout.share(pair.parts)))
        rows[pair.from_stock].append((known * pair.told_mm, pair.measured_mm))
    stock, between = rows[True], rows[False]
    if min(len(stock), len(between)) < LEAST_OF_A_KIND:
        return []
    offset, sd = gauge_offset(stock, between)
    if not gauge_is_off(offset, sd):
        return []
    return [_gauge_words(offset, "beside the depths of the stock table")]


def _gauge_words(offset_mm: float, beside: str) -> str:
    word = "deeper" if offset_mm > 0 else "shallower"
    return (
        f"The gauge reads {abs(offset_mm):.1f} mm {word} {beside}: try it on a new tyre. "
        "Predicted depths are off by as much."
    )


def _table(learnt: Learnt) -> list[str]:
    far = [
        f"{many(one.compound)} wear {how_fast(one.factor)} {ground_words(one.ground)}"
        for one in learnt.wear
        if one.readings
        and not one.low <= 1.0 <= one.high
        and max(one.factor, 1.0 / one.factor) >= FAR_FACTOR
    ]
    if not far:
        return []
    text = f"{listed(far)}: the plan goes by what was read."
    return [text[0].upper() + text[1:]]


FAR_AIR_C = 4.0
"""A forecast off by this much, on the mean, is worth a warning."""


def forecast_warning(compared: Sequence[ForecastCompared]) -> tuple[str, ...]:
    """Return a warning where the air came far from its forecast."""
    if len(compared) < LEAST_FORECASTS:
        return ()
    off = sum(one.came_c - one.forecast_c for one in compared) / len(compared)
    if abs(off) < FAR_AIR_C:
        return ()
    word = "warmer" if off > 0 else "cooler"
    return (
        f"The air came {abs(off):.0f} °C {word} than forecast, by {len(compared)} reports.",
    )
