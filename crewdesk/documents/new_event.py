"""A new event from the least a crew has: an itinerary, a stock table and the kind of car."""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final
from uuid import uuid4

from crewdesk.documents.catalogue import car_presets
from crewdesk.documents.faults import error_from
from crewdesk.documents.importing import import_table
from crewdesk.documents.store import check_texts
from crewdesk.documents.writer import write_atomic
from crewdesk.errors import DocumentError

START_INTERVAL_MIN: Final = 1.0
"""Start interval unless stated longer; Motorsport UK, National Competition Rules 2026."""


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
    """Write a new event into an empty or new folder, and return the folder.

    Parameters
    ----------
    itinerary, stock : Path
        Tables in any layout that can be brought in; the stock may be that of a handover.
    car : str
        Key of a car to start from, as ``four_wheel_drive``.
    positions : mapping, optional
        Our start position by leg; 1 where it is not known yet.

    Raises
    ------
    DocumentError
        Where the folder holds an event, or a table has faults; nothing is written then.
    """
    if (folder / "event.json").exists():
        raise DocumentError(
            f"{folder} holds an event already.", hint="Choose another folder for the new one."
        )
    tables = {
        imported.file: imported.text
        for imported in (import_table("itinerary", itinerary), import_table("stock", stock))
    }
    legs = _legs(tables["itinerary.csv"], positions or {})
    texts = {
        "event.json": _event_text(name, zone, regulation_set, car, legs),
        **tables,
    }
    report = check_texts(texts)
    if not report.ok:
        raise error_from(report.faults, f"The new event {name}")
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise DocumentError(
            f"{folder} cannot be made ({(error.strerror or 'no reason given').lower()}).",
            hint="Choose a folder where you may write.",
        ) from error
    # event.json last: a folder without it is no event, however early the power fails.
    for file in ("itinerary.csv", "stock.csv", "event.json"):
        write_atomic(folder / file, texts[file])
    return folder


def _legs(itinerary: str, positions: Mapping[int, int]) -> list[dict[str, Any]]:
    rows = [line for line in itinerary.splitlines() if not line.startswith("#")][1:]
    numbers = sorted({int(first) for row in rows if (first := row.split(",")[0]).isdigit()})
    return [
        {
            "leg": number,
            "position": positions.get(number, 1),
            "gaps": [{"from_position": 2, "gap_min": START_INTERVAL_MIN}],
        }
        for number in numbers
    ]


def _event_text(
    name: str, zone: str, regulation_set: str, car: str, legs: list[dict[str, Any]]
) -> str:
    preset = next((one for one in car_presets() if one.key == car), None)
    if preset is None:
        known = ", ".join(one.key for one in car_presets())
        raise DocumentError(f"The car {car} is not known.", hint=f"Known: {known}.")
    drives_all = 0.0 < preset.car.drive_front_share < 1.0
    event = {
        "format": 1,
        "event_id": str(uuid4()),
        "name": name,
        "zone": zone,
        "regulation_set": regulation_set,
        "car_class": "four_wheel_drive" if drives_all else "two_wheel_drive",
        "due_reference": "first_car",
        "legs": legs,
        "car": preset.car.model_dump(),
    }
    return json.dumps(event, indent=2, ensure_ascii=False) + "\n"
