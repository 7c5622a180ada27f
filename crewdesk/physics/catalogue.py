"""Compounds and surfaces from plain tables, as they ship or as a crew overrides them."""

from collections.abc import Mapping
from dataclasses import fields
from typing import NoReturn

from crewdesk.physics.surface import SurfaceParams
from crewdesk.physics.tyre import FAMILIES, Compound, FamilyDefaults

_COMPOUND_NUMBERS = tuple(
    f.name for f in fields(Compound) if f.name not in {"family", "hardness"}
)
_SURFACE_NUMBERS = (
    "mu",
    "c_per_rad",
    "eta",
    "kap",
    "chi",
    "e_s",
    "u_w",
    "psi",
    "ee",
    "ed",
    "h0",
)
_SURFACE_EXTRAS = {
    "drain": 0.0,
    "stud_grip": 1.0,
    "stud_wear": 1.0,
    "loose": 0.0,
    "asphalt": 0.0,
}


def _refused(name: str, wanted: str, value: object) -> NoReturn:
    """Refuse a field."""
    raise ValueError(f"{name} must be {wanted}, not {value!r}")


def _number(table: Mapping[str, object], name: str) -> float:
    """Return a number of a table, plain or as ``{"value": ..., "source": ...}``."""
    if name not in table:
        raise ValueError(f"{name} is missing")
    value = table[name]
    if isinstance(value, Mapping):
        value = value.get("value")
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    return float(str(value)) if is_number else _refused(name, "a number", value)


def compound_from(
    table: Mapping[str, object], overrides: Mapping[str, float] | None = None
) -> Compound:
    """Return a compound from a plain table.

    Parameters
    ----------
    table : mapping
        ``family``, ``hardness`` and every number of `Compound`, each plain or as a
        mapping with ``value`` (and a ``source`` that is not read).
    overrides : mapping of str to float, optional
        Numbers that a tyre model replaces, by the same names; other names are not for
        the compound and are left alone.

    Returns
    -------
    Compound
        The compound.

    Raises
    ------
    ValueError
        If a field is missing or no number, or the family is unknown.

    Notes
    -----
    Nothing is read from disk here.

    References
    ----------
    .. [1] Sources of the numbers stand beside them in the table.
    """
    extra = overrides or {}
    numbers = {
        name: float(extra[name]) if name in extra else _number(table, name)
        for name in _COMPOUND_NUMBERS
    }
    return Compound(
        family=str(table.get("family", "")), hardness=str(table.get("hardness", "")), **numbers
    )


def family_from(table: Mapping[str, object]) -> FamilyDefaults:
    """Return what a family of tyres is taken to be, from a plain table.

    Parameters
    ----------
    table : mapping
        ``family`` and the numbers of `FamilyDefaults`, plain or with ``value``.

    Returns
    -------
    FamilyDefaults
        The defaults.

    Raises
    ------
    ValueError
        If a number is missing or is none, or the family is unknown.

    Notes
    -----
    Nothing is read from disk here.

    References
    ----------
    .. [1] Sources of the numbers stand beside them in the table.
    """
    family = str(table.get("family", ""))
    if family not in FAMILIES:
        raise ValueError(f"unknown tyre family {family!r}")
    return FamilyDefaults(
        family=family,
        land_ratio=_number(table, "land_ratio"),
        edge_length_mm=_number(table, "edge_length_mm"),
        edge_value_share=_number(table, "edge_value_share"),
        tread_worthless_mm=_number(table, "tread_worthless_mm"),
    )


def surface_from(table: Mapping[str, object]) -> SurfaceParams:
    """Return a surface class from a plain table.

    Parameters
    ----------
    table : mapping
        ``name`` and the numbers of `SurfaceParams`, each plain or with ``value`` and
        ``source``. ``tyre_grip`` and ``tyre_wear`` map tyre families to factors, 1 where
        a family is not named.

    Returns
    -------
    SurfaceParams
        The class. Where `drain` is above 0 it stands in place of `ed`, which becomes 0,
        so that depth counts once.

    Raises
    ------
    ValueError
        If a number is missing or is none, or a family is unknown.

    Notes
    -----
    Nothing is read from disk here.

    References
    ----------
    .. [1] Sources of the numbers stand beside them in the table.
    """
    numbers = {name: _number(table, name) for name in _SURFACE_NUMBERS}
    for name, usual in _SURFACE_EXTRAS.items():
        numbers[name] = _number(table, name) if name in table else usual
    if numbers["drain"] > 0.0:
        numbers["ed"] = 0.0
    return SurfaceParams(
        name=str(table.get("name", "")),
        tyre_grip=_by_family(table, "tyre_grip"),
        tyre_wear=_by_family(table, "tyre_wear"),
        **numbers,
    )


def _by_family(table: Mapping[str, object], name: str) -> tuple[float, float, float, float]:
    """Return four factors by tyre family."""
    given = table.get(name, {})
    if not isinstance(given, Mapping):
        _refused(name, "factors by tyre family", given)
    unknown = set(given) - set(FAMILIES)
    if unknown:
        raise ValueError(f"{name} names unknown tyre families: {', '.join(sorted(unknown))}")
    one, two, three, four = (_number(given, f) if f in given else 1.0 for f in FAMILIES)
    return (one, two, three, four)
