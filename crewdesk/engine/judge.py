"""To put a number on a fitting the crew has in mind, under the same model as the call."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from crewdesk.engine.checks import breaches, check_plan
from crewdesk.engine.course import Course
from crewdesk.engine.evaluate import Fit, fit_of
from crewdesk.engine.groups import Lineup, lineup
from crewdesk.engine.problem import Choices, Problem
from crewdesk.engine.report import Report, Reporter
from crewdesk.engine.result import JudgeResult, RuleCheck
from crewdesk.engine.solve import propose
from crewdesk.errors import EngineError
from crewdesk.units import PLACES, Place


def judge(
    problem: Problem,
    plan: Sequence[Mapping[Place, str | None]],
    *,
    work_limit: int | None = None,
) -> JudgeResult:
    """Return what a given plan costs and which rules it breaks.

    Parameters
    ----------
    problem : Problem
        The question.
    plan : sequence of mapping
        A fitting for each change place from the first on, or the first only; then the
        best plan behind it completes it.
    work_limit : int, optional
        Units of work for completing it.

    Returns
    -------
    JudgeResult
        Cost and breaches; no cost where a corner has no tyre.

    Raises
    ------
    EngineError
        If a tyre is not in the stock, or the plan has neither one fitting nor one for each
        change place.

    Notes
    -----
    Judging the call's own plan gives the call's own objective.

    References
    ----------
    .. [1] Same evaluation as the call.
    """
    if not any(place.stages for place in problem.places):
        raise EngineError("No stage is left to run.", hint="Close the event.")
    tyres = lineup(problem)
    given = [_fit(tyres, fitting) for fitting in plan]
    if len(given) == len(problem.places):
        return _judged(problem, tyres, given, completed=False)
    if len(given) != 1:
        raise EngineError(
            f"The plan has {len(given)} fittings for {len(problem.places)} change places.",
            hint="Give one fitting, or one for each change place.",
        )
    return _completed(problem, tyres, given[0], work_limit)


def _fit(tyres: Lineup, fitting: Mapping[Place, str | None]) -> Fit:
    """Return a fitting by canonical index."""
    try:
        return fit_of(tyres, fitting)
    except KeyError as error:
        (tyre_id,) = error.args
        place = next(p for p in PLACES if fitting.get(p) == tyre_id)
        raise EngineError(
            f"Tyre {tyre_id} on {place} is not in the stock.",
            hint="Use the ids of the stock table.",
        ) from None


def _judged(
    problem: Problem, tyres: Lineup, fits: Sequence[Fit], *, completed: bool
) -> JudgeResult:
    """Return the cost of a whole plan."""
    course = Course(problem, tyres, problem.conditions)
    reporter = Reporter(problem, tyres, course)
    whole = all(min(fits[n][:4]) >= 0 and len(set(fits[n][:4])) == 4 for n in reporter.busy)
    if not whole:
        checks = check_plan(problem, tyres, fits, None, (), reporter.busy)
        return JudgeResult((), None, breaches(checks), completed)
    report: Report = reporter.assemble(tuple(fits))
    return JudgeResult(report.plan, report.evaluated.objective, report.stops, completed)


def _completed(
    problem: Problem, tyres: Lineup, fit: Fit, work_limit: int | None
) -> JudgeResult:
    """Return the cost of a fitting with the best plan behind it."""
    locks = {
        place: tyres.tyres[t].tyre_id for place, t in zip(PLACES, fit, strict=True) if t >= 0
    }
    n_spares = sum(t >= 0 for t in fit[4:])
    here = {t for t in fit if t >= 0}
    opened = replace(
        problem,
        tyres=tuple(
            replace(t, usable=True) if t.stock.tyre_id in locks.values() else t
            for t in problem.tyres
        ),
        choices=Choices(locks, problem.choices.bans - set(locks.values())),
        max_wheels=None,
    )
    answer = propose(opened, effort="proof", work_limit=work_limit, spares_first=n_spares)
    if not answer.plan:
        free = _freed(opened)
        answer = propose(free, effort="proof", work_limit=work_limit, spares_first=n_spares)
    if answer.plan:
        fits = [fit, *(_fit(tyres, loop.fitting) for loop in answer.plan[1:])]
        return _judged(problem, tyres, fits, completed=True)
    checks: tuple[RuleCheck, ...] = check_plan(problem, tyres, [fit], None, (), [])
    found = breaches(checks)
    if not found and here:
        found = tuple(RuleCheck(lift.code, "stops", False, lift.what) for lift in answer.lift)
    return JudgeResult((), None, found, completed=True)


def _freed(problem: Problem) -> Problem:
    """Return a problem without the rules that a given fitting may break."""
    rules = replace(
        problem.rules,
        qty_total=None,
        caps={},
        axle_mix=dict.fromkeys(problem.rules.axle_mix, "allow"),
        spare_min=0,
        spare_max=2,
        tread_min_mm=0.0,
        winter_tread_min_mm=None,
    )
    tyres = tuple(
        replace(t, stock=t.stock.model_copy(update={"direction": "free", "lock": ""}))
        for t in problem.tyres
    )
    settings = problem.settings.model_copy(update={"budget": None})
    return replace(problem, rules=rules, tyres=tyres, settings=settings)
