"""Between the window and the day: one place that enters, asks and says what changed."""

import logging
from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from PySide6.QtCore import QObject, QTimer, Signal, Slot

from crewdesk.errors import CrewdeskError, JournalError
from crewdesk.gui.engine_client import EngineClient
from crewdesk.gui.engine_worker import JUDGE
from crewdesk.gui.notices import Notice, NoticeBoard, NoticeLevel
from crewdesk.gui.timing import newest, place_ahead

if TYPE_CHECKING:
    from crewdesk.desk.answer import Answer, Receipt
    from crewdesk.desk.day import Day
    from crewdesk.desk.state import DayState, TyreNow
    from crewdesk.documents.bundle import EventBundle
    from crewdesk.documents.itinerary import ChangePlace
    from crewdesk.journal.entries import AnyEntry, CallUsed
    from crewdesk.units import Place

logger = logging.getLogger(__name__)


def machine_now() -> datetime:
    """Return the machine's clock."""
    return datetime.now(UTC)


class Session(QObject):
    """The open day, the last answer of the engine and the messages."""

    changed = Signal()
    """The state of the day is another one."""
    opened = Signal()
    judged = Signal(object)
    """JudgeResult of a fitting the crew has in mind."""
    answered = Signal()
    working = Signal(str)
    """How far the engine is; empty: nothing is being worked out."""
    noticed = Signal()
    refused = Signal(object, object)
    """Entry and Receipt of what a rule stopped."""

    def __init__(
        self,
        engine: EngineClient,
        *,
        clock: Callable[[], datetime] = machine_now,
        data_dir: Path | None = None,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self.engine = engine
        self.clock = clock
        self.data_dir = data_dir
        self.day: Day | None = None
        self.folder: Path | None = None
        self.busy_book: tuple[Path, Path | None] | None = None
        """Event and book that could not be opened to write."""
        self.answer: Answer | None = None
        self.answer_at: datetime | None = None
        self.answer_road_c: float | None = None
        """The road reading that the last answer was made for; None: there was none."""
        self._asked: tuple[int, float | None] = (0, None)
        self.progress = ""
        self.problem: tuple[str, str] | None = None
        """What stopped the last call from being worked out, and what to do."""
        self.board = NoticeBoard()
        self.saved: tuple[str, datetime] | None = None
        self.new_tyre_worth_s: float | None = None
        self.max_wheels: int | None = None
        self.bans: frozenset[str] = frozenset()
        self.locks: Mapping[Any, str] = {}
        self._sheet_printed_for = ""
        self._soon = QTimer(self, singleShot=True, interval=150)
        self._soon.timeout.connect(self.ask)
        self._follow = QTimer(self, interval=1000)
        self._follow.timeout.connect(self._follow_day)
        engine.answered.connect(self._take_answer)
        engine.progressed.connect(self._take_progress)
        engine.failed.connect(self._take_failure)
        engine.replaced.connect(self._take_replaced)

    # ---- what is open

    @property
    def state(self) -> "DayState":
        """The state of the day; only while one is open."""
        assert self.day is not None
        return self.day.state

    @property
    def bundle(self) -> "EventBundle":
        """The documents of the event; only while one is open."""
        assert self.day is not None
        return self.day.bundle

    @property
    def is_open(self) -> bool:
        """Whether an event is open."""
        return self.day is not None

    @property
    def zone(self) -> ZoneInfo:
        """The event's time zone."""
        return ZoneInfo(self.bundle.event.zone)

    @property
    def place(self) -> "ChangePlace | None":
        """The change place the car is in, else the next one."""
        return place_ahead(self.bundle, self.state) if self.is_open else None

    def now(self) -> datetime:
        """Return the time, put right by the crew's clock offset."""
        return self.day.now() if self.day is not None else self.clock()

    def call_in_use(self) -> "CallUsed | None":
        """Return the call the crew took for the place ahead."""
        used, place = self.state.call_used, self.place
        return (
            used if used is not None and place is not None and used.place == place.key else None
        )

    def _sheet_key(self) -> str:
        used = self.call_in_use()
        return f"{used.place} {sorted(used.fitting.items())}" if used is not None else ""

    @property
    def sheet_is_printed(self) -> bool:
        """Whether the sheet of the call in use has been printed."""
        return self._sheet_printed_for == self._sheet_key()

    def sheet_printed(self) -> None:
        """Keep that the sheet of the call in use is on paper."""
        self._sheet_printed_for = self._sheet_key()

    @property
    def practising(self) -> bool:
        """Whether the event lies on another date, so that its clock is made up."""
        if self.day is None:
            return False
        machine = self.clock() + timedelta(seconds=self.state.clock_offset_s)
        return abs(self.day.now() - machine) > timedelta(minutes=1)

    def counters(self) -> "Mapping[str, Any]":
        """Return used, limit and by_compound of the tyres that count."""
        if self.day is None:
            return {}
        from crewdesk.desk.checks import counters

        return counters(self.bundle, self.state)

    def tyre(self, tyre_id: str) -> "TyreNow":
        """Return a tyre as the book has it."""
        return self.state.tyres[tyre_id]

    def rim_of(self, tyre_id: str | None) -> str:
        """Return the rim a tyre is on, empty where it is on none."""
        if not tyre_id or tyre_id not in self.state.tyres:
            return ""
        return self.state.tyres[tyre_id].rim_id

    def find_tyre(self, text: str) -> str | None:
        """Return the tyre meant by a rim, tyre or mark, typed short or scanned."""
        wanted = text.strip().upper()
        tyres = self.state.tyres
        for tyre_id, tyre in tyres.items():
            if wanted in (tyre_id.upper(), tyre.rim_id.upper(), tyre.stock.mark.upper()):
                return tyre_id
        if wanted.isdigit():
            ends = [
                tyre_id
                for tyre_id, tyre in tyres.items()
                if tyre.rim_id.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ- ").zfill(2)
                == wanted.zfill(2)
            ]
            if len(ends) == 1:
                return ends[0]
        return None

    # ---- opening

    def open(
        self,
        folder: Path,
        book: Path | None = None,
        *,
        read_only: bool = False,
        take_over: bool = False,
    ) -> bool:
        """Open an event with its book; say what is wrong where it cannot be opened."""
        from crewdesk.desk.day import Day

        try:
            day = Day.open(
                folder,
                book_path=book,
                data_dir=self.data_dir,
                clock=self.clock,
                read_only=read_only,
                take_over=take_over,
            )
        except JournalError as error:
            self.busy_book = (folder, book)
            self.notice("stops", f"{error.message} {error.hint}".strip())
            return False
        except CrewdeskError as error:
            self.busy_book = None
            self.notice("stops", f"{error.message} {error.hint}".strip())
            return False
        self.take_day(day, folder)
        return True

    def take_day(self, day: "Day", folder: Path) -> None:
        """Take an opened day."""
        self.close_day()
        self.day, self.folder, self.busy_book = day, folder, None
        self.answer = self.answer_at = self.problem = None
        self.opened.emit()
        self.changed.emit()
        self.ask_soon()
        self._follow.start()

    def close_day(self) -> None:
        """Close the book."""
        self._follow.stop()
        self._soon.stop()
        if self.day is not None:
            self.day.close()
            self.day = None

    # ---- entries

    def enter(self, body: "AnyEntry", said: str = "") -> "Receipt | None":
        """Enter something; it is acknowledged once it is on disk, and only then."""
        if self.day is None:
            return None
        try:
            receipt = self.day.enter(body)
        except CrewdeskError as error:
            self.notice("stops", f"{error.message} {error.hint}".strip())
            return None
        if not receipt.accepted:
            texts = [m.text for m in receipt.messages if m.level == "stops"]
            self.notice("stops", texts[0] if texts else self.tr("This was not taken."))
            self.refused.emit(body, receipt)
            return receipt
        self.saved = (said or self.tr("entry"), self.now())
        level_said: tuple[NoticeLevel, str] | None = None
        for message in receipt.messages:
            if level_said is None or message.level != "note":
                level_said = (message.level, message.text)
        if level_said is not None and level_said[0] != "note":
            self.notice(*level_said)
        else:
            self.board.seen()
            self.notice("done", self.tr("Saved {0} · {1}").format(self._hm(), said))
        self.changed.emit()
        self.ask_soon()
        return receipt

    def undo(self) -> None:
        """Take the last entry back, by an entry."""
        self._reverse(redo=False)

    def redo(self) -> None:
        """Take the last undo back."""
        self._reverse(redo=True)

    def _reverse(self, *, redo: bool) -> None:
        if self.day is None:
            return
        target = self.state.redoable if redo else self.state.undoable
        if target is None:
            self.notice(
                "note", self.tr("Nothing to redo.") if redo else self.tr("Nothing to undo.")
            )
            return
        try:
            if redo:
                self.day.redo()
            else:
                self.day.undo()
        except CrewdeskError as error:
            self.notice("stops", f"{error.message} {error.hint}".strip())
            return
        said = self.tr("Done again") if redo else self.tr("Taken back")
        self.board.seen()
        self.notice("done", f"{said}, {self._hm()}")
        self.changed.emit()
        self.ask_soon()

    def notice(self, level: NoticeLevel, text: str) -> None:
        """Post a message for the bottom line."""
        self.board.post(Notice(level, text, self.now() if self.is_open else self.clock()))
        self.noticed.emit()

    def notice_seen(self) -> None:
        """Take down a message that stays until it was seen."""
        self.board.seen()
        self.noticed.emit()

    def _hm(self) -> str:
        return self.now().astimezone(self.zone).strftime("%H:%M")

    # ---- the engine

    def ask_soon(self) -> None:
        """Ask for a call once a burst of entries is over."""
        self._soon.start()

    @Slot()
    def ask(self) -> None:
        """Ask for the call of the place ahead; the last one stays on screen."""
        if self.day is None or self.place is None:
            return
        from crewdesk.desk.answer import CallOptions

        options = CallOptions(
            locks=dict(self.locks),
            bans=self.bans,
            new_tyre_worth_s=self.new_tyre_worth_s,
            max_wheels=self.max_wheels,
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

        options = CallOptions(new_tyre_worth_s=self.new_tyre_worth_s)
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
        if hasattr(answer, "breaches"):
            self.judged.emit(answer)
        else:
            self._show(number, answer)
        self.progress = ""
        self.working.emit("")

    @Slot(int, object)
    def _take_progress(self, number: int, payload: Any) -> None:
        if hasattr(payload, "result"):
            # A finished call of this place says more than the first of a new search.
            last = self.answer
            if last is None or not last.final or last.place != payload.place:
                self._show(number, payload)
            self.progress = self.tr("A better call is still being looked for")
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
        self.working.emit(self.tr("Working again") if self.engine.busy else "")

    @Slot()
    def _follow_day(self) -> None:
        if self.day is None or not self.day.read_only:
            return
        if self.day.follow():
            self.changed.emit()
            self.ask_soon()
