"""What is wrong in a document, in words fit for the crew, and the list that collects it."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from crewdesk.errors import DocumentError

SHOWN = 5
"""How many faults a message names before it only counts."""
VALUE_LENGTH = 40
"""Longest piece of a faulty value that is repeated to the crew."""


def quoted(value: object) -> str:
    """Return a value as found, short enough for a line and without control signs."""
    text = "".join(c if c.isprintable() else " " for c in str(value))
    if len(text) > VALUE_LENGTH:
        text = text[: VALUE_LENGTH - 3] + "..."
    return f'"{text}"'


@dataclass(frozen=True)
class Fault:
    """One fault: where it stands, what was found, what to do."""

    file: str
    what: str
    """What is wrong, with the thing and its value."""
    hint: str = ""
    """What is allowed or what to do."""
    where: str = ""
    """``row 3`` of a table (heading = 1) or the path in a JSON file."""
    column: str = ""
    value: str = ""

    @property
    def place(self) -> str:
        """Return file, row and column as one phrase."""
        head = f"{self.file} {self.where}".strip()
        return f"{head}, {self.column}" if self.column else head

    def __str__(self) -> str:
        return f"{self.place}: {self.what} {self.hint}".strip()


@dataclass
class Findings:
    """Faults, notes and assumptions gathered while the files are read."""

    faults: list[Fault] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    assumed: list[str] = field(default_factory=list)

    def fault(
        self,
        file: str,
        what: str,
        hint: str = "",
        *,
        where: str = "",
        column: str = "",
        value: object = "",
    ) -> None:
        """Add a fault."""
        self.faults.append(Fault(file, what, hint, where, column, str(value)))

    def note(self, text: str) -> None:
        """Add a note once."""
        if text not in self.notes:
            self.notes.append(text)

    def assume(self, text: str) -> None:
        """Add an assumption once."""
        if text not in self.assumed:
            self.assumed.append(text)


@dataclass(frozen=True)
class CheckReport:
    """All that a check of an event found."""

    faults: tuple[Fault, ...]
    notes: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    before: tuple[tuple[str, str, str], ...] = ()
    """Checks before the event: topic, level (stops, watch, note, holds), words."""
    cautions: tuple[str, ...] = ()
    """What belongs to them, where people can get hurt."""

    @property
    def ok(self) -> bool:
        """Return whether the event can be opened."""
        return not self.faults


def error_from(faults: Iterable[Fault], event: str) -> DocumentError:
    """Return the error that names the first five faults and counts the others."""
    found = list(faults)
    lines = [str(fault) for fault in found[:SHOWN]]
    more = len(found) - len(lines)
    if more > 0:
        lines.append(f"... and {more} more {'fault' if more == 1 else 'faults'}.")
    return DocumentError(
        f"{event} cannot be opened:\n" + "\n".join(lines),
        hint="Put this right and open the event again; check lists every fault."
        if len(found) > 1
        else "",
    )
