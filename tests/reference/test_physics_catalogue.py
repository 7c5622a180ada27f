"""The shipped tables: complete, labelled, and read as they stand."""

import json

import pytest

from crewdesk.assets import shipped
from crewdesk.physics.car import CarParams
from crewdesk.physics.catalogue import compound_from, family_from, surface_from
from tests.reference import example_set
from tests.reference.shipped_set import COMPOUNDS, FAMILIES, SURFACES


def read(folder, name):
    return json.loads((shipped("resources") / folder / name).read_text(encoding="utf-8"))


def values(node):
    """Yield every mapping with a value of a table."""
    if isinstance(node, dict):
        if "value" in node:
            yield node
        for child in node.values():
            yield from values(child)
    elif isinstance(node, list):
        for child in node:
            yield from values(child)


@pytest.mark.parametrize("name", ["compounds.json", "surfaces.json"])
def test_every_number_says_where_it_comes_from(name):
    table = read("tyres", name)
    numbers = list(values(table))
    assert len(numbers) > 100
    assert all(number["source"] for number in numbers)
    assert table["format"] == 1


def test_what_ships_differs_from_the_example_where_practice_asks_for_it():
    # Common practice, no source; everything else is as in the example.
    changed = {
        ("gravel", "soft"): {"k_c_mm3_j": 0.087, "t_opt_c": 38, "t_lo_c": 17, "t_hi_c": 60},
        ("gravel", "medium"): {"k_c_mm3_j": 0.064},
        ("gravel", "hard"): {"k_c_mm3_j": 0.048, "t_opt_c": 66, "t_lo_c": 40, "t_hi_c": 96},
    }
    assert set(COMPOUNDS) == set(example_set.COMPOUNDS)
    for key, compound in COMPOUNDS.items():
        expected = example_set.COMPOUNDS[key].__dict__ | changed.get(key, {})
        assert compound.__dict__ == expected


def test_surfaces_that_ship():
    changed = {
        "gravel_wet": {"ee": 0.06, "kap": 1.0},
        "gravel_rock": {"h0": 1.2e-4},
        "asphalt_smooth": {"h0": 1.0e-4},
        "asphalt_abras": {"h0": 1.0e-4},
        "asphalt_damp": {"h0": 1.0e-4},
        "asphalt_wet": {"h0": 1.0e-4, "ed": 0.0},  # drain stands in its place
    }
    numbers = ("mu", "c_per_rad", "eta", "kap", "chi", "e_s", "u_w", "psi", "ee", "ed", "h0")
    for name, surface in example_set.SURFACES.items():
        for field in numbers:
            expected = changed.get(name, {}).get(field, getattr(surface, field))
            assert getattr(SURFACES[name], field) == expected
    assert set(SURFACES) - set(example_set.SURFACES) == {"gravel_damp", "asphalt_standing"}
    drains = {name: s.drain for name, s in SURFACES.items() if s.drain}
    assert drains == {"asphalt_wet": 0.30, "asphalt_standing": 0.50}


def test_families():
    assert {name: family.edge_length_mm for name, family in FAMILIES.items()} == dict.fromkeys(
        ("gravel", "asphalt", "asphalt_wet", "winter"), 4.5
    )
    assert (FAMILIES["gravel"].land_ratio, FAMILIES["asphalt"].land_ratio) == (0.60, 0.80)
    assert FAMILIES["gravel"].tread_worthless_mm == 2.5


def test_cars_are_those_of_the_examples():
    presets = read("cars", "presets.json")["presets"]
    numbers = tuple(CarParams.__dataclass_fields__)
    cars = [CarParams(**{name: preset["car"][name] for name in numbers}) for preset in presets]
    assert cars == [example_set.AWD, example_set.FWD, example_set.LIGHT, example_set.RWD]
    for preset in presets:
        # Gravel -1 degree, asphalt front -3.5 and rear -2 (common practice, no source).
        assert preset["car"]["camber_front_deg"]["asphalt"] == -3.5
        assert preset["car"]["camber_rear_deg"]["asphalt"] == -2.0
        assert preset["car"]["camber_front_deg"]["gravel"] == -1.0


def test_a_model_may_replace_numbers():
    row = read("tyres", "compounds.json")["compounds"][0]
    own = compound_from(row, {"t_opt_c": 41.0, "casing": 2.0})
    assert own.t_opt_c == 41.0
    assert own.k_c_mm3_j == compound_from(row).k_c_mm3_j


def test_faults_of_a_table_are_named():
    row = read("tyres", "compounds.json")["compounds"][0]
    with pytest.raises(ValueError, match="cut is missing"):
        compound_from({name: value for name, value in row.items() if name != "cut"})
    with pytest.raises(ValueError, match="cut must be a number, not 'low'"):
        compound_from(row | {"cut": "low"})
    with pytest.raises(ValueError, match="unknown tyre family 'slick'"):
        compound_from(row | {"family": "slick"})
    surface = read("tyres", "surfaces.json")["surfaces"][0]
    with pytest.raises(ValueError, match="unknown tyre families: slick"):
        surface_from(surface | {"tyre_grip": {"slick": 1.0}})
    with pytest.raises(ValueError, match="factors by tyre family, not 1"):
        surface_from(surface | {"tyre_grip": 1})
    with pytest.raises(ValueError, match="unknown tyre family 'slick'"):
        family_from({"family": "slick"})
