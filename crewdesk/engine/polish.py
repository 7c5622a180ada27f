"""Small exchanges that may better a plan."""

from itertools import combinations

from crewdesk.engine.plans import Valued, Valuer
from crewdesk.engine.tree import encode


def polished(valuer: Valuer, plan: Valued) -> Valued:
    """Return a plan after exchanges of two tyres, for one loop or from one on.

    Parameters
    ----------
    valuer : Valuer
        Costs plans.
    plan : Valued
        To begin from.

    Returns
    -------
    Valued
        No exchange of two tyres of one loop betters it.

    Notes
    -----
    An exchange that helps is taken at once, and the search goes on behind it; it ends
    after a round without any.

    References
    ----------
    .. [1] Local search (operations research textbooks).
    """
    n_loops = valuer.tree.n_loops
    places = [
        (loop, one, two, end)
        for loop in range(n_loops)
        for one, two in combinations(range(4), 2)
        for end in sorted({loop + 1, n_loops})
    ]
    since = 0
    while since < len(places):
        for place in places:
            paths = _exchanged(valuer, plan, *place)
            trial = None if paths is None else valuer.value(paths)
            since += 1
            if trial is not None and trial.total_s < plan.total_s - 1e-9:
                plan, since = trial, 0
            if since >= len(places):
                break
    return plan


def _exchanged(
    valuer: Valuer, plan: Valued, loop: int, one: int, two: int, end: int
) -> list[int] | None:
    """Return a plan with the tyres on two corners exchanged from a loop to before another."""
    tree = valuer.tree
    here = (plan.corners[loop][one], plan.corners[loop][two])
    a, b = list(tree.steps(here[0])), list(tree.steps(here[1]))
    a[loop:end], b[loop:end] = b[loop:end], a[loop:end]
    paths = [
        tree.find(int(tree.leaf_group[p]), encode(tuple(steps)))
        for p, steps in zip(here, (a, b), strict=True)
    ]
    if min(paths) < 0 or set(paths) == set(here):
        return None
    return [*(p for p in plan.paths if p not in here), *paths]
