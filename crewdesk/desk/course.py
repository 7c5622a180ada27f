"""The event as one line: where each word of the crew lies between the start and the finish."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from crewdesk.documents.itinerary import ChangePlace, Itinerary, ItineraryRow

Position = tuple[int, float]
"""Row of the itinerary (from 0) and km into it; rows without length hold only km 0."""

END_OF_ROW = 1e9
"""Km that lie behind every stage: just after its stop line."""

_CLOSED = re.compile(r"parc ferm[eé]|regroup|holding park|refuel|media zone", re.IGNORECASE)
_AFTER = re.compile(r"^\s*(?:road section\s+)?(?:after|behind)\s+", re.IGNORECASE)


@dataclass(frozen=True)
class Spot:
    """Where a word of the crew lies."""

    row_in: int
    """First row of it."""
    row_out: int
    """Last row of it: the OUT control of a visit, else the same."""
    place: ChangePlace | None = None
    stage: str | None = None
    after: bool = False
    """The stretch behind the stage is meant, not the stage itself."""


class Course:
    """The rows of an itinerary, found again by any word the crew uses for them."""

    def __init__(self, itinerary: Itinerary) -> None:
        self.itinerary = itinerary
        self.rows: tuple[ItineraryRow, ...] = itinerary.rows
        self.row_of_stage: dict[str, int] = {}
        self._spots: dict[str, Spot] = {}
        by_ref: dict[str, int] = {}
        for index, row in enumerate(self.rows):
            by_ref.setdefault(row.ref.upper(), index)
            if row.kind == "stage":
                self.row_of_stage[row.ref] = index
        letters: dict[str, tuple[int, int]] = {}
        for index, row in enumerate(self.rows):
            if row.service:
                first, _ = letters.get(row.service.upper(), (index, index))
                letters[row.service.upper()] = (first, index)
        for ref, index in by_ref.items():
            stage = self.rows[index].ref if self.rows[index].kind == "stage" else None
            self._spots[ref] = Spot(index, index, stage=stage)
        for letter, (first, last) in letters.items():
            spot = Spot(first, last)
            for word in (letter, self.rows[first].ref, self.rows[last].ref):
                self._spots[word.upper()] = spot
        self.place_rows: dict[str, tuple[int, int]] = {}
        for place in itinerary.change_places:
            first, last = by_ref[place.in_ref.upper()], by_ref[place.out_ref.upper()]
            self.place_rows[place.key] = (first, last)
            spot = Spot(first, last, place=place)
            for word in (place.key, place.in_ref, place.out_ref):
                self._spots[word.upper()] = spot
        if itinerary.change_places:
            first_place = itinerary.change_places[0]
            self._spots.setdefault("START", self._spots[first_place.key.upper()])
        if self.rows:
            self._spots.setdefault("FINISH", Spot(len(self.rows) - 1, len(self.rows) - 1))

    def spot(self, word: str) -> Spot | None:
        """Return where a word lies, or None where nothing of the itinerary is meant."""
        text = word.strip()
        if not text:
            return None
        behind = _AFTER.match(text)
        core = text[behind.end() :] if behind else text
        found = self._spots.get(core.strip().upper())
        if found is None:
            for part in re.split(r"[\s,;:]+", core):
                spot = self._spots.get(part.upper())
                if spot is not None and spot.stage is not None:
                    found = spot
                    break
        if found is None:
            return None
        if behind and found.stage is not None:
            return Spot(found.row_in, found.row_out, stage=found.stage, after=True)
        return found

    def place(self, word: str) -> ChangePlace | None:
        """Return the change place that a word names, or None."""
        spot = self.spot(word)
        return spot.place if spot is not None else None

    def closed_area(self, word: str, passed: Position) -> str:
        """Return the name of the closed area that a word means, empty where work is open.

        Closed are a regroup and the holding park, the refuel, and from the last row of a leg
        to the first control of the next one the parc ferme. Without a word the area is where
        the car was seen last.
        """
        named = _CLOSED.search(word)
        spot = self.spot(word)
        if spot is None:
            if named or word.strip():
                return named[0] if named else ""
            row, after = max(passed[0], 0), passed[1] >= END_OF_ROW
        else:
            row, after = spot.row_out, spot.after
        if not self.rows or passed == (-1, 0.0):
            return ""
        here = self.rows[row]
        if after or here.kind == "stage":
            return ""
        last = row + 1 == len(self.rows) or self.rows[row + 1].leg != here.leg
        if here.kind in ("regroup_in", "refuel", "finish") or last:
            return here.name or here.ref
        return ""

    def stages_before(self, row: int) -> list[str]:
        """Return the stages that lie before a row, in order."""
        return [ref for ref, index in self.row_of_stage.items() if index < row]

    def change_place_from(self, row: int) -> ChangePlace | None:
        """Return the first change place whose OUT lies at or behind a row."""
        for place in self.itinerary.change_places:
            if self.place_rows[place.key][1] >= row:
                return place
        return None

    def stage_km(self) -> Mapping[str, float]:
        """Return the length of each stage [km]."""
        known = {stage.ref: stage.km for stage in self.itinerary.stages}
        return {
            ref: known.get(ref, self.rows[row].ss_km or 0.0)
            for ref, row in self.row_of_stage.items()
        }
