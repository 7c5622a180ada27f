"""The scripted two-day event, row by row: what the rule side must answer.

Source of every figure: the rows and tables of the walk-through of the event (all invented);
each test names its row.
"""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from crewdesk.desk.nomination import nomination
from crewdesk.desk.replay import finish, fold_all, start
from crewdesk.desk.timetable import control_at
from crewdesk.desk.tyre_card import expected_at_check, terms_of
from crewdesk.documents.store import load_from_texts
from crewdesk.units import PLACES

ZONE = ZoneInfo("Etc/GMT-2")
THURSDAY = datetime(2026, 8, 20, 18, tzinfo=ZONE)


@pytest.fixture(scope="module")
def told(walk):
    return walk("quellhaven")


@pytest.fixture(scope="module")
def unlisted(told):
    """The same event before anybody has nominated a tyre."""
    texts = dict(told.opened.source_files)
    texts["stock.csv"] = texts["stock.csv"].replace(",yes,stock", ",no,stock")
    bundle = load_from_texts(texts)
    assert not any(t.registered for t in bundle.stock.tyres)
    return bundle


def car(*tyres):
    return dict(zip(PLACES, tyres, strict=False))


def clock(at):
    return f"{at.astimezone(ZONE):%H:%M}"


def test_our_car_is_20_then_16_minutes_behind(told):
    due = {"TC0": "08:20", "TC0A": "08:25", "SS1": "09:16", "TC3B": "12:01", "TC3C": "12:31",
           "SS5": "13:38", "TC6B": "15:22", "TC6C": "16:07", "TC6D": "06:46", "TC6E": "07:01",
           "TC8B": "08:57", "TC8C": "09:12", "TC10B": "11:33", "TC12A": "13:47"}  # fmt: skip
    found = {r: clock(control_at(told.bundle, told.at(0)[1], r).due_utc) for r in due}
    assert found == due


@pytest.mark.parametrize(("before", "left_h"), [(24, 24), (2, 2)])
def test_row_1_reminders(unlisted, before, left_h):
    state = finish(start(unlisted))
    seen = nomination(unlisted, state, THURSDAY - timedelta(hours=before))
    assert seen.closes_utc == THURSDAY
    assert seen.reminders_utc == (
        THURSDAY - timedelta(hours=24),
        THURSDAY - timedelta(hours=2),
    )
    told = {m.code: m for m in seen.messages}
    assert told["QTY-4"].level == "watch"
    assert told["QTY-4"].values == {"hours_left": left_h, "undecided": 22}
    assert f"closes 18:00, {left_h} h left; 22 tyres without a choice" in told["QTY-4"].text
    early = nomination(unlisted, state, THURSDAY - timedelta(hours=25))
    assert not any(m.code == "QTY-4" for m in early.messages)


def test_row_1_fourteen_hard_and_eight_soft(unlisted, entries_of):
    ours = [t.tyre_id for t in unlisted.stock.tyres if t.counts_against == "event"]
    bodies = [
        {"kind": "tyre_state", "tyre_id": t, "state": "nominated", "at": THURSDAY} for t in ours
    ]
    state = finish(fold_all(start(unlisted), entries_of(bodies)))
    seen = nomination(unlisted, state, THURSDAY - timedelta(hours=2))
    said = [m for m in seen.messages if m.code == "QTY-4"]
    assert [m.level for m in said] == ["note"]
    assert said[0].values == {
        "listed": 22,
        "by_compound": {"hard": 14, "soft": 8},
        "limit": 18,
        "caps": {"hard": 14, "soft": 8},
    }


def test_row_2_the_shakedown(told):
    n = told.number("fitting", nth=0, place="A")
    assert not told.accepted(n)
    stopped = {m["values"]["tyre"] for m in told.messages(n) if m["code"] == "QTY-3"}
    assert stopped == {"X1", "X2", "X3", "X4"}
    assert told.counters(n)["used"] == 0
    for tyre in ("H11", "H12", "H13", "H14", "S07", "S08"):
        fit = {
            "kind": "fitting",
            "place": "A",
            "fitting": car(tyre, "H02", "H03", "H04", "H05"),
        }
        accepted, said = told.asked(n, fit)
        assert not accepted
        assert (said["RIM-1"].level, said["RIM-1"].values["tyre"]) == ("stops", tyre)


def test_row_3_five_of_eighteen(told):
    n = told.number("fitting", nth=1, place="A")
    assert told.said(n) == {"NUT-1 watch"}
    assert not any(m["code"] == "TRD-2" for m in told.messages(n))
    stages = told.opened.itinerary.place("A").stages
    km = sum(told.opened.itinerary.stage(ref).km for ref in stages)
    assert km == pytest.approx(42.91)


def test_row_4_fronts_swapped_and_nobody_said_so(told):
    n = told.number("as_found", place="B")
    assert told.said(n) == {"FND-1 watch", "NUT-1 watch"}
    assert "FL has H02, the book says H01" in told.one(n, "FND-1")["text"]
    assert {m["values"]["corner"] for m in told.messages(n) if m["code"] == "NUT-1"} == {
        "FL",
        "FR",
    }
    _, state = told.at(n)
    for tyre in ("H01", "H02"):  # the km belong to the tyre, but to no corner
        assert state.tyres[tyre].event_km == pytest.approx(42.91)
        assert all(run.place is None for run in state.tyres[tyre].runs)
    answer = told.number("answer")
    assert told.said(answer) == {"OPN-1 note", "NUT-1 watch"}
    _, state = told.at(answer)
    by_place = {t: [(r.place, r.km) for r in state.tyres[t].runs] for t in ("H01", "H02")}
    assert by_place["H01"] == [("FL", 13.62), ("FR", 18.24), ("FR", 11.05)]
    assert by_place["H02"] == [("FR", 13.62), ("FL", 18.24), ("FL", 11.05)]
    assert told.counters(answer)["used"] == 5


def test_row_5_the_road_is_up(told):
    n = told.number("report", place="B")
    assert told.said(n) == {"CND-1 watch"}
    assert told.one(n, "CND-1")["values"]["road_change_c"] == 15
    for k in range(n + 1, n + 5):
        assert not any(m["code"] == "PRS-3" for m in told.messages(k))  # 2.38 is in the band


def test_row_6_nine_of_eighteen(told):
    n = told.number("fitting", place="B")
    assert told.said(n) == {"NUT-1 watch"}
    assert told.counters(n)["by_compound"] == {"hard": 9}


def test_row_7_changed_on_the_stage(told):
    n = told.number("incident", where="SS5")
    assert told.said(n) == {"DMG-1 stops", "NUT-1 watch", "NOTE note"}
    assert told.one(n, "NOTE")["values"] == {"left_km": 12.04, "break_even_km": 6.0}
    assert told.one(n, "DMG-1")["values"]["tyre"] == "H06"
    gone = {
        "kind": "as_found",
        "place": "C",
        "fitting": car("H05", "H07", "H08", "H09", "H03"),
    }
    _, said = told.asked(told.number("stage_run", stage="SS6"), gone)
    assert (said["PLC-2"].level, said["PLC-2"].values["tyre"]) == ("stops", "H06")
    assert "TC6B" in said["PLC-2"].text


def test_row_8_a_slow_leak(told):
    n = told.number("reading", tyre_id="H03", place="C")
    assert told.said(n) == {"LEAK-1 stops", "SPR-1 watch"}
    assert told.one(n, "LEAK-1")["values"]["drop_kpa"] == pytest.approx(20, abs=1)
    assert "No sound spare on board since SS5" in told.one(n, "SPR-1")["text"]
    assert told.counters(n)["used"] == 9


def test_row_9_two_locked_one_held(told):
    bulge, bead = told.number("incident", what="bulge"), told.number("incident", what="bead")
    assert told.said(bulge, bead) == {"DMG-1 stops"}
    move = told.number("rim_move", tyre_id="H11")
    assert told.said(move) == set()
    _, state = told.at(move)
    held = {t.tyre_id: t.status_why.split()[0] for t in state.tyres.values() if t.status_why}
    assert held == {"H06": "DMG-1", "H08": "DMG-1", "H03": "LEAK-1"}
    assert set(state.rims_out) == {"G06"}
    assert state.tyres["H11"].rim_id == "G08"
    assert told.counters(move)["limit"] - told.counters(move)["used"] == 9


def test_row_10_the_car_sleeps_on_used_hards(told):
    n = told.number("fitting", place="C")
    assert told.said(n) == {"NUT-1 watch"}
    out = told.number("read_back", place="C")
    _, state = told.at(out)
    assert state.next_place == "D"
    due = told.bundle.itinerary.place("D").due_in_utc
    assert clock(due) == "06:46"
    # No tyre work in the parc ferme, by whom ever.
    swap = {
        "kind": "road_change",
        "after": "parc ferme",
        "fitting": {"FL": "H05", "SP1": "H01"},
    }
    accepted, said = told.asked(out, swap)
    assert not accepted
    assert said["PLC-1"].level == "stops"
    assert "TC6D, 06:46" in said["PLC-1"].text


def test_row_11_fourteen_of_eighteen(told):
    n = told.number("fitting", place="D")
    assert told.said(n) == {"SPR-2 watch", "NUT-1 watch"}
    spares = {
        m["values"]["tyre"]: m["values"]["covers"]
        for m in told.messages(n)
        if m["code"] == "SPR-2"
    }
    assert spares == {"H09": []}  # S05 can stand in
    stages = told.bundle.itinerary.place("D").stages
    km = sum(told.bundle.itinerary.stage(ref).km for ref in stages)
    assert km == pytest.approx(28.09)


def test_row_12_tyres_and_pressures_only(told):
    n = told.number("report", place="TC8B") + 4
    fit = {
        "kind": "fitting",
        "place": "TC8C",
        "fitting": car("S05", "S06", "S03", "S04", "S01"),
    }
    accepted, said = told.asked(n, {**fit, "work": ["damper"]})
    assert not accepted
    assert (said["PLC-4"].level, said["PLC-4"].values["people_max"]) == ("stops", 2)
    fit["fitting"] = car("H10", "H11", "S03", "S04", "S01")
    accepted, said = told.asked(n, fit)
    assert not accepted
    assert said["PLC-4"].values["tyres"] == ("H10", "H11")  # nobody brought them here
    people = {**fit, "fitting": car("S05", "S06", "S03", "S04", "S01"), "people": 4}
    accepted, said = told.asked(n, people)
    assert accepted
    assert said["PLC-4"].level == "watch"


def test_row_13_a_wheel_may_stay_in_the_zone(told):
    n = told.number("fitting", place="TC8C")
    assert told.said(n) == {"NUT-1 watch"}
    _, state = told.at(n)
    assert state.tyres["H09"].in_zone


def test_row_14_four_new_ones_are_one_too_many(told):
    n = told.number("fitting", nth=0, place="E")
    assert not told.accepted(n)
    over = told.one(n, "QTY-1")["values"]
    assert (over["used"], over["limit"], over["would_be"]) == (15, 18, 19)
    assert {"H07", "H09"} <= set(over["counted_that_fit"])
    rims = {m["values"]["tyre"] for m in told.messages(n) if m["code"] == "RIM-1"}
    assert rims == {"H12", "H13"}
    assert told.counters(n)["used"] == 15


def test_row_15_the_rears_on_the_wrong_sides(told):
    wrong, right = (
        told.number("read_back", 0, place="E"),
        told.number("read_back", 1, place="E"),
    )
    assert told.said(wrong) == {"RDB-1 stops"}
    assert "RL has H09, the sheet says H07; RR has H07" in told.one(wrong, "RDB-1")["text"]
    _, state = told.at(wrong)
    assert state.at_place == "E"  # OUT is not signed
    assert told.said(right) == set()
    _, state = told.at(right)
    assert state.at_place is None
    assert told.counters(right)["used"] == 17


def test_row_16_one_mark_left(told):
    n = told.number("fitting", nth=1, place="E")
    assert told.said(n) == {"NUT-1 watch"}
    assert told.counters(n)["by_compound"] == {"hard": 11, "soft": 6}
    assert not any(m["code"] == "TRD-2" for m in told.messages(n))


def test_row_17_no_wheel_before_the_final_checks(told):
    n = told.number("fitting", place="F")
    assert not told.accepted(n)
    assert told.one(n, "PLC-1")["level"] == "stops"
    marks = [e.tyre_id for e in expected_at_check(told.state)]
    assert marks == ["H10", "H11", "H07", "H09", "H05"]


def test_row_18_the_handover(told):
    made = told.handover
    by_state = {}
    for tyre in made.tyres:
        by_state.setdefault(tyre.state, set()).add(tyre.tyre_id)
    assert by_state["scrap"] == {"H06", "H08"}
    assert by_state["hold"] == {"H03"}
    unused = {t.tyre_id for t in made.tyres if t.tread_source == "new" and not t.counted}
    assert unused == {"H12", "H13", "H14", "S07", "S08"}
    rims = {r.rim_id: r.state for r in made.rims if r.state != "good"}
    assert rims == {"G06": "scrap", "G03": "check"}
    assert "cap of 18" in made.lessons[0]
    assert [f.qty_total for f in made.ran_under] == [18] * len(told.state.fittings)


def test_returnable_tyres_stay_returnable(told):
    assert {t: terms_of(told.state.tyres[t]) for t in ("H13", "H14", "H12")} == {
        "H13": "returnable",
        "H14": "returnable",
        "H12": "own",
    }


def test_counters_after_each_fit(told):
    table = [
        ("fitting", 1, {"place": "A"}, "H01 H02 H03 H04 H05", 5, "hard 5"),
        ("answer", 0, {}, "H02 H01 H03 H04 H05", 5, "hard 5"),
        ("fitting", 0, {"place": "B"}, "H06 H07 H08 H09 H05 H03", 9, "hard 9"),
        ("incident", 0, {"where": "SS5"}, "H05 H07 H08 H09 H06 H03", 9, "hard 9"),
        ("fitting", 0, {"place": "C"}, "H01 H02 H07 H04 H05", 9, "hard 9"),
        ("fitting", 0, {"place": "D"}, "S01 S02 S03 S04 S05 H09", 14, "hard 9, soft 5"),
        ("fitting", 0, {"place": "TC8C"}, "S05 S06 S03 S04 S01 S02", 15, "hard 9, soft 6"),
        ("fitting", 1, {"place": "E"}, "H10 H11 H07 H09 H05", 17, "hard 11, soft 6"),
    ]
    for kind, nth, fields, on, used, words in table:
        n = told.number(kind, nth, **fields)
        _, state = told.at(n)
        assert [state.fitted.tyres[p] for p in PLACES if state.fitted.tyres[p]] == on.split()
        counted = told.counters(n)
        assert (counted["used"], counted["limit"]) == (used, 18)
        assert ", ".join(f"{k} {v}" for k, v in counted["by_compound"].items()) == words


def test_state_at_the_end(told):
    table = {
        "H01": (7.6, 7.5, 7.3, 42.9), "H02": (7.6, 7.5, 7.2, 42.9),
        "H03": (7.8, 7.6, 7.7, 42.9), "H04": (7.8, 7.6, 7.8, 42.9),
        "H05": (8.5, 8.4, 8.2, 23.1), "H07": (6.1, 5.8, 5.6, 67.3),
        "H08": (7.4, 7.1, 7.3, 42.9), "H09": (6.3, 5.9, 6.2, 67.3),
        "H10": (8.7, 8.6, 8.5, 24.4), "H11": (8.8, 8.7, 8.6, 24.4),
        "S01": (8.6, 8.5, 8.4, 28.1), "S02": (8.7, 8.6, 8.4, 28.1),
        "S03": (7.4, 7.2, 7.4, 56.2), "S04": (7.5, 7.3, 7.4, 56.2),
        "S05": (8.6, 8.5, 8.4, 28.1), "S06": (8.7, 8.6, 8.4, 28.1),
    }  # fmt: skip
    seen = {t.tyre_id: t for t in told.handover.tyres}
    for tyre, (inner, middle, outer, km) in table.items():
        assert seen[tyre].tread_mm == pytest.approx((inner, middle, outer)), tyre
        assert seen[tyre].event_km == pytest.approx(km, abs=0.1), tyre
    assert seen["H06"].event_km == pytest.approx(19.8, abs=0.1)  # depth never read
