"""Wheels brought to a tyre zone in case a puncture takes one that is planned there."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from math import exp

from crewdesk.engine.evaluate import Evaluated, Evaluator, Fit
from crewdesk.engine.groups import Lineup, natural_key
from crewdesk.engine.problem import Problem
from crewdesk.engine.result import ReserveWheel
from crewdesk.engine.wheels import Rims
from crewdesk.engine.zone_car import ZoneCar
from crewdesk.units import CORNERS

MOST = 2
"""Wheels brought beyond those that are planned. As many as a car carries: common practice, no
source."""
WORTH_S = 0.5
"""A wheel that saves less on the mean stays where it is. Tuning value of this project. [s]"""


@dataclass(frozen=True)
class Loss:
    """Corners that the loop before a zone may take, and how likely that is."""

    corners: tuple[int, ...]
    chance: float


def losses(hazard: Sequence[float]) -> tuple[Loss, ...]:
    """Return the ways to lose one or two corners in a loop.

    Parameters
    ----------
    hazard : sequence of float
        Mean number of punctures of each corner.

    Returns
    -------
    tuple of Loss
        One corner, then two at once.

    Notes
    -----
    Punctures of the corners are independent; a corner with mean number H has none with the
    chance exp(-H).

    References
    ----------
    .. [1] Poisson distribution (textbooks of probability).

    Examples
    --------
    >>> [round(loss.chance, 4) for loss in losses([0.1, 0.0, 0.0, 0.0])][:2]
    [0.0952, 0.0]
    """
    hit = [1.0 - exp(-h) for h in hazard]
    found = []
    for n in (1, 2):
        for corners in combinations(range(len(hit)), n):
            chance = 1.0
            for corner, p in enumerate(hit):
                chance *= p if corner in corners else 1.0 - p
            found.append(Loss(corners, chance))
    return tuple(found)


def reserve_for(
    problem: Problem,
    lineup: Lineup,
    evaluator: Evaluator,
    busy: Sequence[int],
    every: Sequence[Fit],
    number: int,
    evaluated: Evaluated,
    rims: Rims,
) -> tuple[ReserveWheel, ...]:
    """Return the wheels to bring to a zone beyond those that are planned there.

    Parameters
    ----------
    problem : Problem
        The question.
    lineup : Lineup
        Tyres.
    evaluator : Evaluator
        Of the plan.
    busy : sequence of int
        Numbers of the places whose loops have stages.
    every : sequence of Fit
        Fittings at all change places.
    number : int
        Of the zone among the places.
    evaluated : Evaluated
        Cost of the plan.
    rims : Rims
        Of the plan.

    Returns
    -------
    tuple of ReserveWheel
        The one that saves most first; none where the car could go on as well without.

    Notes
    -----
    One by one the wheel is taken that lowers the mean loss over all ways to lose one or two
    corners most; two at once where one alone changes nothing, as where an axle must be of
    one kind. A wheel on a rim costs nothing to bring; it counts only where it is fitted.

    References
    ----------
    .. [1] Greedy choice; common practice, no source, is a wheel or two more than planned.
    """
    before = number - 1
    if number == 0 or number not in busy or before not in busy:
        return ()
    leaves = before
    while leaves >= 0 and (
        problem.places[leaves].remote or problem.places[leaves].kind == "zone"
    ):
        leaves -= 1
    if leaves < 0:
        return ()
    car, fit = every[before], every[number]
    loop = busy.index(before)
    hazard = [float(evaluated.steps[loop, t].run.hazard.mean()) for t in car[:4]]
    cases = [loss for loss in losses(hazard) if loss.chance > 0.0]
    lost_s = problem.settings.wheel_lost_s
    # What cannot save half a second even where it saves everything is not looked at.
    if sum(case.chance for case in cases) * lost_s < WORTH_S:
        return ()
    free = _free(problem, lineup, every, number, leaves, rims)
    if not free:
        return ()
    weigh = ZoneCar(problem, lineup, evaluator, busy, every, number)
    planned = frozenset(t for t in (*car, *fit) if t >= 0)

    weighed = _Weighed(weigh, planned, car, cases)
    taken: list[int] = []
    found: list[ReserveWheel] = []
    while len(taken) < MOST and weighed.mean_s > WORTH_S:
        picked = _best(lineup, weighed, taken, list(free))
        if not picked:
            break
        for tyre in picked:
            before_s, was = weighed.mean_s, weighed.left
            taken.append(tyre)
            weighed = weighed.with_more(taken)
            helped = [c for c, w, n in zip(cases, was, weighed.left, strict=True) if n < w]
            alone = {h.corners for h in helped}
            found.append(
                ReserveWheel(
                    tyre=lineup.tyres[tyre].tyre_id,
                    rim=free[tyre],
                    corners=tuple(CORNERS[c] for c in range(4) if (c,) in alone),
                    chance=sum(h.chance for h in helped),
                    saves_s=before_s - weighed.mean_s,
                )
            )
    return tuple(found)


class _Weighed:
    """What is lost on the mean with some more wheels in the zone."""

    def __init__(
        self,
        weigh: ZoneCar,
        planned: frozenset[int],
        car: Fit,
        cases: Sequence[Loss],
        before: "_Weighed | None" = None,
        more: Sequence[int] = (),
    ) -> None:
        self._weigh, self._planned, self._car, self._cases = weigh, planned, car, cases
        left: list[float] = []
        for at, case in enumerate(cases):
            # More wheels make it no worse: what is small stays as it is.
            if before is not None and case.chance * before.left[at] < WORTH_S / len(cases):
                left.append(before.left[at])
                continue
            there = (planned | set(more)) - {car[c] for c in case.corners}
            now = weigh.left_with(there)
            left.append(now if before is None else min(now, before.left[at]))
        self.left: tuple[float, ...] = tuple(left)
        self.mean_s = sum(c.chance * s for c, s in zip(cases, left, strict=True))

    def with_more(self, more: Sequence[int]) -> "_Weighed":
        """Return the same with other wheels beside the planned ones."""
        return _Weighed(self._weigh, self._planned, self._car, self._cases, self, more)


def _best(
    lineup: Lineup,
    weighed: _Weighed,
    taken: Sequence[int],
    free: Sequence[int],
) -> tuple[int, ...]:
    """Return the wheel that saves most, or the two where one alone is of no use."""
    left = [t for t in free if t not in taken]
    for n in range(1, MOST - len(taken) + 1):
        seen: dict[tuple[object, ...], int] = {}
        few = []
        for tyre in left:
            # Of those that are alike to the rules the handiest are enough.
            given = lineup.tyres[tyre]
            alike = (given.kind, given.counted, given.corners)
            seen[alike] = seen.get(alike, 0) + 1
            if seen[alike] <= n:
                few.append(tyre)
        best = n * WORTH_S
        picked: tuple[int, ...] = ()
        for more in combinations(few, n):
            saved = weighed.mean_s - weighed.with_more((*taken, *more)).mean_s
            if saved > best + 1e-9:
                best, picked = saved, more
        if picked:
            return picked
    return ()


def _free(
    problem: Problem,
    lineup: Lineup,
    every: Sequence[Fit],
    number: int,
    leaves: int,
    rims: Rims,
) -> dict[int, str]:
    """Return the wheels that may go along, with their rims: the handiest first."""
    aboard = {t for n in range(leaves, number + 1) for t in every[n] if t >= 0}
    held = [rims.held[n] for n in range(leaves, number + 1)]
    in_use = {rim for each in rims.held for rim in each.values()}
    spare_rims = sorted((r for r in problem.rims if r not in in_use), key=natural_key)
    found: dict[int, str] = {}
    # Those on rims first: nothing must be mounted for them.
    order = sorted(
        (t for t in lineup.tyres if t.usable and t.corners and t.index not in aboard),
        key=lambda t: (t.index not in held[0], -min(t.given.tread_mm), t.index),
    )
    for tyre in order:
        at_leaving = {each.get(tyre.index) for each in held}
        rim = held[0].get(tyre.index) if len(at_leaving) == 1 else None
        kind = tyre.given.stock.rim
        if rim is None and not any(tyre.index in each for each in held):
            rim = next((r for r in spare_rims if not kind or problem.rims[r] == kind), None)
        if rim is None and problem.rims:
            continue
        if tyre.first_place > leaves:
            continue
        found[tyre.index] = rim or ""
        if rim in spare_rims:
            spare_rims.remove(rim)
    return found
