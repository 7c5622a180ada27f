"""The rulebook: a set, the event's own values, then bulletins."""

import pytest

from crewdesk.documents.bundle import RegulationSet
from crewdesk.documents.event import RuleValue
from crewdesk.documents.regulation_sets import regulation_set, set_names
from crewdesk.errors import DocumentError
from crewdesk.regulations.build import RULE_FIELDS, TOLD_ONLY, field_fault, rulebook


def bare(**fields: object) -> RegulationSet:
    return RegulationSet(name="Own", fields=fields, sources={})


@pytest.mark.parametrize("name", set_names())
@pytest.mark.parametrize("car_class", ["four_wheel_drive", "two_wheel_drive"])
def test_each_shipped_set_becomes_a_rulebook(name: str, car_class: str):
    book = rulebook({}, regulation_set(name), car_class)
    assert book.name == name
    assert book.qty_total is not None
    assert book.tread_min_mm == 1.6
    assert book.sources == {}


def test_every_field_of_the_shipped_sets_is_known():
    for name in set_names():
        unknown = set(regulation_set(name).fields) - set(RULE_FIELDS) - TOLD_ONLY
        assert unknown == set()


def test_numbers_of_the_sets_are_those_of_their_class():
    # Generic sets of this project: 18 for four-wheel drive and 14 for two-wheel drive.
    weekend = regulation_set("Weekend Gravel")
    assert rulebook({}, weekend, "four_wheel_drive").qty_total == 18
    assert rulebook({}, weekend, "two_wheel_drive").qty_total == 14
    assert rulebook({}, weekend, "four_wheel_drive").caps == {"hard": 14, "soft": 8}


def test_the_events_own_value_wins_and_a_later_bulletin_wins_again():
    own = {"qty_total": RuleValue(value=16, source="Supp. regs", article="9.1")}
    weekend = regulation_set("Weekend Gravel")
    book = rulebook(own, weekend, "four_wheel_drive")
    assert book.qty_total == 16
    assert book.sources == {"qty_total": "Supp. regs, art. 9.1"}
    changes = [
        ("qty_total", RuleValue(value=15, source="Organiser", bulletin_no="1")),
        ("qty_total", RuleValue(value=17, source="Organiser", bulletin_no="2")),
    ]
    book = rulebook(own, weekend, "four_wheel_drive", changes)
    assert book.qty_total == 17
    assert book.sources["qty_total"] == "Organiser, bulletin 2"


def test_one_cell_of_a_table_is_named_with_a_point():
    changes = [
        ("caps.hard", RuleValue(value=12)),
        ("caps.soft", RuleValue(value=None)),
        ("axle_mix.compound", RuleValue(value="warn")),
        ("people_max.zone", RuleValue(value=3)),
    ]
    book = rulebook({}, regulation_set("Weekend Gravel"), "four_wheel_drive", changes)
    assert book.caps == {"hard": 12}
    assert book.axle_mix == {"compound": "warn", "maker": "block", "structure": "block"}
    assert book.people_max == {"service": 6, "zone": 3}
    # The next rulebook starts from the set again.
    assert rulebook({}, regulation_set("Weekend Gravel"), "four_wheel_drive").caps["soft"] == 8


def test_a_blank_limit_means_that_nothing_is_checked():
    book = rulebook({}, bare(qty_total=None, tread_min_mm=None), "any")
    assert book.qty_total is None
    assert book.tread_min_mm == 0.0
    assert book.winter_tread_min_mm is None
    assert book.age_watch_years == float("inf")
    assert book.axle_mix == {}


def test_names_that_papers_use_are_understood():
    book = rulebook({}, bare(tread_min=1.6, cut_ok="yes", otl_min=15), "any")
    assert (book.tread_min_mm, book.cut_allowed, book.out_of_time_min) == (1.6, True, 15.0)


def test_all_faults_are_told_at_once_with_value_and_what_is_allowed():
    rules = {
        "qty_totl": RuleValue(value=20),
        "spare_max": RuleValue(value=5),
        "axle_mix.maker": RuleValue(value="no"),
        "tread_min_mm": RuleValue(value="deep"),
        "marks_needed": RuleValue(value=1),
        "age_watch_years": RuleValue(value=float("nan")),
        "cold_min_kpa": RuleValue(value=1.8, unit="bar"),
        "caps.hard": RuleValue(value=-1),
        "qty_total.hard": RuleValue(value=1),
    }
    with pytest.raises(DocumentError) as caught:
        rulebook(rules, bare(), "four_wheel_drive")
    for words in (
        "no rule named qty_totl (perhaps qty_total?)",
        "spare_max is 5; allowed: 0, 1 or 2",
        "axle_mix.maker is 'no'; allowed: block, warn or allow",
        "tread_min_mm is 'deep'; allowed: a number from 0 to 20 mm",
        "marks_needed is 1; allowed: yes or no",
        "age_watch_years is nan",
        "cold_min_kpa is given in bar; it is kept in kPa",
        "caps.hard is -1",
        "qty_total.hard is 1",
    ):
        assert words in caught.value.message
    assert caught.value.hint


def test_a_class_without_a_number_is_told():
    with pytest.raises(DocumentError, match="no value for the class buggy"):
        rulebook({}, regulation_set("Weekend Gravel"), "buggy")
    assert rulebook({}, bare(qty_total={"all": 9}), "buggy").qty_total == 9


def test_spares_that_cannot_both_hold_are_told():
    with pytest.raises(DocumentError, match="spare_min is 2 and spare_max is 1"):
        rulebook({}, bare(spare_min=2, spare_max=1), "any")


def test_one_value_can_be_looked_at_before_it_is_entered():
    assert field_fault("qty_total", 12) == ""
    assert field_fault("caps.hard", None) == ""
    assert "no rule named" in field_fault("qty", 12)
    assert "allowed" in field_fault("qty_total", "twelve")
