"""Every rule shows itself: a clause, a passing and a failing example."""

import re
from datetime import timedelta, timezone
from typing import get_args

import pytest

from crewdesk.regulations.fitting import WHENS, Clock, Weathers
from crewdesk.regulations.rulebook import Level
from crewdesk.regulations.rules import NO_BREACH, RULES, check_all, rule_of, stops
from crewdesk.regulations.rules.base import Rule
from crewdesk.regulations.rules.examples import NOON, case, rules, tyre

CODES = {
    "QTY-1",
    "QTY-2",
    "QTY-3",
    "QTY-4",
    "QTY-5",
    "MRK-1",
    "MRK-2",
    "JOK-1",
    "JOK-2",
    "PLC-1",
    "PLC-2",
    "PLC-3",
    "PLC-4",
    "SPR-1",
    "SPR-2",
    "TRD-1",
    "TRD-2",
    "TRD-3",
    "AXL-1",
    "WID-1",
    "RIM-1",
    "AGE-1",
    "DMG-1",
    "LEAK-1",
    "NUT-1",
    "PRS-1",
    "PRS-2",
    "PRS-3",
    "HEAT-1",
    "HYD-1",
    "ROAD-1",
    "ROAD-2",
    "STD-1",
    "STD-2",
    "PAT-1",
    "TRT-1",
    "CND-1",
    "TIM-1",
    "TIM-2",
    "FND-1",
    "RDB-1",
    "OPN-1",
    "CHK-1",
}

# Words that promise more than was checked, or that nobody in a service park uses.
NOT_SAID = re.compile(
    r"\b(legal|illegal|safe|invalid|gap|bound|seed|scenario|prior|posterior|objective|sigma|"
    r"quantile|parameter|constraint|infeasible|solver)\b",
    re.IGNORECASE,
)


def test_there_is_one_rule_for_each_code():
    assert [rule.code for rule in RULES] == list(dict.fromkeys(rule.code for rule in RULES))
    assert {rule.code for rule in RULES} == CODES
    assert rule_of("TRD-1").name == "Least tread"
    with pytest.raises(KeyError):
        rule_of("XXX-9")


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.code)
def test_each_rule_has_a_name_a_clause_and_its_moments(rule: Rule):
    assert rule.name
    assert rule.clause.endswith(".")
    assert rule.when
    assert rule.when <= set(WHENS)
    assert not rule.field or hasattr(rules(), rule.field)
    assert not NOT_SAID.search(f"{rule.name} {rule.clause}")


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.code)
def test_each_rule_is_silent_on_its_passing_example(rule: Rule):
    assert rule.check(rule.example_pass()) == ()


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.code)
def test_each_rule_speaks_up_on_its_failing_example(rule: Rule):
    messages = rule.check(rule.example_fail())
    assert messages
    for message in messages:
        assert message.code == rule.code
        assert message.level in get_args(Level)
        assert message.text[0].isupper() or message.text[0].isdigit()
        assert message.text.endswith((".", ")"))
        assert not NOT_SAID.search(message.text)
        assert message.values


def test_a_sound_case_has_no_message_but_about_the_count():
    assert check_all(case(), "proposal") == ()
    assert not NOT_SAID.search(NO_BREACH)


def test_messages_keep_the_order_of_the_list_whatever_the_order_of_the_tyres():
    bad = [
        tyre("T1", mark="", tread_mm=(1.0, 2.0, 2.0)),
        tyre("T2", maker="Maker Two", dot="0112"),
        tyre("T5", facts={"status": "locked", "why": "bulge"}),
    ]
    one = check_all(case(*bad), "fitting")
    other = check_all(case(*reversed(bad)), "fitting")
    assert one == other
    order = [rule.code for rule in RULES]
    places = [order.index(message.code) for message in one]
    assert places == sorted(places)
    assert {m.code for m in stops(one)} == {"MRK-1", "TRD-1", "AXL-1", "AGE-1", "DMG-1"}
    assert "SPR-1" in {m.code for m in one}


def test_an_override_with_a_name_turns_a_stop_into_something_to_watch():
    made = case(tyre("T1", mark=""), overrides={"MRK-1": "A. Name"})
    (message,) = check_all(made, "fitting")
    assert message.level == "watch"
    assert message.text.endswith("Overridden by A. Name.")
    assert message.values["overridden_by"] == "A. Name"
    unnamed = case(tyre("T1", mark=""), overrides={"MRK-1": ""})
    assert check_all(unnamed, "fitting")[0].level == "stops"


def test_the_source_that_somebody_typed_is_named():
    book = rules(sources={"tread_min_mm": "Supplementary regulations, art. 9.2"})
    made = case(tyre("T1", tread_mm=(1.0, 2.0, 2.0)), book=book)
    (message,) = rule_of("TRD-1").check(made)
    assert "Supplementary regulations, art. 9.2" in message.text
    assert message.values["source"] == "Supplementary regulations, art. 9.2"


@pytest.mark.parametrize(
    ("dot", "level"), [("2326", None), ("2220", "watch"), ("2320", None), ("2216", "stops")]
)
def test_age_is_watched_from_six_years_and_stops_at_ten(dot: str, level: str | None):
    # The event is on Saturday 6 June 2026. Weeks of a date code run from Sunday to Saturday,
    # the first full one of the year is 01 (49 CFR 574.5, quoted second hand): week 22 of 2020
    # began on 31 May 2020 and is six years old, week 23 on 7 June and is not yet.
    messages = rule_of("AGE-1").check(case(tyre("T1", dot=dot)))
    assert [message.level for message in messages] == ([level] if level else [])


@pytest.mark.parametrize(("late_min", "cost_s"), [(12.0, 120.0), (12.99, 120.0), (-3.0, 180.0)])
def test_whole_minutes_count_and_early_costs_more(late_min: float, cost_s: float):
    # As in the sets that ship (common in rally regulations, not verified): 60 s for each
    # minute early, 10 s for each minute late, whole minutes only.
    (message,) = rule_of("TIM-1").check(case(clock=Clock("TC4A", NOON, late_min)))
    assert message.values["cost_s"] == cost_s


def test_studs_for_each_10_cm_follow_from_the_size():
    # A tyre 650 mm high is 20.4 dm round; 384 studs are 18.8 for each 10 cm and 408 fit under
    # the limit of 20 (own arithmetic: pi x 6.5 = 20.42).
    for studs, spoken in ((384, False), (408, False), (409, True)):
        made = case(tyre("T1", size="15/65-15", studs=studs))
        assert bool(rule_of("STD-1").check(made)) is spoken


def test_an_air_change_of_six_and_a_road_change_of_ten_ask_for_a_new_call():
    rule = rule_of("CND-1")
    assert rule.check(case(weathers=Weathers(6.0, 12.0))) != ()
    assert rule.check(case(weathers=Weathers(6.0, 11.9))) == ()
    assert rule.check(case(weathers=Weathers(road_then_c=24.0, road_now_c=13.9))) != ()
    assert rule.check(case(weathers=Weathers(road_then_c=24.0, road_now_c=33.9))) == ()
    assert rule.check(case(weathers=Weathers(rain_then=False, rain_now=True))) != ()


@pytest.mark.parametrize(("snow", "starts"), [(False, "it rains now"), (True, "it snows now")])
def test_what_falls_below_zero_is_called_snow(snow, starts):
    rule = rule_of("CND-1")
    (told,) = rule.check(case(weathers=Weathers(rain_then=False, rain_now=True, snow=snow)))
    assert starts in told.text
    (told,) = rule.check(case(weathers=Weathers(rain_then=True, rain_now=False, snow=snow)))
    assert f"the {'snow' if snow else 'rain'} has stopped" in told.text


def test_at_import_the_whole_stock_is_looked_over():
    odd = [
        tyre("T2", size="20/65-15"),
        tyre("T3", dot="1119"),
        tyre("T4", e_mark=False),
        tyre("T5", mark="EX-T1"),
        tyre("T9", facts={"cut": True}),
        tyre("T10", facts={"treated": True}),
    ]
    messages = check_all(case(*odd, fitting={}, place=None), "import")
    assert {(m.code, m.values.get("tyre")) for m in messages if "tyre" in m.values} == {
        ("WID-1", "T2"),
        ("AGE-1", "T3"),
        ("PAT-1", "T9"),
        ("TRT-1", "T10"),
    }
    assert {m.code for m in messages} >= {"ROAD-1", "MRK-2", "PRS-3"}


def test_times_are_told_in_the_events_own_zone():
    clock = Clock("TC4A", NOON, 31.0)
    rule = rule_of("TIM-2")
    (utc,) = rule.check(case(clock=clock))
    (local,) = rule.check(case(clock=clock, zone=timezone(timedelta(hours=2))))
    (told,) = rule.check(case(clock=Clock("TC4A", NOON.replace(tzinfo=None, hour=14), 31.0)))
    assert "due 12:00 UTC" in utc.text
    assert "due 14:00)" in local.text
    assert told.text == local.text


@pytest.mark.parametrize(
    ("softs", "mix", "words"),
    [
        (("T1", "T3"), "side", "One kind stands on the left"),
        (("T1", "T4"), "diagonal", "crosswise"),
        (("T1",), "", ""),
    ],
)
def test_a_mix_over_both_axles_is_told_by_its_shape(softs, mix: str, words: str):
    made = case(*(tyre(one, compound="soft") for one in softs))
    messages = [m for m in rule_of("AXL-1").check(made) if "axle" in m.values]
    assert {m.level for m in messages} == {"watch"}
    assert {m.values["mix"] for m in messages} == {mix}
    assert all(words in m.text for m in messages)
