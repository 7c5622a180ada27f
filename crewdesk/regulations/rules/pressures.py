"""Pressures, heat and water."""

from typing import ClassVar

from crewdesk.regulations.fitting import FittingCase
from crewdesk.regulations.rulebook import Message
from crewdesk.regulations.rules.base import Rule, bar, moments
from crewdesk.regulations.rules.examples import case, tyre
from crewdesk.units import PLACES

HOT_BAND_KPA = 10.0
"""Half the width of the band round a hot target. Source: common practice, no source."""

_EPS = 1e-9


class LeastPressure(Rule):
    """Not under the minimum."""

    name: ClassVar = "Least cold pressure"
    code: ClassVar = "PRS-1"
    clause: ClassVar = "No cold pressure under the maker's written minimum."
    when: ClassVar = moments("proposal", "fitting", "reading")
    field: ClassVar = "cold_min_kpa"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Compare with the maker's minimum and the event's."""
        messages: list[Message] = []
        for place, one in case.placed():
            set_kpa = case.cold_kpa.get(place)
            asked = [m for m in (one.min_cold_kpa, case.rules.cold_min_kpa) if m is not None]
            if set_kpa is None or not asked or set_kpa >= max(asked) - _EPS:
                continue
            messages += self.says(
                case,
                "stops",
                f"{place} {one.tyre_id}: {bar(set_kpa)} is under the minimum "
                f"{bar(max(asked))}. Set it higher.",
                place=place,
                tyre=one.tyre_id,
                cold_kpa=set_kpa,
                min_kpa=max(asked),
            )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: at the minimum."""
        return case(tyre("T1", facts={"min_cold_kpa": 170.0}), cold_kpa={"FL": 170.0})

    def example_fail(self) -> FittingCase:
        """Return the case: under it."""
        return case(tyre("T1", facts={"min_cold_kpa": 170.0}), cold_kpa={"FL": 165.0})


class MostPressure(Rule):
    """Not over the maximum."""

    name: ClassVar = "Most pressure"
    code: ClassVar = "PRS-2"
    clause: ClassVar = "No pressure over the maker's maximum."
    when: ClassVar = moments("proposal", "fitting", "reading")

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Compare cold and hot pressures with the maximum."""
        messages: list[Message] = []
        for place, one in case.placed():
            known = [
                p for p in (case.cold_kpa.get(place), case.hot_kpa.get(place)) if p is not None
            ]
            if one.max_kpa is None or not known or max(known) <= one.max_kpa + _EPS:
                continue
            messages += self.says(
                case,
                "stops",
                f"{place} {one.tyre_id}: {bar(max(known))} is over {bar(one.max_kpa)}. Let it "
                "down.",
                place=place,
                tyre=one.tyre_id,
                pressure_kpa=max(known),
                max_kpa=one.max_kpa,
            )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: under it."""
        return case(tyre("T1", facts={"max_kpa": 350.0}), cold_kpa={"FL": 190.0})

    def example_fail(self) -> FittingCase:
        """Return the case: over it."""
        return case(tyre("T1", facts={"max_kpa": 350.0}), cold_kpa={"FL": 360.0})


class HotBand(Rule):
    """Hot pressures near the target; a minimum is known."""

    name: ClassVar = "Hot pressures and known minimum"
    code: ClassVar = "PRS-3"
    clause: ClassVar = "Hot pressures end near the target, and the maker's minimum is entered."
    when: ClassVar = moments("import", "reading")

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Compare hot readings with the target; ask for minima while nothing is fitted."""
        messages: list[Message] = []
        for place in PLACES:
            hot, target = case.hot_kpa.get(place), case.hot_target_kpa.get(place)
            if hot is None or target is None or abs(hot - target) <= HOT_BAND_KPA + _EPS:
                continue
            side = "over" if hot > target else "under"
            messages += self.says(
                case,
                "watch",
                f"{place} hot {bar(hot)}, {bar(abs(hot - target))} {side} the target "
                f"{bar(target)} (band {bar(HOT_BAND_KPA)} either way).",
                place=place,
                hot_kpa=hot,
                target_kpa=target,
                off_kpa=round(hot - target, 2),
            )
        if not case.fitting and case.tyres and case.rules.cold_min_kpa is None:
            makes = sorted(
                {
                    f"{one.stock.maker} {one.stock.model}"
                    for one in case.tyres.values()
                    if one.min_cold_kpa is None
                }
            )
            if makes:
                messages += self.says(
                    case,
                    "watch",
                    f"No minimum pressure entered for {', '.join(makes)}: the usual floor of "
                    "the surface is used. Take the figure from the maker's sheet.",
                    models=tuple(makes),
                )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: inside the band."""
        return case(hot_kpa={"FL": 238.0}, hot_target_kpa={"FL": 235.0})

    def example_fail(self) -> FittingCase:
        """Return the case: outside it."""
        return case(hot_kpa={"FL": 250.0}, hot_target_kpa={"FL": 235.0})


class Overheating(Rule):
    """Tread over its window."""

    name: ClassVar = "Heat"
    code: ClassVar = "HEAT-1"
    clause: ClassVar = "The tread stays in its window; a rain tyre stays off a dry road."
    when: ClassVar = moments("proposal", "fitting")

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Compare the peak with the window; look for rain tyres on a dry road."""
        messages: list[Message] = []
        for place, one in case.placed():
            peak, high = one.peak_tread_c, one.window_hi_c
            if peak is not None and high is not None and peak > high + _EPS:
                messages += self.says(
                    case,
                    "watch",
                    f"{one.tyre_id} peak tread {peak:.0f} °C, its window ends at "
                    f"{high:.0f} °C.",
                    tyre=one.tyre_id,
                    place=place,
                    peak_c=peak,
                    window_hi_c=high,
                )
            if one.stock.use == "asphalt_wet" and one.dry_km:
                messages += self.says(
                    case,
                    "watch",
                    f"Rain tyre {one.tyre_id}: {one.dry_km:.1f} km on a dry road.",
                    tyre=one.tyre_id,
                    place=place,
                    dry_km=one.dry_km,
                )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: in the window."""
        return case(tyre("T1", facts={"peak_tread_c": 90.0, "window_hi_c": 95.0}))

    def example_fail(self) -> FittingCase:
        """Return the case: over it."""
        return case(tyre("T1", facts={"peak_tread_c": 101.0, "window_hi_c": 95.0}))


class Floating(Rule):
    """Standing water."""

    name: ClassVar = "Standing water"
    code: ClassVar = "HYD-1"
    clause: ClassVar = "In standing water a worn tyre may float."
    when: ClassVar = moments("proposal", "fitting")

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Say from which speed, where water stands ahead."""
        messages: list[Message] = []
        for place, one in case.placed():
            if one.float_kmh is None:
                continue
            depth = min(one.tread_now_mm)
            messages += self.says(
                case,
                "watch",
                f"{one.tyre_id} {depth:.1f} mm in standing water: may float from "
                f"{one.float_kmh:.0f} km/h.",
                tyre=one.tyre_id,
                place=place,
                tread_mm=depth,
                float_kmh=one.float_kmh,
            )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: no standing water."""
        return case()

    def example_fail(self) -> FittingCase:
        """Return the case: water stands."""
        return case(tyre("T1", facts={"float_kmh": 82.0}))
