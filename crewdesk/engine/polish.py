"""Small exchanges that may better a plan."""

from collections.abc import Iterator

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
    The first exchange that helps is taken, then all are tried again.

    References
    ----------
    .. [1] Local search (operations research textbooks).
    """
    better = True
    while better:
        better = False
        for paths in _neighbours(valuer, plan):
            trial = valuer.value(paths)
            if trial is not None and trial.total_s < plan.total_s - 1e-9:
                plan, better = trial, True
                break
    return plan


def _neighbours(valuer: Valuer, plan: Valued) -> Iterator[list[int]]:
    """Return plans with two tyres of one loop exchanged."""
    tree = valuer.tree
    for loop, corners in enumerate(plan.corners):
        for i, one in enumerate(corners):
            for two in corners[i + 1 :]:
                a, b = list(tree.steps(one)), list(tree.steps(two))
                for end in sorted({loop + 1, tree.n_loops}):
                    c, d = a.copy(), b.copy()
                    c[loop:end], d[loop:end] = b[loop:end], a[loop:end]
                    three = tree.find(int(tree.leaf_group[one]), encode(tuple(c)))
                    four = tree.find(int(tree.leaf_group[two]), encode(tuple(d)))
                    if three < 0 or four < 0 or {three, four} == {one, two}:
                        continue
                    rest = [p for p in plan.paths if p not in {one, two}]
                    yield [*rest, three, four]
