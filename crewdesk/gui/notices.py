"""The notices of the bottom line: a word for the level, never a bare tint."""

from dataclasses import dataclass, field
from datetime import datetime
from typing import Final, Literal

NoticeLevel = Literal["done", "note", "watch", "stops"]

PREFIX: Final[dict[str, str]] = {
    "done": "✓ ",
    "note": "note: ",
    "watch": "⚠ watch: ",
    "stops": "■ stops: ",
}


@dataclass(frozen=True)
class Notice:
    """One message with its level and time."""

    level: NoticeLevel
    text: str
    at: datetime

    @property
    def words(self) -> str:
        """Return the message with its level as a word."""
        return PREFIX[self.level] + self.text


PUT_RIGHT: Final = frozenset({"as_found", "call_used", "fitting", "read_back"})
"""Entries that are made again, until nothing stops them; then what stopped is settled."""


@dataclass
class NoticeBoard:
    """What stands in the bottom line: a ``stops`` stays until it was seen."""

    log: list[Notice] = field(default_factory=list)
    _unseen: Notice | None = None
    _fact: Notice | None = None
    """What the book says since an entry was taken; typing on does not take it down."""
    _fact_kind: str = ""

    def post(self, notice: Notice) -> None:
        """Take a message."""
        self.log.append(notice)
        if notice.level == "stops":
            self._unseen = notice

    def stand(self, kind: str) -> None:
        """Let what was posted last stand as a fact of an entry of this kind."""
        self._fact, self._unseen = self._unseen, None
        self._fact_kind = kind

    def taken(self, kind: str) -> None:
        """Take down what an entry of this kind, with nothing that stops it, has put right."""
        self._unseen = None
        if kind in PUT_RIGHT and kind == self._fact_kind:
            self._fact = None

    def seen(self) -> None:
        """Take down what stays until it was seen."""
        if self._unseen is not None:
            self._unseen = None
        else:
            self._fact = None

    def clear(self) -> None:
        """Take down all that stays: an entry was taken back."""
        self._unseen = self._fact = None

    @property
    def waiting(self) -> bool:
        """Whether a message waits to be seen."""
        return self._unseen is not None or self._fact is not None

    @property
    def shown(self) -> Notice | None:
        """Return the message to show."""
        if self.waiting:
            return self._unseen or self._fact
        # One that stopped and was seen is gone; the last thing saved is told again.
        return next((one for one in reversed(self.log) if one.level != "stops"), None)
