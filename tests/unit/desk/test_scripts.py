"""The walk-throughs of the one-day and the three-day event, entered through the checks."""

import json
from pathlib import Path

import pytest

from crewdesk.assets import shipped
from crewdesk.desk.day import Day
from crewdesk.desk.lines import enter_lines

SCRIPTS = Path(__file__).parents[2] / "data" / "scripts"


def entered(name, folder):
    """Return lines, answers and the state at the end."""
    text = (SCRIPTS / f"{name}.jsonl").read_text(encoding="utf-8")
    event = Path(str(shipped("demo_events").joinpath(name)))
    with Day.open(event, book_path=folder / "book.daybook", desk_name="test") as day:
        answers = list(enter_lines(day, text, keep_going=True))
        return [json.loads(line) for line in text.splitlines()], answers, day.state


@pytest.fixture(scope="module")
def saldrey_told(tmp_path_factory):
    return entered("saldrey", tmp_path_factory.mktemp("saldrey"))


@pytest.fixture(scope="module")
def lunehaven_told(tmp_path_factory):
    return entered("lunehaven", tmp_path_factory.mktemp("lunehaven"))


def counts(told):
    lines, answers, _ = told
    return [
        (s["place"], a["counters"]["used"], a["counters"]["by_compound"])
        for s, a in zip(lines, answers, strict=True)
        if s["kind"] == "fitting" and a["accepted"]
    ]


def said(told, kind, **fields):
    """Return the messages of the first line of a kind with these fields, by code."""
    lines, answers, _ = told
    for line, answer in zip(lines, answers, strict=True):
        if line["kind"] == kind and all(line.get(k) == v for k, v in fields.items()):
            return {m["code"]: m for m in answer["messages"]}
    raise AssertionError((kind, fields))


def refused(told):
    lines, answers, _ = told
    return [lines[a["line"] - 1]["kind"] for a in answers if not a["accepted"]]


# Sources: the tables "Counters after each fit" and "State at the end" of the walk-throughs.


def test_saldrey_counts(saldrey_told):
    assert counts(saldrey_told) == [
        ("start", 5, {"medium": 3, "soft": 2}),
        ("A", 7, {"medium": 5, "soft": 2}),
        ("B", 8, {"medium": 6, "soft": 2}),
    ]
    assert refused(saldrey_told) == ["fitting", "fitting"]


def test_saldrey_kilometres(saldrey_told):
    state = saldrey_told[2]
    new = {"S01": 33.9, "S02": 33.9, "M01": 15.2, "M02": 15.2, "M03": 0.0}
    # The used ones came with km of their own.
    used = {"M05": 61.9 - 31.4, "M06": 80.5 - 31.4, "M07": 47.8 - 29.2}
    for tyre, km in {**new, **used}.items():
        assert state.tyres[tyre].event_km == pytest.approx(km, abs=0.11), tyre
    assert state.rims_out == {"R06": "bent, after SS4"}


def test_saldrey_twelve_minutes_late(saldrey_told):
    late = said(saldrey_told, "control_time")
    assert late["TIM-1"]["values"]["cost_s"] == 120
    assert "8 of 20 min left at B" in late["NOTE"]["text"]


def test_saldrey_an_unmarked_tyre_is_refused(saldrey_told):
    assert said(saldrey_told, "fitting", place="start")["MRK-1"]["level"] == "stops"


def test_lunehaven_counts(lunehaven_told):
    assert counts(lunehaven_told) == [
        ("A", 6, {"soft": 5, "wet": 1}),
        ("B", 11, {"hard": 5, "soft": 5, "wet": 1}),
        ("C", 11, {"hard": 5, "soft": 5, "wet": 1}),
        ("D", 15, {"hard": 5, "soft": 5, "wet": 5}),
        ("E", 19, {"hard": 5, "soft": 9, "wet": 5}),
        ("F", 20, {"hard": 5, "soft": 10, "wet": 5}),
        ("G", 20, {"hard": 5, "soft": 10, "wet": 5}),
        ("TC14C", 21, {"hard": 5, "soft": 11, "wet": 5}),
        ("H", 24, {"hard": 8, "soft": 11, "wet": 5}),
    ]
    assert refused(lunehaven_told) == ["tyre_added", "fitting", "fitting"]


def test_lunehaven_kilometres(lunehaven_told):
    state = lunehaven_told[2]
    km = {
        "H01": 41.1, "H03": 83.1, "H05": 0.0, "H06": 41.9, "S01": 41.1, "S05": 0.0, "S06": 10.1,
        "S07": 75.8, "S08": 43.9, "S09": 85.9, "S11": 31.8, "S12": 10.1, "W01": 43.9,
        "W02": 43.9, "W03": 29.4, "W04": 43.9, "W05": 14.5,
    }  # fmt: skip
    for tyre, expected in km.items():
        assert state.tyres[tyre].event_km == pytest.approx(expected, abs=0.11), tyre
    assert state.tyres["W03"].status == "locked"
    assert state.open_questions == ()


def test_lunehaven_the_puncture_nobody_can_place(lunehaven_told):
    answer = said(lunehaven_told, "incident", what="puncture")
    assert set(answer["OPN-1"]["values"]["possible"]) == {"W01", "W03", "W05", "S05"}
    assert answer["SPR-1"]["values"]["sound_at_most"] == 1


def test_lunehaven_a_spare_built_for_the_left(lunehaven_told):
    lines, answers, _ = lunehaven_told
    fit = next(
        a
        for s, a in zip(lines, answers, strict=True)
        if s["kind"] == "fitting" and s["place"] == "D"
    )
    cannot = {
        m["values"]["tyre"]: m["values"]["covers"]
        for m in fit["messages"]
        if m["code"] == "SPR-2"
    }
    assert cannot == {"W05": ["FL", "RL"], "S05": []}


def test_lunehaven_a_replacement_needs_its_sheet(lunehaven_told):
    joker = said(lunehaven_told, "tyre_added")
    assert joker["JOK-1"]["values"]["would_be"] == 20
    assert lunehaven_told[1][-1]["counters"]["jokers_used"] == 1


def test_lunehaven_a_thin_tyre_is_told_of_before_it_runs(lunehaven_told):
    lines, answers, _ = lunehaven_told
    told = {
        m["values"]["tyre"]: m["values"]["predicted_mm"]
        for s, a in zip(lines, answers, strict=True)
        for m in a["messages"]
        if s["kind"] == "fitting" and s["place"] == "G" and m["code"] == "TRD-2"
    }
    assert min(told, key=told.get) == "S07"


def test_lunehaven_a_mark_noted_wrongly(lunehaven_told):
    assert said(lunehaven_told, "mark_check")["CHK-1"]["level"] == "watch"
    assert said(lunehaven_told, "answer")["OPN-1"]["level"] == "note"
