"""Where another call becomes the better one: road, rain, what a tyre is worth, tread."""

from collections.abc import Callable

from crewdesk.engine.moving import REACH_C, STEP_C, Moving, movings, shifted
from crewdesk.engine.pool import Moved, Pool, Propose, compounds_of
from crewdesk.engine.problem import Problem
from crewdesk.engine.result import Flip, FlipChart, FlipLine, LoopPlan, PlanResult

QUICK = 80
"""Units of work of each question asked on the way."""
LOOKS = 3
"""Questions asked at most on each side of now, for each thing that moves."""
POINTS = 5
"""Points of a chart on each side of now."""

Stop = Callable[[], bool]


def flips(
    problem: Problem,
    result: PlanResult,
    propose: Propose,
    most: int = 6,
    *,
    stop: Stop | None = None,
    pool: Pool | None = None,
) -> tuple[Flip, ...]:
    """Return where the call changes, the road first.

    Parameters
    ----------
    problem : Problem
        The question.
    result : PlanResult
        Its answer with alternatives.
    propose : callable
        Answers a question anew.
    most : int
        Flips at most.
    stop : callable, optional
        True ends the search with what was found.
    pool : Pool, optional
        Plans known; those found on the way are added.

    Returns
    -------
    tuple of Flip
        Road to 0.5 °C (air moves with it), chance of rain to 5 %, worth of a new tyre to
        0.5 s, tread of the tyre of the call that is known least to 0.1 mm.

    Notes
    -----
    The question is asked anew at the end of the range; between, the plans known are
    compared by bisection, and where the lead is lost the question is asked again, until
    no plan is new. A flip counts where the whole question, on all scenarios, gives another
    call just beyond it; where it does not yet, the whole question is bisected further out.

    References
    ----------
    .. [1] Bisection; parametric search over a growing set of plans.
    """
    known = Pool(problem, result) if pool is None else pool
    found: list[Flip] = []
    for moving in movings(problem, result):
        for way in (1, -1):
            if len(found) >= most or (stop is not None and stop()):
                return tuple(found)
            flip = _flip(known, moving, way, propose, stop)
            if flip is not None:
                found.append(flip)
    return tuple(found)


def _moved(pool: Pool, moving: Moving, steps: int) -> Moved:
    """Return a key and the question some steps away, on few scenarios."""
    key = (moving.what, moving.tyre, steps)
    return key, moving.to(pool.few, moving.step * steps)


def _lost(pool: Pool, moving: Moving, steps: int) -> bool:
    """Return whether a known plan of another call leads there."""
    costs = pool.by_signature(_moved(pool, moving, steps), _moved(pool, moving, 0))
    own = costs.pop(pool.signature(pool.plans[0]))
    return bool(costs) and min(costs.values()) < own - 1e-9


def _flip(
    pool: Pool, moving: Moving, way: int, propose: Propose, stop: Stop | None
) -> Flip | None:
    """Return the flip on one side of now, or None."""
    end = moving.high if way > 0 else -moving.low
    if end < 2:
        return None

    def ask(steps: int) -> bool:
        _, asked = _moved(pool, moving, way * steps)
        answer = propose(asked, effort="quick", work_limit=QUICK, stop=stop)
        return pool.add(answer.plan) if answer.plan else False

    ask(end)
    if not _lost(pool, moving, way * end):
        return None
    at = end
    for _ in range(LOOKS - 1):
        if stop is not None and stop():
            return None
        at = _edge(pool, moving, way, at)
        if at <= 1 or not ask(at - 1) or not _lost(pool, moving, way * (at - 1)):
            break
    beyond = min(at + 1, end)
    plan = _other(pool, moving, way * beyond, propose, stop)
    if plan is None:
        # On all weathers the call holds longer than on a few: look further out.
        low, high = beyond, end
        plan = _other(pool, moving, way * high, propose, stop) if high > low else None
        while plan is not None and high - low > 1:
            if stop is not None and stop():
                return None
            middle = (low + high) // 2
            nearer = _other(pool, moving, way * middle, propose, stop)
            if nearer is None:
                low = middle
            else:
                high, plan = middle, nearer
        at = high
    if plan is None:
        return None
    fitting = dict(plan[0].fitting)
    then = compounds_of(pool.tyres, fitting)
    value = moving.now + moving.step * way * at
    return Flip(
        moving.what,
        moving.unit,
        round(moving.now, 1),
        round(value, 1),
        then,
        moving.tyre,
        fitting,
    )


def _other(
    pool: Pool, moving: Moving, steps: int, propose: Propose, stop: Stop | None
) -> tuple[LoopPlan, ...] | None:
    """Return the plan of the whole question some steps away, if it is another call."""
    moved = moving.to(pool.problem, moving.step * steps)
    plan = propose(moved, effort="quick", work_limit=QUICK, stop=stop).plan
    own = pool.plans[0]
    if not plan or pool.signature(plan) == pool.signature(own):
        return None
    words = [compounds_of(pool.tyres, one[0].fitting) for one in (plan, own)]
    return None if moving.what == "road" and words[0] == words[1] else plan


def _edge(pool: Pool, moving: Moving, way: int, end: int) -> int:
    """Return the least number of steps at which the lead is lost, known lost at the end."""
    low, high = 0, end
    while high - low > 1:
        middle = (low + high) // 2
        if _lost(pool, moving, way * middle):
            high = middle
        else:
            low = middle
    return high


def flip_charts(
    problem: Problem, result: PlanResult, pool: Pool, stop: Stop | None = None
) -> tuple[FlipChart, ...]:
    """Return how the calls known stand to each other as each thing moves.

    A value at which the call changes is a point of its chart.
    """
    charts: list[FlipChart] = []
    for moving in movings(problem, result):
        every = max((moving.high - moving.low) // (2 * POINTS), 1)
        found = (f for f in result.flips if (f.what, f.tyre) == (moving.what, moving.tyre))
        changes = {round((f.at - moving.now) / moving.step) for f in found}
        even = {*range(0, moving.high + 1, every), *range(0, moving.low - 1, -every)}
        steps = sorted(even | changes)
        rows, here = [], _moved(pool, moving, 0)
        for n in steps:
            if stop is not None and stop():
                return tuple(charts)
            rows.append(pool.by_signature(_moved(pool, moving, n), here))
        marks = list(rows[0]) if rows else []
        firsts = {mark: pool.plan_of(mark)[0].fitting for mark in marks}
        lines = tuple(
            FlipLine(
                compounds_of(pool.tyres, firsts[mark]),
                tuple(row[mark] - min(row.values()) for row in rows),
                firsts[mark],
            )
            for mark in marks
        )
        values = tuple(round(moving.now + moving.step * n, 2) for n in steps)
        charts.append(
            FlipChart(moving.what, moving.unit, moving.now, values, lines, moving.tyre)
        )
    return tuple(charts)


__all__ = ["REACH_C", "STEP_C", "flip_charts", "flips", "shifted"]
