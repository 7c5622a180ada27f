"""What is carried, and what may stand together on an axle."""

from typing import ClassVar

from crewdesk.documents.stock import StockTyre
from crewdesk.regulations.fitting import FittingCase, TyreFacts
from crewdesk.regulations.predicates import (
    ACROSS,
    axle_differences,
    axle_level,
    is_side_or_diagonal_mix,
    spare_covers,
)
from crewdesk.regulations.rulebook import Message
from crewdesk.regulations.rules.base import Rule, listed, moments
from crewdesk.regulations.rules.examples import case, rules, tyre
from crewdesk.units import CORNERS, Corner

_MIX_WORDS = {
    "side": "One kind stands on the left, another on the right.",
    "diagonal": "The two kinds stand crosswise.",
}


def _fitted(case: FittingCase) -> dict[Corner, StockTyre]:
    return {corner: one.stock for corner, one in case.on_corners().items()}


def _words(one: StockTyre) -> str:
    return f"{one.tyre_id} ({one.maker} {one.compound})"


class SpareCount(Rule):
    """The number of tyres carried."""

    name: ClassVar = "Number of spares"
    code: ClassVar = "SPR-1"
    clause: ClassVar = "The car carries no more spares than allowed, and enough sound ones."
    when: ClassVar = moments("proposal", "fitting", "reading")
    field: ClassVar = "spare_max"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Count those carried, and the sound ones among them."""
        if not case.on_corners():
            return ()
        least, most = case.rules.spare_min, case.rules.spare_max
        carried = case.carried()
        if len(carried) > most:
            return self.says(
                case,
                "stops",
                f"{len(carried)} spares, allowed {least} to {most}. Leave one here.",
                spares=len(carried),
                spare_min=least,
                spare_max=most,
            )
        unsound = [one.tyre_id for one in carried if one.status != "ok"]
        sound = len(carried) - len(unsound)
        if sound >= least:
            return ()
        broken = f" ({listed(unsound)} not sound)" if unsound else ""
        return self.says(
            case,
            "watch",
            f"{sound} sound {'spare' if sound == 1 else 'spares'} on board{broken}, "
            f"allowed {least} to {most}.",
            spares=len(carried),
            sound=sound,
            spare_min=least,
            spare_max=most,
        )

    def example_pass(self) -> FittingCase:
        """Return the case: one."""
        return case()

    def example_fail(self) -> FittingCase:
        """Return the case: none where one is asked for."""
        return case(fitting={"FL": "T1", "FR": "T2", "RL": "T3", "RR": "T4"})


class SpareUsable(Rule):
    """A spare that can stand in everywhere."""

    name: ClassVar = "Spares that can be used"
    code: ClassVar = "SPR-2"
    clause: ClassVar = "A spare should suit every corner: side, lock and the tyre beside it."
    when: ClassVar = moments("proposal", "fitting")

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Say for each spare where it cannot go."""
        messages: list[Message] = []
        fitted = _fitted(case)
        if not fitted:
            return ()
        for one in case.carried():
            covers = spare_covers(one.stock, fitted, case.rules)
            cannot = tuple(corner for corner in CORNERS if corner not in covers)
            if not cannot:
                continue
            where = "any corner" if not covers else listed(cannot)
            still = f"; it suits {listed(covers)}" if covers else ""
            messages += self.says(
                case,
                "watch",
                f"Spare {_words(one.stock)} cannot go on {where}{still}.",
                tyre=one.tyre_id,
                covers=covers,
                cannot=cannot,
            )
        return tuple(messages)

    def example_pass(self) -> FittingCase:
        """Return the case: one like the others."""
        return case()

    def example_fail(self) -> FittingCase:
        """Return the case: one of another maker, where that is not allowed on an axle."""
        return case(tyre("T5", maker="Maker Two"))


class AxleMix(Rule):
    """Two tyres of one axle."""

    name: ClassVar = "Tyres of one axle"
    code: ClassVar = "AXL-1"
    clause: ClassVar = "What may differ on an axle: compound (model counts), maker, structure."
    when: ClassVar = moments("proposal", "fitting")
    field: ClassVar = "axle_mix"

    def check(self, case: FittingCase) -> tuple[Message, ...]:
        """Compare left and right, then each spare with the corners it would stand on."""
        on = _fitted(case)
        messages: list[Message] = []
        for axle, left, right in (("front", "FL", "FR"), ("rear", "RL", "RR")):
            a, b = on.get(left), on.get(right)  # type: ignore[call-overload]
            if a is None or b is None or axle_level(a, b, case.rules) == "ok":
                continue
            differs = [
                name for name, level in axle_differences(a, b, case.rules) if level != "ok"
            ]
            mix = self._mix(on)
            todo = "Put two of a kind on it." if axle_level(a, b, case.rules) == "block" else ""
            todo = todo or _MIX_WORDS.get(mix, "")
            messages += self.says(
                case,
                "stops" if axle_level(a, b, case.rules) == "block" else "watch",
                f"{axle.capitalize()} axle: {_words(a)} with {_words(b)}, "
                f"{' and '.join(differs)} differ{'' if len(differs) > 1 else 's'}. "
                f"{todo}".rstrip(),
                axle=axle,
                left=a.tyre_id,
                right=b.tyre_id,
                differs=tuple(differs),
                mix=mix,
            )
        for one in case.carried():
            messages += self._spare(case, one, on)
        return tuple(messages)

    def _mix(self, on: dict[Corner, StockTyre]) -> str:
        if len(on) < 4:
            return ""
        return is_side_or_diagonal_mix(on["FL"], on["FR"], on["RL"], on["RR"])

    def _spare(
        self, case: FittingCase, one: TyreFacts, on: dict[Corner, StockTyre]
    ) -> tuple[Message, ...]:
        """Speak up where a spare would mix on every corner that it can go on."""
        covers = spare_covers(one.stock, on, case.rules)
        beside = [on[ACROSS[corner]] for corner in covers if ACROSS[corner] in on]
        levels = {axle_level(one.stock, other, case.rules) for other in beside}
        if levels != {"warn"}:
            return ()
        return self.says(
            case,
            "watch",
            f"Spare {_words(one.stock)} on a corner would stand beside {_words(beside[0])}.",
            spare=one.tyre_id,
            beside=tuple(other.tyre_id for other in beside),
        )

    def example_pass(self) -> FittingCase:
        """Return the case: front and rear differ, the axles do not."""
        return case(tyre("T1", compound="soft"), tyre("T2", compound="soft"))

    def example_fail(self) -> FittingCase:
        """Return the case: two makers on the front axle."""
        return case(tyre("T1", maker="Maker Two"), book=rules(axle_mix={"maker": "block"}))
