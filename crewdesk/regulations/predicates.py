"""The questions about single tyres and pairs that the search asks very often."""

from collections.abc import Mapping
from typing import Literal

from crewdesk.documents.stock import StockTyre
from crewdesk.regulations.fitting import TyreFacts
from crewdesk.regulations.order import natural_key
from crewdesk.regulations.rulebook import Rulebook
from crewdesk.units import CORNERS, Corner

__all__ = [
    "ACROSS",
    "AxleLevel",
    "axle_differences",
    "axle_level",
    "corner_allowed",
    "is_side_or_diagonal_mix",
    "may_use",
    "natural_key",
    "spare_covers",
]

AxleLevel = Literal["ok", "warn", "block"]

ACROSS: dict[Corner, Corner] = {"FL": "FR", "FR": "FL", "RL": "RR", "RR": "RL"}
"""The other corner of the axle."""

_LEVELS: dict[str, AxleLevel] = {"allow": "ok", "warn": "warn", "block": "block"}
_ORDER: tuple[AxleLevel, ...] = ("ok", "warn", "block")

_LOCKED_TO: dict[str, frozenset[Corner]] = {
    "": frozenset(CORNERS),
    "front": frozenset({"FL", "FR"}),
    "rear": frozenset({"RL", "RR"}),
    "left": frozenset({"FL", "RL"}),
    "right": frozenset({"FR", "RR"}),
    "FL": frozenset({"FL"}),
    "FR": frozenset({"FR"}),
    "RL": frozenset({"RL"}),
    "RR": frozenset({"RR"}),
}


def may_use(tyre: TyreFacts, rules: Rulebook) -> tuple[bool, str, str]:
    """Say whether a tyre may be used at this event at all; if not, the rule and why.

    Returns
    -------
    tuple[bool, str, str]
        Whether it may, the code of the first rule against it, and the reason in words.
    """
    stock = tyre.stock
    if tyre.status == "scrapped" or stock.lock == "scrap":
        return False, "DMG-1", f"scrapped: {tyre.why}" if tyre.why else "scrapped"
    if tyre.status == "locked":
        return False, tyre.why_code, f"locked: {tyre.why}" if tyre.why else "locked"
    if stock.lock == "hold":
        return False, "DMG-1", "on hold"
    if tyre.status == "away" or stock.location == "away":
        return False, "PLC-1", "not here"
    if stock.counts_against == "shakedown":
        return False, "QTY-3", "belongs to the shakedown allowance"
    if rules.marks_needed and not stock.mark:
        return False, "MRK-1", "has no mark for this event"
    if stock.counts_against == "none":
        return False, "QTY-5", "does not belong to this event"
    if rules.registration_needed and not stock.registered:
        return False, "QTY-5", "is not nominated"
    if rules.permitted_makers and stock.maker not in rules.permitted_makers:
        return False, "QTY-5", "is not on the permitted list"
    if tyre.came_off and not rules.reuse_ok:
        return False, "MRK-1", "came off the car and may not come back"
    return True, "", ""


def corner_allowed(stock: StockTyre, corner: Corner) -> bool:
    """Say whether the way a tyre turns and its lock let it go on a corner."""
    return corner in _LOCKED_TO.get(stock.lock, frozenset()) and _turns_right(stock, corner)


def _turns_right(stock: StockTyre, corner: Corner) -> bool:
    if stock.direction == "left":
        return corner.endswith("L")
    if stock.direction == "right":
        return corner.endswith("R")
    return True


def axle_level(a: StockTyre, b: StockTyre, rules: Rulebook) -> AxleLevel:
    """Say what the rules think of two tyres on one axle: the strictest of what differs.

    A model counts as a compound. The structure is taken as alike unless the stock table has a
    column ``structure`` that says otherwise for both.
    """
    return max((level for _, level in axle_differences(a, b, rules)), key=_ORDER.index)


def axle_differences(
    a: StockTyre, b: StockTyre, rules: Rulebook
) -> tuple[tuple[str, AxleLevel], ...]:
    """Return what differs between two tyres with the level of each; at least one entry."""
    found: list[tuple[str, AxleLevel]] = [("", "ok")]
    if a.maker != b.maker:
        found.append(("maker", _LEVELS[rules.axle_mix.get("maker", "allow")]))
    if a.compound != b.compound or (a.maker == b.maker and a.model != b.model):
        found.append(("compound", _LEVELS[rules.axle_mix.get("compound", "allow")]))
    structures = (a.extra.get("structure", ""), b.extra.get("structure", ""))
    if all(structures) and structures[0] != structures[1]:
        found.append(("structure", _LEVELS[rules.axle_mix.get("structure", "allow")]))
    return tuple(found)


def spare_covers(
    spare: StockTyre, fitted: Mapping[Corner, StockTyre], rules: Rulebook
) -> tuple[Corner, ...]:
    """Return the corners on which a carried tyre could stand in.

    A tyre locked to ``spare`` may stand in anywhere: that is what it is carried for.
    """
    lock = "" if spare.lock == "spare" else spare.lock
    return tuple(
        corner
        for corner in CORNERS
        if corner in _LOCKED_TO.get(lock, frozenset())
        and _turns_right(spare, corner)
        and (
            (beside := fitted.get(ACROSS[corner])) is None
            or axle_level(spare, beside, rules) != "block"
        )
    )


def is_side_or_diagonal_mix(
    fl: StockTyre, fr: StockTyre, rl: StockTyre, rr: StockTyre
) -> Literal["", "side", "diagonal"]:
    """Say whether one kind stands on the left and another on the right, or crosswise."""
    if fl.kind_key == fr.kind_key:
        return ""
    if fl.kind_key == rl.kind_key and fr.kind_key == rr.kind_key:
        return "side"
    if fl.kind_key == rr.kind_key and fr.kind_key == rl.kind_key:
        return "diagonal"
    return ""
