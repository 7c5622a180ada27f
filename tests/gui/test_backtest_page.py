"""Simulated days in the window: it starts, tells how far it is, stops, and goes on living."""

import pytest
from PySide6.QtWidgets import QLabel

from crewdesk.desk.backtest.beside import Beside
from crewdesk.desk.backtest.play import Played
from crewdesk.desk.backtest.policies import POLICIES
from crewdesk.desk.backtest.score import Backtest, day_score
from crewdesk.desk.backtest.sky import Spread
from crewdesk.desk.backtest.truth import draw_truth
from crewdesk.desk.backtest.words import means
from crewdesk.documents.store import load_event
from crewdesk.gui.pages.backtest import BacktestPage
from tests.gui.conftest import QUELLHAVEN


class Told:
    """Days that the test itself moves on."""

    def __init__(self, days):
        self.days, self.done, self.made, self.fault = days, 0, None, ""
        self.asked_to_stop = self.closed = False

    @property
    def finished(self):
        return self.made is not None or bool(self.fault)

    def look(self):
        return True

    def stop(self):
        self.asked_to_stop = True

    def close(self):
        self.closed = True


@pytest.fixture(scope="module")
def made():
    bundle = load_event(QUELLHAVEN)
    truth = draw_truth(bundle, 0, 0, Spread(widen=0.0))
    played = {name: Played(time_s=1000.0 + 4 * n) for n, name in enumerate(POLICIES)}
    played["foresight"] = Played(time_s=998.0)
    day = day_score(bundle, truth, 0, played, xi_money_per_s=32.0)
    return Backtest(0, (day,), stopped=True)


@pytest.fixture
def page(window):
    window.go("backtest")
    page = window.findChild(BacktestPage)
    yield page
    page.shut()


def test_days_are_played_shown_and_stopped(page, monkeypatch, made):
    begun = []

    def make(bundle, days):
        begun.append(Told(days))
        return begun[-1]

    monkeypatch.setattr(page, "make", make)
    assert page.primary_text() == "Play the days"
    page.primary()
    run = begun[0]
    assert (page.running, run.days) == (True, 10)
    assert page.bar.isVisibleTo(page)
    run.done = 3
    page.look()
    assert (page.bar.value(), page.bar.maximum()) == (3, 10)
    assert page.count.text() == "3 of 10 days"
    page.stop_button.click()
    assert run.asked_to_stop
    assert "Stopping" in page.words.text()
    run.made = made
    page.look()
    assert (page.running, run.closed) == (False, True)
    assert "stopped before all were done" in page.words.text()
    # By name: a layout's item outlives its widget in Python, and its place is given out again.
    told = [page.findChild(QLabel, f"backtest_1_{col}").text() for col in (0, 1)]
    assert told == ["the call", "1000.0"]


def test_what_went_wrong_is_told(page, monkeypatch):
    run = Told(10)
    run.fault = "The stock is empty."
    monkeypatch.setattr(page, "make", lambda _bundle, _days: run)
    page.primary()
    page.look()
    assert not page.running
    assert page.words.text() == "The stock is empty."


def test_the_days_run_in_a_process_of_their_own():
    bundle = load_event(QUELLHAVEN)
    empty = bundle.model_copy(update={"stock": bundle.stock.model_copy(update={"tyres": ()})})
    run = Beside(empty, 3)
    try:
        assert run._process.pid is not None
        assert run._pipe.poll(60)
        assert run.look()
        assert run.finished
        assert "The stock is empty." in run.fault
    finally:
        run.close()
    assert not run._process.is_alive()


def test_a_day_that_ended_early_makes_no_way_look_quick():
    bundle = load_event(QUELLHAVEN)
    days = []
    for number in (0, 1):
        truth = draw_truth(bundle, 0, number, Spread(widen=0.0))
        played = {name: Played(time_s=1000.0) for name in POLICIES}
        if number:
            played["rule_of_thumb"] = Played(time_s=300.0, no_plan=True)
        days.append(day_score(bundle, truth, number, played, xi_money_per_s=32.0))
    mean = means(Backtest(0, tuple(days)), "rule_of_thumb")
    assert mean.no_plan == 1
    assert mean.time_s == 1000.0
    assert mean.total_s > 1000.0
