"""Too few tyres: which corner cannot be served, and what can still be fitted."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QCoreApplication

from crewdesk.gui.texts import SHORT, wheel
from crewdesk.units import CORNERS, Corner

if TYPE_CHECKING:
    from crewdesk.desk.state import DayState, TyreNow
    from crewdesk.engine.result import Lift

_ELSEWHERE: Final = ("hold", "scrap", "spare")
_LIMITED: Final = ("left", "right")


def _tr(text: str) -> str:
    return QCoreApplication.translate("CallPage", text)


def _may_go(tyre: "TyreNow", corner: Corner) -> bool:
    """Say whether a sound tyre may go on a corner by its lock and its direction."""
    side, axle = ("left", "right")[corner[1] == "R"], ("front", "rear")[corner[0] == "R"]
    lock, way = tyre.stock.lock, tyre.stock.direction
    if tyre.status != "ok" or tyre.stock.counts_against != "event" or lock in _ELSEWHERE:
        return False
    return lock in ("", side, axle, corner) and (way not in _LIMITED or way == side)


def served(state: "DayState") -> dict[Corner, str]:
    """Return a tyre for as many corners as there are tyres for; what is on stays first."""
    on_car = state.fitted.tyres if state.fitted is not None else {}
    found: dict[Corner, str] = {}

    def place(corner: Corner, tried: set[str]) -> bool:
        here = on_car.get(corner)
        for tyre_id in sorted(state.tyres, key=lambda t: (t != here, t)):
            if tyre_id in tried or not _may_go(state.tyres[tyre_id], corner):
                continue
            tried.add(tyre_id)
            holder = next((c for c, t in found.items() if t == tyre_id), None)
            if holder is None or place(holder, tried):
                found[corner] = tyre_id
                return True
        return False

    for corner in CORNERS:
        place(corner, set())
    return found


def shortfall_words(state: "DayState") -> str:
    """Return which corners have no tyre and what fits meanwhile; empty: none is missing."""
    found = served(state)
    missing = [SHORT[c] for c in CORNERS if c not in found]
    if not missing:
        return ""
    words = _tr("No tyre for {0}.").format(", ".join(missing))
    if not found:
        return words
    rest = "  ".join(
        f"{SHORT[c]} {wheel(state.tyres[found[c]].rim_id, found[c])}"
        for c in CORNERS
        if c in found
    )
    return f"{words} " + _tr("Without a breach: {0}.").format(rest)


NAMES = 6
"""Of a long list of tyres so many are named."""


def lift_words(lifts: "Sequence[Lift]") -> str:
    """Return what would have to be lifted, long lists cut short."""
    told = []
    for lift in lifts:
        head, colon, rest = lift.what.partition(": ")
        names = rest.split(", ")
        if colon and len(names) > NAMES + 1:
            more = _tr("{0} and {1} more")
            rest = more.format(", ".join(names[:NAMES]), len(names) - NAMES)
        words = f"{head}{colon}{rest}"
        told.append(f"{words[:1].upper()}{words[1:]}")
    return "; ".join(told)
