"""A book that cannot be read is renamed, and nothing in it is touched."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from crewdesk.assets import shipped
from crewdesk.desk.set_aside import set_aside
from crewdesk.errors import JournalError

QUELLHAVEN = Path(str(shipped("demo_events").joinpath("quellhaven")))
NOW = datetime(2026, 8, 22, 10, 3, 7, tzinfo=UTC)


def test_the_book_and_what_belongs_to_it_keep_their_bytes(tmp_path):
    book = tmp_path / "day.daybook"
    book.write_bytes(b"half a book")
    book.with_name("day.daybook-wal").write_bytes(b"the rest")
    kept = set_aside(QUELLHAVEN, book, NOW)
    assert kept.name == "day.daybook.damaged-20260822-100307"
    assert kept.read_bytes() == b"half a book"
    assert kept.with_name(f"{kept.name}-wal").read_bytes() == b"the rest"
    assert not book.exists()


def test_the_usual_book_of_the_event_is_found(tmp_path):
    books = tmp_path / "books"
    books.mkdir()
    book = books / "9e11a7e0-0002-4b2b-8d52-2026082200b2.daybook"
    book.write_bytes(b"?")
    assert set_aside(QUELLHAVEN, None, NOW, data_dir=tmp_path).read_bytes() == b"?"
    assert not book.exists()


def test_a_file_that_cannot_be_moved_is_said(tmp_path, monkeypatch):
    book = tmp_path / "day.daybook"
    book.write_bytes(b"?")

    def refuse(*_):
        raise OSError(13, "Permission denied")

    monkeypatch.setattr(Path, "rename", refuse)
    with pytest.raises(JournalError, match="cannot be moved aside: Permission denied") as told:
        set_aside(QUELLHAVEN, book, NOW)
    assert told.value.hint
