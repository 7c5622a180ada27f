"""The day book as it stands: every entry in words, the newest first."""

from datetime import datetime
from functools import partial
from textwrap import shorten
from zoneinfo import ZoneInfo

from crewdesk.desk.resolve import undone_ids
from crewdesk.gui.page import Page
from crewdesk.gui.parts import button, clear, column, label, lines_in, row
from crewdesk.gui.session import Session
from crewdesk.gui.texts import bar, clock
from crewdesk.journal.entries import Undo

SHOWN = 40
MOST_LETTERS = 240
_QUIET = {"at", "by", "kind", "files", "confirmed", "objective_s", "target_id", "question_id"}
_NAMES = {
    "tyre_id": "tyre",
    "fitting": "",
    "values": "",
    "cold_kpa": "cold bar",
    "hot_kpa": "hot bar",
}
_PLACES = {"SP1": "carried 1", "SP2": "carried 2"}
_UNITS = (("_mm", " mm"), ("_c", " °C"), ("_km", " km"), ("_s", " s"))


class BookPage(Page):
    """Nothing is edited or deleted; taking back is an entry."""

    key = "book"
    wide = True

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._count, self._shown = -1, SHOWN
        self.title = label("", "book_title", "title")
        self._lines, area = lines_in("book_lines", spacing=4)
        self.setLayout(column(self.title, area))

    def heading(self) -> str:
        return self.tr("Day book")

    def primary_text(self) -> str:
        return self.tr("Back")

    def primary(self) -> None:
        self.go.emit("back")

    def refresh(self) -> None:
        day = self.session.day
        if day is None or len(day.entries) == self._count:
            return
        self._count = len(day.entries)
        dead = undone_ids(day.entries)
        self.title.setText(self.tr("Day book, entries: {0}").format(self._count))
        clear(self._lines)
        for entry in list(reversed(day.entries))[: self._shown]:
            gone = entry.id in dead
            text = self.tr("{0}  {1}  {2}").format(
                clock(entry.happened_utc, self.session.zone),
                entry.kind.replace("_", " "),
                _words(
                    entry.body.model_dump(exclude_none=True, exclude_defaults=True),
                    self.session.zone,
                ),
            )
            if gone:
                text = self.tr("taken back: {0}").format(text)
            words = label(text, f"book_{entry.seq}", "muted" if gone else "", wrap=True)
            line = row(words, spacing=6)
            line.setStretch(0, 1)
            if not gone and entry.kind not in ("documents_opened", "undo", "clock_offset"):
                line.addWidget(
                    button(
                        self.tr("Take back"),
                        f"book_undo_{entry.seq}",
                        partial(self._undo, entry.id),
                        spoken=self.tr("Take back {0}").format(text),
                    )
                )
            self._lines.addLayout(line)
        left = self._count - self._shown
        if left > 0:
            more = self.tr("{0} older").format(min(left, SHOWN))
            self._lines.addWidget(button(more, "book_older", self._older))
        self._lines.addStretch(1)

    def _older(self) -> None:
        self._shown += SHOWN
        self._count = -1
        self.refresh()

    def _undo(self, entry_id: str) -> None:
        self.session.enter(Undo(target_id=entry_id), self.tr("taken back"))


def _words(values: dict[str, object], zone: ZoneInfo) -> str:
    """Return the fields of an entry as the crew says them, pressures in bar."""
    parts = []
    for key, value in values.items():
        if key in _QUIET or value in ("", {}, (), None):
            continue
        name = _NAMES.get(key, key.replace("_", " "))
        pressure = key.endswith("_kpa")
        name = name.removesuffix(" kpa").removesuffix(" mm").removesuffix(" c")
        unit = next((u for end, u in _UNITS if key.endswith(end)), "")
        if isinstance(value, dict):
            inner = " ".join(
                f"{_PLACES.get(k, k)} {_one(v, zone, pressure=pressure)}"
                for k, v in value.items()
                if v
            )
            parts.append(f"{name} {inner}".strip())
        else:
            parts.append(f"{name} {_one(value, zone, pressure=pressure)}{unit}".strip())
    return shorten(", ".join(parts), MOST_LETTERS, placeholder=" …")


def _one(value: object, zone: ZoneInfo, *, pressure: bool) -> str:
    if isinstance(value, datetime):
        return clock(value, zone)
    if pressure and isinstance(value, int | float):
        return bar(float(value))
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, tuple | list):
        return " ".join(str(v) for v in value)
    return str(value).replace("_", " ")
