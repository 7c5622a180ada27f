"""Many simulated days on all processors, with progress, to be stopped at any moment."""

import os
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from contextlib import contextmanager
from multiprocessing import get_context
from typing import Any

from crewdesk.desk.ask import money_per_s
from crewdesk.desk.backtest.play import play_all
from crewdesk.desk.backtest.policies import DayStopped, Stop
from crewdesk.desk.backtest.score import Backtest, DayScore, day_score
from crewdesk.desk.backtest.sky import Spread
from crewdesk.desk.backtest.truth import draw_truth
from crewdesk.documents.bundle import EventBundle
from crewdesk.errors import EngineError

SCENARIOS = 16
"""Courses of the day that a decision looks at: fewer than a call, for a day of seconds."""
LOOK_S = 0.2
"""How often somebody who wants to stop is asked. [s]"""

Progress = Callable[[int, int], None]


def backtest_days(
    bundle: EventBundle,
    days: int,
    seed: int = 0,
    *,
    spread: Spread | None = None,
    scenarios: int = SCENARIOS,
    jobs: int | None = None,
    on_progress: Progress | None = None,
    stop: Stop | None = None,
) -> Backtest:
    """Return simulated days as each policy drives them.

    The same seed gives the same days, on however many processors. ``on_progress`` gets the
    days done and the days wanted; ``stop`` is asked several times a second, and a keyboard
    interrupt ends the days as well: what is done by then comes back. One job runs here, more
    run in processes of their own.

    Raises
    ------
    EngineError
        Where there is nothing to play.
    """
    if not any(place.stages for place in bundle.itinerary.change_places):
        raise EngineError(
            "No change place of the event has stages behind it: there is no day to play.",
            hint="Set tyre_change on the OUT rows of the visits.",
        )
    if not bundle.stock.tyres:
        raise EngineError("The stock is empty.", hint="Add tyres to stock.csv.")
    own = spread or Spread()
    count = max(min(jobs if jobs is not None else os.cpu_count() or 1, days), 1)
    run = _here if count == 1 else _apart
    done: list[DayScore] = []
    stopped = False
    try:
        for score in run(bundle, days, seed, own, scenarios, count, stop):
            done.append(score)
            if on_progress is not None:
                on_progress(len(done), days)
    except KeyboardInterrupt:
        stopped = True
    done.sort(key=lambda score: score.day)
    return Backtest(seed, tuple(done), stopped or len(done) < days)


def one_day(
    bundle: EventBundle,
    day: int,
    seed: int,
    spread: Spread,
    scenarios: int,
    stop: Stop | None = None,
) -> DayScore:
    """Return one day as each policy drives it."""
    truth = draw_truth(bundle, seed, day, spread)
    played = play_all(bundle, truth, scenarios, stop=stop)
    xi = money_per_s(bundle, bundle.event.settings.new_tyre_worth_s)
    return day_score(bundle, truth, day, played, xi_money_per_s=xi)


def _here(
    bundle: EventBundle,
    days: int,
    seed: int,
    spread: Spread,
    scenarios: int,
    _jobs: int,
    stop: Stop | None,
) -> Iterator[DayScore]:
    """Play the days in this process."""
    for day in range(days):
        try:
            yield one_day(bundle, day, seed, spread, scenarios, stop)
        except DayStopped:
            return


def _apart(
    bundle: EventBundle,
    days: int,
    seed: int,
    spread: Spread,
    scenarios: int,
    jobs: int,
    stop: Stop | None,
) -> Iterator[DayScore]:
    """Play the days in processes of their own."""
    context = get_context("spawn")
    halt = context.Event()
    pool = ProcessPoolExecutor(
        jobs, mp_context=context, initializer=_begin, initargs=(bundle, halt)
    )
    waiting: set[Future[DayScore | None]] = set()
    try:
        with _quiet_start():
            waiting = {pool.submit(_day, day, seed, spread, scenarios) for day in range(days)}
        while waiting:
            ready, waiting = wait(waiting, timeout=LOOK_S, return_when=FIRST_COMPLETED)
            for future in ready:
                score = future.result()
                if score is not None:
                    yield score
            if stop is not None and stop():
                return
    finally:
        halt.set()
        pool.shutdown(wait=True, cancel_futures=True)


@contextmanager
def _quiet_start() -> Iterator[None]:
    """Let processes start so that one thread each works, and Ctrl-C is for us alone."""
    name = "OPENBLAS_NUM_THREADS"
    before = os.environ.get(name)
    os.environ[name] = "1"
    main = threading.current_thread() is threading.main_thread()
    handler = signal.signal(signal.SIGINT, signal.SIG_IGN) if main else None
    try:
        yield
    finally:
        if main:
            signal.signal(signal.SIGINT, handler)
        if before is None:
            del os.environ[name]
        else:
            os.environ[name] = before


_kept: dict[str, Any] = {}
"""In a process of its own: the documents, and whether to stop."""


def _begin(bundle: EventBundle, halt: Any) -> None:
    # Where signals are not handed down to a new process they are put off here.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _kept.update(bundle=bundle, halt=halt)


def _day(day: int, seed: int, spread: Spread, scenarios: int) -> DayScore | None:
    """Return one day, or None where it was stopped."""
    try:
        return one_day(_kept["bundle"], day, seed, spread, scenarios, _kept["halt"].is_set)
    except DayStopped:
        return None
