"""What is said to the crew for their own good, where it belongs."""

import json
from dataclasses import dataclass
from functools import cache
from typing import Literal

from crewdesk.assets import shipped
from crewdesk.desk.case import rules_of
from crewdesk.documents.bundle import EventBundle

Where = Literal[
    "call",
    "car_in",
    "sheet",
    "card",
    "handover",
    "check",
    "before",
    "pressures",
    "mounting",
    "damage",
    "torque",
    "stock",
]

BEAD_SEAT_KPA = 275.0
"""Two tyre-changing machine manuals, bead-seating pages (40 psi)."""


@dataclass(frozen=True)
class Caution:
    """One caution with its source."""

    id: str
    where: tuple[str, ...]
    text: str
    source: str


@cache
def all_cautions() -> tuple[Caution, ...]:
    """Return every caution as shipped, figures still to be filled in."""
    raw = json.loads((shipped("resources") / "cautions.json").read_text(encoding="utf-8"))
    return tuple(
        Caution(one["id"], tuple(one["where"]), one["text"], one["source"])
        for one in raw["cautions"]
    )


def cautions_for(where: Where, bundle: EventBundle | None = None) -> tuple[Caution, ...]:
    """Return the cautions that belong to a place, with the figures of the event's rules."""
    bead, km = BEAD_SEAT_KPA, 50.0
    if bundle is not None:
        km = rules_of(bundle).retorque_after_km
        value = bundle.event.rules.get("bead_seat_max_kpa")
        given = value.value if value else bundle.regulation_set.fields.get("bead_seat_max_kpa")
        if isinstance(given, (int, float)) and given > 0:
            bead = min(float(given), bead)
    return tuple(
        Caution(
            one.id,
            one.where,
            one.text.format(bead_seat_bar=f"{bead / 100:.2f}", retorque_km=f"{km:g}"),
            one.source,
        )
        for one in all_cautions()
        if where in one.where
    )
