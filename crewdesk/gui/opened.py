"""The open day as the window sees it: documents, state, clock and messages."""

from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from PySide6.QtCore import QObject, Signal

from crewdesk.gui.notices import Notice, NoticeBoard, NoticeLevel
from crewdesk.gui.timing import place_ahead

if TYPE_CHECKING:
    from crewdesk.desk.day import Day
    from crewdesk.desk.state import DayState, TyreNow
    from crewdesk.documents.bundle import EventBundle
    from crewdesk.documents.itinerary import ChangePlace
    from crewdesk.journal.entries import AnyEntry


def machine_now() -> datetime:
    """Return the machine's clock."""
    return datetime.now(UTC)


class OpenDay(QObject):
    """What is known of the day; nothing is entered and nothing is asked here."""

    changed = Signal()
    """The state of the day is another one."""
    opened = Signal()
    noticed = Signal()

    def __init__(
        self,
        clock: Callable[[], datetime] = machine_now,
        data_dir: Path | None = None,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self.clock = clock
        self.data_dir = data_dir
        self.day: Day | None = None
        self.folder: Path | None = None
        self.board = NoticeBoard()
        self._practice: tuple[datetime, datetime] | None = None
        """Where the made-up clock began, and what the machine's clock was then."""

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
        """Return the time, put right by the crew's clock offset.

        On a day of practice it runs on from where the last entry left it.
        """
        if self.day is None:
            return self.clock()
        meant, machine = self.day.now(), self.clock()
        if not self.practising:
            self._practice = None
            return meant
        if self._practice is None or self._practice[0] != meant:
            self._practice = (meant, machine)
        return meant + max(machine - self._practice[1], timedelta(0))

    def practice_stamp(self, body: "AnyEntry") -> "AnyEntry":
        """Return an entry with the time of the practice clock, where that one counts."""
        if self.day is None or body.at is not None or not self.practising:
            return body
        from crewdesk.desk.moments import practice_time

        machine = self.clock()
        if practice_time(self.bundle, self.state, machine, body.kind) == machine:
            return body
        return body.model_copy(update={"at": self.now()})

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

    def scanned_tyre(self, text: str) -> str | None:
        """Return the tyre whose whole mark, number or rim this is; nothing shorter counts."""
        wanted = text.strip().upper()
        if not wanted or not self.is_open:
            return None
        for tyre_id, tyre in self.state.tyres.items():
            if wanted in (tyre_id.upper(), tyre.rim_id.upper(), tyre.stock.mark.upper()):
                return tyre_id
        return None

    def find_tyre(self, text: str) -> str | None:
        """Return the tyre meant by a rim, tyre or mark, typed short or scanned."""
        whole = self.scanned_tyre(text)
        if whole is not None:
            return whole
        wanted = text.strip().upper()
        tyres = self.state.tyres
        if wanted.isdigit():
            ends = [
                tyre_id
                for tyre_id, tyre in tyres.items()
                if tyre.rim_id.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ- ").zfill(2)
                == wanted.zfill(2)
            ]
            if not ends and len(wanted) > 1:
                # Tyres without a rim's number: the digits that end their names, if one has
                # them. Where they may be the beginning of a longer number, more must come.
                numbers = {tyre_id: _last_digits(tyre_id) for tyre_id in tyres}
                if not any(n.startswith(wanted) and n != wanted for n in numbers.values()):
                    ends = [t for t, number in numbers.items() if number.endswith(wanted)]
            if len(ends) == 1:
                return ends[0]
        return None

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


def _last_digits(name: str) -> str:
    """Return the digits that a name ends with.

    >>> _last_digits("K101"), _last_digits("Soft")
    ('101', '')
    """
    return name[len(name.rstrip("0123456789")) :]
