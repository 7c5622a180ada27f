"""An incident in few taps; every field takes "not known yet" and holds up nothing."""

from functools import partial
from typing import Any

from PySide6.QtWidgets import QGridLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from crewdesk.gui.page import Page
from crewdesk.gui.parts import Choice, clear, column, label, row, scrolling
from crewdesk.gui.session import Session
from crewdesk.gui.texts import SHORT, WALK, wheel
from crewdesk.gui.theme import Sizes, Theme
from crewdesk.journal.entries import Incident
from crewdesk.units import Place

NOT_KNOWN = "?"
HEAD_PX = 128
"""How wide the names of the rows are at the usual letter size."""


class IncidentPage(Page):
    """A puncture with a carried spare: incident, corner, spare, enter."""

    key = "incident"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._for: tuple[object, ...] = ()
        self._sizes = Sizes()
        self._form = QWidget()
        self._lines = QVBoxLayout(self._form)
        self._lines.setContentsMargins(0, 0, 0, 0)
        self._lines.setSpacing(6)
        self.title = label(self.tr("Incident"), "incident_title", "title")
        self.said = label("", "incident_said", "muted", wrap=True)
        self._choices: dict[str, Choice] = {}
        self._texts: dict[str, QLineEdit] = {}
        head = row(self.title, self.said, spacing=14)
        head.setStretch(1, 1)
        self.setLayout(column(head, scrolling("incident_form", self._form), spacing=2))

    def heading(self) -> str:
        return self.tr("Incident")

    def primary_text(self) -> str:
        return self.tr("Enter incident")

    def entered(self) -> None:
        self._for = ()
        self._preset = getattr(self, "_preset", None)
        self.refresh()

    def start_for(self, tyre_id: str | None) -> None:
        """Begin with a tyre that was pointed at."""
        self._preset = tyre_id

    def refresh(self) -> None:
        if not self.session.is_open:
            return
        fitted = self.session.state.fitted
        car = dict(fitted.tyres) if fitted is not None else {}
        shape = tuple(sorted((k, v or "") for k, v in car.items()))
        if self._for and shape == self._for:
            return
        self._for = shape or ("",)
        self._build(car)

    def set_look(self, _theme: Theme, sizes: Sizes) -> None:
        self._sizes = sizes
        for key in self._choices:
            head = self._form.findChild(QLabel, f"incident_{key}_label")
            if isinstance(head, QLabel):
                head.setFixedWidth(sizes.letter(HEAD_PX))

    def _build(self, car: dict[Place, str | None]) -> None:
        clear(self._lines)
        self._choices.clear()
        state = self.session.state
        preset = getattr(self, "_preset", None)
        self._preset = None
        corner = next((p for p, t in car.items() if t and t == preset), None)
        unknown = (self.tr("not known"), NOT_KNOWN)
        what: list[tuple[str, object]] = [
            (self.tr("Puncture"), "puncture"),
            (self.tr("Cut"), "cut"),
            (self.tr("Bulge"), "bulge"),
            (self.tr("Leak"), "leak"),
            (self.tr("Off the bead"), "bead"),
        ]
        more: list[tuple[str, object]] = [
            (self.tr("Flat spot"), "flat_spot"),
            (self.tr("Rim"), "rim"),
            (self.tr("Spin"), "spin"),
            (self.tr("Other"), "other"),
        ]
        self._add("what", self.tr("What"), what)
        self._add("more", "", more)
        corners: list[tuple[str, object]] = [
            (SHORT[p], p) for p in WALK if car.get(p) or p in ("FL", "FR", "RL", "RR")
        ]
        self._add("corner", self.tr("Corner"), [*corners, unknown])
        spares: list[tuple[str, object]] = [
            (wheel(self.session.rim_of(car.get(p)), car.get(p)), car[p])
            for p in ("SP1", "SP2")
            if car.get(p)
        ]
        self._add("on", self.tr("Wheel on"), [*spares, (self.tr("not changed"), ""), unknown])
        stages = self._stages()
        self._add("where", self.tr("Where"), [*[(s, s) for s in stages], unknown])
        self._add(
            "by",
            self.tr("Changed by"),
            [
                (self.tr("crew"), "crew"),
                (self.tr("team"), "team"),
                (self.tr("nobody"), "nobody"),
                unknown,
            ],
        )
        self._add(
            "rim",
            self.tr("Rim"),
            [
                (self.tr("sound"), "sound"),
                (self.tr("bent"), "bent"),
                (self.tr("cracked"), "cracked"),
                (self.tr("scrap"), "scrap"),
                unknown,
            ],
        )
        texts = QGridLayout()
        texts.setSpacing(6)
        for at, (key, words) in enumerate(
            (
                ("km", self.tr("km into it")),
                ("lost", self.tr("time lost, s")),
                ("cut", self.tr("cut, mm")),
                ("note", self.tr("words")),
            )
        ):
            field = QLineEdit()
            field.setObjectName(f"incident_{key}")
            field.setAccessibleName(words)
            field.setPlaceholderText(words)
            field.textEdited.connect(lambda _text: self._say())
            texts.addWidget(field, 0, at)
            self._texts[key] = field
        self._lines.addLayout(texts)
        self._lines.addStretch(1)
        self._choices["what"].set_value("puncture")
        self._choices["corner"].set_value(corner or NOT_KNOWN)
        self._choices["on"].set_value(NOT_KNOWN)
        self._choices["where"].set_value(
            stages[0] if stages and state.at_place is None else NOT_KNOWN
        )
        self._choices["by"].set_value(NOT_KNOWN)
        self._choices["rim"].set_value(NOT_KNOWN)
        self._say()

    def _stages(self) -> list[str]:
        """Return the stages it may have been on: those of the loop, the one under way first."""
        state, itinerary = self.session.state, self.session.bundle.itinerary
        if state.fittings:
            stages = itinerary.place(state.fittings[-1].place).stages
        else:
            stages = itinerary.change_places[0].stages
        ahead = [s for s in stages if s not in state.stages_run]
        behind = [s for s in stages if s in state.stages_run]
        return [*ahead, *reversed(behind)][:6]

    def _add(self, key: str, words: str, options: list[tuple[str, object]]) -> None:
        choice = Choice(f"incident_{key}", options, partial(self._took, key), kind="part")
        self._choices[key] = choice
        head = label(words, f"incident_{key}_label", "strong")
        head.setFixedWidth(self._sizes.letter(HEAD_PX))
        line = row(head, choice)
        line.setStretch(1, 1)
        self._lines.addLayout(line)

    def _took(self, key: str, _value: object = None) -> None:
        if key == "what":
            self._choices["more"].set_value(None)
        elif key == "more":
            self._choices["what"].set_value(None)
        elif key == "on" and self._choices["by"].value == NOT_KNOWN:
            value = self._choices["on"].value
            if value not in (NOT_KNOWN, ""):
                self._choices["by"].set_value("crew")
            elif value == "":
                self._choices["by"].set_value("nobody")
        self._say()

    def _value(self, key: str) -> Any:
        value = self._choices[key].value
        return None if value == NOT_KNOWN else value

    def _say(self) -> None:
        open_fields = [
            words
            for key, words in (
                ("corner", self.tr("corner")),
                ("on", self.tr("wheel now on")),
                ("where", self.tr("where")),
            )
            if self._choices[key].value == NOT_KNOWN
        ]
        km = self._texts.get("km")
        if open_fields:
            said = self.tr("Not known yet: {0}. It stays an open question.").format(
                ", ".join(open_fields)
            )
        elif self._choices["on"].value and km is not None and not km.text().strip():
            said = self.tr("Without the km the new wheel counts from the end of {0}.").format(
                self._choices["where"].value
            )
        else:
            said = self.tr("Stands on the next sheet until torqued.")
        self.said.setText(said)

    def primary(self) -> None:
        if not self.session.is_open or not self._choices:
            self.go.emit("load")
            return
        fitted = self.session.state.fitted
        car = fitted.tyres if fitted is not None else {}
        corner = self._value("corner")
        on = self._value("on")
        off = car.get(corner) if corner else None
        body = Incident.model_validate(
            {
                "what": self._choices["more"].value
                or self._choices["what"].value
                or "puncture",
                "corner": corner,
                "where": self._value("where") or "",
                "km_into_stage": self.typed_number(self._texts["km"]),
                "tyre_off": off,
                "tyre_on": on or None,
                "changed_by": self._value("by") or "",
                "time_lost_s": self.typed_number(self._texts["lost"]),
                "rim_id": self.session.rim_of(off),
                "rim_state": self._value("rim") or "",
                "length_mm": self.typed_number(self._texts["cut"]),
                "note": self._texts["note"].text().strip(),
            }
        )
        receipt = self.session.enter(
            body, self.tr("incident {0} {1}").format(body.what.replace("_", " "), corner or "")
        )
        if receipt is not None and receipt.accepted:
            self._for = ()
            self.go.emit("back")
