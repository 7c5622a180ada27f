"""What every rule is: a name, a code, its clause in words, when it is asked, and its check."""

from abc import ABC, abstractmethod
from collections.abc import Iterable
from datetime import UTC, datetime, tzinfo
from typing import ClassVar

from crewdesk.regulations.fitting import FittingCase, When
from crewdesk.regulations.rulebook import Level, Message


class Rule(ABC):
    """One rule. It has no state; the same case always gets the same messages."""

    name: ClassVar[str]
    code: ClassVar[str]
    clause: ClassVar[str]
    """What the rule asks, in words for the crew."""
    when: ClassVar[frozenset[When]]
    field: ClassVar[str] = ""
    """Field of the rulebook that it rests on, to name where the value came from."""

    @abstractmethod
    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Return what the rule has to say, nothing where no breach is found."""

    @abstractmethod
    def example_pass(self) -> FittingCase:
        """Return a case that the rule has nothing to say about."""

    @abstractmethod
    def example_fail(self) -> FittingCase:
        """Return a case that the rule speaks up about."""

    def says(
        self, case: FittingCase, level: Level, text: str, **values: object
    ) -> tuple[Message, ...]:
        """Return one message, with the source of the value where the crew typed one."""
        source = case.rules.sources.get(self.field, "")
        if source:
            text = f"{text} (Source: {source}.)"
            values["source"] = source
        return (Message(code=self.code, level=level, text=text, values=values),)


def moments(*names: When) -> frozenset[When]:
    """Return the moments at which a rule is asked."""
    return frozenset(names)


def listed(words: Iterable[str], *, most: int = 8) -> str:
    """Return words with commas, cut off after a few with how many more there are."""
    known = list(words)
    text = ", ".join(known[:most])
    return f"{text} and {len(known) - most} more" if len(known) > most else text or "none"


def bar(pressure_kpa: float) -> str:
    """Return a pressure as the screen shows it."""
    return f"{pressure_kpa / 100:.2f} bar"


def minutes(time_min: float) -> str:
    """Return minutes without a needless point."""
    return f"{time_min:g} min"


def clock(instant: datetime, zone: tzinfo | None) -> str:
    """Return the time of day in the event's zone; UTC, and so said, where none is given.

    A time without a zone is taken to be the event's own already.
    """
    if instant.tzinfo is None:
        return f"{instant:%H:%M}"
    local = instant.astimezone(zone or UTC)
    return f"{local:%H:%M}" if zone else f"{local:%H:%M} UTC"
