"""What was learnt: in words, and each thing as a plot with the same numbers as a table."""

from functools import partial
from typing import TYPE_CHECKING, Final, Literal, get_args

from PySide6.QtCore import QT_TRANSLATE_NOOP, QCoreApplication, Slot
from PySide6.QtWidgets import QSizePolicy, QStackedWidget

from crewdesk.gui.aside import Aside
from crewdesk.gui.engine_worker import LEARN
from crewdesk.gui.page import Page
from crewdesk.gui.parts import (
    Choice,
    button,
    card,
    clear,
    column,
    label,
    lines_in,
    row,
)
from crewdesk.gui.session import Session
from crewdesk.gui.theme import THEMES, Sizes, Theme

if TYPE_CHECKING:
    from crewdesk.desk.learnt import Learnt
    from crewdesk.gui.charts.learnt_view import LearntView

Part = Literal["words", "wear", "depths", "air", "other"]
_NAMES: Final[dict[Part, str]] = {
    "words": str(QT_TRANSLATE_NOOP("LearntPage", "In words")),
    "wear": str(QT_TRANSLATE_NOOP("LearntPage", "Wear")),
    "depths": str(QT_TRANSLATE_NOOP("LearntPage", "Depths")),
    "air": str(QT_TRANSLATE_NOOP("LearntPage", "Weather")),
    "other": str(QT_TRANSLATE_NOOP("LearntPage", "Heat, grip")),
}


class LearntPage(Page):
    """Starting value, now, and the readings behind it; what is odd; forecast and what came."""

    key = "learnt"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._part: Part = "words"
        self._learnt: Learnt | None = None
        self._aside = Aside(session, LEARN, self)
        self._aside.found.connect(self._take)
        self._view: LearntView | None = None
        self._theme, self._text_px = THEMES["light"], 16
        self.title = label(self.tr("What was learnt"), "learnt_title", "title")
        self.summary = label("", "learnt_summary", wrap=True)
        options: list[tuple[str, object]] = [
            (QCoreApplication.translate("LearntPage", _NAMES[part]), part)
            for part in get_args(Part)
        ]
        self.choice = Choice("learnt_part", options, self._choose)
        self.table = button("", "learnt_table_button", self._switch)
        self._lines, area = lines_in("learnt_lines", spacing=6)
        self.stack = QStackedWidget()
        self.stack.addWidget(area)
        self.choice.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.setLayout(
            column(
                self.title,
                self.summary,
                row(self.choice, self.table, 1),
                self.stack,
            )
        )
        self._name()

    def heading(self) -> str:
        return self.tr("What was learnt")

    def primary_text(self) -> str:
        return self.tr("Back")

    def primary(self) -> None:
        self.go.emit("back")

    def refresh(self) -> None:
        if self.session.day is None:
            self._learnt = None
            self._aside.drop()
            self.summary.setText(self.tr("No event is open."))
            clear(self._lines)
        elif self._aside.is_due:
            self.summary.setText(self.tr("Setting the readings beside what was expected …"))
            self._aside.ask(self.session.state.last_entry_at or self.session.now())

    def left(self) -> None:
        super().left()
        self._aside.forget()

    @Slot(object)
    def _take(self, learnt: "Learnt | None") -> None:
        """Show what was learnt."""
        if learnt is None:
            self.summary.setText(
                self.tr("This could not be worked out. The details are in the log file.")
            )
            return
        self._learnt = learnt
        self.summary.setText(_summary(learnt))
        self._show_words(learnt)
        self._show()

    def _choose(self, part: object) -> None:
        self._part = next(one for one in get_args(Part) if one == part)
        self._show()

    def _switch(self) -> None:
        if self._view is not None:
            self._view.show_table(shown=not self._view.is_table)
            self._name()

    def _show(self) -> None:
        """Bring the part chosen to the front; the plots are built when first asked for."""
        if self._part == "words":
            self.stack.setCurrentIndex(0)
        elif self._learnt is not None:
            if self._view is None:
                from crewdesk.gui.charts.learnt_view import LearntView

                self._view = LearntView()
                self._view.set_theme(self._theme, self._text_px)
                self.stack.addWidget(self._view)
            self._view.set_learnt(self._learnt, self.session.zone)
            self._view.show_part(self._part)
            self.stack.setCurrentWidget(self._view)
        self._name()

    def _name(self) -> None:
        """Put the names on the buttons."""
        self.choice.set_value(self._part)
        table = self._view is not None and self._view.is_table
        self.table.setText(self.tr("Show as plot") if table else self.tr("Show as table"))
        self.table.setAccessibleName(self.table.text())
        self.table.setVisible(self._part in ("wear", "depths", "air"))

    def _show_words(self, learnt: "Learnt") -> None:
        """Show warnings, what was learnt, and the depths that were asked about."""
        clear(self._lines)
        for at, text in enumerate(learnt.warnings):
            self._lines.addWidget(
                label(
                    self.tr("⚠ watch: {0}").format(text),
                    f"learnt_warning_{at}",
                    "watch",
                    wrap=True,
                )
            )
        if learnt.sentences:
            self._lines.addWidget(
                card(
                    "learnt_card",
                    *[
                        label(text, f"learnt_sentence_{at}", wrap=True)
                        for at, text in enumerate(learnt.sentences)
                    ],
                )
            )
        asked = [one for one in learnt.outliers if not one.confirmed]
        for at, one in enumerate(asked):
            text = self.tr("{0}: the depth was not taken. Measure it again, or confirm it.")
            go = button(
                self.tr("Show {0}").format(one.tyre_id),
                f"learnt_show_{at}",
                partial(self.go.emit, f"tyre:{one.tyre_id}"),
            )
            words = label(text.format(one.tyre_id), f"learnt_asked_{at}", wrap=True)
            line = row(words, go)
            line.setStretch(0, 1)
            self._lines.addLayout(line)
        self._lines.addWidget(
            label(
                self.tr(
                    "Odd readings count less, never nothing. Where a compound has run at one "
                    "axle only, rubber and corner cannot be told apart: one read on both "
                    "axles tells them apart."
                ),
                "learnt_note",
                "muted",
                wrap=True,
            )
        )
        self._lines.addStretch(1)

    def set_look(self, theme: Theme, sizes: Sizes) -> None:
        self._theme, self._text_px = theme, round(16 * sizes.text)
        if self._view is not None:
            self._view.set_theme(theme, self._text_px)


def _summary(learnt: "Learnt") -> str:
    """Say how many readings there are and where the starting values come from."""

    def tr(text: str) -> str:
        return QCoreApplication.translate("LearntPage", text)

    began = (
        tr("Began with what {0} taught.").format(learnt.carried_from)
        if learnt.carried_from
        else tr("Began with the tables.")
    )
    if not learnt.readings:
        return tr("No depth has been read beside one before it yet. {0}").format(began)
    asked = len(learnt.outliers)
    count = (
        tr("1 depth beside the one before it")
        if learnt.readings == 1
        else tr("{0} depths beside the ones before them").format(learnt.readings)
    )
    odd = tr(", {0} of them asked about").format(asked) if asked else ""
    return f"{count}{odd}. {began}"
