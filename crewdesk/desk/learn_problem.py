"""What was learnt, as the engine takes it."""

from collections.abc import Mapping
from dataclasses import replace
from math import sqrt

from crewdesk.conditions.moments import Conditions
from crewdesk.desk.learn_runs import ground
from crewdesk.desk.learnt import Learnt, Rubber
from crewdesk.documents.itinerary import Stage
from crewdesk.engine.problem import Problem
from crewdesk.units import CORNERS


def with_learnt(problem: Problem, learnt: Learnt) -> Problem:
    """Return a problem with the learnt factors on wear and their doubts; as is without any."""
    if not learnt.knows or not problem.stages:
        return problem
    grounds = {
        ref: grounds_of(stage, problem.conditions) for ref, stage in problem.stages.items()
    }
    ahead: dict[str, float] = {}
    for ref, chances in grounds.items():
        for word, chance in chances.items():
            ahead[word] = ahead.get(word, 0.0) + chance * problem.stages[ref].km
    rubbers: dict[str, tuple[str, str]] = {
        t.stock.tyre_id: (t.stock.use, t.stock.compound) for t in problem.tyres
    }
    kinds = [rubbers[t.stock.tyre_id] for t in problem.tyres]
    factors: dict[str, float] = {}
    by_stage: dict[tuple[str, str], float] = {}
    for compound in sorted({word for _, word in kinds}):
        # One word for two families is rare; the family that more tyres have goes first.
        uses = sorted(use for use, word in kinds if word == compound)
        use = max(uses, key=uses.count)
        factors[compound] = mean_factor(learnt, use, compound, ahead)
        for ref, chances in grounds.items():
            by_stage[compound, ref] = mean_factor(learnt, use, compound, chances)
    sds = {
        tyre_id: learnt.tyre_ln_sd(use, compound, ahead)
        for tyre_id, (use, compound) in rubbers.items()
    }
    usable = [sds[t.stock.tyre_id] for t in problem.tyres if t.usable] or list(sds.values())
    corners: dict[str, float] = {
        corner: learnt.factor_of_corner(number) for number, corner in enumerate(CORNERS)
    }
    return replace(
        problem,
        wear_sd=sqrt(sum(sd * sd for sd in usable) / len(usable)),
        wear_multiplier=factors,
        corner_multiplier=corners,
        stage_wear_multiplier=by_stage,
        tyre_wear_sd=sds,
    )


def grounds_of(stage: Stage, conditions: Conditions) -> dict[str, float]:
    """Return the kinds of ground a stage may be, with their chances."""
    found: dict[str, float] = {}
    shares = conditions.state_shares[conditions.index(stage.ref)] or {"dry": 1.0}
    for state, share in sorted(shares.items()):
        word = ground(stage.surface, state)
        found[word] = found.get(word, 0.0) + share
    return found


def mean_factor(learnt: Learnt, use: str, compound: str, grounds: Mapping[str, float]) -> float:
    """Return the factor of a compound over grounds by weight."""
    total = sum(grounds.values())
    if total <= 0.0:
        return 1.0
    summed = sum(
        weight * learnt.factor(Rubber(use, compound, word)) for word, weight in grounds.items()
    )
    return summed / total
