"""A new event from the least a crew has: an itinerary, a stock table and the kind of car."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final
from uuid import UUID, uuid4

from crewdesk.documents.catalogue import CarPreset, car_presets
from crewdesk.documents.faults import Findings, error_from
from crewdesk.documents.handover_read import HANDOVER_FILE, handover_from_text
from crewdesk.documents.import_rows import SITE
from crewdesk.documents.importing import Imported, import_table
from crewdesk.documents.store import check_texts
from crewdesk.documents.writer import write_atomic
from crewdesk.errors import DocumentError

START_INTERVAL_MIN: Final = 1.0
"""Start interval unless stated longer; Motorsport UK, National Competition Rules 2026."""
_ASKED_LATER: Final[Mapping[str, tuple[str, str]]] = {
    "mark": ("marks_needed", "assumed: no tyre of the stock has a mark yet"),
    "registered": ("registration_needed", "assumed: no tyre of the stock is registered yet"),
}
"""By stock column: the rule that no tyre could keep yet, and why it is not asked for."""


@dataclass(frozen=True)
class NewEvent:
    """What a crew says of an event that has no files yet; all but the tables has a default."""

    itinerary: Imported
    stock: Imported
    car: str = ""
    """Key of a car to start from, as ``four_wheel_drive``; empty: the first one."""
    name: str = ""
    """Empty: named after its first day."""
    zone: str = "UTC"
    regulation_set: str = ""
    """Empty: the one that suits the surfaces and the legs."""
    weather: Imported | None = None
    positions: Mapping[int, int] = field(default_factory=dict)
    """Our start position by leg; as in the leg before where it is not known yet, else 1."""
    intervals_min: Mapping[int, tuple[tuple[int, float], ...]] = field(default_factory=dict)
    """By leg: from which position on how many minutes lie between two cars."""
    lat_deg: float | None = None
    lon_deg: float | None = None
    alt_m: float = 0.0
    handover: str = ""
    """Text of the last event's handover, for what was learnt there."""
    event_id: UUID = field(default_factory=uuid4)

    @property
    def legs(self) -> tuple[int, ...]:
        """Legs that the itinerary names."""
        return tuple(
            sorted(
                {int(leg) for r in self.itinerary.rows if (leg := r.get("leg", "")).isdigit()}
            )
        ) or (1,)

    @property
    def rules(self) -> str:
        """The set of rules chosen, else the one that suits."""
        return self.regulation_set or suited_rules(self.itinerary.rows, len(self.legs))

    @property
    def shown_name(self) -> str:
        """The name given, else one after the first day."""
        if self.name.strip():
            return self.name.strip()
        times = (row.get("first_car_due", "") for row in self.itinerary.rows)
        day = next((text.split()[0] for text in times if len(text) > 8), "")
        return f"Event {day}".strip()

    def position(self, leg: int) -> int:
        """Return our start position in a leg: as given, else as in the leg before, else 1."""
        given = [one for one in self.positions if one <= leg]
        return self.positions[max(given)] if given else 1

    def assumed(self) -> tuple[str, ...]:
        """Return what nobody has given, in words."""
        lines = []
        if not self.name.strip():
            lines.append(f"name: {self.shown_name}")
        if not self.car:
            lines.append(f"car: {car_preset(self.car).name}")
        if not self.regulation_set:
            lines.append(f"rules: {self.rules}, as the surface and the legs suggest")
        unknown = [leg for leg in self.legs if leg not in self.positions]
        for leg in unknown:
            place = self.position(leg)
            lines.append(f"start position in leg {leg}: {place if place > 1 else 'first car'}")
        if any(leg not in self.intervals_min for leg in self.legs):
            lines.append(f"{START_INTERVAL_MIN:g} min between cars")
        if "mark" in _not_yet(self.stock):
            lines.append("marks: no tyre has one yet, so none is asked for")
        if "registered" in _not_yet(self.stock):
            lines.append("nomination list: no tyre is on it yet, so it is not asked for")
        if self.weather is None or not self.weather.rows:
            lines.append("weather: no forecast, only what the crew reports")
        return tuple(lines)


def suited_rules(rows: Sequence[Mapping[str, str]], legs: int) -> str:
    """Return the set of rules to start from for these stages."""
    surfaces = {row.get("surface", "") for row in rows if row.get("kind") == "stage"}
    if surfaces & {"snow", "ice"}:
        return "Winter Studded"
    if "asphalt" in surfaces:
        return "Three-Day Asphalt"
    return "Day Gravel" if legs == 1 else "Weekend Gravel"


def car_preset(key: str) -> CarPreset:
    """Return a car to start from; the first one where none is named.

    Raises
    ------
    DocumentError
        Where the key is not known.
    """
    presets = car_presets()
    preset = next((one for one in presets if one.key == (key or presets[0].key)), None)
    if preset is None:
        known = ", ".join(one.key for one in presets)
        raise DocumentError(f"The car {key} is not known.", hint=f"Known: {known}.")
    return preset


def new_texts(new: NewEvent) -> dict[str, str]:
    """Return the files of a new event by name, not checked yet."""
    texts = {
        "event.json": event_text(new),
        "itinerary.csv": new.itinerary.text,
        "stock.csv": new.stock.text,
    }
    if new.weather is not None and new.weather.rows:
        texts["weather.csv"] = new.weather.text
    if new.handover:
        texts[HANDOVER_FILE] = new.handover
    return texts


def event_text(new: NewEvent) -> str:
    """Return the ``event.json`` of a new event."""
    preset = car_preset(new.car)
    drives_all = 0.0 < preset.car.drive_front_share < 1.0
    event: dict[str, Any] = {
        "format": 1,
        "event_id": str(new.event_id),
        "name": new.shown_name,
        "zone": new.zone,
        "regulation_set": new.rules,
        "car_class": "four_wheel_drive" if drives_all else "two_wheel_drive",
        "due_reference": "first_car",
        "legs": [
            {
                "leg": leg,
                "position": new.position(leg),
                "gaps": [
                    {"from_position": position, "gap_min": minutes}
                    for position, minutes in new.intervals_min.get(
                        leg, ((2, START_INTERVAL_MIN),)
                    )
                ],
            }
            for leg in new.legs
        ],
        "car": preset.car.model_dump(),
    }
    sites = _sites(new)
    if sites:
        event["sites"] = sites
    rims = _rims(new)
    if rims:
        event["rims"] = rims
    rules = {
        rule: {"value": False, "source": "", "entered_by": why}
        for rule, why in (_ASKED_LATER[column] for column in _not_yet(new.stock))
    }
    if rules:
        event["rules"] = rules
    return json.dumps(event, indent=2, ensure_ascii=False) + "\n"


def _not_yet(stock: Imported) -> tuple[str, ...]:
    """Return the columns that the rules ask for and that no tyre has filled yet."""
    return tuple(
        column
        for column in _ASKED_LATER
        if not any(row.get(column) not in (None, "", "no") for row in stock.rows)
    )


def _rims(new: NewEvent) -> list[dict[str, str]]:
    """Return every rim where the last event left some without a tyre; else none is listed.

    The stock names only those that a tyre stands on.
    """
    handover = None
    if new.handover:
        handover = handover_from_text(HANDOVER_FILE, new.handover, Findings())
    standing = {
        row["rim_id"]: row.get("rim") or "" for row in new.stock.rows if row.get("rim_id")
    }
    free = {
        rim.rim_id: rim.rim
        for rim in (handover.rims if handover is not None else ())
        if not rim.tyre_id and rim.state != "scrap" and rim.rim_id not in standing
    }
    if not free:
        return []
    return [{"rim_id": key, "rim": mark} for key, mark in (standing | free).items()]


def _sites(new: NewEvent) -> list[dict[str, Any]]:
    """Return the places with weather; only where somebody said where they are."""
    if new.lat_deg is None or new.lon_deg is None:
        return []
    names = dict.fromkeys(
        name for row in (new.weather.rows if new.weather else ()) if (name := row.get("site"))
    )
    return [
        {
            "name": name,
            "lat_deg": new.lat_deg,
            "lon_deg": new.lon_deg,
            "alt_m": new.alt_m,
            "is_service": at == 0,
        }
        for at, name in enumerate(names or {SITE: None})
    ]


def write_event(folder: Path, texts: Mapping[str, str]) -> Path:
    """Write the files of a new event into an empty or new folder; return the folder.

    Raises
    ------
    DocumentError
        Where the folder holds an event, or the files have faults; nothing is written then.
    """
    if (folder / "event.json").exists():
        raise DocumentError(
            f"{folder} holds an event already.", hint="Choose another folder for the new one."
        )
    report = check_texts({k: v for k, v in texts.items() if k != HANDOVER_FILE})
    if not report.ok:
        raise error_from(report.faults, "The new event")
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise DocumentError(
            f"{folder} cannot be made ({(error.strerror or 'no reason given').lower()}).",
            hint="Choose a folder where you may write.",
        ) from error
    # event.json last: a folder without it is no event, however early the power fails.
    for file in sorted(texts, key=lambda name: name == "event.json"):
        write_atomic(folder / file, texts[file])
    return folder


def start_event(
    folder: Path,
    *,
    name: str,
    itinerary: Path,
    stock: Path,
    car: str,
    zone: str,
    regulation_set: str = "Day Gravel",
    positions: Mapping[int, int] | None = None,
) -> Path:
    """Write a new event from two tables in any layout that can be brought in.

    Parameters
    ----------
    itinerary, stock : Path
        The tables; the stock may be the ``handover.json`` of the last event.
    car : str
        Key of a car to start from, as ``four_wheel_drive``.
    positions : mapping, optional
        Our start position by leg; 1 where it is not known yet.

    Raises
    ------
    DocumentError
        Where the folder holds an event, or a table has faults; nothing is written then.
    """
    new = NewEvent(
        itinerary=import_table("itinerary", itinerary),
        stock=import_table("stock", stock),
        car=car,
        name=name,
        zone=zone,
        regulation_set=regulation_set,
        positions=positions or {},
    )
    return write_event(folder, new_texts(new))
