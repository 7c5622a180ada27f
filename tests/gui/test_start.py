"""The start: drawn before anything is made, filled in parts, then the event, then the rest."""

import sys
from pathlib import Path

import pytest
from PySide6.QtCore import QObject
from PySide6.QtWidgets import QLabel, QPushButton

from crewdesk.assets import shipped
from crewdesk.gui import app as gui_app
from crewdesk.gui import start as gui_start
from crewdesk.gui.page_book import TOGETHER
from crewdesk.gui.pages import PAGE_CLASSES
from crewdesk.gui.pictures import StillEngine
from crewdesk.gui.warm import FOR_A_DAY, FOR_THE_PAGES, Warmer
from crewdesk.gui.window import MainWindow

DEMOS = Path(str(shipped("demo_events")))
QUELLHAVEN, SALDREY = DEMOS / "quellhaven", DEMOS / "saldrey"


@pytest.fixture
def begin(app, qtbot, tmp_path, monkeypatch):
    """Return a function that starts the program on an event."""
    monkeypatch.setattr(gui_app, "EngineClient", StillEngine)
    monkeypatch.setattr(gui_app, "start_log", lambda: None)
    monkeypatch.setattr(sys, "excepthook", sys.excepthook)
    made = []

    def started(event):
        window = gui_start.first_window(gui_start.settings_file(tmp_path))
        made.append(window)
        return gui_start.Start(window, event, None, data_dir=tmp_path)

    yield started
    for window in made:
        window.close()


def test_the_window_stands_before_there_is_a_control_and_then_takes_the_event(begin, qtbot):
    start = begin(SALDREY)
    window = start.window
    assert window.isVisible()
    assert not window.filled
    assert not window.findChildren(QPushButton)
    window.resize(1300, 690)
    assert window._face.size() == window.size()
    with qtbot.waitSignal(start.filled, timeout=10000):
        window.repaint()
    assert window.filled
    assert window._face is None
    assert "Opening saldrey" in window.pages["load"].title.text()
    with qtbot.waitSignal(start.ready, timeout=20000):
        pass
    assert start.desk.session.bundle.event.name in window.windowTitle()
    assert "Opening" not in window.pages["load"].title.text()


def test_keys_before_the_window_is_filled_do_nothing(begin, qtbot):
    window = begin(SALDREY).window
    for key in "1", "\r":
        qtbot.keyClicks(window, key)
    assert not window.filled


def test_closed_at_once_nothing_more_is_made(begin, qtbot):
    start = begin(SALDREY)
    start._begin()
    start.window.close()
    qtbot.wait(1)
    assert start.desk is None
    assert not start.window.filled


def test_closed_between_reading_and_taking_the_book_is_free_again(begin, qtbot):
    start = begin(SALDREY)
    with qtbot.waitSignal(start.filled, timeout=10000):
        start.window.repaint()
    desk = start.desk
    opening = desk.opening(QUELLHAVEN, None)
    next(opening)
    assert not desk.session.is_open
    opening.close()
    desk.open(QUELLHAVEN, None)
    assert desk.session.is_open
    assert not desk.session.day.read_only


def test_a_start_that_fails_is_told_to_the_caller(begin, qtbot, monkeypatch):
    def broken(*_arguments, **_named):
        raise RuntimeError("no letters")

    monkeypatch.setattr(gui_app, "make_application", broken)
    start = begin(SALDREY)
    with qtbot.waitSignal(start.window.closed, timeout=10000):
        start._begin()
    assert str(start.error) == "no letters"


def test_the_event_that_is_written_here_is_shown_and_not_read_again(
    app, qtbot, tmp_path, monkeypatch
):
    monkeypatch.setattr(gui_app, "EngineClient", StillEngine)
    desk = gui_app.Desk(gui_app.settings_file(tmp_path), data_dir=tmp_path)
    desk.open(SALDREY, None)
    day = desk.session.day
    desk.window.go("conditions")
    desk.open(SALDREY, None)
    assert desk.session.day is day
    assert desk.session.busy_book is None
    assert desk.window.page.key == "load"
    desk.open_soon(QUELLHAVEN)
    qtbot.waitUntil(lambda: desk.session.day is not day and desk.session.is_open)
    assert "Quellhaven" in desk.session.bundle.event.name
    desk.window.close()


class Told(QObject):
    """Parts of a work that say that they were done."""

    def __init__(self):
        super().__init__()
        self.done = []

    def parts(self, *names, fault=None):
        for name in names:
            self.done.append(name)
            yield None
        if fault is not None:
            raise fault


def test_newer_work_in_parts_takes_the_place_of_older(qtbot):
    told = Told()
    slices = gui_start.Slices(told)
    slices.run(told.parts("old 1", "old 2"))
    slices.run(told.parts("new 1", "new 2"))
    qtbot.waitUntil(lambda: "new 2" in told.done)
    assert told.done == ["new 1", "new 2"]


def test_work_may_stop_itself_and_a_fault_is_told(qtbot):
    told = Told()
    slices = gui_start.Slices(told)

    def stopping():
        told.done.append("begun")
        slices.stop()
        yield None
        told.done.append("never")

    slices.run(stopping())
    qtbot.waitUntil(lambda: told.done == ["begun"])
    with qtbot.waitSignal(slices.failed) as got:
        slices.run(told.parts("one", fault=ValueError("bad")))
    assert told.done == ["begun", "one"]
    assert str(got.args[0]) == "bad"


def test_what_cannot_be_read_ahead_stops_nothing(qtbot, caplog):
    usual_s = sys.getswitchinterval()
    warmer = Warmer(("crewdesk.no_such_part", "crewdesk.units"))
    with qtbot.waitSignal(warmer.done, timeout=5000):
        warmer.start()
    assert sys.getswitchinterval() == usual_s
    assert "crewdesk.no_such_part could not be read ahead" in caplog.text


def test_a_day_and_the_pages_draw_in_nothing_that_was_not_read_ahead(said):
    script = (
        "import importlib, sys\n"
        f"for name in {(*FOR_A_DAY, *FOR_THE_PAGES)!r}:\n"
        "    importlib.import_module(name)\n"
        "assert 'PySide6.QtWidgets' not in sys.modules\n"
        "known = set(sys.modules)\n"
        "from crewdesk.gui.warm import read_pages\n"
        "print('pages:', len(list(read_pages())))\n"
        "late = {n for n in set(sys.modules) - known if n.startswith('crewdesk.')}\n"
        "print('late:', sorted(n for n in late if not n.startswith('crewdesk.gui')))\n"
    )
    assert "late: []" in said(script)


def test_every_page_is_found_alone_by_its_key(window):
    for page in PAGE_CLASSES:
        assert window.pages._class_of(page.key) is page
        assert page.__module__.endswith(TOGETHER.get(page.key, page.key))
    for no_page in ("now", "tyre:H01", "place:B.x", "listed", ""):
        assert no_page not in window.pages


def test_a_page_at_the_back_takes_the_new_view_when_it_comes_to_the_front(window):
    window.go("stock")
    back = window.page
    window.go("loop")
    before = back.styleSheet()
    window.set_theme("dark")
    assert back.styleSheet() == before
    assert window.page.styleSheet() == window.look.sheet != before
    window.go("stock")
    assert back.styleSheet() == window.look.sheet


def test_a_place_of_no_size_is_not_taken(app, tmp_path):
    settings = gui_start.settings_file(tmp_path)
    window = MainWindow(None, settings)
    window.setMinimumSize(0, 0)
    window.resize(0, 0)
    settings.setValue("geometry", window.saveGeometry())
    again = MainWindow(None, settings)
    assert not again.size().isEmpty()


def test_events_are_looked_for_where_new_ones_go_and_beside_the_open_one(qtbot, tmp_path):
    desk = gui_app.Desk(gui_start.settings_file(tmp_path), data_dir=tmp_path)
    qtbot.addWidget(desk.window)
    assert desk._events_folder() == tmp_path
    (tmp_path / "events").mkdir()
    assert desk._events_folder() == tmp_path / "events"
    # A demo event lies in the program's own folder, where no crew keeps an event.
    desk.session.folder = gui_start.demo_folder()
    assert desk._events_folder() == tmp_path / "events"
    desk.session.folder = tmp_path / "stick" / "forest"
    assert desk._events_folder() == tmp_path / "stick"
    desk.engine.close()


def test_an_invented_event_says_that_it_is_one(window, tmp_path):
    window.go("load")
    said = window.page.findChild(QLabel, "load_invented")
    assert said.text() == "A demo event, invented: try anything on it. New event is your own."
    window.session.folder = tmp_path
    window.page.refresh()
    assert not [
        one for one in window.page.findChildren(QLabel, "load_invented") if one.isVisible()
    ]
