"""Marks, damage replacements, and what is read off the car against what should be on it."""

from collections import defaultdict
from collections.abc import Mapping
from typing import ClassVar

from crewdesk.regulations.fitting import Asked, FittingCase
from crewdesk.regulations.ledger import is_approved_joker
from crewdesk.regulations.order import natural_key
from crewdesk.regulations.rulebook import Message
from crewdesk.regulations.rules.base import Rule, clock, listed, moments
from crewdesk.regulations.rules.examples import NOON, case, tyre
from crewdesk.units import PLACES, Place


def differences(
    read: Mapping[Place, str | None], meant: Mapping[Place, str | None]
) -> tuple[tuple[str, str, str], ...]:
    """Return (place, read, meant) where two fittings differ; carried tyres in any order."""
    rows: list[tuple[str, str, str]] = [
        (place, read.get(place) or "nothing", meant.get(place) or "nothing")
        for place in PLACES[:4]
        if read.get(place) != meant.get(place)
    ]
    carried_read = {read[place] for place in PLACES[4:] if read.get(place)}
    carried_meant = {meant[place] for place in PLACES[4:] if meant.get(place)}
    if carried_read != carried_meant:
        rows.append(
            (
                "carried",
                listed(sorted(str(one) for one in carried_read)),
                listed(sorted(str(one) for one in carried_meant)),
            )
        )
    return tuple(rows)


def _on_board(case: FittingCase, tyre_id: str) -> bool:
    return tyre_id in (case.before or {}).values()


class Marked(Rule):
    """Every tyre used carries its mark."""

    name: ClassVar = "Marked tyres"
    code: ClassVar = "MRK-1"
    clause: ClassVar = "Only tyres marked for this event may be fitted or carried."
    when: ClassVar = moments("proposal", "fitting")
    field: ClassVar = "marks_needed"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Look for tyres without a mark."""
        messages: list[Message] = []
        for place, one in case.placed():
            if (
                case.rules.marks_needed
                and not one.stock.mark
                and one.stock.counts_against != "shakedown"
            ):
                messages += self.says(
                    case,
                    "stops",
                    f"{one.tyre_id} has no mark for this event. Take a marked tyre, or have it "
                    "marked and enter the mark.",
                    tyre=one.tyre_id,
                    place=place,
                )
            if one.came_off and not case.rules.reuse_ok and not _on_board(case, one.tyre_id):
                messages += self.says(
                    case,
                    "stops",
                    f"{one.tyre_id} came off the car: its mark is used up, a tyre taken off "
                    "may not come back. Take another one.",
                    tyre=one.tyre_id,
                    place=place,
                )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: all marked."""
        return case()

    def example_fail(self) -> FittingCase:
        """Return the case: one without."""
        return case(tyre("T1", mark=""))


class MarkOnce(Rule):
    """A mark is on one tyre only and can be read."""

    name: ClassVar = "One mark, one tyre"
    code: ClassVar = "MRK-2"
    clause: ClassVar = "Each mark belongs to one tyre and must be readable."
    when: ClassVar = moments("import", "nomination", "proposal", "fitting")

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Look for marks on two tyres and for marks that cannot be read."""
        by_mark: dict[str, list[str]] = defaultdict(list)
        for tyre_id in sorted(case.tyres, key=natural_key):
            mark = case.tyres[tyre_id].stock.mark
            if mark:
                by_mark[mark].append(tyre_id)
        placed = {one.tyre_id for _, one in case.placed()}
        messages: list[Message] = []
        for mark, ids in sorted(by_mark.items()):
            if len(ids) > 1 and (not placed or placed & set(ids)):
                messages += self.says(
                    case,
                    "stops",
                    f"The mark {mark} is on {' and '.join(ids)}. Look at both sidewalls and "
                    "put the stock right.",
                    mark=mark,
                    tyres=tuple(ids),
                )
        for place, one in case.looked_at():
            if not one.mark_readable:
                messages += self.says(
                    case,
                    "stops",
                    f"The mark of {one.tyre_id} cannot be read: report it before the next "
                    "stage.",
                    tyre=one.tyre_id,
                    place=place,
                )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: each its own."""
        return case()

    def example_fail(self) -> FittingCase:
        """Return the case: two tyres with one mark."""
        return case(tyre("T1", mark="EX-9"), tyre("T2", mark="EX-9"))


class JokerPapers(Rule):
    """A damage replacement needs its paper."""

    name: ClassVar = "Paper of a damage replacement"
    code: ClassVar = "JOK-1"
    clause: ClassVar = "A replacement for a damaged tyre needs the sheet number and a name."
    when: ClassVar = moments("proposal", "fitting")
    field: ClassVar = "joker_total"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Look for replacements without sheet or name."""
        messages: list[Message] = []
        limit = case.rules.qty_total
        for place, one in case.placed():
            if one.joker_for and not is_approved_joker(one):
                number = case.ledger.used + 1
                counts = (
                    "" if limit is None else f" Until then it would count as number {number}."
                )
                messages += self.says(
                    case,
                    "stops",
                    f"{one.tyre_id} for the damaged {one.joker_for}: the replacement (joker) "
                    f"needs a sheet number and the name of who agreed.{counts}",
                    tyre=one.tyre_id,
                    replaces=one.joker_for,
                    would_be=number,
                    limit=limit,
                    place=place,
                )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: with sheet and name."""
        papers = {"joker_for": "T9", "joker_sheet": "J-1", "approved_by": "A. Name"}
        return case(tyre("T1", facts=papers))

    def example_fail(self) -> FittingCase:
        """Return the case: without."""
        return case(tyre("T1", facts={"joker_for": "T9"}))


class JokersLeft(Rule):
    """Only so many damage replacements."""

    name: ClassVar = "Number of damage replacements"
    code: ClassVar = "JOK-2"
    clause: ClassVar = "Only so many damaged tyres may be replaced beside the limit."
    when: ClassVar = moments("proposal", "fitting")
    field: ClassVar = "joker_total"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Count the replacements, those of this fitting included."""
        asked = [
            one.tyre_id
            for _, one in case.placed()
            if one.joker_for and one.tyre_id not in case.ledger.jokers
        ]
        used, total = len(case.ledger.jokers), case.rules.joker_total
        if not asked or used + len(asked) <= total:
            return ()
        return self.says(
            case,
            "stops",
            f"No damage replacement (joker) is left for {listed(asked)}: {used} of {total} "
            "used.",
            used=used,
            limit=total,
            tyres=tuple(asked),
        )

    def example_pass(self) -> FittingCase:
        """Return the case: the first of one."""
        return JokerPapers().example_pass()

    def example_fail(self) -> FittingCase:
        """Return the case: two where one is allowed."""
        papers = {"joker_sheet": "J-1", "approved_by": "A. Name"}
        return case(
            tyre("T1", facts={**papers, "joker_for": "T8"}),
            tyre("T2", facts={**papers, "joker_for": "T9"}),
        )


class AsFoundAgrees(Rule):
    """What comes in is what went out."""

    name: ClassVar = "As found against the book"
    code: ClassVar = "FND-1"
    clause: ClassVar = "The tyres read as the car comes in are those the book has on it."
    when: ClassVar = moments("reading")

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Compare what was read with the book."""
        if case.found is None or case.before is None:
            return ()
        rows = differences(case.found, case.before)
        if not rows:
            return ()
        said = "; ".join(
            f"{place} has {read}, the book says {meant}" for place, read, meant in rows
        )
        return self.says(
            case,
            "watch",
            f"As found differs: {said}. Since when? The kilometres are put right back to "
            "there.",
            differences=rows,
        )

    def example_pass(self) -> FittingCase:
        """Return the case: as the book says."""
        made = case()
        return case(found=made.fitting, before=made.fitting)

    def example_fail(self) -> FittingCase:
        """Return the case: the fronts have changed sides."""
        made = case()
        return case(found={**made.fitting, "FL": "T2", "FR": "T1"}, before=made.fitting)


class ReadBackAgrees(Rule):
    """What goes out is what the sheet says."""

    name: ClassVar = "Read-back against the sheet"
    code: ClassVar = "RDB-1"
    clause: ClassVar = "The tyres read before OUT are those of the sheet."
    when: ClassVar = moments("fitting", "reading", "time_control")

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Compare what was read with the fitting."""
        if case.read_back is None:
            return ()
        rows = differences(case.read_back, case.fitting)
        if not rows:
            return ()
        said = "; ".join(
            f"{place} has {read}, the sheet says {meant}" for place, read, meant in rows
        )
        return self.says(
            case,
            "stops",
            f"Read-back differs: {said}. Put it right or enter a new fitting before OUT.",
            differences=rows,
        )

    def example_pass(self) -> FittingCase:
        """Return the case: as the sheet says."""
        return case(read_back=case().fitting)

    def example_fail(self) -> FittingCase:
        """Return the case: the rears are on the wrong sides."""
        return case(read_back={**case().fitting, "RL": "T4", "RR": "T3"})


class OfficialMarks(Rule):
    """What the officials noted is what is on the car."""

    name: ClassVar = "Officials' note of the marks"
    code: ClassVar = "CHK-1"
    clause: ClassVar = "The marks the officials noted are those on the car."
    when: ClassVar = moments("reading", "time_control")

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Compare mark by mark."""
        messages: list[Message] = []
        ours_by_place = {place: one.stock.mark for place, one in case.placed()}
        carried = {ours_by_place.get(place) for place in PLACES[4:]}
        for place in PLACES:
            noted, ours = case.noted.get(place), ours_by_place.get(place, "none")
            if noted is None or noted == ours or (place in PLACES[4:] and noted in carried):
                continue
            who = case.official or "the officials"
            by = f" by {case.query_by}" if case.query_by else ""
            messages += self.says(
                case,
                "watch",
                f"Mark read differs: the officials noted {noted} on {place} at {case.here()}, "
                f"ours is {ours}. Query to {who}{by}.",
                place=place,
                noted=noted,
                ours=ours,
            )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: noted as it is."""
        return case(noted={"FL": "EX-T1", "SP1": "EX-T5"})

    def example_fail(self) -> FittingCase:
        """Return the case: another mark noted."""
        return case(
            noted={"FL": "EX-T1", "FR": "EX-T7"}, official="A. Name", query_by="Service C"
        )


class Unanswered(Rule):
    """Questions stay in sight until they are answered."""

    name: ClassVar = "Open questions"
    code: ClassVar = "OPN-1"
    clause: ClassVar = "What is not known is asked until somebody answers; nothing is guessed."
    when: ClassVar = moments("proposal", "fitting", "reading", "close")

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Say each open question again."""
        messages: list[Message] = []
        for asked in case.questions:
            until = f" until {asked.until}" if asked.until else ""
            km = f" {asked.km:.2f} km given to no tyre{until}." if asked.km else ""
            messages += self.says(
                case,
                "watch",
                f"Open question since {clock(asked.since, case.zone)}: {asked.text}. "
                f"Possible: {listed(asked.possible)}.{km}",
                possible=asked.possible,
                km=asked.km,
                until=asked.until,
            )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: nothing is open."""
        return case()

    def example_fail(self) -> FittingCase:
        """Return the case: a puncture on the left, nobody knows which."""
        asked = Asked("puncture left, which corner", NOON, ("FL", "RL"), 14.5, "TC3A")
        return case(questions=(asked,))
