"""What the rules leave: counts still free, and the patterns a loop's fitting may have."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations_with_replacement

import numpy as np
from numpy.typing import NDArray

from crewdesk.engine.counting import JOKER, Span, counted_already, left_of, spans_of
from crewdesk.engine.groups import Group, Lineup
from crewdesk.engine.problem import Problem
from crewdesk.regulations.predicates import axle_level


@dataclass(frozen=True)
class Pattern:
    """Classes of tyres on the two axles and carried; a class is what may share an axle."""

    front: int
    rear: int
    spares: tuple[int, ...]

    def at(self, corner: int) -> int:
        """Return the class on a corner."""
        return self.front if corner < 2 else self.rear

    @property
    def covers(self) -> NDArray[np.bool_]:
        """Return (n, 4), the corners that each of its spares fits."""
        fits = [[self.at(corner) == kind for corner in range(4)] for kind in self.spares]
        return np.array(fits, dtype=bool).reshape(len(self.spares), 4)

    def needs(self, kind: int) -> int:
        """Return how many tyres of a class it takes."""
        axles = 2 * (self.front == kind) + 2 * (self.rear == kind)
        return axles + self.spares.count(kind)


@dataclass(frozen=True)
class Limits:
    """Counts and patterns that bind the plan."""

    left: Mapping[str, int]
    """Tyres that may still be counted, by limit; `counting` names the limits."""
    spans: tuple[Span, ...]
    """Limits of single legs and places."""
    carried_counts: bool
    spare_min: int
    spare_max: int
    n_classes: int
    class_of: tuple[int, ...]
    """Class of each group."""
    barred_mixes: frozenset[tuple[int, int]]
    """Pairs of kinds that must not stand side by side or crosswise."""
    kinds: tuple[tuple[str, str, str], ...]
    kind_of: tuple[int, ...]
    """Kind of each group, as an index into ``kinds``."""
    max_wheels: int | None
    budget: float | None
    rims: Mapping[str, int]
    """Rims by type; empty: not checked."""
    first_spares: int | None = None
    """Number of spares fixed for the first loop."""
    maker_of: tuple[str, ...] = ()
    """Maker of each class where all tyres on board must be of one; empty: free."""

    def carried_on(self, group: Group) -> tuple[str, ...]:
        """Return the limits that a tyre draws on which is carried and never fitted."""
        drawn = group.tyre.draws_on
        return drawn if self.carried_counts else tuple(k for k in drawn if k == JOKER)


def limits(problem: Problem, lineup: Lineup) -> Limits:
    """Return what the rules leave at decision time.

    Parameters
    ----------
    problem : Problem
        The question.
    lineup : Lineup
        Its tyres.

    Returns
    -------
    Limits
        Counts that history has not used up, classes that may share an axle.

    Notes
    -----
    Tyres that may share an axle form a class: equal in everything that the event's
    ``axle_mix`` blocks. Where it only warns, side and diagonal mixes stay barred until
    the crew ticks them.
    """
    rules = problem.rules
    kinds = sorted({g.tyre.kind for g in lineup.groups})
    first = {g.tyre.kind: g.tyre.given.stock for g in reversed(lineup.groups)}
    levels = {
        (a, b): axle_level(first[kinds[a]], first[kinds[b]], rules)
        for a in range(len(kinds))
        for b in range(len(kinds))
    }
    if rules.maker_locked:
        levels = {
            (a, b): level if kinds[a][0] == kinds[b][0] else "block"
            for (a, b), level in levels.items()
        }
    classes = _classes(len(kinds), levels)
    makers = [kinds[classes.index(c)][0] for c in range(max(classes, default=-1) + 1)]
    barred = frozenset(
        pair
        for pair, level in levels.items()
        if level == "warn" and pair[0] != pair[1] and not problem.settings.mixes_ticked
    )
    rims: dict[str, int] = {}
    for kind in problem.rims.values():
        rims[kind] = rims.get(kind, 0) + 1
    return Limits(
        left=left_of(problem),
        spans=spans_of(problem),
        carried_counts=rules.count_rule == "fitted_or_carried",
        spare_min=rules.spare_min,
        spare_max=min(rules.spare_max, 2),
        n_classes=max(classes, default=-1) + 1,
        class_of=tuple(classes[kinds.index(g.tyre.kind)] for g in lineup.groups),
        barred_mixes=barred,
        kinds=tuple(kinds),
        kind_of=tuple(kinds.index(g.tyre.kind) for g in lineup.groups),
        max_wheels=problem.max_wheels,
        budget=problem.settings.budget,
        rims=rims,
        maker_of=tuple(makers) if rules.maker_locked else (),
    )


def _classes(n: int, levels: Mapping[tuple[int, int], str]) -> list[int]:
    """Return the class of each kind: those joined by pairs that are not blocked."""
    found = list(range(n))
    for a in range(n):
        for b in range(n):
            if levels[a, b] != "block" and found[a] != found[b]:
                old, new = max(found[a], found[b]), min(found[a], found[b])
                found = [new if c == old else c for c in found]
    names = sorted(set(found))
    return [names.index(c) for c in found]


def patterns(
    limits_: Limits, groups: tuple[Group, ...], open_groups: frozenset[int]
) -> tuple[Pattern, ...]:
    """Return the patterns that the tyres there are can fill in one loop.

    Parameters
    ----------
    limits_ : Limits
        Rules.
    groups : tuple of Group
        Groups of usable tyres.
    open_groups : frozenset of int
        Groups there in that loop.

    Returns
    -------
    tuple of Pattern
        In a fixed order.
    """
    have = [0] * limits_.n_classes
    on_axle = [[0] * limits_.n_classes for _ in range(2)]
    for group in groups:
        if group.index not in open_groups:
            continue
        kind = limits_.class_of[group.index]
        have[kind] += group.size
        for axle in range(2):
            if any(c in group.tyre.corners for c in (2 * axle, 2 * axle + 1)):
                on_axle[axle][kind] += group.size
    found = []
    classes = range(limits_.n_classes)
    for front in classes:
        for rear in classes:
            if on_axle[0][front] < 2 or on_axle[1][rear] < 2:
                continue
            for n in range(limits_.spare_min, limits_.spare_max + 1):
                for spares in combinations_with_replacement(classes, n):
                    pattern = Pattern(front, rear, spares)
                    if limits_.maker_of and len(_makers(limits_, pattern)) > 1:
                        continue
                    if all(pattern.needs(k) <= have[k] for k in classes):
                        found.append(pattern)
    return tuple(found)


def _makers(limits_: Limits, pattern: Pattern) -> set[str]:
    """Return the makers of a pattern."""
    return {limits_.maker_of[k] for k in (pattern.front, pattern.rear, *pattern.spares)}


AXLES = ((0, 1, "front"), (2, 3, "rear"))
"""Corners and words of the two axles."""

__all__ = ["AXLES", "Limits", "Pattern", "counted_already", "limits", "patterns"]
