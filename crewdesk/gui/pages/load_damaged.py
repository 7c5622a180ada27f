"""The ways on from a damaged day book: its sound part, a saved copy, or a new book."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtWidgets import QFileDialog, QVBoxLayout, QWidget

from crewdesk.errors import CrewdeskError
from crewdesk.gui.parts import button, label, row
from crewdesk.gui.session import Session

Book = tuple[Path, Path | None]
"""Folder of the event, and its book where that is not the usual one."""


class DamagedBook:
    """Opens what can be opened in the place of a damaged book; the book itself is kept."""

    def __init__(
        self, page: QWidget, session: Session, again: Callable[[Callable[[], bool]], bool]
    ) -> None:
        self._page, self._session, self._again = page, session, again
        self.found: Book | None = None
        """The damaged book, as long as nothing else is opened."""

    def look(self) -> Book | None:
        """Take note of the damaged book that was met, and return it."""
        self.found = self._session.damaged_book or self.found
        return self.found

    def show_ways(self, lines: QVBoxLayout) -> None:
        """Show the ways on."""
        tr = self._session.tr
        made = [
            button(tr("Open a saved copy"), "load_copy", self._choose, kind="big"),
            button(tr("Begin a new book"), "load_fresh", self._begin, kind="big"),
        ]
        if self._session.damaged_book is not None:
            sound = tr("Look at its sound part")
            made.insert(0, button(sound, "load_sound", self.read_sound, kind="big"))
        lines.addLayout(row(*made, 1))
        lines.addWidget(
            label(
                tr(
                    "A new book begins with the event as its folder has it: what was entered "
                    "is entered anew. The damaged book is kept beside it."
                ),
                "load_fresh_what",
                "muted",
                wrap=True,
            )
        )

    def read_sound(self) -> None:
        """Open the sound part, only to be read."""
        session, where = self._session, self.look()
        if where is not None and self._again(lambda: session.open(*where, read_only=True)):
            session.notice(
                "watch",
                session.tr(
                    "The sound part of the book, to be read. Nothing is written over it."
                ),
            )

    def _choose(self) -> None:
        tr = self._session.tr
        dialog = QFileDialog(self._page, tr("Open a saved copy of the day book"))
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        dialog.setNameFilters([tr("Day books (*.crewbook *.daybook)"), tr("All files (*)")])
        dialog.fileSelected.connect(lambda path: self.open_copy(Path(path)))
        dialog.open()

    def open_copy(self, path: Path) -> None:
        """Go on with a saved copy: from now on it is the book."""
        session, where = self._session, self.look()
        if where is not None and self._again(lambda: session.open(where[0], path)):
            session.notice(
                "watch",
                session.tr("This is the saved copy {0}: enter what is missing.").format(path),
            )

    def _begin(self) -> None:
        from crewdesk.desk.set_aside import set_aside

        session, where = self._session, self.look()
        if where is None:
            return
        try:
            kept = set_aside(*where, session.clock(), data_dir=session.data_dir)
        except CrewdeskError as error:
            session.notice("stops", str(error))
            return
        if self._again(lambda: session.open(*where)):
            session.notice(
                "watch", session.tr("A new book has begun; the damaged one is {0}").format(kept)
            )
