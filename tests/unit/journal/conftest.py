from pathlib import Path

import pytest

from crewdesk.journal.book import Book
from crewdesk.journal.entries import Note

EVENT = "7b0c4f1e-0d54-4f0e-9d5a-0f5f3f1c2a11"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "event.daybook"


@pytest.fixture
def book(path: Path):
    with Book.create(path, event_id=EVENT, desk="desk A") as made:
        yield made


@pytest.fixture
def filled(path: Path) -> Path:
    """A closed book of several hundred entries, many pages long."""
    with Book.create(path, event_id=EVENT, desk="desk A") as made:
        for part in range(20):
            made.append_many([Note(text=f"entry {part}/{n} " + "x" * 200) for n in range(20)])
    return path
