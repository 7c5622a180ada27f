"""How far paths go in a day with more of them than can be held: few loops, near each other."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import comb


@dataclass(frozen=True)
class Reach:
    """What a tyre may do in a long day."""

    loops: int
    """On a corner in so many loops at most."""
    span: int
    """From the first of them to the last, both counted, at most so many."""

    def paths(self, n_loops: int, n_corners: int, opens: int = 0) -> int:
        """Return how many paths a tyre has at most.

        Examples
        --------
        >>> Reach(2, 2).paths(3, 1)
        6
        >>> Reach(3, 3).paths(3, 4)
        125
        """
        found = 1
        for first in range(opens, n_loops):
            later = min(self.span, n_loops - first) - 1
            found += sum(
                comb(later, k) * n_corners ** (k + 1)
                for k in range(min(self.loops - 1, later) + 1)
            )
        return found


@dataclass(frozen=True)
class Kind:
    """Tyres that are alike."""

    tyres: int
    corners: int
    opens: int
    """First loop for which they are there."""


def _held(reach: Reach, n_loops: int, kinds: Sequence[Kind], most: int) -> bool:
    """Return whether the paths of all kinds are not too many."""
    return sum(reach.paths(n_loops, k.corners, k.opens) for k in kinds) <= most


def widest(n_loops: int, kinds: Sequence[Kind], most: int) -> Reach | None:
    """Return how far tyres may go so that all their paths are not too many.

    Parameters
    ----------
    n_loops : int
        Loops with stages.
    kinds : sequence of Kind
        All tyres.
    most : int
        Paths at most.

    Returns
    -------
    Reach or None
        Four loops if all of the day is in reach of a tyre; else three, then two. None
        where the tyres are too few to run so little each.
    """
    least = fewest(n_loops, kinds)
    for loops, nearest in ((4, n_loops), (3, 5), (2, 2)):
        if loops < least.loops:
            break
        for span in range(n_loops, nearest - 1, -1):
            if _held(Reach(loops, span), n_loops, kinds, most):
                return Reach(loops, span)
    return least if _held(least, n_loops, kinds, most) else None


def fewest(n_loops: int, kinds: Sequence[Kind]) -> Reach:
    """Return a short reach with which there mostly is a plan.

    Examples
    --------
    >>> fewest(6, [Kind(24, 4, 0)])
    Reach(loops=2, span=6)
    >>> fewest(6, [Kind(10, 4, 0)])
    Reach(loops=4, span=6)
    """
    # One loop more than all tyres run on the mean.
    tyres = max(sum(k.tyres for k in kinds), 1)
    return Reach(max(-(-4 * n_loops // tyres) + 1, 2), n_loops)


def nearest(n_loops: int, kinds: Sequence[Kind], most: int) -> Reach | None:
    """Return the same, or None where even so there are too many paths."""
    reach = fewest(n_loops, kinds)
    return reach if _held(reach, n_loops, kinds, most) else None
