"""Tyres get rims: their own, a free one, or one that another tyre can spare."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from crewdesk.engine.evaluate import Fit
from crewdesk.engine.groups import Lineup, natural_key
from crewdesk.engine.problem import Problem
from crewdesk.units import PLACES, Place


@dataclass(frozen=True)
class Rims:
    """Which tyre is on which rim through a plan."""

    by_place: tuple[dict[Place, str], ...]
    """Of the wheels on board, for each loop."""
    missing: tuple[tuple[int, int], ...]
    """Loops and tyres without a rim."""
    held: tuple[Mapping[int, str], ...]
    """Of all tyres that are on one, by canonical index, as each loop begins."""


def rims_for(
    problem: Problem, lineup: Lineup, fits: Sequence[Fit], zones: Sequence[bool]
) -> Rims:
    """Return the rim of every wheel in every loop, and the tyres that find none.

    Parameters
    ----------
    problem : Problem
        The question.
    lineup : Lineup
        Tyres.
    fits : sequence of Fit
        Fittings of all loops, in order.
    zones : sequence of bool
        Whether a loop begins at a zone, where nothing can be mounted: wheels for it must
        be whole when the loop before begins.

    Returns
    -------
    Rims
        As each loop begins.

    Notes
    -----
    Own rim first, then the lowest free rim of the right type, those of tyres that may not
    be used among them, then the rim of a tyre that is not on board, those never used
    later before others.

    References
    ----------
    .. [1] Order of this project.
    """
    on_rim: dict[int, str] = {}
    # The stock table tells where a tyre was at first: by now another may be on that rim.
    for by_book in (True, False):
        for each in lineup.tyres:
            rim = each.given.rim_id if by_book else each.given.stock.rim_id
            free = rim not in on_rim.values() and each.index not in on_rim
            if rim and free and each.usable and (not problem.rims or rim in problem.rims):
                on_rim[each.index] = rim
    missing: list[tuple[int, int]] = []
    answer: list[dict[Place, str]] = []
    held: list[Mapping[int, str]] = []
    for loop, fit in enumerate(fits):
        aboard = {t for t in fit if t >= 0}
        if loop + 1 < len(fits) and zones[loop + 1]:
            aboard |= {t for t in fits[loop + 1] if t >= 0}
        for tyre in sorted(aboard):
            if tyre not in on_rim and problem.rims:
                found = _rim_for(problem, lineup, on_rim, aboard, tyre, fits[loop:])
                if found is None:
                    if tyre in fit:
                        missing.append((loop, tyre))
                    continue
                rim, giver = found
                if giver is not None:
                    del on_rim[giver]
                on_rim[tyre] = rim
        answer.append(
            {p: on_rim.get(t, "") for p, t in zip(PLACES, fit, strict=True) if t >= 0}
        )
        held.append(dict(on_rim))
    return Rims(tuple(answer), tuple(missing), tuple(held))


def _rim_for(
    problem: Problem,
    lineup: Lineup,
    on_rim: dict[int, str],
    aboard: set[int],
    tyre: int,
    ahead: Sequence[Fit],
) -> tuple[str, int | None] | None:
    """Return a rim for a tyre and the tyre that gives it up, or None."""
    kind = lineup.tyres[tyre].given.stock.rim
    right = sorted(
        (r for r, k in problem.rims.items() if not kind or k == kind), key=natural_key
    )
    taken = {r: t for t, r in on_rim.items()}
    for rim in right:
        if rim not in taken:
            return rim, None
    later = {t for fit in ahead for t in fit if t >= 0}
    givers = sorted(
        (t for t, r in on_rim.items() if t not in aboard and r in right),
        key=lambda t: (t in later, t),
    )
    if givers:
        return on_rim[givers[0]], givers[0]
    return None
