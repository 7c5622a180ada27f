"""Who decides on a simulated day without knowing it: the call, a held plan, a rule of thumb."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Protocol

from crewdesk.desk.answer import CallOptions
from crewdesk.desk.ask import build_problem
from crewdesk.desk.backtest.notebook import Choice, Seen
from crewdesk.desk.backtest.thumb import Accepts, by_thumb, stand_in
from crewdesk.engine.others import without_least_tread
from crewdesk.engine.problem import Problem
from crewdesk.engine.result import LoopPlan, PlanResult
from crewdesk.engine.solve import propose

POLICIES = ("call", "rule_of_thumb", "morning_plan", "foresight")
WORK = 50
"""Units of search for one decision: as much as the engine's own quick answer."""

Stop = Callable[[], bool]


class DayStopped(Exception):  # noqa: N818 - nothing went wrong
    """Somebody wants no more of this day."""


class Policy(Protocol):
    """Somebody who decides what goes on the car."""

    def choose(self, seen: Seen, accepts: Accepts) -> Choice | None:
        """Return the fitting for the next loop; None where there is no way."""


class Engine:
    """The engine with the effort of one decision; the morning's question is asked once."""

    def __init__(self, stop: Stop | None = None) -> None:
        self._stop = stop
        self._morning: PlanResult | None = None

    def answer(
        self, problem: Problem, *, work: int = WORK, spares: int | None = None
    ) -> PlanResult:
        """Return the engine's quick answer.

        Where no plan keeps the least tread through all loops the car still goes on: then the
        best that there is. What goes under it on the road counts.
        """
        result = self._asked(problem, work, spares)
        if result.plan:
            return result
        return self._asked(without_least_tread(problem), work, spares)

    def _asked(self, problem: Problem, work: int, spares: int | None) -> PlanResult:
        """Return the answer to one question."""
        if self._stop is not None and self._stop():
            raise DayStopped
        result = propose(
            problem,
            effort="quick",
            work_limit=work,
            stop=self._stop,
            spares_first=spares,
            explain=False,
        )
        if self._stop is not None and self._stop():
            # A search that was cut short is no answer to count.
            raise DayStopped
        return result

    def morning(self, problem: Problem) -> PlanResult:
        """Return the answer to the first question of a day, the same for all who ask it."""
        if self._morning is None:
            self._morning = self.answer(problem)
        return self._morning


def asked(seen: Seen, scenarios: int, seed: int) -> Problem:
    """Return the problem as a crew's desk puts it at a place.

    A tyre under the least tread has the price that it costs the day when the days are counted:
    whoever decides knows what is at stake.
    """
    options = CallOptions(at=seen.place.key, scenarios=scenarios, seed=seed)
    problem = build_problem(seen.bundle, seen.state, options, seen.now_utc)
    settings = problem.settings
    price_s = max(settings.tread_risk_s, settings.wheel_lost_s)
    settings = settings.model_copy(update={"tread_risk_s": price_s})
    return replace(problem, settings=settings)


def choice_of(plan: tuple[LoopPlan, ...], at: int) -> Choice:
    """Return one fitting of a plan, with the wheels for a zone behind it."""
    loop = plan[at]
    after = plan[at + 1] if at + 1 < len(plan) else None
    return Choice(
        loop.fitting,
        loop.cold_pressure_kpa,
        loop.rims,
        after.bring if after is not None else (),
        after.bring_rims if after is not None else {},
    )


class Call:
    """The call, asked at every change place with all that the crew has entered by then."""

    def __init__(self, engine: Engine, scenarios: int, seed: int) -> None:
        self._engine = engine
        self._asks = (scenarios, seed)
        self._first = True

    def choose(self, seen: Seen, accepts: Accepts) -> Choice | None:
        """Return the engine's call."""
        del accepts  # what the call breaks is counted, not mended
        ask = self._engine.morning if self._first else self._engine.answer
        result = ask(asked(seen, *self._asks))
        self._first = False
        return choice_of(result.plan, 0) if result.plan else None


class RuleOfThumb:
    """A crew without a program."""

    def choose(self, seen: Seen, accepts: Accepts) -> Choice | None:
        """Return what the rule of thumb puts on."""
        return by_thumb(asked(seen, 1, 0), accepts)


class MorningPlan:
    """The call's plan of the morning, held; what cannot be fitted is replaced by rule."""

    def __init__(self, engine: Engine, scenarios: int, seed: int) -> None:
        self._engine = engine
        self._asks = (scenarios, seed)
        self._plan: Mapping[str, LoopPlan] | None = None

    def choose(self, seen: Seen, accepts: Accepts) -> Choice | None:
        """Return the fitting planned in the morning, or what can be had of it."""
        if self._plan is None:
            result = self._engine.morning(asked(seen, *self._asks))
            self._plan = {loop.place: loop for loop in result.plan}
        loop = self._plan.get(seen.place.key)
        if loop is None:
            return None
        problem = asked(seen, 1, 0)
        after = next((p for p in problem.places[1:2] if p.kind == "zone"), None)
        held = stand_in(problem, loop.fitting, accepts)
        if held is None:
            return by_thumb(problem, accepts)
        if after is not None and after.key in self._plan:
            bring = choice_of((loop, self._plan[after.key]), 0)
            known = {t.stock.tyre_id for t in problem.tyres if t.usable}
            wheels = tuple(t for t in bring.bring if t in known)
            held = replace(held, bring=wheels, bring_rims=bring.bring_rims)
        return held
