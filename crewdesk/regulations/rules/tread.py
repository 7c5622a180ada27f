"""Depth of the tread: now, at the next change place, and in winter."""

from typing import ClassVar

from crewdesk.regulations.fitting import FittingCase, TyreFacts
from crewdesk.regulations.rulebook import Message
from crewdesk.regulations.rules.base import Rule, moments
from crewdesk.regulations.rules.examples import case, rules, tyre

POINTS = ("inner", "middle", "outer")
_EPS_MM = 1e-9


def least(one: TyreFacts) -> tuple[float, str]:
    """Return the least depth now and where it is."""
    depth = min(one.tread_now_mm)
    return depth, POINTS[one.tread_now_mm.index(depth)]


class TreadNow(Rule):
    """Depth now."""

    name: ClassVar = "Least tread"
    code: ClassVar = "TRD-1"
    clause: ClassVar = "The lowest of the three points keeps the least depth at all times."
    when: ClassVar = moments("proposal", "fitting", "reading", "close")
    field: ClassVar = "tread_min_mm"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Look at the lowest point of each tyre."""
        messages: list[Message] = []
        limit = case.rules.tread_min_mm
        for place, one in case.placed():
            depth, point = least(one)
            if depth < limit - _EPS_MM:
                how = "read" if one.tread_read else "worked out"
                messages += self.says(
                    case,
                    "stops",
                    f"{one.tyre_id} {depth:.1f} mm at the {point} point ({how}), limit "
                    f"{limit:g}. Take another tyre.",
                    tyre=one.tyre_id,
                    place=place,
                    tread_mm=depth,
                    point=point,
                    limit_mm=limit,
                )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: deep enough."""
        return case(tyre("T1", tread_mm=(1.6, 3.0, 3.0)))

    def example_fail(self) -> FittingCase:
        """Return the case: too low inside."""
        return case(tyre("T1", tread_mm=(1.5, 3.0, 3.0)))


class TreadAhead(Rule):
    """Depth at the next change place."""

    name: ClassVar = "Tread at the next change place"
    code: ClassVar = "TRD-2"
    clause: ClassVar = "The least depth must still be there at the next change place."
    when: ClassVar = moments("proposal", "fitting", "reading")
    field: ClassVar = "tread_min_mm"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Warn where one time in ten it would end under the limit."""
        messages: list[Message] = []
        limit = case.rules.tread_min_mm
        at = case.next_ref or "the next change place"
        for place, one in case.placed():
            if one.predicted_mm is None:
                continue
            best, low, high = one.predicted_mm
            if low < limit - _EPS_MM:
                messages += self.says(
                    case,
                    "watch",
                    f"{one.tyre_id} predicted {best:.1f} mm ({low:.1f} to {high:.1f}) at {at}, "
                    f"limit {limit:g}. Measure it there, or take another tyre.",
                    tyre=one.tyre_id,
                    place=place,
                    predicted_mm=best,
                    low_mm=low,
                    high_mm=high,
                    over_limit_mm=round(best - limit, 6),
                    limit_mm=limit,
                )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: plenty left."""
        return case(tyre("T1", facts={"predicted_mm": (4.0, 3.2, 4.6)}))

    def example_fail(self) -> FittingCase:
        """Return the case: it may end too low."""
        return case(tyre("T1", facts={"predicted_mm": (2.2, 1.4, 2.8)}))


class WinterTread(Rule):
    """Depth in winter."""

    name: ClassVar = "Winter tread"
    code: ClassVar = "TRD-3"
    clause: ClassVar = "Where the winter minimum is in force, every tyre keeps it."
    when: ClassVar = moments("import", "proposal", "fitting", "reading")
    field: ClassVar = "winter_tread_min_mm"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Look at the lowest point of each tyre."""
        limit = case.rules.winter_tread_min_mm
        if limit is None:
            return ()
        messages: list[Message] = []
        for place, one in case.looked_at():
            depth, point = least(one)
            if depth < limit - _EPS_MM:
                messages += self.says(
                    case,
                    "stops",
                    f"{one.tyre_id} {depth:.1f} mm at the {point} point: the winter minimum "
                    f"{limit:g} mm is in force. Take another tyre.",
                    tyre=one.tyre_id,
                    place=place,
                    tread_mm=depth,
                    limit_mm=limit,
                )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: deep enough."""
        return case(book=rules(winter_tread_min_mm=3.0))

    def example_fail(self) -> FittingCase:
        """Return the case: good for summer only."""
        return case(tyre("T3", tread_mm=(2.9, 4.0, 4.0)), book=rules(winter_tread_min_mm=3.0))
