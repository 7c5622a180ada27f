"""The crew's own choices looked back on: one line of fact, gain or loss alike, no advice."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

from PySide6.QtCore import QCoreApplication

from crewdesk.gui.timing import short_label
from crewdesk.gui.views import differing
from crewdesk.units import PLACES, Place

if TYPE_CHECKING:
    from crewdesk.desk.state import DayState
    from crewdesk.documents.bundle import EventBundle
    from crewdesk.gui.opened import OpenDay
    from crewdesk.journal.entries import StoredEntry

WORK: Final = "crewdesk.gui.lookback:look_back"


LEAST_S: Final = 0.5
"""Less than this is told as no difference; tuning value of this project."""


def _tr(text: str) -> str:
    return QCoreApplication.translate("LookBack", text)


@dataclass(frozen=True)
class LookedBack:
    """What an own choice gained on the stages of its loop against the first call."""

    place: str
    gain_s: float
    low_s: float
    high_s: float
    """At the quick and at the slow end of the weather, the lesser first."""


def own_choices(session: "OpenDay") -> list[str]:
    """Return the places of own choices whose loop is run."""
    if session.day is None:
        return []
    state, itinerary = session.state, session.bundle.itinerary
    run = {*state.stages_run, *state.cancelled}
    found = []
    for fitting in state.fittings:
        stages = itinerary.place(fitting.place).stages
        if fitting.source == "own" and stages and all(ref in run for ref in stages):
            found.append(fitting.place)
    return found


def words_of(session: "OpenDay", looked: LookedBack) -> str:
    """Return the line of fact."""
    place = session.bundle.itinerary.place(looked.place)
    head = _tr("Own choice at {0}: ").format(short_label(place))
    if abs(looked.gain_s) < LEAST_S:
        return head + _tr("as fast on the stages as the first call")
    words = _tr("{0} s faster on the stages than the first call ({1} to {2})")
    if looked.gain_s < 0:
        words = _tr("{0} s slower on the stages than the first call ({1} to {2})")
    return head + words.format(
        f"{abs(looked.gain_s):.0f}", *(_signed(s) for s in (looked.low_s, looked.high_s))
    )


def _signed(seconds: float) -> str:
    return f"{seconds:+.0f}".replace("-", "−")


def look_back(
    opened: "EventBundle",
    entries: "tuple[StoredEntry, ...]",
    place: str,
    _number: int,
    _now: Any,
    _stop: Callable[[], bool],
    _tell: Callable[[Any], None],
) -> LookedBack | None:
    """Judge what was fitted and what was called first, by the weather as it was reported.

    None where there is nothing to compare: no other call, or no such fitting in the book.
    """
    from crewdesk.desk.answer import CallOptions
    from crewdesk.desk.judging import judge_at
    from crewdesk.desk.replay import finish, fold_all, start
    from crewdesk.desk.resolve import undone_ids
    from crewdesk.journal.entries import Report

    dead = undone_ids(entries)
    kept = [e for e in entries if e.id not in dead]
    at = next(
        (
            i
            for i, e in enumerate(kept)
            if e.kind == "fitting" and getattr(e.body, "place", "") == place
        ),
        None,
    )
    if at is None:
        return None
    fold = fold_all(start(opened), tuple(kept[:at]))
    before, bundle = finish(fold), fold.ledger.bundle
    fitted: Mapping[Place, str | None] = kept[at].body.fitting  # type: ignore[union-attr]
    called = _first_call(bundle, before, kept[:at], place)
    if called is None or not differing(called, fitted):
        return None
    later = [
        e.body.model_copy(update={"at": e.happened_utc})
        for e in kept[at:]
        if isinstance(e.body, Report)
    ]
    state = replace(before, reports=(*before.reports, *later))
    times = []
    for fitting in (called, fitted):
        plan = ({"fitting": {p: fitting.get(p) for p in PLACES}},)
        judged, _ = judge_at(bundle, state, CallOptions(at=place), plan, has_book=True)
        if not judged.plan:
            return None
        times.append((judged.plan[0].expected_s, *judged.plan[0].spread_s))
    mean, quick, slow = (a - b for a, b in zip(times[0], times[1], strict=True))
    return LookedBack(place, mean, min(quick, slow), max(quick, slow))


def _first_call(
    bundle: "EventBundle", before: "DayState", entries: "list[StoredEntry]", place: str
) -> Mapping[Place, str | None] | None:
    """Return the first call taken for a place; where none was, work it out again."""
    from crewdesk.desk.answer import CallOptions
    from crewdesk.desk.ask import answer

    for entry in entries:
        body = entry.body
        if body.kind == "call_used" and body.place == place and body.which == "full":
            return body.fitting
    at = entries[-1].happened_utc if entries else None
    if at is None:
        return None
    made = answer(bundle, before, CallOptions(at=place), 0, at, with_flips=False)
    return made.result.plan[0].fitting if made.result.plan else None
