"""Which reading is worth most before the call is made."""

from collections.abc import Callable
from dataclasses import replace
from math import sqrt

import numpy as np

from crewdesk.engine.moving import DRY, first_columns, movings, tread_of
from crewdesk.engine.pool import FEW, Moved, Pool, Propose, taken
from crewdesk.engine.problem import Problem
from crewdesk.engine.result import PlanResult, ReadingWorth
from crewdesk.units import CORNERS

ROAD_SD_C = 1.5
"""Doubt of the road that stays after a reading. Tuning value of this project. [K]"""
TREAD_SD_MM = 0.1
"""The same of a depth; what the gauge leaves. Tuning value of this project. [mm]"""
TYRES = 2
"""Tyres whose depth is looked at, those known least."""
LEAST_S = 0.05
"""Less than this is not worth a reading. [s]"""
QUICK = 80

Draw = tuple[object, float, Problem]
"""Key, share, the question as it would be asked after the reading."""
Candidate = tuple[str, str, list[Draw], Moved | None]
"""What, tyre, how it may turn out, the question that the draws are moved from."""


def reading_worth(
    problem: Problem,
    result: PlanResult,
    pool: Pool,
    propose: Propose,
    stop: Callable[[], bool] | None = None,
) -> ReadingWorth | None:
    r"""Return the one reading that is worth most, or None where none is worth anything.

    Parameters
    ----------
    problem : Problem
        The question.
    result : PlanResult
        Its answer.
    pool : Pool
        Plans known.
    propose : callable
        Answers a question anew.
    stop : callable, optional
        True ends it without an answer.

    Returns
    -------
    ReadingWorth or None
        With its expected gain. [s]

    Notes
    -----
    A reading may turn out one standard deviation up or down of what it can tell; for the
    state of the road it splits the scenarios. In each case the question is asked anew; the
    gain is :math:`\min_f E[c_f] - E[\min_f c_f]` over all calls found.

    References
    ----------
    .. [1] Expected value of sample information (decision analysis textbooks); two-point
       Gauss-Hermite rule.
    """
    best: ReadingWorth | None = None
    for what, tyre, draws, base in _candidates(problem, result, pool):
        for _, _, asked in draws:
            if stop is not None and stop():
                return None
            answer = propose(asked, effort="quick", work_limit=QUICK, stop=stop)
            pool.add(answer.plan)
        costs = [(share, pool.by_signature((key, asked), base)) for key, share, asked in draws]
        told = sum(share * min(cost.values()) for share, cost in costs)
        untold = min(sum(share * cost[mark] for share, cost in costs) for mark in costs[0][1])
        gain_s = untold - told
        if gain_s >= LEAST_S and (best is None or gain_s > best.gain_s + 1e-9):
            best = ReadingWorth(what, gain_s, tyre)
    return best


def _candidates(problem: Problem, result: PlanResult, pool: Pool) -> list[Candidate]:
    """Return what could be read and how it may turn out."""
    found: list[Candidate] = []
    now: Moved = ("now", pool.few)
    columns = first_columns(problem)
    sd_c = float(problem.conditions.road_sd_c[columns].mean())
    if sd_c > ROAD_SD_C:
        road = movings(problem, result)[0]
        learnt = sqrt(sd_c**2 - ROAD_SD_C**2)
        draws: list[Draw] = [
            (("read", "road", by), 0.5, road.to(pool.few, by)) for by in (learnt, -learnt)
        ]
        found.append(("road", "", draws, now))
    wet = (problem.conditions.state[:, columns] != DRY).any(axis=1)
    if wet.any() and not wet.all():
        draws = []
        for mark, mask in (("wet", wet), ("dry", ~wet)):
            rows = np.flatnonzero(mask)
            rows = rows[np.linspace(0, rows.size - 1, min(rows.size, FEW)).astype(np.int64)]
            asked = replace(problem, conditions=taken(problem.conditions, rows))
            draws.append((("read", "surface", mark), float(mask.mean()), asked))
        found.append(("surface", "", draws, None))
    near = {
        plan[0].fitting[c]
        for plan in pool.plans[: 1 + len(result.alternatives)]
        for c in CORNERS
    }
    unsure = [
        t for t in problem.tyres if t.stock.tyre_id in near and t.tread_sd_mm > 2 * TREAD_SD_MM
    ]
    unsure.sort(key=lambda t: (-t.tread_sd_mm, t.stock.tyre_id))
    for given in unsure[:TYRES]:
        name = given.stock.tyre_id
        tread = tread_of(problem, name)
        learnt = sqrt(given.tread_sd_mm**2 - TREAD_SD_MM**2)
        draws = [
            (("read", name, by), 0.5, tread.to(pool.few, by))
            for by in (learnt, -min(learnt, tread.now - 0.2))
        ]
        found.append(("tread", name, draws, now))
    return found
