"""What the policies made of the days, counted, and as JSON."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from crewdesk.desk.backtest.play import Played
from crewdesk.desk.backtest.policies import POLICIES
from crewdesk.desk.backtest.truth import Truth
from crewdesk.documents.bundle import EventBundle
from crewdesk.units import Place

LEAST_S = 1.0
"""Under this difference between rule of thumb and foresight a share means nothing."""


@dataclass(frozen=True)
class Score:
    """One day of one policy."""

    total_s: float
    """Cost as it counts: a day that breaks a stopping rule or has no plan counts the cost of
    foresight and a lost wheel."""
    time_s: float
    punctures_s: float
    money: float
    money_s: float
    punctures: int
    breaches: tuple[str, ...]
    no_plan: bool
    fittings: tuple[tuple[str, Mapping[Place, str | None]], ...]

    @property
    def driven_s(self) -> float:
        """Return the cost as driven, whatever was broken. [s]."""
        return self.time_s + self.punctures_s + self.money_s

    @property
    def whole(self) -> bool:
        """Say whether the day was driven to its end without breaking a rule."""
        return not self.no_plan and not self.breaches


@dataclass(frozen=True)
class DayScore:
    """One day of all policies."""

    day: int
    scores: Mapping[str, Score]
    stages: tuple[tuple[str, float, float, str], ...]
    """Stage, true air and road [°C], and the state of the road."""
    wear: Mapping[str, float]
    """True wear over the table by compound, mean over the stage kilometres."""
    puncture_factor: float
    foresight_by: str = "foresight"
    """Whose plan was the best that somebody who knew the day could have made."""
    foresight_open_s: float | None = None
    """By how much foresight's own plan may be from the best one, as proven. [s]"""


def day_score(
    bundle: EventBundle,
    truth: Truth,
    day: int,
    played: Mapping[str, Played],
    *,
    xi_money_per_s: float,
) -> DayScore:
    """Return a day counted.

    Where foresight found no plan for every loop the best whole day stands for its cost, and
    where nobody had one the dearest of the days: then all count alike.
    """
    xi = xi_money_per_s
    rough = {name: p.cost_s(xi) for name, p in played.items()}
    base = rough["foresight"]
    if played["foresight"].no_plan:
        whole = [rough[name] for name, day in played.items() if day.whole]
        base = min(whole, default=max(rough.values()))
    broken = base + bundle.event.settings.wheel_lost_s
    scores = {
        name: Score(
            total_s=rough[name] if p.whole else broken,
            time_s=p.time_s,
            punctures_s=p.lost_s,
            money=p.money,
            money_s=p.money / xi if xi > 0.0 else 0.0,
            punctures=p.punctures,
            breaches=tuple(p.breaches),
            no_plan=p.no_plan,
            fittings=tuple(p.fittings),
        )
        for name, p in played.items()
    }
    stages = bundle.itinerary.stages
    columns = [truth.conditions.index(stage.ref) for stage in stages]
    km = sum(stage.km for stage in stages)
    rubber = {tyre.compound: tyre for tyre in bundle.stock.tyres}
    return DayScore(
        day=day,
        scores=scores,
        stages=tuple(
            (
                stage.ref,
                float(truth.conditions.air_c[0, column]),
                float(truth.conditions.road_c[0, column]),
                truth.state_at(stage.ref),
            )
            for stage, column in zip(stages, columns, strict=True)
        ),
        wear={
            word: sum(truth.compound_factor(tyre, truth.ground(s)) * s.km for s in stages) / km
            for word, tyre in sorted(rubber.items())
        },
        puncture_factor=truth.puncture_factor,
        foresight_by=played["foresight"].made_by or "foresight",
        foresight_open_s=played["foresight"].open_s,
    )


@dataclass(frozen=True)
class Backtest:
    """The days that were played."""

    seed: int
    days: tuple[DayScore, ...]
    stopped: bool = False
    """Somebody stopped it before all days were done."""

    def total_s(self, policy: str) -> float:
        """Return the cost of all days as it counts. [s]."""
        return sum(day.scores[policy].total_s for day in self.days)

    @property
    def share_recovered(self) -> float | None:
        """Return how much of what foresight gains over the rule of thumb the call gains."""
        thumb = self.total_s("rule_of_thumb")
        possible = thumb - self.total_s("foresight")
        if possible < LEAST_S:
            return None
        return (thumb - self.total_s("call")) / possible

    def rest(self) -> dict[str, float]:
        """Return what the call costs over foresight, by cause, all days together. [s]."""
        parts = dict.fromkeys(("stage time", "punctures", "money", "broken days"), 0.0)
        for day in self.days:
            call, best = day.scores["call"], day.scores["foresight"]
            if call.whole and best.whole:
                parts["stage time"] += call.time_s - best.time_s
                parts["punctures"] += call.punctures_s - best.punctures_s
                parts["money"] += call.money_s - best.money_s
            else:
                parts["broken days"] += call.total_s - best.total_s
        return parts


def backtest_document(made: Backtest) -> dict[str, Any]:
    """Return the days as JSON; ``partial`` is there where it was stopped before the end."""
    return {
        "format": 1,
        "days": len(made.days),
        "seed": made.seed,
        "policies": {name: _policy(made, name) for name in POLICIES},
        "share_recovered": made.share_recovered,
        "per_day": [_day(day) for day in made.days],
        **({"partial": True} if made.stopped else {}),
    }


def _policy(made: Backtest, name: str) -> dict[str, Any]:
    scores: Sequence[Score] = [day.scores[name] for day in made.days]
    return {
        "total_s": made.total_s(name),
        "money": sum(score.money for score in scores),
        "breaches": sum(len(score.breaches) for score in scores),
        "punctures": sum(score.punctures for score in scores),
        "no_plan_days": sum(score.no_plan for score in scores),
    }


def _day(day: DayScore) -> dict[str, Any]:
    return {
        "day": day.day,
        "truth": {
            "stages": [
                {"stage": ref, "air_c": air, "road_c": road, "surface": word}
                for ref, air, road, word in day.stages
            ],
            "wear": dict(day.wear),
            "punctures": day.puncture_factor,
        },
        "foresight": {"plan_of": day.foresight_by, "open_s": day.foresight_open_s},
        "policies": {
            name: {
                "total_s": score.total_s,
                "time_s": score.time_s,
                "punctures_s": score.punctures_s,
                "money": score.money,
                "money_s": score.money_s,
                "punctures": score.punctures,
                "breaches": list(score.breaches),
                "no_plan": score.no_plan,
                "fittings": {place: dict(fitting) for place, fitting in score.fittings},
            }
            for name, score in day.scores.items()
        },
    }
