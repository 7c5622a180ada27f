"""A book looked over: whether it is whole, and what is not."""

import json
import sqlite3
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from crewdesk.errors import JournalError
from crewdesk.journal import layout
from crewdesk.journal.rows import KINDS, row_fault, tables_of, unsealed_entry


@dataclass(frozen=True)
class VerifyReport:
    """What a look over a book found."""

    path: Path
    event_id: str
    entries: int
    last_seq: int
    faults: tuple[str, ...]
    """Plain words, one fault each; empty: none found."""

    @property
    def ok(self) -> bool:
        """Say whether no fault was found."""
        return not self.faults


def verify(path: Path) -> VerifyReport:
    """Look a book over without writing to it.

    Raises
    ------
    JournalError
        Where there is no such file, it is no day book, or a newer program wrote it.
    """
    path = Path(path)
    try:
        layout.check_header(path)
        connection = layout.connect_to_read(path)
    except layout.BookDamaged as error:
        return VerifyReport(path, "", 0, 0, (error.message,))
    except sqlite3.Error as error:
        return VerifyReport(path, "", 0, 0, (layout.in_words(error, path, "read").message,))
    try:
        return _verify(connection, path)
    except sqlite3.Error as error:
        return VerifyReport(path, "", 0, 0, (layout.in_words(error, path, "read").message,))
    finally:
        connection.close()


def _verify(connection: sqlite3.Connection, path: Path) -> VerifyReport:
    faults = [
        f"The pages do not hold together: {found}."
        for (found,) in connection.execute("PRAGMA integrity_check(20)")
        if found != "ok"
    ]
    absent = [name for name in layout.TRIGGERS if name not in tables_of(connection, "trigger")]
    if absent:
        faults.append(f"The guard against edits is missing ({', '.join(absent)}).")
    (event_id,) = connection.execute(
        "SELECT coalesce((SELECT value FROM meta WHERE key = 'event_id'), '')"
    ).fetchone()
    if not event_id:
        faults.append("The number of the event is missing.")
    rows = connection.execute(f"{layout.SELECT_FROM} ORDER BY entry.seq").fetchall()
    faults += _row_faults(rows, path)
    (seals,) = connection.execute("SELECT count(*) FROM seal").fetchone()
    if seals > len(rows):
        faults.append(
            f"{seals - len(rows)} entries are gone: their check sums are still there."
        )
    last = rows[-1][0] if rows else 0
    return VerifyReport(path, str(event_id), len(rows), last, tuple(faults))


def _row_faults(rows: list[tuple[Any, ...]], path: Path) -> list[str]:
    faults = []
    expected = 1
    for row in rows:
        seq, kind, version = row[0], row[7], row[8]
        if seq != expected:
            faults.append(f"Entries {expected} to {seq - 1} are missing.")
        expected = seq + 1
        damage = row_fault(row)
        if damage:
            faults.append(f"Entry {seq}: {damage}.")
        elif kind not in KINDS or version > layout.ENTRY_VERSION:
            faults.append(
                f"Entry {seq} is of a kind or version not known here: {kind} {version}."
            )
        else:
            try:
                unsealed_entry(row, path)
            except JournalError:
                faults.append(f"Entry {seq} cannot be read as {kind}.")
    for what, column in (("number", 1), ("count of its desk", None)):
        keys = [row[column] if column else (row[2], row[3]) for row in rows]
        for key, times in Counter(keys).items():
            if times > 1:
                faults.append(f"The {what} {key} stands {times} times.")
    known: set[str] = set()
    for row in rows:
        try:
            seen = set(json.loads(row[4]))
        except (ValueError, TypeError):
            seen = set()
        if seen - known:
            faults.append(f"Entry {row[0]} follows entries that are not in the book.")
        known.add(row[1])
    return faults
