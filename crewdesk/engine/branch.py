"""Branching: the proof that no other plan is better, part of the plans after part."""

import heapq
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from crewdesk.engine.master import Choice, Master, Priced, StoppedError
from crewdesk.engine.tree import Tree

Mask = NDArray[np.bool_]
Key = TypeVar("Key", bound=tuple[int, ...])
Value = Callable[[Choice], float | None]
"""Costs a plan exactly and adds its planes; None where it breaks a rule."""
Grow = Callable[[Priced, Mask, tuple[Mask, ...]], tuple[float, int]]
"""Grows the plans of a part of which paths and patterns are open, as far as that is quick:
bound under all that are left, work done."""

IDLE_TURNS = 40
"""A plane that bore on none of so many relaxed plans is dropped. Tuning value."""
WHOLE = 1e-6
"""Closer than this to a whole number is whole."""


@dataclass(frozen=True, order=True)
class _Part:
    """Some of the plans: paths and patterns still open."""

    bound_s: float
    number: int
    paths: Mask = field(compare=False)
    patterns: tuple[Mask, ...] = field(compare=False)
    extra: NDArray[np.float64] = field(compare=False)


@dataclass
class Proof:
    """How far the proof got."""

    bound_s: float
    work: int
    finished: bool


class Brancher:
    """Best-first branching over one program."""

    def __init__(
        self,
        master: Master,
        open_: Mask,
        *,
        value: Value,
        best_s: Callable[[], float],
        tighten: Callable[[Priced], bool],
        grow: Grow,
        tolerance_s: float,
    ) -> None:
        self.master = master
        self.tree: Tree = master.tree
        self._open = open_
        self._value = value
        self._best_s = best_s
        self._tighten = tighten
        self._grow = grow
        self._tolerance_s = tolerance_s
        self._slots = self._slot_table()
        self._known: set[tuple[tuple[int, ...], tuple[int, ...]]] = set()

    def _slot_table(self) -> NDArray[np.int64]:
        """Return (L, N), the corner of every path by loop, 4 where it rests."""
        tree = self.tree
        slots = np.full((tree.n_loops, tree.size), 4, dtype=np.int64)
        for loop in range(tree.n_loops):
            corner = np.append(tree.corner[loop], 4)
            slots[loop] = corner[tree.rows[loop]]
        return slots

    def run(self, work_limit: int, stop: Callable[[], bool] | None) -> Proof:
        """Return a bound under all plans.

        Parameters
        ----------
        work_limit : int
            Units of work at most.
        stop : callable, optional
            Asked before every part.

        Returns
        -------
        Proof
            Bound, work done, whether every part is closed.
        """
        master = self.master
        whole = _Part(
            -np.inf,
            0,
            self._open,
            tuple(np.ones(len(p), dtype=bool) for p in master.patterns),
            master.extra_bounds.copy(),
        )
        heap = [whole]
        count, work, closed_s = 1, 0, np.inf
        while heap:
            if work >= work_limit or (stop is not None and stop()):
                break
            part = heapq.heappop(heap)
            if part.bound_s >= self._best_s() - self._tolerance_s:
                closed_s = min(closed_s, part.bound_s)
                continue
            master.restrict(part.paths, part.patterns, part.extra)
            try:
                bound, priced, done = self._look(part)
            except StoppedError:
                heapq.heappush(heap, part)
                break
            work += done
            if priced is None:
                closed_s = min(closed_s, bound)
                continue
            master.tidy(IDLE_TURNS)
            for child in self._split(part, priced, bound):
                heapq.heappush(heap, replace(child, number=count))
                count += 1
        master.restrict()
        open_s = min((p.bound_s for p in heap), default=np.inf)
        return Proof(min(closed_s, open_s, self._best_s()), work, not heap)

    def _look(self, part: _Part) -> tuple[float, Priced | None, int]:
        """Return the bound of a part, and the relaxed plan where it has to be split."""
        bound, work = part.bound_s, 0
        # Under all plans, not those of this part alone: the parts come best first.
        lowest = part.bound_s
        for turn in range(12):
            priced = self.master.relax()
            work += priced.work
            if not priced.feasible:
                return np.inf, None, work
            bound = max(bound, priced.value_s)
            if not np.isfinite(lowest):
                lowest = priced.value_s
            if bound >= self._best_s() - self._tolerance_s:
                return bound, None, work
            choice = whole_choice(priced)
            if choice is None:
                if turn < 3 and self._tighten(priced):
                    continue
                grown_s, done = self._grow(priced, part.paths, part.patterns)
                bound, work = max(bound, grown_s), work + done
                if bound >= self._best_s() - self._tolerance_s:
                    return bound, None, work
                return bound, priced, work
            key = (choice.paths, choice.patterns)
            if key in self._known:
                # Its cost is known and its row is there: only rounding lets it come back.
                return bound, None, work
            self._known.add(key)
            self.master.refuse(choice, self._value(choice), lowest)
        return bound, priced, work

    def _split(self, part: _Part, priced: Priced, bound: float) -> Iterator[_Part]:
        """Return the two halves of a part."""
        part = replace(part, bound_s=bound)
        yield from (
            self._by_pattern(part, priced)
            or self._by_group(part, priced)
            or self._by_extra(part, priced)
            or self._by_pair(part, priced)
            or self._by_path(part, priced)
        )

    def _by_pattern(self, part: _Part, priced: Priced) -> list[_Part]:
        """Split by a class on an axle or the number of spares of one loop."""
        best: tuple[float, int, Mask] | None = None
        for loop, share in enumerate(priced.pattern_share):
            found = self.master.patterns[loop]
            keys: list[tuple[object, ...]] = []
            for p in found:
                keys.append(("f", p.front))
                keys.append(("r", p.rear))
                keys.append(("n", len(p.spares)))
            for key in dict.fromkeys(keys):
                mask = np.array(
                    [
                        ("f", p.front) == key
                        or ("r", p.rear) == key
                        or ("n", len(p.spares)) == key
                        for p in found
                    ]
                )
                best = _nearer(best, float(share[mask].sum()), loop, mask)
            if best is None:
                for i in range(len(found)):
                    mask = np.arange(len(found)) == i
                    best = _nearer(best, float(share[i]), loop, mask)
        if best is None:
            return []
        _, loop, mask = best
        halves = []
        for side in (mask, ~mask):
            patterns = list(part.patterns)
            patterns[loop] = patterns[loop] & side
            paths = part.paths & self._may(loop, patterns[loop])
            halves.append(replace(part, patterns=tuple(patterns), paths=paths))
        return halves

    def _may(self, loop: int, open_: Mask) -> Mask:
        """Return the paths that some open pattern of a loop has room for."""
        classes = np.array(self.master.limits.class_of, dtype=np.int64)[self.tree.leaf_group]
        may = self._slots[loop] == 4
        found = self.master.patterns[loop]
        for corner in range(4):
            kinds = {p.at(corner) for p, o in zip(found, open_, strict=True) if o}
            may |= (self._slots[loop] == corner) & np.isin(classes, list(kinds))
        return np.asarray(may)

    def _by_group(self, part: _Part, priced: Priced) -> list[_Part]:
        """Split by which group stands on a corner in one loop."""
        weight: dict[tuple[int, int, int], float] = {}
        for path, share in priced.share.items():
            group = int(self.tree.leaf_group[path])
            for loop in range(self.tree.n_loops):
                corner = int(self._slots[loop, path])
                if corner < 4:
                    key = (loop, corner, group)
                    weight[key] = weight.get(key, 0.0) + share
        key_ = _most_open(weight)
        if key_ is None:
            return []
        loop, corner, group = key_
        there = self._slots[loop] == corner
        mine = self.tree.leaf_group == group
        return [
            replace(part, paths=part.paths & ~(there & ~mine)),
            replace(part, paths=part.paths & ~(there & mine)),
        ]

    def _by_extra(self, part: _Part, priced: Priced) -> list[_Part]:
        """Split by how many tyres of a group are only carried."""
        for group, n in enumerate(priced.extra):
            low = float(np.floor(n + WHOLE))
            if n - low > WHOLE:
                less, more = part.extra.copy(), part.extra.copy()
                less[group, 1], more[group, 0] = low, low + 1.0
                return [replace(part, extra=less), replace(part, extra=more)]
        return []

    def _by_pair(self, part: _Part, priced: Priced) -> list[_Part]:
        """Split by whether one tyre stands on a corner in one loop and on another later."""
        weight: dict[tuple[int, int, int, int], float] = {}
        for path, share in priced.share.items():
            on = [
                (loop, int(self._slots[loop, path]))
                for loop in range(self.tree.n_loops)
                if self._slots[loop, path] < 4
            ]
            for i, (l1, c1) in enumerate(on):
                for l2, c2 in on[i + 1 :]:
                    weight[l1, c1, l2, c2] = weight.get((l1, c1, l2, c2), 0.0) + share
        key = _most_open(weight)
        if key is None:
            return []
        l1, c1, l2, c2 = key
        one, two = self._slots[l1] == c1, self._slots[l2] == c2
        return [
            replace(part, paths=part.paths & ~(one ^ two)),
            replace(part, paths=part.paths & ~(one & two)),
        ]

    def _by_path(self, part: _Part, priced: Priced) -> list[_Part]:
        """Split by one path, the last resort."""
        open_ = [p for p, v in priced.share.items() if v < 1.0 - WHOLE] or list(priced.share)
        path = min(open_)
        without = part.paths.copy()
        without[path] = False
        others = part.paths.copy()
        for loop in range(self.tree.n_loops):
            corner = self._slots[loop, path]
            if corner < 4:
                others &= self._slots[loop] != corner
        others[path] = part.paths[path]
        return [replace(part, paths=others), replace(part, paths=without)]


def whole_choice(priced: Priced) -> Choice | None:
    """Return the plan of a relaxed program that came out whole, or None."""
    if any(v < 1.0 - WHOLE for v in priced.share.values()):
        return None
    if any(float(z.max(initial=0.0)) < 1.0 - WHOLE for z in priced.pattern_share):
        return None
    if any(abs(n - round(n)) > WHOLE for n in priced.extra):
        return None
    picked = tuple(int(np.argmax(z)) for z in priced.pattern_share)
    return Choice(tuple(sorted(priced.share)), picked)


def _nearer(
    best: tuple[float, int, Mask] | None, share: float, loop: int, mask: Mask
) -> tuple[float, int, Mask] | None:
    """Return the split that is nearer to a half, the earlier one where they tie."""
    off = abs(share - 0.5)
    if off > 0.5 - WHOLE or mask.all():
        return best
    if best is None or off < best[0] - 1e-9:
        return off, loop, mask
    return best


def _most_open(weight: dict[Key, float]) -> Key | None:
    """Return the key whose weight is nearest to a half, the least where they tie."""
    off = {k: abs(v - 0.5) for k, v in weight.items() if abs(v - 0.5) < 0.5 - WHOLE}
    return min(off, key=lambda k: (round(off[k], 9), k)) if off else None
