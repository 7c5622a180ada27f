"""A bulletin or a change of our own, as a dated entry; the call is then asked anew."""

from collections.abc import Callable
from datetime import timedelta
from functools import partial
from typing import Any, Final

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from crewdesk.gui.page import Page
from crewdesk.gui.pages.change_paper import Paper, PaperTyped
from crewdesk.gui.pages.change_words import KINDS, hints, kind_names
from crewdesk.gui.parts import Choice, button, clear, column, label, row, scrolling, text_field
from crewdesk.gui.session import Session
from crewdesk.gui.texts import clock
from crewdesk.gui.theme import Sizes, Theme
from crewdesk.journal.entries import AnyEntry, ControlTime, DocumentsChanged, StageRun

OFFERED: Final = 6
"""Targets offered as buttons; any other is typed."""
NO_VALUE: Final = frozenset({"stage_cancelled", "stage_interrupted", "stage_repeated"})
"""Kinds that take an empty value."""
OF_STAGES: Final = frozenset(
    {"stage_cancelled", "stage_shortened", "stage_interrupted", "stage_repeated"}
)


class ChangePage(Page):
    """What changed, to what, where it was printed and from when it holds."""

    key = "change"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._looking = False
        self.title = label(self.tr("Bulletin or change"), "change_title", "title")
        self.past = button(
            self.tr("What was changed"), "change_past", self._look, checkable=True
        )
        names = kind_names()
        self.kinds = [
            Choice(
                f"change_what_{at}",
                [(names[kind], kind) for kind in line],
                self._took,
                kind="part",
            )
            for at, line in enumerate(KINDS)
        ]
        self._targets = QGridLayout()
        self._targets.setSpacing(6)
        self.target = text_field("change_target", self.tr("To what"))
        self.value = text_field("change_value", self.tr("New value"))
        self.hint = label("", "change_hint", "muted", wrap=True)
        what = QGridLayout()
        what.setSpacing(6)
        what.addWidget(label(self.tr("To what"), "change_target_label", "strong"), 0, 0)
        what.addWidget(self.target, 0, 1)
        what.addWidget(label(self.tr("New value"), "change_value_label", "strong"), 0, 2)
        what.addWidget(self.value, 0, 3)
        self.paper = Paper("change", session)
        self._form = QWidget()
        self._form.setLayout(
            column(*self.kinds, self._targets, what, self.hint, self.paper, 1, spacing=6)
        )
        self._list = QWidget()
        self._lines = QVBoxLayout(self._list)
        self._lines.setContentsMargins(4, 4, 4, 4)
        self._form_area = scrolling("change_form", self._form)
        self._past_area = scrolling("change_list", self._list)
        self._past_area.hide()
        head = row(self.title, 1, self.past)
        self.setLayout(column(head, self._form_area, self._past_area, spacing=4))
        self._took("position")

    def heading(self) -> str:
        return self.tr("Bulletin or change")

    def primary_text(self) -> str:
        return self.tr("Back to the form") if self._looking else self.tr("Enter change")

    def start_with(self, kind: str) -> None:
        """Begin with one kind of change."""
        self._took(kind)

    def refresh(self) -> None:
        if self.session.is_open:
            self._offer()
            if self._looking:
                self._show_past()

    def escape(self) -> bool:
        if not self._looking:
            return False
        self.past.setChecked(False)
        self._look()
        return True

    # ---- what kind, of what

    def _took(self, value: object) -> None:
        if value == "rule":
            # Every line of the rules with its own way of typing stands on a page of its own.
            self.go.emit("rules")
            return
        changed = value != self.kind
        for choice in self.kinds:
            choice.set_value(value)
        if changed:
            self.target.clear()
            self.value.clear()
        self.hint.setText(hints()[str(value)])
        if self.session.is_open:
            self._offer()

    @property
    def kind(self) -> str:
        """The kind of change that is chosen."""
        return next((str(c.value) for c in self.kinds if c.value), "")

    def _offer(self) -> None:
        """Offer what the change may be about."""
        clear(self._targets)
        for at, (shown, ref) in enumerate(self._possible()[:OFFERED]):
            made = button(
                shown,
                f"change_to_{at}",
                partial(self._take_target, ref),
                kind="part",
                spoken=self.tr("About {0}").format(shown.replace("\n", " ")),
            )
            self._targets.addWidget(made, 0, at)

    def _take_target(self, ref: str) -> None:
        self.target.setText(ref)
        self.value.setFocus(Qt.FocusReason.OtherFocusReason)

    def _possible(self) -> list[tuple[str, str]]:
        session = self.session
        state, itinerary = session.state, session.bundle.itinerary
        gone = {*state.cancelled} | ({*state.stages_run} - {*self._repeatable()})
        if self.kind in OF_STAGES:
            return [
                (f"{s.ref}\n{s.km:g} km", s.ref) for s in itinerary.stages if s.ref not in gone
            ]
        if self.kind == "position":
            return [
                (self.tr("Leg {0}\nnow {1}").format(leg.leg, leg.position), str(leg.leg))
                for leg in session.bundle.event.legs
            ]
        keys = [p.key for p in itinerary.change_places]
        here = state.at_place or state.next_place
        ahead = itinerary.change_places[keys.index(here) :] if here in keys else ()
        if self.kind == "service_length":
            return [
                (self.tr("{0}\n{1} min").format(p.key, f"{p.minutes:g}"), p.key)
                for p in ahead
                if p.kind != "start"
            ]
        return [
            (f"{p.in_ref}\n{clock(p.due_in_utc, session.zone)}", p.in_ref)
            for p in ahead
            if p.kind != "start"
        ]

    def _repeatable(self) -> tuple[str, ...]:
        return self.session.state.stages_run if self.kind == "stage_repeated" else ()

    # ---- entering

    def primary(self) -> None:
        session = self.session
        if not session.is_open:
            self.go.emit("load")
            return
        if self._looking:
            self.escape()
            return
        target = self.target.text().strip().upper()
        if not target:
            session.notice("note", self.tr("Say what it is about: fill in “To what”."))
            self.target.setFocus(Qt.FocusReason.OtherFocusReason)
            return
        paper = self.paper.read()
        if paper is None:
            return
        if self.kind not in NO_VALUE and self._value(target) is None:
            session.notice("note", self.tr("Type the new value as a number."))
            self.value.setFocus(Qt.FocusReason.OtherFocusReason)
            return
        body = self._body(target, paper)
        if body is None:
            session.notice("note", self.tr("No control {0} in the itinerary.").format(target))
            return
        said = self.tr("{0}: {1} {2}").format(
            kind_names()[self.kind].lower(), target, self.value.text().strip()
        )
        receipt = session.enter(body, said.strip())
        if receipt is not None and receipt.accepted:
            self.target.clear()
            self.value.clear()
            self.paper.forget()
            self.go.emit("back")

    def _value(self, target: str) -> float | str | None:
        """Return the value typed: a number, or for a place that moves a printed time."""
        number = self._number()
        if self.kind == "place_moved" and number is None:
            return self._printed(target)
        if self.kind == "stage_repeated":
            return self.value.text().strip().upper() or None
        return number

    def _body(self, target: str, paper: PaperTyped) -> AnyEntry | None:
        value = self._value(target)
        if isinstance(value, float) and value.is_integer():
            value = int(value)
        makers: dict[str, Callable[[], AnyEntry | None]] = {
            "late": lambda: self._late(target, float(value or 0.0), paper),
            "stage_interrupted": lambda: self._interrupted(target, value, paper),
        }
        if self.kind in makers:
            return makers[self.kind]()
        return self._changed(self.kind, target, value, paper)

    def _changed(self, what: str, target: str, value: Any, paper: PaperTyped) -> AnyEntry:
        return DocumentsChanged.model_validate(
            {
                "what": what,
                "target": target,
                "value": value,
                "source": paper.source,
                "article": paper.article,
                "bulletin_no": paper.bulletin_no,
                "valid_from": paper.valid_from,
                "by": paper.by,
            }
        )

    def _interrupted(self, ref: str, km: Any, paper: PaperTyped) -> AnyEntry:
        """Return what an interrupted stage means for the tyres: what was driven at speed."""
        if not km:
            return self._changed("stage_road_speed", ref, None, paper)
        return StageRun.model_validate(
            {
                "stage": ref,
                "km_driven": float(km),
                "source": paper.source,
                "article": paper.article,
                "bulletin_no": paper.bulletin_no,
                "by": paper.by,
            }
        )

    def _late(self, ref: str, minutes: float, paper: PaperTyped) -> AnyEntry | None:
        itinerary = self.session.bundle.itinerary
        for line in itinerary.rows:
            due = itinerary.our_due(line)
            if line.ref.upper() == ref and due is not None:
                return ControlTime(
                    ref=line.ref,
                    time=due + timedelta(minutes=minutes),
                    announced=True,
                    by=paper.by,
                )
        return None

    def _printed(self, ref: str) -> str | None:
        """Return the time typed as hh:mm on the day of a control, with its zone."""
        itinerary, zone = self.session.bundle.itinerary, self.session.zone
        line = next((r for r in itinerary.rows if r.ref.upper() == ref), None)
        if line is None or line.first_car_due is None:
            return None
        try:
            hour, minute = (int(part) for part in self.value.text().strip().split(":"))
            local = line.first_car_due.astimezone(zone)
            return local.replace(hour=hour, minute=minute, second=0).isoformat()
        except ValueError:
            return None

    def _number(self) -> float | None:
        try:
            return float(self.value.text().strip().replace(",", "."))
        except ValueError:
            return None

    # ---- what was changed

    def _look(self) -> None:
        self._looking = self.past.isChecked()
        self._form_area.setVisible(not self._looking)
        self._past_area.setVisible(self._looking)
        if self._looking and self.session.is_open:
            self._show_past()
        self.primary_changed.emit()

    def _show_past(self) -> None:
        """Show every change with its time, and the rules each fitting ran under."""
        from crewdesk.desk.bulletin_words import bulletin_lines
        from crewdesk.desk.rule_cells import ran_under

        clear(self._lines)
        bundle, state = self.session.bundle, self.session.state
        changes = bulletin_lines(bundle, state) or (self.tr("Nothing was changed yet."),)
        for at, text in enumerate(changes):
            self._lines.addWidget(label(text, f"change_line_{at}", wrap=True))
        self._lines.addWidget(
            label(self.tr("What ran under which rules"), "change_ran", "strong", wrap=True)
        )
        ran = ran_under(bundle, state)
        if not ran:
            self._lines.addWidget(label(self.tr("No fitting is made yet."), "change_ran_none"))
        for at, one in enumerate(ran):
            held = "; ".join(one.differs) or self.tr("nothing has changed since")
            text = self.tr("{0}, {1}: {2}, {3}").format(one.place, one.at, one.set_name, held)
            self._lines.addWidget(label(text, f"change_ran_{at}", wrap=True))
        self._lines.addStretch(1)

    def set_look(self, _theme: Theme, _sizes: Sizes) -> None:
        # Beside the slots there is never room for more than two fields in a line.
        self.paper.set_stacked(stacked=True)
