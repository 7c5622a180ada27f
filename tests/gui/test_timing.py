"""The clock that counts, how old a reading is, and the steps of the day."""

from datetime import timedelta
from pathlib import Path

import pytest

from crewdesk.assets import shipped
from crewdesk.desk.day import Day
from crewdesk.gui.texts import age_words, least_point, span, wheel
from crewdesk.gui.timing import countdown, newest, steps_of_day
from crewdesk.journal.entries import (
    AsFound,
    CallUsed,
    ControlTime,
    Fitting,
    ReadBack,
    Report,
    StageRun,
)

QUELLHAVEN = Path(str(shipped("demo_events").joinpath("quellhaven")))
CAR = {"FL": "H01", "FR": "H02", "RL": "H03", "RR": "H04", "SP1": "H05", "SP2": None}


@pytest.fixture
def day(tmp_path):
    with Day.open(QUELLHAVEN, data_dir=tmp_path, desk_name="test") as opened:
        yield opened


def at(day, key, minutes):
    return day.bundle.itinerary.place(key).due_in_utc + timedelta(minutes=minutes)


def enter(day, *bodies):
    for body in bodies:
        assert day.enter(body).accepted


def test_before_in_the_deadline_of_the_call_counts_then_in_then_out(day):
    # The call stands 30 min before IN, the event's own setting.
    now = at(day, "A", -42)
    count = countdown(day.bundle, day.state, now)
    assert (count.what, count.left) == ("call_by", timedelta(minutes=12))
    late = countdown(day.bundle, day.state, now + timedelta(minutes=13, seconds=20))
    assert late.late
    assert span(late.left) == "01:20"
    enter(day, CallUsed(place="A", fitting=CAR))
    assert countdown(day.bundle, day.state, now).what == "in"
    enter(day, Fitting(place="A", fitting=CAR))
    count = countdown(day.bundle, day.state, at(day, "A", 5))
    assert (count.what, count.left) == ("out", timedelta(minutes=10))


def test_for_a_zone_the_van_must_leave_in_time(day):
    for place, stages in (
        ("A", ("SS1", "SS2", "SS3")),
        ("B", ("SS4", "SS5", "SS6")),
        ("C", ()),
    ):
        enter(day, Fitting(place=place, fitting=CAR), ReadBack(place=place, fitting=CAR))
        enter(day, *[StageRun(stage=ref) for ref in stages])
    enter(day, Fitting(place="D", fitting=CAR), ReadBack(place="D", fitting=CAR))
    count = countdown(day.bundle, day.state, at(day, "D", 5))
    assert count.what == "call_by"
    # By hand: 31.50 + 14.20 + 9.60 km of road at 45 km/h are 74 min, and 15 min to spare.
    assert count.due == at(day, "TC8B", -89)


def test_our_lateness_at_in_eats_into_the_visit_and_does_not_move_out(day):
    place = day.bundle.itinerary.place("B")
    enter(day, Fitting(place="A", fitting=CAR), ReadBack(place="A", fitting=CAR))
    enter(day, *[StageRun(stage=ref) for ref in ("SS1", "SS2", "SS3")])
    late = place.due_in_utc + timedelta(minutes=6)
    enter(day, ControlTime(ref="TC3A", time=late - timedelta(minutes=20), announced=True))
    before = countdown(day.bundle, day.state, at(day, "B", -40))
    assert before.in_due == at(day, "B", 0)
    enter(day, ControlTime(ref=place.in_ref, time=late, announced=True))
    assert countdown(day.bundle, day.state, at(day, "B", -40)).in_due == late


@pytest.mark.parametrize(
    ("minutes", "road", "air"),
    [
        (14, "fresh", "fresh"),
        (29, "ageing", "fresh"),
        (31, "old", "ageing"),
        (61, "old", "old"),
    ],
)
def test_road_is_old_sooner_than_air(day, minutes, road, air):
    now = at(day, "A", 0)
    report = Report(place="A", air_c=18, road_c=24, at=now - timedelta(minutes=minutes))
    assert newest([report], "road_c", now).freshness == road
    assert newest([report], "air_c", now).freshness == air
    assert newest([], "air_c", now).freshness == "none"


def test_of_two_reports_at_one_minute_the_later_entry_counts(day):
    now = at(day, "A", 0)
    reports = [Report(place="A", road_c=24, at=now), Report(place="A", road_c=29, at=now)]
    assert newest(reports, "road_c", now).value == 29


def test_the_rail_shows_what_is_done_now_and_to_come(day):
    def marks():
        return {s.label: s.mark for s in steps_of_day(day.bundle, day.state)}

    assert marks()["Service A"] == "now"
    enter(day, Fitting(place="A", fitting=CAR), ReadBack(place="A", fitting=CAR))
    assert (marks()["Service A"], marks()["Loop 1"], marks()["Service B"]) == (
        "done",
        "now",
        "to come",
    )
    enter(day, *[StageRun(stage=ref) for ref in ("SS1", "SS2", "SS3")])
    assert (marks()["Loop 1"], marks()["Service B"]) == ("done", "now")
    enter(day, AsFound(place="B", fitting=CAR))
    assert marks()["Service B"] == "now"
    assert marks()["Zone TC8C"] == "to come"
    assert marks()["Handover"] == "to come"


def test_small_words():
    assert span(timedelta(minutes=12, seconds=5)) == "12:05"
    assert span(timedelta(hours=-3, minutes=-5)) == "3 h 05"
    assert span(timedelta(days=80)) == "80 days"
    assert (age_words(0.2), age_words(42), age_words(240)) == ("now", "42 min", "4 h")
    assert wheel("G07", "H07") == "G07·H07"
    assert wheel("", None) == "–"
    assert least_point((6.9, 6.1, None)) == (6.1, "mid")
    assert least_point((None, None, None)) is None
