"""The linear program over all paths: its rows, its columns, what stands in them."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import highspy
import numpy as np
from numpy.typing import NDArray

from crewdesk.engine.groups import Lineup
from crewdesk.engine.limits import Limits, Pattern
from crewdesk.engine.siderows import SideRows
from crewdesk.engine.tree import Tree

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

INF = highspy.kHighsInf
MISSING_S = 1e5
"""Price of a corner without a tyre while paths are still being found. [s]"""


class QuietHighs(highspy.Highs):
    """The solver without its banner, one thread, no chance."""

    def __init__(self) -> None:
        # The wrapper's own constructor turns callbacks on, which prints a banner.
        highspy._core._Highs.__init__(self)  # noqa: SLF001
        for name, value in (("output_flag", False), ("threads", 1), ("random_seed", 0)):
            self.setOptionValue(name, value)


@dataclass(frozen=True)
class Cut:
    """A plane under the cost of one loop, valid for every plan."""

    loop: int
    part: int
    """0 time, 1 punctures."""
    slope_s: Floats
    """(M+1,), by row of the loop; the last stands for no corner and is 0."""
    const_s: Floats
    """(patterns,)"""


@dataclass(frozen=True)
class Refusal:
    """A plan whose true cost is known: the program must not think it cheaper."""

    paths: frozenset[int]
    patterns: tuple[int, ...]
    step_s: float
    """By how much the floor falls for each of its parts that is left out; 0: forbidden."""
    floor_s: float


@dataclass(frozen=True)
class Choice:
    """A plan as the program sees it."""

    paths: tuple[int, ...]
    patterns: tuple[int, ...]
    """By loop."""


@dataclass
class Program:
    """Rows that couple the tyres, planes under the costs, columns for paths."""

    tree: Tree
    lineup: Lineup
    limits: Limits
    patterns: Sequence[Sequence[Pattern]]
    opens: Sequence[int]
    """First loop of each group."""
    forced: Sequence[int | None]
    """Step fixed for the first loop, by group."""
    on_corner: Sequence[int | None]
    """Corner a group's tyre is on as it comes in, by group."""
    own_s: Floats
    """(N,), weighted over the scenarios."""
    offset_s: float = 0.0
    side: SideRows = field(default_factory=SideRows)
    rows: list[Cut | Refusal] = field(default_factory=list)
    """Planes and refusals, in the order of their rows."""
    pool: list[int] = field(default_factory=list)

    # Layout of rows and of the columns that are no paths.

    def _lay_out(self) -> None:
        """Give numbers to rows and columns."""
        n_loops, groups = self.tree.n_loops, self.lineup.groups
        kinds = self.limits.n_classes
        self._u = list(range(len(groups)))
        at = len(groups)
        self._z: list[list[int]] = []
        for loop in range(n_loops):
            self._z.append(list(range(at, at + len(self.patterns[loop]))))
            at += len(self.patterns[loop])
        self._eta = list(range(at, at + 2 * n_loops))
        self._free = at + 2 * n_loops
        self.first_path = self._free + self.side.n_free
        row = 0
        self._fit = np.zeros((n_loops, 4, kinds), dtype=np.int64)
        for loop in range(n_loops):
            for corner in range(4):
                for kind in range(kinds):
                    self._fit[loop, corner, kind] = row
                    row += 1
        self._one = [row + i for i in range(n_loops)]
        row += n_loops
        self._size = [row + i for i in range(len(groups))]
        row += len(groups)
        self._have = np.zeros((n_loops, kinds), dtype=np.int64)
        for loop in range(n_loops):
            for kind in range(kinds):
                self._have[loop, kind] = row
                row += 1
        drawn = {key for g in groups for key in g.tyre.draws_on}
        self._counts: dict[str, int] = {}
        for name in sorted(drawn & set(self.limits.left)):
            self._counts[name] = row
            row += 1
        self._wheels = row if self.limits.max_wheels is not None else None
        row += self._wheels is not None
        self._budget = row if self.limits.budget is not None else None
        row += self._budget is not None
        self._mix: list[tuple[int, int, tuple[int, int, int, int]]] = []
        for loop in range(n_loops):
            for a, b in sorted(self.limits.barred_mixes):
                self._mix.append((row, loop, (a, b, a, b)))
                self._mix.append((row + 1, loop, (a, b, b, a)))
                row += 2
        self._side = [row + i for i in range(len(self.side.rows))]
        self._n_rows = row + len(self._side)

    def _new_model(self) -> highspy.Highs:
        """Return the program without paths."""
        model = QuietHighs()
        limits_, groups = self.limits, self.lineup.groups
        self._extra = np.zeros((len(groups), 2))
        lower = np.full(self._n_rows, -INF)
        upper = np.full(self._n_rows, INF)
        lower[self._fit.ravel()] = upper[self._fit.ravel()] = 0.0
        for row in self._one:
            lower[row] = upper[row] = 1.0
        for group, row in zip(groups, self._size, strict=True):
            upper[row] = group.size
            if self.forced[group.index] is not None:
                lower[row] = group.size
        lower[self._have.ravel()] = 0.0
        for name, row in self._counts.items():
            upper[row] = limits_.left[name]
        for row, beside in zip(self._side, self.side.rows, strict=True):
            upper[row] = beside.upper
        if self._wheels is not None and limits_.max_wheels is not None:
            lower[self._wheels] = 4 - limits_.max_wheels
        if self._budget is not None and limits_.budget is not None:
            upper[self._budget] = limits_.budget
        for row, *_ in self._mix:
            upper[row] = 3.0
        for row in range(self._n_rows):
            model.addRow(lower[row], upper[row], 0, [], [])
        for group in groups:
            index, value = self._count_entries(group.index, carried=True)
            index.append(self._size[group.index])
            value.append(1.0)
            for row, beside in zip(self._side, self.side.rows, strict=True):
                if group.index in beside.extras:
                    index.append(row)
                    value.append(beside.extras[group.index])
            fixed = self.forced[group.index]
            spare = 0.0 if fixed is not None and fixed < 4 else float(group.size)
            self._extra[group.index, 1] = spare
            model.addCol(0.0, 0.0, spare, len(index), index, value)
        for loop, found in enumerate(self.patterns):
            for number, pattern in enumerate(found):
                index, value = self._pattern_entries(loop, pattern)
                for row, beside in zip(self._side, self.side.rows, strict=True):
                    if loop in beside.patterns and beside.patterns[loop][number] != 0.0:
                        index.append(row)
                        value.append(float(beside.patterns[loop][number]))
                model.addCol(0.0, 0.0, 1.0, len(index), index, value)
        for _ in self._eta:
            model.addCol(1.0, 0.0, INF, 0, [], [])
        for column in range(self.side.n_free):
            pairs = [
                (row, beside.free[column])
                for row, beside in zip(self._side, self.side.rows, strict=True)
                if beside.free.get(column, 0.0) != 0.0
            ]
            index, value = [r for r, _ in pairs], [v for _, v in pairs]
            model.addCol(0.0, 0.0, INF, len(index), index, value)
        self.slack = list(range(self.first_path, self.first_path + len(self._soft_rows())))
        for row, sign in self._soft_rows():
            model.addCol(MISSING_S, 0.0, INF, 1, [row], [sign])
        self.first_path += len(self.slack)
        return model

    def _soft_rows(self) -> list[tuple[int, float]]:
        """Return rows that may be missed at a price while paths are still being found."""
        rows = [(int(r), 1.0) for r in (*self._fit.ravel(), *self._have.ravel())]
        rows += [(r, 1.0) for g, r in enumerate(self._size) if self.forced[g] is not None]
        if self._wheels is not None:
            rows.append((self._wheels, 1.0))
        return rows

    def _count_entries(self, group: int, *, carried: bool) -> tuple[list[int], list[float]]:
        """Return the entries of one more tyre of a group in the rows of counts."""
        tyre = self.lineup.groups[group].tyre
        index, value = [], []
        kind = self.limits.class_of[group]
        for loop in range(self.opens[group], self.tree.n_loops):
            index.append(int(self._have[loop, kind]))
            value.append(1.0)
        drawn = tyre.draws_on
        if carried:
            drawn = self.limits.carried_on(self.lineup.groups[group])
        for key in drawn:
            if key in self._counts:
                index.append(self._counts[key])
                value.append(1.0)
        return index, value

    def _pattern_entries(self, loop: int, pattern: Pattern) -> tuple[list[int], list[float]]:
        """Return the entries of a pattern."""
        index = [self._one[loop]]
        value = [1.0]
        for corner in range(4):
            index.append(int(self._fit[loop, corner, pattern.at(corner)]))
            value.append(-1.0)
        for kind in range(self.limits.n_classes):
            need = pattern.needs(kind)
            if need:
                index.append(int(self._have[loop, kind]))
                value.append(-float(need))
        return index, value

    def _path_entries(self, path: int) -> tuple[list[int], list[float]]:
        """Return the entries of a path in the rows that are no planes."""
        group = int(self.tree.leaf_group[path])
        tyre = self.lineup.groups[group].tyre
        index, value = self._count_entries(group, carried=False)
        index.append(self._size[group])
        value.append(1.0)
        kind = self.limits.class_of[group]
        steps = self.tree.steps(path)
        for loop, step in enumerate(steps):
            if step < 4:
                index.append(int(self._fit[loop, step, kind]))
                value.append(1.0)
        if self._wheels is not None and steps[0] == self.on_corner[group] and steps[0] < 4:
            index.append(self._wheels)
            value.append(1.0)
        price = tyre.given.stock.price
        if self._budget is not None and tyre.given.stock.new and not tyre.given.ever_fitted:
            index.append(self._budget)
            value.append(float(price or 0.0))
        mine = self.limits.kind_of[group]
        for row, loop, wanted in self._mix:
            step = steps[loop]
            if step < 4 and wanted[step] == mine:
                index.append(row)
                value.append(1.0)
        for row, beside in zip(self._side, self.side.rows, strict=True):
            if beside.paths is not None and beside.paths[path] != 0.0:
                index.append(row)
                value.append(float(beside.paths[path]))
        return index, value
