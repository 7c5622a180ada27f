"""How a day book lies on disk: the tables, the connection, and its faults in plain words."""

import hashlib
import sqlite3
import struct
from pathlib import Path
from typing import Final, Literal

from crewdesk.errors import JournalError

FORMAT: Final = 1
"""Version of the tables, kept in ``user_version``."""

APPLICATION_ID: Final = 0x43524457
"""The letters CRDW in the file header: tells a day book from any other SQLite file."""

ENTRY_VERSION: Final = 1
"""Newest version of an entry's body that this program reads."""

SQLITE_MAGIC: Final = b"SQLite format 3\x00"

COLUMNS: Final = (
    "seq",
    "id",
    "desk",
    "desk_seq",
    "after",
    "at_utc",
    "clock_offset_s",
    "kind",
    "version",
    "body",
)
SELECT: Final = "SELECT " + ", ".join(f"entry.{name}" for name in COLUMNS) + ", seal.sha256"
SELECT_FROM: Final = f"{SELECT} FROM entry LEFT JOIN seal ON seal.seq = entry.seq"

TRIGGERS: Final = (
    "entry_keeps_its_words",
    "entry_stays",
    "seal_keeps_its_words",
    "seal_stays",
)

TABLES: Final = f"""
CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT;
CREATE TABLE entry (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    desk TEXT NOT NULL,
    desk_seq INTEGER NOT NULL CHECK (desk_seq > 0),
    after TEXT NOT NULL CHECK (json_valid(after)),
    at_utc TEXT NOT NULL,
    clock_offset_s REAL NOT NULL,
    kind TEXT NOT NULL,
    version INTEGER NOT NULL,
    body TEXT NOT NULL CHECK (json_valid(body))
) STRICT;
CREATE INDEX entry_by_desk ON entry (desk, desk_seq);
CREATE TABLE seal (seq INTEGER PRIMARY KEY, sha256 TEXT NOT NULL) STRICT;
CREATE TABLE writer (
    one INTEGER PRIMARY KEY CHECK (one = 1),
    token TEXT NOT NULL,
    desk TEXT NOT NULL,
    host TEXT NOT NULL,
    pid INTEGER NOT NULL,
    since_utc TEXT NOT NULL
) STRICT;
CREATE TRIGGER {TRIGGERS[0]} BEFORE UPDATE ON entry
BEGIN SELECT RAISE(ABORT, 'an entry of the day book is never edited'); END;
CREATE TRIGGER {TRIGGERS[1]} BEFORE DELETE ON entry
BEGIN SELECT RAISE(ABORT, 'an entry of the day book is never deleted'); END;
CREATE TRIGGER {TRIGGERS[2]} BEFORE UPDATE ON seal
BEGIN SELECT RAISE(ABORT, 'a check sum of the day book is never edited'); END;
CREATE TRIGGER {TRIGGERS[3]} BEFORE DELETE ON seal
BEGIN SELECT RAISE(ABORT, 'a check sum of the day book is never deleted'); END;
PRAGMA application_id = {APPLICATION_ID};
PRAGMA user_version = {FORMAT};
"""

KEPT: Final = "Every entry that was acknowledged before is kept."


class BookDamaged(JournalError):  # noqa: N818
    """The file of a book is not whole."""


def seal_of(row: tuple[object, ...]) -> str:
    """Return the check sum over the ten columns of an entry."""
    text = "\x1f".join(str(value) for value in row)
    return hashlib.sha256(text.encode()).hexdigest()


def connect(path: Path, mode: Literal["ro", "rw", "immutable"]) -> sqlite3.Connection:
    """Open an existing file; nothing is created and nothing is written by opening it."""
    query = "mode=ro&immutable=1" if mode == "immutable" else f"mode={mode}"
    return sqlite3.connect(
        f"{path.resolve().as_uri()}?{query}", uri=True, isolation_level=None, timeout=5.0
    )


def connect_to_read(path: Path) -> sqlite3.Connection:
    """Open a book to read it, also on a medium that cannot be written."""
    connection = connect(path, "ro")
    try:
        connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    except sqlite3.OperationalError as error:
        connection.close()
        wal = path.with_name(path.name + "-wal")
        unopened = primary_code(error) in {sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY}
        if not unopened or (wal.exists() and wal.stat().st_size > 0):
            raise
        connection = connect(path, "immutable")
    return connection


def primary_code(error: sqlite3.Error) -> int:
    """Return SQLite's own number of a fault without its finer part; 0 where it gave none."""
    code: int = getattr(error, "sqlite_errorcode", 0) or 0
    return code & 0xFF


def check_header(path: Path) -> None:
    """Refuse a missing, foreign or newer file from its first 100 bytes, before any opening.

    Raises
    ------
    BookDamaged
        Where the file is too short or does not begin as such a file must.
    JournalError
        Where there is no file, or a newer program wrote it, or it is no day book.
    """
    try:
        with path.open("rb") as file:
            head = file.read(100)
    except OSError as error:
        raise in_words(error, path, "read") from error
    if len(head) < 100 or not head.startswith(SQLITE_MAGIC):
        raise BookDamaged(
            f"{path} does not begin as a day book must.",
            hint="It is left as it is. Look at its sound part, or open the last saved copy.",
        )
    user_version, application_id = struct.unpack(">i4xi", head[60:72])
    check_versions(path, application_id, user_version)


def check_versions(path: Path, application_id: int, user_version: int) -> None:
    """Refuse a file that is no day book, or that a newer program wrote."""
    if application_id != APPLICATION_ID:
        raise JournalError(
            f"{path} is not a day book.",
            hint="Nothing was changed. Choose the day book's file.",
        )
    if user_version > FORMAT:
        raise JournalError(
            f"{path} was written by a newer crewdesk (layout {user_version}; this one reads "
            f"up to {FORMAT}).",
            hint="Nothing was changed. Open it with the newer program.",
        )


def check_whole(connection: sqlite3.Connection, path: Path) -> None:
    """Refuse a book whose pages do not hold together.

    Raises
    ------
    BookDamaged
        With the first thing SQLite found.
    """
    try:
        (application_id,) = connection.execute("PRAGMA application_id").fetchone()
        (user_version,) = connection.execute("PRAGMA user_version").fetchone()
        check_versions(path, application_id, user_version)
        (found,) = connection.execute("PRAGMA quick_check(1)").fetchone()
    except sqlite3.DatabaseError as error:
        raise in_words(error, path, "read") from error
    if found != "ok":
        raise damaged(path, str(found))


def damaged(path: Path, found: str) -> BookDamaged:
    """Return the words for a book that is not whole."""
    error = BookDamaged(
        f"The day book {path} is damaged.",
        hint="It is left as it is. Look at its sound part, or open the last saved copy.",
    )
    error.add_note(found)  # for the log; no crew can do anything with it
    return error


def in_words(error: sqlite3.Error | OSError, path: Path, doing: str) -> JournalError:
    """Return the plain words for what the disk or the database answered."""
    if isinstance(error, sqlite3.Error):
        return _database_words(error, path, doing)
    if isinstance(error, FileNotFoundError):
        return JournalError(
            f"There is no day book at {path}.", hint="Check the folder and the file name."
        )
    if isinstance(error, (FileExistsError,)):
        return JournalError(f"{path} is there already.", hint="It was not changed.")
    reason = error.strerror or str(error)
    return JournalError(
        f"The day book {path} could not be {_DONE.get(doing, doing)}: {reason}.",
        hint=f"{KEPT} Choose a folder that can be written, or free the disk.",
    )


_DONE: Final = {"write": "written", "read": "read", "create": "created", "copy": "copied"}


def _database_words(error: sqlite3.Error, path: Path, doing: str) -> JournalError:
    done = _DONE.get(doing, doing)
    code = primary_code(error)
    if code in {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB}:
        return damaged(path, str(error))
    if code == sqlite3.SQLITE_FULL:
        return JournalError(
            f"The disk is full: the day book {path} could not be {done}.",
            hint=f"Free some space, then enter it again. {KEPT}",
        )
    if code in {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}:
        return JournalError(
            f"Another program holds the day book {path}; it could not be {done}.",
            hint=f"{KEPT} Close the other program (a backup or sync tool?), then try again.",
        )
    if code in {sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM, sqlite3.SQLITE_CANTOPEN}:
        return JournalError(
            f"The day book {path} could not be {done}: "
            "the file or its folder cannot be written.",
            hint=f"{KEPT} Make the folder writable, or save a copy elsewhere and use that.",
        )
    return JournalError(
        f"The day book {path} could not be {done} ({error}).",
        hint=f"{KEPT} Look whether the disk is still there, then try again.",
    )
