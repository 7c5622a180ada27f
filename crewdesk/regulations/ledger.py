"""What has been used up of the limits: a tyre counts once, when first fitted or carried."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from crewdesk.documents.stock import StockTyre
from crewdesk.regulations.rulebook import Rulebook
from crewdesk.units import CORNERS, PLACES, Place

if TYPE_CHECKING:
    from crewdesk.regulations.fitting import TyreFacts


@dataclass(frozen=True)
class Ledger:
    """Counted tyres in the order they were counted."""

    counted: tuple[str, ...] = ()
    groups: Mapping[str, str] = field(default_factory=dict)
    """Cap group by counted id."""
    compounds: Mapping[str, str] = field(default_factory=dict)
    """Compound word by counted id."""
    jokers: tuple[str, ...] = ()
    """Damage replacements in use: beside the limit."""
    limit: int | None = None
    count_rule: str = "fitted_or_carried"
    shakedown_in_total: bool = False
    wets_count: bool = True

    @classmethod
    def start(cls, rules: Rulebook, tyres: Mapping[str, TyreFacts] | None = None) -> Ledger:
        """Return the count before the first control.

        Where the shakedown is inside the total, its tyres count from the beginning.
        """
        empty = cls(
            limit=rules.qty_total,
            count_rule=rules.count_rule,
            shakedown_in_total=rules.shakedown_in_total,
            wets_count=rules.wets_count,
        )
        if not rules.shakedown_in_total or not tyres:
            return empty
        ran = [t for t in tyres.values() if t.stock.counts_against == "shakedown"]
        for tyre in ran:
            empty = empty._with(tyre)
        return empty

    @property
    def used(self) -> int:
        """Return how many tyres are counted."""
        return len(self.counted)

    @property
    def by_group(self) -> dict[str, int]:
        """Return how many are counted by cap group, in the order of names."""
        return dict(sorted(Counter(self.groups[key] for key in self.counted).items()))

    @property
    def by_compound(self) -> dict[str, int]:
        """Return how many are counted by compound word, in the order of names."""
        return dict(sorted(Counter(self.compounds[key] for key in self.counted).items()))

    @property
    def left(self) -> int | None:
        """Return how many may still be counted; None: no limit."""
        return None if self.limit is None else max(self.limit - self.used, 0)

    def newly_counted(
        self, fitting: Mapping[Place, str | None], tyres: Mapping[str, TyreFacts]
    ) -> tuple[str, ...]:
        """Return the tyres that a fitting would count, in the order of the places."""
        places = CORNERS if self.count_rule == "fitted" else PLACES
        new: list[str] = []
        for place in places:
            tyre_id = fitting.get(place)
            if tyre_id is None or tyre_id in self.counted or tyre_id in new:
                continue
            tyre = tyres.get(tyre_id)
            if tyre is not None and self._counts(tyre) and not is_approved_joker(tyre):
                new.append(tyre_id)
        return tuple(new)

    def with_fitting(
        self, fitting: Mapping[Place, str | None], tyres: Mapping[str, TyreFacts]
    ) -> Ledger:
        """Return the count after a fitting; fitting the same again changes nothing."""
        after = self
        for tyre_id in self.newly_counted(fitting, tyres):
            after = after._with(tyres[tyre_id])
        for place in PLACES:
            tyre = tyres.get(fitting.get(place) or "")
            if (
                tyre is not None
                and is_approved_joker(tyre)
                and tyre.tyre_id not in (*after.jokers, *after.counted)
            ):
                after = replace(after, jokers=(*after.jokers, tyre.tyre_id))
        return after

    def _counts(self, tyre: TyreFacts) -> bool:
        if not self.wets_count and tyre.stock.use == "asphalt_wet":
            return False
        against = tyre.stock.counts_against
        return against == "event" or (against == "shakedown" and self.shakedown_in_total)

    def _with(self, tyre: TyreFacts) -> Ledger:
        return replace(
            self,
            counted=(*self.counted, tyre.tyre_id),
            groups={**self.groups, tyre.tyre_id: group_of(tyre.stock)},
            compounds={**self.compounds, tyre.tyre_id: tyre.stock.compound},
        )


def group_of(stock: StockTyre) -> str:
    """Return the cap that a tyre counts under."""
    return stock.cap_group or stock.compound


def is_approved_joker(tyre: TyreFacts) -> bool:
    """Say whether a tyre is a damage replacement with its sheet and a name."""
    return bool(tyre.joker_for and tyre.joker_sheet and tyre.approved_by)
