"""The call: the best plan, its proof, what stands beside it."""

from dataclasses import replace

from crewdesk.engine.answer import Desk, Progress, Stop, answer, better, nothing
from crewdesk.engine.flips import flips
from crewdesk.engine.groups import lineup
from crewdesk.engine.lifting import lifts
from crewdesk.engine.master import StoppedError
from crewdesk.engine.others import beside, short_call, worn_down
from crewdesk.engine.pieces import in_pieces, rough
from crewdesk.engine.plans import Valued
from crewdesk.engine.problem import Problem
from crewdesk.engine.result import Lift, PlanResult
from crewdesk.engine.rivals import rivals
from crewdesk.engine.searched import LONG_DAY, searched
from crewdesk.engine.tree import TooManyPathsError
from crewdesk.engine.warm import Memory
from crewdesk.errors import EngineError

WORK = {"full": 1500, "proof": 1500, "quick": 150}
"""Units of work after which the search ends with what it has."""
WORK_ALONE = {"full": 150, "proof": 1500, "quick": 30}
"""The same for a long day on one course of the weather, where many plans are nearly alike."""
RIVALS = 4
PIECE = 20
"""Units of work for each piece of a day."""


def propose(
    problem: Problem,
    *,
    stop: Stop | None = None,
    work_limit: int | None = None,
    on_progress: Progress | None = None,
    effort: str = "full",
    with_flips: bool = False,
    spares_first: int | None = None,
    explain: bool = True,
    memory: Memory | None = None,
) -> PlanResult:
    """Return the call for the first change place of a problem.

    Parameters
    ----------
    problem : Problem
        The question.
    stop : callable, optional
        Asked now and then; True ends the search with the best plan so far.
    work_limit : int, optional
        Units of work at most; the search never looks at the clock.
    on_progress : callable, optional
        Gets every better answer as it is found.
    effort : {"full", "proof", "quick"}
        Proof leaves out alternatives and the short call, quick most of the proof as well.
    with_flips : bool
        Also look for the road temperatures at which the call changes.
    spares_first : int, optional
        Number of spares fixed for the first loop.
    explain : bool
        Where there is no plan, look for what to lift.
    memory : Memory, optional
        Holds the last plan, which is told first where it still keeps the rules, and then
        the plan of this answer.

    Returns
    -------
    PlanResult
        The call, or what to lift so that there is one.

    Raises
    ------
    EngineError
        If nothing is left to run.
    ValueError
        If effort is none of the three, or the conditions miss a moment.

    Notes
    -----
    Every path a tyre can take is worked out for all scenarios. A linear program over
    them, with tangent planes under stage times and puncture costs, gives the bound; its
    rounding and a whole-number program over the paths that are left give the plan.

    References
    ----------
    .. [1] Column generation and outer approximation (operations research textbooks).
    """
    if effort not in WORK:
        raise ValueError(f"effort is full, proof or quick, not {effort!r}")
    if not any(place.stages for place in problem.places):
        raise EngineError("No stage is left to run.", hint="Close the event.")
    long = sum(bool(place.stages) for place in problem.places) >= LONG_DAY
    one = long and problem.conditions.air_c.shape[0] == 1
    usual = WORK_ALONE if one else WORK
    limit = usual[effort] if work_limit is None else work_limit
    blocked = _blocked(problem)
    if blocked:
        return nothing(problem, blocked)

    def piece(part: Problem, spares: int | None) -> PlanResult:
        most = min(limit, PIECE)
        return propose(part, stop=stop, work_limit=most, effort="quick", spares_first=spares)

    def again(asked: Problem, spares: int | None) -> PlanResult:
        return propose(asked, effort="quick", stop=stop, spares_first=spares, explain=False)

    try:
        desk = searched(
            problem, stop, limit, on_progress, spares_first=spares_first, memory=memory
        )
    except TooManyPathsError as error:
        return in_pieces(problem, error.loops, stop, spares_first, piece)
    made: PlanResult | None = None
    if desk is not None and desk.found.best is None and not desk.found.impossible:
        made = rough(problem, stop, spares_first, piece)
        if made.plan and on_progress is not None:
            on_progress(made)
        kept = Memory()
        kept.keep(made.plan)
        desk = searched(
            problem,
            stop,
            limit,
            on_progress,
            spares_first=spares_first,
            memory=kept,
            first_plan=limit,
        )
        if made.plan and (desk is None or desk.found.best is None):
            return made
    if desk is None or desk.found.best is None:
        none = nothing(problem, lifts(problem, stop=stop) if explain else ())
        # Where only whether there is a plan is asked nobody reads what would last best.
        worn = worn_down(problem, none.lift, again) if effort == "full" else ()
        return replace(none, complete=desk is None or desk.found.impossible, least_worn=worn)
    plans = _rivals(desk, limit) if effort == "full" else []
    told = answer(desk)
    result = beside(desk, told, plans, again)
    if made is not None and better(made, result):
        result = replace(made, bound_s=result.bound_s)
    spares = problem.rules.spare_max
    short_of_rims = bool(result.lift) and {lift.code for lift in result.lift} == {"RIM-1"}
    if short_of_rims and spares_first is None and spares > problem.rules.spare_min:
        # Fewer wheels on board leave more rims for what the zone needs.
        fewer = replace(problem, rules=replace(problem.rules, spare_max=spares - 1))
        other = propose(fewer, stop=stop, work_limit=work_limit, effort=effort)
        if other.plan:
            return replace(other, bound_s=result.bound_s, complete=False)
    if effort == "full" and told.report is not None and not desk.halted:
        result = replace(result, short_call=short_call(problem, told.report, stop))
        if with_flips and result.plan:
            result = replace(result, flips=flips(problem, result, propose))
    if memory is not None:
        memory.keep(result.plan)
    return result


def _rivals(desk: Desk, limit: int) -> list[Valued]:
    """Return the best plans behind other first fittings."""
    if desk.halted:
        return []
    before = desk.found.best
    try:
        plans = rivals(desk.search, desk.found, RIVALS, limit)
        if desk.found.best is not before:
            plans = rivals(desk.search, desk.found, RIVALS, limit)
    except StoppedError:
        return []
    return plans


def _blocked(problem: Problem) -> tuple[Lift, ...]:
    """Return locks to tyres that are not to be used."""
    tyres = {t.tyre_id: t for t in lineup(problem).tyres}
    found = []
    for place, wanted in problem.choices.locks.items():
        tyre = tyres.get(wanted)
        if tyre is None:
            found.append(Lift("LCK-1", f"lock {place}={wanted}: no such tyre"))
        elif not tyre.usable:
            found.append(Lift("LCK-1", f"lock {place}={wanted}: {tyre.why}"))
    return tuple(found)
