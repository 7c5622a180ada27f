"""Pictures for the README and the guide, made from the real window on a demo event.

``python -m crewdesk.gui.pictures --to resources/pictures`` makes them all anew. The clock
and the weather's draw stand still, so that the same program makes the same pictures.
"""

import argparse
import os
import sys
import tempfile
import time
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final
from zoneinfo import ZoneInfo

import numpy as np
from PySide6.QtCore import QEventLoop, Qt, QTimer
from PySide6.QtGui import QImage, QPainter, qRgb
from PySide6.QtWidgets import QApplication

from crewdesk.assets import shipped
from crewdesk.gui.engine_client import EngineClient
from crewdesk.gui.engine_worker import work_here
from crewdesk.gui.notices import NoticeBoard
from crewdesk.gui.session import Session

if TYPE_CHECKING:
    from crewdesk.journal.entries import AnyEntry

EVENT: Final = "quellhaven"
NAMES: Final = ("new_event", "load", "conditions", "call", "sheet", "car_in", "wear", "learnt")
"""What is made, in the order of the day."""
SIZE: Final = (1366, 748)
COLOURS: Final = 256
SHEET_DOTS_PER_MM: Final = 4.6
FIRST: Final[Mapping[Any, str]] = {
    "FL": "H01", "FR": "H02", "RL": "H03", "RR": "H04", "SP1": "H05", "SP2": "H06",
}  # fmt: skip
"""What the car went out on; the pictures are of the service after it."""
_HOT_KPA: Final[Mapping[str, float]] = {
    "H01": 236, "H02": 235, "H03": 229, "H04": 230, "H05": 206, "H06": 206,
}  # fmt: skip
_TREAD_MM: Final[Mapping[str, tuple[float, float, float]]] = {
    "H03": (8.1, 8.4, 8.3), "H04": (8.0, 8.3, 8.2),
}  # fmt: skip


class StillClock:
    """A clock that is set by hand, in event-local time."""

    def __init__(self, zone: str, day: str) -> None:
        self._zone, self._day = ZoneInfo(zone), day
        self.at = self._of("06:00")

    def _of(self, clock: str) -> datetime:
        return datetime.fromisoformat(f"{self._day} {clock}").replace(tzinfo=self._zone)

    def set(self, clock: str) -> None:
        """Put the clock to a time of the day."""
        self.at = self._of(clock)

    def __call__(self) -> datetime:
        return self.at


class StillEngine(EngineClient):
    """An engine that is asked at the right moment and answers before anything moves on."""

    def start(self) -> None:
        """Start nothing."""

    def request(self, *_arguments: Any, work: str = "") -> int:
        """Take a request; it is answered when the picture wants it."""
        return len(work)

    def ask_aside(self, *arguments: Any, work: str) -> int:
        """Work out here what a page wants to know."""
        number = self._aside = self._aside - 1
        found = work_here(work, arguments, number)
        QTimer.singleShot(0, self, lambda: self.aside_done.emit(number, found))
        return number


class Scene:
    """The window on the demo event, moved from step to step."""

    def __init__(self, folder: Path) -> None:
        from crewdesk.gui.app import settings_file
        from crewdesk.gui.window import MainWindow

        self.folder = folder
        self.event = Path(str(shipped("demo_events").joinpath(EVENT)))
        self.clock = StillClock("Etc/GMT-2", "2026-08-22")
        self.session = Session(StillEngine(), clock=self.clock, data_dir=folder)
        self.window: MainWindow = MainWindow(self.session, settings_file(folder))
        self.window.resize(*SIZE)
        self.window.show()
        self.settle()

    def settle(self, seconds: float = 0.25) -> None:
        """Let the window finish drawing."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            QApplication.processEvents(QEventLoop.ProcessEventsFlag.AllEvents, 20)
            time.sleep(0.01)

    def enter(self, *bodies: "AnyEntry") -> None:
        """Enter things; a picture of a refused entry would be a false one."""
        for body in bodies:
            receipt = self.session.enter(body, body.kind.replace("_", " "))
            if receipt is None or not receipt.accepted:
                raise RuntimeError(f"not taken: {body}")

    def call(self) -> None:
        """Have the call of the place ahead worked out, and show it."""
        from crewdesk.desk.answer import CallOptions
        from crewdesk.desk.ask import answer

        session = self.session
        assert session.day is not None
        session.answer = answer(session.bundle, session.state, CallOptions(), 1, session.now())
        session.answer_at = session.now()
        session.answered.emit()

    def quiet(self) -> None:
        """Take the last message down: the picture is of the page."""
        self.session.board = NoticeBoard()
        self.session.noticed.emit()

    def shot(self, page: str = "") -> QImage:
        """Return the window as it stands, on a page."""
        if page:
            self.window.go(page)
        self.window.top.tick()
        self.settle()
        # Nothing is asked of an engine here, so nothing is on its way either.
        self.session.progress = ""
        self.session.working.emit("")
        self.settle(0.1)
        return self.window.grab().toImage()


def sheet_image(session: Session) -> QImage:
    """Return the sheet of the call in use as a picture of its page."""
    from crewdesk.gui.exports import make_sheet
    from crewdesk.gui.paper.page import Page, have_letters
    from crewdesk.gui.paper.sheet_pdf import draw_sheet

    sheet = make_sheet(session)
    if sheet is None:
        raise RuntimeError("there is no sheet to draw")
    have_letters()
    k = SHEET_DOTS_PER_MM
    image = QImage(round(210 * k), round(297 * k), QImage.Format.Format_RGB32)
    image.setDotsPerMeterX(round(k * 1000))
    image.setDotsPerMeterY(round(k * 1000))
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    try:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        draw_sheet(Page(painter, k), sheet)
    finally:
        painter.end()
    return image


def few_colours(image: QImage) -> QImage:
    """Return a picture with its most frequent colours; the others take the nearest one."""
    plain = image.convertToFormat(QImage.Format.Format_RGB32)
    high, wide = plain.height(), plain.width()
    pixels = np.frombuffer(plain.constBits(), dtype=np.uint32).reshape(high, -1)[:, :wide]
    colours, counts = np.unique(pixels & 0xFFFFFF, return_counts=True)
    kept = colours[np.argsort(-counts, kind="stable")[:COLOURS]]
    table = [qRgb(int(c) >> 16 & 255, int(c) >> 8 & 255, int(c) & 255) for c in np.sort(kept)]
    return plain.convertToFormat(
        QImage.Format.Format_Indexed8,
        table,
        Qt.ImageConversionFlag.ThresholdDither | Qt.ImageConversionFlag.AvoidDither,
    )


def pictures(folder: Path) -> dict[str, QImage]:
    """Return every picture by name; ``folder`` is for the book and may be thrown away."""
    from crewdesk.journal.entries import (
        AsFound,
        CallUsed,
        Fitting,
        ReadBack,
        Reading,
        Report,
        StageRun,
    )

    made: dict[str, QImage] = {}
    scene = Scene(folder)
    window, session, clock = scene.window, scene.session, scene.clock
    # ---- a new event with one cell at fault
    window.go("new_event")
    page: Any = window.page
    text = (scene.event / "itinerary.csv").read_text(encoding="utf-8")
    page.form.name.setText("Quellhaven Gravel Weekend")
    page.tables["itinerary"].take_text(_as_published(text))
    page.check()
    page.tables["itinerary"].next_fault()
    made["new_event"] = scene.shot()
    # ---- the event, and the first conditions
    clock.set("07:20")
    if not session.open(scene.event, folder / "day.book"):
        raise RuntimeError("the demo event cannot be opened")
    scene.quiet()
    made["load"] = scene.shot("load")
    window.go("conditions")
    for digit in "1824":
        window.page.host.press(digit)  # type: ignore[union-attr]
    scene.settle(0.7)
    scene.enter(Report(place="A", surface="dry"))
    made["conditions"] = scene.shot()
    # ---- the first loop
    scene.enter(CallUsed(place="A", fitting=dict(FIRST)))
    clock.set("08:10")
    scene.enter(
        Fitting(place="A", fitting=dict(FIRST), cold_kpa=dict.fromkeys(FIRST, 195.0)),
        ReadBack(place="A", fitting=dict(FIRST), torque=("FL", "FR", "RL", "RR"), name="Mo"),
    )
    for at, stage in (("09:05", "SS1"), ("09:40", "SS2"), ("10:25", "SS3")):
        clock.set(at)
        scene.enter(StageRun(stage=stage))
    # ---- before the second service
    clock.set("11:25")
    scene.enter(Report(place="B", air_c=26, road_c=39, surface="dry"))
    clock.set("11:28")
    scene.call()
    scene.quiet()
    made["call"] = scene.shot("call")
    window.fire_primary()
    scene.call()
    made["sheet"] = sheet_image(session)
    session.sheet_printed()
    # ---- the car is in
    clock.set("12:02")
    scene.enter(AsFound(place="B", fitting=dict(FIRST)))
    for tyre, hot in _HOT_KPA.items():
        scene.enter(Reading(tyre_id=tyre, hot_kpa=hot, place="B"))
    for tyre, depth in _TREAD_MM.items():
        scene.enter(
            Reading(
                tyre_id=tyre,
                tread_in_mm=depth[0],
                tread_mid_mm=depth[1],
                tread_out_mm=depth[2],
                place="B",
            )
        )
    clock.set("12:05")
    scene.call()
    made["car_in"] = scene.shot("car_in")
    window.go("wear")
    scene.settle(2.0)
    made["wear"] = scene.shot()
    window.go("learnt")
    learnt: Any = window.page
    learnt.choice.buttons[1][0].click()
    scene.quiet()
    scene.settle(2.0)
    made["learnt"] = scene.shot()
    window.close()
    return made


def _as_published(text: str) -> str:
    """Return an itinerary as an organiser might print it, with one word out of place."""
    heads = {
        "leg": "Day", "ref": "TC", "name": "Location", "ss_km": "SS dist",
        "liaison_km": "Liaison", "target_min": "Target time", "first_car_due": "First car due",
        "surface": "Surface",
    }  # fmt: skip
    rows = _rows(text)
    lines = [";".join(heads.values())]
    for row in rows:
        cells = [row[name].replace(".", ",") if name.endswith("_km") else row[name]
                 for name in heads]  # fmt: skip
        if row["ref"] == "SS1":
            cells[-1] = "earth"
        lines.append(";".join(cells))
    return "\n".join(lines) + "\n"


def _rows(text: str) -> list[dict[str, str]]:
    import csv

    return list(csv.DictReader(x for x in text.splitlines() if not x.startswith("#")))


def write_pictures(folder: Path, say: Callable[[str], object] = print) -> list[Path]:
    """Write every picture into a folder; return the files."""
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    with tempfile.TemporaryDirectory() as scratch:
        made = pictures(Path(scratch))
        if tuple(made) != NAMES:
            raise RuntimeError(f"made {', '.join(made)}, wanted {', '.join(NAMES)}")
        for name, image in made.items():
            path = folder / f"{name}.png"
            if not few_colours(image).save(str(path), None, 0):
                raise OSError(f"{path} could not be written")
            say(f"{path}  {image.width()} x {image.height()}, {path.stat().st_size} bytes")
            written.append(path)
    return written


def main(argv: Sequence[str] | None = None) -> int:
    """Make the pictures; without a screen, wherever it is run."""
    parser = argparse.ArgumentParser(prog="python -m crewdesk.gui.pictures")
    parser.add_argument("--to", type=Path, required=True, metavar="FOLDER", help="where to")
    given = parser.parse_args(argv)
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from crewdesk.gui.app import make_application

    application = make_application()
    write_pictures(given.to, lambda text: sys.stdout.write(f"{text}\n"))
    application.quit()
    return 0


if __name__ == "__main__":
    sys.exit(main())
