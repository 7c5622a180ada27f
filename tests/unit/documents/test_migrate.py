"""Steps from one layout to the next, with an invented document."""

from typing import ClassVar

import pytest

from crewdesk.documents.base import Document
from crewdesk.documents.faults import Findings
from crewdesk.documents.migrate import migrated


class Card(Document):
    FORMAT: ClassVar[int] = 3

    colour: str


def rename(raw: dict) -> dict:
    raw["colour"] = raw.pop("hue")
    return raw


STEPS = {1: rename, 2: lambda raw: {**raw, "colour": raw["colour"].lower()}}


def test_old_layout_is_read_step_by_step() -> None:
    found = Findings()
    raw = migrated(Card, "card.json", {"format": 1, "hue": "BLUE"}, found, STEPS)
    assert raw == {"format": 3, "colour": "blue"}
    assert "layout 1 into 3" in found.notes[0]


def test_original_is_left_as_it_was() -> None:
    old = {"format": 1, "hue": "BLUE"}
    migrated(Card, "card.json", old, Findings(), STEPS)
    assert old == {"format": 1, "hue": "BLUE"}


def test_present_layout_is_untouched() -> None:
    found = Findings()
    raw = {"format": 3, "colour": "blue"}
    assert migrated(Card, "card.json", raw, found, STEPS) == raw
    assert found.notes == []


def test_newer_layout_is_refused() -> None:
    found = Findings()
    assert migrated(Card, "card.json", {"format": 4}, found, STEPS) is None
    assert "layout 4; this program knows layouts up to 3" in str(found.faults[0])


def test_lost_step_is_named() -> None:
    found = Findings()
    assert migrated(Card, "card.json", {"format": 1, "hue": "x"}, found, {1: rename}) is None
    assert "no way from layout 2 to 3" in str(found.faults[0])


@pytest.mark.parametrize("version", [0, -1, 1.5, "2", True, None])
def test_what_is_no_version_is_refused(version: object) -> None:
    found = Findings()
    assert migrated(Card, "card.json", {"format": version}, found, STEPS) is None
    assert len(found.faults) == 1
