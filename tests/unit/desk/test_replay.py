import pytest

from crewdesk.desk.replay import finish, fold, replay, start

BASE = ("H01", "H02", "H03", "H04", "H05")


@pytest.fixture
def told(quellhaven, entries_of):
    """Replay bodies over quellhaven."""
    return lambda bodies: replay(quellhaven, entries_of(bodies))


@pytest.fixture
def fit(car_of):
    return lambda place, *tyres, **more: {
        "kind": "fitting",
        "place": place,
        "fitting": car_of(*tyres),
        **more,
    }


@pytest.fixture
def found(car_of):
    return lambda place, *tyres, **more: {
        "kind": "as_found",
        "place": place,
        "fitting": car_of(*tyres),
        **more,
    }


@pytest.fixture
def read(car_of):
    return lambda place, *tyres, **more: {
        "kind": "read_back",
        "place": place,
        "fitting": car_of(*tyres),
        **more,
    }


def ran(stage, **more):
    return {"kind": "stage_run", "stage": stage, **more}


def runs(state, tyre):
    return [(r.stage, r.place, round(r.km * r.split, 2)) for r in state.tyres[tyre].runs]


def test_the_day_begins_with_the_stock_table(told):
    state = told([])
    assert (state.next_place, state.step, state.fitted) == ("A", "before_in", None)
    assert state.tyres["X1"].ever_fitted
    assert not state.tyres["H01"].ever_fitted
    assert state.tyres["H01"].rim_id == "G01"


def test_the_steps_of_a_change_place(told, fit, found, read):
    entries = [{"kind": "call_used", "place": "A", "fitting": {}}]
    assert told(entries).step == "before_in"
    entries += [found("A", None)]
    assert (told(entries).step, told(entries).at_place) == ("car_in", "A")
    entries += [{"kind": "call_used", "place": "A", "fitting": {}}]
    assert told(entries).step == "fit"
    assert told(entries).call_used is not None
    entries += [fit("A", *BASE)]
    assert (told(entries).step, told(entries).next_place) == ("out", "B")
    entries += [read("A", *BASE)]
    state = told(entries)
    assert (state.step, state.at_place, state.call_used) == ("left_behind", None, None)
    entries += [ran("SS1")]
    assert told(entries).step == "before_in"


def test_a_place_left_without_reading_back_says_so(told, fit):
    state = told([fit("A", *BASE), ran("SS1")])
    assert state.fitted is not None
    assert not state.fitted.read_back
    assert state.at_place is None
    assert state.step == "before_in"


def test_a_later_place_shows_that_the_stages_before_it_were_run(told, fit, found):
    state = told([fit("A", *BASE), found("B", *BASE)])
    assert state.stages_run == ("SS1", "SS2", "SS3")
    assert state.tyres["H01"].event_km == pytest.approx(42.91)


def test_a_hot_pressure_by_radio_says_nothing_of_where_the_car_is(told, fit):
    radio = {
        "kind": "reading",
        "tyre_id": "H01",
        "hot_kpa": 238,
        "where": "stop_line",
        "place": "B",
    }
    assert told([fit("A", *BASE), radio]).stages_run == ()
    with_tread = {**radio, "tread_mid_mm": 7.5}
    state = told([fit("A", *BASE), with_tread])
    assert state.stages_run == ("SS1", "SS2", "SS3")
    assert state.at_place == "B"


def test_a_swap_learnt_later_is_put_right_backwards(told, fit, found):
    # Rows 4 and 6 of the walk-through: 13.62 km on one corner, 29.29 km on the other.
    entries = [fit("A", *BASE), found("B", "H02", "H01", "H03", "H04", "H05")]
    open_ = told(entries)
    assert [q.fields for q in open_.open_questions] == [("since",)]
    assert open_.open_questions[0].possible == ("A", "SS1", "SS2", "SS3")
    assert {place for _, place, _ in runs(open_, "H01")} == {None}
    assert open_.tyres["H01"].event_km == pytest.approx(42.91)
    answer = {"kind": "answer", "question_id": "id2", "values": {"since": "SS1"}}
    state = told([*entries, answer])
    assert state.open_questions == ()
    assert runs(state, "H01") == [
        ("SS1", "FL", 13.62),
        ("SS2", "FR", 18.24),
        ("SS3", "FR", 11.05),
    ]
    assert runs(state, "H02") == [
        ("SS1", "FR", 13.62),
        ("SS2", "FL", 18.24),
        ("SS3", "FL", 11.05),
    ]
    assert runs(state, "H03")[0] == ("SS1", "RL", 13.62)
    assert {t.corner: t.since for t in state.torque_due} == {
        "FL": "SS1",
        "FR": "SS1",
        "RL": "A",
        "RR": "A",
    }
    assert state.counted == ("H01", "H02", "H03", "H04", "H05")


def test_as_found_since_the_start_of_the_loop_uncounts_what_was_never_on(told, fit, found):
    entries = [fit("A", *BASE), found("B", "H06", "H02", "H03", "H04", "H05", since="A")]
    state = told(entries)
    assert state.counted == ("H06", "H02", "H03", "H04", "H05")
    assert state.tyres["H01"].runs == ()
    assert state.tyres["H06"].event_km == pytest.approx(42.91)


def test_the_last_as_found_of_a_place_counts(told, fit, found):
    wrong = found("B", "H02", "H01", "H03", "H04", "H05", since="SS1")
    state = told([fit("A", *BASE), wrong, found("B", *BASE)])
    assert runs(state, "H01")[1] == ("SS2", "FL", 18.24)
    assert state.open_questions == ()


def test_a_puncture_changed_on_the_stage(told, fit):
    # Row 7 of the walk-through.
    state = told(
        [
            fit("B", "H06", "H07", "H08", "H09", "H05", "H03"),
            {
                "kind": "incident",
                "what": "puncture",
                "corner": "FL",
                "where": "SS5",
                "km_into_stage": 6.2,
                "tyre_on": "H05",
                "changed_by": "crew",
            },
            ran("SS6"),
        ]
    )
    assert state.tyres["H05"].event_km == pytest.approx(23.09)
    assert state.tyres["H06"].event_km == pytest.approx(19.82)
    assert (state.tyres["H06"].status, state.tyres["H06"].place) == ("locked", "SP1")
    assert state.tyres["H06"].status_why.startswith("DMG-1 puncture")
    assert state.tyres["H05"].torque_due_since == "SS5"
    assert state.incidents[0][1].tyre_off == "H06"


def test_a_wheel_changed_after_the_stage_ran_none_of_it(told, fit):
    state = told(
        [
            fit("B", "H06", "H07", "H08", "H09", "H05"),
            {
                "kind": "incident",
                "what": "cut",
                "corner": "RL",
                "where": "after SS5",
                "changed_by": "crew",
                "rim_state": "bent",
            },
            ran("SS6"),
        ]
    )
    # The only carried wheel is the one that came on.
    assert runs(state, "H05") == [("SS6", "RL", 11.05)]
    assert state.tyres["H08"].event_km == pytest.approx(13.62 + 18.24)
    assert state.rims_out == {"G08": "bent, after SS5"}


PUNCTURE = {
    "kind": "incident",
    "what": "puncture",
    "side": "left",
    "where": "road section after SS8",
    "changed_by": "crew",
}


@pytest.fixture
def wet_day(lunehaven, entries_of, fit):
    """Lunehaven, Service D on: the puncture of which nobody knows the corner."""
    bodies = [fit("D", "W01", "W02", "W03", "W04", "W05", "S05"), PUNCTURE, ran("SS9")]
    return lambda more: replay(lunehaven, entries_of([*bodies, *more]))


def test_a_puncture_nobody_can_place_gives_its_kilometres_to_nobody(wet_day):
    state = wet_day([])
    question = state.open_questions[0]
    assert set(question.possible) == {"W01", "W03", "W05", "S05"}
    assert question.fields == ("corner", "tyre_on")
    for tyre in ("W01", "W03"):
        assert [stage for stage, _, _ in runs(state, tyre)] == ["SS7", "SS8"]
    for tyre in ("W05", "S05"):
        assert runs(state, tyre) == []
    assert [stage for stage, _, _ in runs(state, "W02")] == ["SS7", "SS8", "SS9"]
    assert len(state.counted) == 6


def test_what_is_found_answers_the_puncture(wet_day, found):
    # Row 9: RL, W03 out and W05 in after SS8; 29.38, 14.54 and 43.92 km.
    state = wet_day([found("E", "W01", "W02", "W05", "W04", "W03", "S05")])
    assert state.open_questions == ()
    assert state.incidents[0][1].corner == "RL"
    assert state.tyres["W03"].event_km == pytest.approx(29.38)
    assert state.tyres["W05"].event_km == pytest.approx(14.54)
    assert state.tyres["W01"].event_km == pytest.approx(43.92)
    assert state.tyres["W03"].status == "locked"
    assert state.tyres["S05"].status == "ok"
    assert [t.corner for t in state.torque_due if t.since != "D"] == ["RL"]


def test_an_answer_places_the_puncture_too(wet_day):
    state = wet_day(
        [
            {
                "kind": "answer",
                "question_id": "id2",
                "values": {"corner": "RL", "tyre_on": "W05"},
            }
        ]
    )
    assert state.open_questions == ()
    assert state.tyres["W05"].event_km == pytest.approx(14.54)


def test_half_an_answer_leaves_the_rest_open(wet_day):
    state = wet_day([{"kind": "answer", "question_id": "id2", "values": {"corner": "FL"}}])
    assert [q.fields for q in state.open_questions] == [("tyre_on",)]
    assert set(state.open_questions[0].possible) == {"W05", "S05"}
    assert state.tyres["W01"].status == "locked"


def test_a_read_back_that_differs_does_not_close_the_place(told, fit, read):
    entries = [fit("A", *BASE), read("A", "H01", "H02", "H04", "H03", "H05", torque=["FL"])]
    state = told(entries)
    assert (state.step, state.fitted.read_back) == ("out", False)
    assert len(state.torque_due) == 4
    good = read("A", *BASE, torque=["FL", "FR", "RL", "RR"])
    state = told([*entries, good])
    assert (state.step, state.fitted.read_back) == ("left_behind", True)
    assert state.torque_due == ()
    assert len(state.counted) == 5


def test_a_fitting_made_anew_before_out_counts_nothing_twice(told, fit):
    state = told([fit("A", *BASE), fit("A", "H06", "H07", "H08", "H09", "H05")])
    assert set(state.counted) == {"H06", "H07", "H08", "H09", "H05"}
    assert len(state.fittings) == 1


def test_reading_back_an_unchanged_car_is_a_fitting_of_its_own(told, fit, found, read):
    state = told([fit("A", *BASE), found("B", *BASE), read("B", *BASE)])
    assert (state.next_place, state.step) == ("C", "left_behind")
    assert state.fittings[-1].place == "B"


def test_a_carried_tyre_counts_and_one_in_a_van_does_not(told, fit):
    state = told([fit("D", "S01", "S02", "S03", "S04", "S05", bring=["S06"])])
    assert state.counted == ("S01", "S02", "S03", "S04", "S05")
    assert state.counted_by_group == {"soft": 5}
    assert state.tyres["S06"].in_zone


def test_what_leaves_the_car_in_a_zone_is_back_at_the_next_service(told, fit, found):
    entries = [
        fit("D", "S01", "S02", "S03", "S04", "S05", "H09"),
        fit("TC8C", "S05", "S06", "S03", "S04", "S01", "S02"),
    ]
    assert told(entries).tyres["H09"].in_zone
    entries += [fit("E", "H10", "H11", "H07", "H09", "H05")]
    assert not told(entries).tyres["H09"].in_zone


def test_a_rim_holds_one_tyre(told):
    state = told([{"kind": "rim_move", "tyre_id": "H09", "rim_id": "G13"}])
    assert state.tyres["H09"].rim_id == "G13"
    assert state.tyres["X1"].rim_id == ""


def test_a_cold_reading_far_under_its_setting_holds_the_tyre(told, fit):
    # Row 8: set at 1.95 bar and 26 C, read 1.78 bar at 29 C; 0.20 bar too little.
    entries = [
        fit("B", "H06", "H07", "H08", "H09", "H05", "H03", cold_kpa={"SP2": 195}, set_at_c=26),
        {"kind": "report", "place": "C", "air_c": 29},
        {"kind": "reading", "tyre_id": "H03", "cold_kpa": 178, "where": "service"},
    ]
    state = told(entries)
    assert state.tyres["H03"].status == "locked"
    assert state.tyres["H03"].status_why == "LEAK-1 0.20 bar under its pair"
    release = {"kind": "tyre_state", "tyre_id": "H03", "state": "released", "by": "A. Name"}
    assert told([*entries, release]).tyres["H03"].status == "ok"


def test_a_cancelled_stage_is_not_run(told, fit, found):
    entries = [
        fit("A", *BASE),
        {"kind": "documents_changed", "what": "stage_cancelled", "target": "SS2"},
        found("B", *BASE),
    ]
    state = told(entries)
    assert state.stages_run == ("SS1", "SS3")
    assert state.cancelled == ("SS2",)
    assert state.tyres["H01"].event_km == pytest.approx(13.62 + 11.05)


def test_a_shortened_stage_counts_its_new_length(told, fit, found):
    entries = [
        fit("A", *BASE),
        {"kind": "documents_changed", "what": "stage_shortened", "target": "SS2", "value": 9.0},
        found("B", *BASE),
    ]
    assert told(entries).tyres["H01"].event_km == pytest.approx(13.62 + 9.0 + 11.05)


def test_a_car_that_stopped_runs_nothing_until_it_starts_again(told, fit, found):
    entries = [
        fit("A", *BASE),
        {"kind": "off_road", "where": "SS2", "km_into_stage": 4.0},
        {"kind": "off_road", "where": "D", "restarts": True},
        fit("D", "S01", "S02", "S03", "S04", "S05"),
        ran("SS7"),
    ]
    state = told(entries)
    assert state.stages_run == ("SS1", "SS2", "SS7")
    assert state.tyres["H01"].event_km == pytest.approx(13.62 + 4.0)


def test_a_stage_driven_in_part_counts_that_part(told, fit):
    state = told([fit("A", *BASE), ran("SS1", km_driven=5.0), ran("SS2")])
    assert state.tyres["H01"].event_km == pytest.approx(5.0 + 18.24)


def test_undo_takes_a_fitting_back(told, fit):
    state = told([fit("A", *BASE), {"kind": "undo", "target_id": "id1"}])
    assert (state.fitted, state.counted, state.next_place) == (None, (), "A")
    assert state.redoable == "id2"


def test_marks_noted_otherwise_open_a_question(told, fit):
    entries = [
        fit("A", *BASE),
        {"kind": "mark_check", "place": "A", "noted": {"FL": "QH-2001", "FR": "QH-2009"}},
    ]
    state = told(entries)
    assert "QH-2009" in state.open_questions[0].text
    answer = {"kind": "answer", "question_id": "id2", "values": {"noted": {"FR": "QH-2002"}}}
    assert told([*entries, answer]).open_questions == ()


def test_a_replacement_with_its_sheet_stands_beside_the_limit(lunehaven, entries_of, fit):
    joker = {
        "kind": "tyre_added",
        "row": {"tyre_id": "S11"},
        "replaces": "S08",
        "joker_sheet": "J-1",
        "approved_by": "Technical delegate",
    }
    state = replay(lunehaven, entries_of([joker, fit("F", "S07", "S11", "S09", "S10", "S05")]))
    assert "S11" not in state.counted
    assert state.tyres["S11"].joker_for == "S08"


def test_a_tyre_added_by_its_row_is_in_the_stock(told):
    row = {
        "tyre_id": "H15",
        "mark": "QH-2015",
        "maker": "Vellmark",
        "model": "Quarry",
        "compound": "hard",
        "use": "gravel",
        "condition": "new",
        "tread_new_mm": "10.0",
    }
    state = told([{"kind": "tyre_added", "row": row}])
    assert state.tyres["H15"].stock.mark == "QH-2015"
    assert state.tyres["H15"].stock.tread_mm == (10.0, 10.0, 10.0)


def test_our_lateness_at_a_control(told):
    late = {"kind": "control_time", "ref": "TC3B", "time": "2026-08-22T12:13:00+02:00"}
    assert told([late]).delays_min == {"TC3B": 12.0}


def test_the_walk_through_ends_as_the_page_says(quellhaven, entries_of, script):
    # Source: the scripted walk-through of the demo event, its table "State at the end".
    taken = [
        e
        for e in entries_of(script)
        if e.id not in ("id6", "id58", "id68")  # lines that the rules refuse
    ]
    taken = [
        e.model_copy(update={"body": e.body.model_copy(update={"question_id": "id10"})})
        if e.kind == "answer"
        else e
        for e in taken
    ]
    state = replay(quellhaven, taken)
    km = {
        **dict.fromkeys(("H01", "H02", "H03", "H04", "H08"), 42.9),
        **dict.fromkeys(("H07", "H09"), 67.3),
        **dict.fromkeys(("H10", "H11"), 24.4),
        **dict.fromkeys(("S01", "S02", "S05", "S06"), 28.1),
        **dict.fromkeys(("S03", "S04"), 56.2),
        "H05": 23.1,
        "H06": 19.8,
    }
    assert {t: round(state.tyres[t].event_km, 1) for t in km} == km
    assert set(state.counted) == set(km)
    assert state.counted_by_group == {"hard": 11, "soft": 6}
    scrapped = {t.tyre_id for t in state.tyres.values() if t.status == "scrapped"}
    assert scrapped == {"H06", "H08"}
    assert state.tyres["H03"].status == "locked"
    assert set(state.rims_out) == {"G06"}
    assert (state.step, state.closed, state.torque_due) == ("handover", True, ())


def test_a_long_book_is_told_in_one_go(quellhaven, entries_of, script):
    """Five hundred entries give the same state one by one and together."""
    bodies = [b for n, b in enumerate(script, start=1) if n not in (6, 10, 11, 58, 68)]
    notes = [{"kind": "note", "text": f"note {n}"} for n in range(430)]
    entries = entries_of([*bodies[:20], *notes, *bodies[20:]])
    step = start(quellhaven)
    for entry in entries:
        step = fold(step, entry)
    assert finish(step) == replay(quellhaven, entries)


def test_the_time_at_the_start_lets_the_car_out_without_a_read_back(saldrey, entries_of):
    at = saldrey.itinerary.place("start").due_out_utc.isoformat()
    tyres = [one.tyre_id for one in saldrey.stock.tyres][:4]
    fit = {
        "kind": "fitting",
        "at": at,
        "place": "start",
        "fitting": dict(zip(("FL", "FR", "RL", "RR"), tyres, strict=True)),
    }
    assert replay(saldrey, entries_of([fit])).at_place == "start"
    gone = {"kind": "control_time", "at": at, "ref": "TC0", "time": at}
    state = replay(saldrey, entries_of([fit, gone]))
    assert state.at_place is None
    assert not state.fittings[-1].read_back
