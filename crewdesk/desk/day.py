"""One event on one desk: its documents, its book, and the state that follows from both."""

import getpass
import platform
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Self

import platformdirs

from crewdesk.desk.ahead_told import AheadTold
from crewdesk.desk.answer import Receipt
from crewdesk.desk.case import rules_of
from crewdesk.desk.checks import counters, judge_after, judge_entry
from crewdesk.desk.moments import practice_time
from crewdesk.desk.remarks import remarks
from crewdesk.desk.replay import Fold, finish, fold_all, start
from crewdesk.desk.resolve import undo_stacks
from crewdesk.desk.state import DayState
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.store import load_event, load_from_texts
from crewdesk.errors import JournalError
from crewdesk.journal.book import Book, BookDamaged, default_book_path, open_sound_part
from crewdesk.journal.entries import AnyEntry, DocumentsOpened, StoredEntry, Undo
from crewdesk.regulations.rulebook import Message


def utcnow() -> datetime:
    """Return the machine's clock."""
    return datetime.now(UTC)


def user_data_dir() -> Path:
    """Return the folder where books lie unless another is named."""
    return platformdirs.user_data_path("crewdesk", appauthor=False)


def this_desk() -> str:
    """Return a name for this desk: who sits at which machine."""
    try:
        who = getpass.getuser()
    except (KeyError, OSError, ImportError):
        who = "desk"
    return f"{who}@{platform.node() or 'machine'}"


class Day:
    """An event with its book open; entries go in here and the state comes out."""

    def __init__(
        self,
        opened: EventBundle,
        book: Book | None,
        entries: tuple[StoredEntry, ...],
        *,
        folder: Path | None = None,
        book_path: Path | None = None,
        clock: Callable[[], datetime] = utcnow,
        missing: tuple[str, ...] = (),
    ) -> None:
        self.opened = opened
        """The documents as the book was opened with them."""
        self.folder = folder
        self.book_path = book_path
        self.missing = missing
        """What a damaged book no longer tells, in plain words."""
        self._book = book
        self._clock = clock
        self._fold: Fold = fold_all(start(opened), entries)
        self._state: DayState = finish(self._fold)
        self._ahead: tuple[int, AheadTold] | None = None
        """What lies ahead of some wheels, and after how many entries that held."""

    # ---- opening

    @classmethod
    def open(
        cls,
        folder: Path,
        *,
        book_path: Path | None = None,
        data_dir: Path | None = None,
        desk_name: str | None = None,
        clock: Callable[[], datetime] = utcnow,
        read_only: bool = False,
        take_over: bool = False,
    ) -> Self:
        """Open an event with its book, making the book where there is none.

        Raises
        ------
        DocumentError
            Where the documents cannot be read.
        JournalError
            Where the book cannot be opened, or another desk writes it.
        """
        bundle = load_event(Path(folder))
        rules_of(bundle)  # rules that do not hold together are told before a book is opened
        path = book_path or default_book_path(
            bundle.event.event_id, data_dir or user_data_dir()
        )
        path = Path(path)
        desk = desk_name or this_desk()
        if read_only and not path.exists():
            return cls(bundle, None, (), folder=Path(folder), book_path=path, clock=clock)
        if read_only:
            day = cls._of_book(path, desk, clock, read_only=True, take_over=False)
            if str(day.opened.event.event_id) != str(bundle.event.event_id):
                day.close()
                raise JournalError(
                    f"The day book {path} belongs to another event.",
                    hint="Choose the book of this event.",
                )
            day.folder = Path(folder)
            return day
        book = Book.open_or_create(
            path, event_id=bundle.event.event_id, desk=desk, take_over=take_over
        )
        return cls._with_book(book, bundle, clock, Path(folder))

    @classmethod
    def open_book(
        cls,
        book_path: Path,
        *,
        desk_name: str | None = None,
        clock: Callable[[], datetime] = utcnow,
        read_only: bool = False,
        take_over: bool = False,
    ) -> Self:
        """Open a day from a book alone: it holds its own copy of the documents.

        Raises
        ------
        JournalError
            Where the book cannot be opened or holds no documents.
        """
        desk = desk_name or this_desk()
        return cls._of_book(
            Path(book_path), desk, clock, read_only=read_only, take_over=take_over
        )

    @classmethod
    def _of_book(
        cls,
        path: Path,
        desk: str,
        clock: Callable[[], datetime],
        *,
        read_only: bool,
        take_over: bool,
    ) -> Self:
        try:
            book = Book.open(path, desk=desk, read_only=read_only, take_over=take_over)
            try:
                entries = book.entries()
                bundle = _documents_in(entries, path)
                rules_of(bundle)
            except BaseException:
                book.close()
                raise
        except BookDamaged:
            # As far as it is sound, and only to be read: nothing is written over it.
            sound = open_sound_part(path)
            if not any(isinstance(e.body, DocumentsOpened) for e in sound.entries):
                raise JournalError(
                    f"Nothing in the day book {path} can be read any more.",
                    hint="Open the last saved copy, or move the file away: a new book begins.",
                ) from None
            bundle = _documents_in(sound.entries, path)
            return cls(
                bundle,
                None,
                sound.entries,
                book_path=path,
                clock=clock,
                missing=sound.missing,
            )
        return cls(bundle, book, entries, book_path=path, clock=clock)

    @classmethod
    def _with_book(
        cls, book: Book, bundle: EventBundle, clock: Callable[[], datetime], folder: Path
    ) -> Self:
        try:
            entries = book.entries()
            if not entries:
                opened = DocumentsOpened(files=dict(bundle.source_files))
                entries = (book.append(opened, at_utc=clock()),)
            kept = _documents_in(entries, book.path)
        except BaseException:
            book.close()
            raise
        return cls(kept, book, entries, folder=folder, book_path=book.path, clock=clock)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Close the book."""
        if self._book is not None:
            self._book.close()

    # ---- what is known

    @property
    def bundle(self) -> EventBundle:
        """The documents with bulletins and our own changes laid over them."""
        return self._fold.ledger.bundle

    def bundle_now(self) -> EventBundle:
        """Return the documents with bulletins and our own changes laid over them."""
        return self.bundle

    @property
    def state(self) -> DayState:
        """What the book says of the day."""
        return self._state

    @property
    def entries(self) -> tuple[StoredEntry, ...]:
        """All entries, in order."""
        return self._fold.entries

    @property
    def read_only(self) -> bool:
        """Whether this desk only reads along."""
        return self._book is None or self._book.read_only

    def now(self) -> datetime:
        """Return the crew's time: the clock put right, or that of a day of practice."""
        machine = self._clock()
        meant = practice_time(self.bundle, self.state, machine)
        if meant != machine:
            return meant
        return machine + timedelta(seconds=self.state.clock_offset_s)

    def folder_differs(self) -> tuple[str, ...]:
        """Return the files of the folder that are not as the book keeps them."""
        if self.folder is None:
            return ()
        texts = load_event(self.folder).source_files
        kept = self.bundle.source_files
        return tuple(name for name, text in texts.items() if kept.get(name) != text)

    # ---- entries

    def enter(self, body: AnyEntry, dry_run: bool = False) -> Receipt:
        """Check an entry and put it into the book; a refused one changes nothing.

        With ``dry_run`` the checks and the counters it would lead to come back, and nothing
        is written.
        """
        body = self._timed(body)
        judged = judge_entry(self._fold, self._state, body, self._ahead_now())
        if not judged.accepted:
            return Receipt(False, None, judged.messages, counters(self.bundle, self._state))
        if dry_run:
            after = finish(judged.after)
            said = (*judged.messages, *remarks(self._state, judged.after, after, body))
            return Receipt(True, None, said, counters(judged.after.ledger.bundle, after))
        stored = self._append(body)
        before = self._state
        self._take((stored,))
        said = (*judged.messages, *remarks(before, self._fold, self._state, body))
        return Receipt(True, stored.id, said, counters(self.bundle, self._state))

    def know_ahead(self, told: AheadTold) -> None:
        """Take what was worked out beside for the book as it is: a fitting waits for less."""
        self._ahead = (len(self.entries), told)

    def _ahead_now(self) -> AheadTold | None:
        known = self._ahead
        return known[1] if known is not None and known[0] == len(self.entries) else None

    def said_after(self, taken_on: Sequence[AnyEntry], body: AnyEntry) -> tuple[Message, ...]:
        """Return what is said of an entry after overrides; nothing is written."""
        bodies = [self._timed(one) for one in taken_on]
        return judge_after(self._fold, bodies, self._timed(body)).messages

    def undo(self) -> Receipt | None:
        """Take the last entry back by a further one; None where there is none."""
        undo, _ = undo_stacks(self.entries)
        return self.enter(Undo(target_id=undo[-1])) if undo else None

    def redo(self) -> Receipt | None:
        """Take the last undo back; None where there is none."""
        _, redo = undo_stacks(self.entries)
        return self.enter(Undo(target_id=redo[-1])) if redo else None

    def reopen_step(self, step: str) -> tuple[Receipt, ...]:
        """Go back to a step of the place the car is in or left last.

        What closed that step is taken back by entries, the latest first; readings stay.
        """
        closes = {
            "car_in": ("call_used", "fitting", "read_back"),
            "fit": ("fitting", "read_back"),
            "out": ("read_back",),
        }.get(step, ())
        place = self._state.at_place or (
            self._state.fittings[-1].place if self._state.fittings else None
        )
        course = self._fold.ledger.course
        undo, _ = undo_stacks(self.entries)
        alive = set(undo)
        targets = []
        for entry in reversed(self.entries):
            named = getattr(entry.body, "place", None)
            found = course.place(named) if named else None
            here = found is not None and found.key == place
            if entry.id in alive and entry.kind in closes and here:
                targets.append(entry.id)
        return tuple(self.enter(Undo(target_id=target)) for target in targets)

    def follow(self) -> tuple[StoredEntry, ...]:
        """Take in what the writing desk has entered since; empty where there is nothing."""
        if self._book is None:
            return ()
        last = self.entries[-1].seq if self.entries else 0
        if self._book.last_seq() <= last:
            return ()
        new = self._book.entries(after_seq=last)
        if new:
            self._take(new)
        return new

    def _timed(self, body: AnyEntry) -> AnyEntry:
        """Give an entry made outside the days of the event a time inside them.

        Whoever tries an event of last month would otherwise put every entry behind its end.
        """
        if body.at is not None:
            return body
        machine = self._clock()
        meant = practice_time(self.bundle, self._state, machine, body.kind)
        return body if meant == machine else body.model_copy(update={"at": meant})

    def _append(self, body: AnyEntry) -> StoredEntry:
        if self._book is None:
            raise JournalError(
                "This day is open only to be read.",
                hint="Open it with its book to write.",
            )
        return self._book.append(
            body, at_utc=self._clock(), clock_offset_s=self._state.clock_offset_s
        )

    def _take(self, entries: tuple[StoredEntry, ...]) -> None:
        self._fold = fold_all(self._fold, entries)
        self._state = finish(self._fold)


def _documents_in(entries: tuple[StoredEntry, ...], path: Path) -> EventBundle:
    for entry in entries:
        if isinstance(entry.body, DocumentsOpened):
            return load_from_texts(entry.body.files)
    raise JournalError(
        f"The day book {path} holds no documents.",
        hint="Open it together with the folder of its event.",
    )


__all__ = ["Day", "this_desk", "user_data_dir", "utcnow"]
