"""How quick the window is: start, stalls while the engine works, pages, themes, paper, memory.

Run with ``python -m tests.benchmarks.bench_window [start] [stalls] [engine] [paper] [memory]``;
without names all are run. Times depend on machine and load, which are printed; of the start the
ratio to a bare window in the same run counts.
"""

import os
import platform
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from functools import partial
from pathlib import Path
from statistics import median
from uuid import UUID

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QEventLoop, QObject, Qt, QTimer
from PySide6.QtWidgets import QApplication

from crewdesk.assets import shipped
from crewdesk.gui.app import Desk, make_application
from crewdesk.gui.engine_client import EngineClient
from crewdesk.gui.page import Page
from crewdesk.gui.start import Start, first_window, settings_file
from crewdesk.journal.entries import (
    AnyEntry,
    AsFound,
    CallUsed,
    Fitting,
    Incident,
    LookEntry,
    ReadBack,
    Reading,
    Report,
    StageRun,
)
from crewdesk.units import PLACES

EVENT = Path(str(shipped("demo_events").joinpath("quellhaven")))
OTHER = Path(str(shipped("demo_events").joinpath("saldrey")))
FIRST = {"FL": "H01", "FR": "H02", "RL": "H03", "RR": "H04", "SP1": "H05"}
SECOND = {"FL": "H06", "FR": "H07", "RL": "H08", "RR": "H09", "SP1": "H05"}
STARTS = 7
START_GOAL, STALL_GOAL_MS = 1.5, 50.0
STOPPED_GOAL_MS, REPLACED_GOAL_MS = 10.0, 210.0

BARE = """
import sys, time
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QWidget
class Bare(QWidget):
    def paintEvent(self, event):
        QTimer.singleShot(0, say)
def say():
    print(time.monotonic())
    app.quit()
app = QApplication(sys.argv[:1])
window = Bare()
window.resize(1366, 700)
window.show()
app.exec()
"""

OURS = """
import sys, time
from PySide6.QtCore import QEvent, QTimer
from PySide6.QtWidgets import QApplication
from crewdesk.cli import main
from crewdesk.gui import start as a
class Watched(a.MainWindow):
    seen = False
    def event(self, event):
        if event.type() == QEvent.Type.Paint and not self.seen:
            self.seen = True
            QTimer.singleShot(0, first)
        return super().event(event)
class Watching(a.Start):
    def __init__(self, *arguments):
        super().__init__(*arguments)
        self.filled.connect(lambda: QTimer.singleShot(0, self.drawn))
        self.opened.connect(lambda: QTimer.singleShot(0, self.charts))
    def drawn(self):
        self.window.grab()
        print(time.monotonic())
    def charts(self):
        print(time.monotonic())
        self.window.go("wear")
        self.window.page._build()
        QApplication.processEvents()
        self.window.grab()
        print(time.monotonic())
        self.window.close()
def first():
    print(time.monotonic())
    if "first" in sys.argv:
        QApplication.exit()
a.MainWindow, a.Start = Watched, Watching
main([])
"""


class LagProbe(QObject):
    """The longest time the event loop did not come round, within a ``with`` block.

    Beside it the longest work of this thread in one such time: a machine that has other
    things to do makes the first longer, but not the second.
    """

    def __init__(self, every_ms: int = 10) -> None:
        super().__init__()
        self.step_s, self.worst_s, self.work_s = every_ms / 1000, 0.0, 0.0
        self._timer = QTimer(self, timerType=Qt.TimerType.PreciseTimer, interval=every_ms)
        self._timer.timeout.connect(self._tick)

    def __enter__(self) -> "LagProbe":
        self.last_s, self.done_s = time.perf_counter(), time.thread_time()
        self._timer.start()
        return self

    def _tick(self) -> None:
        now_s = time.perf_counter()
        self.worst_s = max(self.worst_s, now_s - self.last_s - self.step_s)
        done_s = time.thread_time()
        self.work_s = max(self.work_s, done_s - self.done_s)
        self.last_s, self.done_s = now_s, done_s

    def __exit__(self, *_: object) -> None:
        QApplication.processEvents()
        self._tick()
        self._timer.stop()


def spin(seconds: float, until: Callable[[], bool] = lambda: False) -> bool:
    """Let the event loop run for a time, or until something is so."""
    end_s = time.perf_counter() + seconds
    while time.perf_counter() < end_s and not until():
        QApplication.processEvents(QEventLoop.ProcessEventsFlag.WaitForMoreEvents, 5)
    return until()


def started(script: str, *arguments: str) -> list[float]:
    """Return the seconds from the start of a process to each time it prints."""
    # As in an installed program: what is imported was compiled before.
    surroundings = {**os.environ, "PYTHONPYCACHEPREFIX": arguments[0]}
    for where in ("CONFIG", "DATA", "STATE"):
        # Nothing of the person at this machine is read or written.
        surroundings[f"XDG_{where}_HOME"] = arguments[0]
    surroundings.pop("PYTHONDONTWRITEBYTECODE", None)
    began_s = time.monotonic()
    done = subprocess.run(
        [sys.executable, "-c", script, *arguments],
        capture_output=True,
        text=True,
        check=True,
        env=surroundings,
    )
    return [float(line) - began_s for line in done.stdout.split()]


def worked_s() -> float:
    """Return the processor time of all children so far; it hangs less on the load."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def start() -> None:
    """Print the time to the first drawing, its ratio to a bare window's, and what follows."""
    bare, ours = [], []
    bare_work, our_work = [], []
    with tempfile.TemporaryDirectory() as folder:
        started(BARE, folder)
        started(OURS, folder)
        for _ in range(STARTS):
            before_s = worked_s()
            bare.append(started(BARE, folder)[0])
            between_s = worked_s()
            ours.append(started(OURS, folder, "first")[0])
            bare_work.append(between_s - before_s)
            our_work.append(worked_s() - between_s)
        whole = [started(OURS, folder) for _ in range(3)]
    work = min(our_work) / min(bare_work)
    # The quickest of each: what else the machine does only ever adds.
    ratio = min(ours) / min(bare)
    print(
        f"start to first drawing: bare {1e3 * min(bare):.0f} ms, ours {1e3 * min(ours):.0f} ms"
    )
    print(
        f"  ratio {ratio:.2f} (goal {START_GOAL}); of medians {median(ours) / median(bare):.2f}"
    )
    words = f"{1e3 * min(bare_work):.0f} and {1e3 * min(our_work):.0f} ms, ratio {work:.2f}"
    print(f"  processor work of the whole run: {words}")
    names = ("first drawing", "all controls", "event open", "charts drawn")
    after = ", ".join(
        f"{name} {1e3 * min(each):.0f} ms"
        for name, each in zip(names, zip(*whole, strict=True), strict=True)
    )
    print(f"  of whole starts: {after}")


@contextmanager
def desk_at_work(folder: Path) -> Iterator[Desk]:
    """Yield the window on a fresh day, started as the program starts it."""
    window = first_window(settings_file(folder))
    window.resize(1366, 700)
    start = Start(window, OTHER, None, data_dir=folder)
    done: list[bool] = []
    start.ready.connect(lambda: done.append(True))
    with LagProbe() as probe:
        spin(60.0, lambda: bool(done))
    if start.desk is None:
        raise RuntimeError("the window did not start") from start.error
    print(f"from the first drawing until all is read: {1e3 * probe.worst_s:.0f} ms")
    try:
        yield start.desk
    finally:
        window.close()


def entered(desk: Desk, body: AnyEntry) -> Callable[[], object]:
    """Return a step that enters something."""
    return lambda: desk.session.enter(body, body.kind)


def wheels_changed(page: Page) -> None:
    """Wait for what is worked out meanwhile: changing wheels takes minutes, this a second."""
    spin(5.0, lambda: page._ahead.made_for == page._ahead.now())


def steps_of(desk: Desk) -> Iterator[tuple[str, Callable[[], object]]]:
    """Yield the steps of a loop and a service, each as one hand would do it."""
    window = desk.window
    # What the button for the demo event asks for.
    yield "open the event", window.demo_wanted.emit
    yield "page before", lambda: window.go("before_event")
    yield "page conditions", lambda: window.go("conditions")
    yield "report", entered(desk, Report(place="A", air_c=18, road_c=24, surface="dry"))
    yield "use the call", entered(desk, CallUsed(place="A", fitting=FIRST))
    yield "page fit at A", lambda: window.go("fit")
    wheels_changed(window.page)
    yield "fitting", entered(desk, Fitting(place="A", fitting=FIRST, source="own"))
    yield (
        "read back",
        entered(
            desk,
            ReadBack(place="A", fitting=FIRST, torque=("FL", "FR", "RL", "RR"), name="Mo"),
        ),
    )
    yield "page loop", lambda: window.go("loop")
    for stage in ("SS1", "SS2", "SS3"):
        yield f"{stage} run", entered(desk, StageRun(stage=stage))
    yield "page call", lambda: window.go("call")
    yield "report at B", entered(desk, Report(place="B", air_c=26, road_c=39, surface="dry"))
    yield "page car in", lambda: window.go("car_in")
    yield "as found", entered(desk, AsFound(place="B", fitting=FIRST))
    for tyre in ("H01", "H02", "H03", "H04"):
        hot = Reading(tyre_id=tyre, hot_kpa=236, where="at_in", place="B")
        yield f"{tyre} hot", entered(desk, hot)
    yield "H03 look", entered(desk, LookEntry(tyre_id="H03", look="even", place="B"))
    yield (
        "H03 tread",
        entered(
            desk,
            Reading(
                tyre_id="H03", tread_in_mm=7.8, tread_mid_mm=7.6, tread_out_mm=7.7, place="B"
            ),
        ),
    )
    yield "page fit", lambda: window.go("fit")
    for place in PLACES:
        # The crew's own fitting is chosen wheel by wheel.
        yield f"other wheel {place}", partial(window.page._take, place, SECOND.get(place))
    wheels_changed(window.page)
    yield "fitting at B", entered(desk, Fitting(place="B", fitting=SECOND, source="own"))
    yield "page out", lambda: window.go("out")
    yield (
        "read back at B",
        entered(
            desk,
            ReadBack(place="B", fitting=SECOND, torque=("FL", "FR", "RL", "RR"), name="Mo"),
        ),
    )
    yield "page left behind", lambda: window.go("left_behind")
    puncture = Incident(
        what="puncture", corner="FL", where="SS4", tyre_off="H06", tyre_on="H05"
    )
    yield "puncture", entered(desk, puncture)
    yield "undo", desk.session.undo
    yield "redo", desk.session.redo
    yield "page learnt", lambda: window.go("learnt")
    yield "page stock", lambda: window.go("stock")
    yield "theme sunlight", lambda: window.set_theme("sunlight")
    yield "theme light", lambda: window.set_theme("light")


def stalls() -> None:
    """Print how long each step holds the window up, the engine at full work beside it."""
    with tempfile.TemporaryDirectory() as folder, desk_at_work(Path(folder)) as desk:
        with LagProbe() as idle:
            spin(2.0)
        print(f"idle: {1e3 * idle.worst_s:.0f} ms")
        worst: dict[str, float] = {}
        for name, step in steps_of(desk):
            # The request of the step before is being worked out while this one is done.
            spin(1.0, lambda: desk.engine.busy)
            with LagProbe() as probe:
                QTimer.singleShot(20, step)
                spin(0.6)
            worst[name], work_ms = 1e3 * probe.worst_s, 1e3 * probe.work_s
            busy = "" if desk.engine.busy else "   (engine idle)"
            over = "  OVER" if worst[name] > STALL_GOAL_MS else ""
            print(f"  {name:<18}{worst[name]:6.0f} ms, work {work_ms:4.0f} ms{over}{busy}")
        with LagProbe() as still:
            spin(2.0)
        print(f"nothing done, engine at work or done: {1e3 * still.worst_s:.0f} ms")
        with LagProbe() as drawn:
            desk.window.go("wear")
            spin(1.0)
        print(f"charts built and drawn: {1e3 * drawn.worst_s:.0f} ms")
        over_goal = [name for name, ms in worst.items() if ms > STALL_GOAL_MS]
        print(f"over {STALL_GOAL_MS:.0f} ms: {', '.join(over_goal) or 'none'}")


def engine() -> None:
    """Print how soon a request stops, and how soon a deaf worker is replaced."""
    sys.path.insert(0, str(Path(__file__).parents[1] / "gui" / "jobs"))
    # A spawned worker finds the jobs where this process does.
    os.environ["PYTHONPATH"] = sys.path[0]
    client = EngineClient("engine_jobs:work")
    told: dict[str, float] = {}
    client.stopped.connect(lambda _n: told.setdefault("stopped", time.perf_counter()))
    client.progressed.connect(lambda _n, _p: told.setdefault("begun", time.perf_counter()))
    client.answered.connect(lambda _n, _p: told.setdefault("answer", time.perf_counter()))
    client.start()
    spin(10.0, lambda: client._worker is not None and client._worker.ready)
    stopped, replaced = [], []
    for _ in range(10):
        told.clear()
        client.request("patient", None, None, None)
        spin(0.05)
        asked_s = time.perf_counter()
        client.cancel()
        spin(2.0, lambda: "stopped" in told)
        stopped.append(1e3 * (told["stopped"] - asked_s))
    for _ in range(3):
        told.clear()
        spin(10.0, lambda: client._spare is not None and client._spare.ready)
        client.request("deaf", None, None, None)
        spin(2.0, lambda: "begun" in told)
        asked_s = time.perf_counter()
        told.clear()
        client.request("echo", None, None, None)
        spin(5.0, lambda: "answer" in told)
        replaced.append(1e3 * (told["answer"] - asked_s))
    client.close()
    words = f"median {median(stopped):.1f}, worst {max(stopped):.1f} ms"
    print(f"cancel to stopped: {words} (goal {STOPPED_GOAL_MS:.0f})")
    words = f"median {median(replaced):.0f}, worst {max(replaced):.0f} ms"
    print(f"no answer to the spare's answer: {words} (goal {REPLACED_GOAL_MS:.0f})")


def paper() -> None:
    """Print the time of sixty rows to PDF."""
    from crewdesk.documents.handover import Counts, Handover, HandoverTyre
    from crewdesk.gui.paper.handover_pdf import write_handover_pdf

    tyres = tuple(
        HandoverTyre(
            tyre_id=f"T{number:02d}",
            maker="Vellmark",
            model="Quarry",
            compound="hard",
            use="gravel",
            tread_new_mm=10.0,
            tread_mm=(6.1, 6.4, 6.0),
            tread_source="measured",
            edge_share=(0.5, 0.4, 0.45),
            state="keep",
        )
        for number in range(60)
    )
    page = Handover(
        event_id=UUID(int=60),
        event="Sixty rows",
        first_day=date(2026, 8, 22),
        last_day=date(2026, 8, 23),
        zone="Etc/GMT-2",
        regulation_set="Weekend Gravel",
        counts=Counts(used=17, limit=18, by_compound={"hard": 17}, caps={}),
        tyres=tyres,
    )
    with tempfile.TemporaryDirectory() as folder:
        took = []
        for _ in range(5):
            began_s = time.perf_counter()
            write_handover_pdf(page, Path(folder) / "handover.pdf")
            took.append(1e3 * (time.perf_counter() - began_s))
    print(f"60 rows to PDF: {median(took):.0f} ms, worst {max(took):.0f} ms")


def memory() -> None:
    """Print what the window holds for itself, empty, on a day and with its charts."""
    with tempfile.TemporaryDirectory() as folder, desk_at_work(Path(folder)) as desk:
        spin(1.0)
        desk.open(EVENT, None)
        spin(4.0)
        day = own_mib()
        desk.window.go("wear")
        spin(2.0)
        print(f"memory: on a day {day:.0f}, with charts {own_mib():.0f} MiB")


def own_mib() -> float:
    """Return the memory that this process shares with no other."""
    found = 0
    for line in Path("/proc/self/smaps_rollup").read_text(encoding="ascii").splitlines():
        if line.startswith("Private_"):
            found += int(line.split()[1])
    return found / 1024


PARTS = {"start": start, "stalls": stalls, "engine": engine, "paper": paper, "memory": memory}


def main(names: list[str]) -> None:
    """Print machine and load, then the parts."""
    load = ", ".join(f"{x:.1f}" for x in os.getloadavg())
    print(f"{platform.platform()}, {os.cpu_count()} cores, load {load}")
    print(f"Python {platform.python_version()}, {os.environ['QT_QPA_PLATFORM']}")
    app = make_application()
    for name in names or PARTS:
        PARTS[name]()
        app.processEvents()


if __name__ == "__main__":
    main(sys.argv[1:])
