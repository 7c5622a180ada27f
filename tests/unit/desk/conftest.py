"""The demo events and a small language for days in these tests."""

import json
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from crewdesk.assets import shipped
from crewdesk.desk.day import Day
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.store import load_event
from crewdesk.journal.entries import ENTRY_ADAPTER, StoredEntry

SCRIPTS = Path(__file__).parents[2] / "data" / "scripts"


def demo(name: str) -> Path:
    return Path(str(shipped("demo_events").joinpath(name)))


def stored(number: int, body: dict[str, Any]) -> StoredEntry:
    """Return an entry as it stands in a book, its id ``id<number>``."""
    entry = ENTRY_ADAPTER.validate_python(body)
    at = entry.at or datetime(2026, 8, 22, 6, tzinfo=UTC) + timedelta(minutes=number)
    return StoredEntry(
        seq=number,
        id=f"id{number}",
        desk="t",
        desk_seq=number,
        after=(),
        at_utc=at,
        clock_offset_s=0.0,
        kind=entry.kind,
        version=1,
        body=entry,
    )


@pytest.fixture(scope="session")
def quellhaven() -> EventBundle:
    return load_event(demo("quellhaven"))


@pytest.fixture(scope="session")
def lunehaven() -> EventBundle:
    return load_event(demo("lunehaven"))


@pytest.fixture(scope="session")
def saldrey() -> EventBundle:
    return load_event(demo("saldrey"))


@pytest.fixture(scope="session")
def entries_of() -> Callable[[Sequence[dict[str, Any]]], list[StoredEntry]]:
    return lambda bodies: [stored(n, body) for n, body in enumerate(bodies, start=1)]


@pytest.fixture(scope="session")
def script() -> list[dict[str, Any]]:
    """The quellhaven walk-through without the lines that must be refused."""
    lines = (SCRIPTS / "quellhaven.jsonl").read_text(encoding="utf-8").splitlines()
    return [json.loads(line) for line in lines]


@pytest.fixture
def open_day(tmp_path: Path) -> Callable[..., Day]:
    """Open days that are closed when the test ends."""
    opened: list[Day] = []

    def make(name: str = "quellhaven", **options: Any) -> Day:
        options.setdefault("book_path", tmp_path / f"{name}.daybook")
        options.setdefault("desk_name", "test")
        day = Day.open(demo(name), **options)
        opened.append(day)
        return day

    yield make
    for day in opened:
        day.close()


def car(*tyres: str | None) -> dict[str, str | None]:
    """Return a fitting from tyres in the order of the places."""
    return dict(zip(("FL", "FR", "RL", "RR", "SP1", "SP2"), tyres, strict=False))


@pytest.fixture(scope="session")
def car_of() -> Callable[..., dict[str, str | None]]:
    return car
