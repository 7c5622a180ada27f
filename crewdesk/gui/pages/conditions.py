"""Before IN: air, road, wet or dry, rain and sky, at the service or on a stage."""

from typing import Final

from PySide6.QtWidgets import QGridLayout

from crewdesk.gui.box_host import BoxHost
from crewdesk.gui.boxes import BoxSpec, BoxWalk
from crewdesk.gui.metar_paste import MetarPaste
from crewdesk.gui.page import Page
from crewdesk.gui.parts import Choice, clear, column, label, row
from crewdesk.gui.road_parts import WHOLE, PartChoice, part_words, said_of_parts
from crewdesk.gui.session import Session
from crewdesk.gui.texts import age_min, age_words, degrees
from crewdesk.gui.timing import newest, short_label
from crewdesk.journal.entries import Report

RAIN_MM_H: Final = {"none": 0.0, "light": 0.8, "steady": 3.0, "heavy": 8.0}
"""Rain in words, mm/h: the middle of what one calls so (tuning values of this project)."""
CLOUD_PCT: Final = {"sun": 10.0, "part": 50.0, "cloud": 95.0}
"""Sky in words, share covered (tuning values of this project)."""


class ConditionsPage(Page):
    """Two digits each for air and road; all else one tap."""

    key = "conditions"
    part = "before_in"
    keypad = True

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._where = ""
        self._places: tuple[str, ...] = ()
        # make
        self._title = label("", "conditions_title", "title")
        self._last = label("", "conditions_last", "muted", wrap=True)
        self._place_line = row()
        self._place_choice: Choice | None = None
        self.part_of = PartChoice(self._fill)
        self._part_label = label(self.tr("Part"), "part_label", "strong")
        self.host = BoxHost(
            BoxWalk(
                [
                    BoxSpec("air_c", "air", self.tr("Air, °C")),
                    BoxSpec("road_c", "road", self.tr("Road, °C")),
                ]
            ),
            self,
        )
        air, road = self.host.make_field("air_c"), self.host.make_field("road_c")
        self.surface = Choice(
            "surface_dry",
            [
                (self.tr("Dry"), "dry"),
                (self.tr("Damp"), "damp"),
                (self.tr("Wet"), "wet"),
                (self.tr("Standing"), "standing"),
            ],
            self._surface,
        )
        self.surface_more = Choice(
            "surface_more",
            [
                (self.tr("Muddy"), "muddy"),
                (self.tr("Frozen"), "frozen"),
                (self.tr("Snow"), "snow"),
                (self.tr("Ice"), "ice"),
            ],
            self._surface,
        )
        self.rain = Choice(
            "rain",
            [
                (self.tr("No rain"), "none"),
                (self.tr("Light"), "light"),
                (self.tr("Steady"), "steady"),
                (self.tr("Heavy"), "heavy"),
            ],
            self._rain,
        )
        self.sky = Choice(
            "sky",
            [
                (self.tr("Sun"), "sun"),
                (self.tr("Part cloud"), "part"),
                (self.tr("Cloud"), "cloud"),
            ],
            self._sky,
        )
        self.metar = MetarPaste(session, self)
        # arrange
        grid = QGridLayout()
        grid.setHorizontalSpacing(10)
        grid.setVerticalSpacing(6)
        grid.setColumnStretch(1, 1)
        units = row(
            label(self.tr("Air °C"), "air_label", "strong"),
            air,
            label(self.tr("Road °C"), "road_label", "strong"),
            road,
            self.metar.button,
            spacing=10,
        )
        grid.addWidget(label(self.tr("Where"), "where_label", "strong"), 0, 0)
        grid.addLayout(self._place_line, 0, 1)
        grid.addWidget(self._part_label, 1, 0)
        grid.addWidget(self.part_of, 1, 1)
        grid.addWidget(label(self.tr("Now"), "now_label", "strong"), 2, 0)
        grid.addLayout(units, 2, 1)
        grid.addWidget(label(self.tr("Road is"), "surface_label", "strong"), 3, 0)
        grid.addWidget(self.surface, 3, 1)
        grid.addWidget(self.surface_more, 4, 1)
        grid.addWidget(label(self.tr("Rain"), "rain_label", "strong"), 5, 0)
        grid.addWidget(self.rain, 5, 1)
        grid.addWidget(label(self.tr("Sky"), "sky_label", "strong"), 6, 0)
        grid.addWidget(self.sky, 6, 1)
        self.setLayout(column(self._title, grid, self._last, 1))
        # connect
        self.host.committed.connect(self._typed)

    def heading(self) -> str:
        return self.tr("Conditions")

    def primary_text(self) -> str:
        return self.tr("Show the call")

    def primary(self) -> None:
        self.go.emit("call")

    def entered(self) -> None:
        self.part_of.set_value(WHOLE)
        if self.session.is_open:
            self._fill()
        if self.host is not None:
            # A figure of the visit before would make the cursor pass its box by.
            self.host.empty()
            self.host.enter_box("air_c")

    def ask_for(self, what: str) -> None:
        """Put the cursor on air or road."""
        if self.host is not None:
            self.host.enter_box(what)

    def set_place(self, place: str) -> None:
        """Report about a stage or the change place."""
        self._choose_place(place)

    def refresh(self) -> None:
        session = self.session
        if not session.is_open:
            return
        place = session.place
        names = (place.key, *place.stages[:5]) if place is not None else ()
        if names != self._places:
            self._places = names
            self._where = names[0] if names else ""
            self.part_of.set_value(WHOLE)
            clear(self._place_line)
            options: list[tuple[str, object]] = [
                (short_label(place) if place is not None and n == place.key else n, n)
                for n in names
            ]
            self._place_choice = Choice("where", options, self._choose_place)
            self._place_line.addWidget(self._place_choice)
        self._fill()

    def _choose_place(self, value: object) -> None:
        if self.host is not None and str(value) != self._where:
            self.host.empty()
            if self.host.holds_unwritten:
                # The figure in the box is of this place, and in no book yet.
                self.session.notice(
                    "stops",
                    self.tr("{0} first: its figures marked ⚠ are not in the book yet.").format(
                        self._where
                    ),
                )
                self._fill()
                return
        self._where = str(value)
        self.part_of.set_value(WHOLE)
        self._fill()

    def _fill(self) -> None:
        """Show what was reported for the place chosen."""
        if self.metar.place != self._where:
            self.metar.forget()
            self.metar.place = self._where
        session = self.session
        place = session.place
        if self._place_choice is not None:
            self._place_choice.set_value(self._where)
        self._title.setText(
            self.tr("Conditions for {0}").format(short_label(place)) if place else ""
        )
        mine = [r for r in session.state.reports if r.place == self._where]
        on_stage = place is not None and self._where in place.stages
        for part_of in (self.part_of, self._part_label):
            part_of.setVisible(on_stage)
        surface = self.part_of.surface(mine)
        for choice in (self.surface, self.surface_more):
            choice.set_value(surface)
        rain = next((r.rain_mm_h for r in reversed(mine) if r.rain_mm_h is not None), None)
        self.rain.set_value(next((k for k, v in RAIN_MM_H.items() if v == rain), None))
        cloud = next((r.cloud_pct for r in reversed(mine) if r.cloud_pct is not None), None)
        self.sky.set_value(next((k for k, v in CLOUD_PCT.items() if v == cloud), None))
        now = session.now()
        of_parts = said_of_parts(mine) if on_stage else ""
        said = []
        # On a stage the line of its parts takes the room of the older reports.
        for report in reversed(session.state.reports[-1 if on_stage else -3 :]):
            parts = [report.place or self.tr("here")]
            if report.part:
                parts.append(part_words(report.part, report.share))
            if report.air_c is not None:
                parts.append(self.tr("air {0}").format(degrees(report.air_c)))
            if report.road_c is not None:
                parts.append(self.tr("road {0}").format(degrees(report.road_c)))
            if report.surface:
                parts.append(report.surface)
            if report.rain_mm_h is not None:
                parts.append(self.tr("rain {0} mm/h").format(f"{report.rain_mm_h:g}"))
            if report.cloud_pct is not None:
                parts.append(self.tr("cloud {0} %").format(f"{report.cloud_pct:.0f}"))
            if report.at is not None:
                age = age_words(age_min(report.at, now))
                parts.append(age if age == "now" else self.tr("{0} ago").format(age))
            said.append(" ".join(parts))
        last = (
            self.tr("Last: {0}").format(" · ".join(said))
            if said
            else self.tr("No reading yet: the forecast is used.")
            if self.session.bundle.weather.rows
            else self.tr("No reading yet and no forecast: what is typed here is all there is.")
        )
        self._last.setText(
            self.tr("{0} {1}").format(self._where, of_parts) if of_parts else last
        )

    def _typed(self, key: str, value: object, word: str) -> None:
        if word or not isinstance(value, float | int) or not self.session.is_open:
            return
        if key == "air_c":
            body = Report(place=self._where, air_c=float(value))
            said = self.tr("{0} air {1}").format(self._where, degrees(float(value)))
        else:
            body = Report(place=self._where, road_c=float(value))
            said = self.tr("{0} road {1}").format(self._where, degrees(float(value)))
        before = newest(
            self.session.state.reports,
            "air_c" if key == "air_c" else "road_c",
            self.session.now(),
        )
        same = before.value == value and before.age_min is not None and before.age_min < 1
        if not same:
            self.session.enter(body, said)

    def _surface(self, value: object) -> None:
        part, share = self.part_of.part
        told = {"place": self._where, "part": part, "share": share, "surface": value}
        where = f"{self._where} {part_words(part, share)}" if part else self._where
        self.session.enter(
            Report.model_validate(told), self.tr("{0} road {1}").format(where, value)
        )

    def _rain(self, value: object) -> None:
        # Rain and sky are of the place, never of a part of it.
        self.part_of.set_value(WHOLE)
        amount = RAIN_MM_H[str(value)]
        self.session.enter(
            Report(place=self._where, rain_mm_h=amount),
            self.tr("{0} rain {1} mm/h").format(self._where, f"{amount:g}"),
        )

    def _sky(self, value: object) -> None:
        self.part_of.set_value(WHOLE)
        self.session.enter(
            Report(place=self._where, cloud_pct=CLOUD_PCT[str(value)]),
            self.tr("{0} sky {1}").format(self._where, value),
        )
