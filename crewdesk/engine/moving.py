"""The numbers of a question that may turn out otherwise: road, rain, price, tread."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from crewdesk.conditions.moments import STATES, Conditions
from crewdesk.engine.problem import Problem
from crewdesk.engine.result import PlanResult
from crewdesk.units import CORNERS

REACH_C, STEP_C = 15.0, 0.5
"""How far from now, and in what steps, the road is moved. [K]"""
STEP_SHARE = 5.0
"""The chance of rain. [%]"""
REACH_WORTH_S, STEP_WORTH_S = 20.0, 0.5
"""What a new tyre is worth. [s]"""
REACH_MM, STEP_MM = 1.5, 0.1
"""The tread of one tyre. [mm]"""
RAIN_ROWS = 20
"""Scenarios with rain and without, to set the chance in steps of 5 in 100."""
DRY = STATES.index("dry")


@dataclass(frozen=True)
class Moving:
    """One number of a question, and the question with another value of it."""

    what: str
    unit: str
    now: float
    step: float
    low: int
    """Steps down at most, a number below 0."""
    high: int
    to: Callable[[Problem, float], Problem]
    """The question with the number moved so far from now."""
    tyre: str = ""


def shifted(conditions: Conditions, by_c: float) -> Conditions:
    """Return conditions with air and road warmer by some degrees."""
    return replace(
        conditions,
        air_c=conditions.air_c + by_c,
        road_c=conditions.road_c + by_c,
        air_mean_c=conditions.air_mean_c + by_c,
        road_mean_c=conditions.road_mean_c + by_c,
    )


def first_columns(problem: Problem) -> list[int]:
    """Return the columns of the stages of the next loop that has any."""
    stages = next(p.stages for p in problem.places if p.stages)
    return [problem.conditions.index(ref) for ref in stages]


def movings(problem: Problem, result: PlanResult) -> list[Moving]:
    """Return what may be moved in a question, the road first."""
    found = [_road(problem)]
    found += [m for m in (_rain(problem), _worth(problem)) if m is not None]
    tyre = _least_known(problem, result)
    if tyre is not None:
        found.append(tread_of(problem, tyre))
    return found


def _road(problem: Problem) -> Moving:
    column = first_columns(problem)[0]
    now = float(problem.conditions.road_mean_c[column])
    n = round(REACH_C / STEP_C)

    def to(asked: Problem, by: float) -> Problem:
        return replace(asked, conditions=shifted(asked.conditions, by))

    return Moving("road", "°C", now, STEP_C, -n, n, to)


def _rain(problem: Problem) -> Moving | None:
    """Return the chance of a wet road in the next loop, where it is neither none nor sure."""
    state = problem.conditions.state[:, first_columns(problem)]
    wet = (state != DRY).any(axis=1)
    if not wet.any() or wet.all():
        return None
    rows = (np.flatnonzero(~wet), np.flatnonzero(wet))
    conditions = problem.conditions
    now = round(100.0 * float(wet.mean()) / STEP_SHARE) * STEP_SHARE

    def to(asked: Problem, by: float) -> Problem:
        n_wet = round((now + by) / 100.0 * RAIN_ROWS)
        counts = (RAIN_ROWS - n_wet, n_wet)
        picked = [_spread(part, n) for part, n in zip(rows, counts, strict=True)]
        at = np.concatenate(picked)
        return replace(
            asked,
            conditions=replace(
                conditions,
                air_c=conditions.air_c[at],
                road_c=conditions.road_c[at],
                state=conditions.state[at],
                rain_mm_h=conditions.rain_mm_h[at],
            ),
        )

    down, up = -round(now / STEP_SHARE), round((100.0 - now) / STEP_SHARE)
    return Moving("rain", "%", now, STEP_SHARE, down, up, to)


def _spread(rows: np.ndarray, n: int) -> np.ndarray:
    """Return so many of some rows, evenly, again and again where they are too few."""
    if n == 0:
        return rows[:0]
    at = np.floor((np.arange(n) + 0.5) * rows.size / n).astype(np.int64)
    return np.asarray(rows[at])


def _worth(problem: Problem) -> Moving | None:
    """Return what a new tyre is worth, where money counts."""
    now, xi = problem.settings.new_tyre_worth_s, problem.xi_money_per_s
    if now <= 0.0 or xi <= 0.0:
        return None

    def to(asked: Problem, by: float) -> Problem:
        return replace(asked, xi_money_per_s=xi * now / (now + by))

    down = -int((now - 0.01) / STEP_WORTH_S)
    up = round(REACH_WORTH_S / STEP_WORTH_S)
    return Moving("new_tyre_worth", "s", now, STEP_WORTH_S, down, up, to)


def _least_known(problem: Problem, result: PlanResult) -> str | None:
    """Return the tyre on a corner of the call whose depth is known least, or None."""
    on = {result.plan[0].fitting[c] for c in CORNERS}
    worn = [t for t in problem.tyres if t.stock.tyre_id in on and t.ever_fitted]
    if not worn:
        return None
    least = min(worn, key=lambda t: (-t.tread_sd_mm, min(t.tread_mm), t.stock.tyre_id))
    return least.stock.tyre_id


def tread_of(problem: Problem, tyre: str) -> Moving:
    """Return the least depth of one tyre; its three depths move together."""
    given = next(t for t in problem.tyres if t.stock.tyre_id == tyre)
    now = min(given.tread_mm)
    room = given.stock.tread_new_mm - max(given.tread_mm)

    def to(asked: Problem, by: float) -> Problem:
        tyres = tuple(
            replace(t, tread_mm=(t.tread_mm[0] + by, t.tread_mm[1] + by, t.tread_mm[2] + by))
            if t.stock.tyre_id == tyre
            else t
            for t in asked.tyres
        )
        return replace(asked, tyres=tyres)

    down = -int(min(REACH_MM, max(now - 0.2, 0.0)) / STEP_MM + 1e-9)
    up = int(min(REACH_MM, max(room, 0.0)) / STEP_MM + 1e-9)
    return Moving("tread", "mm", now, STEP_MM, down, up, to, tyre)
