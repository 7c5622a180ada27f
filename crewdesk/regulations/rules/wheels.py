"""Size, rim, age, damage, leaks and nuts: the wheel as a thing."""

from datetime import date
from typing import ClassVar

from crewdesk.physics.date_code import made_week
from crewdesk.regulations.fitting import FittingCase, TyreFacts
from crewdesk.regulations.rulebook import Message
from crewdesk.regulations.rules.base import Rule, bar, moments
from crewdesk.regulations.rules.examples import case, tyre
from crewdesk.units import CORNERS, STANDARD_PRESSURE_KPA, ZERO_C_IN_K

LEAK_KPA = 10.0
"""Drop under the pair from which a tyre is taken to leak.

Source: tuning value of this project.
"""

_FREE_AGAIN = frozenset({"shakedown"})


def made_on(dot: str) -> date | None:
    """Return the first day of the week of a date code WWYY, or None where it is none."""
    try:
        return made_week(dot).start
    except ValueError:
        return None


def age_years(dot: str, on: date) -> float | None:
    """Return the age of a tyre, or None where its date code says nothing."""
    made = made_on(dot)
    return None if made is None else (on - made).days / 365.25


def due_kpa(set_kpa: float, set_at_c: float, read_at_c: float) -> float:
    """Return what a tight tyre shows at another air temperature (gauge; ideal gas)."""
    ratio = (read_at_c + ZERO_C_IN_K) / (set_at_c + ZERO_C_IN_K)
    return (set_kpa + STANDARD_PRESSURE_KPA) * ratio - STANDARD_PRESSURE_KPA


def _plain(word: str) -> str:
    return word.replace(" ", "").lower()


class ClassSize(Rule):
    """The size that the class may use."""

    name: ClassVar = "Size of the class"
    code: ClassVar = "WID-1"
    clause: ClassVar = "Tyre and rim have the size of the class table."
    when: ClassVar = moments("import", "proposal", "fitting")
    field: ClassVar = "size_table"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Compare size and rim with the table."""
        table = case.rules.size_table
        messages: list[Message] = []
        for place, one in case.looked_at():
            for key, has in (("size", one.stock.size), ("rim", one.stock.rim)):
                asked = table.get(key, "")
                if asked and has and _plain(has) != _plain(asked):
                    messages += self.says(
                        case,
                        "stops",
                        f"{one.tyre_id}: {key} {has} is outside the class table ({asked}).",
                        tyre=one.tyre_id,
                        place=place,
                        what=key,
                        has=has,
                        asked=asked,
                    )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: as the table says."""
        return case()

    def example_fail(self) -> FittingCase:
        """Return the case: a wider one."""
        return case(tyre("T1", size="20/65-15"))


class RimFree(Rule):
    """A rim of the right width for every tyre."""

    name: ClassVar = "Rims"
    code: ClassVar = "RIM-1"
    clause: ClassVar = (
        "Each tyre sits on a rim of the right width, and each rim holds one tyre."
    )
    when: ClassVar = moments("proposal", "fitting")

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Hand the free rims to the tyres without one, in the order of the places."""
        if not case.rims:
            return ()
        free = self._free_rims(case)
        messages: list[Message] = []
        for place, one in case.placed():
            rim_id = case.rims_chosen.get(place) or one.rim_now
            asked = one.stock.rim
            if rim_id:
                has = case.rims.get(rim_id, "")
                if asked and has and _plain(asked) != _plain(has):
                    messages += self.says(
                        case,
                        "stops",
                        f"{one.tyre_id} needs a rim {asked}; {rim_id} is {has}.",
                        tyre=one.tyre_id,
                        rim=rim_id,
                        asked=asked,
                    )
                continue
            found = next(
                (
                    rim
                    for rim, kind in free.items()
                    if not asked or _plain(kind) == _plain(asked)
                ),
                None,
            )
            if found is None:
                messages += self.says(
                    case,
                    "stops",
                    f"No free rim of the right width for {one.tyre_id}"
                    f"{f' ({asked})' if asked else ''}. Take a tyre that is on a rim, or free "
                    "one.",
                    tyre=one.tyre_id,
                    asked=asked,
                    free=tuple(free),
                )
            else:
                free.pop(found)
        return tuple(messages)

    def _free_rims(self, case: FittingCase) -> dict[str, str]:
        taken = {
            one.rim_now
            for one in case.tyres.values()
            if one.stock.counts_against not in _FREE_AGAIN and one.status != "scrapped"
        } | set(case.rims_chosen.values())
        return {rim: kind for rim, kind in case.rims.items() if rim not in taken}

    def example_pass(self) -> FittingCase:
        """Return the case: one tyre without, one rim free."""
        return case(tyre("T1", rim_id=""), rims={"R9": "7Jx15"})

    def example_fail(self) -> FittingCase:
        """Return the case: the free rim is too wide."""
        return case(tyre("T1", rim_id=""), rims={"R9": "8Jx15"})


class Age(Rule):
    """How old a tyre is."""

    name: ClassVar = "Age of a tyre"
    code: ClassVar = "AGE-1"
    clause: ClassVar = "From some years on a tyre is watched, later not used any more."
    when: ClassVar = moments("import", "nomination", "proposal", "fitting")
    field: ClassVar = "age_watch_years"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Work out the age on the day of the event; with no fitting, of every tyre."""
        if case.event_date is None:
            return ()
        messages: list[Message] = []
        for _, one in case.looked_at():
            years = age_years(one.stock.dot, case.event_date)
            if years is None or years < case.rules.age_watch_years:
                continue
            stops = years >= case.rules.age_stop_years
            todo = "Do not use it." if stops else "Look at it closely."
            messages += self.says(
                case,
                "stops" if stops else "watch",
                f"{one.tyre_id} made {one.stock.dot[:2]}/20{one.stock.dot[2:]}, {years:.1f} "
                f"years old. {todo}",
                tyre=one.tyre_id,
                years=round(years, 2),
                watch_years=case.rules.age_watch_years,
                stop_years=case.rules.age_stop_years,
            )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: made last year."""
        return case(tyre("T1", dot="2625"))

    def example_fail(self) -> FittingCase:
        """Return the case: seven years old."""
        return case(tyre("T1", dot="1119"))


class Damaged(Rule):
    """Locked and scrapped tyres stay off."""

    name: ClassVar = "Damaged tyres"
    code: ClassVar = "DMG-1"
    clause: ClassVar = "A damaged tyre stays off the car until a licensed fitter releases it."
    when: ClassVar = moments("proposal", "fitting", "reading")

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Look for locked and scrapped tyres."""
        messages: list[Message] = []
        for place, one in case.placed():
            why = self.why(one)
            if not why:
                continue
            who = one.release_by or "a licensed fitter, by name,"
            messages += self.says(
                case,
                "stops",
                f"{one.tyre_id} is {why}. Only {who} may release it.",
                tyre=one.tyre_id,
                place=place,
                status=one.status,
                why=one.why,
            )
        return tuple(messages)

    @staticmethod
    def why(one: TyreFacts) -> str:
        """Return the words for what holds a tyre, empty where nothing does."""
        if one.status == "scrapped" or one.stock.lock == "scrap":
            return f"scrapped: {one.why}" if one.why else "scrapped"
        if one.status == "locked" and one.why_code == "DMG-1":
            return f"locked: {one.why}" if one.why else "locked"
        return "on hold" if one.stock.lock == "hold" and one.status == "ok" else ""

    def example_pass(self) -> FittingCase:
        """Return the case: all sound."""
        return case()

    def example_fail(self) -> FittingCase:
        """Return the case: one with a bulge."""
        return case(tyre("T2", facts={"status": "locked", "why": "bulge"}))


class Leaking(Rule):
    """A tyre that loses air."""

    name: ClassVar = "Leaking tyres"
    code: ClassVar = "LEAK-1"
    clause: ClassVar = (
        "A tyre under its pair is not fitted or carried until the cause is named."
    )
    when: ClassVar = moments("reading", "proposal", "fitting")

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Compare a cold reading with what the setting should show at that air temperature."""
        messages: list[Message] = []
        for _, one in case.looked_at():
            if one.status == "locked" and one.why_code == "LEAK-1":
                messages += self.says(
                    case,
                    "stops",
                    f"{one.tyre_id} is held for a leak{f' ({one.why})' if one.why else ''}: "
                    "not to be fitted or carried until the cause is named.",
                    tyre=one.tyre_id,
                )
                continue
            drop = leak_drop_kpa(one)
            if drop is not None and drop >= LEAK_KPA:
                pair = f"its pair {one.pair}" if one.pair else "its pair"
                messages += self.says(
                    case,
                    "stops",
                    f"{one.tyre_id} is {bar(drop)} under {pair}: not to be fitted or carried "
                    "until the cause is named.",
                    tyre=one.tyre_id,
                    pair=one.pair,
                    drop_kpa=round(drop, 2),
                    due_kpa=round((one.cold_kpa or 0.0) + drop, 2),
                )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: it shows what it should."""
        facts = {"cold_kpa": 197.0, "cold_at_c": 29.0, "set_kpa": 195.0, "set_at_c": 26.0}
        return case(tyre("T5", facts=facts))

    def example_fail(self) -> FittingCase:
        """Return the case: soft, out of the boot."""
        facts = {"cold_kpa": 178.0, "cold_at_c": 29.0, "set_kpa": 195.0, "set_at_c": 26.0}
        return case(tyre("T5", facts=facts))


def leak_drop_kpa(one: TyreFacts) -> float | None:
    """Return how far a cold reading lies under what it should show, or None."""
    if one.cold_kpa is None or one.set_kpa is None:
        return None
    if one.cold_at_c is None or one.set_at_c is None:
        return one.set_kpa - one.cold_kpa
    return due_kpa(one.set_kpa, one.set_at_c, one.cold_at_c) - one.cold_kpa


class NutsChecked(Rule):
    """Wheel nuts are checked again."""

    name: ClassVar = "Wheel nuts"
    code: ClassVar = "NUT-1"
    clause: ClassVar = (
        "After a wheel goes on, its nuts are torqued, and again at the next stop."
    )
    when: ClassVar = moments("fitting", "reading", "time_control")
    field: ClassVar = "retorque_after_km"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Look for wheels put on without a tick, here or before."""
        done = case.torque_done or frozenset()
        at = case.next_ref or (case.place.out_ref if case.place else "the next stop")
        messages: list[Message] = []
        for corner in CORNERS:
            one = case.on_corners().get(corner)
            if one is None or corner in done:
                continue
            fresh = case.before is not None and case.before.get(corner) != one.tyre_id
            if fresh and case.torque_done is not None:
                text = (
                    f"Wheel {corner} ({one.tyre_id}) was put on here: torque not entered yet."
                )
                messages += self.says(
                    case, "watch", text, corner=corner, tyre=one.tyre_id, km=0.0
                )
            elif one.km_since_torque is not None:
                km = one.km_since_torque
                messages += self.says(
                    case,
                    "watch",
                    f"Wheel {corner} ({one.tyre_id}) fitted {km:.1f} km ago; re-torque due at "
                    f"{at}, at the latest after {case.rules.retorque_after_km:g} km.",
                    corner=corner,
                    tyre=one.tyre_id,
                    km=km,
                )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: all four ticked."""
        return case(before={}, torque_done=frozenset(CORNERS))

    def example_fail(self) -> FittingCase:
        """Return the case: a wheel changed on the road."""
        return case(tyre("T3", facts={"km_since_torque": 21.5}))
