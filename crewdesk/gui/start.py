"""The start: the window draws itself first, and everything else follows a part at a time."""

import importlib
import os
import sys
from collections.abc import Generator
from pathlib import Path
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QEvent, QObject, QSettings, QTimer, Signal, Slot
from PySide6.QtWidgets import QApplication, QWidget

from crewdesk.gui.window import MainWindow

if TYPE_CHECKING:
    from crewdesk.gui.app import Desk

DEMO: Final = "quellhaven"
DRAWN_MS: Final = 20
"""After the first drawing: time for the screen to have it."""
LONGEST_WAIT_MS: Final = 1500


def settings_file(folder: Path | None = None) -> QSettings:
    """Return where geometry, view and touch size are kept."""
    if folder is None:
        import platformdirs

        folder = platformdirs.user_config_path("crewdesk", appauthor=False)
    return QSettings(str(folder / "window.ini"), QSettings.Format.IniFormat)


def demo_folder() -> Path:
    """Return the demo event's folder."""
    from crewdesk.assets import shipped

    return Path(str(shipped("demo_events").joinpath(DEMO)))


def event_to_open(event: Path | None, settings: QSettings) -> Path:
    """Return the event named, else the last one open, else a demo event."""
    if event is not None:
        return event
    last = settings.value("last_event")
    if last and (Path(str(last)) / "event.json").exists():
        return Path(str(last))
    return demo_folder()


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


class Slices(QObject):
    """Work cut into parts: one each time the window has nothing else to do.

    A part that yields a signal is followed by the next one when that signal comes.
    """

    failed = Signal(object)

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._work: Generator[object] | None = None
        self._inside = False
        """Whether a part is being done: it can stop what is under way, not end itself."""
        self._next = QTimer(self, singleShot=True, interval=0)
        self._next.timeout.connect(self._go_on)

    def run(self, work: Generator[object]) -> None:
        """Begin; what was under way is given up."""
        self.stop()
        self._work = work
        self._next.start()

    def stop(self) -> None:
        """Give up what is left to do."""
        self._next.stop()
        work, self._work = self._work, None
        if work is not None and not self._inside:
            work.close()

    @Slot()
    def _go_on(self) -> None:
        work = self._work
        if work is None:
            return
        self._inside = True
        try:
            wait = next(work)
        except StopIteration:
            if self._work is work:
                self._work = None
            return
        except Exception as error:
            self._work = None
            self.failed.emit(error)
            return
        finally:
            self._inside = False
        if self._work is not work:
            work.close()
        elif wait is None:
            self._next.start()

    @Slot()
    def go_on(self) -> None:
        """Do the next part: what was waited for is here."""
        self._next.start()


class Start(QObject):
    """What follows the first drawing: the controls, the event, and what may be read ahead."""

    filled = Signal()
    """The window has all its controls."""
    opened = Signal()
    """The event is open, or it is said why not."""
    ready = Signal()
    """Every page can be shown without reading anything more."""

    def __init__(
        self,
        window: MainWindow,
        event: Path | None,
        book: Path | None,
        *,
        data_dir: Path | None = None,
    ) -> None:
        super().__init__(window)
        self.window, self._book, self._data_dir = window, book, data_dir
        self._event = event
        self.desk: Desk | None = None
        self.error: Exception | None = None
        self._slices = Slices(self)
        self._slices.failed.connect(self._failed)
        window.closed.connect(self._slices.stop)
        self._painted = FirstPaint(window)
        self._painted.done.connect(self._begin)

    @Slot()
    def _begin(self) -> None:
        self._slices.run(self._work())

    @Slot(object)
    def _failed(self, error: Exception) -> None:
        """End: a window without controls is of no use; the caller says why."""
        if self.window.filled:
            sys.excepthook(type(error), error, error.__traceback__)
            return
        self.error = error
        self.window.close()

    def _work(self) -> Generator[object]:
        for name in ("badge", "session", "window_parts", "app"):
            # Each draws in more than it seems to; together they would be one long wait.
            importlib.import_module(f"crewdesk.gui.{name}")
            yield None
        from crewdesk.gui.app import Desk, FaultHook, make_application, start_log

        make_application()
        yield None
        start_log()
        desk = self.desk = Desk(
            self.window.settings, data_dir=self._data_dir, window=self.window
        )
        yield from desk.fill()
        sys.excepthook = FaultHook(desk.session)
        wanted = event_to_open(self._event, self.window.settings)
        desk.show_opening(wanted)
        self.filled.emit()
        yield None
        desk.engine.start()
        yield None
        yield from self._read_and_open(desk, wanted)

    def _read_and_open(self, desk: "Desk", wanted: Path) -> Generator[object]:
        from crewdesk.gui.warm import FOR_A_DAY, FOR_THE_PAGES, Warmer, read_pages

        for modules in (FOR_A_DAY, FOR_THE_PAGES):
            warmer = Warmer(modules, self)
            warmer.done.connect(self._slices.go_on)
            self.window.closed.connect(warmer.stop)
            warmer.start()
            yield warmer
            if modules is FOR_A_DAY:
                if not desk.session.is_open:
                    yield from desk.opening(wanted, self._book)
                self.opened.emit()
                yield None
        for _ in read_pages():
            yield None
        self.ready.emit()


def bare_application() -> QApplication:
    """Return the application; letters and style follow once the window has drawn itself."""
    existing = QApplication.instance()
    app = existing if isinstance(existing, QApplication) else QApplication(sys.argv[:1])
    app.setApplicationName("crewdesk")
    return app


def first_window(settings: QSettings) -> MainWindow:
    """Show the window, with nothing in it yet."""
    window = MainWindow(None, settings)
    if settings.value("geometry") is None:
        window.showMaximized()
    else:
        window.show()
    return window


def run_window(event: Path | None, book: Path | None) -> int:
    """Open the window on an event and return the exit code."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    app = bare_application()
    start = Start(first_window(settings_file()), event, book)
    code = app.exec()
    if start.error is not None:
        raise start.error
    return code
