"""Since when: the one question that a car found otherwise leaves, answered where it arises."""

from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QWidget

from crewdesk.desk.state import OpenQuestion
from crewdesk.gui.parts import button, clear, label
from crewdesk.gui.session import Session
from crewdesk.journal.entries import Answer

MOST = 6


class SinceLine(QWidget):
    """Buttons for the place and the stages after which it may have been so."""

    settled = Signal()
    """It was answered or put off: the cursor can go back."""

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.setObjectName("since")
        self._session = session
        self._asked: tuple[str, ...] = ()
        self._line = QHBoxLayout(self)
        self._line.setContentsMargins(0, 0, 0, 0)
        self._line.setSpacing(6)
        self._later: set[str] = set()

    def show_for(self, place: str) -> bool:
        """Show the question of a place; return whether there is one."""
        question = self._question(place)
        self.setVisible(question is not None)
        if question is None:
            self._asked = ()
            return False
        asked = (question.id, *question.possible)
        if asked == self._asked:
            return True
        self._asked = asked
        clear(self._line)
        self._line.addWidget(
            label(self.tr("Found otherwise.\nSo since after:"), "since_label", "strong")
        )
        for at, word in enumerate(question.possible[:MOST]):
            self._line.addWidget(
                button(
                    word,
                    f"since_{at}",
                    partial(self._answer, question.id, word),
                    spoken=self.tr("Found so after {0}").format(word),
                    kind="part",
                )
            )
        self._line.addWidget(
            button(
                self.tr("not known"),
                "since_unknown",
                partial(self._leave, question.id),
                kind="part",
            )
        )
        return True

    def _question(self, place: str) -> OpenQuestion | None:
        if not self._session.is_open or self._session.state.at_place != place:
            return None
        asked = [
            q
            for q in self._session.state.open_questions
            if q.fields == ("since",) and q.id not in self._later
        ]
        return asked[-1] if asked else None

    def _answer(self, question_id: str, word: str) -> None:
        self._session.enter(
            Answer(question_id=question_id, values={"since": word}),
            self.tr("found so after {0}").format(word),
        )
        self.settled.emit()

    def _leave(self, question_id: str) -> None:
        """Leave it open: it stays among the open questions."""
        self._later.add(question_id)
        self._session.changed.emit()
        self.settled.emit()
