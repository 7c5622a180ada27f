"""The window is closed while the book lacks a value: it is named, and lost by a tap only."""

import pytest

from crewdesk.errors import JournalError
from crewdesk.journal.entries import AsFound


@pytest.fixture
def typed(window, monkeypatch):
    """Return a window with a value in a box that the book could not take."""
    session = window.session
    session.enter(AsFound(place="B", fitting=session.state.fitted.tyres))
    window.go("car_in")
    day, enter = session.day, session.day.enter

    def full(*_args, **_more):
        raise JournalError("The disk is full: the day book could not be written.", hint="Free.")

    monkeypatch.setattr(day, "enter", full)
    for sign in "231":
        window.page.host.press(sign)
    yield window
    monkeypatch.setattr(day, "enter", enter)
    window.closing.write()


def hot(window):
    return [r.hot_kpa for r in window.session.state.tyres["H01"].readings if r.hot_kpa]


def test_the_window_stays_and_names_what_would_be_lost(typed):
    assert not typed.close()
    assert typed.isVisible()
    assert typed._current == "unwritten"
    assert typed.page.values == ("Front left, hot, bar  2.31",)
    assert typed.page.lose.text() == "Close and lose 1 value"
    assert typed.session.is_open
    typed.page.stay.click()
    assert typed._current == "car_in"
    assert typed.page.host.fields["hot:FL"].text() == "⚠ 2.31"


def test_a_tap_gives_it_up(typed):
    typed.close()
    typed.page.lose.click()
    assert not typed.isVisible()
    assert not typed.session.is_open


def test_the_primary_writes_it_once_there_is_room(typed, monkeypatch):
    typed.close()
    typed.fire_primary()
    assert typed._current == "unwritten"
    monkeypatch.undo()
    typed.fire_primary()
    assert typed._current == "car_in"
    assert hot(typed) == [231.0]
    assert typed.close()


def test_room_that_came_back_is_used_without_a_question(typed, monkeypatch):
    monkeypatch.undo()
    assert typed.close()


def test_a_box_closed_a_moment_ago_is_in_the_book(window):
    session = window.session
    session.enter(AsFound(place="B", fitting=session.state.fitted.tyres))
    window.go("car_in")
    for sign in "231":
        window.page.host.press(sign)
    assert hot(window) == []
    assert window.closing.may_close()
    assert hot(window) == [231.0]


def test_air_that_no_book_has_is_not_moved_to_another_place(window, monkeypatch):
    window.go("conditions")

    def full(*_args, **_more):
        raise JournalError("The disk is full: the day book could not be written.", hint="Free.")

    with monkeypatch.context() as disk:
        disk.setattr(window.session.day, "enter", full)
        for sign in "21":
            window.page.host.press(sign)
        window.page.set_place("SS4")
        assert window.page.host.fields["air_c"].text() == "⚠ 21"
        window.go("call")
        window.go("conditions")
        assert window.page.host.fields["air_c"].text() == "⚠ 21"
    assert window.closing.write()
    report = window.session.state.reports[-1]
    assert (report.place, report.air_c) == ("B", 21.0)
