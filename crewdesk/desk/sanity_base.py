"""The faults of one entry, gathered in plain words."""

from collections.abc import Mapping
from difflib import get_close_matches

from crewdesk.desk.course import Course
from crewdesk.desk.replay import Fold
from crewdesk.desk.state import DayState
from crewdesk.regulations.rulebook import Message
from crewdesk.units import CORNERS, PLACES, Place

ENTRY = "ENTRY"
"""Code of a message about the entry itself; nobody can override it."""


class EntryFaults:
    """The faults and remarks about one entry."""

    def __init__(self, fold: Fold, state: DayState) -> None:
        self.fold = fold
        self.ledger = fold.ledger
        self.bundle = fold.ledger.bundle
        self.course: Course = fold.ledger.course
        self.state = state
        self.found: list[Message] = []

    def stop(self, text: str, **values: object) -> None:
        """Refuse the entry."""
        self.found.append(Message(ENTRY, "stops", text, values))

    def watch(self, text: str, **values: object) -> None:
        """Remark on the entry."""
        self.found.append(Message(ENTRY, "watch", text, values))

    def tyre(self, tyre_id: str) -> bool:
        """Ask for a tyre of the stock; say whether it is one."""
        if tyre_id in self.state.tyres:
            return True
        near = get_close_matches(tyre_id.upper(), list(self.state.tyres), n=1)
        meant = f" Perhaps {near[0]}?" if near else ""
        self.stop(f"{tyre_id or 'The tyre'} is not in the stock.{meant}", tyre=tyre_id)
        return False

    def car(self, fitting: Mapping[Place, str | None], *, whole: bool) -> None:
        """Look at the tyres of a fitting."""
        seen: dict[str, Place] = {}
        for place in PLACES:
            tyre = fitting.get(place)
            if not tyre:
                continue
            if self.tyre(tyre) and tyre in seen:
                self.stop(
                    f"{tyre} is given twice, at {seen[tyre]} and {place}.",
                    tyre=tyre,
                    places=[seen[tyre], place],
                )
            seen[tyre] = place
        empty = [c for c in CORNERS if not fitting.get(c)]
        if whole and empty:
            self.stop(
                f"{' and '.join(empty)} would be empty: name a tyre for each corner.",
                corners=empty,
            )

    def place(self, word: str) -> None:
        """Ask for a change place or a service."""
        spot = self.course.spot(word)
        if spot is None or (spot.place is None and not self.course.rows[spot.row_in].service):
            keys = ", ".join(p.key for p in self.bundle.itinerary.change_places)
            self.stop(
                f"{word or 'The place'} is no change place. Change places: {keys}.",
                place=word,
            )

    def place_or_control(self, word: str) -> None:
        """Ask for any row of the itinerary; whether tyres may be changed there is a rule."""
        if self.course.spot(word) is None:
            self.place(word)

    def stage(self, ref: str) -> None:
        """Ask for a stage or control."""
        spot = self.course.spot(ref)
        if spot is None:
            refs = ", ".join(self.course.row_of_stage)
            self.stop(f"{ref or 'The stage'} is no stage. Stages: {refs}.", stage=ref)

    def somewhere(self, word: str) -> None:
        """Look at a place that may be anything, or blank."""
        if not word.strip() or self.course.spot(word) is not None:
            return
        sites = [site.name for site in self.bundle.event.sites]
        if word.strip().lower() in (name.lower() for name in sites):
            return
        self.watch(
            f"{word} is no place of the itinerary: kept as words, taken as where the car is.",
            place=word,
        )

    def rim(self, rim_id: str) -> None:
        """Ask for a rim that may be used."""
        rims = {rim.rim_id for rim in self.bundle.event.rims}
        if rims and rim_id not in rims:
            near = get_close_matches(rim_id.upper(), sorted(rims), n=1)
            meant = f" Perhaps {near[0]}?" if near else ""
            self.stop(f"There is no rim {rim_id}.{meant}", rim=rim_id)
        elif rim_id in self.state.rims_out:
            self.stop(f"Rim {rim_id} is out of use: {self.state.rims_out[rim_id]}.", rim=rim_id)
