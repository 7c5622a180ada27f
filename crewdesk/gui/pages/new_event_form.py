"""Event and car of a new event: names, rules, our place in the order, where it is."""

import re
from collections.abc import Mapping
from datetime import date
from typing import Final
from zoneinfo import ZoneInfo

from PySide6.QtCore import QTimeZone, Signal
from PySide6.QtWidgets import QGridLayout, QLineEdit, QWidget

from crewdesk.documents.catalogue import car_presets
from crewdesk.documents.import_values import Values
from crewdesk.documents.regulation_sets import set_names
from crewdesk.gui.parts import Choice, column, label, scrolling

_NUMBER: Final = r"\d+(?:[.,]\d+)?"
_INTERVAL = re.compile(
    rf"({_NUMBER})\s*(?:min)?((?:[\s,]*then\s*{_NUMBER}\s*(?:min)?\s*from\s*(?:car\s*)?\d+)*)",
    re.IGNORECASE,
)
_THEN = re.compile(rf"then\s*({_NUMBER})\s*(?:min)?\s*from\s*(?:car\s*)?(\d+)", re.IGNORECASE)
_PLACE = re.compile(
    r"\s*(-?\d+(?:[.,]\d+)?)\s*[;, ]\s*(-?\d+(?:[.,]\d+)?)(?:\s*[;, ]\s*(-?\d+)\s*m?)?\s*"
)


def machine_zone() -> str:
    """Return the zone that the machine's clock is set to."""
    name = bytes(QTimeZone.systemTimeZoneId().data()).decode(errors="replace")
    try:
        return ZoneInfo(name).key
    except (OSError, ValueError, KeyError):
        return "UTC"


def day_in(text: str) -> str:
    """Return a day as our tables have it, the day first where it is all figures.

    >>> day_in("5.12.2026"), day_in("2026-12-05"), day_in("Saturday")
    ('2026-12-05', '2026-12-05', 'Saturday')
    """
    return Values().text("first_car_due", text)


def positions_in(text: str) -> dict[int, int] | None:
    """Return our position by leg from ``24, 18``; None where it cannot be read.

    >>> positions_in("24, 18"), positions_in(""), positions_in("x")
    ({1: 24, 2: 18}, {}, None)
    """
    words = re.split(r"[\s,;]+", text.strip())
    if words == [""]:
        return {}
    if not all(word.isdigit() and 1 <= int(word) <= 500 for word in words):
        return None
    return {leg: int(word) for leg, word in enumerate(words, start=1)}


def intervals_in(text: str) -> dict[int, tuple[tuple[int, float], ...]] | None:
    """Return the minutes between cars by leg; legs stand between semicolons.

    >>> intervals_in("2, then 1 from car 16; 1")
    {1: ((2, 2.0), (16, 1.0)), 2: ((2, 1.0),)}
    """
    if not text.strip():
        return {}
    made: dict[int, tuple[tuple[int, float], ...]] = {}
    for leg, part in enumerate(text.split(";"), start=1):
        match = _INTERVAL.fullmatch(part.strip())
        if match is None:
            return None
        steps = [(2, float(match[1].replace(",", ".")))]
        steps += [(int(car), float(n.replace(",", "."))) for n, car in _THEN.findall(match[2])]
        if any(minutes > 60 for _car, minutes in steps):
            return None
        made[leg] = tuple(steps)
    return made


def place_in(text: str) -> tuple[float, float, float] | None:
    """Return latitude, longitude and height in metres; None where it cannot be read.

    >>> place_in("52.1, 13.6, 180"), place_in("52.1 13.6"), place_in("north")
    ((52.1, 13.6, 180.0), (52.1, 13.6, 0.0), None)
    """
    match = _PLACE.fullmatch(text)
    if match is None:
        return None
    lat, lon = (float(part.replace(",", ".")) for part in match.groups()[:2])
    if not (-90 <= lat <= 90 and -180 <= lon <= 180):
        return None
    return lat, lon, float(match[3] or 0)


class EventForm(QWidget):
    """All of it has a default; what is left alone is told as assumed."""

    edited = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("new_event_form")
        self.name = self._line("new_name", self.tr("Name of the event"))
        self.day = self._line("new_day", self.tr("First day, as 2026-05-16"))
        self.day.editingFinished.connect(lambda: self.day.setText(day_in(self.day.text())))
        self.zone = self._line("new_zone", self.tr("Time zone, as Europe/Rome"))
        self.zone.setText(machine_zone())
        self.position = self._line(
            "new_position", self.tr("Leg by leg, as 24, 18; empty: first car")
        )
        self.interval = self._line(
            "new_interval",
            self.tr("As 1; or 2, then 1 from car 16; a semicolon before the next leg"),
        )
        self.where = self._line(
            "new_where", self.tr("For the sun, as 52.1, 13.6, 180; may stay empty")
        )
        self.car = Choice(
            "new_car",
            [(one.name, one.key) for one in car_presets()],
            lambda _value: self.edited.emit(),
            kind="part",
        )
        self.rules = Choice(
            "new_rules",
            [(name, name) for name in set_names()],
            lambda _value: self.edited.emit(),
            kind="part",
        )
        self.assumed = label("", "new_assumed", "muted", wrap=True)
        grid = QGridLayout()
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(10)
        grid.setVerticalSpacing(6)
        self._row(grid, 0, self.tr("Car"), self.car)
        self._row(grid, 1, self.tr("Event"), self.name, self.day)
        self._row(grid, 2, self.tr("Rules from"), self.rules)
        self._row(grid, 3, self.tr("We start as car"), self.position)
        self._row(grid, 4, self.tr("Minutes between cars"), self.interval)
        self._row(grid, 5, self.tr("Where, time zone"), self.where, self.zone)
        grid.setColumnStretch(0, 0)
        grid.setColumnStretch(1, 3)
        grid.setColumnStretch(2, 2)
        inside = QWidget()
        inside.setLayout(column(grid, self.assumed, 1))
        self.setLayout(column(scrolling("new_form_lines", inside)))

    def _line(self, name: str, spoken: str) -> QLineEdit:
        made = QLineEdit()
        made.setObjectName(name)
        made.setAccessibleName(spoken)
        made.setPlaceholderText(spoken)
        made.textEdited.connect(lambda _text: self.edited.emit())
        return made

    def _row(self, grid: QGridLayout, at: int, words: str, *what: QWidget) -> None:
        grid.addWidget(label(words, f"new_label_{at}", "strong"), at, 0)
        if len(what) == 1:
            grid.addWidget(what[0], at, 1, 1, 2)
            return
        for place, one in enumerate(what, start=1):
            grid.addWidget(one, at, place)

    # ---- what stands in it

    @property
    def first_day(self) -> date | None:
        """The first day, where it is one."""
        try:
            return date.fromisoformat(day_in(self.day.text()))
        except ValueError:
            return None

    def wrong(self) -> str:
        """Return what cannot be read here, with what to do; empty where all is well."""
        if self.day.text().strip() and self.first_day is None:
            return self.tr("{0} is no date. Write the first day as 2026-05-16.").format(
                self.day.text().strip()
            )
        if positions_in(self.position.text()) is None:
            return self.tr(
                "The start position {0} cannot be read. Write 24, or 24, 18."
            ).format(self.position.text().strip())
        if intervals_in(self.interval.text()) is None:
            return self.tr(
                "{0} minutes between cars cannot be read. Write 1, or 2, then 1 from car 16."
            ).format(self.interval.text().strip())
        if self.where.text().strip() and place_in(self.where.text()) is None:
            return self.tr(
                "{0} is no place. Write latitude, longitude and height, as 52.1, 13.6, 180."
            ).format(self.where.text().strip())
        return ""

    def values(self) -> dict[str, object]:
        """Return the values for the new event by their names there."""
        where = place_in(self.where.text())
        lat, lon, alt = where if where is not None else (None, None, 0.0)
        return {
            "car": str(self.car.value or ""),
            "name": self.name.text(),
            "zone": self.zone.text().strip() or "UTC",
            "regulation_set": str(self.rules.value or ""),
            "positions": positions_in(self.position.text()) or {},
            "intervals_min": intervals_in(self.interval.text()) or {},
            "lat_deg": lat,
            "lon_deg": lon,
            "alt_m": alt,
        }

    def texts(self) -> dict[str, str]:
        """Return what was typed and chosen, to be kept."""
        lines = {line.objectName(): line.text() for line in self.findChildren(QLineEdit)}
        return {
            **lines,
            "new_car": str(self.car.value or ""),
            "new_rules": str(self.rules.value or ""),
        }

    def restore(self, texts: Mapping[str, str]) -> None:
        """Take back what was typed and chosen."""
        for line in self.findChildren(QLineEdit):
            line.setText(texts.get(line.objectName(), line.text()))
        self.car.set_value(texts.get("new_car") or None)
        self.rules.set_value(texts.get("new_rules") or None)
