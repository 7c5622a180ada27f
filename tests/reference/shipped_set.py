"""The numbers the program ships with, read from its resources."""

import json

from crewdesk.assets import shipped
from crewdesk.physics.catalogue import compound_from, family_from, surface_from
from crewdesk.physics.tyre import TyreSpec
from tests.reference.example_set import tyre


def _read(name: str) -> dict:
    text = (shipped("resources") / "tyres" / name).read_text(encoding="utf-8")
    return json.loads(text)


COMPOUNDS = {
    (row["family"], row["hardness"]): compound_from(row)
    for row in _read("compounds.json")["compounds"]
}
FAMILIES = {row["family"]: family_from(row) for row in _read("compounds.json")["families"]}
SURFACES = {row["name"]: surface_from(row) for row in _read("surfaces.json")["surfaces"]}


def shipped_tyre(family: str, hardness: str) -> TyreSpec:
    """Return a tyre of the example size with a shipped compound."""
    return tyre(
        COMPOUNDS[family, hardness],
        edge_length_mm=FAMILIES[family].edge_length_mm,
        asphalt=family.startswith("asphalt"),
    )
