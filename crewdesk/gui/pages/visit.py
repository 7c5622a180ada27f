"""A change place behind us or to come: what was fitted there, and what the plan has."""

from crewdesk.gui.page import Page
from crewdesk.gui.parts import card, clear, column, label, lines_in
from crewdesk.gui.session import Session
from crewdesk.gui.texts import SHORT, bar, clock, wheel
from crewdesk.gui.timing import short_label
from crewdesk.units import PLACES


class VisitPage(Page):
    """Proposed, decided and fitted are kept apart."""

    key = "visit"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._place = ""
        self.title = label("", "visit_title", "title")
        self._lines, area = lines_in("visit_lines")
        self.setLayout(column(self.title, area))

    def heading(self) -> str:
        return self.title.text()

    def primary_text(self) -> str:
        return self.tr("Back to now")

    def primary(self) -> None:
        self.go.emit("now")

    def show_place(self, key: str) -> None:
        """Show one change place."""
        self._place = key
        self.refresh()

    def refresh(self) -> None:
        clear(self._lines)
        if not self.session.is_open or not self._place:
            words = self.tr("No place is chosen. Take one from the steps (F12).")
            self._lines.addWidget(label(words, "visit_none", wrap=True))
            self._lines.addStretch(1)
            return
        session = self.session
        place = session.bundle.itinerary.place(self._place)
        self.title.setText(
            self.tr("{0}, leg {1}, in {2}, {3} min").format(
                short_label(place),
                place.leg,
                clock(place.due_in_utc, session.zone),
                f"{place.minutes:.0f}",
            )
        )
        stages = " ".join(place.stages) or self.tr("none")
        self._lines.addWidget(
            label(
                self.tr("Stages after it: {0}").format(stages),
                "visit_stages",
                "strong",
                wrap=True,
            )
        )
        for at, fitting in enumerate(f for f in session.state.fittings if f.place == place.key):
            words = (
                self.tr("Fitted, read back from the car")
                if fitting.read_back
                else self.tr("Fitted as proposed, not checked")
            )
            lines = [label(words, f"visit_fitted_{at}", "strong", wrap=True)]
            text = "   ".join(
                f"{SHORT[p]}\u00a0{wheel(session.rim_of(t), t)}"
                for p in PLACES
                if (t := fitting.tyres.get(p))
            )
            lines.append(label(text, f"visit_wheels_{at}", wrap=True))
            self._lines.addWidget(card(f"visit_card_{at}", *lines))
        answer = session.answer
        plans = answer.result.plan if answer is not None else ()
        for at, plan in enumerate(p for p in plans if p.place == place.key):
            lines = [label(self.tr("The plan now"), f"visit_plan_{at}", "strong")]
            text = "   ".join(
                f"{SHORT[p]}\u00a0{wheel(plan.rims.get(p) or session.rim_of(t), t)}"
                for p in PLACES
                if (t := plan.fitting.get(p))
            )
            lines.append(label(text, f"visit_plan_wheels_{at}", wrap=True))
            cold = ", ".join(
                f"{SHORT[p]}\u00a0{bar(v)}" for p, v in plan.cold_pressure_kpa.items()
            )
            lines.append(
                label(self.tr("cold bar: {0}").format(cold), f"visit_cold_{at}", wrap=True)
            )
            if plan.bring:
                lines.append(
                    label(
                        self.tr("bring: {0}").format(" ".join(plan.bring)),
                        f"visit_bring_{at}",
                        wrap=True,
                    )
                )
            self._lines.addWidget(card(f"visit_plan_card_{at}", *lines))
        self._lines.addStretch(1)
