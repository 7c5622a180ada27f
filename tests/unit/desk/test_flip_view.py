"""Where the call changes, as it is drawn: lines, marks, words."""

import pytest

from crewdesk.assets import shipped
from crewdesk.desk.flip_view import flip_views
from crewdesk.desk.replay import replay
from crewdesk.desk.state import DayState
from crewdesk.desk.words import fitting_words, flip_words
from crewdesk.documents.store import load_event
from crewdesk.engine.result import Flip, FlipChart, FlipLine, Objective, PlanResult
from crewdesk.units import CORNERS


@pytest.fixture(scope="module")
def state() -> DayState:
    return replay(load_event(shipped("demo_events") / "saldrey"), [])


def fittings(state: DayState) -> list[dict[str, str | None]]:
    """Return two fittings of the event's own tyres."""
    ids = sorted(state.tyres)
    return [dict(zip(CORNERS, ids[n : n + 4], strict=True)) for n in (0, 4)]


def result(state: DayState, *flips: Flip) -> PlanResult:
    """Return a call with one chart: its rival wins from between 20 and 30 degrees on."""
    one, two = fittings(state)
    lines = (
        FlipLine({}, (0.0, 0.0, 3.0), one),
        FlipLine({}, (6.0, 1.0, 0.0), two),
    )
    chart = FlipChart("road", "°C", 20.0, (10.0, 20.0, 30.0), lines)
    total = Objective(100.0, 5.0, 10.0, 0.0, 1.0)
    return PlanResult((), total, 116.0, complete=True, flips=flips, flip_charts=(chart,))


def test_a_crossing_of_lines_is_said_to_be_about_there(state: DayState) -> None:
    view = flip_views(state, result(state))[0]
    # By hand: ahead by 1 s at 20, behind by 3 s at 30: a quarter of the way.
    assert [round(c.at, 6) for c in view.changes] == [22.5]
    assert not view.changes[0].sure
    assert view.said.startswith("Now 20.0 °C. About 22.5 °C: close to ")


def test_a_change_that_was_asked_for_is_told_as_sure(state: DayState) -> None:
    two = fittings(state)[1]
    sure = Flip("road", "°C", 20.0, 23.5, {}, fitting=two)
    view = flip_views(state, result(state, sure))[0]
    assert [(c.at, c.sure) for c in view.changes] == [(23.5, True)]
    assert view.changes[0].words == f"23.5 °C or warmer: {view.lines[1].name}"


def test_what_cannot_move_says_why(state: DayState) -> None:
    views = flip_views(state, result(state))
    assert [v.what for v in views] == ["road", "rain", "new_tyre_worth", "tread"]
    assert all(v.said.endswith("to move.") and not v.lines for v in views[1:])


def test_new_and_used_of_a_kind_are_told_apart_where_the_call_changes(state: DayState) -> None:
    fitting = fittings(state)[0]
    then = {c: state.tyres[t].stock.compound for c, t in fitting.items() if t is not None}
    flip = Flip("new_tyre_worth", "s", 5.0, 11.5, then, fitting=fitting)
    plain, told = flip_words(flip), flip_words(flip, state)
    assert told == f"With a new tyre worth 11.5 s or more: {fitting_words(state, fitting)}"
    assert told != plain
