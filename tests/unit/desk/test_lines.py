"""The whole walk-through, entered line by line."""

import json

import pytest

from crewdesk.desk.lines import enter_lines

SCRIPT_NAME = "quellhaven.jsonl"


@pytest.fixture(scope="module")
def answers(tmp_path_factory, script):
    from pathlib import Path

    from crewdesk.assets import shipped
    from crewdesk.desk.day import Day

    folder = Path(str(shipped("demo_events").joinpath("quellhaven")))
    path = tmp_path_factory.mktemp("book") / "book.daybook"
    text = "\n".join(json.dumps(line) for line in script)
    with Day.open(folder, book_path=path, desk_name="test") as day:
        return list(enter_lines(day, text, keep_going=True))


def line(script, answers, kind, place="", nth=0):
    """Return the answer to the nth line of a kind at a place."""
    found = [
        a
        for s, a in zip(script, answers, strict=True)
        if s["kind"] == kind and (not place or s.get("place", s.get("where")) == place)
    ]
    return found[nth]


def said(answer):
    return {m["code"]: m["level"] for m in answer["messages"]}


def test_only_what_the_rules_refuse_is_refused(script, answers):
    refused = [a["line"] for a in answers if not a["accepted"]]
    assert refused == [6, 58, 68]
    assert all(answers[n - 1]["id"] is None for n in refused)


def test_counters_after_each_fitting(script, answers):
    # Source: the table "Counters after each fit" of the walk-through.
    after = [
        (s["place"], a["counters"]["used"], a["counters"]["by_compound"])
        for s, a in zip(script, answers, strict=True)
        if s["kind"] == "fitting" and a["accepted"]
    ]
    assert after == [
        ("A", 5, {"hard": 5}),
        ("B", 9, {"hard": 9}),
        ("C", 9, {"hard": 9}),
        ("D", 14, {"hard": 9, "soft": 5}),
        ("TC8C", 15, {"hard": 9, "soft": 6}),
        ("E", 17, {"hard": 11, "soft": 6}),
    ]
    assert {a["counters"]["limit"] for a in answers} == {18}


def test_shakedown_tyres_are_refused(script, answers):
    assert said(line(script, answers, "fitting", "A"))["QTY-3"] == "stops"


def test_found_swapped(script, answers):
    at_b = line(script, answers, "as_found", "B")
    assert said(at_b) == {"FND-1": "watch", "NUT-1": "watch"}
    text = next(m["text"] for m in at_b["messages"] if m["code"] == "FND-1")
    assert "FL has H02, the book says H01" in text
    answered = line(script, answers, "answer")
    assert said(answered)["OPN-1"] == "note"


def test_a_hotter_road_asks_for_a_new_call(script, answers):
    answer = line(script, answers, "report", "B")
    message = next(m for m in answer["messages"] if m["code"] == "CND-1")
    assert message["level"] == "watch"
    assert message["values"]["road_change_c"] == 15.0


def test_hot_pressures_inside_the_band_pass(script, answers):
    assert line(script, answers, "reading", "B")["messages"] == []


def test_the_puncture(script, answers):
    answer = line(script, answers, "incident", "SS5")
    assert said(answer) == {"DMG-1": "stops", "NUT-1": "watch", "NOTE": "note"}
    assert answer["accepted"]


def test_the_slow_leak(script, answers):
    answer = line(script, answers, "reading", "C")
    message = answer["messages"][0]
    assert (message["code"], message["level"]) == ("LEAK-1", "stops")
    assert "0.20 bar under its pair H05" in message["text"]


def test_a_spare_that_fits_no_corner(script, answers):
    assert said(line(script, answers, "fitting", "D"))["SPR-2"] == "watch"


def test_four_new_hards_are_too_many(script, answers):
    answer = line(script, answers, "fitting", "E")
    levels = said(answer)
    assert (levels["QTY-1"], levels["RIM-1"]) == ("stops", "stops")
    assert "19 of 18" in answer["messages"][0]["text"]
    rims = {m["values"]["tyre"] for m in answer["messages"] if m["code"] == "RIM-1"}
    assert rims == {"H12", "H13"}


def test_the_read_back_finds_the_rears_changed_about(script, answers):
    wrong = line(script, answers, "read_back", "E")
    assert said(wrong) == {"RDB-1": "stops"}
    assert wrong["accepted"]
    right = line(script, answers, "read_back", "E", nth=1)
    assert right["messages"] == []
    assert right["counters"]["used"] == 17


def test_no_wheel_work_at_the_last_service(script, answers):
    assert said(line(script, answers, "fitting", "F"))["PLC-1"] == "stops"


def test_a_refused_line_ends_the_run(open_day, script):
    text = "\n".join(json.dumps(one) for one in script)
    answers = list(enter_lines(open_day(), text))
    assert [a["line"] for a in answers] == [1, 2, 3, 4, 5, 6]
    assert not answers[-1]["accepted"]


def test_a_line_that_is_no_entry_is_answered_too(open_day):
    text = '\nnot json\n{"kind": "note", "text": "fine"}\n{"kind": "nothing"}\n'
    answers = list(enter_lines(open_day(), text, keep_going=True))
    assert [(a["line"], a["accepted"]) for a in answers] == [(2, False), (3, True), (4, False)]
    assert answers[0]["messages"][0]["code"] == "ENTRY"


def test_a_line_may_name_an_earlier_line(open_day):
    lines = [
        {"kind": "note", "text": "a"},
        {"kind": "correction", "target_id": "@1", "values": {"text": "b"}},
        {"kind": "undo", "target_id": "@7"},
    ]
    day = open_day()
    text = "\n".join(json.dumps(one) for one in lines)
    answers = list(enter_lines(day, text, keep_going=True))
    assert [a["accepted"] for a in answers] == [True, True, False]
    assert day.state.notes[0][1] == "b"
