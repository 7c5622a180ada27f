"""Fit: corner by corner off and on, fitted or another wheel."""

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QVBoxLayout, QWidget

from crewdesk.gui.box_host import BoxHost
from crewdesk.gui.boxes import BoxSpec, BoxWalk
from crewdesk.gui.caution_lines import caution_texts
from crewdesk.gui.fitting_ahead import FittingAhead
from crewdesk.gui.page import Page
from crewdesk.gui.pages.fit_wheels import change_text, cost_words, show_wheels
from crewdesk.gui.pages.own_reason import OwnReason
from crewdesk.gui.pages.van import VanLine
from crewdesk.gui.parts import button, clear, column, label, row, scrolling
from crewdesk.gui.rims import rims_for
from crewdesk.gui.session import Session
from crewdesk.gui.texts import LONG, SHORT, WALK, as_place, bar, wheel
from crewdesk.gui.theme import Sizes, Theme
from crewdesk.gui.timing import newest
from crewdesk.gui.views import Planned, differing, planned_of
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
        self._own_cold: dict[Place, float] = {}
        self._done: set[Place] = set()
        self._for = ""
        self._choosing: Place | None = None
        self._rows_widget = QWidget()
        self._rows = QVBoxLayout(self._rows_widget)
        self._rows.setContentsMargins(0, 0, 0, 0)
        self._rows.setSpacing(2)
        self._compact = False
        self._at_car = (
            self.tr(
                "Stands first. Nuts to the car maker's torque, ticked at Out. Valve caps on. "
                "Mind direction and side of the tyre. Cold pressures: set on cold tyres only."
            ),
            self.tr(
                "Stands first. Valve caps, side, direction. Cold figures: cold tyres only."
            ),
        )
        self._caution = label("", "fit_caution", "muted", wrap=True)
        self.cost = label("", "fit_cost", "strong", wrap=True)
        self.cost.hide()
        session.judged.connect(self._show_cost)
        self._ahead = FittingAhead(session, self)
        self._area = scrolling("fit_rows", self._rows_widget)
        self.van = VanLine(session)
        self.why = OwnReason()
        self.why.hide()
        self.pressures = button(
            self.tr("Other pressures"), "fit_pressures", partial(self._set_pressures, on=True)
        )
        foot = row(column(self.cost, self._caution, spacing=2), self.pressures)
        foot.setStretch(0, 1)
        self.setLayout(column(self._area, self.van, self.why, foot, spacing=6))

    def heading(self) -> str:
        return self.tr("Fit")

    def primary_text(self) -> str:
        if self._choosing is not None or self.host is not None:
            return self.tr("Back to the list")
        if not self.session.is_open or not self._meant():
            return self.tr("To the call")
        return self.tr("All fitted") if self._changes() else self.tr("Nothing changes")

    def primary(self) -> None:
        if self._choosing is not None:
            self._choosing = None
            self.refresh()
        elif self.host is not None:
            self._set_pressures(on=False)
        elif not self.session.is_open or not self._meant():
            self.go.emit("call")
        elif self.session.place is None and not self._changes():
            self.go.emit("close_leg")
        elif self._enter():
            self.go.emit("out")

    def escape(self) -> bool:
        if self.host is not None:
            self._set_pressures(on=False)
            return True
        if self._choosing is None:
            return False
        self._choosing = None
        self.refresh()
        return True

    # ---- what is meant

    def _here(self) -> str:
        """Return the place that is fitted at: the change place, else the last service."""
        place = self.session.place
        if place is not None:
            return place.key
        rows = self.session.bundle.itinerary.rows
        return next((line.service for line in reversed(rows) if line.service), "")

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
            if place is None and fitted is not None:
                base = dict(fitted.tyres)
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
        cold = dict(planned.cold_kpa) if planned is not None else {}
        spare = max((kpa for p, kpa in cold.items() if p not in CORNERS), default=None)
        for p in ("SP1", "SP2"):
            # A second spare of the crew's own is set like the first; without one like the car.
            if cold and p not in cold:
                cold[p] = spare if spare is not None else max(cold.values())
        return {**cold, **self._own_cold}

    def _set_pressures(self, *, on: bool) -> None:
        """Show the boxes of the cold pressures with the keypad, or the list again."""
        self.host = None
        self.keypad = on
        if on:
            self._choosing = None
            cold = self._cold()
            specs = [
                BoxSpec(
                    f"cold:{p}",
                    "pressure",
                    self.tr("{0}, cold, bar").format(LONG[p]),
                    last=cold.get(p),
                    hint=self.tr("call {0} bar").format(bar(cold.get(p))),
                )
                for p in WALK
                if self._meant().get(p)
            ]
            self.host = BoxHost(BoxWalk(specs), self)
            self.host.committed.connect(self._typed_cold)
        self.go.emit("fit")

    def _typed_cold(self, key: str, value: object, word: str) -> None:
        place = as_place(key.partition(":")[2])
        if place is not None and not word and isinstance(value, float | int):
            self._own_cold[place] = float(value)

    def entered(self) -> None:
        if self.host is not None:
            self.host.start()

    def left(self) -> None:
        super().left()
        self._ahead.forget()
        self.host, self.keypad = None, False

    def set_look(self, _theme: Theme, sizes: Sizes) -> None:
        if sizes.compact != self._compact:
            self._compact = sizes.compact
            self.refresh()

    def planned(self) -> Planned | None:
        """Return the crew's own fitting, for the slots."""
        if not self.session.is_open or not (self._own or self._own_cold):
            return None
        meant = self._meant()
        return Planned(meant, self._cold(), rims_for(self.session, meant))

    # ---- showing

    def refresh(self) -> None:
        if not self.session.is_open:
            return
        here = self._here()
        if here != self._for:
            self._for = here
            self._own.clear()
            self._own_cold.clear()
            self._done.clear()
            self._choosing = None
            self.cost.hide()
            self.why.hide()
        self._ahead.ask_for(self._meant())
        if self.host is not None and self.host.fields and self._rows.count():
            return
        self.keep_cursor()
        clear(self._rows)
        # What it costs and why stand in the way of the wheels to choose from, and the caution
        # in the way of what it costs.
        listed = self._choosing is None and self.host is None
        self.cost.setVisible(bool(self._own) and listed)
        self.why.setVisible(bool(self._own) and listed)
        self._caution.setVisible(not self._own or self.host is not None)
        pressing = self.host is not None
        self._caution.setText(
            " ".join(caution_texts(self.session, "pressures"))
            if pressing
            else self._at_car[self._compact]
        )
        self.van.show_for(
            self._planned_bring(),
            self._meant().values(),
            shown=self._choosing is None,
            beside=partial(self._set_pressures, on=True) if self._compact and listed else None,
        )
        beside = self._compact and not self.van.isHidden()
        self.pressures.setVisible(listed and bool(self._meant()) and not beside)
        if self._choosing is not None:
            show_wheels(self._rows, self.session, self._choosing, self._take)
        else:
            self._show_changes()
        self.primary_changed.emit()

    def _show_changes(self) -> None:
        meant, cold = self._meant(), self._cold()
        rims = rims_for(self.session, meant)
        fitted = self.session.state.fitted
        on_car = fitted.tyres if fitted is not None else {}
        changes = self._changes()
        if self.session.place is None and meant:
            words = self.tr("The same wheels stay on at Service {0} up to the final checks.")
            self._rows.addWidget(
                label(words.format(self._here()), "fit_last", "strong", wrap=True)
            )
        if not meant:
            self._rows.addWidget(
                label(self.tr("There is no call to fit yet."), "fit_none", "strong", wrap=True)
            )
        for p in WALK:
            if not meant.get(p) and not on_car.get(p) and (p in CORNERS or not meant):
                continue
            off, on = self._name(on_car.get(p)), self._name(meant.get(p), rims.get(p, ""))
            text = change_text(
                p,
                off if on_car.get(p) else "",
                on if meant.get(p) else "",
                changes=p in changes,
            )
            kpa = cold.get(p)
            if self.host is not None:
                if f"cold:{p}" in self.host.walk.boxes:
                    head = label(f"{SHORT[p]}   {on}", f"fit_{p}", "strong")
                    head.setFixedWidth(260)
                    cold_label = label(self.tr("cold bar"), f"fit_cold_{p}")
                    self._rows.addLayout(
                        row(head, cold_label, self.host.make_field(f"cold:{p}"))
                    )
                continue
            below = (
                self.tr("cold {0} bar").format(bar(kpa))
                if kpa is not None and on != "–"
                else ""
            )
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

    def _name(self, tyre_id: str | None, rim: str = "") -> str:
        return wheel(rim or self.session.rim_of(tyre_id), tyre_id)

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
        self.session.judge(self._meant())
        self.refresh()

    def _show_cost(self, judged: "JudgeResult") -> None:
        self.cost.setText(cost_words(self.session, judged))
        self.cost.setVisible(bool(self._own) and self._choosing is None)

    def _enter(self) -> bool:
        here = self._here()
        if not here:
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
                "place": here,
                "fitting": meant,
                "cold_kpa": cold,
                "set_at_c": air.value,
                "source": source,
                "bring": self.van.chosen,
                "people": self.session.people,
                **(self.why.fields() if source == "own" else {}),
                "rims": rims_for(self.session, meant),
            }
        )
        changed = [p for p in self._changes() if p in CORNERS]
        bare = body.model_copy(update={"override_name": "", "override_reason": ""})
        day = self.session.day
        # A reason for another choice than the call is none for breaking a rule.
        if (
            body.override_name
            and day is not None
            and not day.enter(self.session.practice_stamp(bare), dry_run=True).accepted
        ):
            body = bare
        receipt = self.session.enter(
            body, self.tr("fitted at {0}, {1} wheels changed").format(here, len(changed))
        )
        if receipt is None or not receipt.accepted:
            return False
        self._own.clear()
        self._own_cold.clear()
        self._done.clear()
        self.cost.hide()
        self.why.hide()
        self.why.forget()
        return True

    def _planned_bring(self) -> tuple[str, ...]:
        """Return what the plan has the van bring to the zone ahead."""
        answer, place = self.session.answer, self.session.place
        if answer is None or place is None or answer.place != place.key:
            return ()
        plans = answer.result.plan
        # Wheels for a zone leave with the van at the service before it.
        return plans[1].bring if len(plans) > 1 else ()
