"""The generic compounds, surfaces and cars that ship with the program, as checked tables."""

import json
from functools import cache
from typing import Any

from pydantic import ConfigDict

from crewdesk.assets import shipped
from crewdesk.documents.base import Document, Part
from crewdesk.documents.event import Car, Family, Hardness


class Sourced(Part):
    """A number with where it comes from."""

    value: float
    source: str


class _Numbers(Part):
    """A table whose further keys are numbers with their sources."""

    model_config = ConfigDict(extra="allow")

    __pydantic_extra__: dict[str, Sourced | dict[str, Sourced]]

    def names(self) -> frozenset[str]:
        """Return the names of the numbers."""
        return frozenset(self.__pydantic_extra__)


class FamilyTable(_Numbers):
    """What all compounds of a tyre family share."""

    family: Family


class CompoundTable(_Numbers):
    """A generic compound."""

    family: Family
    hardness: Hardness


class CompoundFile(Document):
    """``resources/tyres/compounds.json``."""

    about: str = ""
    families: tuple[FamilyTable, ...]
    compounds: tuple[CompoundTable, ...]


class SurfaceTable(_Numbers):
    """A road surface."""

    name: str


class SurfaceFile(Document):
    """``resources/tyres/surfaces.json``."""

    about: str = ""
    surfaces: tuple[SurfaceTable, ...]


class CarPreset(Part):
    """A car to start from."""

    key: str
    name: str
    car: Car
    source: str


class PresetFile(Document):
    """``resources/cars/presets.json``."""

    about: str = ""
    presets: tuple[CarPreset, ...]


def _raw(folder: str, name: str) -> Any:
    return json.loads((shipped("resources") / folder / name).read_text(encoding="utf-8"))


@cache
def compound_file() -> CompoundFile:
    """Return the generic compounds, checked."""
    return CompoundFile.model_validate(_raw("tyres", "compounds.json"))


@cache
def surface_file() -> SurfaceFile:
    """Return the road surfaces, checked."""
    return SurfaceFile.model_validate(_raw("tyres", "surfaces.json"))


@cache
def _preset_file() -> PresetFile:
    return PresetFile.model_validate(_raw("cars", "presets.json"))


def compound_tables() -> list[dict[str, Any]]:
    """Return the generic compounds as plain tables, each number with value and source."""
    return [one.model_dump() for one in compound_file().compounds]


def family_tables() -> list[dict[str, Any]]:
    """Return what each tyre family shares, as plain tables."""
    return [one.model_dump() for one in compound_file().families]


def surface_tables() -> list[dict[str, Any]]:
    """Return the road surfaces as plain tables."""
    return [one.model_dump() for one in surface_file().surfaces]


def car_presets() -> tuple[CarPreset, ...]:
    """Return the cars to start from."""
    return _preset_file().presets


def override_names() -> frozenset[str]:
    """Return the catalogue names that a tyre model may replace."""
    tables = (*compound_file().families, *compound_file().compounds)
    return frozenset(name for table in tables for name in table.names())
