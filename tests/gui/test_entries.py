"""Pages that enter: incident, questions, readings, overriding, finding; each is on disk."""

import subprocess
import sys
import textwrap
from pathlib import Path
from types import SimpleNamespace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel, QPushButton

from crewdesk.assets import shipped
from crewdesk.gui.engine_worker import judge_fitting
from crewdesk.gui.notices import Notice, NoticeBoard
from crewdesk.gui.opened import OpenDay
from crewdesk.gui.pages.incident import NOT_KNOWN
from crewdesk.gui.texts import SHORT, WALK
from crewdesk.journal.entries import AsFound, CallUsed, Fitting

FIRST = {"FL": "H01", "FR": "H02", "RL": "H03", "RR": "H04", "SP1": "H05", "SP2": "H06"}
QUELLHAVEN = Path(str(shipped("demo_events").joinpath("quellhaven")))
BACK_TO_BACK = {**FIRST, "FL": "H07", "FR": "H08"}


def kinds(window):
    return [entry.kind for entry in window.session.day.entries]


def press(window, text):
    """Type into the box that has the cursor; return how many keys that took."""
    for sign in text:
        window.page.host.press(sign)
    return len(text)


def settle(window):
    window.page.host._settle()


def test_a_puncture_with_a_carried_spare_takes_four_taps(window):
    taps = [window.bottom.incident.click]
    taps[0]()
    page = window.page
    corner = {value: made for made, value in page._choices["corner"].buttons}["FL"]
    spare = page._choices["on"].buttons[0]
    taps += [corner.click, spare[0].click, window.bottom.primary.click]
    for tap in taps[1:]:
        tap()
    assert len(taps) <= 4
    body = window.session.day.entries[-1].body
    assert (body.kind, body.what, body.corner) == ("incident", "puncture", "FL")
    assert (body.tyre_off, body.tyre_on, body.changed_by) == ("H01", spare[1], "crew")


def test_every_field_of_an_incident_takes_not_known_yet(window):
    window.go("incident")
    page = window.page
    for choice in page._choices.values():
        if NOT_KNOWN in [value for _, value in choice.buttons]:
            choice._take(NOT_KNOWN)
    window.fire_primary()
    body = window.session.day.entries[-1].body
    assert body.kind == "incident"
    assert (body.corner, body.tyre_on, body.where, body.changed_by) == (None, None, "", "")


def test_an_open_question_survives_a_restart_and_goes_when_answered(window, open_window):
    count = len(window.session.state.open_questions)
    assert count >= 1
    path = window.session.day.book_path
    window.session.close_day()
    again = open_window(path)
    assert len(again.session.state.open_questions) == count
    assert again.bottom.questions.text().startswith(f"? {count} open")
    again.go("questions")
    page = again.page
    question = again.session.state.open_questions[0]
    for field, value in (("corner", "FL"), ("changed_by", "nobody")):
        if field in question.fields:
            page._answer(question.id, field, value)
    assert question.id not in [q.id for q in again.session.state.open_questions]


def car_in(window, fitting):
    session = window.session
    session.enter(CallUsed(place="B", fitting=fitting))
    window.go("car_in")
    window.page._agree()


def test_the_usual_place_takes_the_keys_of_the_table(window):
    """Two change, two stay: 18 keys hot, 12 tread of what stays, 12 read back."""
    car_in(window, BACK_TO_BACK)
    session, page = window.session, window.page
    assert page.host.walk.current == "hot:FL"
    hot = sum(press(window, text) for text in ("231", "230", "225", "226", "204", "203"))
    for _ in range(4):
        press(window, "3")
    tread = sum(press(window, text) for text in ("63", "61", "60", "62", "60", "59"))
    settle(window)
    assert (hot, tread) == (18, 12)
    read = {t: session.state.tyres[t].readings for t in FIRST.values()}
    assert [r.hot_kpa for r in read["H01"] if r.hot_kpa] == [231]
    assert [r.hot_kpa for r in read["H04"] if r.hot_kpa] == [225]
    assert [r.tread_mm for r in read["H04"] if r.tread_mm[0]] == [(6.3, 6.1, 6.0)]
    assert [r.tread_mm for r in read["H03"] if r.tread_mm[0]] == [(6.2, 6.0, 5.9)]
    assert session.state.tyres["H01"].look == "even"
    window.go("fit")
    window.fire_primary()
    assert window._current == "out"
    back = 0
    for place in WALK:
        back += press(window, session.rim_of(BACK_TO_BACK[place])[-2:])
    settle(window)
    assert back == 12
    window.page._all()
    window.fire_primary()
    assert session.state.fittings[-1].read_back
    assert session.state.at_place is None
    assert window._current == "left_behind"
    assert window.page._wheels == ["H01", "H02"]


def test_a_wheel_that_moves_says_where_it_goes(window):
    car_in(window, {**FIRST, "FL": FIRST["RR"], "RR": FIRST["FL"], "FR": "H07"})
    told = {
        p: window.page.findChild(QLabel, f"goes_{p}").text() for p in ("FL", "FR", "RL", "RR")
    }
    assert told == {
        "FL": f"to {SHORT['RR']}",
        "FR": "off",
        "RL": "stays",
        "RR": f"to {SHORT['FL']}",
    }


def test_each_depth_is_on_disk_at_once_and_the_three_are_one_reading(window):
    car_in(window, FIRST)
    page = window.page
    page.host.enter_box("tread_in_mm:FL")
    for text, count in (("63", 1), ("61", 1), ("60", 1)):
        press(window, text)
        settle(window)
        mine = [r for r in window.session.state.tyres["H01"].readings if r.tread_mm[0]]
        assert len(mine) == count
    assert mine[0].tread_mm == (6.3, 6.1, 6.0)
    assert kinds(window)[-3:] == ["reading", "correction", "correction"]


def test_one_that_differs_is_read_off_the_car_and_asks_since_when(window, qtbot):
    session = window.session
    session.enter(CallUsed(place="B", fitting=FIRST))
    window.go("car_in")
    window.page.differ.click()
    page = window.page
    page.host.enter_box("found:FL")
    press(window, "02")
    settle(window)
    qtbot.waitUntil(lambda: kinds(window)[-1] == "as_found")
    found = [e.body for e in session.day.entries if isinstance(e.body, AsFound)][-1]
    assert (found.fitting["FL"], found.fitting["FR"]) == ("H02", "H01")
    assert any("since" in q.fields for q in session.state.open_questions)


def test_enter_in_an_open_box_never_fires_the_primary(window, qtbot):
    window.go("conditions")
    window.activateWindow()
    field = window.page.host.fields["air_c"]
    field.setFocus()
    before = len(window.session.day.entries)
    qtbot.keyClick(field, "2")
    qtbot.keyClick(field, Qt.Key.Key_Return)
    assert window._current == "conditions"
    settle(window)
    assert window.session.day.entries[-1].body.air_c == 2
    assert len(window.session.day.entries) == before + 1
    qtbot.keyClick(window.page.host.fields["road_c"], Qt.Key.Key_Return)
    assert window._current == "conditions"


def test_enter_on_the_primary_and_ctrl_enter_from_a_box_fire_it(window, qtbot):
    window.go("load")
    window.activateWindow()
    window.bottom.primary.setFocus()
    qtbot.keyClick(window.bottom.primary, Qt.Key.Key_Return)
    assert window._current != "load"
    window.go("conditions")
    QApplication.processEvents()
    window.keys.action("primary")()
    assert window._current == "call"
    window.go("load")
    qtbot.keyClick(window.bottom.primary, Qt.Key.Key_Space)
    assert window._current != "load"


def test_nothing_is_acknowledged_that_the_rules_stopped(window):
    session = window.session
    before = len(session.day.entries)
    used = {**FIRST, "FL": "X1"}
    window.go("fit")
    receipt = session.enter(Fitting(place="B", fitting=used), "fitted")
    assert not receipt.accepted
    assert len(session.day.entries) == before
    assert "✓" not in window.bottom.notice._whole
    assert window.bottom.notice._whole.startswith("■ stops: ")
    assert window._current == "override"
    assert window.bottom.seen.isVisible()
    window.bottom.seen.click()
    assert not window.bottom.seen.isVisible()


def test_a_stop_is_taken_on_only_with_a_name_and_a_reason(window):
    session = window.session
    session.enter(Fitting(place="B", fitting={**FIRST, "FL": "X1"}), "fitted")
    page = window.page
    before = len(session.day.entries)
    page.anyway.click()
    assert len(session.day.entries) == before
    page.name.setText("Mo Hale")
    page.reason._take("parts")
    page.anyway.click()
    added = session.day.entries[before:]
    assert added[0].kind == "override"
    assert (added[0].body.name, added[0].body.reason) == ("Mo Hale", "parts")


def test_undo_and_redo_say_what_they_did(window):
    session = window.session
    window.go("conditions")
    window.page._surface("damp")
    assert session.state.reports[-1].surface == "damp"
    window.bottom.undo.click()
    assert session.state.reports[-1].surface != "damp"
    assert "Taken back" in window.bottom.notice._whole
    session.redo()
    assert session.state.reports[-1].surface == "damp"


@pytest.mark.parametrize("text", ["02", "G02", "g02", "H02", "QH-2002"])
def test_a_wheel_is_found_by_rim_tyre_or_mark(window, text):
    assert window.session.find_tyre(text) == "H02"
    window.go("find")
    window.page.text.setText(text)
    window.page._find()
    assert window.page._tyre == "H02"


@pytest.mark.parametrize(
    ("names", "text", "found"),
    [
        (("K101", "K102"), "101", "K101"),
        (("K101", "K102"), "02", "K102"),
        (("K101", "K201"), "01", None),
        (("K110", "K101"), "10", None),
        (("K110", "K101"), "101", "K101"),
    ],
)
def test_tyres_without_rim_numbers_are_found_by_the_digits_of_their_names(names, text, found):
    tyres = {name: SimpleNamespace(rim_id="", stock=SimpleNamespace(mark="")) for name in names}
    state = SimpleNamespace(tyres=tyres)
    one = SimpleNamespace(state=state, is_open=True, scanned_tyre=lambda text: None)
    assert OpenDay.find_tyre(one, text) == found


def test_out_without_reading_back_stays_as_proposed_not_checked(window):
    car_in(window, BACK_TO_BACK)
    window.go("fit")
    window.fire_primary()
    window.fire_primary()
    assert not window.session.state.fittings[-1].read_back
    window.go("questions")
    assert window.slots.title.text() == "As proposed, not checked"


def test_a_wrong_wheel_read_back_is_stopped(window):
    car_in(window, BACK_TO_BACK)
    window.go("fit")
    window.fire_primary()
    wrong = {**BACK_TO_BACK, "RL": "H04", "RR": "H03"}
    for place in WALK:
        press(window, window.session.rim_of(wrong[place])[-2:])
    settle(window)
    window.fire_primary()
    assert not window.session.state.fittings[-1].read_back
    assert window.bottom.notice._whole.startswith("■ stops: ")


def test_esc_goes_back_and_loses_nothing(window):
    window.go("call")
    window.go("conditions")
    press(window, "21")
    window.back()
    assert window._current == "call"
    assert window.session.state.reports[-1].air_c == 21


def test_the_road_of_a_part_of_a_stage_takes_three_taps_and_is_shown_back(window):
    window.go("conditions")
    page, session = window.page, window.session
    assert not page.part_of.isVisible()  # the change place has no parts
    stage = session.place.stages[0]
    where = {value: made for made, value in page._place_choice.buttons}
    part = {value: made for made, value in page.part_of.choice.buttons}
    road = {
        value: made for row in (page.surface, page.surface_more) for made, value in row.buttons
    }
    for tap in (where[stage], part["end", 0.5], road["wet"]):
        tap.click()
    body = session.state.reports[-1]
    assert (body.place, body.part, body.share, body.surface) == (stage, "end", 0.5, "wet")
    for tap in (part["middle", 0.1], road["ice"]):
        tap.click()
    assert page._last.text() == f"{stage} second half wet, in spots (10 %) ice"
    part["start", 0.5].click()
    assert (page.surface.value, page.surface_more.value) == (None, None)
    part["end", 0.5].click()
    assert page.surface.value == "wet"
    # Rain is of the stage, never of its half; so is what is told from then on.
    page.rain.buttons[1][0].click()
    body = session.state.reports[-1]
    assert (body.part, body.rain_mm_h, page.part_of.part) == ("", 0.8, ("", None))
    road["dry"].click()
    body = session.state.reports[-1]
    assert (body.part, body.share, body.surface) == ("", None, "dry")
    assert page._last.text().startswith(f"Last: {stage} dry")
    part["start", 0.5].click()
    where[stage].click()
    assert page.part_of.part == ("", None)


def test_a_position_of_the_next_leg_is_entered_and_moves_our_times(window):
    session = window.session
    before = session.bundle.itinerary.offsets_min[2]
    window.go("change")
    page = window.page
    page.target.setText("2")
    page.value.setText("4")
    window.fire_primary()
    assert session.bundle.itinerary.offsets_min[2] != before


def test_the_box_closed_by_itself_swallows_the_gauges_enter(window, qtbot):
    window.go("conditions")
    field = window.page.host.fields["air_c"]
    field.setFocus()
    qtbot.keyClicks(field, "21")
    road = window.page.host.fields["road_c"]
    qtbot.keyClick(road, Qt.Key.Key_Return)
    assert window._current == "conditions"
    assert window.page.host.walk.boxes["road_c"].text == ""
    assert window.page.host.walk.boxes["air_c"].value == 21


def test_another_wheel_is_judged_and_entered_as_the_crews_own(window):
    car_in(window, BACK_TO_BACK)
    session = window.session
    window.go("fit")
    window.page._choose("FL")
    assert window.page.primary_text() == "Back to the list"
    window.page._take("FL", "H06")
    work, arguments = session.engine.asked
    assert work.endswith(":judge_fitting")
    judged = judge_fitting(*arguments[:3], 1, arguments[3], lambda: False, lambda _a: None)
    session.judged.emit(judged)
    assert "Own fitting: " in window.page.cost.text()
    assert " against the call." in window.page.cost.text()
    window.fire_primary()
    body = session.day.entries[-1].body
    assert (body.kind, body.source) == ("fitting", "own")
    assert (body.fitting["FL"], body.fitting["SP2"]) == ("H06", "H07")


def test_a_book_that_another_desk_writes_is_read_along(window, app, tmp_path):
    path = window.session.day.book_path
    window.session.close_day()
    script = f"""
        import sys
        from pathlib import Path
        from crewdesk.desk.day import Day
        day = Day.open_book(Path({str(path)!r}), desk_name="other")
        print("open", flush=True)
        sys.stdin.read()
    """
    holder = subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(script)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        assert holder.stdout.readline().strip() == "open"
        assert not window.session.open(QUELLHAVEN, path)
        window.go("load")
        assert window.bottom.notice._whole.startswith("■ stops: ")
        window.findChild(QPushButton, "load_along").click()
        assert window.session.is_open
        assert window.session.day.read_only
        assert window.session.state.fittings[-1].place == "A"
    finally:
        holder.communicate("")


def test_with_nothing_on_the_car_the_primary_has_the_cursor(open_window):
    window = open_window()
    window.activateWindow()
    window.go("car_in")
    QApplication.processEvents()
    assert window.page.host is None
    assert window.page.findChild(QLabel, "car_empty").isVisible()
    assert QApplication.focusWidget() is window.bottom.primary
    window.fire_primary()
    assert window._current == "fit"


def come_off(window):
    """Change two wheels at B, and go to those left behind."""
    for body in (
        AsFound(place="B", fitting=FIRST),
        CallUsed(place="B", fitting=BACK_TO_BACK),
        Fitting(place="B", fitting=BACK_TO_BACK),
    ):
        assert window.session.enter(body, body.kind).accepted
    window.go("left_behind")


def test_wheels_left_unread_hold_nothing_up(window):
    come_off(window)
    assert window.page.primary_text() == "Next wheel"
    assert window.page.without.isVisible()
    window.fire_primary()
    assert window.page.primary_text() == "Done, 2 not read"
    press(window, "727374")
    settle(window)
    window.page.host.enter_box("tread_in_mm:H01")
    assert window.bottom.primary.text().startswith("Done, 1 not read")
    press(window, "727374")
    settle(window)
    assert window.page.primary_text() == "All done"
    assert not window.page.without.isVisible()


def test_passing_every_wheel_by_ends_the_page(window):
    come_off(window)
    for _ in range(2):
        window.fire_primary()
    assert window._current == "loop"
    window.go("left_behind")
    window.page.without.click()
    assert window._current == "loop"


def test_the_pad_stands_where_there_is_a_wheel_to_read(window):
    window.go("left_behind")
    assert window.page.host is None or not window.page.host.fields
    assert not window.page.keypad


def test_what_stops_stays_until_seen_or_put_right(window):
    board, at = NoticeBoard(), window.session.now()
    board.post(Notice("stops", "H03 is locked", at))
    board.stand("reading")
    board.taken("reading")
    board.post(Notice("done", "saved", at))
    assert board.shown.text == "H03 is locked"
    # A refused entry is told above it, and goes with the next one that is taken.
    board.post(Notice("stops", "refused", at))
    assert board.shown.text == "refused"
    board.taken("note")
    assert board.shown.text == "H03 is locked"
    board.seen()
    assert board.shown.text == "saved"
    assert not board.waiting
    board.post(Notice("stops", "the wheels differ", at))
    board.stand("read_back")
    board.taken("report")
    assert board.waiting
    board.taken("read_back")
    assert not board.waiting
