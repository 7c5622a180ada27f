"""A simulated day, played loop by loop by one policy, and by all of them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from crewdesk.desk.ask import money_per_s
from crewdesk.desk.backtest.foresight import Foresight
from crewdesk.desk.backtest.garage import Garage, true_tables
from crewdesk.desk.backtest.notebook import Choice, Notebook
from crewdesk.desk.backtest.policies import (
    POLICIES,
    Call,
    Engine,
    MorningPlan,
    Policy,
    RuleOfThumb,
    Stop,
)
from crewdesk.desk.backtest.truth import Truth
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.itinerary import ChangePlace
from crewdesk.units import Place

CALL_SEED = 0
"""The draw of weathers that the call looks at is the same on every day."""


@dataclass
class Played:
    """What a policy made of a day."""

    time_s: float = 0.0
    """Stage time of the loops that were driven."""
    lost_s: float = 0.0
    """To punctures."""
    money: float = 0.0
    punctures: int = 0
    breaches: list[str] = field(default_factory=list)
    """Rule and place, or tyre, of each stopping rule that was broken."""
    no_plan: bool = False
    fittings: list[tuple[str, Mapping[Place, str | None]]] = field(default_factory=list)
    made_by: str = ""
    """Who made the plan that stands for full foresight, where it is that of another."""
    open_s: float | None = None
    """By how much foresight's own plan may be from the best one. [s]"""

    def cost_s(self, xi_money_per_s: float) -> float:
        """Return what the day cost, whatever was broken. [s]."""
        money_s = self.money / xi_money_per_s if xi_money_per_s > 0.0 else 0.0
        return self.time_s + self.lost_s + money_s

    @property
    def whole(self) -> bool:
        """Say whether the day was driven to its end without breaking a rule."""
        return not self.no_plan and not self.breaches


class _Gate:
    """Asks the rules about fittings, each only once."""

    def __init__(self, book: Notebook, place: ChangePlace) -> None:
        self._book, self._place = book, place
        self._seen: list[tuple[Choice, tuple[str, ...]]] = []

    def refused(self, choice: Choice) -> tuple[str, ...]:
        """Return the codes of the stopping rules that a fitting breaks."""
        for known, codes in self._seen:
            if known is choice:
                return codes
        codes = self._book.refused(self._place, choice)
        self._seen.append((choice, codes))
        return codes

    def accepts(self, choice: Choice) -> bool:
        """Say whether a fitting breaks no stopping rule."""
        return not self.refused(choice)


def play(bundle: EventBundle, truth: Truth, garage: Garage, policy: Policy) -> Played:
    """Return a day as one policy drives it.

    At a change place whose loop has no stages the car goes out as it came in. What breaks a
    stopping rule is counted and driven on; a place without a fitting ends the day.
    """
    book, played = Notebook(bundle), Played()
    car: Mapping[Place, str | None] | None = None
    ran = False
    for place in bundle.itinerary.change_places:
        book.car_in(place, truth, garage, car, ran=ran)
        ran = False
        if not place.stages:
            if car is not None:
                book.stay(place, car)
            continue
        gate = _Gate(book, place)
        choice = policy.choose(book.seen(place), gate.accepts)
        if choice is None:
            played.no_plan = True
            break
        played.fittings.append((place.key, dict(choice.fitting)))
        played.breaches += [f"{code} {place.key}" for code in gate.refused(choice)]
        book.fit(place, choice)
        driven = garage.drive(place, choice.fitting, choice.cold_kpa)
        book.loop_driven(driven)
        car, ran = driven.car, True
        played.time_s += sum(driven.stage_s.values())
        played.lost_s += driven.lost_s
        played.punctures += len(driven.flats)
        played.breaches += [f"TRD-1 {tyre} after {place.key}" for tyre in driven.below]
    played.money = garage.money
    return played


def play_all(
    bundle: EventBundle,
    truth: Truth,
    scenarios: int,
    *,
    stop: Stop | None = None,
    only: Sequence[str] = POLICIES,
) -> dict[str, Played]:
    """Return one day as each policy drives it: the same truth, the same stones.

    Whoever knows the day could also have made the plans of the others: the best of them all
    stands for full foresight.
    """
    tables = true_tables(bundle, truth)
    engine = Engine(stop)
    played = {}
    for name in only:
        garage = Garage(bundle, truth, tables)
        foresight = Foresight(engine, truth, garage)
        deciders: dict[str, Policy] = {
            "call": Call(engine, scenarios, CALL_SEED),
            "rule_of_thumb": RuleOfThumb(),
            "morning_plan": MorningPlan(engine, scenarios, CALL_SEED),
            "foresight": foresight,
        }
        played[name] = play(bundle, truth, garage, deciders[name])
        if name == "foresight":
            played[name].open_s = foresight.open_s
    if "foresight" in played:
        xi = money_per_s(bundle, bundle.event.settings.new_tyre_worth_s)
        played["foresight"] = best_of(played, xi)
    return played


def best_of(played: Mapping[str, Played], xi_money_per_s: float) -> Played:
    """Return the best of the days: whole before broken, broken before one without a plan."""
    own = played["foresight"]

    def rank(name: str) -> tuple[bool, bool, float, bool]:
        day = played[name]
        return day.no_plan, not day.whole, day.cost_s(xi_money_per_s), name != "foresight"

    best = min(played, key=rank)
    if best == "foresight":
        return own
    return replace(played[best], made_by=best, open_s=own.open_s)
