"""The files of the day books: where they lie, how one is made, and how one is copied."""

import os
import sqlite3
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from uuid import UUID, uuid4

from crewdesk.errors import JournalError
from crewdesk.journal import layout
from crewdesk.journal.rows import instant_text


def default_book_path(event_id: UUID | str, data_dir: Path) -> Path:
    """Return where the book of an event lies unless the crew names another file."""
    return data_dir / "books" / f"{event_id}.daybook"


def backup_copy(path: Path, to: Path, *, overwrite: bool = False) -> None:
    """Save a copy of a book, also while it is being written.

    Raises
    ------
    JournalError
        Where the target is there already and is not to be replaced, is the book itself, or
        cannot be written; the book itself is never touched.
    """
    path, to = Path(path), Path(to)
    if to.exists() and (not overwrite or to.samefile(path)):
        raise JournalError(f"There is a file at {to} already.", hint="Choose another name.")
    layout.check_header(path)
    fresh = to.with_name(f".{to.name}-{uuid4().hex[:8]}")
    try:
        to.parent.mkdir(parents=True, exist_ok=True)
        source = layout.connect_to_read(path)
        try:
            target = sqlite3.connect(fresh, isolation_level=None)
            try:
                source.backup(target)
                # One plain file that nobody writes: fit for a stick or a mail.
                target.execute("PRAGMA journal_mode = DELETE")
                target.execute("DELETE FROM writer")
            finally:
                target.close()
        finally:
            source.close()
        _flush(fresh)
        fresh.replace(to)
    except (OSError, sqlite3.Error) as error:
        raise layout.in_words(error, to, "copy") from error
    finally:
        with suppress(OSError):
            fresh.unlink(missing_ok=True)


def lay_out(path: Path, event_id: str) -> None:
    """Write the empty tables of a book into an empty file."""
    connection = layout.connect(path, "rw")
    try:
        connection.executescript(f"BEGIN; {layout.TABLES}")
        connection.executemany(
            "INSERT INTO meta VALUES (?, ?)",
            [
                ("event_id", event_id),
                ("book_id", uuid4().hex),
                ("format", str(layout.FORMAT)),
                ("made_utc", instant_text(datetime.now(UTC))),
            ],
        )
        connection.execute("COMMIT")
    finally:
        connection.close()
    _flush(path)


def put_in_place(fresh: Path, path: Path) -> None:
    """Give a finished file its name without ever replacing another file."""
    try:
        os.link(fresh, path)
    except FileExistsError:
        raise
    except OSError:
        # No hard links on this disk (a stick, some shares): a plain rename has to do.
        if path.exists():
            raise FileExistsError(path) from None
        fresh.rename(path)
    _flush(path.parent)


def _flush(path: Path) -> None:
    """Make the disk keep what was written; folders only where the system can."""
    if os.name == "nt" and path.is_dir():
        return
    number = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(number)
    finally:
        os.close(number)
