"""The day book: one file for each event, to which entries are only ever added."""

import json
import sqlite3
from collections.abc import Sequence
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Self
from uuid import UUID, uuid4

from crewdesk.errors import JournalError
from crewdesk.journal import layout
from crewdesk.journal.check import VerifyReport, verify
from crewdesk.journal.entries import AnyEntry, StoredEntry
from crewdesk.journal.files import backup_copy, default_book_path, lay_out, put_in_place
from crewdesk.journal.layout import BookDamaged
from crewdesk.journal.lease import BookBusy, BookTakenOver, Lease, Writer, living_writer
from crewdesk.journal.merge import export_jsonl, merge, read_jsonl
from crewdesk.journal.rows import entry_of, instant_text
from crewdesk.journal.sound import SoundPart, open_sound_part

__all__ = [
    "Book",
    "BookBusy",
    "BookDamaged",
    "BookTakenOver",
    "SoundPart",
    "VerifyReport",
    "backup_copy",
    "default_book_path",
    "export_jsonl",
    "merge",
    "open_sound_part",
    "read_jsonl",
    "verify",
]

_INSERT = f"INSERT INTO entry ({', '.join(layout.COLUMNS)}) VALUES (?,?,?,?,?,?,?,?,?,?)"  # noqa: S608


class Book:
    """An open day book; stays on the thread that opened it.

    Use :meth:`create`, :meth:`open` or :meth:`open_or_create`, and close it (or use it in a
    ``with`` block).
    """

    def __init__(
        self, path: Path, connection: sqlite3.Connection, desk: str, lease: Lease | None
    ) -> None:
        self.path = path
        self.desk = desk
        self._connection = connection
        self._lease = lease
        self._closed = False
        self.event_id = self._meta("event_id")
        self.book_id = self._meta("book_id")

    @classmethod
    def create(cls, path: Path, *, event_id: UUID | str, desk: str) -> Self:
        """Make the file of a new book and open it to write.

        Raises
        ------
        JournalError
            Where something is there already, or the folder cannot be written.
        """
        path = Path(path)
        fresh = path.with_name(f".{path.name}-{uuid4().hex[:8]}")
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            if path.exists():
                raise JournalError(
                    f"There is a file at {path} already.",
                    hint="It was not changed. Open it, or choose another name.",
                )
            fresh.touch(exist_ok=False)
            lay_out(fresh, str(event_id))
            put_in_place(fresh, path)
        except (OSError, sqlite3.Error) as error:
            raise layout.in_words(error, path, "create") from error
        finally:
            with suppress(OSError):
                fresh.unlink(missing_ok=True)
        return cls.open(path, desk=desk)

    @classmethod
    def open(
        cls, path: Path, *, desk: str, read_only: bool = False, take_over: bool = False
    ) -> Self:
        """Open a book to write, or only to read it and follow it live.

        Parameters
        ----------
        path : Path
            The file.
        desk : str
            Name of this desk, unlike that of any other desk of the event.
        read_only : bool
            Read along while another desk writes.
        take_over : bool
            Write from here on, whoever wrote before; that desk finds out at its next entry.

        Raises
        ------
        BookBusy
            Where another living process writes it.
        BookDamaged
            Where the file is not whole; it is left as it is.
        JournalError
            Where it is missing, foreign, or written by a newer program.
        """
        path = Path(path)
        layout.check_header(path)
        try:
            reader = layout.connect_to_read(path)
        except sqlite3.Error as error:
            raise layout.in_words(error, path, "read") from error
        try:
            layout.check_whole(reader, path)
            if read_only:
                return cls(path, reader, desk, None)
        except BaseException:
            reader.close()
            raise
        reader.close()
        try:
            connection = layout.connect(path, "rw")
            try:
                connection.execute("PRAGMA journal_mode = WAL")
                # With NORMAL a power cut can lose the last commits (SQLite, "synchronous").
                connection.execute("PRAGMA synchronous = FULL")
                lease = Lease(path, desk)
                lease.claim(connection, take_over=take_over)
            except BaseException:
                connection.close()
                raise
        except (OSError, sqlite3.Error) as error:
            raise layout.in_words(error, path, "write") from error
        return cls(path, connection, desk, lease)

    @classmethod
    def open_or_create(
        cls, path: Path, *, event_id: UUID | str, desk: str, take_over: bool = False
    ) -> Self:
        """Open the book of an event to write, making it where there is none.

        Raises
        ------
        JournalError
            Also where the file belongs to another event.
        """
        if not Path(path).exists():
            return cls.create(path, event_id=event_id, desk=desk)
        book = cls.open(path, desk=desk, take_over=take_over)
        if book.event_id != str(event_id):
            other = book.event_id
            book.close()
            raise JournalError(
                f"The day book {path} belongs to another event (number {other}).",
                hint="Nothing was written. Choose the book of this event, or a new name.",
            )
        return book

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @property
    def read_only(self) -> bool:
        """Say whether this desk may not write (any more)."""
        return self._lease is None

    @property
    def writer(self) -> Writer | None:
        """Return who writes the book now; None: nobody, or a process that has died."""
        return living_writer(self._connection, self.path)

    def append(
        self, body: AnyEntry, *, at_utc: datetime | None = None, clock_offset_s: float = 0.0
    ) -> StoredEntry:
        """Add one entry; it is on the disk when this returns.

        Parameters
        ----------
        body : AnyEntry
            What the crew entered.
        at_utc : datetime, optional
            The machine's clock, aware; now where left out.
        clock_offset_s : float
            True time less the machine's clock [s].

        Raises
        ------
        BookTakenOver
            Where another desk writes now; nothing was written.
        JournalError
            Where the disk or the file refuses; nothing was written.
        """
        return self.append_many([body], at_utc=at_utc, clock_offset_s=clock_offset_s)[0]

    def append_many(
        self,
        bodies: Sequence[AnyEntry],
        *,
        at_utc: datetime | None = None,
        clock_offset_s: float = 0.0,
    ) -> tuple[StoredEntry, ...]:
        """Add several entries together: all of them are on the disk, or none."""
        if self._lease is None or self._closed:
            raise JournalError(
                f"The day book {self.path} is open only to be read.",
                hint="Take it over to write, or enter it at the desk that writes.",
            )
        now = (at_utc or datetime.now(UTC)).astimezone(UTC)
        if at_utc is not None and at_utc.tzinfo is None:
            msg = "at_utc must be aware"
            raise ValueError(msg)
        for body in bodies:
            _check_aware(body)
        connection = self._connection
        try:
            connection.execute("BEGIN IMMEDIATE")
            try:
                self._lease.check(connection)
                stored = self._write(bodies, now, clock_offset_s)
                connection.execute("COMMIT")
            except BaseException:
                if connection.in_transaction:
                    connection.execute("ROLLBACK")
                raise
        except BookTakenOver:
            self._lease.release(connection)
            self._lease = None
            raise
        except sqlite3.Error as error:
            raise layout.in_words(error, self.path, "write") from error
        return stored

    def entries(self, after_seq: int = 0) -> tuple[StoredEntry, ...]:
        """Return the entries behind a place in the book, in order; poll it to follow live.

        Raises
        ------
        BookDamaged
            Where an entry does not carry the check sum it was written with.
        JournalError
            Where a newer program wrote an entry that this one does not know.
        """
        try:
            rows = self._connection.execute(
                f"{layout.SELECT_FROM} WHERE entry.seq > ? ORDER BY entry.seq", (after_seq,)
            ).fetchall()
        except sqlite3.Error as error:
            raise layout.in_words(error, self.path, "read") from error
        return tuple(entry_of(row, self.path) for row in rows)

    def last_seq(self) -> int:
        """Return the place of the last entry; 0 while the book is empty."""
        try:
            (last,) = self._connection.execute(
                "SELECT coalesce(max(seq), 0) FROM entry"
            ).fetchone()
        except sqlite3.Error as error:
            raise layout.in_words(error, self.path, "read") from error
        return int(last)

    def close(self) -> None:
        """Give the right to write back and close the file; again does nothing."""
        if self._closed:
            return
        self._closed = True
        if self._lease is not None:
            self._lease.release(self._connection)
        self._connection.close()

    def _meta(self, key: str) -> str:
        row = self._connection.execute(
            "SELECT value FROM meta WHERE key = ?", (key,)
        ).fetchone()
        if row is None:
            self._connection.close()
            raise layout.damaged(self.path, f"its {key} is missing")
        return str(row[0])

    def _write(
        self, bodies: Sequence[AnyEntry], now: datetime, clock_offset_s: float
    ) -> tuple[StoredEntry, ...]:
        connection = self._connection
        seen = dict(
            connection.execute(
                "SELECT desk, id FROM entry "
                "WHERE seq IN (SELECT max(seq) FROM entry GROUP BY desk)"
            ).fetchall()
        )
        seq = self.last_seq()
        (desk_seq,) = connection.execute(
            "SELECT coalesce(max(desk_seq), 0) FROM entry WHERE desk = ?", (self.desk,)
        ).fetchone()
        stored = []
        for body in bodies:
            seq, desk_seq, new_id = seq + 1, desk_seq + 1, uuid4().hex
            after = [seen[desk] for desk in sorted(seen)]
            row = (
                seq,
                new_id,
                self.desk,
                desk_seq,
                json.dumps(after),
                instant_text(now),
                float(clock_offset_s),
                body.kind,
                layout.ENTRY_VERSION,
                body.model_dump_json(),
            )
            connection.execute(_INSERT, row)
            connection.execute("INSERT INTO seal VALUES (?, ?)", (seq, layout.seal_of(row)))
            seen[self.desk] = new_id
            stored.append(
                StoredEntry(
                    seq=seq,
                    id=new_id,
                    desk=self.desk,
                    desk_seq=desk_seq,
                    after=tuple(after),
                    at_utc=now,
                    clock_offset_s=float(clock_offset_s),
                    kind=body.kind,
                    version=layout.ENTRY_VERSION,
                    body=body,
                )
            )
        return tuple(stored)


def _check_aware(body: AnyEntry) -> None:
    for name in ("at", "time"):
        value = getattr(body, name, None)
        if isinstance(value, datetime) and value.tzinfo is None:
            msg = f"{body.kind}.{name} must be aware"
            raise ValueError(msg)
