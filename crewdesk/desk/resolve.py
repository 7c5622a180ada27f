"""What the entries of a book come to once undo, corrections and answers are laid over them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from pydantic import ValidationError

from crewdesk.journal.entries import (
    ENTRY_ADAPTER,
    Answer,
    AnyEntry,
    Correction,
    StoredEntry,
    Undo,
)

REWRITING_KINDS = frozenset({"undo", "correction", "answer"})
"""Kinds that change what earlier entries say, so that the fold starts again."""

_NEVER_UNDONE = frozenset({"documents_opened", "undo", "clock_offset"})


@dataclass(frozen=True)
class Resolved:
    """The entries still standing, in order, with what undo and redo would take."""

    entries: tuple[StoredEntry, ...]
    undoable: str | None
    redoable: str | None
    answered: frozenset[str] = field(default_factory=frozenset)
    """Ids of entries that an answer or a correction was laid over."""


def overlaid(body: AnyEntry, values: Mapping[str, Any]) -> AnyEntry:
    """Return an entry with fields replaced; a field that is a table takes single cells.

    Raises
    ------
    pydantic.ValidationError
        Where the result is not an entry of that kind.
    """
    raw = body.model_dump()
    for name, value in values.items():
        old = raw.get(name)
        if isinstance(old, dict) and isinstance(value, Mapping):
            raw[name] = {**old, **value}
        else:
            raw[name] = value
    return ENTRY_ADAPTER.validate_python(raw)


def undone_ids(entries: Sequence[StoredEntry]) -> set[str]:
    """Return the ids of the entries taken back; an undo that is taken back undoes nothing."""
    dead: set[str] = set()
    for entry in reversed(entries):
        if isinstance(entry.body, Undo) and entry.id not in dead:
            dead.add(entry.body.target_id)
    return dead


def undo_stacks(entries: Sequence[StoredEntry]) -> tuple[list[str], list[str]]:
    """Return the ids that undo and redo would name next, each the last of its list."""
    undo: list[str] = []
    redo: list[str] = []
    meant: dict[str, str] = {}
    for entry in entries:
        if isinstance(entry.body, Undo):
            target = entry.body.target_id
            if target in meant:
                if target in redo:
                    redo.remove(target)
                undo.append(meant[target])
            else:
                if target in undo:
                    undo.remove(target)
                meant[entry.id] = target
                redo.append(entry.id)
        elif entry.kind not in _NEVER_UNDONE:
            undo.append(entry.id)
            redo.clear()
    return undo, redo


def resolve(entries: Sequence[StoredEntry]) -> Resolved:
    """Return the standing entries with corrections and answers laid over them."""
    dead = undone_ids(entries)
    patches: dict[str, list[Mapping[str, Any]]] = {}
    for entry in entries:
        if entry.id in dead:
            continue
        if isinstance(entry.body, Correction):
            patches.setdefault(entry.body.target_id, []).append(entry.body.values)
        elif isinstance(entry.body, Answer):
            patches.setdefault(entry.body.question_id, []).append(entry.body.values)
    standing = []
    for entry in entries:
        if entry.id in dead or entry.kind in REWRITING_KINDS:
            continue
        body = entry.body
        for values in patches.get(entry.id, ()):
            try:
                body = overlaid(body, values)
            except ValidationError:  # kept in the book, but it cannot be laid over
                continue
        standing.append(
            entry if body is entry.body else entry.model_copy(update={"body": body})
        )
    undo, redo = undo_stacks(entries)
    return Resolved(
        entries=tuple(standing),
        undoable=undo[-1] if undo else None,
        redoable=redo[-1] if redo else None,
        answered=frozenset(patches),
    )
