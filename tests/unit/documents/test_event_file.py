"""``event.json``: every fault in plain words with its path."""

import pytest


def test_unknown_key_is_named_with_its_path(edit) -> None:
    edit.event(lambda raw: raw["legs"][0].update(postion=3))
    fault = edit.only_fault()
    assert (fault.file, fault.where) == ("event.json", "legs[0].postion")
    assert "position" in fault.hint


def test_missing_key_is_named(edit) -> None:
    edit.event(lambda raw: raw.pop("zone"))
    assert str(edit.only_fault()) == "event.json zone: The key is missing. Add it."


@pytest.mark.parametrize(
    ("change", "where", "words"),
    [
        (lambda r: r["car"].update(mass_kg=-5), "car.mass_kg", "more than 300"),
        (lambda r: r["car"].update(mass_kg="heavy"), "car.mass_kg", "a number"),
        (lambda r: r.update(due_reference="car_one"), "due_reference", "first_car"),
        (lambda r: r.update(event_id="17"), "event_id", "no identifier"),
        (lambda r: r.update(legs={}), "legs", "a list"),
        (lambda r: r.update(legs="none"), "legs", "a list"),
        (lambda r: r["legs"].append(5), "legs[1]", "a group"),
        (lambda r: r.update(name=None), "name", "a text"),
        (lambda r: r["models"][0].update(hardness="extra soft"), "models[0].hardness", "soft"),
        (lambda r: r.update(zone="Mars/Olympus"), "zone", "IANA"),
        (lambda r: r.update(regulation_set="Moon Rally"), "regulation_set", "Day Gravel"),
        (lambda r: r.update(rules={"qty_totl": {"value": 3}}), "rules.qty_totl", "qty_total"),
        (lambda r: r["rims"].append(dict(r["rims"][0])), "rims", "twice"),
        (lambda r: r["legs"].append(dict(r["legs"][0])), "legs", "twice"),
        (lambda r: r["legs"][0].update(gaps=[]), "legs[0].gaps", "interval"),
        (
            lambda r: r["settings"].update(aggressiveness=2),
            "settings.aggressiveness",
            "at most",
        ),
    ],
)
def test_fault_of_a_value_is_plain(edit, change, where: str, words: str) -> None:
    edit.event(change)
    fault = edit.only_fault()
    assert fault.where == where
    assert words in str(fault)


def test_set_of_rules_is_known_in_any_case(edit) -> None:
    edit.event(lambda raw: raw.update(regulation_set="day gravel"))
    assert edit.report().faults == ()


@pytest.mark.parametrize("name", ["qty_total", "caps.hard", "caps[hard]", "otl_min"])
def test_rule_is_known_by_its_names(edit, name: str) -> None:
    edit.event(lambda raw: raw.update(rules={name: {"value": 6}}))
    assert edit.report().faults == ()


def test_two_faults_are_both_found(edit) -> None:
    edit.event(lambda raw: (raw["car"].update(mass_kg=-5), raw.update(due_reference="x")))
    assert len(edit.report().faults) == 2


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "cannot be read"),
        ('{"format": 1,', "cannot be read"),
        ("[1, 2]", "no group"),
        ('{"format": 1, "format": 1}', "comes twice"),
        ('{"format": NaN}', "no number"),
        ('{"a": ' + "[" * 100_000 + "}", "no document"),
        ('{"a": ' + "9" * 6000 + "}", "no document"),
        ('{"format": true}', "no version"),
        ('{"format": 0}', "no version"),
        ('{"format": "new"}', "no version"),
    ],
    ids=range(10),
)
def test_broken_json_is_one_fault_of_the_event_file(edit, text: str, words: str) -> None:
    edit.texts["event.json"] = text
    faults = [fault for fault in edit.report().faults if fault.file == "event.json"]
    assert len(faults) == 1
    assert words in str(faults[0])


def test_json_fault_says_where(edit) -> None:
    edit.texts["event.json"] = '{\n"format": 1\n"name": "x"}'
    assert edit.report().faults[0].where == "line 3, letter 1"


def test_newer_layout_is_refused_before_anything_else(edit) -> None:
    edit.event(lambda raw: (raw.update(format=99, surprise=1), raw["car"].clear()))
    edit.texts["stock.csv"] = "nonsense"
    fault = edit.only_fault()
    assert (fault.where, fault.value) == ("format", "99")
    assert "newer version" in fault.hint


@pytest.mark.parametrize(
    "word", ["pydantic", "Traceback", "validation", "Input should", "None"]
)
def test_no_word_of_the_machinery_reaches_the_crew(edit, word: str) -> None:
    edit.event(
        lambda raw: (
            raw["car"].update(mass_kg="x", power_kw=None, extra=1),
            raw.update(zone=5, legs=[{"leg": 0}], rims=[[]], models=[{"maker": 1}]),
        )
    )
    faults = edit.report().faults
    assert len(faults) > 8
    assert not [str(fault) for fault in faults if word in str(fault)]
