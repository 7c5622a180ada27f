"""Boxes that close themselves: the keys a crew types and the strings a gauge sends."""

import pytest

from crewdesk.gui.boxes import BACK, ENTER, TAB, BoxKind, BoxSpec, BoxWalk, shown


def walk_of(kind: BoxKind, count: int = 1, **more) -> BoxWalk:
    walk = BoxWalk([BoxSpec(f"b{i}", kind, f"box {i}", **more) for i in range(count)])
    walk.move_to("b0")
    return walk


def typed(walk: BoxWalk, text: str) -> list:
    events = []
    for sign in text:
        events += walk.press(ENTER if sign == "⏎" else sign)
    return events + walk.settle()


def test_a_gauge_that_sends_enter_fills_box_after_box():
    walk = walk_of("tread", 5)
    typed(walk, "4.21⏎10.04⏎04.2⏎9,8⏎42⏎")
    assert [walk.boxes[f"b{i}"].value for i in range(5)] == [4.21, 10.04, 4.2, 9.8, 4.2]


@pytest.mark.parametrize("end", [ENTER, TAB])
def test_each_string_of_the_gauge_alone(end):
    for text, value in [
        ("4.21", 4.21),
        ("10.04", 10.04),
        ("04.2", 4.2),
        ("9,8", 9.8),
        ("42", 4.2),
    ]:
        walk = walk_of("tread", 2)
        for sign in text + end:
            walk.press(sign)
        walk.settle()
        assert walk.boxes["b0"].value == value
        assert walk.current == "b1"
        assert walk.boxes["b1"].text == ""


@pytest.mark.parametrize(
    ("kind", "keys", "value"),
    [
        ("tread", "42", 4.2),
        ("tread", "*00", 10.0),
        ("tread", "*15", 11.5),
        ("pressure", "205", 205.0),
        ("pressure", "2.05⏎", 205.0),
        ("air", "26", 26.0),
        ("air", "-5⏎", -5.0),
        ("air", "-12", -12.0),
        ("road", "39", 39.0),
        ("driver", "-1", -1.0),
        ("driver", "2", 2.0),
        ("look", "3", 3.0),
    ],
)
def test_values_close_themselves_at_their_length(kind, keys, value):
    walk = walk_of(kind)
    events = typed(walk, keys)
    assert [e.value for e in events if e.kind == "committed"] == [value]


def test_the_letters_of_a_gauge_are_ignored():
    walk = walk_of("tread")
    typed(walk, "d4m.2m⏎")
    assert walk.boxes["b0"].value == 4.2


@pytest.mark.parametrize(
    ("kind", "keys"),
    [("tread", "*25"), ("pressure", "790"), ("pressure", "355"), ("look", "7")],
)
def test_a_value_outside_stays_and_does_not_move_on(kind, keys):
    walk = walk_of(kind, 2)
    events = typed(walk, keys)
    assert walk.current == "b0"
    assert walk.boxes["b0"].outside
    assert not [e for e in events if e.kind == "committed"]
    typed(walk, BACK)
    assert not walk.boxes["b0"].outside


def test_enter_after_a_box_closed_itself_is_swallowed_and_only_once():
    walk = walk_of("tread", 1)
    walk.press("4")
    walk.press("2")
    assert walk.swallows
    walk.press(ENTER)
    assert not walk.swallows


def test_half_a_second_later_the_value_is_committed_without_another_key():
    walk = walk_of("tread", 2)
    walk.press("4")
    events = walk.press("2")
    assert not [e for e in events if e.kind == "committed"]
    assert [e.value for e in walk.settle() if e.kind == "committed"] == [4.2]


def test_the_next_digit_commits_the_box_before():
    walk = walk_of("tread", 2)
    walk.press("4")
    walk.press("2")
    assert [(e.kind, e.key) for e in walk.press("6")] == [("committed", "b0"), ("typed", "b1")]


def test_the_rubber_takes_a_closed_box_back():
    walk = walk_of("tread", 2)
    typed_events = walk.press("4") + walk.press("2") + walk.press(BACK) + walk.press("7")
    assert "committed" not in [e.kind for e in typed_events]
    assert walk.settle()[0].value == 4.7


def test_word_keys_close_a_box():
    walk = walk_of("tread", 3, last=6.9)
    walk.press("/")
    walk.press("S")
    walk.press_word("skip")
    assert [walk.boxes[f"b{i}"].word for i in range(3)] == ["unknown", "", "skip"]
    assert walk.boxes["b1"].value == 6.9


def test_the_cursor_visits_the_thick_boxes_first():
    walk = BoxWalk(
        [
            BoxSpec("thin", "tread", "", thick=False),
            BoxSpec("a", "tread", ""),
            BoxSpec("b", "tread", ""),
        ]
    )
    assert walk.first_empty() == "a"
    walk.move_to("a")
    typed(walk, "5251")
    assert walk.current == "thin"


def test_a_rim_box_takes_two_digits_or_a_scan():
    known = {"07": "H07", "G07": "H07", "QH-2007": "H07"}
    walk = BoxWalk([BoxSpec(f"b{i}", "rim", "") for i in range(4)], resolve=known.get)
    walk.move_to("b0")
    typed(walk, "07G07⏎QH-2007⏎99")
    assert [walk.boxes[f"b{i}"].value for i in range(4)] == ["H07", "H07", "H07", None]
    assert walk.boxes["b3"].outside


def test_leaving_a_half_typed_box_keeps_what_can_stand():
    walk = walk_of("tread", 2)
    walk.press("4")
    events = walk.move_to("b1")
    assert [(e.key, e.value) for e in events if e.kind == "committed"] == [("b0", 4.0)]


def test_what_is_shown_while_typing():
    walk = walk_of("tread", 2)
    walk.press("6")
    assert shown("tread", walk.boxes["b0"]) == "6._"
    pressure = walk_of("pressure")
    pressure.press("2")
    assert shown("pressure", pressure.boxes["b0"]) == "2.__"


def test_what_was_refused_stays_to_be_seen_when_more_is_typed():
    walk = walk_of("pressure", 2)
    typed(walk, "3727071")
    assert (walk.boxes["b0"].text, walk.boxes["b0"].outside) == ("372", True)
    for _ in range(3):
        walk.press(BACK)
    typed(walk, "220")
    assert walk.boxes["b0"].value == 220


def test_an_empty_box_is_idle_and_a_typed_one_is_not():
    walk = walk_of("tread")
    assert walk.idle
    walk.press("4")
    assert not walk.idle
