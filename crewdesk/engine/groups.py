"""Tyres that are alike are one group: the search moves groups, names come at the end."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from crewdesk.engine.counting import draws_on
from crewdesk.engine.problem import Problem, TyreInput
from crewdesk.regulations.rulebook import Rulebook
from crewdesk.units import CORNERS, Place

LEFT = (0, 2)
RIGHT = (1, 3)
REST = 4
"""Step of a tyre that is on no corner in a loop."""

_BY_LOCK: dict[str, tuple[int, ...]] = {
    "": (0, 1, 2, 3),
    "FL": (0,),
    "FR": (1,),
    "RL": (2,),
    "RR": (3,),
    "front": (0, 1),
    "rear": (2, 3),
    "left": LEFT,
    "right": RIGHT,
    "spare": (),
    "hold": (),
    "scrap": (),
}


def natural_key(text: str) -> tuple[tuple[int, str], ...]:
    """Return a key that sorts H2 before H10.

    Examples
    --------
    >>> sorted(["H10", "H2", "A1"], key=natural_key)
    ['A1', 'H2', 'H10']
    """
    parts = re.split(r"(\d+)", text)
    return tuple((int(p), "") if p.isdigit() else (-1, p) for p in parts if p)


def is_left(corner: int) -> bool:
    """Return whether a corner is on the left."""
    return corner in LEFT


@dataclass(frozen=True)
class Tyre:
    """A tyre in canonical order."""

    index: int
    given: TyreInput
    corners: tuple[int, ...]
    """Corners that its direction and its lock allow."""
    one_side: bool
    """Built for one sense of rotation and not mounted: all its loops on one side."""
    side: str
    """Side that its edges belong to; blank: unknown or all the same."""
    usable: bool
    why: str
    first_place: int
    """Number of the first change place, counted from 0, at which it is there."""
    forced: Place | None
    """Place that the crew fixed for the next loop."""
    draws_on: tuple[str, ...]
    """Limits that its first use draws on; none where it counts already or never."""
    late_code: str
    """Rule that keeps it away until ``first_place``."""
    kind: tuple[str, str, str]

    @property
    def tyre_id(self) -> str:
        """Return the crew's own name for it."""
        return self.given.stock.tyre_id

    @property
    def cap_group(self) -> str:
        """Return the cap it counts under."""
        return self.given.stock.cap_group or self.given.stock.compound

    @property
    def counted(self) -> bool:
        """Return whether using it costs nothing of the limits."""
        return not self.draws_on


@dataclass(frozen=True)
class Group:
    """Tyres that are alike in everything that matters."""

    index: int
    members: tuple[int, ...]
    """Canonical indices, in order."""
    tyre: Tyre
    """The first of them."""

    @property
    def size(self) -> int:
        """Return how many there are."""
        return len(self.members)


@dataclass(frozen=True)
class Lineup:
    """All tyres in canonical order, and the groups of the usable ones."""

    tyres: tuple[Tyre, ...]
    groups: tuple[Group, ...]
    group_of: tuple[int, ...]
    """Group of each tyre, -1 where it is not usable."""
    like: tuple[int, ...]
    """Index of the first tyre with the same path costs, by tyre."""

    def index(self, tyre_id: str) -> int:
        """Return the canonical index of a tyre, or raise KeyError."""
        for tyre in self.tyres:
            if tyre.tyre_id == tyre_id:
                return tyre.index
        raise KeyError(tyre_id)


def banned(tyre: TyreInput, bans: Iterable[str]) -> bool:
    """Return whether the crew banned a tyre by its id or its compound."""
    words = {b.casefold() for b in bans}
    stock = tyre.stock
    return stock.tyre_id.casefold() in words or stock.compound.casefold() in words


def least_mm(rules: Rulebook) -> float:
    """Return the least depth in force: a winter minimum holds for every tyre. [mm]."""
    return max(rules.tread_min_mm, rules.winter_tread_min_mm or 0.0)


def _any_on_car(problem: Problem) -> bool:
    """Return whether the book says what is on the car."""
    return any(t.on_car is not None for t in problem.tyres)


def _away_until(problem: Problem, given: TyreInput) -> int:
    """Return the number of the first place that has a tyre which is not on the car.

    A remote place has what is on board alone, a zone also what was brought there.
    """
    here = given.in_zone or given.stock.location == "zone"
    for number, place in enumerate(problem.places):
        brought = place.kind == "zone" and (here or number > 0)
        if not place.remote and (place.kind != "zone" or brought):
            return number
    return len(problem.places)


def _canonical(problem: Problem, given: TyreInput, index: int) -> Tyre:
    """Return one tyre with what its direction, lock and the crew's choices leave of it."""
    stock = given.stock
    corners = set(_BY_LOCK[stock.lock])
    if stock.direction == "left":
        corners &= set(LEFT)
    elif stock.direction == "right":
        corners &= set(RIGHT)
    side = given.side or (stock.side_run if stock.side_run in {"left", "right"} else "")
    if given.on_car is not None and given.on_car in CORNERS:
        side = "left" if is_left(CORNERS.index(given.on_car)) else "right"
    if given.edge_share[0] == given.edge_share[1]:
        side = ""
    usable, why = given.usable, given.unusable_why
    if usable and banned(given, problem.choices.bans):
        usable, why = False, "banned by the crew"
    if usable and stock.lock in {"hold", "scrap"}:
        usable, why = False, f"locked: {stock.lock}"
    least = least_mm(problem.rules)
    if usable and min(given.tread_mm) < least - 1e-9:
        winter = least > problem.rules.tread_min_mm
        code = "TRD-3" if winter else "TRD-1"
        usable, why = False, f"{code} {min(given.tread_mm):.2f} mm, limit {least:g}"
    first, late_code = 0, "PLC-1"
    if given.available_from is not None:
        late = [p for p in problem.places if p.due_out_utc < given.available_from]
        first = len(late)
    if given.on_car is None and _any_on_car(problem):
        away = _away_until(problem, given)
        if away > first:
            first, late_code = away, "PLC-4"
    # In a loop without stages a fixed tyre is as good as its like for what comes after.
    opens = bool(problem.places) and bool(problem.places[0].stages)
    locks = problem.choices.locks if opens else {}
    forced = next((p for p, t in locks.items() if t == stock.tyre_id), None)
    return Tyre(
        index=index,
        given=given,
        corners=tuple(sorted(corners)),
        one_side=stock.direction == "arrow",
        side=side,
        usable=usable,
        why=why,
        first_place=first,
        forced=forced,
        draws_on=draws_on(
            given,
            problem.rules,
            counted=given.counted or stock.tyre_id in problem.counted_ids,
        ),
        late_code=late_code,
        kind=stock.kind_key,
    )


def _state_key(tyre: Tyre, problem: Problem) -> tuple[object, ...]:
    """Return what decides how a tyre wears, grips and costs."""
    given, stock = tyre.given, tyre.given.stock
    return (
        tyre.kind,
        stock.use,
        stock.hardness,
        stock.size,
        stock.tread_new_mm,
        stock.price,
        stock.terms == "hired",
        bool(stock.studs),
        given.model,
        given.tread_mm,
        given.edge_share,
        given.tread_sd_mm,
        problem.tyre_wear_sd.get(tyre.tyre_id, problem.wear_sd),
        given.tread_c,
        given.bulk_c,
        given.ever_fitted,
        tyre.side,
    )


def _group_key(tyre: Tyre, problem: Problem) -> tuple[object, ...]:
    """Return what makes two tyres interchangeable."""
    given = tyre.given
    corner = given.on_car if problem.max_wheels is not None else None
    return (
        *_state_key(tyre, problem),
        tyre.draws_on,
        tyre.corners,
        tyre.one_side,
        tyre.first_place,
        given.stock.rim,
        tyre.forced,
        corner if corner in CORNERS else None,
    )


def _repr_key(key: tuple[object, ...]) -> str:
    """Return a key as text, for use in a dictionary whatever it holds."""
    return repr(key)


def lineup(problem: Problem) -> Lineup:
    """Return the tyres of a problem in canonical order, grouped.

    Parameters
    ----------
    problem : Problem
        The question.

    Returns
    -------
    Lineup
        The same whatever the order of ``problem.tyres``.

    Raises
    ------
    ValueError
        If two tyres carry the same id.

    Notes
    -----
    Canonical order is the natural order of ids. Groups stand in the order of their first
    member.
    """
    given = sorted(problem.tyres, key=lambda t: (natural_key(t.stock.tyre_id), t.stock.tyre_id))
    ids = [t.stock.tyre_id for t in given]
    if len(set(ids)) != len(ids):
        raise ValueError("two tyres carry the same id")
    tyres = tuple(_canonical(problem, t, i) for i, t in enumerate(given))
    members: dict[str, list[int]] = {}
    firsts: dict[str, int] = {}
    like: list[int] = []
    for tyre in tyres:
        like.append(firsts.setdefault(_repr_key(_state_key(tyre, problem)), tyre.index))
        if tyre.usable:
            members.setdefault(_repr_key(_group_key(tyre, problem)), []).append(tyre.index)
    groups = tuple(Group(g, tuple(m), tyres[m[0]]) for g, m in enumerate(members.values()))
    group_of = [-1] * len(tyres)
    for group in groups:
        for member in group.members:
            group_of[member] = group.index
    return Lineup(tyres, groups, tuple(group_of), tuple(like))
