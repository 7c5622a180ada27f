"""Rows for limits of single legs and places, and for places that have only what is on board."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from crewdesk.engine.counting import TOTAL
from crewdesk.engine.groups import Lineup
from crewdesk.engine.limits import Limits, Pattern
from crewdesk.engine.tree import Tree

Floats = NDArray[np.float64]
Patterns = Sequence[Sequence[Pattern]]

ABOARD, ON_HUBS = 6.0, 4.0
"""Tyres that a loop without stages may count at most: fitted and carried, or fitted."""


@dataclass
class SideRow:
    """A row beside those that every program has: at most ``upper``."""

    upper: float
    paths: Floats | None = None
    """(N,), entries of the paths."""
    extras: dict[int, float] = field(default_factory=dict)
    """Entries of tyres that are only carried, by group."""
    patterns: dict[int, Floats] = field(default_factory=dict)
    """Entries of the patterns, by loop."""
    free: dict[int, float] = field(default_factory=dict)
    """Entries of the columns that belong to these rows alone."""


@dataclass
class SideRows:
    """All of them."""

    rows: list[SideRow] = field(default_factory=list)
    n_free: int = 0

    def column(self) -> int:
        """Return the number of one more column."""
        self.n_free += 1
        return self.n_free - 1


def side_rows(
    tree: Tree,
    lineup: Lineup,
    limits: Limits,
    patterns: Patterns,
    place_of: Sequence[int],
    n_places: int,
    after: Sequence[int | None],
) -> SideRows:
    """Return the rows that some events need.

    Parameters
    ----------
    tree : Tree
        Paths.
    lineup : Lineup
        Tyres.
    limits : Limits
        Rules.
    patterns : sequence
        Patterns by loop.
    place_of : sequence of int
        Number of the change place of each loop with stages.
    n_places : int
        Change places in all.
    after : sequence
        By loop: the loop whose car holds all that is there, or None.

    Returns
    -------
    SideRows
        None where nothing of that kind binds.

    Notes
    -----
    A tyre is counted where it is first fitted, or earlier where it is carried before. The
    columns say how many are counted ahead of their first loop; every plan that keeps the
    rules satisfies the rows, so that they leave the bound valid.

    References
    ----------
    .. [1] Flow formulation (operations research textbooks).
    """
    found = SideRows()
    if limits.spans:
        _counts(found, tree, lineup, limits, patterns, place_of, n_places)
    for loop, before in enumerate(after):
        if before is not None:
            _aboard(found, tree, limits, patterns, loop, before)
    return found


def _spares(patterns: Patterns, loop: int) -> Floats:
    """Return how many tyres each pattern of a loop carries."""
    return np.array([float(len(p.spares)) for p in patterns[loop]])


def _counts(
    found: SideRows,
    tree: Tree,
    lineup: Lineup,
    limits: Limits,
    patterns: Patterns,
    place_of: Sequence[int],
    n_places: int,
) -> None:
    """Add the rows of the limits of legs and places."""
    counting = np.array([TOTAL in g.tyre.draws_on for g in lineup.groups], dtype=bool)
    mine = counting[tree.leaf_group]
    first = np.where(tree.rows >= 0, np.arange(tree.n_loops)[:, None], tree.n_loops).min(axis=0)
    at: Mapping[int, int] = {place: loop for loop, place in enumerate(place_of)}
    may = [n for n in range(n_places) if n not in at or limits.carried_counts]
    ahead = {
        (node, loop): found.column()
        for node in may
        for loop, place in enumerate(place_of)
        if place > node
    }
    only = {node: found.column() for node in may} if limits.carried_counts else {}
    for span in limits.spans:
        row = SideRow(float(span.left))
        row.paths = np.zeros(tree.size)
        for node in span.places:
            if node in at:
                row.paths += mine & (first == at[node])
            if node in only:
                row.free[only[node]] = 1.0
            for (one, loop), column in ahead.items():
                sign = float(one == node) - float(place_of[loop] == node)
                row.free[column] = row.free.get(column, 0.0) + sign
        found.rows.append(row)
    for loop in range(len(place_of)):
        early = {c: 1.0 for (_, to), c in ahead.items() if to == loop}
        if early:
            fresh = -1.0 * (mine & (first == loop))
            found.rows.append(SideRow(0.0, paths=fresh, free=early))
    for node in may:
        row = SideRow(0.0 if node in at else (ABOARD if limits.carried_counts else ON_HUBS))
        row.free = {c: 1.0 for (one, _), c in ahead.items() if one == node}
        if node in only:
            row.free[only[node]] = 1.0
        if node in at:
            row.patterns[at[node]] = -_spares(patterns, at[node])
        found.rows.append(row)
    if only:
        extras = {int(g): 1.0 for g in np.flatnonzero(counting)}
        found.rows.append(SideRow(0.0, extras=extras, free=dict.fromkeys(only.values(), -1.0)))


def _aboard(
    found: SideRows,
    tree: Tree,
    limits: Limits,
    patterns: Patterns,
    loop: int,
    before: int,
) -> None:
    """Add the rows of a place that has only what is on board."""
    enters = (tree.rows[loop] >= 0) & (tree.rows[before] < 0)
    kind = np.array(limits.class_of, dtype=np.int64)[tree.leaf_group]
    for k in range(limits.n_classes):
        carried = np.array([float(p.spares.count(k)) for p in patterns[before]])
        row = SideRow(0.0, paths=(enters & (kind == k)).astype(np.float64))
        row.patterns[before] = -carried
        found.rows.append(row)
    row = SideRow(0.0)
    row.patterns = {before: -_spares(patterns, before), loop: _spares(patterns, loop)}
    found.rows.append(row)
