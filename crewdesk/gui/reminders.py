"""What the clock brings by itself: the list that closes, and minutes that run out."""

from datetime import datetime

from PySide6.QtCore import QObject, QTimer, Slot

from crewdesk.gui.session import Session

LOOK_EVERY_MS = 20_000
"""Nothing here hurries; tuning value of this project."""


class Reminders(QObject):
    """Looks at the clock now and then; says each thing once."""

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._said: set[datetime] = set()
        self._wheels: int | None = None
        self._timer = QTimer(self, interval=LOOK_EVERY_MS)
        self._timer.timeout.connect(self.look)
        self._timer.start()
        session.opened.connect(self._begin)
        session.answered.connect(self._keep)

    @Slot()
    def _begin(self) -> None:
        self._said.clear()
        self._wheels = None
        QTimer.singleShot(0, self, self.look)

    @Slot()
    def look(self) -> None:
        """Look at what has come due since the last look."""
        if not self._session.is_open:
            return
        self._nomination()
        self._minutes()

    def stop(self) -> None:
        """Look no more: the window is closed."""
        self._timer.stop()

    # ---- the list of tyres

    def _nomination(self) -> None:
        """Remind 24 h and again 2 h before the list closes (QTY-4)."""
        from crewdesk.desk.nomination import nomination

        session = self._session
        now = session.now()
        where = nomination(session.bundle, session.state, now)
        if where.closed or not where.undecided:
            return
        passed = [at for at in where.reminders_utc if at <= now and at not in self._said]
        if not passed:
            return
        self._said.update(passed)
        for message in where.messages:
            if message.level == "watch" and message.code == "QTY-4":
                session.notice("watch", message.text)

    # ---- the short call

    @Slot()
    def _keep(self) -> None:
        self._wheels = self._possible() if self._session.is_open else None

    def _possible(self) -> int | None:
        """Return how many wheels can still be changed by OUT; None while the car is out."""
        from crewdesk.desk.minutes import people_at, short_wheels, times_of

        session = self._session
        left, place = session.minutes_left(), session.place
        if left is None or place is None or session.state.at_place is None:
            return None
        hands = people_at(session.bundle, place, session.people)
        return short_wheels(left, hands, times_of(session.bundle))

    def _minutes(self) -> None:
        """Have the short call made anew once the minutes left allow fewer wheels."""
        had, now = self._wheels, self._possible()
        if had is not None and now is not None and now < had:
            self._wheels = now
            self._session.ask_soon()
