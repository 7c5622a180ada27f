"""What the window asks of the engine, and the last call that stands meanwhile."""

import logging
from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, QTimer, Signal, Slot

from crewdesk.gui.engine_client import EngineClient
from crewdesk.gui.engine_worker import JUDGE
from crewdesk.gui.lookback import WORK, LookedBack, own_choices
from crewdesk.gui.opened import OpenDay, machine_now
from crewdesk.gui.timing import countdown, newest

if TYPE_CHECKING:
    from crewdesk.desk.answer import Answer
    from crewdesk.units import Place

logger = logging.getLogger(__name__)


class Asking(OpenDay):
    """The open day with the engine beside it."""

    judged = Signal(object)
    """JudgeResult of a fitting the crew has in mind."""
    answered = Signal()
    working = Signal(str)
    """How far the engine is; empty: nothing is being worked out."""

    def __init__(
        self,
        engine: EngineClient,
        *,
        clock: Callable[[], datetime] = machine_now,
        data_dir: Path | None = None,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(clock, data_dir, parent)
        self.engine = engine
        self.answer: Answer | None = None
        self.answer_at: datetime | None = None
        self.answer_road_c: float | None = None
        """The road reading that the last answer was made for; None: there was none."""
        self._asked: tuple[int, float | None] = (0, None)
        self.progress = ""
        self.problem: tuple[str, str] | None = None
        """What stopped the last call from being worked out, and what to do."""
        self.looked_back: dict[str, LookedBack | None] = {}
        """Own choices by place, once they were looked back on."""
        self._looking: tuple[int, str] = (0, "")
        self.new_tyre_worth_s: float | None = None
        self.max_wheels: int | None = None
        self.bans: frozenset[str] = frozenset()
        self.locks: Mapping[Any, str] = {}
        self._soon = QTimer(self, singleShot=True, interval=150)
        self._soon.timeout.connect(self.ask)
        engine.answered.connect(self._take_answer)
        engine.progressed.connect(self._take_progress)
        engine.failed.connect(self._take_failure)
        engine.replaced.connect(self._take_replaced)

    @property
    def people(self) -> int | None:
        """People at the car as the crew says; None: as usual, inside the rule's limit."""
        return self.bundle.event.settings.people_at_car if self.is_open else None

    @property
    def own_minutes(self) -> float | None:
        """Minutes for the short call here as the crew says; None: by the clock."""
        place = self.place
        if place is None:
            return None
        return self.bundle.event.settings.short_call_min.get(place.key)

    def minutes_left(self) -> float | None:
        """Return the minutes that the short call is made for; None: before the car is in.

        The crew's own figure wins; in the place it is what the clock leaves until OUT.
        """
        own = self.own_minutes
        if own is not None:
            return own
        if self.day is None or self.state.at_place is None:
            return None
        count = countdown(self.bundle, self.state, self.now())
        return None if count is None else max(count.left.total_seconds() / 60, 0.0)

    def ask_soon(self) -> None:
        """Ask for a call once a burst of entries is over."""
        self._soon.start()

    @Slot()
    def ask(self) -> None:
        """Ask for the call of the place ahead; the last one stays on screen."""
        if self.day is None:
            return
        if self.place is None or self.state.next_place is None:
            self._look_back()
            return
        from crewdesk.desk.answer import CallOptions

        options = CallOptions(
            locks=dict(self.locks),
            bans=self.bans,
            new_tyre_worth_s=self.new_tyre_worth_s,
            max_wheels=self.max_wheels,
            minutes_left=self.minutes_left(),
            people=self.people,
        )
        self.problem = None
        self.progress = self.tr("Working out the call")
        self.working.emit(self.progress)
        now = self.now()
        road = newest(self.state.reports, "road_c", now)
        number = self.engine.request(self.bundle, self.state, options, now)
        self._asked = (number, road.value)

    def judge(self, fitting: "Mapping[Place, str | None]") -> None:
        """Ask what a fitting costs that the crew has in mind."""
        if self.day is None or self.place is None:
            return
        from crewdesk.desk.answer import CallOptions

        options = CallOptions(new_tyre_worth_s=self.new_tyre_worth_s, people=self.people)
        self.progress = self.tr("Working out what it costs")
        self.working.emit(self.progress)
        self.engine.request(
            self.bundle, self.state, (options, dict(fitting)), self.now(), work=JUDGE
        )

    def stop_asking(self) -> None:
        """Stop the engine; the last call stands."""
        self.engine.cancel()
        self.progress = ""
        self.working.emit("")

    @Slot(int, object)
    def _take_answer(self, number: int, answer: Any) -> None:
        if number == self._looking[0]:
            self.looked_back[self._looking[1]] = answer
            self.answered.emit()
        elif hasattr(answer, "breaches"):
            self.judged.emit(answer)
        else:
            self._show(number, answer)
        self.progress = ""
        self.working.emit("")
        self._look_back()

    def _look_back(self) -> None:
        """Look back on an own choice while nothing else is to be worked out."""
        waiting = [key for key in own_choices(self) if key not in self.looked_back]
        if self.day is None or not waiting or self.engine.busy or self._soon.isActive():
            return
        number = self.engine.request(
            self.day.opened, self.day.entries, waiting[0], self.now(), work=WORK
        )
        self._looking = (number, waiting[0])

    @Slot(int, object)
    def _take_progress(self, number: int, payload: Any) -> None:
        if hasattr(payload, "result"):
            # A finished call of this place says more than the first of a new search.
            last = self.answer
            if payload.final or last is None or not last.final or last.place != payload.place:
                self._show(number, payload)
            self.progress = self.tr("A better call is still being looked for")
            if payload.final:
                self.progress = self.tr("The call stands; looking at what would change it")
        else:
            self.progress = str(payload)
        self.working.emit(self.progress)

    def _show(self, number: int, answer: "Answer") -> None:
        self.answer, self.answer_at = answer, self.now()
        if self._asked[0] == number:
            self.answer_road_c = self._asked[1]
        self.answered.emit()

    @Slot(int, str, str)
    def _take_failure(self, _number: int, message: str, hint: str) -> None:
        self.problem = (message, hint)
        self.progress = ""
        self.working.emit("")
        self.notice("watch", f"{message} {hint}".strip())
        self.answered.emit()

    @Slot()
    def _take_replaced(self) -> None:
        logger.info("engine replaced")
        self.progress = self.tr("Working again") if self.engine.busy else ""
        self.working.emit(self.progress)
