"""Before IN: the call, full and short side by side, why, and what it rests on."""

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from crewdesk.gui import call_pick as pick
from crewdesk.gui import reasons
from crewdesk.gui.call_text import CardKind, CardText, Standing, card_of, standing
from crewdesk.gui.page import Page
from crewdesk.gui.pages.call_card import CallCard
from crewdesk.gui.parts import (
    GivingButton,
    button,
    clear,
    column,
    label,
    row,
    scrolling,
    set_kind,
)
from crewdesk.gui.session import Session
from crewdesk.gui.shortfall import lift_words, shortfall_words
from crewdesk.gui.texts import signed_s
from crewdesk.gui.views import differing
from crewdesk.journal.entries import CallUsed
from crewdesk.units import PLACES

if TYPE_CHECKING:
    from crewdesk.desk.answer import Answer


CHOICE_PX = 130
"""Room enough for the number of a choice and what it costs."""
WHY_PX = 70
"""Three lines of the reason, where the page is scrolled."""


class CallPage(Page):
    """Use this call; print the sheet; the car is in."""

    key = "call"
    part = "before_in"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._short_first = False
        self._folded = ""
        self._said: tuple[str, str] = ("", "")
        # make
        self.work = label("", "call_work", "muted", wrap=True)
        self.stop = button(self.tr("Cancel"), "call_cancel", session.stop_asking)
        self.stop.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.stop.hide()
        self.one, self.two = CallCard("card_one"), CallCard("card_two")
        self.quiet = label("", "call_quiet", "", wrap=True)
        self.watch = label("", "call_watch", "watch", wrap=True)
        self.why = label("", "call_why", "", wrap=True)
        self.why.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.third = GivingButton("choice_3", lambda: self.choose_number(3), CHOICE_PX)
        self.fourth = GivingButton("choice_4", lambda: self.choose_number(4), CHOICE_PX)
        self.assumed = button("", "call_assumed", lambda: self._fold("assumed"), checkable=True)
        self.checked = button(
            self.tr("Checked"), "call_checked", lambda: self._fold("checked"), checkable=True
        )
        self.changes = button(
            self.tr("Changes"),
            "call_flips",
            self._show_changes,
            spoken=self.tr("When the call changes"),
        )
        # It gives way: the window must be free to grow narrower.
        self.changes.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self._list = QWidget()
        self._lines = QVBoxLayout(self._list)
        self._lines.setContentsMargins(4, 4, 4, 4)
        self._more = scrolling("call_more", self._list)
        self._more.setMinimumHeight(60)
        self._more.hide()
        self._pick = button(self.tr("Use this choice"), "choice_use", self._use_choice)
        self._pick.hide()
        # arrange
        self._more_line = row(self._more, self._pick)
        self._work_line = row(self.work, self.stop)
        self._work_line.setStretch(0, 1)
        self._why_area = scrolling("call_why_area", self.why)
        self._why_area.setMinimumHeight(28)
        self._why_area.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Ignored)
        self._body = column(self.quiet, self.watch, self._why_area, spacing=4)
        self._body.setStretch(2, 1)
        line = row(
            self.third, self.fourth, self.assumed, self.checked, self.changes, 1, spacing=6
        )
        line.setStretch(line.indexOf(self.changes), 1000)
        cards = row(self.one, self.two, spacing=8)
        cards.setStretch(0, 1)
        cards.setStretch(1, 1)
        page = column(self._work_line, cards, self._body, self._more_line, line, spacing=6)
        # What is said gives way on a small screen, never the cards.
        page.setStretch(2, 1)
        self._page = page
        self.setLayout(page)
        # connect
        self.one.taken.connect(lambda: self._use(self.one.text))
        self.two.taken.connect(lambda: self._use(self.two.text))
        session.answered.connect(self.refresh)
        session.working.connect(lambda _text: self._show_work())

    def heightForWidth(self, width: int) -> int:
        """Say how high all of it is: what gives way asks for nothing, but is read too."""
        return int(super().heightForWidth(width)) + WHY_PX

    # ---- what the page offers

    def heading(self) -> str:
        return self.tr("Call")

    def primary_text(self) -> str:
        if not self.session.is_open:
            return self.tr("Load event")
        if self._kept() is None:
            return self.tr("Use this call") if self.one.text else self.tr("Conditions")
        if not self.session.sheet_is_printed:
            return self.tr("Print the sheet")
        return self.tr("Car is in")

    def primary(self) -> None:
        if not self.session.is_open:
            self.go.emit("load")
        elif self._kept() is None:
            if self.one.text is not None:
                self._use(self.one.text)
            else:
                self.go.emit("conditions")
        elif not self.session.sheet_is_printed:
            self.go.emit("print")
            self.primary_changed.emit()
        else:
            # With nothing on the car there is nothing to find or to measure.
            self.go.emit("car_in" if self.session.state.fitted is not None else "fit")

    def _show_changes(self) -> None:
        self.go.emit("flips")

    def toggle_short(self) -> None:
        self._short_first = not self._short_first
        self.refresh()

    def choose_number(self, number: int) -> None:
        if number in (1, 2):
            self._use((self.one if number == 1 else self.two).text)
            return
        self._fold(f"choice{number}")

    def _kept(self) -> CallUsed | None:
        """Return the call in use for the place ahead."""
        return self.session.call_in_use() if self.session.is_open else None

    # ---- showing

    def refresh(self) -> None:
        if not self.session.is_open:
            return
        self._show_work()
        answer = self._answer_here()
        held = standing(
            self.session.state, answer, self.session.bundle.event.settings.keep_gain_s
        )
        self._show_cards(answer, held)
        self._show_lines(answer, held)
        self._show_choices(answer)
        self._show_folded(answer)
        self.primary_changed.emit()

    def _answer_here(self) -> "Answer | None":
        answer, place = self.session.answer, self.session.place
        if answer is None or place is None or answer.place != place.key:
            return None
        return answer

    def _show_work(self) -> None:
        session = self.session
        if not session.is_open:
            return
        working = session.progress
        at = session.answer_at
        made = (
            self.tr("call made {0}").format(at.astimezone(session.zone).strftime("%H:%M"))
            if at is not None and session.answer is not None
            # A window opened again on a fitted car has none of its own.
            else self.tr("no call yet")
            if self._kept() is None
            else self.tr("call in use")
        )
        if session.place is None:
            made = self.tr("All loops are run: write the handover.")
        if session.problem is not None:
            told = " ".join(part for part in session.problem if part)
            made = f"{told} ({made})"
        self.work.setText(f"{working} … ({made})" if working else made)
        self.stop.setVisible(bool(working) and session.engine.busy)

    def _show_cards(self, answer: "Answer | None", held: Standing) -> None:
        session, state = self.session, self.session.state
        used = self._kept()
        full, short = pick.full(session, answer), pick.short(session, answer)
        if used is not None:
            kind: CardKind = "used"
            if used.which == "full" or used.which == "short":
                kind = used.which
            plan = pick.plan_of(answer, used.fitting)
            needed_min = pick.minutes_of(session, answer, used.fitting) if answer else None
            mine = card_of(state, 1, kind, used.fitting, plan=plan, minutes=needed_min)
            self.one.show_card(mine, held=self.tr("in use"), strong=True)
            beside, word = short, ""
            if held.kind in ("better", "broken") and full is not None:
                beside, word = full, self.tr("NEW")
            elif (short is not None and not differing(short.fitting, used.fitting)) or (
                used.which != "full" and full is not None
            ):
                beside = full
            if beside is not None and not differing(beside.fitting, used.fitting):
                beside = None
            self.two.show_card(_numbered(beside, 2), held=word, strong=bool(word))
            self.one.use.setText(self.tr("✓ in use"))
            self.two.use.setText(self.tr("Use this instead"))
            return
        first, second = (short, full) if self._short_first and short else (full, short)
        self.one.use.setText(self.tr("Use this call"))
        self.two.use.setText(self.tr("Use this call"))
        self.one.show_card(_numbered(first, 1), held="", strong=True)
        same = (
            first is not None
            and second is not None
            and not differing(first.fitting, second.fitting)
        )
        self.two.show_card(_numbered(None if same else second, 2), held="F4", strong=False)

    def _show_lines(self, answer: "Answer | None", held: Standing) -> None:
        quiet, watch, level = "", "", "watch"
        if held.kind == "quiet" and held.gain_s is not None:
            keep_s = self.session.bundle.event.settings.keep_gain_s
            quiet = self.tr(
                "{0} s better exists, not worth moving (set: {1} s a loop)."
            ).format(f"{held.gain_s:.1f}", f"{keep_s:g}")
        elif held.kind == "better" and held.gain_s is not None:
            watch = self.tr("⚠ watch: a call {0} s better stands beside yours.").format(
                f"{held.gain_s:.1f}"
            )
        elif held.kind == "broken":
            watch = self.tr("■ stops: {0}").format(", ".join(held.broken))
            level = "stops"
        if answer is not None and not watch:
            lines = reasons.watch_lines(self.session, answer)
            watch = lines[0] if lines else ""
        if answer is not None and not answer.result.plan:
            lifts = lift_words(answer.result.lift)
            missing = shortfall_words(self.session.state)
            watch = self.tr("■ stops: no fitting without a breach. {0}").format(
                f"{missing} {lifts}".strip()
            )
            level = "stops"
        self.quiet.setText(quiet)
        self.quiet.setVisible(bool(quiet))
        self.watch.setText(watch)
        set_kind(self.watch, level)
        self.watch.setVisible(bool(watch))
        self._fit_watch()
        lines = reasons.why_lines(self.session, answer) if answer is not None else []
        room = 4 - bool(quiet) - bool(watch)
        self.why.setText("\n".join(lines[:room]))

    def _show_choices(self, answer: "Answer | None") -> None:
        others = pick.others(self.session, answer, self._shown())
        for which, made in enumerate((self.third, self.fourth)):
            if which < len(others):
                card = others[which]
                differs = pick.differs(self.session, card, self._shown())
                made.set_words(f"{which + 3}", differs, signed_s(card.loss_s or 0.0))
                made.setAccessibleName(
                    self.tr("Choice {0}, {1}, {2}").format(
                        which + 3, card.headline.lower(), signed_s(card.loss_s or 0.0)
                    )
                )
            made.setVisible(which < len(others))
            made.setChecked(self._folded == f"choice{which + 3}")
        count = len(answer.call.get("assumed", ())) if answer is not None else 0
        self.assumed.setText(self.tr("{0} assumed").format(count))
        self.assumed.setAccessibleName(
            self.tr("1 thing assumed")
            if count == 1
            else self.tr("{0} things assumed").format(count)
        )
        self.assumed.setChecked(self._folded == "assumed")
        self.checked.setChecked(self._folded == "checked")
        self.assumed.setVisible(answer is not None)
        self.checked.setVisible(answer is not None)
        self._show_way_to_changes()

    def _show_way_to_changes(self) -> None:
        """Show the button of the charts where the line has room: they have a key too."""
        answer = self._answer_here() if self.session.is_open else None
        others_px = sum(
            each.sizeHint().width() + 6
            for each in (self.third, self.fourth, self.assumed, self.checked)
            if not each.isHidden()
        )
        own_px = self.changes.sizeHint().width()
        room = others_px + own_px <= self.width()
        self.changes.setMaximumWidth(own_px)
        charted = answer is not None and bool(answer.result.flip_charts)
        self.changes.setVisible(charted and room)

    def _fit_watch(self) -> None:
        """Keep all its lines: a wrapped label lets itself be squeezed to less than one."""
        line_px = self.watch.fontMetrics().lineSpacing() + 12
        whole_px = self.watch.heightForWidth(self.width()) if self.width() > 0 else 0
        self.watch.setMinimumHeight(max(line_px, whole_px))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit_watch()
        self._show_way_to_changes()

    def _shown(self) -> list[CardText]:
        return [c.text for c in (self.one, self.two) if c.text is not None]

    # ---- folded lists

    def _fold(self, what: str) -> None:
        self._folded = "" if self._folded == what else what
        self.refresh()

    def escape(self) -> bool:
        if not self._folded:
            return False
        self._fold(self._folded)
        return True

    def _show_folded(self, answer: "Answer | None") -> None:
        shown = bool(self._folded) and answer is not None
        self._more.setVisible(shown)
        self._page.setStretch(2, int(not shown))
        self._page.setStretch(3, int(shown))
        self._why_area.setVisible(not shown)
        if shown:
            self.quiet.hide()
            self.watch.hide()
        self._pick.setVisible(shown and self._folded.startswith("choice"))
        if not shown or answer is None:
            self._said = ("", "")
            return
        if self._folded == "assumed":
            lines = [str(a) for a in answer.call.get("assumed", ())]
        elif self._folded == "checked":
            lines = reasons.rule_lines(answer)
        else:
            lines = pick.choice_lines(self.session, self._choice(answer))
        key = (self._folded, "\n".join(lines))
        if key == self._said:
            return
        self._said = key
        clear(self._lines)
        for index, text in enumerate(lines or [self.tr("nothing")]):
            self._lines.addWidget(label(text, f"more_{index}", wrap=True))
        self._lines.addStretch(1)

    def _choice(self, answer: "Answer | None") -> CardText | None:
        others = pick.others(self.session, answer, self._shown())
        index = int(self._folded[-1]) - 3 if self._folded.startswith("choice") else -1
        return others[index] if 0 <= index < len(others) else None

    def _use_choice(self) -> None:
        self._use(self._choice(self._answer_here()))
        self._folded = ""
        self.refresh()

    # ---- taking a call

    def _use(self, card: CardText | None) -> None:
        place, answer = self.session.place, self._answer_here()
        if card is None or place is None:
            return
        plan = pick.plan_of(answer, card.fitting)
        objective = answer.result.objective if answer is not None else None
        total = objective.total_s + (card.loss_s or 0.0) if objective is not None else None
        which = "full" if card.kind == "full" else "short" if card.kind == "short" else "choice"
        body = CallUsed.model_validate(
            {
                "place": place.key,
                "fitting": {p: card.fitting.get(p) for p in PLACES},
                "cold_kpa": dict(plan.cold_pressure_kpa) if plan is not None else {},
                "which": which,
                "objective_s": total,
            }
        )
        self.session.enter(body, self.tr("call used for {0}").format(place.key))


def _numbered(card: CardText | None, number: int) -> CardText | None:
    return replace(card, number=number) if card is not None else None
