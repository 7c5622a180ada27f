"""What stands beside the call, in words: a reading to take, limits, answers in later loops."""

from collections.abc import Sequence

from crewdesk.engine.result import PlanResult, ReadingWorth, Reason

REACT_S = 0.5
"""From this on it is said what it is worth that later fittings can answer. [s]"""


def reading_words(worth: ReadingWorth | None) -> str:
    """Return which reading to take first; nothing where none is worth taking."""
    if worth is None:
        return ""
    what = {
        "road": "Read the road temperature first",
        "surface": "Find out first whether the road is wet",
        "tread": f"Measure the tread of {worth.tyre} first",
    }[worth.what]
    return f"{what}: worth {worth.gain_s:.1f} s on average."


def limit_words(reasons: Sequence[Reason]) -> list[str]:
    """Return what one more tyre would be worth under limits that are used up."""
    told = []
    for reason in reasons:
        if reason.kind != "rule":
            continue
        compound = reason.values["compound"]
        under = f"{compound} under its limit" if compound else "tyre under the limit"
        told.append(f"One more {under} would be worth {reason.values['worth_s']:.1f} s.")
    return told


def answer_words(result: PlanResult) -> list[str]:
    """Return what it is worth that later fittings can answer to the weather."""
    if result.objective is None or result.recourse_objective_s is None:
        return []
    told = []
    if result.held_fixed is not None:
        told.append(
            f"Held as planned the next best would be "
            f"{result.objective.total_s - result.held_fixed.objective_s:.1f} s better; "
            "this call leaves the better answers for later."
        )
    gain_s = result.objective.total_s - result.recourse_objective_s
    if gain_s >= REACT_S:
        told.append(f"Looking again at the next change is worth {gain_s:.1f} s on average.")
    return told


def beside_words(result: PlanResult) -> list[str]:
    """Return all that is to be said beside the call."""
    reading = reading_words(result.reading)
    return [
        *([reading] if reading else []),
        *answer_words(result),
        *limit_words(result.reasons),
    ]
