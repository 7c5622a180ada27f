"""What a plan costs: paths of anonymous tyres on the corners, and the spares beside them."""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from crewdesk.documents.stock import StockTyre
from crewdesk.engine.carry import Carry, Offer, behind, sets_of, sets_with
from crewdesk.engine.course import Course
from crewdesk.engine.groups import Group, Lineup
from crewdesk.engine.limits import Limits
from crewdesk.engine.tail import mean_of_worst
from crewdesk.engine.tree import Tree
from crewdesk.regulations.predicates import (
    axle_level,
    is_side_or_diagonal_mix,
    spare_covers,
)
from crewdesk.units import CORNERS

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Corners = tuple[int, int, int, int]
Spares = tuple[int, ...]
"""Groups of the carried tyres, in order."""


@dataclass(frozen=True)
class Valued:
    """A plan with its exact cost."""

    paths: tuple[int, ...]
    """In the order in which they first stand on a corner."""
    corners: tuple[Corners, ...]
    """Path on each corner, by loop."""
    spares: tuple[Spares, ...]
    """By loop."""
    extra: tuple[tuple[int, int], ...]
    """Tyres that are only carried: group and how many."""
    cost_s: Floats
    """(S,)"""
    total_s: float

    @property
    def first(self) -> tuple[Corners, Spares]:
        """Return what the first loop has."""
        return self.corners[0], self.spares[0]


class Valuer:
    """Costs plans exactly over one tree; remembers loops it has seen."""

    def __init__(
        self,
        course: Course,
        tree: Tree,
        lineup: Lineup,
        limits: Limits,
        ask: Callable[[], bool] | None = None,
    ) -> None:
        self._ask = ask
        self.course = course
        self.tree = tree
        self.lineup = lineup
        self.limits = limits
        self.weight = course.problem.settings.worst_tenth_weight
        self.work = 0
        self._times: dict[tuple[int, Corners, float], Floats] = {}
        self._punctures: dict[tuple[int, Corners, tuple[tuple[bool, ...], ...]], Floats] = {}
        self._covers: dict[tuple[int, Corners], tuple[bool, ...]] = {}
        self._offers: dict[tuple[int, Corners, bytes], Offer] = {}
        self._axles: dict[tuple[int, int], str] = {}
        self._mixed: dict[Corners, bool] = {}
        carried_on = [limits.carried_on(g) for g in lineup.groups]
        keys = sorted(limits.left)
        self._left = np.array([limits.left[k] for k in keys], dtype=np.int64)
        self._drawn = entries(keys, [g.tyre.draws_on for g in lineup.groups])
        self._carried = entries(keys, carried_on)
        self._counted = np.array([bool(c) for c in carried_on], dtype=bool)
        self._size = np.array([g.size for g in lineup.groups], dtype=np.int64)
        self._price = np.array([_bought_for(g) for g in lineup.groups])
        opens = np.array([course.opens(g) for g in lineup.groups], dtype=np.int64)
        self._there = opens[None, :] <= np.arange(course.n_loops)[:, None]
        busy = [loop.place_index for loop in course.tables.loops]
        self.carry = Carry(lineup, limits, behind(course.problem.places, busy), busy)
        self._mass = [course.spec(g.tyre).mass_kg for g in lineup.groups]
        self._forced_spares = tuple(
            g.index
            for g in lineup.groups
            if course.opens_at_once and g.tyre.forced in {"SP1", "SP2"}
        )

    # Whether a plan keeps the rules.

    def axle_ok(self, a: int, b: int) -> bool:
        """Return whether two groups may share an axle."""
        key = (a, b)
        if key not in self._axles:
            one, two = self._stock(a), self._stock(b)
            self._axles[key] = axle_level(one, two, self.course.problem.rules)
        return self._axles[key] != "block"

    def _stock(self, group: int) -> StockTyre:
        """Return the row of the stock table of a group."""
        return self.lineup.groups[group].tyre.given.stock

    def corners_ok(self, groups: Corners) -> bool:
        """Return whether four groups may stand on the corners together."""
        if groups in self._mixed:
            return self._mixed[groups]
        fl, fr, rl, rr = groups
        ok = self.axle_ok(fl, fr) and self.axle_ok(rl, rr)
        if ok and self.limits.barred_mixes:
            mixed = is_side_or_diagonal_mix(*(self._stock(g) for g in groups))
            pair = (self.limits.kind_of[fl], self.limits.kind_of[fr])
            ok = not (mixed and pair in self.limits.barred_mixes)
        ok = ok and self._one_maker(groups)
        self._mixed[groups] = ok
        return ok

    def _one_maker(self, groups: Sequence[int]) -> bool:
        """Return whether tyres are of one maker where the rules want that."""
        makers = self.limits.maker_of
        return not makers or len({makers[self.limits.class_of[g]] for g in groups}) <= 1

    def counts_ok(self, used: Ints, extra: Ints) -> bool:
        """Return whether counts and budget bear tyres used and only carried, by group."""
        if self.limits.budget is not None:
            money = float(used @ self._price)
            if money > self.limits.budget + 1e-9:
                return False
        return bool((used @ self._drawn + extra @ self._carried <= self._left).all())

    def wheels_ok(self, corners: Corners) -> bool:
        """Return whether few enough wheels change at the first place."""
        most = self.limits.max_wheels
        if most is None or not self.course.opens_at_once:
            return True
        changed = 0
        for corner, path in enumerate(corners):
            tyre = self.lineup.groups[int(self.tree.leaf_group[path])].tyre
            changed += tyre.given.on_car != CORNERS[corner]
        return changed <= most

    def _rows(self, loop: int, corners: Corners) -> Corners:
        """Return the rows of four paths in a loop."""
        one, two, three, four = (int(self.tree.rows[loop, p]) for p in corners)
        return one, two, three, four

    def _owners(self, corners: Corners) -> Corners:
        """Return the groups of four paths."""
        one, two, three, four = (int(self.tree.leaf_group[p]) for p in corners)
        return one, two, three, four

    def mass_kg(self, group: int) -> float:
        """Return the mass of a wheel of a group. [kg]."""
        return self._mass[group]

    # Cost.

    def time_s(self, loop: int, corners: Corners, added_kg: float) -> Floats:
        """Return (S,), stage time of a loop with paths on the corners. [s]."""
        rows = self._rows(loop, corners)
        key = (loop, rows, added_kg)
        if key not in self._times:
            self.work += 1
            mu = self.tree.mu[loop]
            grip = np.stack([mu[r] for r in rows], axis=2)[None].astype(np.float64)
            self._times[key] = self.course.time_s(loop, grip, added_kg)[0]
        return self._times[key]

    def punctures_s(self, loop: int, corners: Corners, spares: Spares) -> Floats:
        """Return (S,), expected cost of punctures in a loop. [s]."""
        rows = self._rows(loop, corners)
        groups = self._owners(corners)
        covers = tuple(self.covers(s, groups) for s in spares)
        key = (loop, rows, covers)
        if key not in self._punctures:
            hazard = np.stack([self.tree.hazard[loop][r] for r in rows], axis=-1)
            fits = np.array(covers, dtype=bool).reshape(len(covers), 4)
            self._punctures[key] = self.course.punctures_s(loop, hazard, fits)
        return self._punctures[key]

    def covers(self, group: int, corners: Corners) -> tuple[bool, ...]:
        """Return the corners that a carried tyre of a group could stand in on."""
        key = (group, corners)
        if key not in self._covers:
            fitted = dict(zip(CORNERS, (self._stock(g) for g in corners), strict=True))
            found = spare_covers(self._stock(group), fitted, self.course.problem.rules)
            self._covers[key] = tuple(c in found for c in CORNERS)
        return self._covers[key]

    def objective_s(self, cost_s: Floats) -> float:
        """Return mean plus the weighted mean of the worst tenth. [s]."""
        return float(cost_s.mean() + self.weight * mean_of_worst(cost_s))

    def arrange(self, paths: Sequence[int]) -> tuple[Corners, ...] | None:
        """Return which path stands on which corner, or None where one is missing."""
        rows = []
        steps = [self.tree.steps(p) for p in paths]
        for loop in range(self.tree.n_loops):
            at = [-1, -1, -1, -1]
            for path, walk in zip(paths, steps, strict=True):
                step = walk[loop]
                if step < 4:
                    if at[step] >= 0:
                        return None
                    at[step] = path
            if min(at) < 0:
                return None
            rows.append((at[0], at[1], at[2], at[3]))
        return tuple(rows)

    def value(self, paths: Sequence[int]) -> Valued | None:
        """Return the exact cost of a plan with its best spares, or None if it breaks a rule."""
        if self._ask is not None:
            # A plan is costed or not: only who gives up altogether ends this.
            self._ask()
        corners = self.arrange(paths)
        if corners is None or not self.wheels_ok(corners[0]):
            return None
        ordered: list[int] = []
        for row in corners:
            ordered.extend(p for p in row if p not in ordered)
        owners = [self._owners(row) for row in corners]
        if not all(self.corners_ok(o) for o in owners):
            return None
        used = np.bincount(self.tree.leaf_group[ordered], minlength=self._size.size)
        if (used > self._size).any():
            return None
        for group in self.lineup.groups:
            forced = self.course.forced_corner(group)
            if forced is not None and forced < 4 and not used[group.index]:
                return None
        base = np.asarray(
            self.tree.own_s[np.array(ordered, dtype=np.int64)].sum(axis=0)
            - self.course.beyond_start_s
        )
        return self._with_spares(tuple(ordered), corners, owners, used, base)

    # Spares.

    def _with_spares(
        self,
        ordered: tuple[int, ...],
        corners: tuple[Corners, ...],
        owners: list[Corners],
        used: Ints,
        base: Floats,
    ) -> Valued | None:
        """Return a plan with the spares that make it cheapest."""
        groups = self._size.size
        extra = np.zeros(groups, dtype=np.int64)
        for g in self._forced_spares:
            if not used[g]:
                extra[g] = 1
        on = np.zeros((len(owners), groups), dtype=np.int64)
        np.add.at(on, (np.arange(len(owners))[:, None], np.array(owners)), 1)
        best = self._fill(corners, owners, used, extra, on, base)
        while True:
            step: tuple[float, int] | None = None
            room = self._room(used, extra, on)
            may = self._counted & (used + extra < self._size) & (extra < 2)
            for g in map(int, np.flatnonzero(may)):
                extra[g] += 1
                # A tyre that no loop can take on board besides changes nothing.
                idle = best is not None and np.array_equal(self._room(used, extra, on), room)
                trial = None if idle else self._fill(corners, owners, used, extra, on, base)
                extra[g] -= 1
                if trial is None:
                    continue
                now = np.inf if best is None else best[2]
                if trial[2] < now - 1e-9 and (step is None or trial[2] < step[0] - 1e-9):
                    step = (trial[2], g)
            if step is None:
                if best is None and not self._double(extra, used):
                    return None
                if best is not None:
                    break
                best = self._fill(corners, owners, used, extra, on, base)
                if best is None:
                    return None
                continue
            extra[step[1]] += 1
            best = self._fill(corners, owners, used, extra, on, base)
        spares, cost, total = best
        carried = tuple(
            (g, int(extra[g]))
            for g in map(int, np.flatnonzero(extra))
            if any(g in s for s in spares)
        )
        return Valued(ordered, corners, spares, carried, cost, total)

    def _double(self, extra: Ints, used: Ints) -> bool:
        """Take two uncounted tyres at once where one alone does not make the least number."""
        may = self._counted & (self._size - used - extra >= 2) & (extra == 0)
        for g in map(int, np.flatnonzero(may)):
            extra[g] += 2
            if self.counts_ok(used, extra):
                return True
            extra[g] -= 2
        return False

    def _room(self, used: Ints, extra: Ints, on: Ints) -> Ints:
        """Return (L, G), tyres of each group that may be carried in each loop, two at most."""
        there = np.where(self._counted, used + extra, self._size)
        return np.clip(np.where(self._there, there - on, 0), 0, 2)

    def _fill(
        self,
        corners: tuple[Corners, ...],
        owners: list[Corners],
        used: Ints,
        extra: Ints,
        on: Ints,
        base: Floats,
    ) -> tuple[tuple[Spares, ...], Floats, float] | None:
        """Return spares by loop with cost and objective, or None where too few are there."""
        if not self.counts_ok(used, extra):
            return None
        options: list[Offer] = []
        for loop, room in enumerate(self._room(used, extra, on)):
            key = (loop, corners[loop], room.tobytes())
            if key not in self._offers:
                self._offers[key] = self._offer(loop, corners[loop], owners[loop], room)
            found = self._offers[key]
            if not found.spares:
                return None
            options.append(found)
        if self.carry.binds:
            chosen = self.carry.pick(
                corners, owners, options, base, self.objective_s, self.weight
            )
            if chosen is None:
                return None
            cost = base + sum(o.cost_s[i] for o, i in zip(options, chosen, strict=True))
            spares = tuple(o.spares[i] for o, i in zip(options, chosen, strict=True))
            return spares, np.asarray(cost), self.objective_s(cost)
        picked = [o.best for o in options]
        cost = base + sum(o.cost_s[i] for o, i in zip(options, picked, strict=True))
        total = self.objective_s(cost)
        # With one course of the weather the cheapest of each loop is the cheapest of all.
        improved = self.weight > 0.0 and base.size > 1
        while improved:
            improved = False
            for loop, found in enumerate(options):
                trials = cost - found.cost_s[picked[loop]] + found.cost_s
                totals = trials.mean(axis=1) + self.weight * mean_of_worst(trials)
                i = int(np.argmin(totals))
                if totals[i] < total - 1e-10:
                    picked[loop], cost, total, improved = i, trials[i], float(totals[i]), True
        spares = tuple(o.spares[i] for o, i in zip(options, picked, strict=True))
        return spares, np.asarray(cost), total

    def _offer(self, loop: int, corners: Corners, owners: Corners, room: Ints) -> Offer:
        """Return what may be carried with the loop's cost; room is by group."""
        kinds: dict[tuple[tuple[bool, ...], float, int], list[int]] = {}
        for g in map(int, np.flatnonzero(room)):
            # Where loops bind each other it matters which of equal spares is carried.
            own = g if self.carry.binds else -1
            key = (self.covers(g, owners), self._mass[g], own)
            kinds.setdefault(key, []).extend([g] * int(room[g]))
        must = self._forced_spares if loop == 0 else ()
        low, high = max(self.limits.spare_min, len(must)), self.limits.spare_max
        if loop == 0 and self.course.opens_at_once and self.limits.first_spares is not None:
            low = high = self.limits.first_spares
        kept: list[Spares] = []
        costs: list[Floats] = []
        if must:
            members = [[g] for g in must]
            others = list(kinds.values())
            sets = sets_with(must, others)
        else:
            members = list(kinds.values())
            sets = sets_of(members)
        for spares in sets:
            if not low <= len(spares) <= high or not self._rims_bear(len(spares)):
                continue
            if not self._one_maker((*owners, *spares)):
                continue
            added = sum(self._mass[g] for g in spares)
            kept.append(spares)
            costs.append(
                self.time_s(loop, corners, added) + self.punctures_s(loop, corners, spares)
            )
        cost_s = np.stack(costs) if costs else np.zeros((0, self.course.n_scenarios))
        return Offer(kept, cost_s, int(np.argmin(cost_s.mean(axis=1))) if kept else -1)

    def _rims_bear(self, n_spares: int) -> bool:
        """Return whether there are rims for the wheels that are on board at once."""
        return not self.limits.rims or 4 + n_spares <= sum(self.limits.rims.values())


def entries(keys: Sequence[str], drawn: Sequence[Collection[str]]) -> Ints:
    """Return (G, K), 1 where a tyre of a group draws on a limit."""
    table = [[int(key in one) for key in keys] for one in drawn]
    return np.array(table, dtype=np.int64).reshape(len(drawn), len(keys))


def _bought_for(group: Group) -> float:
    """Return what a tyre of a group takes from the budget when it is first fitted."""
    given = group.tyre.given
    return float(given.stock.price or 0.0) if given.stock.new and not given.ever_fitted else 0.0
