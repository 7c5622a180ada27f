"""``stock.csv``: what a blank means, what is a fault."""

import math

import pytest

from crewdesk.documents.store import load_from_texts

FILE = "stock.csv"


@pytest.mark.parametrize(
    ("tyre", "column", "value", "words"),
    [
        ("S03", "tread_mid_mm", "9,5", "Write 9.5, with a point."),
        ("S03", "tread_mid_mm", "NaN", "is no number"),
        ("S03", "tread_mid_mm", "-1", "from 0 to 40 mm"),
        ("S03", "tread_mid_mm", "inf", "is no number"),
        ("S03", "tread_mid_mm", "9.6", "more than the 9.5 mm of a new one"),
        ("S03", "tread_mid_mm", "", "S03 is used"),
        ("S03", "tyre_id", "", "The cell is empty."),
        ("S03", "maker", "", "as on the sidewall"),
        ("S03", "compound", "", "soft, medium, hard, wet, studded"),
        ("S03", "compound", "squidgy", "no compound this program knows"),
        ("S03", "compound", "wet", "for asphalt_wet"),
        ("S03", "use", "", "gravel, asphalt, asphalt_wet, winter"),
        ("S03", "use", "mud", "gravel, asphalt, asphalt_wet, winter"),
        ("S03", "use", "asphalt", "event.json has Vellmark Harrow soft for gravel"),
        ("S03", "size", "big", "is no tyre size"),
        ("S03", "rim", "round", "7Jx15"),
        ("S03", "rim", "7Jx15", "R12 is 6Jx15"),
        ("S03", "rim_id", "R99", "R99, which event.json does not list"),
        ("S03", "rim_id", "R11", "Rim R11 is listed twice, rows 12 and 13"),
        ("S03", "mark", "SD-0101", "Mark SD-0101 is listed twice, rows 2 and 13"),
        ("S03", "dot", "5426", "no date code"),
        ("S03", "e_mark", "maybe", "Allowed: yes, no."),
        ("S03", "service_desc", "fast", "95T"),
        ("S03", "condition", "old", "Allowed: new, used."),
        ("S03", "heat_cycles", "2.5", "whole number"),
        ("S03", "counts_against", "rally", "event, shakedown, none"),
        ("S03", "location", "moon", "stock, zone, car, away"),
        ("S03", "edge_brake_share", "1.5", "from 0 to 1"),
        ("S03", "direction", "up", "free, left, right, arrow"),
        ("S03", "lock", "centre", "spare, hold, scrap"),
        ("S03", "terms", "stolen", "own, returnable, hired"),
        ("S03", "first_mounted", "16.8.2025", "2026-05-16"),
    ],
)
def test_fault_names_cell_and_what_is_allowed(
    edit, tyre: str, column: str, value: str, words: str
) -> None:
    edit.cell(FILE, tyre, column, value)
    fault = edit.only_fault()
    assert (fault.where, fault.column) == ("row 13", column)
    assert words in str(fault)


def test_tyre_listed_twice(edit) -> None:
    edit.cell(FILE, "M03", "tyre_id", "M02")
    assert "Tyre M02 is listed twice, rows 5 and 6." in str(edit.only_fault())


def test_name_listed_very_often_stays_one_short_fault(edit) -> None:
    lines = edit.texts[FILE].splitlines()
    bare = lines[1].replace("SD-0101", "").replace("R01", "")
    edit.texts[FILE] = "\n".join([lines[0], *[bare] * 500]) + "\n"
    assert len(str(edit.only_fault())) < 200


def test_heading_alone(edit) -> None:
    edit.texts[FILE] = edit.texts[FILE].splitlines()[0] + "\n"
    assert "There is no tyre under the heading." in str(edit.only_fault())


def test_missing_column_is_one_fault(edit) -> None:
    edit.drop_column(FILE, "compound")
    assert "compound is missing" in str(edit.only_fault())


@pytest.mark.parametrize("column", ["edge_side_share", "lock", "terms", "first_mounted"])
def test_late_columns_may_be_missing(edit, column: str) -> None:
    edit.drop_column(FILE, column)
    assert edit.report().faults == ()


def test_unknown_column_is_kept_with_the_tyre(edit) -> None:
    rows = edit.rows(FILE)
    edit.put(FILE, [[*row, "shelf" if i == 0 else f"s{i}"] for i, row in enumerate(rows)])
    bundle = load_from_texts(edit.texts)
    assert bundle.stock.tyre("S01").extra == {"shelf": "s1"}
    assert any('"shelf"' in note for note in bundle.notes)


def test_new_tyre_with_blanks_is_as_new(edit) -> None:
    columns = ("tread_in_mm", "tread_mid_mm", "tread_out_mm", "stage_km", "heat_cycles")
    for column in columns:
        edit.cell(FILE, "S01", column, "")
    tyre = load_from_texts(edit.texts).stock.tyre("S01")
    assert tyre.tread_mm == (9.5, 9.5, 9.5)
    assert (tyre.stage_km, tyre.heat_cycles, tyre.edge_share) == (0.0, 0, (1.0, 1.0, 1.0))


def test_used_tyre_with_unknown_km_stays_unknown(edit) -> None:
    edit.cell(FILE, "M05", "stage_km", "")
    assert load_from_texts(edit.texts).stock.tyre("M05").stage_km is None


@pytest.mark.parametrize(("km", "new"), [("0", True), ("31.4", False)])
def test_blank_condition_follows_the_km(edit, km: str, new: bool) -> None:
    edit.cell(FILE, "S01", "condition", "")
    edit.cell(FILE, "S01", "stage_km", km)
    assert load_from_texts(edit.texts).stock.tyre("S01").new is new


def test_missing_edges_follow_the_tread_worn_off(edit) -> None:
    # Rule of the stock table: S = exp(-(tread new - mean tread) / 4.5 mm), the edge length of
    # the shipped set (tuning value of this project).
    bundle = load_from_texts(edit.texts)
    wanted = math.exp(-(9.5 - (4.1 + 3.9 + 3.2) / 3) / 4.5)
    assert bundle.stock.tyre("S03").edge_share == pytest.approx((wanted,) * 3)
    assert "S03: edges 0.28 from the tread worn off." in bundle.assumed


def test_given_edges_are_kept_in_their_order(edit) -> None:
    assert load_from_texts(edit.texts).stock.tyre("M07").edge_share == (0.35, 0.22, 0.20)


def test_tread_new_comes_from_the_model_where_blank(edit) -> None:
    edit.cell(FILE, "S01", "tread_new_mm", "")
    assert load_from_texts(edit.texts).stock.tyre("S01").tread_new_mm == 9.5


@pytest.mark.parametrize(("tyre", "code"), [("H01", "D1"), ("M01", "D2"), ("S01", "D3")])
def test_badge_code_follows_hardness(edit, tyre: str, code: str) -> None:
    assert load_from_texts(edit.texts).stock.tyre(tyre).code == code


def test_own_code_of_the_crew_comes_first(edit) -> None:
    rows = edit.rows(FILE)
    edit.put(FILE, [[*row, "code" if i == 0 else "Q7"] for i, row in enumerate(rows)])
    assert load_from_texts(edit.texts).stock.tyre("S01").code == "Q7"


def test_tyre_without_model_is_an_ordinary_one_of_its_word(edit) -> None:
    edit.event(lambda raw: raw.update(models=[]))
    bundle = load_from_texts(edit.texts)
    model = bundle.model_of(bundle.stock.tyre("H01"))
    assert (model.family, model.hardness) == ("gravel", "hard")
    assert "Orrinby Skell hard: an ordinary hard tyre for gravel." in bundle.assumed


def test_word_of_the_crew_is_known_where_a_model_explains_it(edit) -> None:
    edit.cell(FILE, "S03", "compound", "K4")
    edit.event(
        lambda raw: raw["models"].append(
            {**raw["models"][0], "compound": "K4", "hardness": "soft", "cap_group": "soft"}
        )
    )
    tyre = load_from_texts(edit.texts).stock.tyre("S03")
    assert (tyre.compound, tyre.hardness, tyre.cap_group) == ("K4", "soft", "soft")


def test_studded_is_medium_of_winter(edit) -> None:
    edit.cell(FILE, "S03", "compound", "studded")
    edit.cell(FILE, "S03", "use", "winter")
    tyre = load_from_texts(edit.texts).stock.tyre("S03")
    assert (tyre.hardness, tyre.code) == ("medium", "W1")


def test_built_for_one_sense_and_blank_is_not_mounted_for_a_side(edit) -> None:
    edit.event(lambda raw: raw["models"][0].update(directional=True))
    bundle = load_from_texts(edit.texts)
    assert bundle.stock.tyre("S01").direction == "arrow"
    assert any(line.startswith("S01: built for one sense") for line in bundle.assumed)


def test_event_without_rims_takes_those_of_the_stock(edit) -> None:
    edit.event(lambda raw: raw.update(rims=[]))
    assert len(load_from_texts(edit.texts).event.rims) == 12
