"""The shipped sets of rules."""

import re

import pytest

from crewdesk.documents.regulation_sets import field_names, regulation_set, set_names

NAMES = ("Day Gravel", "Three-Day Asphalt", "Weekend Gravel", "Winter Studded")


def test_four_sets_ship() -> None:
    assert sorted(set_names()) == list(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_every_value_has_its_source_in_words(name: str) -> None:
    one = regulation_set(name)
    assert set(one.sources) == set(one.fields) == field_names()
    for source in one.sources.values():
        assert len(source.split()) > 3
        assert not re.search(r"\[|\b[FLW]\d+\b|\((m|cp)\)", source), source


@pytest.mark.parametrize(
    ("name", "field", "value"),
    [
        # Numbers of the printed pages of the demo events and of the four generic sets.
        ("Day Gravel", "qty_total", {"four_wheel_drive": 8, "two_wheel_drive": 8}),
        ("Weekend Gravel", "qty_total", {"four_wheel_drive": 18, "two_wheel_drive": 14}),
        ("Three-Day Asphalt", "qty_total", {"four_wheel_drive": 24, "two_wheel_drive": 18}),
        ("Weekend Gravel", "caps", {"hard": 14, "soft": 8}),
        ("Three-Day Asphalt", "caps", {"hard": 16, "soft": 12, "wet": 8}),
        ("Three-Day Asphalt", "joker_total", 2),
        ("Day Gravel", "spare_min", 0),
        ("Weekend Gravel", "spare_min", 1),
        ("Winter Studded", "winter_tread_min_mm", 3.0),
        ("Day Gravel", "last_service_change", True),
        ("Weekend Gravel", "last_service_change", False),
    ],
)
def test_value_of_a_set(name: str, field: str, value: object) -> None:
    assert regulation_set(name).fields[field] == value


def test_name_is_found_in_any_case() -> None:
    assert regulation_set(" weekend gravel ").name == "Weekend Gravel"


def test_unknown_set() -> None:
    with pytest.raises(KeyError):
        regulation_set("Moon Rally")
