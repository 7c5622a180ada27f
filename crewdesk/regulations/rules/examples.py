"""Small invented cases that the rules show themselves on."""

from datetime import UTC, date, datetime
from typing import Any

from crewdesk.documents.itinerary import ChangePlace
from crewdesk.documents.stock import StockTyre
from crewdesk.regulations.fitting import FittingCase, TyreFacts
from crewdesk.regulations.ledger import Ledger
from crewdesk.regulations.rulebook import Rulebook

NOON = datetime(2026, 6, 6, 12, 0, tzinfo=UTC)

_STOCK: dict[str, Any] = {
    "maker": "Maker One",
    "model": "Pattern",
    "compound": "medium",
    "use": "gravel",
    "hardness": "medium",
    "cap_group": "medium",
    "size": "17/65-15",
    "rim": "7Jx15",
    "dot": "0125",
    "e_mark": True,
    "service_desc": "95T",
    "new": False,
    "tread_new_mm": 10.0,
    "tread_mm": (8.0, 8.0, 8.0),
    "edge_share": (1.0, 1.0, 1.0),
    "registered": True,
    "code": "M",
}


def stock(tyre_id: str, **changes: Any) -> StockTyre:
    """Return an invented tyre."""
    own = {"tyre_id": tyre_id, "mark": f"EX-{tyre_id}", "rim_id": f"R-{tyre_id}"}
    if "compound" in changes:
        own["cap_group"] = changes["compound"]
    return StockTyre(**{**_STOCK, **own, **changes})


def tyre(tyre_id: str, *, facts: dict[str, Any] | None = None, **changes: Any) -> TyreFacts:
    """Return what the rules see of an invented tyre."""
    return TyreFacts(stock=stock(tyre_id, **changes), **(facts or {}))


def rules(**changes: Any) -> Rulebook:
    """Return an invented rulebook."""
    values: dict[str, Any] = {
        "name": "Example",
        "car_class": "four_wheel_drive",
        "qty_total": 8,
        "qty_shakedown": 2,
        "shakedown_in_total": False,
        "caps": {"soft": 4, "hard": 6},
        "count_rule": "fitted_or_carried",
        "marks_needed": True,
        "registration_needed": True,
        "spare_min": 1,
        "spare_max": 2,
        "wheel_must_return": True,
        "tread_min_mm": 1.6,
        "winter_tread_min_mm": None,
        "axle_mix": {"compound": "warn", "maker": "block", "structure": "block"},
        "joker_total": 1,
        "people_max": {"service": 8, "zone": 2},
        "last_service_change": False,
        "size_table": {"size": "17/65-15", "rim": "7Jx15"},
        "e_mark_needed": True,
        "age_watch_years": 6.0,
        "age_stop_years": 10.0,
        "early_s_per_min": 60.0,
        "late_s_per_min": 10.0,
        "out_of_time_min": 30.0,
        "cut_allowed": False,
        "studs": {"per_dm": 20.0},
        "stud_watch": {"out_mm": 4.0, "lost_share": 0.1},
    }
    return Rulebook(**{**values, **changes})


def place(kind: str = "service") -> ChangePlace:
    """Return an invented change place."""
    return ChangePlace.model_validate(
        {
            "key": "B",
            "loop": 2,
            "kind": kind,
            "leg": 1,
            "in_ref": "TC3A",
            "out_ref": "TC3B",
            "name": "Service B" if kind != "zone" else "Tyre zone",
            "due_in_utc": NOON,
            "due_out_utc": NOON.replace(minute=30),
            "minutes": 30.0,
            "stages": ("SS4",),
            "altitude_m": 100.0,
        }
    )


def case(*others: TyreFacts, book: Rulebook | None = None, **changes: Any) -> FittingCase:
    """Return an invented case: four mediums and a spare, with some tyres put in their place.

    A tyre given here takes the place of the tyre with its id, T1 to T4 on the corners and T5
    carried; tyres with another id only join the stock.
    """
    used = book or rules()
    tyres = {f"T{n}": tyre(f"T{n}") for n in range(1, 6)}
    tyres |= {one.tyre_id: one for one in others}
    values: dict[str, Any] = {
        "fitting": {"FL": "T1", "FR": "T2", "RL": "T3", "RR": "T4", "SP1": "T5"},
        "tyres": tyres,
        "ledger": Ledger.start(used, tyres),
        "place": place(),
        "event_date": date(2026, 6, 6),
    }
    return FittingCase(rules=used, **{**values, **changes})
