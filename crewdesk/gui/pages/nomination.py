"""The list of tyres that is handed in: who is on it, what is undecided, when it closes."""

from functools import partial

from PySide6.QtWidgets import QGridLayout, QWidget

from crewdesk.gui.page import Page
from crewdesk.gui.pages.rules_say import LEVELS
from crewdesk.gui.parts import Choice, button, clear, column, label, row, scrolling, text_field
from crewdesk.gui.session import Session
from crewdesk.gui.texts import wheel
from crewdesk.journal.entries import TyreState

IN_A_ROW = 6


class NominationPage(Page):
    """One button a tyre: a tap puts it on the list or leaves it off."""

    key = "nomination"
    wide = True

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.title = label("", "list_title", "title", wrap=True)
        self.counts = label("", "list_counts", "strong", wrap=True)
        self.stops = label("", "list_stops", "stops", wrap=True)
        self.watch = label("", "list_watch", "watch", wrap=True)
        self.shown = Choice(
            "list_shown",
            [
                (self.tr("Undecided"), "undecided"),
                (self.tr("On the list"), "listed"),
                (self.tr("Left off"), "off"),
            ],
            lambda _v: self.refresh(),
            kind="part",
        )
        self.reason = text_field(
            "list_reason", self.tr("Reason"), self.tr("reason or bulletin number")
        )
        self._grid_widget = QWidget()
        self._grid = QGridLayout(self._grid_widget)
        self._grid.setSpacing(6)
        line = row(self.shown, self.reason)
        line.setStretch(0, 3)
        line.setStretch(1, 2)
        self.words = label("", "list_words", "muted", wrap=True)
        self.setLayout(
            column(
                self.title,
                self.counts,
                self.stops,
                self.watch,
                line,
                self.words,
                scrolling("list_tyres", self._grid_widget),
            )
        )

    def heading(self) -> str:
        return self.tr("List of tyres")

    def primary_text(self) -> str:
        return self.tr("Back")

    def primary(self) -> None:
        self.go.emit("back")

    def refresh(self) -> None:
        clear(self._grid)
        if not self.session.is_open:
            return
        from crewdesk.desk.nomination import nomination

        session = self.session
        now = session.now()
        where = nomination(session.bundle, session.state, now)
        closes = self.tr("no closing time entered")
        if where.closes_utc is not None:
            local = where.closes_utc.astimezone(session.zone)
            closes = self.tr("closed {0}") if where.closed else self.tr("closes {0}")
            closes = closes.format(f"{local:%a %d %b %H:%M}")
        self.title.setText(self.tr("List of tyres, {0}").format(closes))
        total = sum(map(len, where.listed.values()))
        parts = [
            self._of(word, len(ids), where.caps.get(word)) for word, ids in where.listed.items()
        ]
        limit = (
            self.tr(", {0} may be used").format(where.limit) if where.limit is not None else ""
        )
        self.counts.setText(
            self.tr("On the list: {0} ({1}){2}; undecided: {3}").format(
                total, ", ".join(parts), limit, len(where.undecided)
            )
        )
        for level, told in (("stops", self.stops), ("watch", self.watch)):
            said = " ".join(m.text for m in where.messages if m.level == level)
            told.setText(f"{LEVELS[level]}{said}")
            told.setVisible(bool(said))
        # With nobody undecided the list itself is what one comes for.
        which = str(self.shown.value or ("undecided" if where.undecided else "listed"))
        self.shown.set_value(which)
        ids = {
            "undecided": where.undecided,
            "listed": tuple(t for ids in where.listed.values() for t in ids),
            "off": tuple(sorted(session.state.left_off)),
        }[which]
        self.words.setText(
            {
                "undecided": self.tr("A tap puts a tyre on the list."),
                "listed": self.tr("A tap takes a tyre off the list."),
                "off": self.tr("A tap puts a tyre on the list after all."),
            }[which]
            if ids
            else self.tr("None.")
        )
        for at, tyre_id in enumerate(ids):
            tyre = session.state.tyres[tyre_id]
            name = wheel(tyre.rim_id, tyre_id)
            made = button(
                f"{name}\n{tyre.stock.compound}",
                f"list_{tyre_id}",
                partial(self._put, tyre_id, on=which != "listed"),
                kind="part",
            )
            self._grid.addWidget(made, at // IN_A_ROW, at % IN_A_ROW)
        self._grid.setRowStretch(len(ids) // IN_A_ROW + 1, 1)
        if which == "undecided" and where.undecided:
            rest = button(
                self.tr("Leave the\nrest off"),
                "list_rest_off",
                partial(self._rest_off, where.undecided),
                kind="part",
            )
            self._grid.addWidget(rest, len(ids) // IN_A_ROW, len(ids) % IN_A_ROW)

    def _of(self, word: str, count: int, cap: int | None) -> str:
        """Say how many of a compound are on the list, of how many."""
        if cap == 0:
            return self.tr("{0} {1}, none may be used").format(word, count)
        return f"{word} {count}" if cap is None else f"{word} {count} of {cap}"

    def _put(self, tyre_id: str, *, on: bool) -> bool:
        body = TyreState(
            tyre_id=tyre_id,
            state="nominated" if on else "not_nominated",
            reason=self.reason.text().strip(),
        )
        words = self.tr("{0} on the list") if on else self.tr("{0} off the list")
        receipt = self.session.enter(body, words.format(tyre_id))
        return receipt is not None and receipt.accepted

    def _rest_off(self, tyre_ids: tuple[str, ...]) -> None:
        for tyre_id in tyre_ids:
            if not self._put(tyre_id, on=False):
                return
