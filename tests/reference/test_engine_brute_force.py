"""The call against every plan there is: tiny events, all fittings tried one by one."""

from dataclasses import replace
from itertools import combinations, permutations, product
from math import ceil

import numpy as np
import pytest

from crewdesk.engine.checks import breaches, check_plan
from crewdesk.engine.course import Course
from crewdesk.engine.evaluate import Evaluator
from crewdesk.engine.groups import lineup
from crewdesk.engine.problem import Choices
from crewdesk.engine.solve import propose
from tests.unit.engine.made import made_problem, made_rules, made_tyre

BLOCK = {"compound": "block", "maker": "block", "structure": "block"}
WARN = {"compound": "warn", "maker": "warn", "structure": "block"}


def fittings(n_tyres: int, spare_max: int):
    """Return every way to put tyres on four corners and in the boot."""
    found = []
    for corners in permutations(range(n_tyres), 4):
        rest = [t for t in range(n_tyres) if t not in corners]
        for n in range(spare_max + 1):
            none = [-1] * (2 - n)
            found.extend((*corners, *spares, *none) for spares in combinations(rest, n))
    return found


def best_by_trying(problem) -> float | None:
    """Return the least objective over all plans of two loops without a breach.

    The rules are asked of whole plans by `check_plan`, dearer plans later, so that the
    first without a breach is the best; nothing here knows paths, planes or prices.
    """
    tyres = lineup(problem)
    course = Course(problem, tyres, problem.conditions)
    evaluator = Evaluator(course, tyres)
    later = replace(problem, choices=Choices({}, problem.choices.bans), max_wheels=None)
    fits = fittings(len(tyres.tyres), problem.rules.spare_max)
    # A fitting that breaks a rule by itself cannot be part of a plan.
    one, two = (
        [f for f in fits if not breaches(check_plan(asked, tyres, [f], None, (), [0, 1]))]
        for asked in (problem, later)
    )
    if not one or not two:
        return None
    total = objectives(course, evaluator, one, two)
    for index in np.argsort(total, axis=None, kind="stable"):
        i, j = np.unravel_index(index, total.shape)
        plan = [one[i], two[j]]
        cost = evaluator.evaluate(plan)
        assert cost.objective.total_s == pytest.approx(total[i, j], abs=1e-7)
        if not breaches(check_plan(problem, tyres, plan, cost, (), [0, 1])):
            return float(total[i, j])
    return None


def objectives(course, evaluator, one, two):
    """Return the objective of every pair of fittings, shape (len(one), len(two))."""
    lineup_ = course.lineup
    n, s = len(lineup_.tyres), course.n_scenarios
    mass = [course.spec(t).mass_kg for t in lineup_.tyres]
    weight = course.problem.settings.worst_tenth_weight
    price = course.problem.settings.tread_risk_s

    def carried(fit):
        return sum(mass[t] for t in fit[4:] if t >= 0)

    first = np.zeros((len(one), s))
    for i, fit in enumerate(one):
        steps = [evaluator.step(t, (c,)) for c, t in enumerate(fit[:4])]
        mu = np.stack([x.run.mu[0] for x in steps], axis=2)
        hazard = np.stack([x.run.hazard[0] for x in steps], axis=-1)
        first[i] = course.time_s(0, mu[None], carried(fit))[0]
        first[i] += course.punctures_s(0, hazard, evaluator.covers(fit))
        first[i] += price * sum(x.below for x in steps)
    shape = evaluator.step(0, (4, 0)).run.mu[0].shape
    mu = np.zeros((n, 5, 4, *shape))
    hazard, below = np.zeros((n, 5, 4, s)), np.zeros((n, 5, 4))
    money = np.zeros((n, 5, 5, s))
    for t, before, corner in product(range(n), range(5), range(4)):
        step = evaluator.step(t, (before, corner))
        mu[t, before, corner] = step.run.mu[0]
        hazard[t, before, corner] = step.run.hazard[0]
        below[t, before, corner] = step.below
    for t, a, b in product(range(n), range(5), range(5)):
        if (a, b) != (4, 4):
            end, _ = evaluator.state(t, (a, b))
            money[t, a, b] = course.first_fit_of(lineup_.tyres[t])
            money[t, a, b] += course.wear_money_s(lineup_.tyres[t], end)[0]
    at = np.full((len(one), n), 4)
    for i, fit in enumerate(one):
        at[i, list(fit[:4])] = range(4)
    rows = np.arange(len(one))
    total = np.zeros((len(one), len(two)))
    for j, fit in enumerate(two):
        on = list(enumerate(fit[:4]))
        grips = np.stack([mu[t, at[:, t], c] for c, t in on], axis=3)
        cost = first + course.time_s(1, grips, carried(fit))
        risks = np.stack([hazard[t, at[:, t], c] for c, t in on], axis=-1)
        cost = cost + course.punctures_s(1, risks, evaluator.covers(fit))
        cost = cost + price * sum(below[t, at[:, t], c] for c, t in on)[:, None]
        for t in range(n):
            then = fit[:4].index(t) if t in fit[:4] else 4
            cost = cost + money[t, at[rows, t], then]
        worst = np.sort(cost, axis=1)[:, -ceil(s / 10) :].mean(axis=1)
        total[:, j] = cost.mean(axis=1) + weight * worst
    return total


def _plain(seed):
    tyres = [
        made_tyre("A1", "soft"),
        made_tyre("A2", "soft"),
        made_tyre("B1", "medium"),
        made_tyre("B2", "medium"),
        made_tyre("B3", "medium", tread_mm=(6.5, 6.3, 6.0), edge=(0.5, 0.4, 0.45)),
    ]
    return made_problem(tyres, ((11.0,), (13.0,)), seed=seed, scenarios=5)


def _caps(seed):
    tyres = [
        made_tyre("A1", "soft"),
        made_tyre("A2", "soft"),
        made_tyre("A3", "soft", tread_mm=8.0, edge=0.8),
        made_tyre("C1", "hard"),
        made_tyre("C2", "hard", tread_mm=7.0, edge=(0.7, 0.5, 0.6), side_run="left"),
    ]
    rules = made_rules(qty_total=5, caps={"soft": 2})
    return made_problem(tyres, ((10.0,), (9.0,)), rules=rules, seed=seed, scenarios=4)


def _block(seed):
    tyres = [
        made_tyre("A1", "soft"),
        made_tyre("A2", "soft"),
        made_tyre("A3", "soft", tread_mm=6.0, edge=0.5),
        made_tyre("C1", "hard", tread_mm=8.0, edge=0.7),
        made_tyre("C2", "hard"),
        made_tyre("C3", "hard", tread_mm=5.0, edge=0.4),
    ]
    rules = made_rules(axle_mix=BLOCK, spare_min=1, qty_total=6)
    return made_problem(
        tyres, ((12.0,), (10.0,)), rules=rules, seed=seed, scenarios=4, air_c=22.0
    )


def _warn(seed):
    tyres = [
        made_tyre("A1", "soft"),
        made_tyre("A2", "soft"),
        made_tyre("B1", "medium"),
        made_tyre("B2", "medium", tread_mm=5.0, edge=0.4),
        made_tyre("C1", "hard"),
    ]
    rules = made_rules(axle_mix=WARN)
    return made_problem(tyres, ((12.0,), (12.0,)), rules=rules, seed=seed, scenarios=5)


def _worn(seed):
    tyres = [
        made_tyre("A1", "soft", tread_mm=(3.4, 3.5, 3.3), edge=0.3),
        made_tyre("A2", "soft", tread_mm=(3.0, 3.1, 2.9), edge=0.25),
        made_tyre("A3", "soft", tread_mm=(2.6, 2.7, 2.4), edge=0.2),
        made_tyre("B1", "medium", tread_mm=(2.9, 3.0, 2.8), edge=0.3),
        made_tyre("B2", "medium", tread_mm=(3.6, 3.6, 3.4), edge=0.35),
        made_tyre("B3", "medium", tread_mm=(2.2, 2.3, 2.1), edge=0.2),
    ]
    return made_problem(tyres, ((12.0,), (14.0,)), seed=seed, scenarios=4)


def _arrows(seed):
    tyres = [
        made_tyre("A1", "soft", direction="left"),
        made_tyre("A2", "soft", direction="right"),
        made_tyre("A3", "soft", direction="arrow"),
        made_tyre("A4", "soft", direction="arrow", tread_mm=7.0, edge=(0.6, 0.4, 0.5)),
        made_tyre("B1", "medium", tread_mm=6.5, edge=(0.5, 0.8, 0.4), side_run="right"),
        made_tyre("B2", "medium", lock="front"),
    ]
    return made_problem(tyres, ((12.0,), (11.0,)), seed=seed, scenarios=4)


def _locked(seed):
    tyres = [
        made_tyre("A1", "soft"),
        made_tyre("A2", "soft"),
        made_tyre("B1", "medium"),
        made_tyre("B2", "medium"),
        made_tyre("B3", "medium", tread_mm=5.5, edge=0.5),
    ]
    locks = {"RL": "B3", "SP1": "A2"}
    return made_problem(tyres, ((12.0,), (11.0,)), locks=locks, seed=seed, scenarios=4)


def _short(seed):
    tyres = [
        made_tyre("A1", "soft", tread_mm=7.5, edge=0.7, on_car="FL", counted=True),
        made_tyre("A2", "soft", tread_mm=7.4, edge=0.7, on_car="FR", counted=True),
        made_tyre("B1", "medium", tread_mm=8.0, edge=0.8, on_car="RL", counted=True),
        made_tyre("B2", "medium", tread_mm=8.1, edge=0.8, on_car="RR", counted=True),
        made_tyre("C1", "hard"),
        made_tyre("C2", "hard"),
    ]
    return made_problem(
        tyres,
        ((12.0,), (11.0,)),
        kinds=("service", "zone"),
        seed=seed,
        scenarios=3,
        max_wheels=1,
        air_c=30.0,
    )


def _wet(seed):
    tyres = [
        made_tyre("A1", "soft"),
        made_tyre("A2", "soft"),
        made_tyre("B1", "medium"),
        made_tyre("B2", "medium"),
        made_tyre("C1", "hard", tread_mm=6.0, edge=0.5),
    ]
    return made_problem(
        tyres,
        ((10.0,), (12.0,)),
        kinds=("service", "zone"),
        states=("dry", "wet", "damp"),
        seed=seed,
        scenarios=6,
        settings={"worst_tenth_weight": 1.0, "tread_risk_s": 300.0},
        rules=made_rules(count_rule="fitted", qty_total=4, spare_min=1),
    )


CASES = {
    "plain": _plain,
    "caps": _caps,
    "block": _block,
    "warn": _warn,
    "worn": _worn,
    "arrows": _arrows,
    "locked": _locked,
    "short": _short,
    "wet": _wet,
}


@pytest.mark.parametrize("name", CASES)
def test_the_call_is_the_best_of_all_plans(name):
    problem = CASES[name](seed=len(name))
    least = best_by_trying(problem)
    result = propose(problem)
    if least is None:
        assert result.plan == ()
        return
    assert result.objective is not None
    assert result.objective.total_s == pytest.approx(least, abs=1e-6)
    assert result.bound_s is not None
    assert result.bound_s <= least + 1e-6
    assert result.complete
