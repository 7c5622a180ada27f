"""Three depths are one reading: the first makes the entry, the others put it right."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from crewdesk.gui.session import Session
from crewdesk.gui.texts import wheel
from crewdesk.journal.entries import Correction, Reading

if TYPE_CHECKING:
    from crewdesk.desk.state import ReadingNow
    from crewdesk.gui.page import Page

_INDEX = {"tread_in_mm": 0, "tread_mid_mm": 1, "tread_out_mm": 2}


class TreadKeeper:
    """Enter depths box by box, each on disk at once, as one reading of a tyre at a place."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def keep(self, tyre_id: str, point: str, depth_mm: float, place: str) -> bool:
        """Enter one depth; return whether it was taken."""
        session = self._session
        mine = self._here(tyre_id, place)
        if mine is not None and mine.tread_mm[_INDEX[point]] == depth_mm:
            return True
        said = (
            f"{wheel(session.rim_of(tyre_id), tyre_id)} {point.split('_')[1]} {depth_mm:.1f} mm"
        )
        if mine is not None:
            receipt = session.enter(
                Correction(target_id=mine.entry_id, values={point: depth_mm}), said
            )
            return receipt is not None and receipt.accepted
        body = Reading.model_validate(
            {"tyre_id": tyre_id, point: depth_mm, "where": "service", "place": place}
        )
        receipt = session.enter(body, said)
        return receipt is not None and receipt.accepted

    def doubt(
        self, tyre_id: str, point: str, depth_mm: float, place: str, *, now: bool = True
    ) -> str:
        """Return what is to be asked about a depth, empty where it is a likely one.

        Not ``now``: it is in the book already, and what is reckoned rests on it.
        """
        from crewdesk.desk.unlikely import unlikely_from

        session, index = self._session, _INDEX[point]
        tyre, answer = session.state.tyres[tyre_id], session.answer
        before_mm = tyre.stock.tread_mm[index]
        for reading in tyre.readings:
            depth = reading.tread_mm[index]
            if depth is not None and reading.place != place:
                before_mm = depth
        known = answer.estimates.get(tyre_id) if answer is not None and now else None
        likely_mm = (
            unlikely_from(depth_mm, before_mm, known.tread_mm[index], known.sd_mm)
            if known is not None
            else unlikely_from(depth_mm, before_mm)
        )
        if likely_mm is None:
            return ""
        if known is None or depth_mm > before_mm:
            return session.tr("last {0}").format(f"{before_mm:.1f}")
        return session.tr("expected {0}").format(f"{likely_mm:.1f}")

    def doubts(self, tyre_id: str, place: str) -> dict[str, str]:
        """Return by point what is still to be asked of the depths read here."""
        mine = self._here(tyre_id, place)
        if mine is None or mine.confirmed:
            return {}
        return {
            point: doubt
            for point, index in _INDEX.items()
            if (mm := mine.tread_mm[index]) is not None
            and (doubt := self.doubt(tyre_id, point, mm, place, now=False))
        }

    def take(self, page: "Page", key: str, tyre_id: str, depth_mm: float, place: str) -> None:
        """Enter what was typed into a box, and ask about it where it is unlikely."""
        point = key.partition(":")[0]
        doubt = self.doubt(tyre_id, point, depth_mm, place)
        if self.keep(tyre_id, point, depth_mm, place) and page.host is not None:
            page.host.ask_about(key, doubt)

    def serve(self, page: "Page", place: Callable[[], str]) -> None:
        """Ask about the depths that stand in the boxes, and take the answers."""
        host = page.host
        if host is None:
            return
        for key, box in host.walk.boxes.items():
            point, tyre_id = key.partition(":")[0], page.tyre_of_box(key)
            if point in _INDEX and tyre_id and box.closed and not box.doubt:
                box.doubt = self.doubts(tyre_id, place()).get(point, "")
        host.kept.connect(lambda key: self.stand_by(page.tyre_of_box(key), place()))

    def stand_by(self, tyre_id: str | None, place: str) -> None:
        """Enter that the crew looked again and stands by the depths read here."""
        session = self._session
        mine = self._here(tyre_id, place) if tyre_id else None
        if tyre_id and mine is not None:
            said = session.tr("{0} depth kept").format(wheel(session.rim_of(tyre_id), tyre_id))
            session.enter(Correction(target_id=mine.entry_id, values={"confirmed": True}), said)

    def _here(self, tyre_id: str, place: str) -> "ReadingNow | None":
        """Return the last reading of depth at a place."""
        return next(
            (
                r
                for r in reversed(self._session.state.tyres[tyre_id].readings)
                if r.place == place and any(mm is not None for mm in r.tread_mm)
            ),
            None,
        )
