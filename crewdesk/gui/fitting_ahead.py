"""What the rules will want to know of the wheels about to be fitted, worked out meanwhile."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Slot

from crewdesk.gui.aside import Aside
from crewdesk.gui.engine_worker import AHEAD
from crewdesk.gui.session import Session
from crewdesk.units import Place

if TYPE_CHECKING:
    from crewdesk.desk.ahead_told import AheadTold


class FittingAhead(Aside):
    """Asks while the wheels are being fitted, so that "All fitted" is done at once."""

    def __init__(self, session: Session, parent: QObject) -> None:
        super().__init__(session, AHEAD, parent)
        self._about: tuple[str, dict[Place, str | None]] = ("", {})
        self.found.connect(self._know)

    def ask_for(self, meant: Mapping[Place, str | None]) -> None:
        """Ask about the wheels meant at the place ahead, unless that is known already."""
        place = self._session.place
        if place is None or not meant:
            return
        about = (place.key, dict(meant))
        if about != self._about:
            self._about = about
            self.drop()
        if self.is_due:
            self.ask(self._session.now(), about)

    @Slot(object)
    def _know(self, told: "AheadTold | None") -> None:
        if told is not None and self._session.day is not None:
            self._session.day.know_ahead(told)
