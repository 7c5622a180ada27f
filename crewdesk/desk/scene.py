"""The day before and after one entry, for whoever has something to say about it."""

from collections.abc import Iterable, Mapping
from typing import Any

from crewdesk.desk.case import base_case, facts_of
from crewdesk.desk.course import Course
from crewdesk.desk.replay import Fold
from crewdesk.desk.state import DayState
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.itinerary import ChangePlace
from crewdesk.regulations.fitting import FittingCase, When
from crewdesk.regulations.rulebook import Message
from crewdesk.regulations.rules import check_all
from crewdesk.units import Place

NOTE = "NOTE"
"""Code of a remark that no rule stands behind."""


class Scene:
    """The day before and after one entry."""

    def __init__(self, before: DayState, fold: Fold, after: DayState) -> None:
        self.before = before
        self.after = after
        self.fold = fold
        self.bundle: EventBundle = fold.ledger.bundle
        self.course: Course = fold.ledger.course

    def car(self) -> Mapping[Place, str | None]:
        """Return what is on the car now."""
        return self.after.fitted.tyres if self.after.fitted is not None else {}

    def ask(
        self,
        when: When,
        codes: Iterable[str],
        *,
        fresh: frozenset[str] = frozenset(),
        **values: Any,
    ) -> list[Message]:
        """Ask the rules and keep the messages of some codes."""
        facts = facts_of(self.bundle, self.after, fresh=fresh)
        base = {**base_case(self.bundle, self.after, facts), **values}
        wanted = frozenset(codes)
        found = check_all(FittingCase(**base), when)
        return [message for message in found if message.code in wanted]

    def place(self, word: str) -> ChangePlace | None:
        """Return the change place that a word names."""
        return self.course.place(word)
