"""Open questions: what is not known yet, and the answers when they come."""

from functools import partial
from typing import Any

from PySide6.QtWidgets import QLineEdit

from crewdesk.gui.page import Page
from crewdesk.gui.parts import button, card, clear, column, label, lines_in, row
from crewdesk.gui.session import Session
from crewdesk.gui.texts import SHORT, WALK, clock, wheel
from crewdesk.gui.theme import Sizes, Theme
from crewdesk.journal.entries import Answer

HEAD_PX = 110
"""How wide the names of the fields are at the usual letter size."""
_NUMBERS = {"km_into_stage", "time_lost_s", "length_mm"}


class QuestionsPage(Page):
    """One card a question; a tap answers it, nothing waits for it."""

    key = "questions"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.title = label("", "questions_title", "title", wrap=True)
        self._cards, area = lines_in("questions_list")
        self._shape: object = None
        self._sizes = Sizes()
        self.setLayout(column(self.title, area))

    def heading(self) -> str:
        return self.tr("Open questions")

    def primary_text(self) -> str:
        return self.tr("Back")

    def primary(self) -> None:
        self.go.emit("back")

    def set_look(self, _theme: Theme, sizes: Sizes) -> None:
        self._sizes, self._shape = sizes, None
        self.refresh()

    def refresh(self) -> None:
        if not self.session.is_open:
            return
        questions = self.session.state.open_questions
        self.title.setText(
            self.tr("Open questions: {0}").format(len(questions))
            if questions
            else self.tr("No question is open.")
        )
        if questions == self._shape:
            return
        self._shape = questions
        self.keep_cursor()
        clear(self._cards)
        for index, question in enumerate(questions):
            lines: list[Any] = [
                label(
                    self.tr("{0}  {1}").format(
                        clock(question.since, self.session.zone), question.text
                    ),
                    f"question_{index}",
                    "strong",
                    wrap=True,
                )
            ]
            lines += [
                self._field(index, question.id, field, question.possible)
                for field in question.fields
            ]
            self._cards.addWidget(card(f"question_card_{index}", *lines))
        self._cards.addStretch(1)

    def _field(
        self, index: int, question_id: str, field: str, possible: tuple[str, ...]
    ) -> Any:
        words = {
            "since": self.tr("Since"),
            "corner": self.tr("Corner"),
            "side": self.tr("Side"),
            "tyre_off": self.tr("Wheel off"),
            "tyre_on": self.tr("Wheel on"),
            "where": self.tr("Where"),
            "changed_by": self.tr("Changed by"),
            "noted": self.tr("Query"),
        }
        head = label(words.get(field, field.replace("_", " ")), f"q{index}_{field}", "")
        head.setFixedWidth(self._sizes.letter(HEAD_PX))
        line = row(head, spacing=6)
        if field == "noted":
            # What the officials noted is answered where the marks stand.
            to_check = button(
                self.tr("To the tyre check"),
                f"q{index}_noted",
                partial(self.go.emit, "mark_check"),
            )
            line.addWidget(to_check)
            line.addStretch(1)
            return line
        options = self._options(field, possible)
        if not options:
            text = QLineEdit()
            text.setObjectName(f"q{index}_{field}_text")
            text.setAccessibleName(words.get(field, field))
            line.addWidget(text)
            line.addWidget(
                button(
                    self.tr("Answer"),
                    f"q{index}_{field}_ok",
                    lambda: self._typed(question_id, field, text.text()),
                )
            )
            return line
        for at, (shown, value) in enumerate(options[:7]):
            line.addWidget(
                button(
                    shown,
                    f"q{index}_{field}_{at}",
                    partial(self._answer, question_id, field, value),
                    kind="part",
                )
            )
        line.addStretch(1)
        return line

    def _options(self, field: str, possible: tuple[str, ...]) -> list[tuple[str, Any]]:
        fitted = self.session.state.fitted
        car = fitted.tyres if fitted is not None else {}
        if field == "corner":
            corners = [p for p in WALK if p in possible] or [p for p in WALK if car.get(p)]
            return [(SHORT[p], p) for p in corners]
        if field == "side":
            return [(self.tr("left"), "left"), (self.tr("right"), "right")]
        if field == "changed_by":
            return [(w, w) for w in ("crew", "team", "nobody")]
        if field in ("tyre_off", "tyre_on"):
            known = self.session.state.tyres
            ids = [t for t in possible if t in known] or [t for t in car.values() if t]
            return [(wheel(self.session.rim_of(t), t), t) for t in ids]
        if field in ("since", "where"):
            stages = {s.ref for s in self.session.bundle.itinerary.stages}
            named = [p for p in possible if p in stages or field == "since"]
            return [(p, p) for p in (named or sorted(stages))]
        return []

    def _typed(self, question_id: str, field: str, text: str) -> None:
        value: Any = text.strip()
        if field in _NUMBERS:
            try:
                value = float(value.replace(",", "."))
            except ValueError:
                self.session.notice("note", self.tr("Type a number."))
                return
        if value != "":
            self._answer(question_id, field, value)

    def _answer(self, question_id: str, field: str, value: Any) -> None:
        self.session.enter(
            Answer(question_id=question_id, values={field: value}),
            self.tr("answer: {0} {1}").format(field.replace("_", " "), value),
        )
