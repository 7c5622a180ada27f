"""Load event: what was read, what is assumed, and whether it is right."""

from collections.abc import Callable

from PySide6.QtWidgets import QVBoxLayout, QWidget

from crewdesk.gui.page import Page
from crewdesk.gui.parts import button, card, clear, column, label, row, scrolling
from crewdesk.gui.session import Session


class LoadPage(Page):
    """Check totals before anything else; empty: what is missing and two buttons."""

    key = "load"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.title = label("", "load_title", "title", wrap=True)
        self._inside = QWidget()
        self._lines = QVBoxLayout(self._inside)
        self._lines.setContentsMargins(0, 0, 0, 0)
        self._lines.setSpacing(6)
        self.choose = button(
            self.tr("Choose event folder"), "load_choose", lambda: self.go.emit("open")
        )
        self.demo = button(self.tr("Demo event"), "load_demo", lambda: self.go.emit("demo"))
        self.type_in = button(
            self.tr("Type in by hand"), "load_type", lambda: self.go.emit("by_hand")
        )
        self.stages = button(self.tr("Stages"), "load_stages", lambda: self.go.emit("stages"))
        self.bulletin = button(
            self.tr("Bulletin"), "load_bulletin", lambda: self.go.emit("change")
        )
        self.settings = button(
            self.tr("Settings"), "load_settings", lambda: self.go.emit("settings")
        )
        self.help = button(self.tr("Help  F1"), "load_help", lambda: self.go.emit("help"))
        self.setLayout(
            column(
                self.title,
                scrolling("load_lines", self._inside),
                row(
                    self.choose,
                    self.demo,
                    self.type_in,
                    self.stages,
                    self.bulletin,
                    self.settings,
                    self.help,
                    1,
                ),
            )
        )

    def heading(self) -> str:
        return self.tr("Load event")

    def primary_text(self) -> str:
        return self.tr("Event is right") if self.session.is_open else self.tr("Choose event")

    def primary(self) -> None:
        if not self.session.is_open:
            self.go.emit("open")
            return
        step = self.session.state.step
        started = self.session.state.reports or self.session.state.fitted
        self.go.emit("conditions" if not started else {"before_in": "call"}.get(step, step))

    def refresh(self) -> None:
        clear(self._lines)
        opened = self.session.is_open
        for made in (self.stages, self.bulletin, self.settings):
            made.setVisible(opened)
        for made in (self.demo, self.type_in):
            made.setVisible(not opened)
        if not opened:
            self.title.setText(self.tr("No event is open."))
            shown = self.session.board.shown
            if shown is not None and shown.level == "stops":
                self._lines.addWidget(label(shown.words, "load_fault", "stops", wrap=True))
            self._busy()
            self._lines.addWidget(
                label(
                    self.tr(
                        "An event is a folder with event.json, itinerary.csv, stock.csv and "
                        "weather.csv. Choose one, or look at a demo event."
                    ),
                    "load_empty",
                    wrap=True,
                )
            )
            self._lines.addStretch(1)
            return
        self._show_event()

    def _busy(self) -> None:
        """Offer to read along, or to take the book over, where another desk writes it."""
        if self.session.busy_book is None:
            return
        folder, book = self.session.busy_book
        along = button(
            self.tr("Read along"),
            "load_along",
            lambda: self._again(lambda: self.session.open(folder, book, read_only=True)),
        )
        over = button(
            self.tr("Take the book over"),
            "load_over",
            lambda: self._again(lambda: self.session.open(folder, book, take_over=True)),
        )
        self._lines.addLayout(row(along, 1, over, spacing=14))

    def _again(self, opened: Callable[[], bool]) -> None:
        if opened():
            self.session.notice_seen()
        self.refresh()
        self.primary_changed.emit()

    def _show_event(self) -> None:
        bundle = self.session.bundle
        itinerary, stock = bundle.itinerary, bundle.stock
        self.title.setText(bundle.event.name)
        km = sum(s.km for s in itinerary.stages)
        legs = sorted({r.leg for r in itinerary.rows})
        by_compound: dict[str, int] = {}
        new = 0
        for tyre in stock.tyres:
            by_compound[tyre.compound] = by_compound.get(tyre.compound, 0) + 1
            new += tyre.new
        compounds = ", ".join(f"{n} {c}" for c, n in by_compound.items())
        places = ", ".join(p.key for p in itinerary.change_places)
        checks = [
            self.tr("{0} legs, {1} stages, {2} km of stages").format(
                len(legs), len(itinerary.stages), f"{km:.1f}"
            ),
            self.tr("Tyres may be changed at: {0}").format(places),
            self.tr("{0} tyres, {1} of them new: {2}").format(len(stock.tyres), new, compounds),
            self.tr("{0} rims, rules: {1}").format(
                len(bundle.event.rims), bundle.regulation_set.name
            ),
            self.tr("Weather: {0} hours").format(len(bundle.weather.rows)),
        ]
        for leg in legs:
            part = [s for s in itinerary.stages if s.leg == leg]
            offset = itinerary.offsets_min.get(leg, 0.0)
            checks.append(
                self.tr(
                    "Leg {0}: {1} stages, {2} km, we start {3} min after the printed time"
                ).format(leg, len(part), f"{sum(s.km for s in part):.1f}", f"{offset:g}")
            )
        lines = [label(f"✓ {text}", f"check_{i}", wrap=True) for i, text in enumerate(checks)]
        self._lines.addWidget(card("load_checks", *lines))
        missing = self.session.day.missing if self.session.day is not None else ()
        for index, text in enumerate(missing):
            self._lines.addWidget(
                label(
                    self.tr("⚠ watch: {0}").format(text), f"missing_{index}", "watch", wrap=True
                )
            )
        for index, text in enumerate(bundle.notes):
            self._lines.addWidget(
                label(self.tr("note: {0}").format(text), f"note_{index}", wrap=True)
            )
        if bundle.assumed:
            self._lines.addWidget(
                label(
                    self.tr("{0} things assumed, nobody has touched them:").format(
                        len(bundle.assumed)
                    ),
                    "assumed_head",
                    "strong",
                )
            )
            for index, text in enumerate(bundle.assumed):
                self._lines.addWidget(
                    label(f"· {text}", f"assumed_{index}", "muted", wrap=True)
                )
        self._lines.addStretch(1)
