"""Recce and stages: a card a stage, a few taps each."""

from functools import partial
from typing import Any, Final

from PySide6.QtWidgets import QGridLayout

from crewdesk.documents.itinerary_build import assumed_of
from crewdesk.gui.page import Page
from crewdesk.gui.parts import Choice, button, column, label, row
from crewdesk.gui.session import Session
from crewdesk.journal.entries import DocumentsChanged

FIELDS: Final[tuple[str, ...]] = (
    "roughness",
    "abrasion",
    "base",
    "right_share",
    "cuts",
    "shade",
    "holds_water",
)
CUTS: Final = {"few": -0.15, "usual": 0.0, "many": 0.3}
"""Added to the stage's share of cuts; guesses of this project, no source."""


class StagesPage(Page):
    """Seven rows of buttons; a repeat pass copies the first."""

    key = "stages"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._at = 0
        self.title = label("", "stages_title", "title", wrap=True)
        self.before = button(self.tr("▲ earlier"), "stages_before", lambda: self._step(-1))
        self.after = button(self.tr("▼ later"), "stages_after", lambda: self._step(1))
        self._choices: dict[str, Choice] = {}
        self._words: dict[str, Any] = {}
        grid = QGridLayout()
        grid.setHorizontalSpacing(10)
        grid.setVerticalSpacing(5)
        grades: list[tuple[str, object]] = [(str(n), n) for n in range(1, 6)]
        rows: list[tuple[str, str, list[tuple[str, object]]]] = [
            ("roughness", self.tr("Rough"), grades),
            ("abrasion", self.tr("Abrasive"), grades),
            (
                "base",
                self.tr("Base"),
                [
                    (self.tr("loose"), "loose"),
                    (self.tr("hard"), "hard"),
                    (self.tr("bedrock"), "bedrock"),
                ],
            ),
            (
                "right_share",
                self.tr("Turns"),
                [
                    (self.tr("mostly left"), 0.35),
                    (self.tr("even"), 0.5),
                    (self.tr("mostly right"), 0.65),
                ],
            ),
            (
                "cuts",
                self.tr("Cuts"),
                [
                    (self.tr("few"), "few"),
                    (self.tr("usual"), "usual"),
                    (self.tr("many"), "many"),
                ],
            ),
            (
                "shade",
                self.tr("Shade"),
                [(self.tr("open"), 0.0), (self.tr("part"), 0.3), (self.tr("mostly"), 0.8)],
            ),
            (
                "holds_water",
                self.tr("Holds water"),
                [(self.tr("no"), 0.0), (self.tr("places"), 0.1), (self.tr("yes"), 0.3)],
            ),
        ]
        for at, (key, text, options) in enumerate(rows):
            choice = Choice(f"card_{key}", options, partial(self._set, key), kind="part")
            self._choices[key] = choice
            grid.addWidget(label(text, f"card_{key}_label", "strong"), at, 0)
            grid.addWidget(choice, at, 1)
            said = label("", f"card_{key}_said", "muted")
            said.setMinimumWidth(90)
            self._words[key] = said
            grid.addWidget(said, at, 2)
        grid.setColumnStretch(1, 1)
        head = row(self.title, self.before, self.after)
        head.setStretch(0, 1)
        self.setLayout(column(head, grid, 1))

    def heading(self) -> str:
        return self.tr("Stages")

    def primary_text(self) -> str:
        if not self.session.is_open:
            return self.tr("Load event")
        last = self._at >= len(self.session.bundle.itinerary.stages) - 1
        return self.tr("Stages done") if last else self.tr("Next stage")

    def primary(self) -> None:
        if not self.session.is_open:
            self.go.emit("load")
        elif self._at >= len(self.session.bundle.itinerary.stages) - 1:
            self.go.emit("now")
        else:
            self._step(1)

    def _step(self, by: int) -> None:
        if not self.session.is_open:
            return
        self._at = max(0, min(self._at + by, len(self.session.bundle.itinerary.stages) - 1))
        self.refresh()
        self.primary_changed.emit()

    def refresh(self) -> None:
        if not self.session.is_open:
            return
        stages = self.session.bundle.itinerary.stages
        if not stages:
            self.title.setText(self.tr("The itinerary has no stages."))
            return
        self._at = min(self._at, len(stages) - 1)
        stage = stages[self._at]
        self.title.setText(
            self.tr("{0}  {1}, {2} km, {3}, pass {4}").format(
                stage.ref, stage.name, f"{stage.km:.1f}", stage.surface, stage.pass_no
            )
        )
        base = (
            "loose"
            if stage.gravel_share > 0.6
            else "hard"
            if stage.gravel_share > 0.15
            else "bedrock"
        )
        values: dict[str, object] = {
            "roughness": stage.roughness,
            "abrasion": stage.abrasion,
            "base": base,
            "right_share": _nearest(stage.right_share, (0.35, 0.5, 0.65)),
            "cuts": "few" if stage.cuts < 0.35 else "usual" if stage.cuts <= 0.65 else "many",
            "shade": _nearest(stage.shade, (0.0, 0.3, 0.8)),
            "holds_water": _nearest(stage.holds_water, (0.0, 0.1, 0.3)),
        }
        for key, choice in self._choices.items():
            choice.set_value(values[key])
            name = "gravel_share" if key == "base" else key
            assumed = assumed_of(name, stage.assumed)
            self._words[key].setText(self.tr("assumed") if assumed else "")
        self.before.setEnabled(self._at > 0)
        self.after.setEnabled(self._at < len(stages) - 1)

    def _set(self, key: str, value: object) -> None:
        stages = self.session.bundle.itinerary.stages
        stage = stages[self._at]
        field, number = key, value
        if key == "base":
            field = "gravel_share"
            number = {"loose": 0.9, "hard": 0.3, "bedrock": 0.1}[str(value)]
        elif key == "cuts":
            number = round(min(1.0, max(0.0, 0.5 + CUTS[str(value)])), 3)
        same = [
            s.ref
            for s in stages
            if s.name.rstrip(" 0123456789") == stage.name.rstrip(" 0123456789")
        ]
        first = same[0] == stage.ref
        for ref in same if first else [stage.ref]:
            self.session.enter(
                DocumentsChanged(what="stage_card", target=ref, value={field: number}),
                self.tr("{0} {1}").format(ref, field.replace("_", " ")),
            )


def _nearest(value: float, options: tuple[float, ...]) -> float:
    return min(options, key=lambda o: abs(o - value))
