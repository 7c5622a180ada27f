"""The shipped tables are whole and every number says where it comes from."""

from typing import get_args

import pytest

from crewdesk.documents.catalogue import (
    car_presets,
    compound_tables,
    family_tables,
    override_names,
    surface_tables,
)
from crewdesk.documents.event import Family, Hardness


def test_every_family_has_every_hardness() -> None:
    found = [(table["family"], table["hardness"]) for table in compound_tables()]
    wanted = [(f, h) for f in get_args(Family) for h in get_args(Hardness)]
    assert sorted(found) == sorted(wanted)


def test_every_family_is_described_once() -> None:
    assert sorted(t["family"] for t in family_tables()) == sorted(get_args(Family))


def test_every_number_has_a_source() -> None:
    for table in (*compound_tables(), *family_tables(), *surface_tables()):
        numbers = [v for v in table.values() if isinstance(v, dict)]
        flat = [n for v in numbers for n in ([v] if "value" in v else v.values())]
        assert flat
        assert all(number["source"].strip() for number in flat)


@pytest.mark.parametrize("key", ["four_wheel_drive", "front_wheel_drive", "rear_wheel_drive"])
def test_preset_drives_as_its_name_says(key: str) -> None:
    share = next(one.car.drive_front_share for one in car_presets() if one.key == key)
    low, high = {"four": (0.2, 0.8), "front": (1.0, 1.0), "rear": (0.0, 0.0)}[key.split("_")[0]]
    assert low <= share <= high


def test_model_may_replace_a_number_of_the_catalogue(edit) -> None:
    name = sorted(override_names())[0]
    edit.event(lambda raw: raw["models"][0].update(overrides={name: 1.0}))
    assert edit.report().faults == ()


def test_misspelt_number_of_a_model_is_named(edit) -> None:
    edit.event(lambda raw: raw["models"][0].update(overrides={"abrassion": 1.0}))
    assert edit.only_fault().where == "models[0].overrides.abrassion"
