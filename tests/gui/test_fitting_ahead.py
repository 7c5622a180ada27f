"""What the rules want to know of a fitting is worked out while the wheels are changed."""

from datetime import timedelta

import pytest
from PySide6.QtWidgets import QApplication

from crewdesk.desk import checks
from crewdesk.desk.ahead_told import stages_ahead, tell_ahead
from crewdesk.journal.entries import AsFound, CallUsed, Fitting

STAY = {"FL": "H01", "FR": "H02", "RL": "H03", "RR": "H04", "SP1": "H05", "SP2": "H06"}
FRONT = {**STAY, "FL": "H07"}


@pytest.fixture
def at_fit(window):
    session = window.session
    for body in (AsFound(place="B", fitting=STAY), CallUsed(place="B", fitting=STAY)):
        assert session.enter(body, body.kind).accepted
    window.go("fit")
    QApplication.processEvents()
    return window


def said(receipt):
    return [(m.code, m.level, m.text) for m in receipt.messages]


def test_all_fitted_works_nothing_out_and_says_the_same(at_fit, monkeypatch):
    day = at_fit.session.day
    body = Fitting(place="B", fitting=STAY, at=at_fit.session.now())
    with_it = said(day.enter(body, dry_run=True))
    monkeypatch.setattr(day, "_ahead", None)
    assert said(day.enter(body, dry_run=True)) == with_it
    monkeypatch.undo()

    def never(*_):
        raise AssertionError("worked out on the window's thread")

    monkeypatch.setattr(checks, "ahead_of", never)
    assert said(day.enter(body, dry_run=True)) == with_it


def test_other_wheels_are_asked_about_anew(at_fit, monkeypatch):
    at_fit.page._take("FL", "H07")
    QApplication.processEvents()
    asked = []
    monkeypatch.setattr(checks, "ahead_of", lambda *a: asked.append(a) or {})
    at_fit.session.day.enter(Fitting(place="B", fitting=FRONT), dry_run=True)
    assert not asked
    at_fit.session.day.enter(Fitting(place="B", fitting=STAY), dry_run=True)
    assert len(asked) == 1


def test_it_counts_for_these_stages_and_this_weather_only(at_fit):
    session = at_fit.session
    bundle, state, now = session.bundle, session.state, session.now()
    told = tell_ahead(bundle, state, "B", STAY, now)
    stages = stages_ahead(bundle, state, bundle.itinerary.place("B"))
    assert stages
    assert told.of(STAY, stages, now) is told.told
    assert told.of(STAY, stages[1:], now) is None
    assert told.of(FRONT, stages, now) is None
    assert told.of(STAY, stages, now + timedelta(minutes=11)) is None


def test_another_entry_makes_it_count_no_more(at_fit):
    day = at_fit.session.day
    assert day._ahead_now() is not None
    at_fit.go("call")
    at_fit.session.enter(CallUsed(place="B", fitting=FRONT))
    assert day._ahead_now() is None
