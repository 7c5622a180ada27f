"""The stock by kind, for the checks before the event, and how a check is told."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from crewdesk.desk.case import facts_of, models_of, rules_of
from crewdesk.desk.models import model_of
from crewdesk.desk.state import DayState, TyreNow
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.event import TyreModel
from crewdesk.documents.itinerary import Stage
from crewdesk.regulations.predicates import may_use

Level = Literal["stops", "watch", "note", "holds"]
ORDER: Mapping[str, int] = {"stops": 0, "watch": 1, "note": 2, "holds": 3}


@dataclass(frozen=True)
class Checked:
    """One check of the event before it begins."""

    topic: str
    """size, load, warmth, pressures, age, distance or casing."""
    level: Level
    text: str
    who: tuple[str, ...] = ()
    """Kinds or tyres it is said of; empty: the whole set."""
    caution: str = ""
    """Id of the caution that belongs to it."""
    values: Mapping[str, object] = field(default_factory=dict)

    @property
    def words(self) -> str:
        """Return it as a sentence."""
        if self.who:
            return f"{listed(self.who)}: {self.text}"
        return self.text[:1].upper() + self.text[1:]


def gathered(told: Sequence[Checked]) -> tuple[Checked, ...]:
    """Return the checks with those that say the same of several kinds as one, gravest first."""
    found: dict[tuple[str, ...], Checked] = {}
    for one in told:
        key = (one.topic, one.level, one.text, one.caution)
        known = found.get(key)
        found[key] = one if known is None else replace(known, who=known.who + one.who)
    return tuple(sorted(found.values(), key=lambda one: ORDER[one.level]))


@dataclass(frozen=True)
class Kind:
    """The usable tyres of one maker, model, compound and size."""

    tyres: tuple[TyreNow, ...]
    model: TyreModel
    known: bool
    """The event's papers hold the model; else it is made up from the stock's row."""
    also: frozenset[str] = frozenset()
    """Surfaces that it runs on at this event beside those it is made for."""

    @property
    def one(self) -> TyreNow:
        """Return the tyre that stands for all: the deepest."""
        return max(self.tyres, key=lambda t: (sum(t.stock.tread_mm), t.tyre_id))

    @property
    def name(self) -> str:
        """Return the kind as the crew says it."""
        stock = self.one.stock
        return f"{stock.maker} {stock.model} {stock.compound}".strip()

    @property
    def use(self) -> str:
        """Return the family."""
        return self.one.stock.use

    def suits(self, surface: str) -> bool:
        """Say whether it is made for a surface, dry or wet, or meant for it at this event."""
        return surface in SURFACES_OF[self.use] | self.also


SURFACES_OF: Mapping[str, frozenset[str]] = {
    "gravel": frozenset({"gravel"}),
    "asphalt": frozenset({"asphalt"}),
    "asphalt_wet": frozenset({"asphalt"}),
    "winter": frozenset({"snow", "ice"}),
}


def kinds_of(bundle: EventBundle, state: DayState) -> tuple[Kind, ...]:
    """Return the kinds of the usable tyres, in the order of the stock.

    Where there is snow or ice, a winter tyre also runs on the bare roads between.
    """
    roads = frozenset(stage.surface for stage in bundle.itinerary.stages)
    wintry = bool(roads & SURFACES_OF["winter"])
    models = models_of(bundle)
    facts = facts_of(bundle, state)
    rules = rules_of(bundle)
    found: dict[tuple[str, ...], list[TyreNow]] = {}
    for tyre in state.tyres.values():
        if may_use(facts[tyre.tyre_id], rules)[0]:
            stock = tyre.stock
            key = (*stock.kind_key, stock.use, stock.size, stock.service_desc)
            found.setdefault(key, []).append(tyre)
    return tuple(
        Kind(
            tuple(tyres),
            model_of(tyres[0].stock, models),
            tyres[0].stock.kind_key in models,
            roads if wintry and tyres[0].stock.use == "winter" else frozenset(),
        )
        for tyres in found.values()
    )


def listed(words: Sequence[str], most: int = 4) -> str:
    """Return words as a list; of many only the first ones, with the count of the rest."""
    kept = list(dict.fromkeys(words))
    if len(kept) > most:
        kept = [*kept[:most], f"{len(kept) - most} more"]
    if len(kept) < 2:
        return "".join(kept)
    return f"{', '.join(kept[:-1])} and {kept[-1]}"


def km_of(stages: Sequence[Stage]) -> float:
    """Return the length of some stages."""
    return sum(stage.km for stage in stages)
