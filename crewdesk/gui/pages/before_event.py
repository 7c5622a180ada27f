"""Before the event: does this set suit the car, the roads and the distance, in words."""

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QT_TRANSLATE_NOOP, QCoreApplication, Slot
from PySide6.QtWidgets import QWidget

from crewdesk.gui.aside import Aside
from crewdesk.gui.engine_worker import LOOK_OVER
from crewdesk.gui.page import Page
from crewdesk.gui.parts import button, card, clear, column, label, lines_in, row
from crewdesk.gui.session import Session

if TYPE_CHECKING:
    from crewdesk.desk.before_kinds import Checked

_TOPICS: Final[dict[str, str]] = {
    "size": str(QT_TRANSLATE_NOOP("BeforeEvent", "Size: is it right for this car")),
    "load": str(QT_TRANSLATE_NOOP("BeforeEvent", "Load and speed")),
    "warmth": str(QT_TRANSLATE_NOOP("BeforeEvent", "Warmth: do they come into their window")),
    "pressures": str(QT_TRANSLATE_NOOP("BeforeEvent", "Pressures and the maker's figures")),
    "age": str(QT_TRANSLATE_NOOP("BeforeEvent", "Age")),
    "distance": str(QT_TRANSLATE_NOOP("BeforeEvent", "Is the set enough for the distance")),
    "casing": str(QT_TRANSLATE_NOOP("BeforeEvent", "Casing: fit for the ground")),
}


class BeforeEventPage(Page):
    """Every check with its outcome; what is grave first, cautions at the foot."""

    key = "before_event"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._aside = Aside(session, LOOK_OVER, self)
        self._aside.found.connect(self._take)
        self.title = label(self.tr("Before the event"), "before_title", "title")
        self.summary = label("", "before_summary", wrap=True)
        self._lines, area = lines_in("before_lines")
        self.stock = button(
            self.tr("Stock  F10"), "before_stock", lambda: self.go.emit("stock")
        )
        self.stages = button(self.tr("Stages"), "before_stages", lambda: self.go.emit("stages"))
        self.setLayout(
            column(
                self.title,
                self.summary,
                area,
                row(self.stock, self.stages, 1),
            )
        )

    def heading(self) -> str:
        return self.tr("Before the event")

    def primary_text(self) -> str:
        return self.tr("Back")

    def primary(self) -> None:
        self.go.emit("back")

    def refresh(self) -> None:
        if self.session.day is None:
            clear(self._lines)
            self.summary.setText(self.tr("No event is open."))
            self._aside.drop()
        elif self._aside.is_due:
            clear(self._lines)
            self.summary.setText(self.tr("Looking the set over …"))
            self._aside.ask(self.session.now())

    def left(self) -> None:
        super().left()
        self._aside.forget()

    @Slot(object)
    def _take(self, checks: "tuple[Checked, ...] | None") -> None:
        """Show what was found."""
        if checks is None:
            self.summary.setText(
                self.tr("This could not be worked out. The details are in the log file.")
            )
            return
        self._show(checks)

    def _show(self, checks: "tuple[Checked, ...]") -> None:
        from crewdesk.desk.before_event import TOPICS, cautions_of
        from crewdesk.desk.cautions import cautions_for

        clear(self._lines)
        self.summary.setText(_summary(checks))
        for topic in TOPICS:
            mine = [one for one in checks if one.topic == topic]
            if mine:
                self._lines.addWidget(self._card(topic, mine))
        said = (
            *cautions_of(checks),
            *(one.text for one in cautions_for("check") if one.id == "program"),
        )
        heading = label(self.tr("Where people can get hurt"), "before_hurt", "strong")
        words = [
            label(f"⚠ {text}", f"before_caution_{at}", wrap=True)
            for at, text in enumerate(said)
        ]
        self._lines.addWidget(card("before_cautions", heading, *words))
        self._lines.addStretch(1)

    def _card(self, topic: str, checks: "list[Checked]") -> QWidget:
        """Return one topic as a card."""
        name = QCoreApplication.translate("BeforeEvent", _TOPICS[topic])
        lines = [label(name, f"before_head_{topic}", "strong")]
        for at, one in enumerate(checks):
            text, kind = {
                "stops": (f"■ stops: {one.words}", "stops"),
                "watch": (f"⚠ watch: {one.words}", "watch"),
                "note": (f"note: {one.words}", ""),
            }.get(one.level, (f"✓ {one.words}", ""))
            lines.append(label(text, f"before_{topic}_{at}", kind, wrap=True))
        return card(f"before_card_{topic}", *lines)


def _summary(checks: "tuple[Checked, ...]") -> str:
    """Say how many checks there are and how many ask for something."""

    def tr(text: str) -> str:
        return QCoreApplication.translate("BeforeEvent", text)

    stops = sum(one.level == "stops" for one in checks)
    watch = sum(one.level == "watch" for one in checks)
    if not stops and not watch:
        return tr("✓ Nothing speaks against this set here. What the rules say: Shift+F12.")
    words = []
    if stops:
        words.append(tr("■ {0} that should stop you").format(stops))
    if watch:
        words.append(tr("⚠ {0} to watch").format(watch))
    return tr("{0}, of {1} checks.").format(", ".join(words), len(checks))
