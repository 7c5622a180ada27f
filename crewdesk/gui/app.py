"""Start of the window: application, letters, faults, the day, and then the rest."""

import logging
import logging.handlers
import os
import platform
import sys
import traceback
from pathlib import Path
from types import TracebackType
from typing import Final

import platformdirs
from PySide6.QtCore import QEvent, QObject, QSettings, QTimer, QUrl, Signal
from PySide6.QtGui import QDesktopServices, QIcon, QPixmap
from PySide6.QtWidgets import QApplication, QFileDialog, QStyleFactory, QWidget

from crewdesk import __version__
from crewdesk.assets import shipped
from crewdesk.errors import CrewdeskError
from crewdesk.gui.engine_client import EngineClient
from crewdesk.gui.session import Session
from crewdesk.gui.theme import FAMILY, load_fonts
from crewdesk.gui.window import MainWindow

logger = logging.getLogger(__name__)

DEMO: Final = "quellhaven"
DRAWN_MS: Final = 20
"""After the first drawing: time for the screen to have it."""
LONGEST_WAIT_MS: Final = 1500


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
    existing = QApplication.instance()
    app = existing if isinstance(existing, QApplication) else QApplication(sys.argv[:1])
    app.setApplicationName("crewdesk")
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


def settings_file(folder: Path | None = None) -> QSettings:
    """Return where geometry, view and touch size are kept."""
    where = folder or platformdirs.user_config_path("crewdesk", appauthor=False)
    return QSettings(str(where / "window.ini"), QSettings.Format.IniFormat)


def demo_folder() -> Path:
    """Return the demo event's folder."""
    return Path(str(shipped("demo_events").joinpath(DEMO)))


class Desk:
    """The window with its session, and what only the program's start can do for them."""

    def __init__(self, settings: QSettings, *, data_dir: Path | None = None) -> None:
        self.settings = settings
        self.engine = EngineClient()
        self.session = Session(self.engine, data_dir=data_dir)
        self.window = MainWindow(self.session, settings)
        self.window.open_wanted.connect(self.choose)
        self.window.demo_wanted.connect(lambda: self.open(demo_folder(), None))
        self.window.event_made.connect(lambda folder: self.open(folder, None))
        self.window.print_wanted.connect(self.print_sheet)
        self.window.copy_wanted.connect(self.save_copy)
        self.window.handover_wanted.connect(self.write_handover)

    def open(self, event: Path, book: Path | None) -> None:
        """Open an event, in its place in the day."""
        self.window.pages.prepare()
        if self.session.open(event, book):
            self.settings.setValue("last_event", str(event))
            started = bool(self.session.state.reports or self.session.state.fitted)
            self.window.go("now" if started else "load")
        else:
            self.window.go("load")

    def choose(self) -> None:
        """Let the crew choose an event's folder."""
        dialog = QFileDialog(self.window, self.window.tr("Choose event folder"))
        dialog.setFileMode(QFileDialog.FileMode.Directory)
        dialog.setOption(QFileDialog.Option.ShowDirsOnly)
        dialog.fileSelected.connect(lambda path: self.open(Path(path), None))
        dialog.open()

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


class FirstPaint(QObject):
    """Says once that the window has drawn itself, or that it is not going to."""

    done = Signal()

    def __init__(self, window: QWidget) -> None:
        super().__init__(window)
        self._window = window
        self._said = False
        window.installEventFilter(self)
        # A window that starts hidden behind others may never be asked to draw.
        QTimer.singleShot(LONGEST_WAIT_MS, self, self._say)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Look for the first drawing; what is drawn is on screen once it is over."""
        if watched is self._window and event.type() == QEvent.Type.Paint:
            self._window.removeEventFilter(self)
            QTimer.singleShot(DRAWN_MS, self, self._say)
        return False

    def _say(self) -> None:
        if not self._said:
            self._said = True
            self.done.emit()


def event_to_open(event: Path | None, settings: QSettings) -> Path:
    """Return the event named, else the last one open, else a demo event."""
    if event is not None:
        return event
    last = settings.value("last_event")
    if last and (Path(str(last)) / "event.json").exists():
        return Path(str(last))
    return demo_folder()


def run_window(event: Path | None, book: Path | None) -> int:
    """Open the window on an event and return the exit code."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    start_log()
    app = make_application()
    settings = settings_file()
    desk = Desk(settings)
    sys.excepthook = FaultHook(desk.session)
    if settings.value("geometry") is None:
        desk.window.showMaximized()
    else:
        desk.window.show()
    # The frame is on screen before the documents and the book are read.
    wanted = event_to_open(event, settings)
    desk.window.pages["load"].show_opening(wanted.name)  # type: ignore[attr-defined]
    painted = FirstPaint(desk.window)
    painted.done.connect(lambda: desk.open(wanted, book))
    painted.done.connect(desk.engine.start)
    return app.exec()
