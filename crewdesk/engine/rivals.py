"""The best plan behind each other way to fit the next loop."""

from collections.abc import Iterator

import numpy as np

from crewdesk.engine.found import Found
from crewdesk.engine.plans import Valued
from crewdesk.engine.search import Search

DIVES, DIVES_ALONE = 8, 2
"""Times a way is rounded and costed anew, each time with the planes of the plan before it;
the second on one course of the weather."""

Key = tuple[tuple[int, int], tuple[int, int], int]
"""Kinds on the front axle, kinds on the rear axle, number of spares."""


def key_of(search: Search, plan: Valued) -> Key:
    """Return how a plan fits the first loop."""
    corners, spares = plan.first
    kind = [search.limits.kind_of[int(search.tree.leaf_group[p])] for p in corners]
    front, rear = sorted(kind[:2]), sorted(kind[2:])
    return (front[0], front[1]), (rear[0], rear[1]), len(spares)


def _keys(search: Search) -> Iterator[Key]:
    """Return the ways to fit the first loop with one kind on an axle."""
    kinds = range(len(search.limits.kinds))
    numbers = sorted({len(p.spares) for p in search.patterns[0]})
    for front in kinds:
        for rear in kinds:
            for n in numbers:
                yield (front, front), (rear, rear), n


def rivals(search: Search, found: Found, most: int, work_limit: int) -> list[Valued]:
    """Return the best plans behind other first fittings, best first.

    Parameters
    ----------
    search : Search
        After it has run.
    found : Found
        What it knows; plans found here are added to it.
    most : int
        How many are wanted.
    work_limit : int
        Work at most.

    Returns
    -------
    list of Valued
        One for each way, the best plan's own way left out.

    Notes
    -----
    Every way is ranked by the relaxed program with the first fitting fixed, the best ones
    then rounded and costed exactly, all on the same scenarios.

    References
    ----------
    .. [1] Ranking by relaxed values with equal effort for all.
    """
    if search.last is None or found.best is None:
        return []
    hunt, master = search.last, search.last.master
    tree, limits = search.tree, search.limits
    kind = np.array(limits.kind_of, dtype=np.int64)[tree.leaf_group]
    first = tree.first_step
    own = key_of(search, found.best)
    ranked = []
    work = 0

    def only(key: Key) -> None:
        front, rear, n = key
        axle = first // 2
        fits = (
            (axle == 2) | ((axle == 0) & (kind == front[0])) | ((axle == 1) & (kind == rear[0]))
        )
        patterns = np.array([len(p.spares) == n for p in search.patterns[0]])
        others = [np.ones(len(p), dtype=bool) for p in search.patterns[1:]]
        master.restrict(fits, [patterns, *others])

    for key in _keys(search):
        if key == own or work > work_limit:
            continue
        only(key)
        priced = master.relax()
        work += priced.work
        if priced.feasible:
            ranked.append((round(priced.value_s, 9), key))
    ranked.sort()
    for _, key in ranked[: most + 2]:
        if work > work_limit:
            break
        only(key)
        for _ in range(DIVES_ALONE if search.course.n_scenarios == 1 else DIVES):
            choice, done = master.dive()
            work += done
            if choice is None or not hunt.take(choice):
                break
    master.restrict()
    found.work += work
    best: dict[Key, Valued] = {}
    for plan in found.seen.values():
        key = key_of(search, plan)
        if key not in best or plan.total_s < best[key].total_s:
            best[key] = plan
    best.pop(key_of(search, found.best), None)
    return sorted(best.values(), key=lambda p: (p.total_s, p.paths))[:most]
