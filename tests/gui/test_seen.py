"""Faults that were seen in pictures of the real window, each held by a check."""

from dataclasses import replace
from datetime import timedelta

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics, QFontMetricsF
from PySide6.QtWidgets import QApplication, QPushButton

from crewdesk.gui.charts.words import minimum_lines
from crewdesk.gui.reasons import ahead_words
from crewdesk.gui.theme import FAMILY, THEMES
from crewdesk.gui.views import tread_text, wheels_off
from crewdesk.journal.entries import AsFound, CallUsed, Fitting, ReadBack, Reading

FIRST = {"FL": "H01", "FR": "H02", "RL": "H03", "RR": "H04", "SP1": "H05", "SP2": "H06"}
WIDE = (1920, 1010)


def press(window, text):
    for sign in text:
        window.page.host.press(sign)
    window.page.host._settle()


def shown_in(window, key):
    return window.page.host.fields[key].text()


def shaped(window, size):
    # Without a window manager nothing asks for the second turn that a new look needs.
    for less in (0, 1, 0):
        window.resize(size[0], size[1] - less)
        QApplication.processEvents()


def test_both_temperatures_of_a_later_visit_are_taken(window):
    window.go("conditions")
    press(window, "1824")
    window.go("call")
    window.go("conditions")
    # What stood there was of before: the cursor stops at the road again.
    assert shown_in(window, "road_c") == ""
    press(window, "2739")
    reports = window.session.state.reports
    assert next(r.air_c for r in reversed(reports) if r.air_c is not None) == 27
    assert next(r.road_c for r in reversed(reports) if r.road_c is not None) == 39


def test_another_place_begins_with_empty_boxes(window):
    window.go("conditions")
    press(window, "2739")
    window.page.set_place(window.session.place.stages[0])
    assert shown_in(window, "air_c") == ""
    assert window.session.state.reports[-1].place == window.session.place.key


def test_what_is_taken_back_leaves_its_box(window):
    window.go("car_in")
    window.page.agree.click()
    press(window, "231230")
    assert (shown_in(window, "hot:FL"), shown_in(window, "hot:FR")) == ("2.31", "2.30")
    window.session.undo()
    assert (shown_in(window, "hot:FL"), shown_in(window, "hot:FR")) == ("2.31", "")
    window.session.redo()
    assert shown_in(window, "hot:FR") == "2.30"


def test_a_reading_from_another_desk_comes_into_its_box(window):
    window.go("car_in")
    window.page.agree.click()
    window.session.enter(Reading(tyre_id="H03", hot_kpa=228, place="B"), "reading")
    assert shown_in(window, "hot:RL") == "2.28"
    # A look has no place in the readings: it stays as it was tapped.
    window.page.host.enter_box("look:FL")
    press(window, "3")
    window.session.enter(Reading(tyre_id="H04", hot_kpa=228, place="B"), "reading")
    assert shown_in(window, "look:FL") == "even"


def test_a_depth_taken_back_leaves_its_box_behind_the_car(window):
    session = window.session
    new = {"FL": "H07", "FR": "H02", "RL": "H03", "RR": "H04", "SP1": "H05", "SP2": "H06"}
    for body in (
        CallUsed(place="B", fitting=new),
        AsFound(place="B", fitting=FIRST),
        Fitting(place="B", fitting=new),
        ReadBack(place="B", fitting=new, torque=("FL",), name="Mo"),
    ):
        assert session.enter(body, body.kind).accepted
    assert wheels_off(session.state) == ("H01",)
    window.go("left_behind")
    press(window, "77")
    assert shown_in(window, "tread_in_mm:H01") == "7.7"
    session.undo()
    assert shown_in(window, "tread_in_mm:H01") == ""


@pytest.mark.parametrize("theme", THEMES)
def test_charts_without_a_call_have_the_ground_of_the_theme(open_window, theme):
    window = open_window()
    shaped(window, WIDE)
    window.set_theme(theme)
    assert window.session.answer is None
    for panel in window.charts.charts.panels.values():
        assert panel.plot.backgroundBrush().color() == QColor(THEMES[theme].card)


def test_the_wear_page_has_its_charts_once(window):
    shaped(window, WIDE)
    assert window.charts.isVisible()
    window.go("wear")
    assert not window.charts.isVisible()
    window.go("call")
    assert window.charts.isVisible()


def test_the_call_in_use_keeps_its_minutes_and_no_figure_leaves_its_unit(window):
    window.go("call")
    before = window.page.one.head.text()
    assert "\u00a0min" in before
    window.fire_primary()
    assert window.page.one.head.text() == f"{before} · in use"
    assert "G05\u00a0FL" in window.page.one.wheels.text()


def test_a_depth_has_its_unit_and_says_when_it_is_of_before_the_run(window):
    session = window.session
    tyre = session.state.tyres["H01"]
    assert tyre.runs
    assert tread_text(tyre, {}).startswith("was 10.0 mm ")
    estimates = session.answer.estimates
    assert " mm " in tread_text(tyre, estimates)
    assert tread_text(tyre, estimates).startswith("≈ ")


@pytest.mark.parametrize("size", [(1024, 700), (1366, 700), WIDE])
def test_no_line_of_a_slot_is_cut(window, size):
    window.go("call")
    shaped(window, size)
    for button in window.slots.buttons.values():
        view = button.view
        room = button.width() - 22
        metrics = QFontMetrics(button._font(button._line_px))
        lines = [view.tread, f"cold {view.cold} bar", f"{view.tyre_id}  {view.compound}"]
        if size[0] < 1200:
            lines = [view.tread]
        assert max(metrics.horizontalAdvance(line) for line in lines) <= room


def test_a_late_clock_leaves_the_place_its_room(window, monkeypatch):
    session = window.session
    due = session.place.due_in_utc
    shaped(window, (1024, 700))
    monkeypatch.setattr(session, "now", lambda: due + timedelta(minutes=14))
    window.top.refresh()
    QApplication.processEvents()
    assert "late" in window.top.left.text()
    where = window.top.where
    wanted = QFontMetrics(where.font()).horizontalAdvance(where.text())
    assert wanted <= where.contentsRect().width()


def test_the_origin_of_the_minimum_saves_a_line_by_a_short_word():
    font = QFont(FAMILY)
    font.setPixelSize(15)
    metrics = QFontMetricsF(font)
    words = "minimum 1.6 mm, rules of the weekend, not checked by the crew"
    whole = metrics.horizontalAdvance(words)
    assert minimum_lines(words, metrics, whole + 1) == [words]
    assert minimum_lines(words, metrics, whole - 1) == [words.replace("minimum", "min", 1)]
    assert len(minimum_lines(words, metrics, whole / 2)) >= 2


def test_the_next_best_is_named_so_only_where_nothing_is_nearer(window):
    session, made = window.session, window.session.answer
    other = made.result.alternatives[0]
    ahead_s = sum(reason.seconds for reason in made.result.reasons)
    alone = replace(
        made,
        result=replace(
            made.result, alternatives=(replace(other, loss_s=ahead_s),), short_call=None
        ),
    )
    assert "of the next best (" in ahead_words(session, alone)
    nearer = replace(
        alone,
        result=replace(
            alone.result,
            alternatives=(replace(other, loss_s=ahead_s - 1), *alone.result.alternatives),
        ),
    )
    assert "next best" not in ahead_words(session, nearer)
    assert f"{ahead_s:.1f} s ahead of " in ahead_words(session, nearer)


def test_the_cursor_stays_on_the_row_that_was_ticked(window, qtbot):
    def has_cursor(name):
        held = window.focusWidget()
        return held is not None and held.objectName() == name

    window.go("fit")
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    for name in ("fitted_FL", "fitted_FR"):
        made = next(b for b in window.findChildren(QPushButton, name) if b.isVisible())
        made.setFocus()
        qtbot.keyClick(made, Qt.Key.Key_Space)
        qtbot.waitUntil(lambda name=name: has_cursor(name))
        assert window.focusWidget().isChecked()


def test_a_tyre_is_added_without_looking_for_the_cursor(window):
    window.go("add_tyre")
    assert window.focusWidget().objectName() == "add_tyre_id"


def test_the_slots_come_back_when_the_window_grows(window):
    window.go("call")
    shaped(window, (840, 620))
    assert not window.right.isVisible()
    shaped(window, (1366, 700))
    assert window.right.isVisible()
    shaped(window, WIDE)
    assert window.right.isVisible()
