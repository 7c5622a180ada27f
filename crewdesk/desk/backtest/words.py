"""The simulated days in words and one table."""

from dataclasses import dataclass
from math import sqrt

from crewdesk.desk.backtest.policies import POLICIES
from crewdesk.desk.backtest.score import Backtest

NAMES = {
    "call": "the call",
    "rule_of_thumb": "rule of thumb",
    "morning_plan": "plan of the morning",
    "foresight": "full foresight",
}
TOTAL = (
    "The cost is stage time, time lost to punctures, and money in seconds; a day that breaks "
    "a stopping rule or has no plan costs what full foresight does and a lost wheel on top. "
    "Stages, punctures and money: only days with a plan to their end."
)


@dataclass(frozen=True)
class Means:
    """One way to decide: the mean of a day, and how many days went wrong."""

    total_s: float
    time_s: float
    punctures_s: float
    money: float
    punctures: float
    broken: int
    no_plan: int


def means(made: Backtest, policy: str) -> Means:
    """Return the mean day of one way to decide; there is at least one day.

    Stages, punctures and money are of the days driven to their end: a day that ended early
    would look quick and cheap. Where none was, they are of all days.
    """
    scores = [day.scores[policy] for day in made.days]
    driven = [score for score in scores if not score.no_plan] or scores
    return Means(
        total_s=sum(s.total_s for s in scores) / len(scores),
        time_s=sum(s.time_s for s in driven) / len(driven),
        punctures_s=sum(s.punctures_s for s in driven) / len(driven),
        money=sum(s.money for s in driven) / len(driven),
        punctures=sum(s.punctures for s in driven) / len(driven),
        broken=sum(bool(s.breaches) for s in scores),
        no_plan=sum(s.no_plan for s in scores),
    )


def backtest_words(made: Backtest) -> list[str]:
    """Return what came of the days, for people to read."""
    if not made.days:
        return told(made)
    heads = (
        f"{'':20}{'cost s':>10}{'stages s':>10}{'punct. s':>10}{'money':>9}"
        f"{'punctures':>11}{'broken':>8}{'no plan':>9}"
    )
    lines = ["Each figure is the mean of a day; the last two count days.", heads]
    for name in POLICIES:
        mean = means(made, name)
        lines.append(
            f"{NAMES[name]:20}{mean.total_s:10.1f}{mean.time_s:10.1f}{mean.punctures_s:10.1f}"
            f"{mean.money:9.1f}{mean.punctures:11.2f}{mean.broken:8d}{mean.no_plan:9d}"
        )
    return [*lines, *told(made)]


def told(made: Backtest) -> list[str]:
    """Return how many days there were, what the call gains, what the rest is made of."""
    count = len(made.days)
    if not count:
        return ["No day was played to its end."]
    played = f"{count} simulated day{'s' if count != 1 else ''}"
    if made.stopped:
        played += ", stopped before all were done: a part of what was asked for"
    gains = [d.scores["rule_of_thumb"].total_s - d.scores["call"].total_s for d in made.days]
    mean = sum(gains) / count
    spread = sqrt(sum((g - mean) ** 2 for g in gains) / max(count - 1, 1) / count)
    lines = [
        f"{played}.",
        TOTAL,
        f"The call gains {mean:+.1f} s a day on the rule of thumb ± {spread:.1f} s.",
    ]
    share = made.share_recovered
    if share is None:
        lines.append("Foresight gains too little over the rule of thumb to speak of a share.")
    else:
        lines.append(f"That is {100 * share:.0f} % of what full foresight gains.")
    rest = {what: seconds / count for what, seconds in made.rest().items()}
    parts = ", ".join(f"{what} {seconds:+.1f}" for what, seconds in rest.items())
    lines.append(
        f"The call costs {sum(rest.values()):+.1f} s a day more than full foresight; "
        f"in s: {parts}."
    )
    return lines
