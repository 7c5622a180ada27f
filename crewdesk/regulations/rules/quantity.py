"""How many tyres, of which kind, and whether they belong to the event."""

from dataclasses import replace
from typing import ClassVar

from crewdesk.regulations.fitting import FittingCase, When
from crewdesk.regulations.ledger import Ledger, group_of
from crewdesk.regulations.order import natural_key
from crewdesk.regulations.predicates import corner_allowed, may_use
from crewdesk.regulations.rulebook import Message
from crewdesk.regulations.rules.base import Rule, clock, listed, moments
from crewdesk.regulations.rules.examples import NOON, case, rules, tyre
from crewdesk.units import CORNERS

_COUNTING: frozenset[When] = moments("proposal", "fitting")


def _counted(*tyre_ids: str) -> Ledger:
    return Ledger(
        counted=tyre_ids,
        groups=dict.fromkeys(tyre_ids, "medium"),
        compounds=dict.fromkeys(tyre_ids, "medium"),
        limit=8,
    )


def counted_that_fit(case: FittingCase) -> tuple[str, ...]:
    """Return tyres already counted that could go on a corner and are not in the fitting."""
    placed = {tyre_id for tyre_id in case.fitting.values() if tyre_id is not None}
    return tuple(
        tyre_id
        for tyre_id in sorted(case.ledger.counted, key=natural_key)
        if tyre_id not in placed
        and tyre_id in case.tyres
        and may_use(case.tyres[tyre_id], case.rules)[0]
        and min(case.tyres[tyre_id].tread_now_mm) >= case.rules.tread_min_mm
        and any(corner_allowed(case.tyres[tyre_id].stock, corner) for corner in CORNERS)
    )


class TotalQuantity(Rule):
    """The number of tyres for the event."""

    name: ClassVar = "Tyres for the event"
    code: ClassVar = "QTY-1"
    clause: ClassVar = "Only so many tyres may be used; one fitted or carried counts for good."
    when: ClassVar = _COUNTING
    field: ClassVar = "qty_total"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Count what the fitting would add."""
        limit = case.rules.qty_total
        new = case.ledger.newly_counted(case.fitting, case.tyres)
        if not new:
            return ()
        return self._for_a_while(case, len(new)) + self._in_all(case, limit, new)

    def _for_a_while(self, case: FittingCase, adds: int) -> tuple[Message, ...]:
        """Look at the limits of a leg and of one place."""
        messages: list[Message] = []
        for words, most, used in (
            ("in this leg", case.rules.qty_per_leg, case.counted_this_leg),
            ("at this place", case.rules.qty_per_service, case.counted_here),
        ):
            if most is not None and used + adds > most:
                messages += self.says(
                    case,
                    "stops",
                    f"{used} of {most} tyres counted {words}; this fitting would make it "
                    f"{used + adds} of {most}. Tyres already counted that fit here: "
                    f"{listed(counted_that_fit(case))}.",
                    used=used,
                    limit=most,
                    would_be=used + adds,
                )
        return tuple(messages)

    def _in_all(
        self, case: FittingCase, limit: int | None, new: tuple[str, ...]
    ) -> tuple[Message, ...]:
        if limit is None:
            return ()
        used, after = case.ledger.used, case.ledger.used + len(new)
        if after < limit:
            return ()
        if after == limit:
            return self.says(
                case,
                "note",
                f"The last marked tyre is now counted: {after} of {limit}.",
                used=after,
                limit=limit,
                last=new[-1],
            )
        over = new[max(limit - used, 0) :]
        first = used + len(new) - len(over) + 1
        numbered = listed(f"{one} number {n}" for n, one in enumerate(over, start=first))
        usable = counted_that_fit(case)
        return self.says(
            case,
            "stops",
            f"{used} of {limit} tyres counted; this fitting would make it {after} of {limit} "
            f"({numbered}). Tyres already counted that fit here: {listed(usable)}.",
            used=used,
            limit=limit,
            would_be=after,
            over=over,
            counted_that_fit=usable,
        )

    def example_pass(self) -> FittingCase:
        """Return the case: five of eight."""
        return case()

    def example_fail(self) -> FittingCase:
        """Return the case: seven counted, five more."""
        ids = tuple(f"U{n}" for n in range(1, 8))
        return case(*(tyre(one) for one in ids), ledger=_counted(*ids))


class CapQuantity(Rule):
    """The number of tyres of one compound."""

    name: ClassVar = "Tyres of a compound"
    code: ClassVar = "QTY-2"
    clause: ClassVar = "Of each compound only so many tyres may be used."
    when: ClassVar = _COUNTING
    field: ClassVar = "caps"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Count by cap group."""
        new = case.ledger.newly_counted(case.fitting, case.tyres)
        messages: list[Message] = []
        for group, cap in sorted(case.rules.caps.items()):
            adds = [one for one in new if group_of(case.tyres[one].stock) == group]
            used = case.ledger.by_group.get(group, 0)
            if adds and used + len(adds) > cap:
                messages += self.says(
                    case,
                    "stops",
                    f"{group[:1].upper()}{group[1:]}: {used} of {cap} used; "
                    f"with {listed(adds)} it would be "
                    f"{used + len(adds)} of {cap}. Take tyres of this kind already counted.",
                    group=group,
                    used=used,
                    cap=cap,
                    would_be=used + len(adds),
                    tyres=tuple(adds),
                )
        used_cap = case.rules.prior_use_cap
        if used_cap is not None:
            adds = [one for one in new if not case.tyres[one].stock.new]
            used = sum(
                one in case.tyres and not case.tyres[one].stock.new
                for one in case.ledger.counted
            )
            if adds and used + len(adds) > used_cap:
                messages += self.says(
                    case,
                    "stops",
                    f"Used tyres of earlier events: {used} of {used_cap} used; with "
                    f"{listed(adds)} it would be {used + len(adds)} of {used_cap}. Take new "
                    "ones.",
                    group="used before the event",
                    used=used,
                    cap=used_cap,
                    would_be=used + len(adds),
                    tyres=tuple(adds),
                )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: no cap is touched."""
        return case()

    def example_fail(self) -> FittingCase:
        """Return the case: five softs where four are allowed."""
        return case(*(tyre(f"T{n}", compound="soft") for n in range(1, 6)))


class ShakedownTyre(Rule):
    """Shakedown tyres stay out of the rally."""

    name: ClassVar = "Shakedown tyres"
    code: ClassVar = "QTY-3"
    clause: ClassVar = "Tyres of the shakedown allowance are not used in the rally."
    when: ClassVar = moments("import", "nomination", "proposal", "fitting")
    field: ClassVar = "qty_shakedown"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Look for shakedown tyres on the car, and for too many of them in the stock."""
        messages: list[Message] = []
        for place, one in case.placed():
            if one.stock.counts_against == "shakedown":
                messages += self.says(
                    case,
                    "stops",
                    f"{one.tyre_id} belongs to the shakedown allowance. Take a tyre of the "
                    "event.",
                    tyre=one.tyre_id,
                    place=place,
                )
        count = sum(t.stock.counts_against == "shakedown" for t in case.tyres.values())
        if count > case.rules.qty_shakedown:
            messages += self.says(
                case,
                "stops",
                f"{count} tyres are set down for the shakedown, {case.rules.qty_shakedown} "
                "allowed. Take some off the list.",
                count=count,
                limit=case.rules.qty_shakedown,
            )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: two in the stock, none on the car."""
        return case(
            tyre("X1", counts_against="shakedown"), tyre("X2", counts_against="shakedown")
        )

    def example_fail(self) -> FittingCase:
        """Return the case: one on the car."""
        return case(tyre("T1", counts_against="shakedown"))


class NominationClosing(Rule):
    """The nomination closes soon."""

    name: ClassVar = "Nomination closes"
    code: ClassVar = "QTY-4"
    clause: ClassVar = "The list of tyres is handed in by a set time."
    when: ClassVar = moments("nomination")

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Remind from a day before until it closes, while tyres lack a choice."""
        if case.nominate_by is None or case.now is None or not case.undecided:
            return ()
        left_h = (case.nominate_by - case.now).total_seconds() / 3600
        if not 0 <= left_h <= 24:
            return ()
        return self.says(
            case,
            "watch",
            f"The nomination closes {clock(case.nominate_by, case.zone)}, {left_h:.0f} h left; "
            f"{case.undecided} tyres without a choice.",
            hours_left=round(left_h, 2),
            undecided=case.undecided,
        )

    def example_pass(self) -> FittingCase:
        """Return the case: nothing left to choose."""
        return case(nominate_by=NOON, now=NOON.replace(hour=10))

    def example_fail(self) -> FittingCase:
        """Return the case: two hours and three tyres left."""
        return case(nominate_by=NOON, now=NOON.replace(hour=10), undecided=3)


class Nominated(Rule):
    """Only nominated and permitted tyres."""

    name: ClassVar = "Nominated tyres"
    code: ClassVar = "QTY-5"
    clause: ClassVar = (
        "Only tyres on the nomination or marking list, and of one maker where asked."
    )
    when: ClassVar = moments("nomination", "proposal", "fitting")
    field: ClassVar = "registration_needed"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Look at the list; a tyre without a mark is told of by its own rule."""
        messages: list[Message] = []
        for place, one in case.placed():
            unmarked = case.rules.marks_needed and not one.stock.mark
            outside = one.stock.counts_against == "none" or (
                case.rules.registration_needed and not one.stock.registered
            )
            if outside and not unmarked and one.stock.counts_against != "shakedown":
                messages += self.says(
                    case,
                    "stops",
                    f"{one.tyre_id} is not nominated or not on the permitted list. "
                    "Take one that is.",
                    tyre=one.tyre_id,
                    place=place,
                )
            elif case.rules.permitted_makers and (
                one.stock.maker not in case.rules.permitted_makers
            ):
                messages += self.says(
                    case,
                    "stops",
                    f"{one.tyre_id} is of {one.stock.maker}; the permitted list has "
                    f"{listed(case.rules.permitted_makers)}. Take one of these.",
                    tyre=one.tyre_id,
                    place=place,
                )
        makers = sorted({one.stock.maker for _, one in case.placed()})
        if case.rules.maker_locked and len(makers) > 1:
            messages += self.says(
                case,
                "stops",
                f"All tyres must be of one maker; here are {listed(makers)}.",
                makers=tuple(makers),
            )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: all on the list."""
        return case(book=rules(maker_locked=True))

    def example_fail(self) -> FittingCase:
        """Return the case: one that is not on it."""
        made = case()
        odd = replace(made.tyres["T2"], stock=tyre("T2", registered=False).stock)
        return replace(made, tyres={**made.tyres, "T2": odd})
