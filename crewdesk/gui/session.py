"""Between the window and the day: one place that enters, asks and says what changed."""

import errno
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QObject, QTimer, Signal, Slot

from crewdesk.errors import CrewdeskError, JournalError
from crewdesk.gui.asking import Asking
from crewdesk.gui.engine_client import EngineClient
from crewdesk.gui.opened import machine_now

if TYPE_CHECKING:
    from crewdesk.desk.answer import Receipt
    from crewdesk.desk.day import Day
    from crewdesk.journal.entries import AnyEntry, CallUsed


_SHUT: Final = (errno.EROFS, errno.EACCES, errno.EPERM)
ENTRY: Final = "ENTRY"
"""Code of a message that no rule stands behind: the entry itself cannot be."""


class Session(Asking):
    """The open day, the last answer of the engine and the messages."""

    refused = Signal(object, object)
    """Entry and Receipt of what a rule stopped."""
    unwritten = Signal()
    """The book could not take an entry: the disk is full, or not there."""
    written = Signal()

    def __init__(
        self,
        engine: EngineClient,
        *,
        clock: Callable[[], datetime] = machine_now,
        data_dir: Path | None = None,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(engine, clock=clock, data_dir=data_dir, parent=parent)
        self.busy_book: tuple[Path, Path | None] | None = None
        """Event and book that another window writes."""
        self.damaged_book: tuple[Path, Path | None] | None = None
        """Event and book of which only a part is sound."""
        self.shut_book: tuple[Path, Path | None] | None = None
        """Event and book that lie where nothing may be written."""
        self.only_looks = False
        """Whether the open book is only read because nothing may be written there."""
        self.saved: tuple[str, datetime] | None = None
        self._sheet_printed_for = ""
        self._follow = QTimer(self, interval=1000)
        self._follow.timeout.connect(self._follow_day)

    # ---- the call in use and its sheet

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
        day = self.read(folder, book, read_only=read_only, take_over=take_over)
        if day is not None:
            self.take_day(day, folder)
        return day is not None

    def read(
        self,
        folder: Path,
        book: Path | None = None,
        *,
        read_only: bool = False,
        take_over: bool = False,
    ) -> "Day | None":
        """Read an event with its book, not yet taken; say what is wrong where there is none."""
        from crewdesk.desk.day import Day

        try:
            return Day.open(
                folder,
                book_path=book,
                data_dir=self.data_dir,
                clock=self.clock,
                read_only=read_only,
                take_over=take_over,
            )
        except JournalError as error:
            from crewdesk.journal.book import BookDamaged
            from crewdesk.journal.lease import BookBusy

            self.busy_book = (folder, book) if isinstance(error, BookBusy) else None
            self.damaged_book = (folder, book) if isinstance(error, BookDamaged) else None
            shut = isinstance(error.__cause__, OSError) and error.__cause__.errno in _SHUT
            self.shut_book = (folder, book) if shut and not read_only else None
            self.notice("stops", f"{error.message} {error.hint}".strip())
        except CrewdeskError as error:
            self.busy_book = self.damaged_book = self.shut_book = None
            self.notice("stops", f"{error.message} {error.hint}".strip())
        return None

    def take_day(self, day: "Day", folder: Path) -> None:
        """Take an opened day."""
        self.close_day()
        self.day, self.folder = day, folder
        self.only_looks = day.read_only and self.shut_book is not None
        self.busy_book = self.damaged_book = self.shut_book = None
        self.answer = self.answer_at = self.problem = None
        self.looked_back.clear()
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
        # A practice clock goes on to the next step with the entry itself.
        at, hm = self.now(), self._hm()
        try:
            receipt = self.day.enter(self.practice_stamp(body))
        except CrewdeskError as error:
            self.notice("stops", f"{error.message} {error.hint}".strip())
            self.unwritten.emit()
            return None
        if not receipt.accepted:
            stops = [m for m in receipt.messages if m.level == "stops"]
            self.notice("stops", stops[0].text if stops else self.tr("This was not taken."))
            # A value that cannot be is put right; only a rule can be taken on by a name.
            if any(m.code != ENTRY for m in stops):
                self.refused.emit(body, receipt)
            return receipt
        self.board.taken(body.kind)
        self.saved = (said or self.tr("entry"), at)
        told = [m for m in receipt.messages if m.level != "note"]
        # What stops comes before what is to be watched.
        told.sort(key=lambda m: m.level != "stops")
        if told:
            self.notice(told[0].level, told[0].text)
            if told[0].level == "stops":
                self.board.stand(body.kind)
        else:
            self.notice("done", self.tr("Saved {0} · {1}").format(hm, said))
        self.changed.emit()
        self.written.emit()
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
        self.board.clear()
        self.notice("done", f"{said}, {self._hm()}")
        self.changed.emit()
        self.ask_soon()

    @Slot()
    def _follow_day(self) -> None:
        if self.day is None or not self.day.read_only:
            return
        if self.day.follow():
            self.changed.emit()
            self.ask_soon()
