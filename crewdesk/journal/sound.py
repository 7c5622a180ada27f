"""What can still be read of a damaged book; the file itself is never written."""

import shutil
import sqlite3
import tempfile
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from crewdesk.journal import layout
from crewdesk.journal.entries import StoredEntry
from crewdesk.journal.pages import table_rows
from crewdesk.journal.rows import unsealed_entry

_COLUMNS = ", ".join(layout.COLUMNS)
_UNREAD = (sqlite3.DatabaseError, UnicodeDecodeError)


@dataclass(frozen=True)
class SoundPart:
    """What could be read of a damaged book."""

    path: Path
    event_id: str
    """Empty where it could not be read."""
    entries: tuple[StoredEntry, ...]
    missing: tuple[str, ...]
    """Plain words for what is not there; empty: the book is whole."""


@dataclass
class _Found:
    """Rows and check sums, from wherever they could be read."""

    rows: dict[int, tuple[Any, ...]] = field(default_factory=dict)
    seals: dict[int, set[str]] = field(default_factory=lambda: defaultdict(set))
    event_id: str = ""
    whole: bool = False
    """The end of the table was reached."""

    def sound(self, seq: int) -> bool:
        """Say whether an entry is as it was written."""
        row = self.rows.get(seq)
        return row is not None and layout.seal_of(row) in self.seals.get(seq, ())

    def last_seq(self) -> int:
        """Return how far anything reaches."""
        return max((*self.rows, *self.seals), default=0)


def open_sound_part(path: Path) -> SoundPart:
    """Read as much of a damaged book as is sound; the file itself is never written.

    Only entries that carry the check sum they were written with are given back.

    Raises
    ------
    JournalError
        Where there is no such file, it is no day book, or a newer program wrote it.
    """
    path = Path(path)
    head = ""
    try:
        layout.check_header(path)
    except layout.BookDamaged as error:
        head = error.message
    wal = path.with_name(path.name + "-wal")
    found = _Found()
    try:
        content = path.read_bytes()
        log = wal.read_bytes() if wal.exists() else b""
        if not head:
            _read_by_table(path, wal, found)
    except OSError as error:
        raise layout.in_words(error, path, "read") from error
    if not found.whole or not all(found.sound(n) for n in range(1, found.last_seq() + 1)):
        _read_by_page(content, log, found)
    return _told(path, found, [head] if head else [])


def _told(path: Path, found: _Found, missing: list[str]) -> SoundPart:
    entries: list[StoredEntry] = []
    for seq in sorted(found.rows):
        if not found.sound(seq):
            missing.append(f"Entry {seq} is left out: it is not as it was written.")
            continue
        try:
            entries.append(unsealed_entry(found.rows[seq], path))
        except layout.BookDamaged:
            missing.append(f"Entry {seq} is left out: it cannot be read.")
    absent = (n for n in range(1, found.last_seq() + 1) if n not in found.rows)
    missing += [
        f"Entries {first} to {end} cannot be read."
        if end > first
        else f"Entry {first} cannot be read."
        for first, end in _runs(absent)
    ]
    if not found.whole:
        behind = f"behind entry {entries[-1].seq}" if entries else "in it"
        missing.append(f"What stood {behind}, if anything, cannot be told.")
    if not found.event_id:
        missing.append("The number of the event cannot be read.")
    return SoundPart(path, found.event_id, tuple(entries), tuple(missing))


def _read_by_table(path: Path, wal: Path, found: _Found) -> None:
    """Let SQLite read a copy: forwards, backwards, then entry by entry."""
    with tempfile.TemporaryDirectory(prefix="crewdesk-") as folder:
        copy = Path(folder) / "copy.daybook"
        shutil.copyfile(path, copy)
        if wal.exists():
            shutil.copyfile(wal, copy.with_name(copy.name + "-wal"))
        connection = layout.connect(copy, "rw")
        try:
            # Without this SQLite refuses a file that is shorter than its header says.
            connection.execute("PRAGMA writable_schema = ON")
            _read_seals(connection, found)
            found.whole = _read_entries(connection, found, "ORDER BY seq ASC")
            if not found.whole:
                before = found.last_seq()
                _read_entries(connection, found, "ORDER BY seq DESC")
                found.whole = max(found.rows, default=0) >= before > 0
                for seq in range(1, found.last_seq() + 1):
                    if seq not in found.rows:
                        _read_entries(connection, found, f"WHERE seq = {seq}")
            found.event_id = _event_id(connection)
        except _UNREAD:
            return
        finally:
            connection.close()


def _read_entries(connection: sqlite3.Connection, found: _Found, which: str) -> bool:
    try:
        for row in connection.execute(f"SELECT {_COLUMNS} FROM entry {which}"):  # noqa: S608
            found.rows[row[0]] = row
    except _UNREAD:
        return False
    return True


def _read_seals(connection: sqlite3.Connection, found: _Found) -> None:
    for way in ("ASC", "DESC"):
        try:
            for seq, seal in connection.execute(
                f"SELECT seq, sha256 FROM seal ORDER BY seq {way}"  # noqa: S608
            ):
                found.seals[seq].add(seal)
        except _UNREAD:
            continue
        return


def _event_id(connection: sqlite3.Connection) -> str:
    try:
        row = connection.execute("SELECT value FROM meta WHERE key = 'event_id'").fetchone()
    except _UNREAD:
        return ""
    return str(row[0]) if row else ""


def _read_by_page(content: bytes, log: bytes, found: _Found) -> None:
    """Look on every page for rows that SQLite did not find; check sums tell which are whole."""
    candidates: list[tuple[Any, ...]] = []
    for rowid, values in table_rows(content, log):
        if len(values) == len(layout.COLUMNS) and values[0] is None:
            # A whole number in a column of reals is kept as an integer.
            offset = values[6]
            real = float(offset) if isinstance(offset, int) else offset
            candidates.append((rowid, *values[1:6], real, *values[7:]))
        elif len(values) == 2 and values[0] is None and _is_sum(values[1]):
            found.seals[rowid].add(str(values[1]))
        elif len(values) == 2 and values[0] == "event_id" and not found.event_id:
            found.event_id = str(values[1])
    for row in candidates:
        if not found.sound(row[0]) and layout.seal_of(row) in found.seals.get(row[0], ()):
            found.rows[row[0]] = row


def _is_sum(value: object) -> bool:
    return isinstance(value, str) and len(value) == 64


def _runs(numbers: Iterable[int]) -> Iterator[tuple[int, int]]:
    """Yield the first and last of each run of whole numbers without a hole."""
    run: list[int] = []
    for number in numbers:
        if run and number != run[-1] + 1:
            yield run[0], run[-1]
            run = []
        run.append(number)
    if run:
        yield run[0], run[-1]
