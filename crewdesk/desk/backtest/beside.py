"""Simulated days in a process of their own, for somebody who must not wait for them."""

from multiprocessing import get_context, parent_process
from multiprocessing.connection import Connection
from typing import Any

from crewdesk.desk.backtest.run import backtest_days
from crewdesk.desk.backtest.score import Backtest
from crewdesk.documents.bundle import EventBundle
from crewdesk.errors import CrewdeskError

BROKEN = "Playing the days stopped by itself."


class Beside:
    """Days played beside the program: asked now and then how far it is, stopped by asking."""

    def __init__(self, bundle: EventBundle, days: int) -> None:
        context = get_context("spawn")
        self._halt = context.Event()
        self._pipe, theirs = context.Pipe(duplex=False)
        # Not a daemon: it has processes of its own, one for each processor.
        self._process = context.Process(target=_play, args=(theirs, self._halt, bundle, days))
        self._process.start()
        theirs.close()
        self.days = days
        self.done = 0
        self.made: Backtest | None = None
        self.fault = ""

    @property
    def finished(self) -> bool:
        """Return whether there is nothing more to wait for."""
        return self.made is not None or bool(self.fault)

    def look(self) -> bool:
        """Take in what has come, without waiting; return whether anything had."""
        news = False
        try:
            while not self.finished and self._pipe.poll(0):
                kind, value = self._pipe.recv()
                news = True
                if kind == "done":
                    self.done = value
                elif kind == "made":
                    self.made = value
                else:
                    self.fault = value
        except (EOFError, OSError):
            self.fault = BROKEN
            news = True
        return news

    def stop(self) -> None:
        """Ask it to end with what is done; the answer still comes."""
        self._halt.set()

    def close(self) -> None:
        """Ask it to end, and wait for that."""
        self._halt.set()
        self._process.join(5.0)
        if self._process.is_alive():
            self._process.terminate()
            self._process.join(1.0)
        self._pipe.close()


def _play(pipe: Connection, halt: Any, bundle: EventBundle, days: int) -> None:
    """Play the days and tell of them; end with whoever asked."""
    asker = parent_process()

    def stop() -> bool:
        return bool(halt.is_set()) or (asker is not None and not asker.is_alive())

    def tell(done: int, _days: int) -> None:
        pipe.send(("done", done))

    try:
        pipe.send(("made", backtest_days(bundle, days, on_progress=tell, stop=stop)))
    except CrewdeskError as error:
        pipe.send(("fault", str(error)))
    except OSError:  # nobody listens any more
        return
