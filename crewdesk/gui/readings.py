"""Three depths are one reading: the first makes the entry, the others put it right."""

from crewdesk.gui.session import Session
from crewdesk.gui.texts import wheel
from crewdesk.journal.entries import Correction, Reading

_INDEX = {"tread_in_mm": 0, "tread_mid_mm": 1, "tread_out_mm": 2}


class TreadKeeper:
    """Enter depths box by box, each on disk at once, as one reading of a tyre at a place."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def keep(self, tyre_id: str, point: str, depth_mm: float, place: str) -> bool:
        """Enter one depth; return whether it was taken."""
        session = self._session
        readings = session.state.tyres[tyre_id].readings
        mine = next(
            (
                r
                for r in reversed(readings)
                if r.place == place and any(mm is not None for mm in r.tread_mm)
            ),
            None,
        )
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
