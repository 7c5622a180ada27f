"""What was learnt, in plain words."""

from collections.abc import Sequence
from math import exp

from crewdesk.desk.learnt import Compared, Rubber
from crewdesk.physics.learning_wear import NINETY

ALIKE_PER_CENT = 2.0
"""Differences smaller than this are not worth a figure."""


def many(compound: str) -> str:
    """Return the plural of a compound's word, as the crew says it."""
    return f"{compound} tyres" if compound in ("studded", "winter") else f"{compound}s"


def ground_words(ground: str) -> str:
    """Return a kind of ground as it stands in a sentence."""
    return f"on this {ground}"


def how_fast(factor: float) -> str:
    """Return a factor on wear in words."""
    per_cent = 100.0 * (factor - 1.0)
    if abs(per_cent) < ALIKE_PER_CENT:
        return "as the table says"
    word = "faster" if per_cent > 0 else "slower"
    return f"{abs(per_cent):.0f} % {word} than the table says"


def sure_to(ln_sd: float) -> str:
    """Return in words how sure a factor is, 90 in 100."""
    return f"sure to within {100.0 * (exp(NINETY * ln_sd) - 1.0):.0f} %"


def wear_sentence(rubber: Rubber, factor: float, ln_sd: float, one_axle: str) -> str:
    """Return what was learnt of one compound on one kind of ground.

    ``one_axle`` names the corners where it ran on one axle alone; else it is empty.
    """
    text = (
        f"{many(rubber.compound)} wear {how_fast(factor)} {ground_words(rubber.ground)}, "
        f"{sure_to(ln_sd)}"
    )
    if one_axle:
        text += (
            f"; read {one_axle} only, so what is the rubber and what is the corner cannot be "
            "told apart yet"
        )
    return text[0].upper() + text[1:] + "."


def corner_sentence(corner: str, factor: float, ln_sd: float) -> str:
    """Return what was learnt of one corner."""
    return f"{corner} wears {how_fast(factor)} beside the other corners, {sure_to(ln_sd)}."


def compared_sentence(one: Compared) -> str:
    """Return what a reading that was asked about came to."""
    fate = "confirmed, counts little" if one.confirmed else "not taken until confirmed"
    return (
        f"{one.tyre_id} at {one.corner}: {one.measured_loss_mm:.1f} mm worn, "
        f"{one.expected_loss_mm:.1f} mm expected; {fate}."
    )


def heat_sentence(factor: float, ln_sd: float) -> str:
    """Return what was learnt of the warmth of the tyres."""
    per_cent = 100.0 * (factor - 1.0)
    if abs(per_cent) < ALIKE_PER_CENT:
        return f"The tyres run as warm as reckoned, {sure_to(ln_sd)}."
    word = "warmer" if per_cent > 0 else "cooler"
    return (
        f"The tyres run {word} than reckoned: {abs(per_cent):.0f} % "
        f"{'more' if per_cent > 0 else 'less'} over the air, {sure_to(ln_sd)}."
    )


def grip_sentence(what: str, per_cent: float, sd_per_cent: float) -> str:
    """Return what was learnt of grip."""
    if abs(per_cent) < 0.5:
        return f"{what}: grip as reckoned, give or take {sd_per_cent:.0f} %."
    word = "more" if per_cent > 0 else "less"
    return (
        f"{what}: {abs(per_cent):.0f} % {word} grip than reckoned, give or take "
        f"{sd_per_cent:.0f} %."
    )


def listed(words: Sequence[str]) -> str:
    """Return words as a list in a sentence."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"
