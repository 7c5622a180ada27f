"""The window's end of the engine: numbered requests, stop by asking, then replace.

One worker takes the requests and one warm spare stands by. A worker that has not answered
200 ms after it was asked to stop is ended and the spare takes its place.
"""

import logging
import multiprocessing
import os
import threading
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any, Final

from PySide6.QtCore import QObject, QTimer, Signal, Slot

from crewdesk.gui.engine_worker import ASK, serve

logger = logging.getLogger(__name__)

TRIES: Final = 3
"""A worker that cannot even start is not started more often than this in a row."""
PATIENCE_MS: Final = 200
"""How long a worker may go on after it was asked to stop; tuning value of this project."""


class _Worker:
    """One process with its pipe; the reading thread ends when the pipe does."""

    def __init__(self, name: int, process: BaseProcess, pipe: Connection) -> None:
        self.name, self.process, self.pipe = name, process, pipe
        self.busy: int | None = None
        self.ready = False
        self.closing = False

    def end(self) -> None:
        self.closing = True
        self.process.terminate()
        self.process.join(2)
        self.pipe.close()


class EngineClient(QObject):
    """Ask for calls and get them by signal; late answers are dropped."""

    answered = Signal(int, object)
    """Number, Answer."""
    progressed = Signal(int, object)
    """Number, a better Answer or words of how far it is."""
    stopped = Signal(int)
    failed = Signal(int, str, str)
    """Number, what happened, what to do."""
    replaced = Signal()
    aside_done = Signal(int, object)
    """Number below zero, what a page wanted to know; None: it could not be worked out."""
    _arrived = Signal(int, str, int, object)

    def __init__(self, work: str = ASK, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._work = work
        # The spawned children inherit it, so that it holds before they import anything.
        os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
        self._context = multiprocessing.get_context("spawn")
        self._newest = self._context.RawValue("q", 0)
        self._names = 0
        self._number = 0
        self._worker: _Worker | None = None
        self._spare: _Worker | None = None
        self._waiting: tuple[int, str, tuple[Any, ...]] | None = None
        self._aside = -1
        self._aside_waiting: tuple[int, str, tuple[Any, ...]] | None = None
        self._closed = False
        self._still_born = 0
        self._sent: tuple[int, str, tuple[Any, ...]] | None = None
        """The last request that went to a worker, to be asked again should that one die."""
        self._again = 0
        """Number of the request that was asked again."""
        self._patience = QTimer(self, singleShot=True, interval=PATIENCE_MS)
        self._patience.timeout.connect(self._replace)
        self._arrived.connect(self._take)

    @property
    def busy(self) -> bool:
        """Whether something is being worked out or waits for it."""
        return self._waiting is not None or bool(self._worker and self._worker.busy)

    def start(self) -> None:
        """Start the worker; its spare follows when nothing is being worked out."""
        if self._worker is None and not self._closed:
            self._worker = self._make()
            QTimer.singleShot(1500, self, self._ready_spare)

    def request(self, *arguments: Any, work: str = "") -> int:
        """Ask for a call, stopping the one under way; return the request's number.

        ``work`` names another function than the usual one, as ``module:function``.
        """
        self.start()
        self._number += 1
        self._newest.value = self._number
        self._waiting = (self._number, work, arguments)
        self._send()
        return self._number

    def ask_aside(self, *arguments: Any, work: str) -> int:
        """Ask for something beside the call; the spare works it out and no call waits for it.

        Only the newest of what is asked this way is told.
        """
        self._aside -= 1
        self._aside_waiting = (self._aside, work, arguments)
        if self._spare is None and not self._closed:
            self._spare = self._make()
        self._send_aside()
        return self._aside

    def cancel(self) -> None:
        """Stop what is being worked out; the worker answers "stopped"."""
        self._number += 1
        self._newest.value = self._number
        if self._waiting is not None:
            # It was not even sent: nobody else will say so.
            unsent, self._waiting = self._waiting[0], None
            QTimer.singleShot(0, self, lambda: self.stopped.emit(unsent))
        if self._worker is not None and self._worker.busy is not None:
            self._patience.start()

    def close(self) -> None:
        """End both processes."""
        self._closed = True
        self._newest.value = -1
        self._patience.stop()
        for worker in (self._worker, self._spare):
            if worker is not None:
                worker.end()
        self._worker = self._spare = None

    def _make(self) -> _Worker:
        ours, theirs = self._context.Pipe()
        self._names += 1
        process = self._context.Process(
            target=serve, args=(theirs, self._newest, self._work), daemon=True
        )
        process.start()
        theirs.close()
        worker = _Worker(self._names, process, ours)
        threading.Thread(
            target=self._read, args=(worker,), name=f"engine-{worker.name}", daemon=True
        ).start()
        return worker

    def _read(self, worker: _Worker) -> None:
        """Wait on the pipe in a thread of its own; news crosses over as a Qt signal."""
        kind, number, payload = "", 0, None
        while True:
            try:
                kind, number, payload = worker.pipe.recv()
            except (EOFError, OSError, TypeError):
                kind, number, payload = "ended", 0, None
            except Exception as error:
                logger.exception("an answer of the engine could not be read")
                kind, number, payload = "broken", worker.busy or 0, str(error)
            if worker.closing:
                return
            try:
                self._arrived.emit(worker.name, kind, number, payload)
            except RuntimeError:  # the window has gone
                return
            if kind == "ended":
                return

    def _send(self) -> None:
        if self._waiting is None or self._worker is None or not self._worker.ready:
            # Before it is ready nobody takes it from the pipe, and a full pipe holds us up.
            return
        if self._worker.busy is not None:
            if not self._patience.isActive():
                self._patience.start()
            return
        number, work, arguments = self._sent = self._waiting
        self._waiting = None
        self._worker.busy = number
        try:
            self._worker.pipe.send((number, work, arguments))
        except OSError:
            # The pipe is broken; the reading thread reports its end and a new worker takes it.
            self._worker.busy = None
            self._waiting = (number, work, arguments)

    @Slot()
    def _replace(self) -> None:
        if self._worker is None or self._closed or self._worker.busy is None:
            return
        if not self._worker.ready:
            # Still importing: another one would begin at the same place.
            self._patience.start()
            return
        logger.warning("the engine did not stop when asked and is replaced")
        self._worker.end()
        self._take_spare()
        self.replaced.emit()
        self._send()
        QTimer.singleShot(1500, self, self._ready_spare)

    def _take_spare(self) -> None:
        """Put the spare in the worker's place; one that answers a page stays where it is."""
        if self._spare is not None and self._spare.busy is None:
            self._worker, self._spare = self._spare, None
            if self._aside_waiting is not None and not self._closed:
                # What a page asked waits for no call to be done.
                self._spare = self._make()
        else:
            self._worker = self._make()

    def _send_aside(self) -> None:
        spare = self._spare
        if self._aside_waiting is None or spare is None or not spare.ready:
            return
        if spare.busy is not None:
            return
        spare.busy = self._aside_waiting[0]
        try:
            spare.pipe.send(self._aside_waiting)
        except OSError:
            # Its end is reported by the reading thread; the next spare is asked again.
            return
        self._aside_waiting = None

    def _take_aside(self, spare: _Worker, kind: str, number: int, payload: Any) -> None:
        """Take what the spare says."""
        if kind == "ready":
            spare.ready = True
        elif kind == "ended":
            lost = spare.busy
            spare.end()
            self._spare = None
            if lost is not None and lost == self._aside and self._aside_waiting is None:
                self.aside_done.emit(lost, None)
            if self._aside_waiting is not None and spare.ready:
                self._spare = self._make()
        elif kind != "progress":
            spare.busy = None
            if kind != "answer":
                logger.error("not worked out beside the call: %s", payload)
            if number == self._aside:
                self.aside_done.emit(number, payload if kind == "answer" else None)
        self._send_aside()

    @Slot()
    def _ready_spare(self) -> None:
        if self._closed or self._spare is not None:
            return
        if self.busy:
            QTimer.singleShot(500, self, self._ready_spare)
            return
        self._spare = self._make()

    def _give_up(self, lost: int | None) -> None:
        """Say that no call can be worked out; the next request tries again."""
        logger.error("the engine's process does not start")
        self._worker, self._waiting, self._still_born = None, None, 0
        self.failed.emit(
            lost or self._number,
            self.tr("The part that works out calls does not start."),
            self.tr("Entries go on. The details are in the log file."),
        )

    def _ask_again(self) -> bool:
        """Put the newest request back once, because the worker that had it has died."""
        if self._sent is None or self._sent[0] != self._number or self._again == self._number:
            return False
        self._again, self._waiting = self._number, self._sent
        return True

    @Slot(int, str, int, object)
    def _take(self, name: int, kind: str, number: int, payload: Any) -> None:
        worker = self._worker
        if worker is None or worker.name != name:
            if self._spare is not None and self._spare.name == name:
                self._take_aside(self._spare, kind, number, payload)
            return
        if kind == "ready":
            worker.ready, self._still_born = True, 0
            self._send()
            return
        if kind == "ended":
            lost = worker.busy
            worker.end()
            self._still_born += not worker.ready
            if self._still_born >= TRIES:
                self._give_up(lost)
                return
            self._take_spare()
            fallen = lost is not None and lost == self._number and not self._ask_again()
            self.replaced.emit()
            if fallen:
                self.failed.emit(
                    lost,
                    self.tr("Working out the call stopped by itself, twice."),
                    self.tr("Entries go on; the next one has it worked out again."),
                )
            self._send()
            return
        if kind == "progress":
            if number == self._number:
                self.progressed.emit(number, payload)
            return
        worker.busy = None
        self._patience.stop()
        if kind == "stopped" or number != self._number:
            self.stopped.emit(number)
        elif kind == "answer":
            self.answered.emit(number, payload)
        elif kind == "failed":
            self.failed.emit(number, *payload)
        else:
            logger.error("the engine failed: %s", payload)
            self.failed.emit(
                number,
                self.tr("The call could not be worked out; the last one stands."),
                self.tr("The details are in the log file."),
            )
        self._send()
