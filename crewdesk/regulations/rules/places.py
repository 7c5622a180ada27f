"""Where tyres may be changed, by whom, and how long it takes."""

from typing import ClassVar

from crewdesk.regulations.fitting import FittingCase
from crewdesk.regulations.rulebook import Message
from crewdesk.regulations.rules.base import Rule, clock, listed, minutes, moments
from crewdesk.regulations.rules.examples import case, place, tyre
from crewdesk.units import PLACES


def _moves(case: FittingCase) -> bool:
    """Say whether the fitting differs from what is on board; True where that is not known."""
    if not any(case.fitting.values()):
        return False
    if case.before is None:
        return True
    return any(case.fitting.get(one) != case.before.get(one) for one in PLACES)


def _on_board(case: FittingCase) -> set[str]:
    return {one for one in (case.before or {}).values() if one is not None}


class ChangePlaces(Rule):
    """Tyre work only where it is allowed."""

    name: ClassVar = "Places for tyre work"
    code: ClassVar = "PLC-1"
    clause: ClassVar = (
        "The team fits tyres at change places only; the crew elsewhere, outside control areas, "
        "with what is on board."
    )
    when: ClassVar = moments("fitting")

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Look at the place, then at where the tyres come from."""
        if not _moves(case):
            return ()
        closed = case.closed_area or (case.by == "team" and case.place is None)
        if closed:
            due = f", {clock(case.next_due, case.zone)}" if case.next_due else ""
            ahead = f" Next place: {case.next_ref}{due}." if case.next_ref else ""
            return self.says(
                case,
                "stops",
                f"No tyre work at {case.here()}.{ahead or ' No later place is left.'}",
                at=case.here(),
                next=case.next_ref,
            )
        if case.by == "crew" and case.before is not None:
            foreign = [
                tyre_id
                for one in PLACES
                if (tyre_id := case.fitting.get(one)) is not None
                and tyre_id not in _on_board(case)
            ]
            if foreign:
                return self.says(
                    case,
                    "stops",
                    f"{listed(foreign)} was not on board; on the road the crew may use only "
                    f"{listed(sorted(_on_board(case)))}.",
                    tyres=tuple(foreign),
                    on_board=tuple(sorted(_on_board(case))),
                )
        return ()

    def example_pass(self) -> FittingCase:
        """Return the case: in service."""
        return case()

    def example_fail(self) -> FittingCase:
        """Return the case: at a service before the final checks."""
        return case(place=None, place_name="TC12B Service F")


class WheelReturns(Rule):
    """A wheel that left with the car comes back with it."""

    name: ClassVar = "Wheels come back"
    code: ClassVar = "PLC-2"
    clause: ClassVar = (
        "A wheel on board at the start of a section reaches the next change place."
    )
    when: ClassVar = moments("reading", "fitting")
    field: ClassVar = "wheel_must_return"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Look for wheels that are missing as the car comes in or after work on the road."""
        if not case.rules.wheel_must_return or case.before is None:
            return ()
        now = case.found
        if now is None and case.by == "crew":
            now = case.fitting
        if now is None:
            return ()
        missing = sorted(_on_board(case) - {one for one in now.values() if one is not None})
        messages: list[Message] = []
        for tyre_id in missing:
            ref = case.place.in_ref if case.place else case.next_ref or "the next change place"
            messages += self.says(
                case,
                "stops",
                f"{tyre_id} left the car away from a change place; it must be at {ref}.",
                tyre=tyre_id,
                at=ref,
            )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: all five are there."""
        return case(before=case().fitting, found=case().fitting)

    def example_fail(self) -> FittingCase:
        """Return the case: the carried one is not."""
        return case(before=case().fitting, found={**case().fitting, "SP1": None})


class TimeAllowed(Rule):
    """The plan fits into the minutes of the visit."""

    name: ClassVar = "Minutes of the visit"
    code: ClassVar = "PLC-3"
    clause: ClassVar = "The work fits between IN and OUT, or the car goes out late."
    when: ClassVar = moments("proposal", "fitting", "time_control")
    field: ClassVar = "late_s_per_min"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Compare minutes; whole minutes late cost seconds."""
        need, have = case.minutes_needed, case.minutes_allowed
        if need is None or have is None or need <= have + 1e-9:
            return ()
        late = need - have
        cost_s = int(late + 1e-9) * case.rules.late_s_per_min
        return self.says(
            case,
            "watch",
            f"The plan needs {minutes(need)}, {minutes(have)} allowed; late {minutes(late)} "
            f"costs {cost_s:g} s. Do less, or take more people.",
            needed_min=need,
            allowed_min=have,
            late_min=late,
            cost_s=cost_s,
        )

    def example_pass(self) -> FittingCase:
        """Return the case: in time."""
        return case(minutes_needed=14.0, minutes_allowed=30.0)

    def example_fail(self) -> FittingCase:
        """Return the case: six minutes too long."""
        return case(minutes_needed=14.0, minutes_allowed=8.0)


class ZoneWork(Rule):
    """In a zone: few people, tyres and pressures only."""

    name: ClassVar = "Work and people at a place"
    code: ClassVar = "PLC-4"
    clause: ClassVar = (
        "A tyre zone is for tyres and pressures, with tyres brought there; the number of "
        "people at the car is limited."
    )
    when: ClassVar = moments("proposal", "fitting")
    field: ClassVar = "people_max"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Look at the work, the tyres and the people."""
        if case.place is None:
            return ()
        kind = "zone" if case.place.kind == "zone" else "service"
        if case.place.remote and "remote" in case.rules.people_max:
            kind = "remote"
        most = case.rules.people_max.get(kind)
        people = "" if most is None else f"{most} people and "
        messages: list[Message] = []
        if kind == "zone":
            other = [one for one in case.work if one not in {"tyres", "pressures"}]
            if other:
                messages += self.says(
                    case,
                    "stops",
                    f"{case.here()} allows {people}tyres and pressures only, not "
                    f"{listed(other)}.",
                    work=tuple(other),
                    people_max=most,
                )
            messages += self._not_brought(case)
        if case.place.remote and case.before is not None:
            messages += self._only_on_board(case)
        if most is not None and case.people is not None and case.people > most:
            messages += self.says(
                case,
                "watch",
                f"{case.here()} allows {most} people at the car; the plan has {case.people}.",
                people=case.people,
                people_max=most,
            )
        return tuple(messages)

    def _only_on_board(self, case: FittingCase) -> tuple[Message, ...]:
        foreign = [
            one.tyre_id for _, one in case.placed() if one.tyre_id not in _on_board(case)
        ]
        if not foreign:
            return ()
        return self.says(
            case,
            "stops",
            f"{case.here()} is a remote place: only what is carried in the car, not "
            f"{listed(foreign)}.",
            tyres=tuple(foreign),
        )

    def _not_brought(self, case: FittingCase) -> tuple[Message, ...]:
        if not case.zone_known:
            return ()
        absent = [
            one.tyre_id
            for _, one in case.placed()
            if not one.in_zone and one.tyre_id not in _on_board(case)
        ]
        if not absent:
            return ()
        return self.says(
            case,
            "stops",
            f"{listed(absent)} is not at {case.here()}: neither on board nor brought there.",
            tyres=tuple(absent),
        )

    def example_pass(self) -> FittingCase:
        """Return the case: two people, pressures."""
        return case(place=place("zone"), work=("pressures",), people=2)

    def example_fail(self) -> FittingCase:
        """Return the case: a damper is to be changed too."""
        return case(tyre("T1"), place=place("zone"), work=("damper",), people=2)
