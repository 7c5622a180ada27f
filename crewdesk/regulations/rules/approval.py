"""The open road, studs, patterns and treatment."""

import re
from typing import ClassVar

from crewdesk.regulations.fitting import FittingCase
from crewdesk.regulations.rulebook import Message
from crewdesk.regulations.rules.base import Rule, listed, moments
from crewdesk.regulations.rules.examples import case, rules, tyre

_MM_PER_INCH = 25.4
_SUITS: dict[str, frozenset[str]] = {
    "gravel": frozenset({"gravel"}),
    "asphalt": frozenset({"asphalt"}),
    "asphalt_wet": frozenset({"asphalt"}),
    "winter": frozenset({"snow", "ice"}),
}


def circumference_dm(size: str) -> float | None:
    """Return the way round a tyre from its size mark, or None where the mark is not known.

    Reads the rally form (width and height in cm, rim in inches, as 15/65-15) and the road form
    (width in mm, height in per cent of it, as 205/65R15).
    """
    road = re.fullmatch(r"(\d{3})/(\d{2,3}) ?Z?R ?(\d{2})", size.strip(), re.IGNORECASE)
    if road:
        width_mm, ratio_pct, rim_in = (float(part) for part in road.groups())
        return (
            3.141592653589793 * (rim_in * _MM_PER_INCH + 2 * width_mm * ratio_pct / 100) / 100
        )
    rally = re.fullmatch(r"\d{2}/(\d{2})-\d{2}", size.strip())
    return 3.141592653589793 * float(rally.group(1)) / 10 if rally else None


class RoadMarks(Rule):
    """Approval mark, service description, and the right family for the road."""

    name: ClassVar = "Approval for the road"
    code: ClassVar = "ROAD-1"
    clause: ClassVar = "Each tyre has its approval mark and description and suits the road."
    when: ClassVar = moments("import", "fitting")
    field: ClassVar = "e_mark_needed"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Look at the marks, with no fitting of every tyre; then at the surfaces ahead."""
        ones = [one for _, one in case.looked_at()]
        absent = [one.tyre_id for one in ones if one.stock.e_mark is False]
        unknown = [
            one.tyre_id
            for one in ones
            if one.stock.e_mark is None or not one.stock.service_desc
        ]
        messages: list[Message] = []
        if absent:
            asked = case.rules.e_mark_needed
            messages += self.says(
                case,
                "stops" if asked else "watch",
                f"No approval mark on {listed(absent)}"
                f"{'; the event asks for it. Take others' if asked else ''}.",
                tyres=tuple(absent),
            )
        if unknown:
            messages += self.says(
                case,
                "watch",
                f"No approval mark or service description entered for {listed(unknown)}. Read "
                "them off the sidewall.",
                tyres=tuple(unknown),
            )
        odd = [
            one.tyre_id
            for _, one in case.placed()
            if case.surfaces and not _SUITS[one.stock.use] & case.surfaces
        ]
        if odd:
            messages += self.says(
                case,
                "watch",
                f"{listed(odd)}: not made for {listed(sorted(case.surfaces))}.",
                tyres=tuple(odd),
                surfaces=tuple(sorted(case.surfaces)),
            )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: marked and described."""
        return case(surfaces=frozenset({"gravel"}))

    def example_fail(self) -> FittingCase:
        """Return the case: without a mark."""
        return case(tyre("T1", e_mark=False))


class RoadStuds(Rule):
    """Rally studs on the open road."""

    name: ClassVar = "Studs on the open road"
    code: ClassVar = "ROAD-2"
    clause: ClassVar = "Rally studs on the open road need the event's exemption in the car."
    when: ClassVar = moments("import", "fitting")
    field: ClassVar = "stud_exemption_needed"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Ask for the reference where studded tyres are on the car."""
        studded = [one.tyre_id for _, one in case.looked_at() if one.stock.studs]
        wanted = case.rules.stud_exemption_needed and not case.rules.stud_exemption_reference
        if not (studded and wanted):
            return ()
        return self.says(
            case,
            "stops",
            f"Studs on the open road ({listed(studded)}): the reference of the exemption is "
            "missing. Enter it, and put the paper into the car.",
            tyres=tuple(studded),
        )

    def example_pass(self) -> FittingCase:
        """Return the case: with the reference."""
        book = rules(stud_exemption_needed=True, stud_exemption_reference="EX 1/2026")
        return case(tyre("T1", studs=384), book=book)

    def example_fail(self) -> FittingCase:
        """Return the case: without."""
        return case(tyre("T1", studs=384), book=rules(stud_exemption_needed=True))


class StudCount(Rule):
    """Number of studs."""

    name: ClassVar = "Number of studs"
    code: ClassVar = "STD-1"
    clause: ClassVar = "Only so many studs for each 10 cm of the way round."
    when: ClassVar = moments("import", "nomination", "fitting")
    field: ClassVar = "studs"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Work the number out from the size; with no fitting for every tyre."""
        limit = case.rules.studs.get("per_dm")
        if limit is None:
            return ()
        messages: list[Message] = []
        for _, one in case.looked_at():
            around = circumference_dm(one.stock.size)
            if not one.stock.studs or around is None:
                continue
            per_dm = one.stock.studs / around
            if per_dm > limit:
                messages += self.says(
                    case,
                    "stops",
                    f"{one.tyre_id}: {per_dm:.1f} studs for each 10 cm, limit {limit:g}.",
                    tyre=one.tyre_id,
                    per_dm=round(per_dm, 3),
                    limit=limit,
                )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: 384 on a tyre 65 cm high."""
        return case(tyre("T1", size="15/65-15", studs=384))

    def example_fail(self) -> FittingCase:
        """Return the case: 420 on it."""
        return case(tyre("T1", size="15/65-15", studs=420))


class StudWear(Rule):
    """Lost and worn studs."""

    name: ClassVar = "Worn studs"
    code: ClassVar = "STD-2"
    clause: ClassVar = "Tell of tyres whose studs are short or lost."
    when: ClassVar = moments("reading", "fitting")
    field: ClassVar = "stud_watch"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Compare what was counted and measured."""
        lost_limit = case.rules.stud_watch.get("lost_share")
        out_limit = case.rules.stud_watch.get("out_mm")
        messages: list[Message] = []
        for place, one in case.placed():
            lost, out_mm = one.studs_lost_share, one.stud_out_mm
            many = lost is not None and lost_limit is not None and lost > lost_limit + 1e-9
            short = out_mm is not None and out_limit is not None and out_mm < out_limit - 1e-9
            if not (many or short):
                continue
            said = [f"{lost * 100:.0f} % studs gone"] if lost is not None else []
            said += [f"{out_mm:.1f} mm out"] if out_mm is not None else []
            messages += self.says(
                case,
                "watch",
                f"{one.tyre_id}: {', '.join(said)}.",
                tyre=one.tyre_id,
                place=place,
                lost_share=lost,
                out_mm=out_mm,
            )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: few lost."""
        return case(tyre("T1", facts={"studs_lost_share": 0.05, "stud_out_mm": 6.0}))

    def example_fail(self) -> FittingCase:
        """Return the case: many lost."""
        return case(tyre("T1", facts={"studs_lost_share": 0.15, "stud_out_mm": 6.0}))


class Pattern(Rule):
    """Cut and patternless tyres."""

    name: ClassVar = "Pattern"
    code: ClassVar = "PAT-1"
    clause: ClassVar = (
        "No cutting by hand unless allowed; the pattern has the grooves asked for."
    )
    when: ClassVar = moments("import", "nomination", "fitting")
    field: ClassVar = "cut_allowed"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Look for cut tyres and for too little groove."""
        messages: list[Message] = []
        for place, one in case.looked_at():
            if one.cut and not case.rules.cut_allowed:
                messages += self.says(
                    case,
                    "stops",
                    f"{one.tyre_id} was cut by hand: a cut or changed tyre is not allowed.",
                    tyre=one.tyre_id,
                    place=place,
                )
            share, least = one.groove_share, case.rules.groove_min_share
            few = (
                one.groove_count is not None and one.groove_count < case.rules.groove_count_min
            )
            if few or (share is not None and share < least - 1e-9):
                messages += self.says(
                    case,
                    "watch",
                    f"{one.tyre_id}: the pattern is outside the list (grooves at least "
                    f"{least * 100:.0f} %, {case.rules.groove_count_min} around).",
                    tyre=one.tyre_id,
                    groove_share=share,
                    groove_count=one.groove_count,
                )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: as made."""
        return case(tyre("T1", facts={"groove_share": 0.3}))

    def example_fail(self) -> FittingCase:
        """Return the case: cut."""
        return case(tyre("T1", facts={"cut": True}))


class Treatment(Rule):
    """Heated, treated and filled tyres."""

    name: ClassVar = "Treatment"
    code: ClassVar = "TRT-1"
    clause: ClassVar = "No warming, no chemicals, no filling unless allowed."
    when: ClassVar = moments("import", "nomination", "fitting")
    field: ClassVar = "heat_or_chemicals_allowed"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Look for tyres entered as treated or filled."""
        messages: list[Message] = []
        for place, one in case.looked_at():
            treated = one.treated and not case.rules.heat_or_chemicals_allowed
            filled = one.insert and not case.rules.insert_allowed
            if treated or filled:
                what = "heated or treated" if treated else "filled"
                messages += self.says(
                    case,
                    "stops",
                    f"{one.tyre_id} is {what}: that is not allowed. Take another tyre.",
                    tyre=one.tyre_id,
                    place=place,
                )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: as made."""
        return case()

    def example_fail(self) -> FittingCase:
        """Return the case: with a foam insert."""
        return case(tyre("T1", facts={"insert": True}))
