"""People and minutes at the place: what fits, what being late costs, the short call."""

from functools import partial
from typing import TYPE_CHECKING, Final

from PySide6.QtWidgets import QWidget

from crewdesk.gui.page import Page
from crewdesk.gui.pages.minutes_times import WorkTable
from crewdesk.gui.parts import (
    Choice,
    button,
    card,
    clear,
    column,
    label,
    lines_in,
    row,
    scrolling,
)
from crewdesk.gui.session import Session
from crewdesk.gui.texts import clock
from crewdesk.gui.timing import short_label
from crewdesk.journal.entries import DocumentsChanged

if TYPE_CHECKING:
    from collections.abc import Mapping

    from crewdesk.documents.itinerary import ChangePlace
    from crewdesk.units import Place

AS_USUAL: Final = "as usual"
PEOPLE: Final = (1, 2, 3, 4, 6, 8)
MINUTES: Final = (3, 5, 8, 10, 15, 20)


class MinutesPage(Page):
    """The limits of a place that no cleverness moves."""

    key = "minutes"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._editing = False
        self.title = label("", "minutes_title", "title", wrap=True)
        self.own = button(self.tr("Our own minutes"), "minutes_own", self._edit, checkable=True)
        self.table = WorkTable(session)
        self.people = Choice(
            "minutes_people",
            [(self.tr("usual"), AS_USUAL), *[(str(n), n) for n in PEOPLE]],
            partial(self._take, "people"),
            kind="part",
        )
        self.minutes = Choice(
            "minutes_left",
            [(self.tr("clock"), AS_USUAL), *[(str(n), n) for n in MINUTES]],
            partial(self._take, "minutes"),
            kind="part",
        )
        self._lines, self._area = lines_in("minutes_lines", spacing=6)
        rows = []
        for words, name, choice in (
            (self.tr("People"), "people", self.people),
            (self.tr("Minutes"), "left", self.minutes),
        ):
            head = label(words, f"minutes_{name}_label", "strong")
            head.setFixedWidth(108)
            line = row(head, choice)
            line.setStretch(1, 1)
            rows.append(line)
        top = row(self.title, self.own)
        top.setStretch(0, 1)
        self._table_area = scrolling("minutes_times", self.table)
        self._table_area.hide()
        self._choices = QWidget()
        self._choices.setLayout(column(*rows))
        self.setLayout(column(top, self._choices, self._area, self._table_area))
        session.answered.connect(self._news)

    def heading(self) -> str:
        return self.tr("People and minutes")

    def primary_text(self) -> str:
        return self.tr("Back to the place") if self._editing else self.tr("To the call")

    def primary(self) -> None:
        if not self.escape():
            self.go.emit("call")

    def escape(self) -> bool:
        if not self._editing:
            return False
        self.own.setChecked(False)
        self._edit()
        return True

    def _edit(self) -> None:
        """Show the table of work in place of what fits here, or put it away."""
        self._editing = self.own.isChecked()
        for part in (self._choices, self._area):
            part.setVisible(not self._editing)
        self._table_area.setVisible(self._editing)
        self.refresh()
        self.primary_changed.emit()

    def _news(self) -> None:
        if self.isVisible():
            self.refresh()

    def _take(self, what: str, value: object) -> None:
        """Keep with the event how many people there are, or the minutes at this place."""
        session, place = self.session, self.session.place
        number = value if isinstance(value, int) else None
        if session.is_open and what == "people" and number != session.people:
            said = self.tr("people at the car: {0}").format(number or self.tr("as usual"))
            self._keep("people_at_car", number, said)
        elif place is not None and what == "minutes" and number != session.own_minutes:
            kept = dict(session.bundle.event.settings.short_call_min)
            kept.pop(place.key, None)
            if number is not None:
                kept[place.key] = float(number)
            said = self.tr("minutes for the short call: {0}").format(
                number or self.tr("by the clock")
            )
            self._keep("short_call_min", kept, said)
        self.refresh()

    def _keep(self, name: str, value: object, said: str) -> None:
        self.session.enter(DocumentsChanged(what="setting", target=name, value=value), said)

    # ---- showing

    def refresh(self) -> None:
        clear(self._lines)
        session = self.session
        self.table.refresh()
        self.people.set_value(AS_USUAL if session.people is None else session.people)
        own = session.own_minutes
        self.minutes.set_value(AS_USUAL if own is None else int(own))
        place = session.place if session.is_open else None
        if place is None:
            self.title.setText(self.tr("No change place is ahead."))
            return
        from crewdesk.desk.timetable import with_our_times

        place = with_our_times(session.bundle, session.state).itinerary.place(place.key)
        self.title.setText(
            self.tr("{0}: in {1}, out {2}").format(
                short_label(place),
                clock(place.due_in_utc, session.zone),
                clock(place.due_out_utc, session.zone),
            )
        )
        if self._editing:
            self.title.setText(self.tr("How long our work takes"))
            return
        self._lines.addWidget(card("minutes_here", *self._here(place)))
        self._lines.addWidget(card("minutes_work", *self._work(place)))
        self._lines.addWidget(card("minutes_short", *self._short(place)))
        self._lines.addStretch(1)

    def _here(self, place: "ChangePlace") -> list[QWidget]:
        """Say how long the visit is and how many people may work."""
        from crewdesk.desk.minutes import minutes_left, people_at

        session = self.session
        hands = people_at(session.bundle, place, session.people)
        lines: list[QWidget] = [
            label(
                self.tr("{0} min by the papers and our times; people at the car: {1}").format(
                    f"{minutes_left(session.bundle, session.state, place):.0f}", hands
                ),
                "minutes_whole",
                "strong",
                wrap=True,
            )
        ]
        left = session.minutes_left()
        if left is not None:
            words = (
                self.tr("{0} min left until OUT by the clock")
                if session.own_minutes is None
                else self.tr("{0} min as the crew says")
            )
            lines.append(label(words.format(f"{left:.0f}"), "minutes_clock", "strong"))
        if session.people is not None and hands < session.people:
            words = self.tr("⚠ watch: the rules allow {0} people here.").format(hands)
            lines.append(label(words, "minutes_people_watch", "watch", wrap=True))
        return lines

    def _work(self, place: "ChangePlace") -> list[QWidget]:
        """Say what the full call needs, and what being late costs (PLC-3)."""
        session = self.session
        answer = session.answer
        lines: list[QWidget] = []
        car = session.state.fitted.tyres if session.state.fitted is not None else {}
        if answer is not None and answer.result.plan and answer.place == place.key and car:
            fitting = answer.result.plan[0].fitting
            lines.append(self._need(place, self.tr("The full call"), car, fitting))
            late = [m for m in answer.messages if m.code in ("PLC-3", "PLC-4")]
            for at, said in enumerate(late):
                words = self.tr("⚠ watch: {0}").format(said.text)
                lines.append(label(words, f"minutes_late_{at}", "watch", wrap=True))
        else:
            words = self.tr(
                "Nothing is on the car yet: the wheels go on before the clock runs."
            )
            if car:
                words = self.tr("There is no call yet.")
            lines.append(label(words, "minutes_none", wrap=True))
        from crewdesk.desk.minutes import Work, people_at, times_of, work_min

        hands = people_at(session.bundle, place, session.people)
        words = self.tr("All wheels off, measured, rears crossed: {0} min").format(
            work_min(Work.full(car), hands, times_of(session.bundle))
        )
        lines.append(label(words, "minutes_all", "muted", wrap=True))
        return lines

    def _need(
        self,
        place: "ChangePlace",
        name: str,
        car: "Mapping[Place, str | None]",
        fitting: "Mapping[Place, str | None]",
    ) -> QWidget:
        from crewdesk.desk.minutes import late_work, work_of

        session = self.session
        work = work_of(car, fitting)
        found = late_work(session.bundle, session.state, place, work, session.people)
        words = self.tr("{0}: {1} wheels, {2} min").format(
            name, work.wheels, f"{found.needed_min:.0f}"
        )
        return label(words, "minutes_full", "strong", wrap=True)

    def _short(self, place: "ChangePlace") -> list[QWidget]:
        """Say how many wheels can be changed in the minutes, and what the short call is."""
        from crewdesk.desk import words
        from crewdesk.desk.minutes import people_at, short_wheels, times_of

        session = self.session
        hands = people_at(session.bundle, place, session.people)
        own = times_of(session.bundle)
        left = session.minutes_left()
        times: list[float] = [n for n in MINUTES if left is None or n < left]
        times += [left] if left is not None else []
        parts = [
            self.tr("{0} min: {1}").format(f"{m:.0f}", short_wheels(m, hands, own))
            for m in times
        ]
        said = self.tr("Wheels that {0} at the car can change: {1}").format(
            hands, " · ".join(parts)
        )
        lines: list[QWidget] = [label(said, "minutes_wheels", wrap=True)]
        if session.state.fitted is None:
            # Nothing comes off: there is no shorter way than the call.
            return lines
        answer = session.answer
        short = answer.result.short_call if answer is not None else None
        if answer is not None and short is not None and answer.place == place.key:
            text = self.tr("Short call: {0}, {1} min, {2} s more than the full one").format(
                words.headline(session.state, short.plan.fitting).lower(),
                f"{short.minutes:.0f}",
                f"{short.loss_s:.1f}",
            )
            lines.insert(0, label(text, "minutes_short_call", "strong", wrap=True))
        elif answer is not None and left is not None:
            text = self.tr("No wheel can be changed in the minutes left: leave all on.")
            lines.insert(0, label(text, "minutes_no_short", "watch", wrap=True))
        return lines
