"""Fit: corner by corner off and on, fitted or another wheel."""

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from crewdesk.gui.page import Page
from crewdesk.gui.parts import button, card, clear, column, label, row, scrolling
from crewdesk.gui.session import Session
from crewdesk.gui.texts import LONG, SHORT, WALK, bar, signed_s, wheel
from crewdesk.gui.timing import newest
from crewdesk.gui.views import differing, planned_of, tread_text
from crewdesk.journal.entries import Fitting
from crewdesk.units import CORNERS, PLACES, Place

if TYPE_CHECKING:
    from crewdesk.engine.result import JudgeResult


class FitPage(Page):
    """What goes on where; one entry when all is fitted."""

    key = "fit"
    part = "fit"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._own: dict[Place, str | None] = {}
        self._done: set[Place] = set()
        self._for = ""
        self._choosing: Place | None = None
        self._rows_widget = QWidget()
        self._rows = QVBoxLayout(self._rows_widget)
        self._rows.setContentsMargins(0, 0, 0, 0)
        self._rows.setSpacing(6)
        self._caution = label(
            self.tr(
                "Stands first. Nuts to the car maker's torque, ticked at Out. Valve caps on. "
                "Mind direction and side of the tyre. Cold pressures: set on cold tyres only."
            ),
            "fit_caution",
            "muted",
            wrap=True,
        )
        self.cost = label("", "fit_cost", "strong", wrap=True)
        self.cost.hide()
        session.judged.connect(self._show_cost)
        self._area = scrolling("fit_rows", self._rows_widget)
        self.setLayout(column(self._area, self.cost, self._caution, spacing=6))

    def heading(self) -> str:
        return self.tr("Fit")

    def primary_text(self) -> str:
        if self._choosing is not None:
            return self.tr("Back to the list")
        if not self.session.is_open or not self._meant():
            return self.tr("To the call")
        return self.tr("All fitted") if self._changes() else self.tr("Nothing changes")

    def primary(self) -> None:
        if self._choosing is not None:
            self._choosing = None
            self.refresh()
        elif not self.session.is_open or not self._meant():
            self.go.emit("call")
        elif self._enter():
            self.go.emit("out")

    def escape(self) -> bool:
        if self._choosing is None:
            return False
        self._choosing = None
        self.refresh()
        return True

    # ---- what is meant

    def _meant(self) -> dict[Place, str | None]:
        state = self.session.state
        place = self.session.place
        fitted = state.fitted
        if (
            fitted is not None
            and place is not None
            and fitted.place == place.key
            and state.step == "out"
        ):
            base: dict[Place, str | None] = dict(fitted.tyres)
        else:
            planned = planned_of(self.session.answer, state)
            base = dict(planned.fitting) if planned is not None else {}
        if not base and not self._own:
            return {}
        return {p: self._own.get(p, base.get(p)) for p in PLACES}

    def _changes(self) -> tuple[Place, ...]:
        fitted = self.session.state.fitted
        on_car = fitted.tyres if fitted is not None else {}
        moved = differing(self._meant(), on_car)
        return tuple(p for p in WALK if p in moved)

    def _cold(self) -> dict[Place, float]:
        planned = planned_of(self.session.answer, self.session.state)
        return dict(planned.cold_kpa) if planned is not None else {}

    # ---- showing

    def refresh(self) -> None:
        if not self.session.is_open:
            return
        place = self.session.place
        here = place.key if place is not None else ""
        if here != self._for:
            self._for = here
            self._own.clear()
            self._done.clear()
            self._choosing = None
            self.cost.hide()
        clear(self._rows)
        if self._choosing is not None:
            self._show_wheels(self._choosing)
        else:
            self._show_changes()
        self.primary_changed.emit()

    def _show_changes(self) -> None:
        meant, cold = self._meant(), self._cold()
        fitted = self.session.state.fitted
        on_car = fitted.tyres if fitted is not None else {}
        changes = self._changes()
        if not meant:
            self._rows.addWidget(
                label(self.tr("There is no call to fit yet."), "fit_none", "strong", wrap=True)
            )
        for p in WALK:
            if not meant.get(p) and not on_car.get(p):
                continue
            off, on = self._name(on_car.get(p)), self._name(meant.get(p))
            if p in changes and not on_car.get(p):
                text = self.tr("{0}   {1} on").format(SHORT[p], on)
            elif p in changes and not meant.get(p):
                text = self.tr("{0}   {1} off").format(SHORT[p], off)
            elif p in changes:
                text = self.tr("{0}   {1} off → {2} on").format(SHORT[p], off, on)
            else:
                text = self.tr("{0}   {1} stays").format(SHORT[p], on)
            kpa = cold.get(p)
            below = self.tr("cold {0} bar").format(bar(kpa)) if kpa is not None else ""
            done = button(
                self.tr("✓ Fitted") if p in self._done else self.tr("Fitted"),
                f"fitted_{p}",
                partial(self._tick, p),
                spoken=self.tr("{0} fitted").format(LONG[p]),
                checkable=True,
                kind="big",
            )
            done.setChecked(p in self._done)
            done.setVisible(p in changes)
            other = button(
                self.tr("Other wheel"),
                f"other_{p}",
                partial(self._choose, p),
                spoken=self.tr("{0}, another wheel").format(LONG[p]),
                kind="big",
            )
            line = row(
                column(
                    label(text, f"fit_{p}", "strong"), label(below, f"fit_cold_{p}"), spacing=0
                ),
                1,
                done,
                other,
            )
            self._rows.addLayout(line)
            if p not in changes:
                done.hide()
        self._rows.addStretch(1)

    def _show_wheels(self, place: Place) -> None:
        """Show the wheels that could go to a place, as buttons."""
        state = self.session.state
        answer = self.session.answer
        estimates = answer.estimates if answer is not None else {}
        self._rows.addWidget(
            label(self.tr("{0}: which wheel?").format(LONG[place]), "other_title", "title")
        )
        grid = QGridLayout()
        grid.setSpacing(6)
        tyres = [t for t in state.tyres.values() if t.status == "ok" and (t.rim_id or t.place)]
        if place in ("SP1", "SP2"):
            none = button(self.tr("nothing"), "wheel_none", lambda: self._take(place, None))
            grid.addWidget(none, 0, 0)
        shift = 1 if place in ("SP1", "SP2") else 0
        for index, tyre in enumerate(tyres, start=shift):
            name = wheel(tyre.rim_id, tyre.tyre_id)
            text = f"{name}\n{tyre.stock.code} {tread_text(tyre, estimates)}"
            made = button(
                text, f"wheel_{tyre.tyre_id}", partial(self._take, place, tyre.tyre_id)
            )
            grid.addWidget(made, index // 4, index % 4)
        holder = card("wheels", grid)
        self._rows.addWidget(holder)
        self._rows.addStretch(1)

    def _name(self, tyre_id: str | None) -> str:
        return wheel(self.session.rim_of(tyre_id), tyre_id)

    # ---- doing

    def _tick(self, place: Place) -> None:
        self._done ^= {place}
        self.refresh()
        changes = set(self._changes())
        if changes and changes <= self._done and self._enter():
            self.go.emit("out")

    def _choose(self, place: Place) -> None:
        self._choosing = place
        self.refresh()

    def _take(self, place: Place, tyre_id: str | None) -> None:
        meant = self._meant()
        for other in PLACES:
            if tyre_id and meant.get(other) == tyre_id and other != place:
                self._own[other] = meant.get(place)
        self._own[place] = tyre_id
        self._choosing = None
        self.cost.setText(self.tr("Own fitting: working out what it costs …"))
        self.cost.show()
        self.session.judge(self._meant())
        self.refresh()

    def _show_cost(self, judged: "JudgeResult") -> None:
        """Say what the crew's own fitting costs against the call, and which rules it breaks."""
        from crewdesk.desk import words

        answer = self.session.answer
        call = answer.result.objective if answer is not None else None
        parts = []
        if judged.objective is not None and call is not None:
            parts.append(
                self.tr("Own fitting: {0} against the call.").format(
                    signed_s(judged.objective.total_s - call.total_s)
                )
            )
        parts += words.rules_words(judged.breaches)
        self.cost.setText(" ".join(parts))
        self.cost.setVisible(bool(self._own))

    def _enter(self) -> bool:
        place = self.session.place
        if place is None:
            return False
        meant = self._meant()
        used = self.session.state.call_used
        if self._own and (used is None or differing(meant, used.fitting)):
            source = "own"
        else:
            source = "short_call" if used is not None and used.which == "short" else "call"
        air = newest(self.session.state.reports, "air_c", self.session.now())
        cold = {p: v for p, v in self._cold().items() if meant.get(p)}
        body = Fitting.model_validate(
            {
                "place": place.key,
                "fitting": meant,
                "cold_kpa": cold,
                "set_at_c": air.value,
                "source": source,
                "bring": self._bring(),
                "rims": self._rims(meant),
            }
        )
        changed = [p for p in self._changes() if p in CORNERS]
        receipt = self.session.enter(
            body, self.tr("fitted at {0}, {1} wheels changed").format(place.key, len(changed))
        )
        if receipt is None or not receipt.accepted:
            return False
        self._own.clear()
        self._done.clear()
        self.cost.hide()
        return True

    def _rims(self, meant: dict[Place, str | None]) -> dict[Place, str]:
        """Return the rims of wheels that the call puts on another rim than the book has."""
        answer, place = self.session.answer, self.session.place
        if answer is None or place is None or answer.place != place.key:
            return {}
        result = answer.result
        plans = [*result.plan[:1], *[a.plan[0] for a in result.alternatives if a.plan]]
        if result.short_call is not None:
            plans.append(result.short_call.plan)
        plan = next((p for p in plans if not differing(p.fitting, meant)), None)
        if plan is None:
            return {}
        return {
            p: rim for p, rim in plan.rims.items() if rim != self.session.rim_of(meant.get(p))
        }

    def _bring(self) -> tuple[str, ...]:
        answer, place = self.session.answer, self.session.place
        if answer is None or place is None or answer.place != place.key:
            return ()
        plans = answer.result.plan
        # Wheels for a zone leave with the van at the service before it.
        return plans[1].bring if len(plans) > 1 else ()
