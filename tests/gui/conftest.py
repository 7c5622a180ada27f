"""A window on a demo event at its second service, with a real answer of the engine."""

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication
from shiboken6 import delete

from crewdesk.assets import shipped
from crewdesk.desk.answer import CallOptions
from crewdesk.desk.ask import answer, build_problem, dress, place_for
from crewdesk.desk.coming_in import as_it_comes_in
from crewdesk.desk.day import Day
from crewdesk.desk.estimate import estimates_of
from crewdesk.desk.short_call import with_short
from crewdesk.engine.solve import propose
from crewdesk.gui.app import make_application, settings_file
from crewdesk.gui.engine_client import EngineClient
from crewdesk.gui.pictures import StillEngine
from crewdesk.gui.session import Session
from crewdesk.gui.window import MainWindow
from crewdesk.journal.entries import (
    AsFound,
    CallUsed,
    Fitting,
    Incident,
    ReadBack,
    Report,
    StageRun,
)

QUELLHAVEN = Path(str(shipped("demo_events").joinpath("quellhaven")))
FIRST = {"FL": "H01", "FR": "H02", "RL": "H03", "RR": "H04", "SP1": "H05", "SP2": "H06"}


class QuietEngine(EngineClient):
    """An engine that is asked and does not answer: the test hands in the answer itself."""

    def start(self):
        """Start nothing."""

    def request(self, *arguments, work=""):
        self.asked = (work, arguments)
        self._number += 1
        return self._number

    ask_aside = StillEngine.ask_aside


def said_by(script: str, **environment: str) -> str:
    """Return what a script prints in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-c", script],
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture
def said():
    return said_by


@pytest.fixture(scope="session")
def app(qapp):
    return make_application()


@pytest.fixture(autouse=True)
def no_window_left():
    """Delete the windows that a test closed: each one left makes all that follow slower."""
    yield
    for widget in QApplication.topLevelWidgets() if QApplication.instance() else ():
        if isinstance(widget, MainWindow) and widget.isHidden():
            delete(widget)


def accepted(day, *bodies):
    for body in bodies:
        receipt = day.enter(body)
        assert receipt.accepted, receipt.messages


def first_loop(day):
    """Enter the first service and its loop, with a puncture that is only half known."""
    accepted(
        day,
        Report(place="A", air_c=18, road_c=24, surface="dry"),
        CallUsed(place="A", fitting=FIRST),
        Fitting(place="A", fitting=FIRST, cold_kpa=dict.fromkeys(FIRST, 195.0), set_at_c=18),
        ReadBack(place="A", fitting=FIRST, torque=("FL", "FR", "RL", "RR"), name="Mo"),
        StageRun(stage="SS1"),
        Incident(what="puncture", where="SS2", side="left"),
        StageRun(stage="SS2"),
        StageRun(stage="SS3"),
        Report(place="B", air_c=26, road_c=39, surface="dry"),
    )


def quick_answer(day, **more):
    """Return a real answer, the first one found: small enough for a test."""
    options, found = CallOptions(scenarios=1, **more), []
    made = answer(
        day.bundle,
        day.state,
        options,
        1,
        day.now(),
        lambda: bool(found),
        found.append,
        with_flips=False,
    )
    return replace(made, final=True)


def with_choices(day):
    """Return an answer that was looked for long enough to hold other choices."""
    bundle, state, options, now = day.bundle, day.state, CallOptions(scenarios=1), day.now()
    problem = build_problem(bundle, state, options, now)
    found = with_short(bundle, state, options, problem, propose(problem, work_limit=150))
    ahead = as_it_comes_in(bundle, state, place_for(bundle, state, None))
    estimates = estimates_of(bundle, ahead, now)
    return dress(bundle, state, options, 1, now, problem, found, estimates, final=True)


@pytest.fixture(scope="session")
def quick():
    """Return a function that works out a small answer."""
    return quick_answer


@pytest.fixture(scope="session")
def at_b(tmp_path_factory):
    """The day book as far as Service B, and the call for it."""
    folder = tmp_path_factory.mktemp("at_b")
    day = Day.open(QUELLHAVEN, data_dir=folder, desk_name="test")
    first_loop(day)
    made = with_choices(day)
    path = day.book_path
    day.close()
    return path.read_bytes(), made


def make_window(folder):
    session = Session(QuietEngine(), data_dir=folder)
    window = MainWindow(session, settings_file(folder))
    window.show()
    return window


def at_service_b(at_b, folder):
    """Return a window on the day at Service B, its call proposed."""
    book, made = at_b
    path = folder / "day.book"
    path.write_bytes(book)
    window = make_window(folder)
    assert window.session.open(QUELLHAVEN, path)
    window.session.answer = replace(made)
    window.session.answer_at = window.session.now()
    window.session.answered.emit()
    return window


@pytest.fixture
def window(app, qtbot, tmp_path, at_b):
    made = at_service_b(at_b, tmp_path)
    yield made
    made.close()


@pytest.fixture
def open_window(app, qtbot, tmp_path):
    """Return a function that opens a window on a book."""
    made = []

    def opened(book=None):
        window = make_window(tmp_path)
        made.append(window)
        assert window.session.open(QUELLHAVEN, book)
        return window

    yield opened
    for window in made:
        window.close()


@pytest.fixture(scope="module")
def shared_window(app, tmp_path_factory, at_b):
    """One window for the checks that only look."""
    made = at_service_b(at_b, tmp_path_factory.mktemp("shared"))
    session = made.session
    first = session.answer.result.plan[0]
    session.enter(CallUsed(place="B", fitting=first.fitting, cold_kpa=first.cold_pressure_kpa))
    session.enter(AsFound(place="B", fitting=FIRST))
    yield made
    made.close()
