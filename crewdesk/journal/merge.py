"""Books of one event put together, and entries as lines of text."""

import heapq
import json
from collections.abc import Iterable
from itertools import pairwise
from typing import TYPE_CHECKING

from pydantic import ValidationError

from crewdesk.errors import JournalError
from crewdesk.journal.entries import StoredEntry

if TYPE_CHECKING:
    from crewdesk.journal.book import Book


def merge(
    entries_a: Iterable[StoredEntry], entries_b: Iterable[StoredEntry]
) -> tuple[StoredEntry, ...]:
    """Return all entries of two books, each once, in an order that depends on nothing else.

    Raises
    ------
    JournalError
        Where the two hold different words under one id: that is shown, never guessed.

    Notes
    -----
    An entry stands behind every entry that its desk had seen when it was written (``after``)
    and behind the earlier entries of its own desk; among those that are free to come next, the
    one with the lowest (at_utc, desk, desk_seq, id) comes first. ``seq`` is counted anew from
    1. The order is a function of the set of entries alone, so merging is commutative,
    associative and idempotent.
    """
    by_id: dict[str, StoredEntry] = {}
    for entry in (*entries_a, *entries_b):
        known = by_id.setdefault(entry.id, entry)
        if known is not entry and _content(known) != _content(entry):
            raise JournalError(
                f"Two books hold different entries under the number {entry.id} "
                f"(desks {known.desk} and {entry.desk}, {entry.at_utc:%Y-%m-%d %H:%M} UTC).",
                hint="Nothing was put together. Compare the two books and keep the sound one.",
            )
    ordered = _in_order(by_id)
    return tuple(
        entry if entry.seq == seq else entry.model_copy(update={"seq": seq})
        for seq, entry in enumerate(ordered, start=1)
    )


def _content(entry: StoredEntry) -> StoredEntry:
    return entry.model_copy(update={"seq": 0})


def _in_order(by_id: dict[str, StoredEntry]) -> list[StoredEntry]:
    waits_for: dict[str, set[str]] = {
        key: {seen for seen in entry.after if seen in by_id} for key, entry in by_id.items()
    }
    by_desk: dict[str, list[StoredEntry]] = {}
    for entry in by_id.values():
        by_desk.setdefault(entry.desk, []).append(entry)
    for own in by_desk.values():
        own.sort(key=lambda entry: (entry.desk_seq, entry.id))
        for earlier, later in pairwise(own):
            if earlier.desk_seq < later.desk_seq:
                waits_for[later.id].add(earlier.id)
    followers: dict[str, list[str]] = {key: [] for key in by_id}
    for key, seen in waits_for.items():
        for earlier_id in seen:
            followers[earlier_id].append(key)

    free = [_rank(by_id[key]) for key, seen in waits_for.items() if not seen]
    heapq.heapify(free)
    ordered: list[StoredEntry] = []
    while free:
        entry = by_id[heapq.heappop(free)[-1]]
        ordered.append(entry)
        for key in followers[entry.id]:
            waits_for[key].discard(entry.id)
            if not waits_for[key]:
                heapq.heappush(free, _rank(by_id[key]))
    if len(ordered) < len(by_id):
        raise JournalError(
            f"{len(by_id) - len(ordered)} entries of the books claim to follow each other in "
            "a circle.",
            hint="Nothing was put together. Check both books (verify) and use saved copies.",
        )
    return ordered


def _rank(entry: StoredEntry) -> tuple[str, str, int, str]:
    return (entry.at_utc.isoformat(), entry.desk, entry.desk_seq, entry.id)


def export_jsonl(book: "Book | Iterable[StoredEntry]") -> str:
    """Return the entries of a book as lines of JSON, one entry a line, in order."""
    entries = book if isinstance(book, Iterable) else book.entries()
    return "".join(entry.model_dump_json() + "\n" for entry in entries)


def read_jsonl(text: str) -> tuple[StoredEntry, ...]:
    """Return the entries of lines that :func:`export_jsonl` wrote.

    Raises
    ------
    JournalError
        Naming the line that is not such an entry.
    """
    entries = []
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip():
            continue
        try:
            entries.append(StoredEntry.model_validate_json(line))
        except ValidationError as error:
            first = error.errors(include_url=False)[0]
            where = ".".join(str(part) for part in first["loc"]) or "the line"
            raise JournalError(
                f"Line {number} of the exported day book is not an entry: {where}: "
                f"{json.dumps(first['msg'])}.",
                hint="Export the book again with the same version of the program.",
            ) from error
    return tuple(entries)
