import shutil
import sqlite3
from datetime import UTC, datetime

import pytest

from crewdesk.desk.day import Day
from crewdesk.errors import JournalError
from crewdesk.journal.entries import (
    AsFound,
    ClockOffset,
    ControlTime,
    Correction,
    DocumentsChanged,
    Fitting,
    Incident,
    Note,
    Override,
    ReadBack,
    Reading,
    Report,
    RimMove,
    StageRun,
    TyreState,
)
from crewdesk.journal.lines import parse_line

IN_AUGUST = datetime(2026, 8, 22, 6, 0, tzinfo=UTC)
BASE = ("H01", "H02", "H03", "H04", "H05")


def codes(receipt):
    return [(m.code, m.level) for m in receipt.messages]


def stopping(receipt):
    return [m.code for m in receipt.messages if m.level == "stops"]


@pytest.fixture
def day(open_day):
    return open_day(clock=lambda: IN_AUGUST)


@pytest.fixture
def fit(car_of):
    return lambda place, *tyres, **more: Fitting(place=place, fitting=car_of(*tyres), **more)


def test_a_new_book_keeps_the_documents_it_was_opened_with(day, tmp_path):
    assert [e.kind for e in day.entries] == ["documents_opened"]
    day.close()
    with Day.open_book(tmp_path / "quellhaven.daybook", desk_name="other") as alone:
        assert alone.bundle.event.name == "Quellhaven Gravel Weekend"
        assert len(alone.bundle.stock.tyres) == 26


def test_an_entry_is_on_disk_when_it_is_acknowledged(day, fit, tmp_path):
    receipt = day.enter(fit("A", *BASE))
    assert receipt.accepted
    rows = (
        sqlite3.connect(tmp_path / "quellhaven.daybook")
        .execute("SELECT id, kind FROM entry")
        .fetchall()
    )
    assert (receipt.id, "fitting") in rows
    assert receipt.counters["used"] == 5
    assert receipt.counters["by_compound"] == {"hard": 5}
    assert receipt.counters["limit"] == 18


def test_a_refused_entry_changes_nothing(day, fit):
    before = (day.entries, day.state)
    receipt = day.enter(fit("A", "X1", "X2", "X3", "X4"))
    assert not receipt.accepted
    assert receipt.id is None
    assert "QTY-3" in stopping(receipt)
    assert (day.entries, day.state) == before


def test_trying_an_entry_writes_nothing_and_tells_the_counters(day, fit):
    before = (day.entries, day.state)
    receipt = day.enter(fit("A", *BASE), dry_run=True)
    assert (receipt.accepted, receipt.id) == (True, None)
    assert receipt.counters["used"] == 5
    assert (day.entries, day.state) == before


def test_a_named_person_overrides_with_a_reason(day, fit):
    receipt = day.enter(fit("A", "X1", "X2", "H03", "H04", "H05", override_name="A. Name"))
    assert not receipt.accepted, "a name without a reason is not enough"
    day.enter(RimMove(tyre_id="X1", rim_id="G13"))
    receipt = day.enter(
        fit(
            "A",
            "X1",
            "X2",
            "H03",
            "H04",
            "H05",
            rims={"FL": "G13", "FR": "G14"},
            override_name="A. Name",
            override_reason="no other tyres here",
        )
    )
    assert receipt.accepted
    assert ("QTY-3", "watch") in codes(receipt)
    assert any("A. Name" in m.text for m in receipt.messages)
    assert day.state.overrides[-1]["name"] == "A. Name"


def test_an_override_made_before_holds_for_its_rule_alone(day, fit):
    day.enter(Override(code="QTY-3", name="A. Name", reason="none left", place="A"))
    receipt = day.enter(fit("A", "X1", "X2", "H03", "H04", "H05"))
    assert "QTY-3" not in stopping(receipt)


def test_nobody_overrides_a_tyre_in_two_places(day, fit):
    receipt = day.enter(
        fit("A", "H01", "H01", "H03", "H04", override_name="A", override_reason="b")
    )
    assert not receipt.accepted
    assert "H01 is given twice, at FL and FR." in receipt.messages[0].text


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (Fitting(place="A", fitting={"FL": "H01"}), "FR and RL and RR would be empty"),
        (Fitting(place="Z", fitting={}), "Z is no change place"),
        (Reading(tyre_id="H99", tread_mid_mm=5), "H99 is not in the stock"),
        (Reading(tyre_id="h01", tread_mid_mm=5), "Perhaps H01?"),
        (Reading(tyre_id="H01"), "Nothing was read on H01."),
        (StageRun(stage="SS99"), "SS99 is no stage"),
        (StageRun(stage="SS1", km_driven=20), "is 13.62 km long"),
        (Report(place="A"), "holds no air"),
        (RimMove(tyre_id="H09", rim_id="G99"), "There is no rim G99"),
        (AsFound(place="B", fitting={}, since="noon"), "neither a stage nor a change place"),
        (ReadBack(place="A", fitting={"FL": "H01"}), "enter the fitting first"),
        (Override(code="QTY-1", name="A", reason=" "), "both a name and a reason"),
        (Correction(target_id="nowhere", values={"text": "x"}), "no such entry"),
        (
            DocumentsChanged(what="rule", target="qty_totl", value=9),
            "no rule named qty_totl",
        ),
        (DocumentsChanged(what="setting", target="luck", value=9), "luck is no setting"),
        (
            DocumentsChanged(what="setting", target="aggressiveness", value=9),
            "aggressiveness cannot be 9",
        ),
        (DocumentsChanged(what="stage_shortened", target="SS1", value="x"), "is no number"),
        (DocumentsChanged(what="position", target="3", value=4), "no leg of the event"),
        (TyreState(tyre_id="H01", state="marked", mark="QH-2002"), "Mark QH-2002 is on H02"),
    ],
)
def test_what_cannot_be_is_refused_in_plain_words(day, body, words):
    receipt = day.enter(body)
    assert not receipt.accepted
    assert words in " ".join(m.text for m in receipt.messages)
    assert len(day.entries) == 1


def test_an_incident_names_only_what_is_on_board(day, fit):
    day.enter(fit("A", *BASE))
    wrong = Incident(corner="FL", tyre_off="H02", where="SS1", km_into_stage=2)
    assert "FL has H01, not H02" in day.enter(wrong).messages[0].text
    wrong = Incident(corner="FL", tyre_on="H09", changed_by="crew", where="SS1")
    assert "H09 is not carried" in day.enter(wrong).messages[0].text


def test_a_deeper_tread_than_before_is_asked_about(day, fit):
    day.enter(Reading(tyre_id="H01", tread_in_mm=7.5, tread_mid_mm=7.5, tread_out_mm=7.5))
    odd = Reading(tyre_id="H01", tread_in_mm=9.5)
    assert ("ENTRY", "watch") in codes(day.enter(odd))
    sure = Reading(tyre_id="H01", tread_in_mm=9.9, confirmed=True)
    assert codes(day.enter(sure)) == []


def test_undo_and_redo_are_entries(day, fit):
    day.enter(fit("A", *BASE))
    assert day.undo().accepted
    assert day.state.fitted is None
    assert day.redo().accepted
    assert day.state.fitted is not None
    assert [e.kind for e in day.entries][-2:] == ["undo", "undo"]
    assert day.redo() is None
    day.undo()
    assert day.undo() is None


def test_an_entry_is_not_taken_back_twice(day, fit):
    receipt = day.enter(Note(text="a"))
    day.undo()
    again = day.enter(parse_line(f'{{"kind":"undo","target_id":"{receipt.id}"}}'))
    assert not again.accepted


def test_the_book_tells_the_same_after_opening_it_again(day, fit, open_day):
    day.enter(fit("A", *BASE))
    day.enter(Report(place="A", air_c=18, road_c=24))
    before = day.state
    day.close()
    assert open_day().state == before


def test_a_second_desk_reads_along(day, fit, open_day):
    along = open_day(read_only=True)
    assert along.read_only
    assert along.follow() == ()
    day.enter(fit("A", *BASE))
    assert [e.kind for e in along.follow()] == ["fitting"]
    assert along.state == day.state
    with pytest.raises(JournalError):
        along.enter(Note(text="no"))


def test_a_second_writer_takes_over_only_when_told_to(day, open_day):
    with pytest.raises(JournalError):
        open_day()
    second = open_day(take_over=True)
    assert second.enter(Note(text="mine now")).accepted
    with pytest.raises(JournalError):
        day.enter(Note(text="late"))


def test_reading_a_day_without_a_book_writes_none(open_day, tmp_path):
    day = open_day(read_only=True)
    assert day.entries == ()
    assert day.state.next_place == "A"
    assert not (tmp_path / "quellhaven.daybook").exists()


def test_the_book_of_another_event_is_not_taken(day, open_day, tmp_path):
    day.close()
    shutil.copy(tmp_path / "quellhaven.daybook", tmp_path / "saldrey.daybook")
    with pytest.raises(JournalError):
        open_day("saldrey")
    with pytest.raises(JournalError):
        open_day("saldrey", read_only=True)


def test_a_bulletin_counts_from_its_entry_on(day, fit):
    change = DocumentsChanged(what="rule", target="qty_total", value=5, bulletin_no="3")
    assert day.enter(change).accepted
    assert day.enter(Note(text="x")).counters["limit"] == 5
    receipt = day.enter(fit("A", *BASE[:4], "H05", "H06"))
    assert stopping(receipt) == ["QTY-1"]
    assert "bulletin 3" in receipt.messages[0].text


def test_one_cell_of_a_rule_may_be_changed(day, fit):
    assert day.enter(DocumentsChanged(what="rule", target="caps.hard", value=4)).accepted
    assert stopping(day.enter(fit("A", *BASE))) == ["QTY-2"]


def test_our_position_moves_our_due_times(day):
    before = day.bundle.itinerary.place("D").due_in_utc
    day.enter(DocumentsChanged(what="position", target="2", value=4))
    moved = before - day.bundle.itinerary.place("D").due_in_utc
    assert moved.total_seconds() == 5 * 120
    assert day.opened.itinerary.place("D").due_in_utc == before


def test_a_delay_moves_the_rest_of_the_leg(day):
    itinerary = day.bundle.itinerary
    day.enter(DocumentsChanged(what="delayed", target="TC4", value=20))
    later = day.bundle.itinerary
    assert later.place("B").due_out_utc == itinerary.place("B").due_out_utc
    moved = later.stage("SS4").due_utc - itinerary.stage("SS4").due_utc
    assert moved.total_seconds() == 1200
    assert later.stage("SS7").due_utc == itinerary.stage("SS7").due_utc
    row = next(r for r in later.rows if r.ref == "SS5")
    assert later.our_due(row) == later.stage("SS5").due_utc


def test_a_cancelled_stage_leaves_its_road(day):
    before = day.bundle.itinerary
    day.enter(DocumentsChanged(what="stage_cancelled", target="SS5"))
    after = day.bundle.itinerary
    assert after.place("B").stages == ("SS4", "SS6")
    gone = before.stage("SS5")
    assert after.stage("SS6").liaison_before_km == pytest.approx(
        before.stage("SS6").liaison_before_km + gone.liaison_before_km + gone.km
    )


def test_a_stage_card_is_touched(day):
    card = {"roughness": 5, "holds_water": 0.3}
    day.enter(DocumentsChanged(what="stage_card", target="SS4", value=card))
    stage = day.bundle.itinerary.stage("SS4")
    assert (stage.roughness, stage.holds_water) == (5, 0.3)
    assert not any("water" in word for word in stage.assumed)


def test_new_files_are_read_anew(day):
    text = day.bundle.source_files["stock.csv"].replace("\nX4,", "\nX5,")
    day.enter(DocumentsChanged(what="files", value={"stock.csv": text}))
    assert "X5" in day.state.tyres
    broken = DocumentsChanged(what="files", value={"stock.csv": "nothing"})
    assert not day.enter(broken).accepted


def test_going_back_a_step_takes_its_closing_entries_back(day, fit, car_of):
    day.enter(fit("A", *BASE))
    day.enter(ReadBack(place="A", fitting=car_of(*BASE), torque=("FL", "FR", "RL", "RR")))
    assert day.state.step == "left_behind"
    day.reopen_step("out")
    assert day.state.step == "out"
    day.reopen_step("fit")
    assert day.state.fitted is None
    day.redo()
    day.redo()
    assert day.state.step == "left_behind"


def test_practice_on_another_date_stands_inside_the_event(open_day, fit):
    day = open_day(clock=lambda: datetime(2026, 11, 25, 10, 0, tzinfo=UTC))
    due = day.bundle.itinerary.place("A").due_in_utc
    assert (due - day.now()).total_seconds() == 2400
    day.enter(Report(place="A", air_c=18))
    assert day.state.reports[0].at == day.entries[-1].happened_utc
    assert (due - day.state.reports[0].at).total_seconds() == 2400


def test_going_out_without_reading_back_ends_the_visit(open_day, fit):
    day = open_day(clock=lambda: IN_AUGUST)
    day.enter(Fitting.model_validate(fit("A", "H01", "H02", "H03", "H04", "H05")))
    out = day.bundle.itinerary.place("A")
    day.enter(ControlTime(ref=out.out_ref, time=out.due_out_utc))
    assert (day.state.at_place, day.state.next_place) == (None, "B")
    assert day.state.step == "left_behind"
    assert not day.state.fitted.read_back


def test_a_wrong_machine_clock_is_put_right_and_both_are_kept(day):
    day.enter(ClockOffset(offset_s=300))
    assert (day.now() - IN_AUGUST).total_seconds() == 300
    day.enter(Report(place="A", air_c=18))
    entry = day.entries[-1]
    assert (entry.at_utc, entry.clock_offset_s) == (IN_AUGUST, 300)
    assert (entry.happened_utc - IN_AUGUST).total_seconds() == 300


def test_preparing_an_event_weeks_ahead_is_no_practice(open_day):
    machine = datetime(2026, 8, 1, 10, 0, tzinfo=UTC)
    day = open_day(clock=lambda: machine)
    day.enter(TyreState(tyre_id="H01", state="marked", mark="QH-9001"))
    assert day.entries[-1].happened_utc == machine
    day.enter(Report(place="A", air_c=18))
    assert day.entries[-1].happened_utc > machine


def test_a_damaged_book_opens_as_far_as_it_is_sound(day, fit, open_day, tmp_path):
    day.enter(Note(text="one"))
    day.enter(Note(text="two"))
    day.close()
    path = tmp_path / "quellhaven.daybook"
    data = bytearray(path.read_bytes())
    at = data.rindex(b'"two"')
    data[at + 1 : at + 4] = b"owt"
    path.write_bytes(data)
    with Day.open_book(path, desk_name="t", read_only=True) as alone:
        told = [e.body.text for e in alone.entries if isinstance(e.body, Note)]
        assert alone.missing
        assert "owt" not in told
        assert alone.bundle.event.name == "Quellhaven Gravel Weekend"
    assert path.read_bytes() == bytes(data)
