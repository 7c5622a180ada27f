import pytest

from crewdesk.desk.spells import (
    Spell,
    StageDone,
    behind,
    carried_of,
    full_car,
    insert_spell,
    moved_by_hand,
    runs_by_tyre,
    same_car,
    swapped,
)

CAR = full_car({"FL": "A", "FR": "B", "RL": "C", "RR": "D", "SP1": "E"})
STAGES = [StageDone("SS1", 2, 10.0), StageDone("SS2", 4, 20.0), StageDone("SS3", 6, 5.0)]


def km(spells, tyre):
    return [(r.stage, r.place, r.km * r.split) for _, r in runs_by_tyre(spells, STAGES)[tyre]]


def test_each_corner_gets_the_stages_of_its_spell():
    spells = [Spell((1, 0.0), CAR, "1", "fitting")]
    assert km(spells, "A") == [("SS1", "FL", 10.0), ("SS2", "FL", 20.0), ("SS3", "FL", 5.0)]
    assert "E" not in runs_by_tyre(spells, STAGES)


def test_a_change_on_a_stage_cuts_its_kilometres():
    spells = [
        Spell((1, 0.0), CAR, "1", "fitting"),
        Spell((4, 6.2), swapped(CAR, "FL", "E"), "2", "incident"),
    ]
    assert km(spells, "A") == [("SS1", "FL", 10.0), ("SS2", "FL", 6.2)]
    assert km(spells, "E") == [("SS2", "FL", pytest.approx(13.8)), ("SS3", "FL", 5.0)]
    assert km(spells, "B")[1] == ("SS2", "FR", 20.0)


def test_a_pool_gets_no_kilometres():
    spells = [
        Spell((1, 0.0), CAR, "1", "fitting"),
        Spell(behind(4), CAR, "2", "incident", pool=frozenset({"A", "C", "E"})),
    ]
    assert [stage for stage, _, _ in km(spells, "A")] == ["SS1", "SS2"]
    assert [stage for stage, _, _ in km(spells, "B")] == ["SS1", "SS2", "SS3"]


def test_swapped_corners_keep_their_kilometres_without_a_corner():
    found = full_car({**CAR, "FL": "B", "FR": "A"})
    spells = [Spell((1, 0.0), CAR, "1", "fitting", doubt=found)]
    assert km(spells, "A") == [("SS1", None, 10.0), ("SS2", None, 20.0), ("SS3", None, 5.0)]
    assert km(spells, "C")[0] == ("SS1", "RL", 10.0)


def test_an_exchanged_tyre_gets_its_chance_of_each_stage():
    # Four places for the change before, between and after three stages, all alike: the booked
    # tyre ran them with 3/4, 2/4, 1/4; the other one had the rest.
    found = swapped(CAR, "FL", "E")
    spells = [Spell((1, 0.0), CAR, "1", "fitting", doubt=found)]
    assert [part for _, _, part in km(spells, "A")] == pytest.approx([7.5, 10.0, 1.25])
    assert [part for _, _, part in km(spells, "E")] == pytest.approx([2.5, 10.0, 3.75])


def test_the_order_of_carried_wheels_is_no_difference():
    one = full_car({**CAR, "SP1": "E", "SP2": "F"})
    other = full_car({**CAR, "SP1": "F", "SP2": "E"})
    assert same_car(one, other)
    assert not same_car(one, CAR)


def test_a_hole_among_carried_wheels_closes():
    assert carried_of(full_car({"SP2": "F"})) == ["F"]
    assert full_car({"SP2": "F"})["SP1"] == "F"


def test_what_comes_off_a_corner_goes_into_the_boot():
    moved = moved_by_hand(CAR, {"FL": "E"})
    assert moved["FL"] == "E"
    assert carried_of(moved) == ["A"]


def test_two_corners_changed_about_leave_the_boot_alone():
    moved = moved_by_hand(CAR, {"FL": "B", "FR": "A"})
    assert (moved["FL"], moved["FR"], moved["SP1"]) == ("B", "A", "E")


def test_a_spell_at_the_same_position_gives_way():
    spells = [Spell((1, 0.0), CAR, "1", "fitting"), Spell((5, 0.0), CAR, "2", "fitting")]
    insert_spell(spells, Spell((5, 0.0), CAR, "3", "fitting"))
    insert_spell(spells, Spell((3, 0.0), CAR, "4", "road_change"))
    assert [s.entry_id for s in spells] == ["1", "4", "3"]
