"""Days with more loops than can be looked at in one piece: some ahead, then on from there."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from crewdesk.engine.counting import JOKER, TOTAL, draws_on
from crewdesk.engine.problem import Choices, Problem, TyreInput
from crewdesk.engine.result import LoopPlan, PlanResult
from crewdesk.units import CORNERS, PLACES, Place

ROOM_MM = 0.03
"""Depth kept back at each step, as the tyres go on from their mean. Tuning value. [mm]"""


def cut(problem: Problem, loops: int) -> Problem:
    """Return the problem of the first loops with stages alone."""
    busy = [i for i, place in enumerate(problem.places) if place.stages]
    last = busy[loops] if loops < len(busy) else len(problem.places)
    return replace(problem, places=problem.places[:last])


def in_windows(
    problem: Problem, loops: int, ask: Callable[[Problem], PlanResult]
) -> tuple[tuple[Mapping[Place, str | None], ...], PlanResult]:
    """Return fittings for all places, each window's last part decided anew by the next.

    Parameters
    ----------
    problem : Problem
        The question.
    loops : int
        Loops with stages that can be looked at in one piece.
    ask : callable
        Answers a shorter question.

    Returns
    -------
    tuple
        Fittings by place, none where a window has no plan; the last window's answer.

    Notes
    -----
    All but the last loop of each window is kept. Nothing is proven of such a plan but that
    it keeps the rules.

    References
    ----------
    .. [1] Rolling horizon (operations research textbooks).
    """
    found: list[Mapping[Place, str | None]] = []
    rest = problem
    while True:
        busy = [i for i, place in enumerate(rest.places) if place.stages]
        whole = len(busy) <= loops
        answer = ask(rest if whole else cut(rest, loops))
        if not answer.plan:
            return (), answer
        kept = len(answer.plan) if whole else busy[max(loops - 1, 1)]
        found.extend(loop.fitting for loop in answer.plan[:kept])
        if whole:
            quiet = rest.places[len(answer.plan) :]
            found.extend(found[-1] for _ in quiet)
            return tuple(found), answer
        rest = moved_on(rest, answer.plan[:kept])


def moved_on(problem: Problem, done: Sequence[LoopPlan]) -> Problem:
    """Return the problem behind some loops of a plan."""
    carried_counts = problem.rules.count_rule == "fitted_or_carried"
    tyres = {t.stock.tyre_id: t for t in problem.tyres}
    here = problem.places[len(done)]
    in_leg = problem.counted_this_leg if problem.places[0].leg == here.leg else 0
    counted = set(problem.counted_ids)
    for number, loop in enumerate(done):
        for where, tyre_id in loop.fitting.items():
            if tyre_id is None:
                continue
            given = tyres[tyre_id]
            drawn = draws_on(given, problem.rules, counted=given.counted or tyre_id in counted)
            used = where in CORNERS or carried_counts
            if TOTAL in drawn and used:
                counted.add(tyre_id)
                in_leg += problem.places[number].leg == here.leg
            tyres[tyre_id] = _after(given, loop, where, joker=JOKER in drawn)
    last = {t: p for p, t in done[-1].fitting.items() if t is not None}
    return replace(
        problem,
        tyres=tuple(
            replace(tyres[t.stock.tyre_id], on_car=last.get(t.stock.tyre_id), in_zone=False)
            for t in problem.tyres
        ),
        places=problem.places[len(done) :],
        counted_ids=frozenset(counted),
        choices=Choices(bans=problem.choices.bans),
        max_wheels=None,
        counted_this_leg=in_leg,
        counted_here=0,
    )


def _after(given: TyreInput, loop: LoopPlan, where: Place, *, joker: bool) -> TyreInput:
    """Return a tyre after a loop on a place."""
    given = replace(given, joker_used=given.joker_used or joker)
    if where not in PLACES[:4]:
        return given
    tyre_id = given.stock.tyre_id
    mm = loop.tread_end_mm.get(tyre_id)
    if mm is not None:
        given = replace(
            given,
            tread_mm=(mm[0] - ROOM_MM, mm[1] - ROOM_MM, mm[2] - ROOM_MM),
            edge_share=loop.edge_end[tyre_id],
            side="left" if where.endswith("L") else "right",
        )
    return replace(given, ever_fitted=True, tread_c=None, bulk_c=None)
