"""The window with its day: letters, log, faults, opening, and what leaves the window."""

import logging
import logging.handlers
import platform
import sys
import traceback
from collections.abc import Generator, Iterator
from pathlib import Path
from types import TracebackType

import platformdirs
from PySide6.QtCore import QSettings, QUrl
from PySide6.QtGui import QDesktopServices, QIcon, QPixmap
from PySide6.QtWidgets import QApplication, QFileDialog, QStyleFactory

from crewdesk import __version__
from crewdesk.assets import is_demo, shipped
from crewdesk.errors import CrewdeskError
from crewdesk.gui.engine_client import EngineClient
from crewdesk.gui.session import Session
from crewdesk.gui.start import (
    FirstPaint,
    Slices,
    bare_application,
    demo_folder,
    settings_file,
)
from crewdesk.gui.theme import FAMILY, load_fonts
from crewdesk.gui.window import MainWindow

logger = logging.getLogger(__name__)

__all__ = [
    "Desk",
    "FaultHook",
    "FirstPaint",
    "demo_folder",
    "make_application",
    "settings_file",
    "start_log",
]


def log_path() -> Path:
    """Return where the log file lies."""
    return platformdirs.user_log_path("crewdesk", appauthor=False) / "crewdesk.log"


def start_log() -> None:
    """Log to standard error and to a file that does not grow for ever."""
    root = logging.getLogger("crewdesk")
    root.setLevel(logging.INFO)
    form = logging.Formatter("%(asctime)s %(levelname)s %(name)s: %(message)s")
    handlers: list[logging.Handler] = [logging.StreamHandler()]
    try:
        path = log_path()
        path.parent.mkdir(parents=True, exist_ok=True)
        handlers.append(
            logging.handlers.RotatingFileHandler(
                path, maxBytes=1_000_000, backupCount=3, encoding="utf-8", delay=True
            )
        )
    except OSError:
        pass
    for handler in handlers:
        handler.setFormatter(form)
        root.addHandler(handler)
    logger.info("crewdesk %s on %s, Python %s", __version__, platform.platform(), sys.version)


class FaultHook:
    """A fault of ours: kept in the log, said in one line; the book stays open."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def __call__(
        self, kind: type[BaseException], error: BaseException, trace: TracebackType | None
    ) -> None:
        if issubclass(kind, KeyboardInterrupt):
            QApplication.quit()
            return
        logger.error("fault: %s", "".join(traceback.format_exception(kind, error, trace)))
        self._session.notice(
            "stops",
            self._session.tr(
                "The program made a mistake. All that was entered is saved. Details: {0}"
            ).format(log_path()),
        )


def make_application() -> QApplication:
    """Return the application with its letters."""
    app = bare_application()
    fusion = QStyleFactory.create("Fusion")
    if fusion is not None:
        app.setStyle(fusion)
    load_fonts()
    picture = QPixmap()
    picture.loadFromData(
        shipped("resources").joinpath("icons", "crewdesk.svg").read_bytes(), "SVG"
    )
    app.setWindowIcon(QIcon(picture))
    font = app.font()
    font.setFamily(FAMILY)
    font.setPixelSize(17)
    app.setFont(font)
    return app


class Desk:
    """The window with its session, and what only the program's start can do for them."""

    def __init__(
        self,
        settings: QSettings,
        *,
        data_dir: Path | None = None,
        window: MainWindow | None = None,
    ) -> None:
        self.settings = settings
        self.engine = EngineClient()
        self.session = Session(self.engine, data_dir=data_dir)
        self.window = window if window is not None else MainWindow(self.session, settings)
        self._slices = Slices(self.window)
        self._slices.failed.connect(self._failed)
        self.window.closed.connect(self._slices.stop)
        self.window.open_wanted.connect(self.choose)
        self.window.demo_wanted.connect(lambda: self.open_soon(demo_folder()))
        self.window.event_made.connect(lambda folder: self.open(folder, None))
        self.window.print_wanted.connect(self.print_sheet)
        self.window.copy_wanted.connect(self.save_copy)
        self.window.handover_wanted.connect(self.write_handover)

    def fill(self) -> Iterator[None]:
        """Make what is in a window that has only drawn itself so far."""
        return self.window.fill(self.session)

    def show_opening(self, event: Path) -> None:
        """Say which event is being read, until it is there."""
        self.window.pages["load"].show_opening(event.name)  # type: ignore[attr-defined]

    def opening(self, event: Path, book: Path | None) -> Generator[None]:
        """Open an event in parts: the book is read, then taken, then its place is shown."""
        if self._is_written_here(event, book):
            # To read it again would find its book taken, by ourselves.
            self.window.go("load")
            return
        day = self.session.read(event, book)
        if day is None:
            self.window.go("load")
            return
        try:
            yield
        except GeneratorExit:
            # Given up: the book is let go, for another window or for this one again.
            day.close()
            raise
        self.session.take_day(day, event)
        self.settings.setValue("last_event", str(event))
        started = bool(self.session.state.reports or self.session.state.fitted)
        yield
        self.window.go("now" if started else "load")

    def _is_written_here(self, event: Path, book: Path | None) -> bool:
        """Say whether this is the event whose book this window writes."""
        day, folder = self.session.day, self.session.folder
        if day is None or folder is None or day.read_only:
            return False
        return folder.resolve() == event.resolve() and book in (None, day.book_path)

    def open(self, event: Path, book: Path | None) -> None:
        """Open an event, in its place in the day."""
        for _ in self.opening(event, book):
            pass

    def open_soon(self, event: Path) -> None:
        """Open an event a part at a time; the window says meanwhile what it does."""
        if not self.session.is_open:
            self.show_opening(event)
        self._slices.run(self.opening(event, None))

    def _failed(self, error: Exception) -> None:
        sys.excepthook(type(error), error, error.__traceback__)

    def choose(self) -> None:
        """Let the crew choose an event's folder."""
        dialog = QFileDialog(
            self.window, self.window.tr("Choose event folder"), str(self._events_folder())
        )
        dialog.setStyleSheet(self.window.look.sheet)
        dialog.setFileMode(QFileDialog.FileMode.Directory)
        dialog.setOption(QFileDialog.Option.ShowDirsOnly)
        dialog.fileSelected.connect(lambda path: self.open_soon(Path(path)))
        dialog.open()

    def _events_folder(self) -> Path:
        """Return where events are looked for: beside the open one, else where new ones go."""
        folder = self.session.folder
        if folder is not None and not is_demo(folder):
            return folder.parent
        root = self.session.data_dir or platformdirs.user_documents_path() / "crewdesk"
        made = [Path(root) / "events", Path(root), Path.home()]
        return next(one for one in made if one.is_dir() or one == made[-1])

    def print_sheet(self) -> None:
        """Print the sheet and the car card; without a printer they are kept as a file."""
        session, window = self.session, self.window
        if not session.is_open:
            return
        from crewdesk.gui import exports

        try:
            done = exports.print_sheet(session, exports.papers_folder(session))
        except OSError as error:
            session.notice(
                "watch", window.tr("The sheet could not be printed: {0}").format(error)
            )
            return
        if done is None:
            session.notice("note", window.tr("There is no call to print yet."))
            return
        path, on_paper = done
        session.sheet_printed()
        words = (
            window.tr("Sheet printed, kept as {0}")
            if on_paper
            else window.tr("Sheet kept as {0}")
        )
        session.notice("done", words.format(path))
        if not on_paper and QApplication.platformName() not in ("offscreen", "minimal"):
            QDesktopServices.openUrl(QUrl.fromLocalFile(str(path)))

    def save_copy(self) -> None:
        """Save a copy of the day book."""
        dialog = QFileDialog(self.window, self.window.tr("Save a copy of the day book"))
        dialog.setStyleSheet(self.window.look.sheet)
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setDefaultSuffix("crewbook")
        dialog.fileSelected.connect(lambda path: self._copy_to(Path(path)))
        dialog.open()

    def _copy_to(self, path: Path) -> None:
        day, session = self.session.day, self.session
        if day is None or day.book_path is None:
            return
        from crewdesk.journal.files import backup_copy

        try:
            backup_copy(day.book_path, path)
        except (CrewdeskError, OSError) as error:
            session.notice("stops", str(error))
            return
        session.notice("done", self.window.tr("Copy saved as {0}").format(path))

    def write_handover(self) -> None:
        """Write the handover into the event's folder of papers."""
        session, window = self.session, self.window
        if not session.is_open:
            return
        from crewdesk.gui import exports

        folder = exports.papers_folder(session) / "handover"
        try:
            folder.mkdir(parents=True, exist_ok=True)
            page = exports.write_handover(session, folder)
        except (CrewdeskError, OSError) as error:
            session.notice("stops", str(error))
            return
        window.pages["handover"].written(str(folder))  # type: ignore[attr-defined]
        session.notice("done", window.tr("Handover written, page {0}").format(page.name))
