"""When the call changes: a chart for each number that may turn out otherwise."""

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QT_TRANSLATE_NOOP, QCoreApplication, QTimer
from PySide6.QtWidgets import QSizePolicy

from crewdesk.gui.page import Page
from crewdesk.gui.parts import Choice, button, column, label, row
from crewdesk.gui.session import Session
from crewdesk.gui.theme import THEMES, Sizes, Theme

if TYPE_CHECKING:
    from crewdesk.desk.answer import Answer
    from crewdesk.gui.charts.flips_view import FlipsView

_NAMES: Final[dict[str, str]] = {
    "road": str(QT_TRANSLATE_NOOP("FlipsPage", "Road")),
    "rain": str(QT_TRANSLATE_NOOP("FlipsPage", "Rain")),
    "new_tyre_worth": str(QT_TRANSLATE_NOOP("FlipsPage", "Price of a second")),
    "tread": str(QT_TRANSLATE_NOOP("FlipsPage", "Tread")),
}


class FlipsPage(Page):
    """Road, rain, price of a second, tread: what each way to fit loses as one of them moves."""

    key = "flips"
    wide = True

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._view: FlipsView | None = None
        self._drawn: Answer | None = None
        self._part = "road"
        self._theme, self._sizes = THEMES["light"], Sizes()
        self.title = label(self.tr("When the call changes"), "flips_title", "title")
        self.legend = label("", "flips_legend", wrap=True)
        options: list[tuple[str, object]] = [
            (QCoreApplication.translate("FlipsPage", name), part)
            for part, name in _NAMES.items()
        ]
        self.choice = Choice("flips_part", options, self._choose)
        self.choice.set_value(self._part)
        self.choice.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.table = button("", "flips_table_button", self._switch)
        self.table.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self._column = column(
            row(self.title, 1, self.choice, self.table), self.legend, spacing=6
        )
        self._column.addStretch(1)
        self.setLayout(self._column)
        self._name()
        session.answered.connect(self.refresh)
        session.working.connect(lambda _text: self.refresh())

    def heading(self) -> str:
        return self.tr("When the call changes")

    def primary_text(self) -> str:
        return self.tr("Back")

    def primary(self) -> None:
        self.go.emit("back")

    def entered(self) -> None:
        if self._view is None:
            QTimer.singleShot(0, self, self._build)

    def _build(self) -> None:
        """Build the charts; their library is heavy, so it is loaded here and not before."""
        if self._view is not None:
            return
        from crewdesk.gui.charts.flips_view import FlipsView

        self._view = FlipsView()
        # Beside it the room under the words is nothing; while it is hidden that room is all.
        self._column.insertWidget(self._column.count() - 1, self._view, 1000)
        self.set_look(self._theme, self._sizes)
        self.refresh()

    def refresh(self) -> None:
        if self._view is None or not self.isVisible():
            return
        answer = self._answer()
        charts = answer is not None and bool(answer.result.flip_charts)
        self._view.setVisible(charts)
        self.choice.setVisible(charts and not self._shows_all)
        self.table.setVisible(charts)
        self.legend.setText(self._legend(answer))
        if charts and answer is not None and answer is not self._drawn:
            from crewdesk.desk.flip_view import flip_views

            self._drawn = answer
            self._view.set_views(flip_views(self.session.state, answer.result))
        self._name()

    @property
    def _shows_all(self) -> bool:
        """Say whether the screen is wide enough for all charts at once."""
        return self._sizes.text > 1.0

    def _answer(self) -> "Answer | None":
        """Return the answer for the place ahead."""
        if not self.session.is_open:
            return None
        answer, place = self.session.answer, self.session.place
        fits = answer is not None and place is not None and answer.place == place.key
        return answer if fits else None

    def _legend(self, answer: "Answer | None") -> str:
        if not self.session.is_open:
            return self.tr("No event is open.")
        if answer is None or not answer.result.plan:
            return self.tr("There is no call yet.")
        if not answer.result.flip_charts:
            return (
                self.tr("The call stands; what would change it is still being worked out …")
                if self.session.progress
                else self.tr("What would change this call was not worked out.")
            )
        return self.tr(
            "Seconds lost beside the best fitting: the lowest line is the best. Thick: the "
            "call. Hatched: another one is the best."
        )

    def _choose(self, part: object) -> None:
        self._part = str(part)
        if self._view is not None:
            self._view.show_part(self._part)

    def _switch(self) -> None:
        if self._view is not None:
            self._view.show_table(shown=not self._view.is_table)
            self._name()

    def _name(self) -> None:
        is_table = self._view is not None and self._view.is_table
        self.table.setText(self.tr("Show as charts") if is_table else self.tr("Show as table"))
        self.table.setAccessibleName(self.table.text())

    def set_look(self, theme: Theme, sizes: Sizes) -> None:
        self._theme, self._sizes = theme, sizes
        if self._view is not None:
            self._view.set_theme(theme, round(16 * sizes.text))
            self._view.show_all(shown=self._shows_all)
