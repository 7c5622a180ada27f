"""A depth that wear hardly allows: taken, marked, and asked about until one key answers."""

import pytest
from PySide6.QtWidgets import QApplication

from crewdesk.gui.keys import KEYS, TYPED
from crewdesk.journal.entries import AsFound, CallUsed, Fitting, ReadBack

STAY = {"FL": "H01", "FR": "H02", "RL": "H03", "RR": "H04", "SP1": "H05", "SP2": "H06"}
FRONT = {**STAY, "FL": "H07"}


@pytest.fixture
def page(window):
    window.session.enter(CallUsed(place="B", fitting=STAY))
    window.go("car_in")
    window.page._agree()
    window.page.host.enter_box("tread_in_mm:FL")
    return window.page


def press(page, text):
    for sign in text:
        page.host.press(sign)
    page.host._settle()


def read(page):
    return page.session.state.tyres["H01"].readings[-1]


def test_it_is_in_the_book_marked_and_asked_about_while_the_cursor_goes_on(page, window):
    press(page, "01")
    assert read(page).tread_mm[0] == 0.1
    assert page.host.fields["tread_in_mm:FL"].text() == "⚠ 0.1"
    assert page.host.walk.current == "tread_mid_mm:FL"
    question = window.pad.question
    assert question.isVisible()
    assert question.words.text().startswith("⚠ Front left, tread inner: 0.1 mm? expected ")
    press(page, "78")
    assert read(page).tread_mm[:2] == (0.1, 7.8)
    assert page.host.walk.asked == "tread_in_mm:FL"


@pytest.mark.parametrize("way", ["key", "button", "anywhere"])
def test_one_key_keeps_it_and_the_book_knows(page, window, qtbot, way):
    press(page, "01")
    if way == "key":
        page.host.press("k")
    elif way == "button":
        window.pad.question.keep.click()
    else:
        window.keys.action("keep")()
    assert page.host.walk.asked is None
    assert read(page).confirmed
    assert page.host.fields["tread_in_mm:FL"].text() == "0.1"
    assert not window.pad.question.isVisible()


def test_one_key_goes_back_to_type_it_again(page, window):
    press(page, "01")
    page.host.press("\b")
    assert page.host.walk.current == "tread_in_mm:FL"
    press(page, "81")
    assert page.host.walk.asked is None
    assert (read(page).tread_mm[0], read(page).confirmed) == (8.1, False)


def test_rubber_does_not_grow(page, window):
    press(page, "*14")
    assert page.host.walk.boxes["tread_in_mm:FL"].doubt == "last 10.0"


@pytest.mark.parametrize("depth", ["84", "79", "98"])
def test_a_likely_depth_is_not_asked_about(page, depth):
    press(page, depth)
    assert page.host.walk.asked is None


def test_it_is_asked_about_after_a_restart_too(page, window):
    press(page, "01")
    assert page.host.fields["tread_in_mm:FL"].text() == "⚠ 0.1"
    folder, path = window.session.folder, window.session.day.book_path
    window.session.close_day()
    assert window.session.open(folder, path)
    window.go("call")
    window.go("car_in")
    assert window.page.host.walk.asked == "tread_in_mm:FL"


def test_nothing_is_held_up(page, window):
    press(page, "01")
    window.fire_primary()
    assert window._current == "fit"


def test_the_wheel_left_behind_is_asked_about_and_undo_takes_the_question_along(window):
    session = window.session
    for body in (
        CallUsed(place="B", fitting=FRONT),
        AsFound(place="B", fitting=STAY),
        Fitting(place="B", fitting=FRONT),
        ReadBack(place="B", fitting=FRONT, torque=("FL",), name="Mo"),
    ):
        assert session.enter(body, body.kind).accepted
    window.go("left_behind")
    press(window.page, "01")
    assert window.page.host.walk.asked == "tread_in_mm:H01"
    session.undo()
    assert window.page.host.walk.asked is None


def test_the_keys_are_in_the_help():
    assert any(key.keys == "Ctrl+K" and "asked" in key.does for key in KEYS)
    assert any(name == "K" for name, _ in TYPED)


def test_damage_is_offered_where_a_box_is_about_a_tyre(page, window):
    assert window.pad.damage.isVisible()
    window.go("conditions")
    QApplication.processEvents()
    assert window.pad.isVisible()
    assert not window.pad.damage.isVisible()
