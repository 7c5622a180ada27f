"""What stands beside the call, worked out once the call itself has been given."""

from collections.abc import Callable
from dataclasses import replace

from crewdesk.engine.flips import flip_charts, flips
from crewdesk.engine.judge import judge
from crewdesk.engine.pool import Pool
from crewdesk.engine.problem import Problem
from crewdesk.engine.reading import reading_worth
from crewdesk.engine.recourse import Recourse, recourse
from crewdesk.engine.result import Alternative, PlanResult
from crewdesk.engine.shadow import shadow_prices
from crewdesk.engine.solve import propose
from crewdesk.units import PLACES

Stop = Callable[[], bool]


def beside(problem: Problem, result: PlanResult, stop: Stop | None = None) -> PlanResult:
    """Return an answer with flips, the worth of a reading, of reacting and of limits.

    Parameters
    ----------
    problem : Problem
        The question.
    result : PlanResult
        Its answer.
    stop : callable, optional
        True ends it with what has been worked out.

    Returns
    -------
    PlanResult
        The same call, unless another one is better once later fittings can answer.

    Notes
    -----
    Every part ends by work done. In the order in which a crew needs them: the next fitting
    when later ones answer, flips, the reading worth most, what limits cost.

    References
    ----------
    .. [1] Parts as their own modules define them.
    """
    if not result.plan or result.objective is None:
        return result
    reacting = recourse(problem, result, stop)
    if reacting is not None:
        result = _with_recourse(problem, result, reacting)
    if stop is not None and stop():
        return result
    pool = Pool(problem, result)
    result = replace(result, flips=flips(problem, result, propose, stop=stop, pool=pool))
    if not (stop is not None and stop()):
        worth = reading_worth(problem, result, pool, propose, stop)
        charts = flip_charts(problem, result, pool, stop)
        result = replace(result, reading=worth, flip_charts=charts)
    prices = shadow_prices(problem, result, propose, stop)
    return replace(result, reasons=(*result.reasons, *prices))


def _with_recourse(problem: Problem, result: PlanResult, reacting: Recourse) -> PlanResult:
    """Return the answer with the call that is best when later fittings answer."""
    told = replace(
        result,
        recourse_objective_s=reacting.objective_s,
        recourse_bound_s=reacting.bound_s,
    )
    if reacting.best == 0 or result.objective is None:
        return told
    chosen = result.alternatives[reacting.best - 1]
    judged = judge(problem, [loop.fitting for loop in chosen.plan])
    if judged.objective is None or judged.breaches:
        return told
    fixed = _as_alternative(problem, result, chosen)
    call = chosen.fitting
    others = [
        replace(
            a,
            loss_s=max(a.objective_s - judged.objective.total_s, 0.0),
            differs=tuple(p for p in PLACES if a.fitting[p] != call[p]),
        )
        for a in result.alternatives
        if a is not chosen
    ]
    reasons = tuple(replace(r, seconds=-r.seconds) for r in result.reasons)
    return replace(
        told,
        plan=judged.plan,
        objective=judged.objective,
        complete=False,
        alternatives=(fixed, *others),
        reasons=reasons if reacting.best == 1 else (),
        held_fixed=fixed,
    )


def _as_alternative(problem: Problem, result: PlanResult, chosen: Alternative) -> Alternative:
    """Return the call held fixed as an alternative to the one chosen."""
    assert result.objective is not None
    first = result.plan[0].fitting
    words = {t.stock.tyre_id: t.stock.compound for t in problem.tyres}
    return Alternative(
        fitting=first,
        compounds={p: words[t] for p, t in first.items() if t is not None},
        objective_s=result.objective.total_s,
        loss_s=0.0,
        differs=tuple(p for p in PLACES if first[p] != chosen.fitting[p]),
        plan=result.plan,
    )
