"""What a page has worked out beside the call: asked once for each state of the day book."""

from typing import Any

from PySide6.QtCore import QObject, Signal, Slot

from crewdesk.gui.session import Session

NEVER = (0, -1)


class Aside(QObject):
    """One kind of question of one page; answers to what is no longer asked are dropped."""

    found = Signal(object)
    """What was worked out for the day book as it is; None: it could not be."""

    def __init__(self, session: Session, work: str, parent: QObject) -> None:
        super().__init__(parent)
        self._session = session
        self._work = work
        self._asked: tuple[int, tuple[int, int]] = (0, NEVER)
        """Number of the question, and of which day after how many entries."""
        self.made_for: tuple[int, int] = NEVER
        """Of which day after how many entries the last answer tells."""
        session.engine.aside_done.connect(self._take)

    def now(self) -> tuple[int, int]:
        """Return which day is open, and how many entries it has."""
        day = self._session.day
        return (id(day), len(day.entries)) if day is not None else NEVER

    @property
    def is_due(self) -> bool:
        """Whether the day book has neither been asked about as it is nor answered."""
        return self.now() not in (self.made_for, self._asked[1])

    def ask(self, at: Any, about: Any = None) -> None:
        """Ask about the day book as it is, and about something in it."""
        session = self._session
        number = session.engine.ask_aside(
            session.bundle, session.state, about, at, work=self._work
        )
        self._asked = (number, self.now())

    def drop(self) -> None:
        """Forget the last answer as well: no event is open."""
        self.forget()
        self.made_for = NEVER

    def forget(self) -> None:
        """Wait no more: another page may ask meanwhile, and whoever comes back asks anew."""
        self._asked = (0, NEVER)

    @Slot(int, object)
    def _take(self, number: int, found: object) -> None:
        if number != self._asked[0]:
            return
        asked, self._asked = self._asked[1], (0, NEVER)
        if asked != self.now():
            return
        if found is not None:
            self.made_for = asked
        self.found.emit(found)
