"""Left behind: after the car has gone, tread, damage and rim of each wheel that came off."""

from functools import partial

from PySide6.QtWidgets import QGridLayout, QWidget

from crewdesk.desk.state import TyreNow
from crewdesk.gui.box_host import BoxHost
from crewdesk.gui.boxes import BoxSpec, BoxWalk
from crewdesk.gui.page import Page
from crewdesk.gui.pages.car_in_boxes import POINTS
from crewdesk.gui.parts import button, clear, column, label, row
from crewdesk.gui.readings import TreadKeeper
from crewdesk.gui.session import Session
from crewdesk.gui.texts import wheel
from crewdesk.gui.views import wheels_off
from crewdesk.journal.entries import RimMove


class LeftBehindPage(Page):
    """Three depths a wheel; damage and rim one tap each."""

    key = "left_behind"
    part = "left_behind"
    keypad = True
    about_tyres = True

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._shape: tuple[object, ...] = ()
        self._keeper = TreadKeeper(session)
        self._wheels: list[str] = []
        self._at = ""
        """The wheel that the cursor is at, or was at last."""
        self.title = label("", "left_title", "title", wrap=True)
        self.without = button(
            self.tr("Leave them unread"),
            "left_without",
            partial(self.go.emit, "on_the_way"),
            spoken=self.tr("Go on, leave the wheels unread"),
        )
        self._grid_widget = QWidget()
        self._grid = QGridLayout(self._grid_widget)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(6)
        self._grid.setVerticalSpacing(6)
        self.caution = label(
            self.tr("Damaged tyres: mark across the tread, keep them on a stack of their own."),
            "left_caution",
            "muted",
            wrap=True,
        )
        head = row(self.title, self.without)
        head.setStretch(0, 1)
        self.setLayout(column(head, self._grid_widget, self.caution, 1))

    def heading(self) -> str:
        return self.tr("Left behind")

    def primary_text(self) -> str:
        if self._later():
            return self.tr("Next wheel")
        left = len(self._unread())
        return self.tr("Done, {0} not read").format(left) if left else self.tr("All done")

    def primary(self) -> None:
        later = self._later()
        if later and self.host is not None:
            self.host.enter_box(f"tread_in_mm:{later[0]}")
            return
        self.go.emit("on_the_way")

    def _later(self) -> list[str]:
        """Return the wheels still to read behind the one that the cursor is at.

        A wheel once passed by holds nothing up: what cannot be read is left.
        """
        at = self._at
        behind = self._wheels[self._wheels.index(at) + 1 :] if at in self._wheels else None
        return [t for t in self._unread() if behind is None or t in behind]

    def entered(self) -> None:
        self._at = ""
        if self.host is not None:
            self.host.start()

    def _unread(self) -> list[str]:
        if self.host is None:
            return []
        boxes = self.host.walk.boxes
        return [t for t in self._wheels if not boxes[f"tread_in_mm:{t}"].closed]

    def tyre_of_box(self, key: str) -> str | None:
        """Return the tyre that a box is about."""
        return key.partition(":")[2] or None

    def refresh(self) -> None:
        if not self.session.is_open:
            return
        state = self.session.state
        fittings = state.fittings
        last = fittings[-1] if fittings else None
        off = list(wheels_off(state))
        self._place = last.place if last is not None else ""
        # Without a wheel there is nothing to type.
        self.keypad = bool(off)
        shape = (self._place, tuple(off), tuple(self.session.rim_of(t) for t in off))
        self.title.setText(
            self.tr("Wheels that came off at {0}").format(self._place)
            if off
            else self.tr("No wheel was left behind.")
        )
        self.caution.setVisible(bool(off))
        if shape != self._shape:
            self._shape = shape
            self._build(off)
        elif self.host is not None:
            self.host.mirror(self._in_the_book(off))
        self._moved()

    def _build(self, off: list[str]) -> None:
        if self.host is not None:
            self.host.retire()
        clear(self._grid)
        self._wheels = off
        words = (self.tr("inner"), self.tr("middle"), self.tr("outer"))
        specs = []
        for tyre_id in off:
            tyre = self.session.state.tyres[tyre_id]
            for index, point in enumerate(POINTS):
                last = next(
                    (
                        r.tread_mm[index]
                        for r in reversed(tyre.readings)
                        if r.tread_mm[index] is not None
                    ),
                    tyre.stock.tread_mm[index],
                )
                specs.append(
                    BoxSpec(
                        f"{point}:{tyre_id}",
                        "tread",
                        self.tr("{0}, tread {1}, mm").format(
                            wheel(tyre.rim_id, tyre_id), words[index]
                        ),
                        thick=False,
                        last=last,
                        hint=self.tr("last {0}").format(f"{last:.1f}")
                        if last is not None
                        else "",
                    )
                )
        walk = BoxWalk(specs)
        walk.mirror(self._in_the_book(off))
        self.host = BoxHost(walk, self)
        self.host.committed.connect(self._typed)
        self.host.changed.connect(self._moved)
        self._keeper.serve(self, lambda: self._place)
        for at, text in enumerate((self.tr("wheel"), *words), start=0):
            if off:
                self._grid.addWidget(label(text, f"left_head_{at}", "muted"), 0, at)
        for line, tyre_id in enumerate(off, start=1):
            name = wheel(self.session.rim_of(tyre_id), tyre_id)
            self._grid.addWidget(label(name, f"left_{tyre_id}", "strong"), line, 0)
            for at, point in enumerate(POINTS, start=1):
                self._grid.addWidget(self.host.make_field(f"{point}:{tyre_id}"), line, at)
            self._grid.addWidget(
                button(
                    self.tr("Damage"),
                    f"left_damage_{tyre_id}",
                    partial(self._damage, tyre_id),
                    spoken=self.tr("{0} damage").format(name),
                ),
                line,
                4,
            )
            rim = self.session.rim_of(tyre_id)
            free = button(
                self.tr("Rim off") if rim else self.tr("no rim"),
                f"left_rim_{tyre_id}",
                partial(self._rim_off, tyre_id),
                spoken=self.tr("{0}, take the tyre off its rim").format(name),
            )
            self._grid.addWidget(free, line, 5)
        for at in range(1, 4):
            self._grid.setColumnStretch(at, 1)
        self.host_changed.emit()

    def _moved(self) -> None:
        here = self.host.walk.current if self.host is not None else None
        if here:
            # The primary takes the cursor out of the boxes before it asks where that was.
            self._at = here.partition(":")[2]
        self.without.setVisible(bool(self._unread()))
        self.primary_changed.emit()

    def _in_the_book(self, off: list[str]) -> dict[str, float]:
        """Return the depths that are known of the wheels, those read here first."""
        known: dict[str, float] = {}
        for tyre_id in off:
            tyre = self.session.state.tyres[tyre_id]
            here = [r.tread_mm for r in tyre.readings if r.place == self._place]
            for depths in (_known(tyre), *here):
                for point, mm in zip(POINTS, depths, strict=True):
                    if mm is not None:
                        known[f"{point}:{tyre_id}"] = mm
        return known

    def _typed(self, key: str, value: object, word: str) -> None:
        tyre_id = key.partition(":")[2]
        if word or not isinstance(value, float | int):
            return
        self._keeper.take(self, key, tyre_id, float(value), self._place)
        self.primary_changed.emit()

    def _damage(self, tyre_id: str) -> None:
        self.go.emit(f"damage:{tyre_id}")

    def _rim_off(self, tyre_id: str) -> None:
        if not self.session.rim_of(tyre_id):
            return
        self.session.enter(
            RimMove(tyre_id=tyre_id, rim_id=None),
            self.tr("{0} taken off its rim").format(tyre_id),
        )


def _known(tyre: TyreNow) -> tuple[float | None, float | None, float | None]:
    """Return the depths of a tyre that has not run since they were read."""
    for reading in reversed(tyre.readings):
        if any(mm is not None for mm in reading.tread_mm):
            return reading.tread_mm if reading.runs_before >= len(tyre.runs) else (None,) * 3
    return (None,) * 3
