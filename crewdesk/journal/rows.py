"""Rows of the book turned into entries, with plain words where that cannot be."""

import json
import sqlite3
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from crewdesk.errors import JournalError
from crewdesk.journal import layout
from crewdesk.journal.entries import ENTRY_ADAPTER, StoredEntry

KINDS: frozenset[str] = frozenset(
    variant for variant in ENTRY_ADAPTER.json_schema()["discriminator"]["mapping"]
)
"""The kinds of entries that this program knows."""


def instant_text(instant: datetime) -> str:
    """Return an instant as the book keeps it."""
    return instant.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def row_fault(row: Sequence[Any]) -> str:
    """Return what is wrong with a row by its check sum; empty: it is as it was written."""
    *columns, seal = row
    if seal is None:
        return "its check sum is missing"
    if layout.seal_of(tuple(columns)) != seal:
        return "it is not as it was written"
    return ""


def entry_of(row: Sequence[Any], path: Path) -> StoredEntry:
    """Return the entry of a row.

    Raises
    ------
    BookDamaged
        Where the row is not as it was written.
    JournalError
        Where a newer program wrote it.
    """
    fault = row_fault(row)
    if fault:
        raise layout.damaged(path, f"entry {row[0]}: {fault}")
    return unsealed_entry(row, path)


def unsealed_entry(row: Sequence[Any], path: Path) -> StoredEntry:
    """Return the entry of a row whose check sum has been looked at already."""
    seq, new_id, desk, desk_seq, after, at_utc, offset_s, kind, version, body = row[:10]
    refuse_newer(path, seq, kind, version)
    try:
        return StoredEntry(
            seq=seq,
            id=new_id,
            desk=desk,
            desk_seq=desk_seq,
            after=tuple(json.loads(after)),
            at_utc=datetime.fromisoformat(at_utc),
            clock_offset_s=offset_s,
            kind=kind,
            version=version,
            body=ENTRY_ADAPTER.validate_json(body),
        )
    except (ValidationError, ValueError, TypeError) as error:
        raise layout.damaged(path, f"entry {seq} cannot be read as {kind}") from error


def refuse_newer(path: Path, seq: int, kind: str, version: int) -> None:
    """Refuse an entry of a kind or a version that only a newer program can have written."""
    if kind in KINDS and version <= layout.ENTRY_VERSION:
        return
    what = f"version {version} of '{kind}'" if kind in KINDS else f"of the kind '{kind}'"
    raise JournalError(
        f"Entry {seq} of the day book {path} is {what}, which this crewdesk does not know: "
        "a newer one wrote it.",
        hint="Nothing was changed. Open the book with the newer program.",
    )


def tables_of(connection: sqlite3.Connection, kind: str) -> frozenset[str]:
    """Return the names of the tables or triggers of a book."""
    rows = connection.execute("SELECT name FROM sqlite_schema WHERE type = ?", (kind,))
    return frozenset(str(name) for (name,) in rows)
