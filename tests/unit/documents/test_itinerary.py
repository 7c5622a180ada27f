"""``itinerary.csv``: faults, checks by the rules of printed itineraries, what follows."""

from datetime import UTC, datetime, timedelta

import pytest

from crewdesk.documents.store import load_from_texts

FILE = "itinerary.csv"


@pytest.mark.parametrize(
    ("ref", "column", "value", "words"),
    [
        ("SS1", "ss_km", "6,80", "Write 6.80, with a point."),
        ("SS1", "ss_km", "nan", "is no number"),
        ("SS1", "ss_km", "inf", "is no number"),
        ("SS1", "ss_km", "-6.8", "from 0 to 150 km"),
        ("SS1", "ss_km", "0", "A stage needs its length."),
        ("SS1", "ss_km", "", "A stage needs its length."),
        ("SS1", "surface", "", "A stage needs its surface."),
        ("SS1", "surface", "mud", "Allowed: gravel, asphalt, snow, ice."),
        ("SS1", "kind", "stge", "Allowed: start"),
        ("SS1", "twist", "1.2", "from 0 to 1"),
        ("SS1", "roughness", "2.5", "whole number"),
        ("SS1", "leg", "", "needs its leg"),
        ("SS1", "pass", "0", "from 1 to 9"),
        ("TC1", "ref", "", "needs a reference"),
        ("TC1", "tyre_change", "crew", "no, team, zone"),
        ("TC1", "target_min", "long", "0:33"),
        ("TC1", "first_car_due", "noon", "is no time"),
        ("TC1", "first_car_due", "1026-05-16 08:45", "no date of an event"),
        ("TC1", "tyre_change", "team", "OUT row"),
        ("SS2", "ref", "SS1", "listed twice, rows 4 and 6"),
        ("TC2B", "service", "Z", "same letter"),
        ("TC2B", "first_car_due", "", "has no time"),
    ],
)
def test_fault_names_cell_and_what_is_allowed(
    edit, ref: str, column: str, value: str, words: str
) -> None:
    edit.cell(FILE, ref, column, value)
    fault = edit.only_fault()
    assert fault.column == column
    assert words in str(fault)


def test_stage_due_before_its_time_control(edit) -> None:
    edit.cell(FILE, "SS2", "first_car_due", "2026-05-16 09:00")
    assert "SS2 is due at 2026-05-16 09:00, before TC2 at 09:02." in str(edit.only_fault())


def test_times_run_forward(edit) -> None:
    edit.cell(FILE, "TC2A", "first_car_due", "2026-05-16 09:01")
    fault = edit.only_fault()
    assert (fault.where, fault.column) == ("row 7", "first_car_due")


def test_in_without_out(edit) -> None:
    edit.drop_row(FILE, "TC2B")
    assert "TC2A is an IN without its OUT." in str(edit.only_fault())


def test_out_without_in(edit) -> None:
    edit.drop_row(FILE, "TC2A")
    assert "TC2B is an OUT without its IN." in str(edit.only_fault())


def test_two_visits_need_two_letters(edit) -> None:
    for ref in ("TC4A", "TC4B"):
        edit.cell(FILE, ref, "service", "A")
    assert "Service A is listed twice, at TC2B and TC4B." in str(edit.only_fault())


def test_leg_without_our_position(edit) -> None:
    edit.cell(FILE, "TC6A", "leg", "2")
    assert "Leg 2 of the itinerary has no start position." in str(edit.only_fault())


def test_itinerary_without_stage(edit) -> None:
    for ref in ("SS1", "SS2", "SS3", "SS4", "SS5", "SS6"):
        edit.drop_row(FILE, ref)
    assert "There is no stage." in str(edit.only_fault())


def test_heading_alone(edit) -> None:
    edit.texts[FILE] = edit.texts[FILE].splitlines()[0] + "\n"
    assert "There is no row under the heading." in str(edit.only_fault())


@pytest.mark.parametrize(
    ("ref", "column", "value", "words"),
    [
        ("TC2", "total_km", "12.90", "prints 12.90 km in all"),
        ("TC2", "target_min", "20", "earlier than SS1"),
        ("TC3", "liaison_km", "21.2", "km/h on the road"),
        ("SS1", "avg_kmh", "130", "SS1 at 130 km/h"),
        ("SS3", "pass", "3", "SS3 is pass 3"),
        ("TC3", "loop", "1", "TC3 (printed 1, is 2)"),
        ("RF1", "first_car_due", "2026-05-16 10:06", "refuels usually carry none"),
    ],
)
def test_second_look_is_a_note_no_fault(
    edit, ref: str, column: str, value: str, words: str
) -> None:
    edit.cell(FILE, ref, column, value)
    report = edit.report()
    assert report.faults == ()
    assert any(words in note for note in report.notes), report.notes


def test_blank_numbers_of_a_stage_are_assumed_and_named(edit) -> None:
    for column in ("twist", "shade", "avg_kmh", "pass", "alt_max_m", "cuts"):
        edit.cell(FILE, "SS3", column, "")
    bundle = load_from_texts(edit.texts)
    stage = bundle.itinerary.stage("SS3")
    assert (stage.twist, stage.shade, stage.avg_kmh, stage.cuts) == (0.6, 0.3, 85, 0.2)
    assert stage.pass_no == 2
    assert stage.alt_max_m == pytest.approx((165 + 210) / 2)
    assert "Twist 0.6 of 1 on SS3." in bundle.assumed
    assert len(stage.assumed) == 7  # the six and the water, which the demo leaves out


def test_surface_in_free_words_is_split(edit) -> None:
    edit.cell(FILE, "SS5", "surface", "asphalt with 2 km packed gravel")
    edit.cell(FILE, "SS5", "gravel_share", "")
    edit.cell(FILE, "SS6", "surface", "asphalt broken")
    edit.cell(FILE, "SS6", "gravel_share", "0")
    itinerary = load_from_texts(edit.texts).itinerary
    assert itinerary.stage("SS5").surface == "asphalt"
    assert itinerary.stage("SS5").gravel_share == pytest.approx(2 / 10.2, abs=0.005)
    assert itinerary.stage("SS6").broken


def test_bare_times_take_the_date_above(edit) -> None:
    whole = load_from_texts(edit.texts).itinerary
    for ref in ("TC1", "SS1", "TC2", "SS2", "TC2A", "TC2B"):
        due = whole.row_of(ref).first_car_due + timedelta(hours=2)
        edit.cell(FILE, ref, "first_car_due", f"{due:%H:%M}")
    assert load_from_texts(edit.texts).itinerary.rows == whole.rows


def test_bare_time_that_would_be_tomorrow_is_asked_about(edit) -> None:
    edit.cell(FILE, "SS1", "first_car_due", "08:20")
    assert "SS1 at 08:20 would be more than 12 h after TC1." in str(edit.only_fault())


def test_legs_run_forward(edit) -> None:
    edit.event(lambda raw: raw["legs"].append({**raw["legs"][0], "leg": 2}))
    for ref in ("TC4A", "TC4B"):
        edit.cell(FILE, ref, "leg", "2")
    fault = edit.report().faults[0]
    assert (fault.column, fault.what) == ("leg", "Leg 1 comes after leg 2.")


def test_first_time_needs_its_date(edit) -> None:
    edit.cell(FILE, "TC0", "first_car_due", "08:30")
    assert "has no date" in str(edit.report().faults[0])


def test_skipped_wall_time_is_refused_and_the_shifted_one_offered(edit) -> None:
    # Rome puts its clocks forward over 02:00 to 03:00 on 29 March 2026.
    edit.event(lambda raw: raw.update(zone="Europe/Rome"))
    edit.texts["weather.csv"] = edit.texts["weather.csv"].splitlines()[2] + "\n"
    edit.texts[FILE] = edit.texts[FILE].replace("2026-05-16", "2026-03-29")
    edit.cell(FILE, "TC0", "first_car_due", "2026-03-29 02:30")
    assert "The clocks then show 2026-03-29 03:30." in str(edit.only_fault())


def test_doubled_wall_time_takes_the_first_and_says_so(edit) -> None:
    edit.event(lambda raw: raw.update(zone="Europe/Rome"))
    edit.texts["weather.csv"] = edit.texts["weather.csv"].splitlines()[2] + "\n"
    edit.texts[FILE] = edit.texts[FILE].replace("2026-05-16", "2026-10-25")
    edit.cell(FILE, "TC0", "first_car_due", "2026-10-25 02:30")
    bundle = load_from_texts(edit.texts)
    assert bundle.itinerary.rows[0].first_car_due == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    assert any("comes twice that night" in note for note in bundle.notes)


def test_liaison_adds_up_over_rows_between_stages(edit) -> None:
    # Without a tyre change at A the road to SS3 begins at the stop line of SS2.
    edit.cell(FILE, "TC2B", "tyre_change", "no")
    stage = load_from_texts(edit.texts).itinerary.stage("SS3")
    assert stage.liaison_before_km == pytest.approx(14.60 + 11.20)


def test_visit_without_change_ends_no_loop(edit) -> None:
    edit.cell(FILE, "TC2B", "tyre_change", "no")
    itinerary = load_from_texts(edit.texts).itinerary
    assert [place.key for place in itinerary.change_places] == ["start", "B"]
    assert itinerary.place("start").stages == ("SS1", "SS2", "SS3", "SS4")


def test_start_row_is_a_change_place_only_where_none_comes_first(edit) -> None:
    assert load_from_texts(edit.texts).itinerary.place("start").kind == "start"


def test_car_zero_counts_the_interval_in_front_of_the_first_car(edit) -> None:
    edit.event(lambda raw: raw.update(due_reference="car_zero"))
    assert load_from_texts(edit.texts).itinerary.offsets_min == {1: 24.0}


def test_rows_around_a_reference(edit) -> None:
    itinerary = load_from_texts(edit.texts).itinerary
    assert itinerary.row_before("SS1").ref == "TC1"
    assert itinerary.row_before("TC0") is None
    assert itinerary.control_of("SS3").ref == "TC3"
    assert itinerary.stage_before("TC2A").ref == "SS2"
    assert (itinerary.start_row.ref, itinerary.finish_row.ref) == ("TC0", "TC6A")


def test_time_allowed_for_the_road_alone(edit) -> None:
    itinerary = load_from_texts(edit.texts).itinerary
    # 14 min from SS1 to TC2 cover 6.80 km of stage at 86 km/h: 4.74 min.
    assert itinerary.liaison_min("TC2") == pytest.approx(14 - 6.80 / 86 * 60)
    assert itinerary.liaison_min("TC1") == 15
    assert itinerary.liaison_min("RF1") is None


def test_next_change_place_is_the_one_not_yet_left(edit) -> None:
    itinerary = load_from_texts(edit.texts).itinerary
    # Service A OUT is 10:27 for our car.
    at = datetime(2026, 5, 16, 8, 27, tzinfo=UTC)
    assert itinerary.next_place_after(at).key == "A"
    assert itinerary.next_place_after(at + timedelta(minutes=1)).key == "B"
    assert itinerary.next_place_after(at + timedelta(hours=9)) is None
