"""What the van brings to the tyre zone ahead: as planned, or as the crew chooses."""

from collections.abc import Callable, Collection
from functools import partial

from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from crewdesk.gui.parts import button, card, clear, label, row
from crewdesk.gui.session import Session
from crewdesk.gui.texts import clock, wheel

IN_A_ROW = 5


class VanLine(QWidget):
    """One line at the service before a zone; a tap opens the wheels that may come along."""

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.setObjectName("van")
        self._session = session
        self._for = ""
        self._own: tuple[str, ...] | None = None
        self._planned: tuple[str, ...] = ()
        self._on_car: Collection[str | None] = ()
        self._open = False
        self._beside: Callable[[], object] | None = None
        self._lines = QVBoxLayout(self)
        self._lines.setContentsMargins(0, 0, 0, 0)
        self._lines.setSpacing(6)

    @property
    def chosen(self) -> tuple[str, ...]:
        """What goes along; empty where no zone is ahead."""
        if not self._for:
            return ()
        return self._planned if self._own is None else self._own

    def show_for(
        self,
        planned: tuple[str, ...],
        on_car: Collection[str | None],
        *,
        shown: bool,
        beside: Callable[[], object] | None = None,
    ) -> None:
        """Show the line where the next change place is a zone.

        Where the screen is small the way to the pressures stands ``beside`` it.
        """
        self._beside = beside
        zone = self._zone()
        if zone != self._for:
            self._for, self._own, self._open = zone, None, False
        self._planned, self._on_car = planned, on_car
        self.setVisible(bool(zone) and shown)
        if zone and shown:
            self._fill()

    def _zone(self) -> str:
        """Return the zone that the next loop ends at, empty where it ends elsewhere."""
        session = self._session
        place = session.place
        if place is None:
            return ""
        places = session.bundle.itinerary.change_places
        later = places[places.index(place) + 1 :]
        return later[0].key if later and later[0].kind == "zone" else ""

    def _fill(self) -> None:
        clear(self._lines)
        names = [wheel(self._session.rim_of(t), t) for t in self.chosen]
        words = (
            self.tr("Van {0} to {1}: {2}")
            if self._beside
            else self.tr("Van leaves {0} for zone {1} and brings {2}")
        ).format(self._leaves(), self._for, "  ".join(names) or self.tr("–"))
        line = row(
            label(words, "van_words", "strong", wrap=True),
            button(
                self.tr("Done") if self._open else self.tr("Choose"),
                "van_choose",
                self._toggle,
                spoken=self.tr("Choose the wheels for the van"),
            ),
        )
        if self._beside is not None:
            line.addWidget(button(self.tr("Other pressures"), "van_pressures", self._beside))
        line.setStretch(0, 1)
        self._lines.addLayout(line)
        if self._open:
            grid = QGridLayout()
            grid.setSpacing(6)
            for at, tyre_id in enumerate(self._possible()):
                made = button(
                    wheel(self._session.rim_of(tyre_id), tyre_id),
                    f"van_{tyre_id}",
                    partial(self._take, tyre_id),
                    kind="part",
                    checkable=True,
                )
                made.setChecked(tyre_id in self.chosen)
                grid.addWidget(made, at // IN_A_ROW, at % IN_A_ROW)
            self._lines.addWidget(card("van_wheels", grid))

    def _leaves(self) -> str:
        from crewdesk.desk.wheels_plan import van_leaves

        session = self._session
        zone = session.bundle.itinerary.place(self._for)
        return clock(van_leaves(session.bundle, session.state, zone), session.zone)

    def _possible(self) -> list[str]:
        """Return the wheels that may go along: mounted, sound, of the event."""
        return [
            t.tyre_id
            for t in self._session.state.tyres.values()
            if t.status == "ok"
            and t.rim_id
            and t.stock.counts_against == "event"
            and t.tyre_id not in self._on_car
        ]

    def _toggle(self) -> None:
        self._open = not self._open
        self._fill()

    def _take(self, tyre_id: str) -> None:
        had = self.chosen
        self._own = tuple(t for t in had if t != tyre_id) if tyre_id in had else (*had, tyre_id)
        self._fill()
