"""Plans grown loop by loop for all tyres at once, under the prices of the linear program."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from crewdesk.engine.fitting_cost import FittingCost
from crewdesk.engine.limits import Limits
from crewdesk.engine.master import Master, Priced, StoppedError
from crewdesk.engine.parts import (
    Parts,
    apart,
    best_of_each,
    crossed,
    joined,
    listed,
    without_twins,
)
from crewdesk.engine.planes import Planes
from crewdesk.engine.plans import Valuer, entries
from crewdesk.engine.stems import Stems

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Mask = NDArray[np.bool_]

FITTINGS = 32
"""Fittings that a part of a plan goes on with where only plans are wanted. Tuning value."""
COSTED = 6
"""Times the width so many of them are costed, the cheapest."""
CELLS = 200_000
"""Entries of the working arrays at most: parts of plans are gone through in slices."""
MOST_JOINED = 400_000
"""Fittings costed for one loop at most."""
FAR = 1e5
"""Price of what is not open: more than any two plans differ by. [s]"""


@dataclass(frozen=True)
class Grown:
    """What came of growing."""

    plans: tuple[tuple[float, tuple[int, ...]], ...]
    """Least cost and paths of each, the least first. [s]"""
    bound_s: float
    """No plan that is not among them costs less; minus infinity where nothing is known."""
    work: int


class Layers:
    """Grows plans under one set of prices."""

    def __init__(
        self,
        valuer: Valuer,
        stems: Stems,
        limits: Limits,
        master: Master,
        planes: Planes,
        priced: Priced,
        open_: tuple[Mask, tuple[Mask, ...]] | None = None,
    ) -> None:
        self._stems = stems
        self._tree = valuer.tree
        self._start_s = priced.value_s
        groups = valuer.lineup.groups
        self._cost = FittingCost(
            valuer.course, master, planes, priced, None if open_ is None else open_[1]
        )
        reduced = np.clip(priced.reduced_s, 0.0, FAR)
        if open_ is not None:
            reduced = np.where(open_[0], reduced, FAR)
        self._least = stems.least(reduced)
        self._size = np.array([g.size for g in groups], dtype=np.int64)
        self._class = np.array(limits.class_of, dtype=np.int64)
        n = range(len(groups))
        self._beside = np.array([[valuer.axle_ok(a, b) for b in n] for a in n], dtype=bool)
        keys = sorted(limits.left)
        self._draws = entries(keys, [g.tyre.draws_on for g in groups])
        self._left = np.array([float(limits.left[k]) for k in keys])
        self._forced = [valuer.course.forced_corner(g) for g in groups]
        self._carried = entries(keys, [limits.carried_on(g) for g in groups])
        self._own_s, self._offset_s = master.own_s, master.offset_s

    def grow(
        self,
        width: int,
        *,
        below_s: float = np.inf,
        whole: bool = False,
        fittings: int = FITTINGS,
        stop: Callable[[], bool] | None = None,
    ) -> Grown:
        r"""Return plans, and a bound under all others.

        Parameters
        ----------
        width : int
            Parts of plans kept behind each loop; those that may become cheapest.
        below_s : float
            Only plans that may cost less are wanted; all of these, as far as the width
            goes. Infinity: some good ones quickly. [s]
        whole : bool
            End as soon as anything has to be dropped for the width: only a proof is wanted.
        fittings : int
            Where some good plans are wanted: fittings that each part goes on with.
        stop : callable, optional
            Asked now and then.

        Returns
        -------
        Grown
            Plans with what they cost at least.

        Raises
        ------
        StoppedError
            If ``stop`` says so.

        Notes
        -----
        Whatever the prices, a plan costs at least the value of the relaxed program, the
        reduced costs of its paths, and in each loop what its exact cost lies above the
        planes as they are priced. The reduced cost of a path of which only the beginning
        is known is at least the least of all that begin so. What is dropped for the width
        is the bound.

        References
        ----------
        .. [1] Lagrangian bounds; beam search (operations research textbooks).
        """
        n_groups = self._size.size
        parts = Parts(
            np.full((1, 0), -1, dtype=np.int64),
            np.zeros((1, 0), dtype=np.int64),
            np.zeros((1, n_groups), dtype=np.int64),
            np.array([self._start_s]),
        )
        fresh = self._stems.root
        bound_s, work = np.inf, 0
        for loop in range(self._tree.n_loops):
            if stop is not None and stop():
                raise StoppedError
            parts, dropped_s, done = self._next(
                loop, parts, fresh, width, below_s, fittings, stop
            )
            bound_s = min(bound_s, dropped_s)
            work += done
            if parts.least_s.size == 0:
                return Grown((), min(bound_s, below_s), work)
            if whole and bound_s < below_s:
                return Grown((), min(bound_s, float(parts.least_s.min())), work)
            child = self._stems.child[loop]
            fresh = np.where(fresh >= 0, child[np.maximum(fresh, 0), 4], -1)
        paths = self._paths(parts)
        least = np.maximum(parts.least_s, self._whole(parts, paths))
        order = np.flatnonzero(least <= below_s)
        order = order[np.argsort(least[order], kind="stable")]
        plans = tuple(
            (float(least[i]), tuple(sorted(int(p) for p in paths[i] if p >= 0))) for i in order
        )
        if not np.isfinite(below_s):
            bound_s = -np.inf
        return Grown(plans, min(bound_s, below_s), work)

    def _paths(self, parts: Parts) -> Ints:
        """Return (B, T), the paths of parts that have run all loops; -1 where there is none."""
        last = self._stems.first[-1]
        return np.where(parts.stem >= 0, last[np.maximum(parts.stem, 0)], -1)

    def _whole(self, parts: Parts, paths: Ints) -> Floats:
        """Return what whole plans cost at least, with as many spares as there can be. [s]."""
        tree, n_kinds = self._tree, self._cost.n_classes
        there = paths >= 0
        own = np.append(self._own_s, 0.0)[np.where(there, paths, -1)].sum(axis=1)
        more = np.minimum(self._size - parts.used, 2)
        for key in range(self._left.size):
            free = self._left[key] - parts.used @ self._draws[:, key]
            bound = np.maximum(np.floor(free + 1e-9), 0.0)[:, None]
            more = np.where(self._carried[:, key] > 0.0, np.minimum(more, bound), more)
        kinds = np.zeros((paths.shape[0], n_kinds), dtype=np.int64)
        np.add.at(kinds.T, self._class, (parts.used + more.astype(np.int64)).T)
        total = own + self._offset_s
        for loop in range(tree.n_loops):
            row = np.where(there, tree.rows[loop][np.maximum(paths, 0)], -1)
            corner = np.where(row >= 0, tree.corner[loop][np.maximum(row, 0)], 4)
            quad = np.full((paths.shape[0], 5), -1, dtype=np.int64)
            np.put_along_axis(quad, corner, row, axis=1)
            quad = quad[:, :4]
            kind = self._class[tree.group[loop][quad]]
            total += self._cost.within(loop, quad, kind[:, 0], kind[:, 2], kinds)
        return np.asarray(total)

    # One loop.

    def _next(
        self,
        loop: int,
        parts: Parts,
        fresh: Ints,
        width: int,
        below_s: float,
        fittings: int,
        stop: Callable[[], bool] | None,
    ) -> tuple[Parts, float, int]:
        """Return the parts one loop further on, the least that was dropped, work done."""
        n = parts.stem.shape[1] + self._size.size
        slice_ = max(CELLS // (n * n), 1)
        found: list[Parts] = []
        dropped_s, work = np.inf, 0
        for low in range(0, parts.least_s.size, slice_):
            if stop is not None and low and stop():
                raise StoppedError
            some = parts.take(np.arange(low, min(low + slice_, parts.least_s.size)))
            grown, less_s, done = self._slice(
                loop, some, fresh, below_s, (fittings, COSTED * width)
            )
            found.append(grown)
            dropped_s, work = min(dropped_s, less_s), work + done
        merged = joined(found)
        kept = without_twins(merged)
        if kept.least_s.size > width:
            order = np.argsort(kept.least_s, kind="stable")
            dropped_s = min(dropped_s, float(kept.least_s[order[width]]))
            kept = kept.take(order[:width])
        else:
            kept = kept.take(np.argsort(kept.least_s, kind="stable"))
        return kept, dropped_s, work

    def _slice(
        self, loop: int, parts: Parts, fresh: Ints, below_s: float, most: tuple[int, int]
    ) -> tuple[Parts, float, int]:
        """Return what some parts become in a loop; most is of each part, and of all."""
        child, least = self._stems.child[loop], self._least[loop + 1]
        b, t = parts.stem.shape
        there = parts.stem >= 0
        rest = np.where(there, child[np.maximum(parts.stem, 0), 4], -1)
        resting = np.where(rest >= 0, least[np.maximum(rest, 0)], 0.0)
        # An open tyre that may not rest has no way on but a corner: a price far off.
        resting = np.where(there & (rest < 0), FAR, resting)
        all_ = bool(np.isfinite(below_s))
        below_s = min(below_s, self._start_s + 0.5 * FAR)
        so_far = np.where(there, self._least[loop][np.maximum(parts.stem, 0)], 0.0).sum(axis=1)
        base = parts.least_s - so_far + resting.sum(axis=1)
        price, room = self._prices(loop, parts, fresh, resting)
        group = np.concatenate([parts.group, np.tile(np.arange(room.shape[1]), (b, 1))], axis=1)
        front = self._pairs(price, group, room, 0)
        rear = self._pairs(price, group, room, 2)
        slack = below_s - base
        least_rear = rear.reshape(b, -1).min(axis=1)
        least_front = front.reshape(b, -1).min(axis=1)
        f = listed(front, slack - least_rear, all_)
        r = listed(rear, slack - least_front, all_)
        at_f, at_r = crossed(f, r, slack)
        owner = f.part[at_f]
        cost = base[owner] + f.price[at_f] + r.price[at_r]
        kind = self._class[group]
        front_kind = kind[f.part, f.one][at_f]
        cost += self._cost.least(loop, front_kind, kind[r.part, r.one][at_r])
        quad = np.stack([f.one[at_f], f.two[at_f], r.one[at_r], r.two[at_r]], axis=1)
        wanted = np.flatnonzero((cost <= below_s) & apart(quad, t))
        wanted = wanted[self._fits(quad[wanted], owner[wanted], t, parts.used, room)]
        dropped_s = np.inf
        if not all_:
            wanted = wanted[best_of_each(owner[wanted], cost[wanted], most[0])]
            wanted = wanted[np.argsort(cost[wanted], kind="stable")[: most[1]]]
        elif wanted.size > MOST_JOINED:
            order = np.argsort(cost[wanted], kind="stable")
            dropped_s = float(cost[wanted[order[MOST_JOINED]]])
            wanted = wanted[order[:MOST_JOINED]]
        owner, quad, cost = owner[wanted], quad[wanted], cost[wanted]
        kinds = kind[owner[:, None], quad]
        stem = np.concatenate([parts.stem, np.tile(fresh, (b, 1))], axis=1)
        begun = stem[owner[:, None], quad]
        behind = child[begun, np.arange(4)]
        rows = self._stems.row[loop][behind]
        cost = cost + self._cost.above(loop, rows, kinds[:, 0], kinds[:, 2])
        good = np.flatnonzero(cost <= below_s)
        grown = self._step(
            parts, rest, group, owner[good], quad[good], behind[good], cost[good]
        )
        return grown, dropped_s, int(owner.size)

    def _prices(
        self, loop: int, parts: Parts, fresh: Ints, resting: Floats
    ) -> tuple[Floats, Ints]:
        """Return (B, T+G, 4), prices on corners beside resting, and (B, G), room."""
        child, least = self._stems.child[loop], self._least[loop + 1]
        b, t = parts.stem.shape
        n_groups = self._size.size
        price = np.full((b, t + n_groups, 4), np.inf)
        for corner in range(4):
            on = np.where(parts.stem >= 0, child[np.maximum(parts.stem, 0), corner], -1)
            price[:, :t, corner] = np.where(on >= 0, least[np.maximum(on, 0)] - resting, np.inf)
            on = np.where(fresh >= 0, child[np.maximum(fresh, 0), corner], -1)
            price[:, t:, corner] = np.where(on >= 0, least[np.maximum(on, 0)], np.inf)
        room = self._size - parts.used
        if self._left.size:
            drawn = parts.used @ self._draws
            full = (drawn[:, None, :] + self._draws[None] > self._left + 1e-9) & (
                self._draws[None] > 0.0
            )
            room = np.where(full.any(axis=2), 0, room)
        price[:, t:, :] = np.where((room > 0)[:, :, None], price[:, t:, :], np.inf)
        if loop == 0:
            for corner in range(4):
                mine = np.array([f == corner for f in self._forced], dtype=bool)
                if mine.any():
                    others = np.concatenate([np.ones(t, dtype=bool), ~mine])
                    price[:, others, corner] = np.inf
        return price, room

    def _pairs(self, price: Floats, group: Ints, room: Ints, corner: int) -> Floats:
        """Return (B, n, n), what two tyres cost on an axle; infinite where they may not."""
        n, t = price.shape[1], price.shape[1] - room.shape[1]
        pair = price[:, :, None, corner] + price[:, None, :, corner + 1]
        same = np.arange(n)
        pair[:, same[:t], same[:t]] = np.inf
        twice = np.where(room >= 2, pair[:, same[t:], same[t:]], np.inf)
        pair[:, same[t:], same[t:]] = twice
        pair[~self._beside[group[:, :, None], group[:, None, :]]] = np.inf
        return pair

    def _fits(self, quad: Ints, owner: Ints, t: int, used: Ints, room: Ints) -> Mask:
        """Return whether the tyres that are new are there, and within the counts."""
        ok = np.ones(owner.size, dtype=bool)
        for corner in range(1, 4):
            same = (quad[:, :corner] == quad[:, corner, None]).sum(axis=1)
            new = np.flatnonzero((same > 0) & (quad[:, corner] >= t))
            ok[new] &= same[new] < room[owner[new], quad[new, corner] - t]
        drawn = used @ self._draws
        for key in range(self._left.size):
            draws = np.concatenate([np.zeros(t), self._draws[:, key]])
            now = draws[quad].sum(axis=1)
            ok &= (now == 0.0) | (drawn[owner, key] + now <= self._left[key] + 1e-9)
        return ok

    def _step(
        self,
        parts: Parts,
        rest: Ints,
        group: Ints,
        owner: Ints,
        quad: Ints,
        behind: Ints,
        cost: Floats,
    ) -> Parts:
        """Return parts with four tyres put on and the others at rest."""
        t, n_groups = parts.stem.shape[1], self._size.size
        n = owner.size
        stem = np.concatenate([rest[owner], np.full((n, 4), -1, dtype=np.int64)], axis=1)
        owned = np.concatenate(
            [parts.group[owner], np.full((n, 4), n_groups, dtype=np.int64)], axis=1
        )
        used = parts.used[owner].copy()
        at = np.arange(n)
        for corner in range(4):
            new = quad[:, corner] >= t
            where = np.where(new, t + corner, quad[:, corner])
            stem[at, where] = behind[:, corner]
            owned[at, where] = group[owner, quad[:, corner]]
            used[at[new], quad[new, corner] - t] += 1
        # Tyres in one order, so that plans alike in all are the same numbers.
        order = np.argsort(np.where(stem >= 0, stem, np.iinfo(np.int64).max), axis=1)
        stem = np.take_along_axis(stem, order, axis=1)
        owned = np.take_along_axis(owned, order, axis=1)
        wide = int((stem >= 0).sum(axis=1).max(initial=0))
        owned = np.where(stem >= 0, owned, 0)
        return Parts(stem[:, :wide], owned[:, :wide], used, cost)
