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


@dataclass
class NoticeBoard:
    """What stands in the bottom line: a ``stops`` stays until it was seen."""

    log: list[Notice] = field(default_factory=list)
    _unseen: Notice | None = None

    def post(self, notice: Notice) -> None:
        """Take a message."""
        self.log.append(notice)
        if notice.level == "stops":
            self._unseen = notice

    def seen(self) -> None:
        """Take down what stays until it was seen."""
        self._unseen = None

    @property
    def waiting(self) -> bool:
        """Whether a message waits to be seen."""
        return self._unseen is not None

    @property
    def shown(self) -> Notice | None:
        """Return the message to show."""
        if self._unseen is not None:
            return self._unseen
        return self.log[-1] if self.log else None
