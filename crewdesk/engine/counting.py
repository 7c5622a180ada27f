"""What counts against which limit, and when: in all, by cap, for a leg, at one place."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from crewdesk.engine.problem import Problem, TyreInput
from crewdesk.regulations.ledger import group_of
from crewdesk.regulations.rulebook import Rulebook

TOTAL, PRIOR, JOKER = "total", "prior", "joker"
"""Tyres of the event, used ones of earlier events, damage replacements."""


@dataclass(frozen=True)
class Span:
    """Places whose newly counted tyres share a limit."""

    places: tuple[int, ...]
    """Numbers among ``Problem.places``."""
    limit: int
    used: int
    words: str

    @property
    def left(self) -> int:
        """Return how many may still be counted."""
        return max(self.limit - self.used, 0)


def cap_key(name: str) -> str:
    """Return the key of a cap."""
    return f"cap {name}"


def counted_already(problem: Problem) -> frozenset[str]:
    """Return the ids of the tyres that count already."""
    flags = {t.stock.tyre_id for t in problem.tyres if t.counted}
    return frozenset(problem.counted_ids) | flags


def draws_on(tyre: TyreInput, rules: Rulebook, *, counted: bool) -> tuple[str, ...]:
    """Return the limits that the first use of a tyre draws on.

    Parameters
    ----------
    tyre : TyreInput
        Tyre.
    rules : Rulebook
        Rules.
    counted : bool
        Whether it counts already.

    Returns
    -------
    tuple of str
        Keys of limits; none for a tyre that counts already or never.

    Notes
    -----
    A damage replacement stands beside the limits and has a number of its own. Rain tyres
    are free where the rules say so.

    References
    ----------
    .. [1] Regulation set of the event.
    """
    if counted:
        return ()
    if tyre.joker:
        return () if tyre.joker_used else (JOKER,)
    if tyre.stock.use == "asphalt_wet" and not rules.wets_count:
        return ()
    keys = [TOTAL]
    cap = group_of(tyre.stock)
    if cap in rules.caps:
        keys.append(cap_key(cap))
    if rules.prior_use_cap is not None and not tyre.stock.new:
        keys.append(PRIOR)
    return tuple(keys)


def limits_of(rules: Rulebook) -> dict[str, int]:
    """Return how many tyres each limit allows."""
    found = {cap_key(name): cap for name, cap in rules.caps.items()}
    if rules.qty_total is not None:
        found[TOTAL] = rules.qty_total
    if rules.prior_use_cap is not None:
        found[PRIOR] = rules.prior_use_cap
    found[JOKER] = rules.joker_total
    return found


def used_of(problem: Problem) -> dict[str, int]:
    """Return how many tyres each limit has seen."""
    counted = counted_already(problem)
    found = {TOTAL: len(counted), JOKER: sum(t.joker_used for t in problem.tyres)}
    for tyre in problem.tyres:
        if tyre.stock.tyre_id not in counted:
            continue
        cap = cap_key(group_of(tyre.stock))
        found[cap] = found.get(cap, 0) + 1
        if not tyre.stock.new:
            found[PRIOR] = found.get(PRIOR, 0) + 1
    return found


def left_of(problem: Problem) -> dict[str, int]:
    """Return what history has left of each limit, never less than none."""
    used = used_of(problem)
    return {k: max(n - used.get(k, 0), 0) for k, n in limits_of(problem.rules).items()}


def spans_of(problem: Problem) -> tuple[Span, ...]:
    """Return the limits of single legs and places."""
    rules, places = problem.rules, problem.places
    found: list[Span] = []
    if rules.qty_per_leg is not None:
        for leg in sorted({p.leg for p in places}):
            mine = tuple(i for i, p in enumerate(places) if p.leg == leg)
            used = problem.counted_this_leg if leg == places[0].leg else 0
            found.append(Span(mine, rules.qty_per_leg, used, f"in leg {leg}"))
    if rules.qty_per_service is not None:
        for i, place in enumerate(places):
            used = 0 if i else problem.counted_here
            words = f"at {place.name or place.key}"
            found.append(Span((i,), rules.qty_per_service, used, words))
    return tuple(found)


def newly_counted(
    on: Sequence[Mapping[int, int]],
    firsts: Sequence[Mapping[int, int]],
    carried: Sequence[Sequence[int]],
    counting: frozenset[int],
    *,
    carried_counts: bool,
) -> list[int]:
    """Return how many tyres are counted for the first time in each loop.

    Parameters
    ----------
    on : sequence of mapping
        By loop: how many tyres of each group are on corners.
    firsts : sequence of mapping
        By loop: how many of each group are on a corner for the first time.
    carried : sequence of sequence of int
        By loop: groups of the spares; may be shorter than the others.
    counting : frozenset of int
        Groups whose tyres do not count yet.
    carried_counts : bool
        Whether a carried tyre counts.

    Returns
    -------
    list of int
        As many as ``carried``.

    Notes
    -----
    As `naming` hands out tyres: a carried one has been used where there is such a one,
    else it is the next to be fitted, else one that is carried only.

    References
    ----------
    .. [1] Order of this project.
    """
    found = [0] * len(carried)
    for g in sorted(counting):
        known, ahead = 0, 0
        later = sum(f.get(g, 0) for f in firsts)
        for loop, spares in enumerate(carried):
            first = firsts[loop].get(g, 0)
            new = max(first - ahead, 0)
            ahead = max(ahead - first, 0)
            later -= new
            known += new
            if carried_counts:
                more = max(list(spares).count(g) - (known - on[loop].get(g, 0)), 0)
                taken = min(more, later)
                ahead, later = ahead + taken, later - taken
                known += more
                new += more
            found[loop] += new
    return found
