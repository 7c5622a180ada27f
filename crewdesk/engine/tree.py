"""Every path that a tyre of each group can take over the loops, with what it costs there."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from crewdesk.engine.groups import REST, Group, is_left
from crewdesk.engine.reach import Reach

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MOST_PATHS, MOST_CELLS = 450_000, 16_000_000
"""Paths at most, and paths times scenarios: what one piece may cost in time and memory."""
FEWEST_LOOPS = 2
"""So many loops are always looked at in one piece."""
CHUNK = 1500
"""Paths advanced at once: keeps the working arrays inside the cache's reach."""


class TooManyPathsError(Exception):
    """The loops are too many to be looked at in one piece; ``loops`` says how many can be."""

    def __init__(self, loops: int) -> None:
        super().__init__(f"more paths than can be held behind {loops} loops")
        self.loops = loops


@dataclass(frozen=True)
class State:
    """Tyres on their way: P paths in S scenarios."""

    tread_mm: Floats
    """(P, S, 3)"""
    edge: Floats
    """(P, S, 3)"""
    tread_c: Floats
    """(P, S)"""
    bulk_c: Floats
    """(P, S)"""

    def take(self, rows: Ints) -> "State":
        """Return some of the paths."""
        return State(
            self.tread_mm[rows], self.edge[rows], self.tread_c[rows], self.bulk_c[rows]
        )


@dataclass(frozen=True)
class Run:
    """A loop on a corner: P paths, K stages, S scenarios."""

    state: State
    """At the out control of the change place that opens the next loop with stages."""
    mu: Floats
    """(P, K, S, 3), grip at the corner."""
    hazard: Floats
    """(P, S), expected punctures."""


class Mover(Protocol):
    """What moves tyres through the loops."""

    n_loops: int
    n_scenarios: int

    def start(self, group: Group) -> State:
        """Return the state of a tyre at the out control of the first loop with stages."""

    def run(self, loop: int, group: Group, corner: int, state: State) -> Run:
        """Return a loop on a corner."""

    def rest(self, loop: int, state: State) -> State:
        """Return a loop on no corner."""

    def bears(self, group: Group, state: State) -> NDArray[np.bool_]:
        """Return, by path, whether the mean least depth keeps the minimum."""

    def risk_s(self, group: Group, state: State) -> Floats:
        """Return, by path, the price of the chance of having gone below the minimum. [s]."""

    def money_s(self, group: Group, state: State) -> Floats:
        """Return (P, S), the worth lost since the start, without the first fitting. [s]."""

    def first_fit_s(self, group: Group) -> float:
        """Return what the first fitting to a hub costs; 0 where it has been on one. [s]."""

    def opens(self, group: Group) -> int:
        """Return the first loop with stages for which the group is there."""

    def forced_corner(self, group: Group) -> int | None:
        """Return the step fixed for the first loop (a corner or rest), or None."""


@dataclass
class Tree:
    """All paths of all groups.

    ``rows[l]`` points from a path to its row among those on a corner in loop l, or -1.
    """

    n_loops: int
    leaf_group: Ints
    """(N,)"""
    code: Ints
    """(N,), steps as digits to the base 5, the first loop most significant."""
    rows: Ints
    """(L, N)"""
    own_s: Floats
    """(N, S), money and tread risk. [s]"""
    first: Ints
    """(G+1,), paths of group g lie from first[g] to first[g+1]."""
    corner: list[Ints]
    """By loop, (M,)."""
    group: list[Ints]
    """By loop, (M,)."""
    mu: list[Floats]
    """By loop, (M, K, S, 3)."""
    hazard: list[Floats]
    """By loop, (M, S)."""
    rested: Ints
    """(G,), the path of each group that is never on a corner, or -1."""

    @property
    def size(self) -> int:
        """Return the number of paths."""
        return int(self.code.size)

    @property
    def first_step(self) -> Ints:
        """Return (N,), the step of each path in the first loop."""
        return np.asarray(self.code // 5 ** (self.n_loops - 1))

    def find(self, group: int, code: int) -> int:
        """Return the path of a group with a code, or -1 where it is not open to it."""
        lo, hi = int(self.first[group]), int(self.first[group + 1])
        at = lo + int(np.searchsorted(self.code[lo:hi], code))
        if at < hi and int(self.code[at]) == code:
            return at
        return -1

    def steps(self, path: int) -> tuple[int, ...]:
        """Return the steps of a path."""
        return decode(int(self.code[path]), self.n_loops)


def decode(code: int, n_loops: int) -> tuple[int, ...]:
    """Return the steps of a code.

    Examples
    --------
    >>> decode(encode((0, 4, 3)), 3)
    (0, 4, 3)
    """
    steps = []
    for _ in range(n_loops):
        code, step = divmod(code, 5)
        steps.append(step)
    return tuple(reversed(steps))


def encode(steps: tuple[int, ...]) -> int:
    """Return the code of some steps."""
    code = 0
    for step in steps:
        code = 5 * code + step
    return code


@dataclass
class _Level:
    """Paths of one group at the start of a loop."""

    state: State
    side: Ints
    """-1 unknown or the same, 0 left, 1 right: what the edges belong to."""
    code: Ints
    rows: Ints
    """(loops so far, P)"""
    risk_s: Floats
    used: Ints
    """Loops on a corner so far."""
    begun: Ints
    """Loop in which it first stood on a corner; the number of loops before that."""


def most_paths(scenarios: int) -> int:
    """Return how many paths can be held."""
    return min(MOST_PATHS, MOST_CELLS // scenarios)


class Grower:
    """Grows the paths of one group after the other.

    Without a reach all paths are taken, or none; with one those within it.
    """

    def __init__(
        self,
        mover: Mover,
        groups: tuple[Group, ...],
        *,
        single: bool,
        scenarios: int = 1,
        reach: Reach | None = None,
        ask: Callable[[], bool] | None = None,
    ) -> None:
        self._ask = ask
        self._most = most_paths(max(scenarios, mover.n_scenarios)) // max(len(groups), 1)
        self._reach = reach
        self._mover = mover
        self._groups = groups
        self._kind = np.float32 if single else np.float64
        loops = range(mover.n_loops)
        self._corner: list[list[Ints]] = [[] for _ in loops]
        self._group: list[list[Ints]] = [[] for _ in loops]
        self._mu: list[list[Floats]] = [[] for _ in loops]
        self._hazard: list[list[Floats]] = [[] for _ in loops]
        self._count = [0 for _ in loops]

    def grow(self) -> Tree:
        """Return the tree of all groups."""
        codes, rows, own, owner = [], [], [], []
        first = [0]
        for group in self._groups:
            level = self._grow_group(group)
            order = np.argsort(level.code, kind="stable")
            codes.append(level.code[order])
            rows.append(level.rows[:, order])
            own.append(self._own_s(group, level)[order])
            owner.append(np.full(order.size, group.index, dtype=np.int64))
            first.append(first[-1] + int(order.size))
        n_loops = self._mover.n_loops
        tree = Tree(
            n_loops=n_loops,
            leaf_group=np.concatenate(owner) if owner else np.zeros(0, dtype=np.int64),
            code=np.concatenate(codes) if codes else np.zeros(0, dtype=np.int64),
            rows=np.concatenate(rows, axis=1)
            if rows
            else np.zeros((n_loops, 0), dtype=np.int64),
            own_s=np.concatenate(own) if own else np.zeros((0, 1)),
            first=np.array(first, dtype=np.int64),
            corner=[_joined(c) for c in self._corner],
            group=[_joined(c) for c in self._group],
            mu=[_stacked(m) for m in self._mu],
            hazard=[_stacked(h) for h in self._hazard],
            rested=np.zeros(0, dtype=np.int64),
        )
        resting = encode((REST,) * n_loops)
        tree.rested = np.array(
            [tree.find(g.index, resting) for g in self._groups], dtype=np.int64
        )
        return tree

    def _pulse(self) -> None:
        """Let whoever gives up altogether end this; half a tree is of no use to others."""
        if self._ask is not None:
            self._ask()

    def _own_s(self, group: Group, level: _Level) -> Floats:
        """Return (P, S): money, the first fitting and tread risk."""
        pieces = [np.zeros((0, self._mover.n_scenarios))]
        for lo in range(0, level.code.size, CHUNK):
            self._pulse()
            part = np.arange(lo, min(lo + CHUNK, level.code.size))
            pieces.append(self._mover.money_s(group, level.state.take(part)))
        money = np.concatenate(pieces)
        fitted = self._mover.first_fit_s(group) * (level.used > 0)
        return np.asarray(money + (fitted + level.risk_s)[:, None])

    def _grow_group(self, group: Group) -> _Level:
        """Return the leaves of one group."""
        mover = self._mover
        start = mover.start(group)
        side = {"left": 0, "right": 1}.get(group.tyre.side, -1)
        level = _Level(
            state=start,
            side=np.array([side], dtype=np.int64),
            code=np.zeros(1, dtype=np.int64),
            rows=np.zeros((0, 1), dtype=np.int64),
            risk_s=np.zeros(1),
            used=np.zeros(1, dtype=np.int64),
            begun=np.full(1, mover.n_loops, dtype=np.int64),
        )
        for loop in range(mover.n_loops):
            level = self._next(group, loop, level)
            if self._reach is not None:
                continue
            # Of few loops all paths are taken however many tyres there are.
            if level.code.size > self._most and mover.n_loops > FEWEST_LOOPS:
                raise TooManyPathsError(max(loop, FEWEST_LOOPS))
        return level

    def _next(self, group: Group, loop: int, level: _Level) -> _Level:
        """Return the paths one loop further on."""
        mover = self._mover
        forced = mover.forced_corner(group) if loop == 0 else None
        open_ = mover.opens(group) <= loop
        parts: list[_Level] = []
        for corner in group.tyre.corners if open_ else ():
            if forced is not None and forced != corner:
                continue
            wanted = 0 if is_left(corner) else 1
            may = np.ones(level.code.size, dtype=bool)
            if group.tyre.one_side:
                may = (level.side == -1) | (level.side == wanted)
            if self._reach is not None:
                may &= level.used < self._reach.loops
                may &= loop - level.begun < self._reach.span
            parents = np.flatnonzero(may)
            for lo in range(0, parents.size, CHUNK):
                self._pulse()
                piece = self._run(group, loop, corner, level, parents[lo : lo + CHUNK])
                if piece is not None:
                    parts.append(piece)
        if forced is None or forced == REST:
            empty = np.full((1, level.code.size), -1, dtype=np.int64)
            parts.append(
                _Level(
                    state=mover.rest(loop, level.state),
                    side=level.side,
                    code=level.code * 5 + REST,
                    rows=np.concatenate([level.rows, empty]),
                    risk_s=level.risk_s,
                    used=level.used,
                    begun=level.begun,
                )
            )
        return _merged(parts, level, loop)

    def _run(
        self, group: Group, loop: int, corner: int, level: _Level, parents: Ints
    ) -> _Level | None:
        """Return the paths that take a corner, without those that end too low."""
        mover = self._mover
        wanted = 0 if is_left(corner) else 1
        state = level.state.take(parents)
        state = turned(state, (level.side[parents] == 1 - wanted))
        run = mover.run(loop, group, corner, state)
        keep = np.flatnonzero(mover.bears(group, run.state))
        if keep.size == 0:
            return None
        after = run.state.take(keep)
        kept = parents[keep]
        rows = self._count[loop] + np.arange(keep.size, dtype=np.int64)
        self._count[loop] += int(keep.size)
        self._corner[loop].append(np.full(keep.size, corner, dtype=np.int64))
        self._group[loop].append(np.full(keep.size, group.index, dtype=np.int64))
        self._mu[loop].append(run.mu[keep].astype(self._kind))
        self._hazard[loop].append(run.hazard[keep])
        return _Level(
            state=after,
            side=np.full(keep.size, wanted, dtype=np.int64),
            code=level.code[kept] * 5 + corner,
            rows=np.concatenate([level.rows[:, kept], rows[None, :]]),
            risk_s=level.risk_s[kept] + mover.risk_s(group, after),
            used=level.used[kept] + 1,
            begun=np.minimum(level.begun[kept], loop),
        )


def turned(state: State, crossed: NDArray[np.bool_]) -> State:
    """Return the state with braking and driving edges exchanged where a tyre crosses over."""
    if not crossed.any():
        return state
    edge = np.where(crossed[:, None, None], state.edge[..., [1, 0, 2]], state.edge)
    return State(state.tread_mm, edge, state.tread_c, state.bulk_c)


def _merged(parts: list[_Level], before: _Level, loop: int) -> _Level:
    """Return several sets of paths as one."""
    if not parts:
        none = np.zeros(0, dtype=np.int64)
        return _Level(
            state=before.state.take(none),
            side=none,
            code=none,
            rows=np.zeros((loop + 1, 0), dtype=np.int64),
            risk_s=np.zeros(0),
            used=none,
            begun=none,
        )
    states = [p.state for p in parts]
    return _Level(
        state=State(
            np.concatenate([s.tread_mm for s in states]),
            np.concatenate([s.edge for s in states]),
            np.concatenate([s.tread_c for s in states]),
            np.concatenate([s.bulk_c for s in states]),
        ),
        side=np.concatenate([p.side for p in parts]),
        code=np.concatenate([p.code for p in parts]),
        rows=np.concatenate([p.rows for p in parts], axis=1),
        risk_s=np.concatenate([p.risk_s for p in parts]),
        used=np.concatenate([p.used for p in parts]),
        begun=np.concatenate([p.begun for p in parts]),
    )


def _joined(pieces: list[Ints]) -> Ints:
    """Return several integer arrays as one."""
    return np.concatenate(pieces) if pieces else np.zeros(0, dtype=np.int64)


def _stacked(pieces: list[Floats]) -> Floats:
    """Return several arrays as one, along the paths."""
    return np.concatenate(pieces) if pieces else np.zeros((0, 1, 1, 3))
