"""Rule kinds that only some events have.

The kinds and their usual figures: RFEDA, changes to the national rally regulations for 2015;
CSAI, tyre quota in the national championship (4 per service, 2 used ones beside the new);
FIA Rally Commission decision of 24 May 2013 (6 after each service before it); press reports.
"""

from dataclasses import replace
from datetime import date

import pytest

from crewdesk.documents.bundle import RegulationSet
from crewdesk.documents.event import RuleValue
from crewdesk.regulations.build import rulebook
from crewdesk.regulations.ledger import Ledger
from crewdesk.regulations.predicates import may_use
from crewdesk.regulations.rules import check_all, rule_of
from crewdesk.regulations.rules.examples import case, place, rules, tyre


def said(made, code):
    return [m for m in rule_of(code).check(made) if m.level == "stops"]


@pytest.mark.parametrize(
    ("field", "counted", "stops"),
    [("counted_here", 0, True), ("counted_this_leg", 0, False), ("counted_this_leg", 2, True)],
)
def test_a_limit_for_a_place_or_a_leg(field, counted, stops):
    # Five new ones: over 4 at one service, inside 6 of a leg until two are counted in it.
    limits = {"qty_per_service": 4} if field == "counted_here" else {"qty_per_leg": 6}
    made = case(book=rules(qty_total=None, **limits), **{field: counted})
    assert bool(said(made, "QTY-1")) is stops


def test_rain_tyres_that_do_not_count():
    wets = [tyre(f"T{n}", use="asphalt_wet", compound="wet") for n in range(1, 6)]
    counting, free = rules(qty_total=4), rules(qty_total=4, wets_count=False)
    assert said(case(*wets, book=counting), "QTY-1")
    assert not said(case(*wets, book=free), "QTY-1")
    tyres = {t.tyre_id: t for t in wets}
    after = Ledger.start(free, tyres).with_fitting({"FL": "T1", "SP1": "T2"}, tyres)
    assert after.used == 0


def test_only_two_used_ones_of_earlier_events():
    made = case(book=rules(prior_use_cap=2))
    (message,) = said(made, "QTY-2")
    assert (message.values["would_be"], message.values["cap"]) == (5, 2)
    new = [tyre(f"T{n}", new=True) for n in range(1, 4)]
    assert not said(case(*new, book=rules(prior_use_cap=2)), "QTY-2")


def test_the_permitted_list():
    book = rules(permitted_makers=("Maker One",))
    other = tyre("T1", maker="Maker Two")
    assert said(case(other, book=book), "QTY-5")
    assert may_use(other, book) == (False, "QTY-5", "is not on the permitted list")
    assert not said(case(book=book), "QTY-5")


def test_a_tyre_that_came_off_stays_off_where_marks_are_used_up():
    book = rules(reuse_ok=False)
    gone = tyre("T1", facts={"came_off": True})
    assert said(case(gone, book=book, before={"FL": "T9"}), "MRK-1")
    assert not said(case(gone, book=book, before={"FL": "T1"}), "MRK-1")
    assert not said(case(gone), "MRK-1")
    assert may_use(gone, book)[:2] == (False, "MRK-1")


def test_a_remote_place_takes_what_is_on_board():
    away = place().model_copy(update={"remote": True})
    before = case().fitting
    assert not said(case(place=away, before=before), "PLC-4")
    made = case(tyre("T9"), place=away, before=before)
    made = replace(made, fitting={**made.fitting, "FL": "T9"})
    (message,) = said(made, "PLC-4")
    assert message.values["tyres"] == ("T9",)


def book(**fields):
    return RegulationSet(name="Own", fields=fields, sources={})


@pytest.mark.parametrize(
    ("day", "limit"),
    [("2026-11-30", None), ("2026-12-01", 3.0), ("2027-03-31", 3.0), ("2027-04-01", None)],
)
def test_a_winter_minimum_has_its_season(day, limit):
    # Sweden, 1 December to 31 March: Scandinavian Tire & Rim Organization, questions, answers.
    made = rulebook(
        {},
        book(winter_tread_min_mm=3.0, winter_from="12-01", winter_to="03-31"),
        "any",
        day=date.fromisoformat(day),
    )
    assert made.winter_tread_min_mm == limit


def test_the_deeper_of_sport_and_road_is_in_force():
    # 1.6 mm on open roads: UK Construction and Use Regulations 1986, reg. 27.
    assert (
        rulebook({}, book(tread_min_mm=1.0, road_tread_min_mm=1.6), "any").tread_min_mm == 1.6
    )
    assert (
        rulebook({}, book(tread_min_mm=3.0, road_tread_min_mm=1.6), "any").tread_min_mm == 3.0
    )


def test_every_value_says_where_it_came_from():
    regulations = RegulationSet(
        name="Own",
        fields={"qty_total": 18, "caps": {"hard": 14}},
        sources={"qty_total": "SR 12"},
    )
    own = {"qty_total": RuleValue(value=20, source="board", article="3", entered_by="desk")}
    bulletin = ("caps.hard", RuleValue(value=12, bulletin_no="2", valid_from="2026-08-22"))
    made = rulebook(own, regulations, "any", [bulletin])
    assert made.value_of("qty_total") == own["qty_total"]
    assert made.value_of("caps.hard").bulletin_no == "2"
    assert made.value_of("caps").value == {"hard": 14}
    assert made.value_of("spare_max") == RuleValue()
    assert rulebook({}, regulations, "any").value_of("qty_total").source == "SR 12"


def test_an_override_names_a_person_and_stays_in_sight():
    over = case(*(tyre(f"T{n}", compound="soft") for n in range(1, 6)))
    named = replace(over, overrides={"QTY-2": "N. Chief"})
    (message,) = [m for m in check_all(named, "fitting") if m.code == "QTY-2"]
    assert message.level == "watch"
    assert message.text.endswith("Overridden by N. Chief.")
