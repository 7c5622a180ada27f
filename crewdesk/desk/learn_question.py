"""A depth far from what was expected is asked about when it is entered."""

from datetime import datetime

from crewdesk.desk.learn_runs import PastRuns
from crewdesk.desk.learn_wear import learn_wear_of
from crewdesk.desk.learnt import Compared
from crewdesk.desk.state import DayState
from crewdesk.documents.bundle import EventBundle
from crewdesk.regulations.rulebook import Message

CODE = "NOTE"
"""Code of a remark that no rule stands behind."""
POINTS = ("inner", "middle", "outer")


def question_of(
    bundle: EventBundle, state: DayState, tyre_id: str, now_utc: datetime
) -> Message | None:
    """Return the question about the newest depth of a tyre; None where it is as expected.

    Until it is measured again or confirmed the tyre is reckoned on from the depth before.
    """
    tyre = state.tyres[tyre_id]
    if not tyre.runs or not tyre.readings:
        return None
    newest = tyre.readings[-1]
    if newest.confirmed or all(depth is None for depth in newest.tread_mm):
        return None
    learnt = learn_wear_of(PastRuns(bundle, state, now_utc))
    for one in learnt.compared:
        if one.entry_id == newest.entry_id and one.questioned:
            return _asked(one)
    return None


def _asked(one: Compared) -> Message:
    """Return the question in words, about the point that is furthest off."""
    off = [abs(read - mm) for read, mm in zip(one.read_mm, one.expected_mm, strict=True)]
    worst = off.index(max(off))
    point = POINTS[one.points[worst]]
    read, expected = one.read_mm[worst], one.expected_mm[worst]
    low, high = one.low_mm[worst], one.high_mm[worst]
    return Message(
        CODE,
        "watch",
        f"{one.tyre_id} {point} {read:.1f} mm, expected {expected:.1f} "
        f"({low:.1f} to {high:.1f}): measure again, or confirm.",
        {
            "tyre": one.tyre_id,
            "point": point,
            "read_mm": read,
            "expected_mm": round(expected, 2),
            "low_mm": round(low, 2),
            "high_mm": round(high, 2),
        },
    )
