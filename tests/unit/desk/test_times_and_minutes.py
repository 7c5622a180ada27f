"""Our times, lateness, the minutes that work needs, and what must be on which rim by when.

Figures of penalties are those of Motorsport UK, National Competition Rules 2026, ch. 13,
App. 14 (a minute early 60 s, a minute late 10 s); times of work are common practice.
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from crewdesk.desk.changes import checked_change
from crewdesk.desk.minutes import (
    Work,
    late_work,
    people_at,
    short_wheels,
    times_with,
    work_min,
    work_of,
    work_times,
)
from crewdesk.desk.replay import finish, fold_all, replay, start
from crewdesk.desk.timetable import control_at, penalty, timetable, with_our_times
from crewdesk.desk.wheels_plan import (
    boot_list,
    mounting_messages,
    mounting_plan,
    van_leaves,
    van_list,
)
from crewdesk.desk.words import bring_words
from crewdesk.engine.result import LoopPlan, ReserveWheel
from crewdesk.errors import ReadingError
from crewdesk.journal.entries import DocumentsChanged
from crewdesk.units import PLACES

MINUTE = timedelta(minutes=1)


def car(*tyres):
    return dict(zip(PLACES, tyres, strict=False))


def at_control(bundle, ref, minutes, *, announced=False):
    state = finish(start(bundle))
    due = control_at(bundle, state, ref).due_utc
    return {
        "kind": "control_time",
        "ref": ref,
        "time": due + minutes * MINUTE,
        "announced": announced,
    }


def test_whole_minutes_early_and_late(saldrey):
    rules = finish(start(saldrey))
    assert rules.times == {}
    from crewdesk.desk.case import rules_of

    book = rules_of(saldrey)
    assert penalty(book, 12.0) == (12, 120.0)
    assert penalty(book, 11.99) == (11, 110.0)
    assert penalty(book, -2.5) == (-2, 120.0)
    assert penalty(book, 0.98) == (0, 0.0)


def test_target_timing_moves_what_follows_until_a_regroup(quellhaven, entries_of):
    state = replay(quellhaven, entries_of([at_control(quellhaven, "TC1", 7)]))
    moved = {c.ref: (c.due_utc - c.planned_utc) / MINUTE for c in timetable(quellhaven, state)}
    assert (moved["TC1"], moved["SS1"], moved["TC2"], moved["TC3A"]) == (0, 7, 7, 7)
    # The car stands 45 min in the regroup: its gap is closed there.
    assert (moved["TC3B"], moved["TC4"], moved["TC7"]) == (0, 0, 0)
    late = control_at(quellhaven, state, "TC1")
    assert (late.late_min, late.cost_s) == (7, 70.0)
    itinerary = with_our_times(quellhaven, state).itinerary
    assert itinerary.stage("SS1").due_utc - quellhaven.itinerary.stage("SS1").due_utc == (
        7 * MINUTE
    )


def test_scheduled_timing_moves_nothing_and_shortens_the_visit(saldrey, entries_of):
    state = replay(saldrey, entries_of([at_control(saldrey, "TC4A", 12, announced=True)]))
    control = control_at(saldrey, state, "TC4B")
    assert control.due_utc == control.planned_utc
    place = with_our_times(saldrey, state).itinerary.place("B")
    assert place.minutes == 8
    full = late_work(saldrey, state, place, Work.full(car("A", "B", "C", "D", "E")))
    assert (full.needed_min, full.allowed_min, full.late_min, full.cost_s) == (14, 8, 6, 60.0)
    assert not full.fits


def test_out_of_time(saldrey, open_day):
    day = open_day("saldrey")
    from crewdesk.journal.entries import ControlTime

    body = at_control(saldrey, "TC4A", 30)
    receipt = day.enter(ControlTime(**{k: v for k, v in body.items() if k != "kind"}))
    assert "TIM-2" not in {m.code for m in receipt.messages}
    body = at_control(saldrey, "TC4A", 31)
    receipt = day.enter(ControlTime(**{k: v for k, v in body.items() if k != "kind"}))
    assert {m.code: m.level for m in receipt.messages}["TIM-2"] == "stops"


def test_a_flexi_service_is_entered_inside_its_window(quellhaven, entries_of):
    later = at_control(quellhaven, "TC6B", 90)
    state = replay(quellhaven, entries_of([later]))
    into = control_at(quellhaven, state, "TC6B")
    assert (into.late_min, into.cost_s) == (0, 0.0)
    out = control_at(quellhaven, state, "TC6C")
    assert out.due_utc == later["time"] + 45 * MINUTE
    place = with_our_times(quellhaven, state).itinerary.place("C")
    assert (place.due_in_utc, place.minutes) == (later["time"], 45)
    # The window closes at 21:00 local: one minute past it is late from the due time on.
    closed = datetime(2026, 8, 22, 19, 1, tzinfo=UTC)
    state = replay(quellhaven, entries_of([{**later, "time": closed}]))
    assert control_at(quellhaven, state, "TC6B").late_min > 0


def test_the_minutes_of_common_practice():
    # Four people change four wheels in 2 to 3 min, two in 5 to 6; torque 1 min; stands 1 min.
    times = work_times()
    assert work_min(Work(4), 4) == 5
    assert work_min(Work(4), 2) == 8
    assert times.machine_min == 5.0
    assert work_min(Work(4), 1) > work_min(Work(4), 2) > work_min(Work(4), 4)
    assert work_min(Work(0), 4) == 0


def test_more_minutes_never_do_less():
    for people in (1, 2, 4, 8):
        wheels = [short_wheels(left, people) for left in range(25)]
        assert wheels == sorted(wheels)
        assert (wheels[0], wheels[-1]) == (0, 4)


def test_the_crews_own_times():
    slow = times_with({"wheel_min": 6.0})
    assert work_min(Work(4), 4, slow) == work_min(Work(4), 4) + 3
    assert slow.sources["wheel_min"] == "the crew's own"
    with pytest.raises(ValueError, match="no time named"):
        times_with({"wheels": 1.0})
    with pytest.raises(ValueError, match="over 0"):
        times_with({"wheel_min": 0.0})


def setting(target, value):
    return {"kind": "documents_changed", "what": "setting", "target": target, "value": value}


def test_people_and_times_kept_with_the_event_count_everywhere(quellhaven, entries_of):
    own = {"wheel_min": 6.0, "van_kmh": 60, "van_margin_min": 5}
    told = entries_of([setting("people_at_car", 2), setting("work_times", own)])
    bundle = fold_all(start(quellhaven), told).ledger.bundle
    place, zone = bundle.itinerary.place("B"), bundle.itinerary.place("TC8C")
    state = replay(quellhaven, told)
    assert people_at(bundle, place) == 2
    # Four wheels, two people: stands 1, twice 6 min, torque 4 x 0.25.
    assert late_work(bundle, state, place, Work(4)).needed_min == 14
    # 55.30 km of road at 60 km/h are 55 min, 5 min to spare, before 08:57 local (06:57 UTC).
    assert van_leaves(bundle, state, zone) == datetime(2026, 8, 23, 5, 57, tzinfo=UTC)


@pytest.mark.parametrize(
    ("target", "value"),
    [("work_times", {"lunch_min": 3}), ("work_times", {"wheel_min": 0}), ("people_at_car", 0)],
)
def test_a_setting_of_work_that_cannot_be_is_refused(quellhaven, target, value):
    with pytest.raises(ReadingError, match=f"{target} cannot be"):
        checked_change(quellhaven, DocumentsChanged(what="setting", target=target, value=value))


def test_people_stay_inside_the_limit(quellhaven, saldrey):
    zone = quellhaven.itinerary.place("TC8C")
    assert people_at(quellhaven, zone) == 2
    assert people_at(quellhaven, quellhaven.itinerary.place("B")) == 4
    assert people_at(quellhaven, quellhaven.itinerary.place("B"), 9) == 6
    assert people_at(saldrey, saldrey.itinerary.place("A")) == 2  # one leg: a club's event


def test_work_between_two_fittings():
    before = car("A", "B", "C", "D", "E")
    assert work_of(before, before) == Work(0)
    assert work_of(before, car("X", "Y", "C", "D", "E")) == Work(2, pressures=2)
    assert work_of(before, car("A", "B", "D", "C", "F")) == Work(2, crossed=2, pressures=3)


def loop_of(place, fitting, **values):
    given = {
        "loop": 1,
        "place": place,
        "fitting": fitting,
        "cold_pressure_kpa": dict.fromkeys(PLACES, 190.0),
        "floor_binds": {},
        "hot_target_kpa": 235.0,
        "bring": (),
        "rims": {},
        "tread_end_mm": {},
        "tread_sd_mm": {},
        "edge_end": {},
        "peak_tread_c": {},
        "expected_s": 0.0,
        "spread_s": (0.0, 0.0),
        "below_minimum": {},
    }
    return LoopPlan(**{**given, **values})


def test_a_rim_under_the_car_is_mounted_in_the_visit(quellhaven, entries_of):
    on = {"kind": "fitting", "place": "A", "fitting": car("H01", "H02", "H03", "H04", "H05")}
    state = replay(quellhaven, entries_of([on]))
    fit = car("H06", "H11", "H07", "H08", "H05")
    plan = loop_of("B", fit, rims={"FR": "G01"})
    (mount,) = mounting_plan(quellhaven, state, [plan])
    place = quellhaven.itinerary.place("B")
    assert (mount.tyre_id, mount.rim_id, mount.comes_off) == ("H11", "G01", "H01")
    assert mount.in_visit
    assert (mount.free_utc, mount.by_utc) == (place.due_in_utc, place.due_out_utc)
    assert mounting_messages(quellhaven, [mount], place.due_in_utc) == ()
    many = [replace(mount, tyre_id=f"T{n}") for n in range(7)]
    (said,) = mounting_messages(quellhaven, many, place.due_in_utc)
    assert (said.code, said.values["needed_min"], said.values["allowed_min"]) == (
        "RIM-1", 35.0, 30.0,
    )  # fmt: skip


def test_a_free_rim_is_ready_before_the_car_is_due(quellhaven):
    state = finish(start(quellhaven))
    plan = loop_of("A", car("H01", "H02", "H03", "H04", "H09"), rims={"SP1": "G13"})
    (mount,) = mounting_plan(quellhaven, state, [plan])
    assert not mount.in_visit
    assert mount.by_utc == quellhaven.itinerary.place("A").due_in_utc


def test_the_van_leaves_in_time(quellhaven):
    state = finish(start(quellhaven))
    plan = loop_of("TC8C", car("S05", "S06", "S03", "S04"), bring=("S06",))
    van = van_list(quellhaven, state, plan)
    # 31.50 + 14.20 + 9.60 km of road at 45 km/h and 15 min: 89 min before 08:57.
    assert van.road_km == pytest.approx(55.3)
    assert van.due_in_utc - van.leaves_utc == 89 * MINUTE
    assert [tyre for tyre, _ in van.wheels] == ["S06"]
    assert van.people_max == 2
    own = van.due_in_utc - 120 * MINUTE
    assert van_list(quellhaven, state, plan, leaves_utc=own).leaves_utc == own
    with pytest.raises(ValueError, match="no tyre zone"):
        van_list(quellhaven, state, loop_of("B", car("S01")))


def test_a_wheel_in_reserve_goes_with_the_van_and_is_mounted_before(quellhaven):
    state = finish(start(quellhaven))
    wheels = (
        ReserveWheel("S07", "G15", ("FL", "RL"), 0.04, 12.0),
        ReserveWheel("H09", "G13", (), 0.004, 1.5),
    )
    zone = loop_of(
        "TC8C",
        car("S05", "S06", "S03", "S04"),
        bring=("S06", "S07", "H09"),
        bring_rims={"S06": "G14", "S07": "G15", "H09": "G13"},
        reserve=wheels,
    )
    van = van_list(quellhaven, state, zone)
    assert van.wheels == (("S06", "G14"), ("S07", "G15"), ("H09", "G13"))
    assert van.reserve == ("S07", "H09")
    held = {t.tyre_id: t.rim_id for t in state.tyres.values()}
    mounts = {m.tyre_id: m.rim_id for m in mounting_plan(quellhaven, state, [zone])}
    assert mounts == {t: r for t, r in {"S07": "G15", "H09": "G13"}.items() if held[t] != r}
    assert "H09" in mounts
    first = loop_of("D", car("S01", "S02", "S03", "S04"))
    assert bring_words([first, zone]) == [
        "To bring to the tyre zone TC8C: S06, S07, H09",
        "S07 in reserve, in case FL or RL is lost before it: 4 in 100, worth 12.0 s",
        "H09 in reserve, in case two corners are lost before it: 4 in 1000, worth 1.5 s",
    ]
    assert bring_words([first]) == bring_words([zone, first]) == []


def test_the_boot(quellhaven):
    state = finish(start(quellhaven))
    boot = boot_list(state, loop_of("A", car("H01", "H02", "H03", "H04", "H05")))
    assert boot.wheels == (("SP1", "H05", "G05"),)
    assert "torque tool" in boot.tools
