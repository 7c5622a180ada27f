"""Nothing open, opening, another window's book, a damaged or newer one: said, with a way on."""

import errno
import sqlite3
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication, QLabel, QPushButton

from crewdesk.assets import shipped
from crewdesk.desk.day import Day
from crewdesk.errors import JournalError
from crewdesk.gui import app as gui_app
from crewdesk.gui.bottombar import short_paths
from crewdesk.gui.pictures import StillEngine
from crewdesk.journal.entries import Report
from crewdesk.journal.files import backup_copy

SALDREY = Path(str(shipped("demo_events").joinpath("saldrey")))


@pytest.fixture
def desk(app, qtbot, tmp_path, monkeypatch):
    monkeypatch.setattr(gui_app, "EngineClient", StillEngine)
    made = gui_app.Desk(gui_app.settings_file(tmp_path), data_dir=tmp_path)
    made.window.show()
    yield made
    made.window.close()


def said(desk):
    page = desk.window.pages["load"]
    return "\n".join(one.text() for one in page.findChildren(QLabel) if one.text())


def press(desk, name):
    desk.window.pages["load"].findChild(QPushButton, name).click()


def test_nothing_open_says_what_is_missing_and_how_to_go_on(desk):
    assert "What is missing is the event" in said(desk)
    page = desk.window.pages["load"]
    for name in ("load_choose", "load_type", "load_demo"):
        assert page.findChild(QPushButton, name).isVisible()


def test_an_event_being_read_is_named_until_it_is_there(desk):
    page = desk.window.pages["load"]
    page.show_opening("saldrey")
    assert "Opening saldrey" in said(desk)
    asked = []
    page.go.connect(asked.append)
    desk.window.fire_primary()
    assert asked == []
    assert desk.window.page.primary_text().startswith("Opening")
    desk.open(SALDREY, None)
    assert "Opening" not in said(desk)
    assert "Saldrey Forest Day" in said(desk)


def test_the_event_is_read_after_the_first_drawing(desk, qtbot):
    first = gui_app.FirstPaint(desk.window)
    with qtbot.waitSignal(first.done, timeout=2000):
        desk.window.repaint()


def test_an_event_that_cannot_be_opened_says_why_and_not_what_is_missing(desk, tmp_path):
    desk.open(tmp_path / "nowhere", None)
    assert "The event could not be opened." in said(desk)
    assert "There is no such folder" in said(desk)
    assert "What is missing" not in said(desk)


@pytest.fixture
def other(tmp_path):
    """The same event, open to be written at another desk."""
    day = Day.open(SALDREY, data_dir=tmp_path, desk_name="another")
    yield day
    day.close()


def test_a_second_window_reads_along_and_follows(desk, other):
    desk.open(SALDREY, None)
    assert not desk.session.is_open
    assert "Another window writes the book" in said(desk)
    assert desk.window.bottom.primary.text().startswith("Read along")
    desk.window.fire_primary()
    assert desk.session.day.read_only
    assert "reading along" in desk.window.windowTitle()
    assert "⚠ watch: reading along" in said(desk)
    assert other.enter(Report(place="A", air_c=17)).accepted
    desk.session._follow_day()
    assert desk.session.state.reports[-1].air_c == 17
    desk.window.go("conditions")
    assert desk.session.enter(Report(place="A", air_c=3)) is None
    assert "open only to be read" in desk.window.bottom.notice._whole


@pytest.mark.parametrize("along", [False, True])
def test_a_second_window_can_take_the_book_over(desk, other, along):
    desk.open(SALDREY, None)
    if along:
        desk.window.fire_primary()
    press(desk, "load_over")
    assert desk.session.is_open
    assert not desk.session.day.read_only
    assert "reading along" not in desk.window.windowTitle()
    assert desk.session.enter(Report(place="A", air_c=19)).accepted


def test_a_newer_book_is_left_alone(desk, tmp_path):
    with Day.open(SALDREY, data_dir=tmp_path, desk_name="test") as day:
        path = day.book_path
    book = sqlite3.connect(path)
    book.execute("pragma user_version = 99")
    book.commit()
    book.close()
    before = path.read_bytes()
    desk.open(SALDREY, None)
    assert "newer crewdesk" in said(desk)
    assert path.read_bytes() == before
    page = desk.window.pages["load"]
    assert page.findChild(QPushButton, "load_over") is None


def test_a_damaged_book_is_shown_as_far_as_it_is_sound(desk, tmp_path):
    with Day.open(SALDREY, data_dir=tmp_path, desk_name="test") as day:
        for air in range(10, 22):
            assert day.enter(Report(place="A", air_c=air, note="x" * 900)).accepted
        path = day.book_path
    book = sqlite3.connect(path)
    book.execute("pragma wal_checkpoint(truncate)")
    book.close()
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) - 4096])
    desk.open(SALDREY, None)
    assert "is damaged" in said(desk)
    kept = path.read_bytes()
    assert desk.window.page.primary_text() == "Read sound part"
    desk.window.fire_primary()
    assert desk.session.is_open
    assert desk.session.day.missing
    assert all(text in said(desk) for text in desk.session.day.missing)
    assert path.read_bytes() == kept


def test_a_book_of_which_nothing_is_left_says_so(desk, tmp_path):
    with Day.open(SALDREY, data_dir=tmp_path, desk_name="test") as day:
        path = day.book_path
    path.write_bytes(b"\0" * path.stat().st_size)
    desk.open(SALDREY, None)
    desk.window.fire_primary()
    assert not desk.session.is_open
    assert "together with the folder" not in said(desk)


def test_a_book_where_nothing_may_be_written_can_be_looked_at(desk, tmp_path, monkeypatch):
    with Day.open(SALDREY, data_dir=tmp_path, desk_name="test") as day:
        assert day.enter(Report(place="A", air_c=11)).accepted
    opened = Day.open.__func__

    def shut(kind, *where, read_only=False, **more):
        if not read_only:
            cause = OSError(errno.EROFS, "Read-only file system")
            raise JournalError("The day book could not be written.", hint="Free.") from cause
        return opened(kind, *where, read_only=True, **more)

    monkeypatch.setattr(Day, "open", classmethod(shut))
    desk.open(SALDREY, None)
    assert "could not be written" in said(desk)
    assert desk.window.page.primary_text() == "Look only"
    desk.window.fire_primary()
    assert desk.session.day.read_only
    assert desk.session.state.reports[-1].air_c == 11
    assert "Another window" not in said(desk)


@pytest.mark.parametrize(
    ("text", "short"),
    [
        ("The day book /a/b/c.daybook is damaged.", "The day book is damaged."),
        (
            "The disk is full: the day book /a/c.daybook could",
            "The disk is full: the day book could",
        ),
        ("no path here, 1/2 and km/h", "no path here, 1/2 and km/h"),
    ],
)
def test_two_lines_hold_what_matters_and_no_folders(text, short):
    assert short_paths(text) == short


def test_from_a_damaged_book_a_saved_copy_or_a_new_book_leads_on(desk, tmp_path):
    with Day.open(SALDREY, data_dir=tmp_path, desk_name="test") as day:
        assert day.enter(Report(place="A", air_c=12)).accepted
        path = day.book_path
    copy = tmp_path / "saved.crewbook"
    backup_copy(path, copy)
    broken = b"\0" * path.stat().st_size
    path.write_bytes(broken)
    desk.open(SALDREY, None)
    page = desk.window.pages["load"]
    assert "main" not in said(desk)
    desk.window.fire_primary()
    assert "can be read any more" in said(desk)
    assert page.findChild(QPushButton, "load_sound") is None
    page.damaged.open_copy(copy)
    assert desk.session.is_open
    assert desk.session.state.reports[-1].air_c == 12
    desk.session.close_day()
    desk.open(SALDREY, None)
    page.findChild(QPushButton, "load_fresh").click()
    assert desk.session.is_open
    assert not desk.session.state.reports
    assert desk.session.enter(Report(place="A", air_c=13)).accepted
    (kept,) = path.parent.glob("*.damaged-*[0-9]")
    assert kept.read_bytes() == broken


def test_what_stops_has_room_on_a_small_screen(desk):
    bottom = desk.window.bottom
    desk.window.resize(1024, 700)
    QApplication.processEvents()
    desk.session.notice("stops", "H01 1.2 mm at the inner point, limit 1.6. Take another.")
    QApplication.processEvents()
    assert bottom.notice.text().endswith("Take another.")
    bottom.seen.click()
    assert bottom.wear.isVisible()
