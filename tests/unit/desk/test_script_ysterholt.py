"""The scripted winter night, row by row: what the rule side must answer.

Source of every figure: the rows and tables of the walk-through of the event (all invented),
set down here; each test names its row. The wear of the script is scripted: where a row names
a predicted depth, the test asks for the message and not for the model's figure.

Row 1, Fri 16:00 to 17:40, marking: twelve studded tyres N01 to N12 (marks YW-4001 to 4012),
   two of them mounted on rims that the shakedown has left free. Bulletin 1 withdraws the
   exemption for studs on the open road: a fitting is refused (ROAD-2) until bulletin 2 gives
   the new one. U03 was studded again, 420 studs on a tyre 65 cm high: STD-1. U04 has 2.9 mm:
   TRD-3. P01 without studs: its cap is 0.
Row 2, 19:58, Service A: air -16, road -18, snow, ice on the lake. Five of twelve.
Row 3, 23:04 to 23:34, Service B: fresh tyres in front for the night, the old fronts behind.
Row 4, Sat 00:20, behind SS4: puncture RR, changed by the crew, rim bent; no sound spare left.
Row 5, 00:26: four minutes late at TC5; target timing moves what follows up to the regroup.
Row 6, 01:25 to 02:10, Flexi C: N01 has lost 12 % of its studs, 3.8 mm out: STD-2.
Row 7, 11:12 to 11:27, Service D: air up by twelve; SS7 is ploughed, frozen gravel.
Row 8, 13:00 to 13:15, tyre zone: two tyres that were not brought are refused; people, work.
Row 9, 14:47 to 15:17, Service E: four more would make 14 of 12; two are the last ones.
Row 10, 16:28, Service F and the finish: no change; officials read the marks; handover.
"""

from zoneinfo import ZoneInfo

import pytest

from crewdesk.desk.timetable import control_at
from crewdesk.desk.tyre_card import expected_at_check, tyre_card
from crewdesk.units import PLACES

ZONE = ZoneInfo("Etc/GMT-2")


@pytest.fixture(scope="module")
def told(walk):
    return walk("ysterholt")


def car(*tyres):
    return dict(zip(PLACES, tyres, strict=False))


def clock(at):
    return f"{at.astimezone(ZONE):%a %H:%M}"


def test_our_car_is_16_then_12_minutes_behind(told):
    # Positions 9 and 7, two minutes each; SS4 begins for us in the next day, in the same leg.
    due = {"TC0": "Fri 19:46", "TC0A": "Fri 19:51", "SS2": "Fri 21:00", "TC3B": "Fri 23:04",
           "SS4": "Sat 00:02", "SS5": "Sat 00:36", "TC5B": "Sat 01:25", "TC5D": "Sat 11:12",
           "TC7B": "Sat 13:00", "TC8B": "Sat 14:47", "TC10C": "Sat 16:43"}  # fmt: skip
    _, state = told.at(0)
    found = {ref: clock(control_at(told.bundle, state, ref).due_utc) for ref in due}
    assert found == due
    assert {s.ref: s.leg for s in told.bundle.itinerary.stages}["SS5"] == 1
    window = control_at(told.bundle, state, "TC5B").window
    assert [clock(at) for at in window] == ["Sat 01:15", "Sat 03:00"]


def test_row_1_the_limits(told):
    assert told.counters(1) == {
        "used": 0, "limit": 12, "by_compound": {}, "caps": {"studded": 24, "plain winter": 0},
        "jokers_used": 0, "jokers": 2,
    }  # fmt: skip
    moved = told.number("rim_move", 1)
    _, state = told.at(moved)
    assert (state.tyres["N11"].rim_id, state.tyres["N12"].rim_id) == ("W13", "W14")


def test_row_1_studs_on_the_open_road_need_their_paper(told):
    n = told.number("fitting", place="A")
    assert not told.accepted(n)
    assert told.said(n) == {"ROAD-2 stops"}
    assert told.one(n, "ROAD-2")["values"]["tyres"] == ["N01", "N02", "N03", "N04", "N05"]
    paper = told.number("documents_changed", bulletin_no="2")
    assert told.accepted(paper)
    assert told.said(paper) == set()


@pytest.mark.parametrize(
    ("fitting", "code", "values"),
    [
        # 420 studs over 3.1416 x 6.5 dm are 20.57 for each 10 cm; 384 would be 18.8.
        (car("U03", "N02", "N03", "N04", "N05"), "STD-1", {"tyre": "U03", "per_dm": 20.568}),
        (car("N01", "U04", "N03", "N04", "N05"), "TRD-3", {"tyre": "U04", "tread_mm": 2.9}),
        (car("P01", "P02", "N03", "N04", "N05"), "QTY-2", {"group": "plain winter", "cap": 0}),
        (car("N01", "P01", "N03", "N04", "N05"), "AXL-1", {"axle": "front"}),
        (car("X1", "X2", "X3", "X4", "N05"), "QTY-3", {"tyre": "X1"}),
    ],
)
def test_row_1_what_may_not_be_fitted(told, fitting, code, values):
    paper = told.number("documents_changed", bulletin_no="2")
    accepted, said = told.asked(paper, {"kind": "fitting", "place": "A", "fitting": fitting})
    assert not accepted
    assert said[code].level == "stops"
    assert {key: said[code].values[key] for key in values} == values


def test_row_1_no_spare_is_too_few(told):
    paper = told.number("documents_changed", bulletin_no="2")
    bare = {"kind": "fitting", "place": "A", "fitting": car("N01", "N02", "N03", "N04")}
    accepted, said = told.asked(paper, bare)
    assert accepted
    assert said["SPR-1"].level == "watch"
    assert (said["SPR-1"].values["spare_min"], said["SPR-1"].values["spares"]) == (1, 0)


def test_row_2_five_of_twelve(told):
    n = told.number("fitting", 1, place="A")
    assert told.accepted(n)
    assert told.said(n) == {"NUT-1 watch"}
    assert told.one(n, "NUT-1")["values"]["corners"] == ["FL", "FR", "RL", "RR"]
    counted = told.counters(n)
    assert (counted["used"], counted["by_compound"]) == (5, {"studded": 5})


def test_row_2_a_report_of_one_stage(told):
    n = told.number("report", place="SS2")
    assert told.accepted(n)
    _, state = told.at(n)
    assert (state.reports[-1].place, state.reports[-1].surface) == ("SS2", "ice")


@pytest.mark.parametrize(
    ("air", "word"),
    [({}, "Snow"), ({"air_c": -2}, "Snow"), ({"air_c": 3}, "Rain")],
    ids=["as last read", "frost", "thaw"],
)
def test_row_2_what_falls_in_frost_is_told_as_snow(told, air, word):
    n = told.number("report", place="SS2")
    report = {"kind": "report", "place": "A", "rain_mm_h": 2.0, **air}
    accepted, messages = told.heard(n, report)
    said = " ".join(m.text for m in messages if m.code == "CND-1")
    assert accepted
    assert f"{word} now; the forecast had it dry" in said
    assert ("rain" in said.lower()) is (word == "Rain")


def test_row_3_fresh_fronts_for_the_night(told):
    found = told.number("as_found", place="B")
    assert told.said(found, found + 1) == set()  # the air has fallen by 4 only
    n = told.number("fitting", place="B")
    assert told.said(n) == {"NUT-1 watch"}
    assert told.counters(n)["used"] == 7
    _, state = told.at(n)
    assert (state.tyres["N01"].place, state.tyres["N02"].place) == ("RL", "RR")


def test_row_4_a_puncture_in_the_dark(told):
    n = told.number("incident")
    assert told.accepted(n)  # the place is allowed: crew, carried tyres
    assert told.said(n) == {"SPR-1 watch", "DMG-1 stops", "NUT-1 watch"}
    spares = told.one(n, "SPR-1")["values"]
    assert (spares["sound"], spares["spare_min"], spares["spare_max"]) == (0, 1, 2)
    assert told.one(n, "DMG-1")["values"]["tyre"] == "N02"
    assert told.one(n, "NUT-1")["values"]["corner"] == "RR"
    assert told.counters(n)["used"] == 7
    _, state = told.at(n)
    assert state.rims_out == {"W02": "bent, after SS4"}
    assert (state.tyres["N05"].place, state.tyres["N02"].place) == ("RR", "SP1")


def test_row_4_the_stage_after_midnight_is_run_on_the_day_it_ends(told):
    n = told.number("stage_run", stage="SS4")
    _, state = told.at(n)
    assert state.stages_run == ("SS1", "SS2", "SS3", "SS4")
    assert clock(state.last_entry_at) == "Sat 00:12"
    assert state.tyres["N06"].event_km == pytest.approx(11.85)


def test_row_5_target_timing_moves_what_follows_up_to_the_regroup(told):
    n = told.number("control_time")
    assert told.said(n) == {"TIM-1 watch"}
    late = told.one(n, "TIM-1")["values"]
    assert (late["late_min"], late["cost_s"], late["out_of_time_min"]) == (4, 40, 30)
    _, state = told.at(n)
    due = {ref: clock(control_at(told.bundle, state, ref).due_utc) for ref in ("SS5", "TC5A")}
    assert due == {"SS5": "Sat 00:40", "TC5A": "Sat 01:19"}
    # Ten minutes in the holding park take up the four.
    assert clock(control_at(told.bundle, state, "TC5B").due_utc) == "Sat 01:25"


def test_row_6_studs_lost(told):
    found = told.number("as_found", place="C")
    assert told.said(found) == {"SPR-1 watch", "NUT-1 watch"}
    n = told.number("reading", tyre_id="N01", place="C")
    assert told.said(n) == {"STD-2 watch"}
    assert told.one(n, "STD-2")["values"]["lost_share"] == pytest.approx(0.12)
    assert told.one(n, "STD-2")["values"]["out_mm"] == pytest.approx(3.8)
    others = [told.number("reading", tyre_id=t, place="C") for t in ("N06", "N07", "N05")]
    assert told.said(*others) == set()  # 1 or 2 % gone, 6 mm out


def test_row_6_the_car_sleeps_on_run_tyres(told):
    n = told.number("fitting", place="C")
    assert told.said(n) == {"NUT-1 watch"}
    assert told.counters(n)["used"] == 7
    _, state = told.at(told.number("read_back", place="C"))
    assert state.next_place == "D"
    assert clock(told.bundle.itinerary.place("D").due_in_utc) == "Sat 11:12"


def test_row_7_the_morning_is_warmer(told):
    n = told.number("report", place="D")
    assert told.said(n) == {"CND-1 watch"}
    values = told.one(n, "CND-1")["values"]
    assert (values["air_change_c"], values["road_change_c"]) == (12, 15)
    fit = told.number("fitting", place="D")
    assert told.said(fit) == {"NUT-1 watch"}
    assert told.counters(fit)["used"] == 10
    _, state = told.at(told.number("read_back", place="D"))
    assert {t for t, now in state.tyres.items() if now.in_zone} == {"N03", "N04"}


def test_row_8_only_what_was_brought(told):
    n = told.number("fitting", place="TC7C")
    assert not told.accepted(n)
    assert told.said(n) == {"QTY-1 note", "PLC-4 stops"}
    assert told.one(n, "PLC-4")["values"]["tyres"] == ["N11", "N12"]
    worn = [told.number("reading", tyre_id=t, place="TC7B") for t in ("N08", "N09")]
    assert told.said(*worn) == {"STD-2 watch"}
    assert [told.one(w, "STD-2")["values"]["out_mm"] for w in worn] == [3.4, 3.6]


def test_row_8_what_bare_ground_took_out_of_the_studs(told):
    # SS7 is frozen gravel, 9.90 km and half of it bare; studs last 40 km of bare ground
    # (common practice, no source): 4.95 km are 12 % of their life.
    _, state = told.at(told.number("report", place="TC7B"))
    assert tyre_card(told.bundle, state, "N08").notes[0] == (
        "384 studs, 5.0 km on bare ground: about 12 % of their life."
    )
    assert "not yet run on bare ground" in tyre_card(told.bundle, state, "N01").notes[0]
    assert not any("studs" in note for note in tyre_card(told.bundle, state, "P01").notes)


def test_row_8_people_and_work_in_the_zone(told):
    before = told.number("fitting", place="TC7C")
    fit = {"kind": "fitting", "place": "TC7C",
           "fitting": car("N03", "N04", "N06", "N07", "N10"), "people": 3}  # fmt: skip
    accepted, said = told.asked(before, fit)
    assert accepted
    assert (said["PLC-4"].level, said["PLC-4"].values["people_max"]) == ("watch", 2)
    accepted, said = told.asked(before, {**fit, "people": 2, "work": ["tyres", "damper"]})
    assert not accepted
    assert (said["PLC-4"].level, said["PLC-4"].values["work"]) == ("stops", ("damper",))


def test_row_8_the_brought_ones_go_on_and_the_others_stay(told):
    n = told.number("fitting", 1, place="TC7C")
    assert told.said(n) == {"NUT-1 watch"}
    assert told.counters(n)["used"] == 10
    _, state = told.at(n)
    assert state.tyres["N08"].in_zone
    assert state.tyres["N09"].in_zone


def test_row_9_fourteen_of_twelve(told):
    assert told.said(told.number("report", place="E")) == set()
    n = told.number("fitting", place="E")
    assert not told.accepted(n)
    over = told.one(n, "QTY-1")["values"]
    assert (over["used"], over["would_be"], over["limit"]) == (10, 14, 12)
    assert "supplementary regulations, art. 14.2" in told.one(n, "QTY-1")["text"]


def test_row_9_the_last_two(told):
    n = told.number("fitting", 1, place="E")
    assert told.said(n) == {"QTY-1 note", "NUT-1 watch"}
    assert "last marked tyre is now counted" in told.one(n, "QTY-1")["text"]
    assert told.counters(n)["used"] == 12
    out = told.number("read_back", place="E")
    assert told.said(out) == set()
    _, state = told.at(out)
    assert state.torque_due == ()


def test_row_10_no_change_before_the_final_checks(told):
    n = told.number("fitting", place="F")
    assert not told.accepted(n)
    assert told.said(n) == {"PLC-1 stops"}
    check = told.number("mark_check")
    assert told.said(check) == set()
    _, state = told.at(check)
    listed = {e.place: e.mark for e in expected_at_check(state)}
    assert listed == told.lines[check - 1]["noted"]


def test_row_10_the_handover(told):
    made = told.handover
    assert {t.tyre_id for t in made.tyres if t.state == "scrap"} == {"N02"}
    assert {r.rim_id for r in made.rims if r.state != "good"} == {"W02"}
    assert (made.counts.used, made.counts.jokers_used) == (12, 0)
    assert "ploughed gravel" in made.lessons[0]
    assert made.open_questions == ()
    assert {t.tyre_id: t.studs for t in made.tyres}["U01"] == 366


def test_counters_after_each_fit(told):
    table = [
        ("fitting", 1, {"place": "A"}, "N01 N02 N03 N04 N05", "N01 N02 N03 N04 N05", 5),
        ("fitting", 0, {"place": "B"}, "N06 N07 N01 N02 N05", "N06 N07", 7),
        ("incident", 0, {}, "N06 N07 N01 N05 N02", "", 7),
        ("fitting", 0, {"place": "C"}, "N03 N04 N06 N07 N05", "", 7),
        ("fitting", 0, {"place": "D"}, "N08 N09 N06 N07 N10", "N08 N09 N10", 10),
        ("fitting", 1, {"place": "TC7C"}, "N03 N04 N06 N07 N10", "", 10),
        ("fitting", 1, {"place": "E"}, "N11 N12 N03 N04 N10", "N11 N12", 12),
    ]
    for kind, nth, fields, on, new, used in table:
        n = told.number(kind, nth, **fields)
        _, before = told.at(n - 1)
        _, state = told.at(n)
        assert [state.fitted.tyres[p] for p in PLACES if state.fitted.tyres[p]] == on.split()
        assert list(state.counted[len(before.counted) :]) == new.split()
        counted = told.counters(n)
        assert (counted["used"], counted["limit"]) == (used, 12)
        assert counted["by_compound"] == {"studded": used}


def test_state_at_the_end(told):
    # Km: SS1 to SS3 are 31.55, SS4 11.85, SS5 16.20, SS6 14.75, SS7 9.90, SS8 14.75, SS9 13.30,
    # SS10 4.10.
    table = {
        "N01": (9.5, 9.5, 9.4, 59.60), "N03": (9.1, 9.2, 9.1, 63.70),
        "N04": (9.2, 9.2, 9.1, 63.70), "N05": (9.8, 9.8, 9.8, 16.20),
        "N06": (9.0, 9.1, 9.0, 67.45), "N07": (9.1, 9.1, 9.0, 67.45),
        "N08": (9.2, 9.3, 9.1, 24.65), "N09": (9.2, 9.3, 9.1, 24.65),
        "N10": (10.0, 10.0, 10.0, 0.0), "N11": (9.5, 9.6, 9.4, 17.40),
        "N12": (9.5, 9.6, 9.4, 17.40),
    }  # fmt: skip
    seen = {t.tyre_id: t for t in told.handover.tyres}
    for tyre, (inner, middle, outer, km) in table.items():
        assert seen[tyre].tread_mm == pytest.approx((inner, middle, outer)), tyre
        assert seen[tyre].event_km == pytest.approx(km, abs=0.01), tyre
    # N02 was last read before SS4; its km are held against the table, its depth is reckoned.
    assert seen["N02"].event_km == pytest.approx(43.40, abs=0.01)
