"""A new event from two tables and a kind of car."""

from pathlib import Path

import pytest

from crewdesk.documents.importing import made_of
from crewdesk.documents.new_event import NewEvent, start_event
from crewdesk.documents.store import load_event
from crewdesk.errors import DocumentError


def start(folder: Path, into: Path, **more: object) -> Path:
    values: dict[str, object] = {
        "name": "Invented Day",
        "itinerary": folder / "itinerary.csv",
        "stock": folder / "stock.csv",
        "car": "front_wheel_drive",
        "zone": "Etc/GMT-2",
    }
    return start_event(into, **{**values, **more})


def test_two_tables_and_a_car_are_enough(folder: Path, tmp_path: Path) -> None:
    bundle = load_event(start(folder, tmp_path / "new", positions={1: 24}))
    assert bundle.event.car_class == "two_wheel_drive"
    assert bundle.itinerary.offsets_min == {1: 23.0}
    assert len(bundle.stock.tyres) == 12
    assert bundle.stock.tyre("S01").hardness == "soft"
    assert any("no forecast" in line for line in bundle.assumed)


def test_two_new_events_are_two(folder: Path, tmp_path: Path) -> None:
    one, two = (load_event(start(folder, tmp_path / name)).event for name in ("a", "b"))
    assert one.event_id != two.event_id


def test_event_that_is_there_stays(folder: Path) -> None:
    with pytest.raises(DocumentError, match="holds an event already"):
        start(folder, folder)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"car": "hovercraft"}, "hovercraft is not known"),
        ({"zone": "Mars/Olympus"}, "no known time zone"),
        ({"regulation_set": "Moon Rally"}, "Moon Rally"),
    ],
)
def test_fault_leaves_no_folder(
    folder: Path, tmp_path: Path, more: dict[str, object], words: str
) -> None:
    with pytest.raises(DocumentError, match=words):
        start(folder, tmp_path / "new", **more)
    assert not (tmp_path / "new").exists()


def test_a_leg_without_a_start_position_takes_the_one_before() -> None:
    table = made_of("itinerary", [{"leg": "1", "ref": "TC0"}, {"leg": "2", "ref": "TC1"}])
    new = NewEvent(table, made_of("stock", ()), positions={1: 14})
    assert [new.position(leg) for leg in (1, 2)] == [14, 14]
    assert "start position in leg 2: 14" in new.assumed()
    assert NewEvent(table, made_of("stock", ())).position(2) == 1
