"""Rules, bulletins, people and minutes, wheels plan, damage, tyre checks, the list."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from PySide6.QtWidgets import QApplication, QLabel, QPushButton

from crewdesk.desk.case import rules_of
from crewdesk.desk.day import Day
from crewdesk.desk.regulation_edit import find_set
from crewdesk.desk.sheet import make_sheet as desk_sheet
from crewdesk.gui.app import settings_file
from crewdesk.gui.exports import make_sheet
from crewdesk.gui.reasons import rule_lines, watch_lines
from crewdesk.gui.session import Session
from crewdesk.gui.window import MainWindow
from crewdesk.journal.entries import (
    AsFound,
    ControlTime,
    DocumentsChanged,
    Fitting,
    MarkCheck,
    ReadBack,
    StageRun,
    TyreAdded,
    TyreState,
)
from crewdesk.regulations.rulebook import Message

FIRST = {"FL": "H01", "FR": "H02", "RL": "H03", "RR": "H04", "SP1": "H05", "SP2": "H06"}


def last(window):
    return window.session.day.entries[-1].body


def words(window):
    QApplication.processEvents()
    return " | ".join(w.text() for w in window.page.findChildren(QLabel) if not w.isHidden())


def press(window, name):
    window.page.findChild(QPushButton, name).click()


def shown(window):
    board = window.session.board.shown
    return board.words if board is not None else ""


# ---- rules


def change_total(window, value, **paper):
    window.go("rules")
    page = window.page
    page.start_with("qty_total")
    page.value.setText(value)
    for key, text in paper.items():
        page.paper.fields[key].setText(text)
    window.fire_primary()


def test_a_line_is_changed_with_its_bulletin_and_the_call_is_asked_anew(window):
    session = window.session
    session._soon.stop()
    change_total(window, "16", bulletin="3", source="board", article="12.2", by="Mo")
    body = last(window)
    assert (body.what, body.target, body.value, body.bulletin_no) == (
        "rule",
        "qty_total",
        16,
        "3",
    )
    assert (body.article, body.source, body.by) == ("12.2", "board", "Mo")
    assert rules_of(session.bundle).qty_total == 16
    assert session._soon.isActive()
    row = window.page.model.row_of("qty_total")
    cells = [window.page.model.index(row, c).data() for c in range(7)]
    assert cells[:4] == ["Tyres for the event", "16", "3", "12.2"]
    assert cells[5:] == ["Mo", "board"]
    window.go("change")
    window.page.past.click()
    said = words(window)
    assert "Tyres for the event: 16 · bulletin 3 · art. 12.2 · board · Mo" in said
    assert "Weekend Gravel, Tyres for the event 18 (now 16)" in said


def test_a_line_without_a_paper_is_not_taken(window):
    before = len(window.session.day.entries)
    change_total(window, "16", by="Mo")
    assert len(window.session.day.entries) == before
    assert "where it is printed" in shown(window)
    assert window.page.primary_text() == "Enter the change"


def test_a_limit_for_tomorrow_is_not_in_force_today(window):
    change_total(window, "16", bulletin="3", valid="Sun 06:00")
    assert last(window).valid_from == datetime(2026, 8, 23, 4, tzinfo=UTC)
    assert rules_of(window.session.bundle).qty_total == 18


def test_yes_and_no_are_buttons_and_what_counts_elsewhere_is_read_only(window):
    window.go("rules")
    page = window.page
    page.start_with("wheel_must_return")
    assert [made.text() for made, _ in page._choice.buttons] == ["yes", "no"]
    page._choice._take(value=False)
    page.paper.fields["source"].setText("supplementary regulations")
    window.fire_primary()
    assert rules_of(window.session.bundle).wheel_must_return is False
    before = len(window.session.day.entries)
    page.start_with("gap_plan")
    assert "Read only" in shown(window)
    assert len(window.session.day.entries) == before


def test_the_set_is_copied_under_a_name_and_kept_for_other_events(window, tmp_path):
    change_total(window, "16", bulletin="3")
    press(window, "rules_set")
    assert "Day Gravel" in [b.text() for b in window.page.findChildren(QPushButton)]
    window.page.sets.name.setText("Our Rules 2026")
    window.fire_primary()
    assert last(window).what == "files"
    assert window.session.bundle.regulation_set.name == "Our Rules 2026"
    assert rules_of(window.session.bundle).qty_total == 16
    kept = find_set("Our Rules 2026", tmp_path)
    assert kept.fields["qty_total"]["four_wheel_drive"] == 16
    assert kept.sources["qty_total"] == "bulletin 3"
    assert kept.sources["spare_max"] == ""


# ---- bulletins


def enter_change(window, kind, target, value=""):
    window.go("change")
    window.page._took(kind)
    window.page.target.setText(target)
    window.page.value.setText(value)
    window.page.paper.fields["bulletin"].setText("5")
    window.fire_primary()
    return last(window)


@pytest.mark.parametrize(
    ("kind", "target", "value", "what"),
    [
        ("stage_cancelled", "SS5", "", "stage_cancelled"),
        ("stage_shortened", "SS5", "9.5", "stage_shortened"),
        ("stage_interrupted", "SS5", "", "stage_road_speed"),
        ("stage_repeated", "SS4", "", "stage_repeated"),
        ("service_length", "C", "30", "service_length"),
        ("place_moved", "TC6B", "17:20", "place_moved"),
        ("delayed", "TC4", "15", "delayed"),
    ],
)
def test_each_kind_of_bulletin_is_a_dated_entry(window, kind, target, value, what):
    body = enter_change(window, kind, target, value)
    assert isinstance(body, DocumentsChanged)
    assert (body.what, body.target, body.bulletin_no) == (what, target, "5")
    assert window.session.state.bulletins[-1].at is not None
    assert window.session._soon.isActive()


def test_an_interrupted_stage_keeps_the_km_that_were_driven(window):
    body = enter_change(window, "stage_interrupted", "SS4", "6")
    assert isinstance(body, StageRun)
    assert (body.stage, body.km_driven) == ("SS4", 6.0)
    assert body.bulletin_no == "5"
    fl = window.session.state.tyres["H01"]
    assert [r.km for r in fl.runs if r.stage == "SS4"] == [6.0]
    window.go("change")
    window.page.past.click()
    assert "SS4 interrupted: 6 km driven at speed · bulletin 5" in words(window)


def test_we_are_late_moves_our_times(window):
    body = enter_change(window, "late", "TC3B", "6")
    assert isinstance(body, ControlTime)
    assert body.announced


def test_a_limit_leads_to_its_line(window):
    window.go("change")
    window.page._took("rule")
    assert window._current == "rules"


# ---- people and minutes


def asked_options(session):
    session.ask()
    return session.engine.asked[1][2]


def test_people_and_minutes_go_into_what_the_engine_is_asked(window):
    session = window.session
    options = asked_options(session)
    assert (options.people, options.minutes_left) == (None, None)
    window.go("minutes")
    window.page.people._take(2)
    window.page.minutes._take(8)
    options = asked_options(session)
    assert (options.people, options.minutes_left) == (2, 8.0)
    assert "8 min as the crew says" in words(window)


def test_people_minutes_and_own_times_are_there_after_a_restart(window, app):
    session = window.session
    window.go("minutes")
    window.page.people._take(2)
    window.page.minutes._take(8)
    # Two people, two wheels each, by hand: 1 + 2 x 3 + 4 x 0.25 = 8 min, with 6 min a wheel 14.
    press(window, "minutes_own")
    assert "minutes: 1 person 14 · 2 people 8 · 3 people 8 · 4 people 5" in words(window)
    field = window.page.table.fields["wheel_min"]
    field.setText("6,0")
    field.editingFinished.emit()
    field.editingFinished.emit()
    assert last(window).value == {"wheel_min": 6.0}
    assert "2 people 14" in words(window)
    assert window.page.table._sources["wheel_min"].text() == "the crew's own"
    folder, book, data = session.folder, session.day.book_path, session.data_dir
    window.close()
    session.close_day()
    again = MainWindow(Session(type(session.engine)(), data_dir=data), settings_file(data))
    assert again.session.open(folder, book)
    options = asked_options(again.session)
    assert (options.people, options.minutes_left) == (2, 8.0)
    again.go("minutes")
    assert "All wheels off, measured, rears crossed: 21 min" in words(again)
    press(again, "minutes_own")
    field = again.page.table.fields["wheel_min"]
    assert field.text() == "6"
    field.setText("")
    field.editingFinished.emit()
    assert (field.text(), last(again).value) == ("3", {})
    again.fire_primary()
    again.page.people._take("as usual")
    again.page.minutes._take("as usual")
    options = asked_options(again.session)
    assert (options.people, options.minutes_left) == (None, None)
    again.close()


@pytest.mark.parametrize(
    ("name", "typed", "said"),
    [("wheel_min", "0", "no number over 0"), ("tread_min", "x", "no number over 0")],
)
def test_a_time_that_cannot_be_is_not_kept(window, name, typed, said):
    before = len(window.session.day.entries)
    window.go("minutes")
    press(window, "minutes_own")
    field = window.page.table.fields[name]
    shipped = field.text()
    field.setText(typed)
    field.editingFinished.emit()
    assert said in shown(window)
    assert (field.text(), len(window.session.day.entries)) == (shipped, before)
    field.setText("9999")
    field.editingFinished.emit()
    assert window._current == "minutes"
    assert (field.text(), len(window.session.day.entries)) == (shipped, before)


def test_what_the_crew_says_of_people_and_minutes_is_a_change_of_the_day(window):
    window.go("minutes")
    window.page.people._take(2)
    window.page.minutes._take(8)
    window.go("change")
    window.page.past.click()
    said = words(window)
    assert "people at the car: 2" in said
    assert "minutes for the short call: B 8" in said


def test_in_the_place_the_minutes_are_what_the_clock_leaves(window):
    session = window.session
    place = session.bundle.itinerary.place("B")
    at = place.due_in_utc + timedelta(minutes=4)
    assert session.enter(AsFound(place="B", fitting=FIRST, at=at)).accepted
    session.day._clock = lambda: at
    session.clock = lambda: at
    left = asked_options(session).minutes_left
    assert left == pytest.approx(26.0, abs=0.2)


def test_what_being_late_costs_stands_on_the_call_and_the_minutes(window):
    session = window.session
    late = Message("PLC-3", "watch", "The plan needs 7 min, 5 min allowed; late costs 20 s.")
    session.answer = replace(session.answer, messages=(late,))
    session.answered.emit()
    assert watch_lines(session, session.answer)[0] == f"⚠ watch: {late.text}"
    window.go("call")
    assert late.text in window.page.watch.text()
    window.go("minutes")
    assert late.text in words(window)


def test_without_a_breach_the_checks_say_no_more_than_that(window):
    answer = replace(window.session.answer, messages=())
    assert rule_lines(answer)[0] == "No breach found of the rules that were entered."
    broken = replace(answer, messages=(Message("SPR-1", "stops", "3 spares"),))
    assert rule_lines(broken)[0] == "SPR-1  ■ stops: 3 spares"


def test_fewer_wheels_possible_has_the_short_call_made_anew(window, monkeypatch):
    reminders, session = window.reminders, window.session
    session._soon.stop()
    monkeypatch.setattr(reminders, "_possible", lambda: 4)
    session.answered.emit()
    reminders.look()
    assert not session._soon.isActive()
    monkeypatch.setattr(reminders, "_possible", lambda: 2)
    reminders.look()
    assert session._soon.isActive()


# ---- wheels plan


def test_the_wheels_plan_names_rims_van_and_boot(window):
    window.go("wheels_plan")
    said = words(window)
    plans = window.session.answer.result.plan
    zone = next(p for p in plans if p.place == "TC8C")
    # By hand: 55.30 km of road at 45 km/h are 74 min, 15 min to spare, before 08:57.
    assert "Van to zone TC8C: leaves 07:28, car due 08:57, 55 km of road" in said
    for tyre in zone.bring:
        assert tyre in said
    assert "In the boot" in said
    assert "Seating a bead" in said
    assert "On which rim by when" in said


# ---- damage, release, replacement


def damage(window, tyre_id, kind, **more):
    window.go(f"damage:{tyre_id}")
    page = window.page
    page._choices["what"]._take(kind)
    for key, value in more.items():
        if key in page._choices:
            page._choices[key]._take(value)
        else:
            page._texts[key].setText(value)
    window.fire_primary()


def test_a_damage_card_locks_the_tyre_until_a_named_fitter_releases_it(window):
    session = window.session
    damage(window, "H02", "cut", spot_more="wall_out", cord="yes", length="30", photo="17")
    assert window._current == "find"
    tyre = session.state.tyres["H02"]
    assert tyre.status == "locked"
    said = words(window)
    assert "Damage: cut, outer sidewall, 30 mm long, the cord shows" in said
    assert "photo 17" in said
    assert "Only a named licensed fitter may release it." in said
    before = len(session.day.entries)
    press(window, "find_release")
    assert len(session.day.entries) == before
    assert "name of the licensed fitter" in window.session.board.log[-1].text
    window.page.reason.setText("A. Fitter")
    press(window, "find_release")
    assert session.state.tyres["H02"].status == "ok"
    assert "Released by A. Fitter" in words(window)


def test_no_name_but_a_fitters_releases_a_damaged_tyre(window):
    session = window.session
    damage(window, "H02", "cut")
    before = len(session.day.entries)
    session.enter(TyreState(tyre_id="H02", state="released"))
    assert window._current == "override"
    window.page.reason.set_value("damage")
    window.page.name.setText("Mo")
    press(window, "override_anyway")
    assert len(session.day.entries) == before
    assert session.state.tyres["H02"].status == "locked"
    assert not session.state.overrides
    # The catalogue of the rules: "{tyre} is locked: {kind}. Only {...} may release it."
    assert "H02 is locked: cut" in shown(window)
    assert "Only a named licensed fitter may release it" in words(window)
    window.fire_primary()
    assert window._current == "find"


def test_a_damaged_tyre_goes_on_where_a_named_person_takes_it_on(window):
    session = window.session
    damage(window, "H09", "cut")
    session.enter(AsFound(place="B", fitting=FIRST))
    body = Fitting(place="B", fitting={**FIRST, "FL": "H09"})
    session.enter(body)
    assert window._current == "override"
    window.page.reason.set_value("damage")
    window.page.name.setText("Mo")
    press(window, "override_anyway")
    assert session.state.fitted.tyres["FL"] == "H09"
    assert ("DMG-1", "Mo") in [(o["code"], o["name"]) for o in session.state.overrides]


def test_a_tyre_off_the_car_gets_its_card_too_and_asks_nothing(window):
    open_before = len(window.session.state.open_questions)
    damage(window, "H09", "bulge")
    assert window.session.state.tyres["H09"].status == "locked"
    assert len(window.session.state.open_questions) == open_before


def test_a_replacement_is_begun_from_the_damaged_tyre(window):
    damage(window, "H02", "cut")
    press(window, "find_replacement")
    assert window._current == "add_tyre"
    page = window.page
    assert page._fields["replaces"].text() == "H02"
    assert "Damage replacements (jokers): 0 of 0 used" in page.jokers.text()
    for key, text in (("tyre_id", "J1"), ("joker_sheet", "D-4"), ("approved_by", "Off.")):
        page._fields[key].setText(text)
    window.fire_primary()
    assert window._current == "override"
    assert "joker" in words(window).lower()


def test_the_tyre_card_tells_the_terms_and_the_next_tyre_check(window):
    window.show_tyre("H01")
    said = words(window)
    assert "Whose it is: own" in said
    assert "Next tyre check: expected at FL, counted for the first time; 6 of 18" in said


# ---- tyre check


def test_the_check_shows_what_to_expect_and_keeps_a_query_until_put_right(window):
    session = window.session
    window.go("mark_check")
    page = window.page
    assert "Marks expected at the next tyre check: 6" in words(window)
    press(window, "mark_all")
    page._fields["FR"].setText("QH-2009")
    page.official.setText("Off. 3")
    page.query_by.setText("13:30")
    window.fire_primary()
    body = last(window)
    assert isinstance(body, MarkCheck)
    assert (body.noted["FL"], body.noted["FR"]) == ("QH-2001", "QH-2009")
    assert body.query_by == datetime(2026, 8, 22, 11, 30, tzinfo=UTC)
    assert "the officials noted QH-2009 on FR" in shown(window) or "QH-2009" in words(window)
    (query,) = [q for q in session.state.open_questions if "noted" in q.fields]
    assert window._current == "mark_check"
    press(
        window,
        next(
            b.objectName()
            for b in page.findChildren(QPushButton)
            if b.objectName().startswith("mark_right")
        ),
    )
    assert query.id not in [q.id for q in session.state.open_questions]


def test_a_scan_anywhere_opens_the_tyre_card(window, qtbot):
    window.go("minutes")
    wedge = window.keys.wedge
    assert wedge._find("QH-2003") == "H03"
    qtbot.keyClicks(window.bottom.primary, "QH-2003")
    qtbot.keyClick(window.bottom.primary, "\r")
    assert window._current == "find"
    assert "G03·H03" in words(window)


# ---- the list


def open_at(app, folder, at, engine):
    session = Session(engine, clock=lambda: at, data_dir=folder)
    return MainWindow(session, settings_file(folder))


def test_the_list_reminds_before_it_closes_and_takes_taps(window, app, tmp_path, monkeypatch):
    # Closes Thursday 20 August 18:00 local, two hours ahead of UTC: 16:00 UTC.
    at = datetime(2026, 8, 20, 14, 30, tzinfo=UTC)
    folder = tmp_path / "list"
    made = open_at(app, folder, at, type(window.session.engine)())
    session = made.session
    opened = Day.open(window.session.folder, data_dir=folder, clock=lambda: at)
    row = {
        "tyre_id": "N1",
        "maker": "Vellmark",
        "model": "Quarry",
        "compound": "hard",
        "use": "gravel",
        "size": "17/65-15",
        "rim": "7Jx15",
        "condition": "new",
        "tread_new_mm": "10",
        "counts_against": "event",
        "registered": "no",
    }
    assert opened.enter(TyreAdded(row=row, at=at)).accepted
    session.take_day(opened, window.session.folder)
    made.reminders.look()
    assert "omination closes" in shown(made)
    count = len(session.board.log)
    made.reminders.look()
    assert len(session.board.log) == count
    made.go("nomination")
    assert "closes Thu 20 Aug 18:00" in words(made)
    press(made, "list_N1")
    assert session.state.tyres["N1"].stock.registered
    made.page.shown._take("listed")
    press(made, "list_N1")
    assert not session.state.tyres["N1"].stock.registered
    made.close()


def test_after_closing_the_list_changes_only_by_bulletin(window):
    window.go("nomination")
    assert "closed Thu 20 Aug 18:00" in words(window)
    window.page.shown._take("listed")
    press(window, "list_H14")
    assert window.session.state.tyres["H14"].stock.registered
    assert window._current == "override"
    window.go("nomination")
    window.page.reason.setText("bulletin 6")
    press(window, "list_H14")
    assert not window.session.state.tyres["H14"].stock.registered


def test_the_sheet_gives_rims_and_van_in_the_time_of_the_event(window):
    session = window.session
    sheet = make_sheet(session)
    assert sheet.zone.utcoffset(datetime(2026, 8, 22, tzinfo=UTC)) == timedelta(hours=2)
    plan = session.answer.result.plan
    at_d = replace(session.answer, result=replace(session.answer.result, plan=plan[2:]))
    assert at_d.result.plan[0].place == "D"
    for_d = desk_sheet(session.bundle, session.state, replace(at_d, place="D"), session.now())
    assert (for_d.van.place, for_d.van.wheels[0][0]) == ("TC8C", plan[3].bring[0])
    assert f"{for_d.van.leaves_utc.astimezone(for_d.zone):%H:%M}" == "07:28"


def test_people_at_the_car_are_kept_with_the_fitting(window):
    session = window.session
    window.go("minutes")
    window.page.people._take(3)
    session.enter(AsFound(place="B", fitting=FIRST))
    window.go("fit")
    window.page._enter()
    body = next(e.body for e in reversed(session.day.entries) if isinstance(e.body, Fitting))
    assert body.people == 3
    assert not isinstance(body, ReadBack)


@pytest.mark.parametrize(
    ("page", "said"),
    [
        ("out", "Wheel nuts"),
        ("car_in", "Gloves on before a hand goes to a wheel"),
        ("damage", "A damaged tyre is locked"),
        ("wheels_plan", "Seating a bead"),
        ("stock", "Hot tyres do not lie in the sun"),
        ("call", "The program only helps"),
        ("help", "A jack only lifts"),
    ],
)
def test_the_cautions_begin_with_those_of_the_page_one_comes_from(window, page, said):
    window.go(page)
    window.go("cautions")
    assert said in words(window)


def test_the_cautions_of_the_car_in_are_one_tap_away(window):
    window.go("car_in")
    press(window, "car_in_cautions")
    assert "The car stands on its stands before a wheel is off" in words(window)
    window.fire_primary()
    assert window._current == "car_in"


def test_what_the_rules_say_stands_in_one_place(window):
    session = window.session
    late = Message("PLC-3", "watch", "The plan needs 7 min, 5 min allowed; late costs 20 s.")
    session.answer = replace(session.answer, messages=(late,))
    window.go("rules_say")
    said = words(window)
    assert "The event as it is entered" in said
    assert f"⚠ watch: {late.text} (PLC-3)" in said
    assert "On the list: 22 (14 hard, 8 soft); 18 may be used" in said
    assert "No breach found of the rules that were entered." in said
    assert "Torque not entered" not in said
