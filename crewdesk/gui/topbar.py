"""The top strip: where we are, the clock that counts, air, road, tyres left, the view."""

from datetime import datetime

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QBoxLayout, QFrame, QPushButton, QSizePolicy

from crewdesk.gui.parts import button, column, label, row, set_kind
from crewdesk.gui.session import Session
from crewdesk.gui.texts import age_words, clock, degrees, span
from crewdesk.gui.theme import ThemeName
from crewdesk.gui.timing import Seen, countdown, loop_running, newest, short_label


class TopBar(QFrame):
    """Always on screen."""

    air_wanted = Signal()
    road_wanted = Signal()
    view_wanted = Signal()
    steps_wanted = Signal()

    def __init__(self, session: Session) -> None:
        super().__init__()
        self._session = session
        self._compact = False
        self._making: tuple[str, str] | None = None
        """Name and state of an event that is being made; None: the open day is shown."""
        self.setObjectName("topbar")
        self.setProperty("kind", "strip")
        # make
        self.steps = button(self.tr("☰ Steps\nF12"), "top_steps", self.steps_wanted.emit)
        self.where = label("", "top_where", "strong")
        self.stages = label("", "top_stages", "muted")
        self.what = label("", "top_what", "muted")
        self.due = label("", "top_due", "muted")
        self.left = label("", "top_clock", "clock")
        self.air = button("", "top_air", self.air_wanted.emit, kind="top")
        self.road = button("", "top_road", self.road_wanted.emit, kind="top")
        self.tyres = label("", "top_tyres", "value")
        self.tyres_what = label(self.tr("Tyres left"), "top_tyres_what", "muted")
        self.view: QPushButton = button("", "top_view", self.view_wanted.emit)
        # arrange
        self._lines = QBoxLayout(QBoxLayout.Direction.LeftToRight, self)
        self._lines.setContentsMargins(12, 4, 12, 4)
        self._lines.setSpacing(14)
        self._first = row(
            self.steps, column(0, self.where, self.stages, 0, spacing=0), spacing=14
        )
        self._first.setStretch(1, 1)
        self._second = row(
            self.left,
            column(0, self.what, self.due, 0, spacing=0),
            self.air,
            self.road,
            column(0, self.tyres_what, self.tyres, 0, spacing=0),
            self.view,
            spacing=14,
        )
        self._lines.addLayout(self._first, 1)
        self._lines.addLayout(self._second)
        for wide in (self.where, self.stages):
            wide.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        # connect
        session.changed.connect(self.refresh)
        session.answered.connect(self.refresh)

    def set_compact(self, compact: bool) -> None:
        self._compact = compact
        self.due.setVisible(not compact and self._making is None)
        self._second.setSpacing(8 if compact else 14)
        self.tyres_what.setText(self.tr("Left") if compact else self.tr("Tyres left"))
        self.refresh()

    def set_upright(self, upright: bool) -> None:
        """Take two lines where the screen is narrow and high."""
        way = QBoxLayout.Direction
        self._lines.setDirection(way.TopToBottom if upright else way.LeftToRight)
        self._lines.setSpacing(4 if upright else 14)
        self._second.setSpacing(8 if upright or self._compact else 14)
        (self._first if upright else self._second).addWidget(self.view)

    def set_theme_name(self, name: ThemeName) -> None:
        words = {
            "light": self.tr("☀ Light"),
            "sunlight": self.tr("☀ Sun"),
            "dark": self.tr("☀ Dark"),
        }
        self.view.setText(self.tr("{0}\nCtrl+L").format(words[name]))
        self.view.setAccessibleName(self.tr("View, {0}, Ctrl+L").format(words[name][2:]))

    def show_making(self, made: tuple[str, str] | None) -> None:
        """Show an event that is being made in place of the open day."""
        if made == self._making:
            return
        self._making = made
        for each in (self.left, self.what, self.air, self.road, self.tyres_what, self.tyres):
            each.setVisible(made is None)
        self.due.setVisible(made is None and not self._compact)
        self.refresh()

    def refresh(self) -> None:
        session = self._session
        if self._making is not None:
            self.where.setText(self._making[0])
            self.stages.setText(self._making[1])
            return
        if not session.is_open:
            self.where.setText(self.tr("No event open"))
            self.stages.setText("")
            for each in (self.what, self.due, self.left, self.tyres):
                each.setText("")
            self._seen(self.air, self.tr("Air"), Seen(None, None, None, "none"))
            self._seen(self.road, self.tr("Road"), Seen(None, None, None, "none"))
            return
        place = session.place
        if place is None:
            self.where.setText(session.bundle.event.name)
            running = loop_running(session.bundle, session.state) is not None
            self.stages.setText(
                self.tr("the last loop is run now") if running else self.tr("all loops are run")
            )
        else:
            where = short_label(place)
            self.where.setText(
                where if self._compact else self.tr("Leg {0} · {1}").format(place.leg, where)
            )
            self.stages.setText(self._stages_text(place.stages))
        self.tick()
        self._tyres_left()

    def _stages_text(self, stages: tuple[str, ...]) -> str:
        if not stages:
            if self._compact:
                return self.tr("no stages")
            return self.tr("no stages before the next change")
        itinerary = self._session.bundle.itinerary
        if self._compact:
            return stages[0] if len(stages) == 1 else f"{stages[0]} … {stages[-1]}"
        km = sum(itinerary.stage(ref).km for ref in stages)
        names = " ".join(stages) if len(stages) <= 3 else f"{stages[0]} … {stages[-1]}"
        return self.tr("{0}, {1} km").format(names, f"{km:.1f}")

    def _tyres_left(self) -> None:
        counts = self._session.counters()
        used, limit = counts.get("used", 0), counts.get("limit")
        if isinstance(limit, int | float):
            self.tyres.setText(self.tr("{0} of {1}").format(int(limit) - int(used), int(limit)))
        else:
            self.tyres.setText(self.tr("{0} used").format(used))

    def tick(self) -> None:
        """Count on; called each second."""
        session = self._session
        if not session.is_open or self._making is not None:
            return
        now = session.now()
        self._count(now)
        reports = session.state.reports
        self._seen(self.air, self.tr("Air"), newest(reports, "air_c", now))
        self._seen(self.road, self.tr("Road"), newest(reports, "road_c", now))

    def _count(self, now: datetime) -> None:
        session = self._session
        count = countdown(session.bundle, session.state, now)
        if count is None:
            self.left.setText("")
            self.what.setText("")
            self.due.setText("")
            return
        words = {
            "call_by": self.tr("Call by {0}"),
            "in": self.tr("In at {0}"),
            "out": self.tr("Out at {0}"),
            "done": self.tr("Done {0}"),
        }
        self.what.setText(words[count.what].format(clock(count.due, session.zone)))
        self.due.setText(
            self.tr("in {0}").format(clock(count.in_due, session.zone))
            if count.in_due is not None and count.what != "in"
            else self.tr("now {0}").format(clock(now, session.zone))
        )
        if session.practising:
            self.due.setText(self.tr("practice, now {0}").format(clock(now, session.zone)))
        days = int(abs(count.left.total_seconds()) // 86400)
        if days >= 2 and not count.late:
            # The days before the event; the date tells whether the clock is right.
            local = now.astimezone(session.zone)
            self.left.setText(self.tr("{0} days").format(days))
            set_kind(self.left, "headline")
            self.due.setText(self.tr("now {0}").format(f"{local:%d.%m. %H:%M}"))
            return
        if days >= 2:
            self.left.setText(self.tr("– – : – –"))
            set_kind(self.left, "clock")
            self.due.setText(self.tr("⚠ clock: set it"))
            return
        text = span(count.left)
        self.left.setText(self.tr("⚠ late {0}").format(text) if count.late else text)
        # The word before it takes room that the place needs on a narrow screen.
        late = "value" if self._compact else "headline"
        set_kind(self.left, late if count.late else "headline" if len(text) > 5 else "clock")

    def _seen(self, where: QPushButton, word: str, seen: Seen) -> None:
        if seen.value is None or seen.age_min is None:
            text = self.tr("{0} –\nno reading").format(word)
        else:
            age = age_words(seen.age_min)
            if seen.freshness == "old":
                age = self.tr("⚠ OLD {0}").format(age)
            elif age != "now":
                age = self.tr("{0} ago").format(age)
            text = f"{word} {degrees(seen.value)}\n{age}"
        where.setText(text)
        where.setAccessibleName(text.replace("\n", ", "))
        font = where.font()
        font.setBold(seen.freshness in ("ageing", "old"))
        where.setFont(font)
