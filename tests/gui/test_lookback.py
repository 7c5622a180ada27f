"""Own choices looked back on, closing a leg, and undo after the window was closed."""

import pytest
from PySide6.QtWidgets import QAbstractButton, QLabel, QWidget

from crewdesk.gui.lookback import LookedBack, words_of
from crewdesk.journal.entries import Fitting, OffRoad, ReadBack, Report

ADVICE = ("should", "better", "worse", "next time", "wrong", "right")


@pytest.mark.parametrize(
    ("gain_s", "words"),
    [
        (
            3.2,
            "Own choice at Service B: 3 s faster on the stages than the first call (−2 to +8)",
        ),
        (
            -3.2,
            "Own choice at Service B: 3 s slower on the stages than the first call (−2 to +8)",
        ),
        (0.2, "Own choice at Service B: as fast on the stages as the first call"),
    ],
)
def test_gain_and_loss_are_told_alike_and_without_advice(window, gain_s, words):
    said = words_of(window.session, LookedBack("B", gain_s, -2.0, 8.0))
    assert said == words
    assert not [word for word in ADVICE if word in said.lower()]


def test_the_end_of_a_leg_shows_it_and_closing_asks_once(window):
    session = window.session
    session.looked_back["B"] = LookedBack("B", 3.2, -2.0, 8.0)
    window.go("leg:1")
    assert window.page.key == "close_leg"
    lines = [one.text() for one in window.page.findChildren(QLabel)]
    assert [text for text in lines if text.startswith("Own choice at Service B: 3 s faster")]
    before = len(session.day.entries)
    window.fire_primary()
    assert len(session.day.entries) == before
    # The cursor is on the answer that changes nothing.
    assert window.focusWidget().objectName() == "leg_keep"
    window.page.findChild(QAbstractButton, "leg_keep").click()
    assert window.page.primary_text() == "Close leg 1"
    assert len(session.day.entries) == before
    window.fire_primary()
    window.fire_primary()
    assert len(session.day.entries) == before + 1


def test_every_link_of_the_rail_leads_somewhere(window):
    from crewdesk.gui.timing import steps_of_day

    pages = set()
    for step in steps_of_day(window.session.bundle, window.session.state):
        window.go_step(step.key)
        assert window.page.isVisible()
        assert window.page.heading().strip()
        pages.add(window.page.key)
    assert {"load", "visit", "call", "loop", "close_leg", "handover"} <= pages


def test_undo_reaches_behind_a_restart_and_redo_comes_back(window, open_window):
    session = window.session
    air = [r.air_c for r in session.state.reports]
    session.enter(Report(place="B", air_c=21))
    session.enter(Report(place="B", air_c=22))
    book = session.day.book_path
    window.close()
    again = open_window(book).session
    again.undo()
    again.undo()
    assert [r.air_c for r in again.state.reports] == air
    again.redo()
    assert [r.air_c for r in again.state.reports] == [*air, 21]


def test_the_last_stages_are_said_to_be_run_before_the_last_leg_is_closed(window, qtbot):
    session = window.session
    places = session.bundle.itinerary.change_places
    car = session.state.fitted.tyres
    session.enter(Fitting(place=places[-1].key, fitting=dict(car)))
    session.enter(ReadBack(place=places[-1].key, fitting=dict(car)))
    stages = places[-1].stages
    window.go(f"leg:{places[-1].leg}")
    page = window.page
    assert page.key == "close_leg"
    assert page.unsaid.isVisible()
    assert all(ref in page.unsaid.text() for ref in stages)
    assert page.primary_text() == f"{' '.join(stages)} run"
    window.fire_primary()
    assert set(stages) <= set(session.state.stages_run)
    assert not page.unsaid.isVisible()
    assert page.primary_text() == f"Close leg {places[-1].leg}"
    # Now the tyres have run, and their last depths are asked for.
    assert page.findChild(QWidget, "box_tread_in_mm:FL").isVisible()
    window.go("loop")
    session.undo()
    session.enter(OffRoad(where=stages[-1]))
    window.go(f"leg:{places[-1].leg}")
    assert not page.unsaid.isVisible()
