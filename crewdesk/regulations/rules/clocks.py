"""Time at controls, and conditions that have changed since the last call."""

from typing import ClassVar

from crewdesk.regulations.fitting import Clock, FittingCase, Weathers
from crewdesk.regulations.rulebook import Message
from crewdesk.regulations.rules.base import Rule, clock, minutes, moments
from crewdesk.regulations.rules.examples import NOON, case

ROAD_LIMIT_C = 10.0
AIR_LIMIT_C = 6.0
"""Changes that ask for a new call. Source: common practice, no source."""

_EPS = 1e-9


class OnTime(Rule):
    """Early or late at a control."""

    name: ClassVar = "Time at a control"
    code: ClassVar = "TIM-1"
    clause: ClassVar = "Whole minutes early or late at a control cost seconds."
    when: ClassVar = moments("time_control")
    field: ClassVar = "late_s_per_min"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Count whole minutes; seconds are dropped."""
        at = case.clock
        if at is None:
            return ()
        whole = int(abs(at.late_min) + _EPS)
        if not whole:
            return ()
        late = at.late_min > 0
        rate = case.rules.late_s_per_min if late else case.rules.early_s_per_min
        out = case.rules.out_of_time_min
        towards = f"; {whole} of the {minutes(out)} that lead to out of time" if late else ""
        if not late or out == float("inf"):
            towards = ""
        return self.says(
            case,
            "note" if at.on_road else "watch",
            f"{at.ref} due {clock(at.due, case.zone)}; {whole} min "
            f"{'late' if late else 'early'} = {whole * rate:g} s{towards}.",
            ref=at.ref,
            late_min=whole if late else -whole,
            cost_s=whole * rate,
            out_of_time_min=out,
        )

    def example_pass(self) -> FittingCase:
        """Return the case: less than a minute late."""
        return case(clock=Clock("TC4A", NOON, 0.9))

    def example_fail(self) -> FittingCase:
        """Return the case: twelve minutes late."""
        return case(clock=Clock("TC4A", NOON, 12.0))


class OutOfTime(Rule):
    """Too late to go on."""

    name: ClassVar = "Out of time"
    code: ClassVar = "TIM-2"
    clause: ClassVar = "More than the stated minutes late, the car is out."
    when: ClassVar = moments("time_control")
    field: ClassVar = "out_of_time_min"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Compare the minutes that count."""
        at, limit = case.clock, case.rules.out_of_time_min
        if at is None:
            return ()
        counted = at.late_min if at.total_late_min is None else at.total_late_min
        if int(counted + _EPS) <= limit:
            return ()
        return self.says(
            case,
            "stops",
            f"Out of time at {at.ref} (due {clock(at.due, case.zone)}): "
            f"{int(counted + _EPS)} min late, {minutes(limit)} allowed. Ask the officials "
            "before anything else.",
            ref=at.ref,
            late_min=int(counted + _EPS),
            limit_min=limit,
        )

    def example_pass(self) -> FittingCase:
        """Return the case: thirty minutes are still in time."""
        return case(clock=Clock("TC4A", NOON, 30.0))

    def example_fail(self) -> FittingCase:
        """Return the case: thirty-one are not."""
        return case(clock=Clock("TC4A", NOON, 31.0))


class ConditionsChanged(Rule):
    """Weather other than at the last call."""

    name: ClassVar = "Conditions since the last call"
    code: ClassVar = "CND-1"
    clause: ClassVar = "A call is asked for again when road, air or rain have changed much."
    when: ClassVar = moments("proposal", "fitting", "reading")

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Compare with the limits."""
        seen = case.weathers
        if seen is None:
            return ()
        said: list[str] = []
        values: dict[str, object] = {"road_limit_c": ROAD_LIMIT_C, "air_limit_c": AIR_LIMIT_C}
        for word, then, now, limit in (
            ("road", seen.road_then_c, seen.road_now_c, ROAD_LIMIT_C),
            ("air", seen.air_then_c, seen.air_now_c, AIR_LIMIT_C),
        ):
            if then is None or now is None:
                continue
            values[f"{word}_change_c"] = now - then
            if abs(now - then) >= limit - _EPS:
                up = "up" if now > then else "down"
                said.append(f"{word} {up} {abs(now - then):.0f} °C")
        if seen.rain_then is not None and seen.rain_now is not None:
            if seen.rain_now and not seen.rain_then:
                said.append("it snows now" if seen.snow else "it rains now")
            if seen.rain_then and not seen.rain_now:
                said.append(f"the {'snow' if seen.snow else 'rain'} has stopped")
        if not said:
            return ()
        return self.says(
            case,
            "watch",
            f"Other than at the last call: {', '.join(said)} (limits: road {ROAD_LIMIT_C:g}, "
            f"air {AIR_LIMIT_C:g} °C). Ask for the call again.",
            **values,
        )

    def example_pass(self) -> FittingCase:
        """Return the case: a little warmer."""
        return case(weathers=Weathers(12.0, 15.0, 20.0, 27.0, rain_then=False, rain_now=False))

    def example_fail(self) -> FittingCase:
        """Return the case: much warmer."""
        return case(weathers=Weathers(6.0, 12.0, 11.0, 23.0, rain_then=False, rain_now=False))
