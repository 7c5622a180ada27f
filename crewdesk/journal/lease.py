"""The right to write a day book: one writer at a time, free again when its process dies."""

import contextlib
import os
import socket
import sqlite3
import sys
from dataclasses import dataclass
from datetime import UTC, datetime
from io import BufferedRandom
from pathlib import Path
from uuid import uuid4

from crewdesk.errors import JournalError

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl


@dataclass(frozen=True)
class Writer:
    """Who writes a book, and since when."""

    token: str
    desk: str
    host: str
    pid: int
    since_utc: datetime

    def words(self) -> str:
        """Return who and when for a message."""
        return (
            f"desk {self.desk} on {self.host} (process {self.pid}), "
            f"since {self.since_utc:%Y-%m-%d %H:%M} UTC"
        )


class BookBusy(JournalError):  # noqa: N818
    """Somebody else writes the book.

    Parameters
    ----------
    path : Path
        The book.
    writer : Writer
        Who and since when.
    """

    def __init__(self, path: Path, writer: Writer) -> None:
        super().__init__(
            f"The day book {path} is being written by {writer.words()}.",
            hint="Open it to read along, or take it over from there.",
        )
        self.writer = writer


class BookTakenOver(JournalError):  # noqa: N818
    """The right to write went to another desk; nothing was written.

    Parameters
    ----------
    path : Path
        The book.
    writer : Writer or None
        Who has it now.
    """

    def __init__(self, path: Path, writer: Writer | None) -> None:
        who = writer.words() if writer else "another desk"
        super().__init__(
            f"The day book {path} was taken over by {who}. This entry was not written.",
            hint="Enter it at the other desk, or take the book back.",
        )
        self.writer = writer


class Lease:
    """One claim: a row in the book, and a locked file beside it that dies with the process.

    The row says who may write and is looked at inside every writing transaction, so there are
    never two writers. The file only tells whether the process behind the row still lives.
    """

    def __init__(self, path: Path, desk: str) -> None:
        self.path = path
        self.writer = Writer(
            token=uuid4().hex,
            desk=desk,
            host=socket.gethostname(),
            pid=os.getpid(),
            since_utc=datetime.now(UTC),
        )
        self._file: BufferedRandom | None = None

    def claim(self, connection: sqlite3.Connection, *, take_over: bool) -> None:
        """Become the writer.

        Raises
        ------
        BookBusy
            Where a living process writes the book and it is not to be taken over.
        """
        try:
            # Markers are made and swept only inside a writing transaction, one desk at a time.
            connection.execute("BEGIN IMMEDIATE")
            if not take_over:
                self._refuse_if_busy(current_writer(connection))
            _sweep(self.path)
            self._file = _lock_file(self.path, self.writer.token).open("w+b")
            _lock(self._file)
            connection.execute("DELETE FROM writer")
            connection.execute(
                "INSERT INTO writer VALUES (1, ?, ?, ?, ?, ?)",
                (
                    self.writer.token,
                    self.writer.desk,
                    self.writer.host,
                    self.writer.pid,
                    self.writer.since_utc.isoformat(),
                ),
            )
            connection.execute("COMMIT")
        except BaseException:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            self._let_go()
            raise

    def _refuse_if_busy(self, present: Writer | None) -> None:
        if present is not None and _is_alive(self.path, present.token):
            raise BookBusy(self.path, present)

    def check(self, connection: sqlite3.Connection) -> None:
        """Refuse to write where the right has gone elsewhere; call inside a transaction."""
        present = current_writer(connection)
        if present is None or present.token != self.writer.token:
            raise BookTakenOver(self.path, present)

    def release(self, connection: sqlite3.Connection) -> None:
        """Give the right back, if it is still ours."""
        # A book that cannot be written any more still has to be closed without a word.
        with contextlib.suppress(sqlite3.Error):
            connection.execute("DELETE FROM writer WHERE token = ?", (self.writer.token,))
        self._let_go()

    def _let_go(self) -> None:
        if self._file is not None:
            self._file.close()
            self._file = None
            _lock_file(self.path, self.writer.token).unlink(missing_ok=True)


def current_writer(connection: sqlite3.Connection) -> Writer | None:
    """Return who holds the right to write, alive or not."""
    row = connection.execute("SELECT token, desk, host, pid, since_utc FROM writer").fetchone()
    if row is None:
        return None
    return Writer(row[0], row[1], row[2], row[3], datetime.fromisoformat(row[4]))


def living_writer(connection: sqlite3.Connection, path: Path) -> Writer | None:
    """Return who holds the right to write, if that process lives."""
    present = current_writer(connection)
    return present if present is not None and _is_alive(path, present.token) else None


def _lock_file(path: Path, token: str) -> Path:
    return path.with_name(f"{path.name}-writer-{token[:12]}")


def _sweep(path: Path) -> None:
    """Remove what dead processes left beside the book."""
    for marker in list(path.parent.iterdir()):
        if marker.name.startswith(f"{path.name}-writer-"):
            _is_alive(path, marker.name.rpartition("-")[2])


def _lock(file: BufferedRandom) -> None:
    """Lock a file or raise OSError where another holds it."""
    if sys.platform == "win32":
        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
    else:
        fcntl.flock(file.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)


def _is_alive(path: Path, token: str) -> bool:
    """Say whether the process behind a claim still holds its file; sweep up a dead one's."""
    marker = _lock_file(path, token)
    try:
        file = marker.open("r+b")
    except FileNotFoundError:
        return False
    except OSError:
        return True
    with file:
        try:
            _lock(file)
        except OSError:
            return True
    with contextlib.suppress(OSError):
        marker.unlink()
    return False
