"""Reads what the day needs while the window already stands, so that nobody waits for it."""

import importlib
import logging
import pkgutil
import sys
import threading
from collections.abc import Iterator, Sequence
from typing import Final

from PySide6.QtCore import QObject, Signal

logger = logging.getLogger(__name__)

FOR_A_DAY: Final = ("crewdesk.desk.day",)
"""What opening an event draws in; numbers, documents, rules and the book come with it."""
FOR_THE_PAGES: Final = (
    "crewdesk.desk.charts",
    "crewdesk.desk.backtest.beside",
    "crewdesk.desk.backtest.words",
    "crewdesk.documents.importing",
    "numpy.ma",
)
"""What the pages draw in beside it."""
SWITCH_S: Final = 0.0005
"""How long the reading may keep the window from going on; tuning value of this project."""


class Warmer(QObject):
    """A thread that reads modules without Qt; the window goes on between its lines."""

    done = Signal()
    """Everything asked for is read, or cannot be."""

    def __init__(self, modules: Sequence[str], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._modules = modules
        self._leave = False
        self._usual_s = sys.getswitchinterval()
        self.done.connect(self._rest)

    def start(self) -> None:
        """Begin; ``done`` comes on the thread of the window."""
        sys.setswitchinterval(SWITCH_S)
        threading.Thread(target=self._read, name="warm", daemon=True).start()

    def stop(self) -> None:
        """Read no further module: the window is closed."""
        self._leave = True
        self._rest()

    def _rest(self) -> None:
        sys.setswitchinterval(self._usual_s)

    def _read(self) -> None:
        for name in self._modules:
            if self._leave:
                return
            try:
                importlib.import_module(name)
            except Exception:
                # Whoever needs it imports it again and says what is wrong with it.
                logger.exception("%s could not be read ahead", name)
        try:
            self.done.emit()
        except RuntimeError:  # the window has gone
            return


def read_pages() -> Iterator[str]:
    """Read the modules of the pages, one at each step; they hold controls: no thread."""
    from crewdesk.gui import pages

    for module in pkgutil.iter_modules(pages.__path__):
        importlib.import_module(f"{pages.__name__}.{module.name}")
        yield module.name
