"""Pages beside the day: settings, day book, handover, list of tyres, all steps, rules."""

import re

import pytest
from PySide6.QtWidgets import QApplication, QLabel, QPushButton

from crewdesk.documents.handover import HandoverTyre, RunAt
from crewdesk.gui.paper.handover_pdf import tyre_words
from crewdesk.journal.entries import Note
from tests.gui.conftest import QUELLHAVEN


def entries(page):
    """Return the lines of the day book."""
    found = [w for w in page.findChildren(QLabel) if re.fullmatch(r"book_\d+", w.objectName())]
    return [w.text() for w in found]


def test_settings_show_the_touch_size_that_holds(window):
    window.go("settings")
    page = window.page
    assert page.touch.value == 1.0
    page.touch.buttons[1][0].click()
    assert window.sizes.touch == 1.2
    assert page.touch.value == 1.2


def test_the_clock_is_told_with_its_distance_from_utc(window):
    window.go("settings")
    said = window.page.clock_words.text()
    assert "(UTC+2)" in said
    assert "Etc" not in said


def test_the_day_book_shows_older_entries_on_demand(window):
    for at in range(45):
        window.session.enter(Note(text=f"note {at}"), "note")
    window.go("book")
    page = window.page
    count = len(window.session.day.entries)
    assert len(entries(page)) == 40
    page.findChild(QPushButton, "book_older").click()
    assert len(entries(page)) == count
    assert page.findChild(QPushButton, "book_older") is None


def test_the_day_book_says_where_a_line_was_cut(window):
    window.session.enter(Note(text="one word after another " * 30), "note")
    window.go("book")
    (longest,) = [t for t in entries(window.page) if "one word" in t]
    assert longest.endswith("…")


def test_the_list_of_tyres_begins_with_the_list_where_nobody_is_undecided(window):
    window.go("nomination")
    page = window.page
    assert page.shown.value == "listed"
    assert page.findChild(QPushButton, "list_H01") is not None


def test_a_step_is_not_offered_twice(window):
    window.go("steps")
    words = [b.text() for b in window.page.findChildren(QPushButton) if not b.isHidden()]
    plain = [re.sub(r"^[✓▶○] ", "", one) for one in words]
    assert len(plain) == len(set(plain))
    assert "Settings" in plain
    assert window.page.findChild(QPushButton, "to_handover") is None


@pytest.mark.parametrize(("width", "least"), [(1366, 6), (1024, 5)])
def test_the_steps_take_the_room_there_is(window, width, least):
    window.resize(width, 700)
    window.go("steps")
    buttons = [b for b in window.page.findChildren(QPushButton) if not b.isHidden()]
    top = min(b.y() for b in buttons)
    assert sum(b.y() == top for b in buttons) >= least


def test_a_tyre_in_one_line_has_its_units():
    tyre = HandoverTyre(
        tyre_id="H07", maker="Vellmark", model="Quarry", compound="hard", use="gravel",
        tread_new_mm=10.0, tread_mm=(6.1, 6.4, 6.0), tread_source="estimated",
        edge_share=(0.5, 0.4, 0.45), stage_km=81.0, event_km=42.9, rim_id="G07", state="keep",
        runs=(RunAt(stage="SS1", place="FL", km=13.6),),
    )  # fmt: skip
    assert tyre_words(tyre) == (
        "G07·H07 · Vellmark Quarry hard · ≈ 6.1  6.4  6.0 mm · edges 45 % · "
        "43 km here, 81 in all · keep"
    )


def test_the_rules_leave_the_room_of_empty_columns_to_the_source(window):
    window.resize(1366, 700)
    window.go("rules")
    QApplication.processEvents()
    table = window.page.table
    shown = [at for at in range(7) if not table.isColumnHidden(at)]
    assert shown == [0, 1, 6]
    assert table.columnWidth(6) >= 400


@pytest.fixture
def winter(open_window):
    """Return a window on the winter event as it is entered, with two tyres that may not run."""
    window = open_window()
    assert window.session.open(QUELLHAVEN.parent / "ysterholt", None)
    return window


def test_what_stops_a_tyre_of_the_list_is_said_as_such(winter):
    winter.go("nomination")
    page = winter.page
    assert page.stops.isVisible()
    assert page.stops.text().startswith("■ stops: U03")
    assert not page.watch.isVisible()
    assert "plain winter 4, none may be used" in page.counts.text()


def test_no_short_call_is_told_before_anything_is_on_the_car(winter, quick):
    session = winter.session
    session.answer = quick(session.day)
    winter.go("minutes")
    names = {w.objectName() for w in winter.page.findChildren(QLabel)}
    assert "minutes_wheels" in names
    assert not names & {"minutes_short_call", "minutes_no_short"}
