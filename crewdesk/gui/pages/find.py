"""Find a wheel by typing or scanning; what the book says of its tyre, and what can be done."""

from functools import partial

from PySide6.QtWidgets import QGridLayout, QLineEdit, QWidget

from crewdesk.gui.page import Page
from crewdesk.gui.pages.tyre_lines import card_lines
from crewdesk.gui.parts import button, card, clear, column, label, lines_in, row
from crewdesk.gui.session import Session
from crewdesk.gui.texts import LONG, SHORT, bar, clock, wheel
from crewdesk.gui.views import tread_text
from crewdesk.journal.entries import RimMove, TyreState


class FindPage(Page):
    """One wheel."""

    key = "find"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._tyre = ""
        self.text = QLineEdit()
        self.text.setObjectName("find_text")
        self.text.setAccessibleName(self.tr("Rim, tyre or mark"))
        self.text.setPlaceholderText(self.tr("rim, tyre or mark: type or scan"))
        self.text.returnPressed.connect(self._find)
        self.look = button(self.tr("Find"), "find_go", self._find)
        self._lines, area = lines_in("find_lines")
        self.reason = QLineEdit()
        self.reason.setObjectName("find_reason")
        self.reason.setAccessibleName(self.tr("Reason or name"))
        self.reason.setPlaceholderText(self.tr("reason, or name of who releases"))
        self.rim = QLineEdit()
        self.rim.setObjectName("find_rim")
        self.rim.setAccessibleName(self.tr("Rim to put the tyre on, or its mark"))
        self.rim.setPlaceholderText(self.tr("rim or mark"))
        self.rim.returnPressed.connect(self._mount)
        grid = QGridLayout()
        grid.setSpacing(6)
        self.lock_next = button(
            self.tr("Not for\nthe call"), "find_ban", self._ban, checkable=True, kind="part"
        )
        states = (
            (self.tr("Lock"), "find_lock", "locked"),
            (self.tr("Release"), "find_release", "released"),
            (self.tr("Used up"), "find_scrap", "scrapped"),
            (self.tr("Away"), "find_away", "away"),
            (self.tr("Back"), "find_back", "back"),
            (self.tr("Cut by hand"), "find_cut", "cut"),
            (self.tr("Treated"), "find_treated", "treated"),
        )
        wishes = (
            (self.tr("Damage card"), "find_damage_card", "damage"),
            (self.tr("Replacement"), "find_replacement", "replace"),
        )
        made = [
            button(text, name, partial(self._state, state), kind="part")
            for text, name, state in states
        ]
        made += [
            button(text, name, partial(self._wish, wish), kind="part")
            for text, name, wish in wishes
        ]
        for at, one in enumerate([*made, self.lock_next]):
            grid.addWidget(one, at // 5, at % 5)
        self.setLayout(
            column(
                row(self.text, self.look),
                area,
                self.reason,
                grid,
                row(
                    self.rim,
                    button(self.tr("Put on rim"), "find_mount", self._mount, kind="part"),
                    button(
                        self.tr("Off its rim"), "find_dismount", self._dismount, kind="part"
                    ),
                    button(self.tr("Is its mark"), "find_mark", self._mark, kind="part"),
                    button(
                        self.tr("Mark\nunreadable"),
                        "find_unreadable",
                        partial(self._state, "unreadable"),
                        kind="part",
                    ),
                ),
            )
        )

    def heading(self) -> str:
        return self.tr("Tyre card")

    def primary_text(self) -> str:
        return self.tr("Back")

    def primary(self) -> None:
        self.go.emit("back")

    def entered(self) -> None:
        self.text.setFocus()
        self.text.selectAll()

    def show_tyre(self, tyre_id: str) -> None:
        """Show one tyre."""
        self._tyre = tyre_id
        self.rim.clear()
        self.text.setText(self.session.rim_of(tyre_id) or tyre_id)
        self.refresh()

    def _find(self) -> None:
        if not self.session.is_open:
            return
        found = self.session.find_tyre(self.text.text())
        if found is None:
            self.session.notice(
                "note",
                self.tr("No wheel or tyre is called “{0}”.").format(self.text.text().strip()),
            )
            return
        self._tyre = found
        self.refresh()

    def refresh(self) -> None:
        clear(self._lines)
        if not self.session.is_open or self._tyre not in self.session.state.tyres:
            self._lines.addStretch(1)
            return
        tyre = self.session.state.tyres[self._tyre]
        stock = tyre.stock
        answer = self.session.answer
        estimates = answer.estimates if answer is not None else {}
        banned = self._tyre in self.session.bans
        self.lock_next.setChecked(banned)
        self.lock_next.setAccessibleName(self.tr("Not for the call"))
        self.lock_next.setText(
            self.tr("✓ Not for\nthe call") if banned else self.tr("Not for\nthe call")
        )
        where = self.tr("not run yet")
        if tyre.place:
            where = LONG[tyre.place]
        elif tyre.last_place:
            where = self.tr("last at {0}").format(SHORT[tyre.last_place])
        self.reason.setPlaceholderText(
            self.tr("name of the licensed fitter who releases it")
            if tyre.status_why.startswith("DMG-1")
            else self.tr("reason, or name of who releases")
        )
        lines: list[QWidget] = [
            label(wheel(tyre.rim_id, tyre.tyre_id), "find_wheel", "headline"),
            label(
                self.tr("{0}  {1} {2} {3}, mark {4}").format(
                    stock.code, stock.maker, stock.model, stock.compound, stock.mark or "–"
                ),
                "find_kind",
                "strong",
                wrap=True,
            ),
            label(
                self.tr("{0} · tread {1} · {2} km here · {3}").format(
                    where,
                    tread_text(tyre, estimates) or "–",
                    f"{tyre.event_km:.1f}",
                    self.tr("cold {0} bar").format(bar(tyre.cold_set_kpa))
                    if tyre.cold_set_kpa
                    else self.tr("no cold pressure set"),
                ),
                "find_now",
                wrap=True,
            ),
        ]
        if tyre.torque_due_since:
            words = self.tr("⚠ watch: torque due since {0}").format(tyre.torque_due_since)
            lines.append(label(words, "find_torque", "watch", wrap=True))
        if tyre.counted:
            lines.append(label(self.tr("counted against the limit"), "find_counted"))
        # What holds the tyre comes before what it has done.
        lines += card_lines(self.session, self._tyre)
        runs = ", ".join(
            f"{r.stage} {r.place or '?'} {r.km * r.split:.1f} km" for r in tyre.runs
        )
        if runs:
            lines.append(label(self.tr("Run: {0}").format(runs), "find_runs", wrap=True))
        for at, reading in enumerate(reversed(tyre.readings[-4:])):
            mm = " / ".join("–" if d is None else f"{d:.1f}" for d in reading.tread_mm)
            pressure = reading.hot_kpa or reading.cold_kpa
            text = self.tr("{0} {1}: {2} mm, {3} bar").format(
                clock(reading.at, self.session.zone), reading.place, mm, bar(pressure)
            )
            lines.append(label(text, f"find_reading_{at}", "muted", wrap=True))
        self._lines.addWidget(card("find_card", *lines))
        self._lines.addStretch(1)

    def _state(self, state: str) -> None:
        if not self._tyre:
            self.session.notice("note", self.tr("Find a wheel first."))
            return
        words = self.reason.text().strip()
        held = self.session.state.tyres[self._tyre].status_why
        if state == "released" and held.startswith("DMG-1") and not words:
            self.session.notice(
                "note", self.tr("Type the name of the licensed fitter who releases it.")
            )
            self.reason.setFocus()
            return
        body = TyreState.model_validate(
            {
                "tyre_id": self._tyre,
                "state": state,
                "reason": words,
                "released_by": words if state == "released" else "",
            }
        )
        receipt = self.session.enter(body, self.tr("{0} {1}").format(self._tyre, state))
        if receipt is not None and receipt.accepted:
            self.reason.clear()

    def _wish(self, wish: str) -> None:
        if not self._tyre:
            self.session.notice("note", self.tr("Find a wheel first."))
            return
        self.go.emit(f"{wish}:{self._tyre}")

    def _mark(self) -> None:
        mark = self.rim.text().strip()
        if not self._tyre or not mark:
            self.session.notice("note", self.tr("Find a tyre and type or scan its mark."))
            return
        receipt = self.session.enter(
            TyreState(tyre_id=self._tyre, state="marked", mark=mark),
            self.tr("mark of {0}").format(self._tyre),
        )
        if receipt is not None and receipt.accepted:
            self.rim.clear()

    def _ban(self) -> None:
        if not self._tyre:
            return
        self.session.bans = self.session.bans ^ {self._tyre}
        self.refresh()
        self.session.ask_soon()

    def _mount(self) -> None:
        rim = self.rim.text().strip().upper()
        if not self._tyre or not rim:
            self.session.notice("note", self.tr("Find a tyre and type the rim."))
            return
        self.rim.clear()
        self.session.enter(
            RimMove(tyre_id=self._tyre, rim_id=rim),
            self.tr("{0} on rim {1}").format(self._tyre, rim),
        )

    def _dismount(self) -> None:
        if self._tyre:
            self.session.enter(
                RimMove(tyre_id=self._tyre, rim_id=None),
                self.tr("{0} off its rim").format(self._tyre),
            )
