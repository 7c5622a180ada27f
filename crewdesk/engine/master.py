"""The choice among all paths at once, as a linear program with a proof in its prices."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import highspy
import numpy as np
from numpy.typing import NDArray

from crewdesk.engine.program import INF, Choice, Cut, Program, QuietHighs, Refusal

Floats = NDArray[np.float64]


@dataclass
class Priced:
    """The relaxed program at its end."""

    value_s: float
    feasible: bool
    reduced_s: Floats
    """(N,), reduced cost of every path."""
    share: dict[int, float]
    """Paths in use."""
    pattern_share: list[Floats]
    eta_s: Floats
    extra: Floats
    """(G,), tyres that are only carried."""
    work: int
    dual: Floats = field(default_factory=lambda: np.zeros(0))
    """Prices of all rows."""
    pattern_price: list[Floats] = field(default_factory=list)
    """Reduced costs of the patterns, by loop. [s]"""


class StoppedError(Exception):
    """The crew asks for something else: what is known by then is the answer."""


@dataclass
class Master(Program):
    """The program at work: columns and planes come in, prices go out."""

    def __post_init__(self) -> None:
        self._lay_out()
        self._model = self._new_model()
        self._in_pool = np.zeros(self.tree.size, dtype=bool)
        self._open = np.ones(self.tree.size, dtype=bool)
        self._at: dict[int, int] = {}
        self._turn = 0
        self.stop: Callable[[], bool] | None = None
        self._useful: list[int] = []
        self._fixed_rows = self._model.getNumRow()
        self._limits_now: tuple[
            Sequence[NDArray[np.bool_]] | None, NDArray[np.float64] | None
        ] = (None, None)

    # Columns and planes.

    def add_paths(self, paths: Sequence[int]) -> None:
        """Add paths to the program."""
        for path in paths:
            if self._in_pool[path]:
                continue
            index, value = self._path_entries(path)
            for i, row in enumerate(self.rows):
                entry = self._entry(row, path)
                if entry != 0.0:
                    index.append(self._fixed_rows + i)
                    value.append(entry)
            most = 1.0 if self._open[path] else 0.0
            self._model.addCol(float(self.own_s[path]), 0.0, most, len(index), index, value)
            self._at[path] = len(self.pool)
            self.pool.append(path)
            self._in_pool[path] = True

    def _entry(self, row: Cut | Refusal, path: int) -> float:
        """Return the entry of a path in a plane or a refusal."""
        if isinstance(row, Cut):
            return -float(row.slope_s[self.tree.rows[row.loop, path]])
        if row.step_s == 0.0:
            return 1.0 if path in row.paths else 0.0
        return float(self.own_s[path]) - (row.step_s if path in row.paths else 0.0)

    def refuse(self, choice: Choice, value_s: float | None, lowest_s: float) -> None:
        """Add what is known of a plan.

        Parameters
        ----------
        choice : Choice
            The plan.
        value_s : float or None
            Its true cost; None where it breaks a rule.
        lowest_s : float
            A bound under all plans.
        """
        paths = frozenset(choice.paths)
        n = len(paths) + len(choice.patterns)
        pairs = [self._z[loop][p] for loop, p in enumerate(choice.patterns)]
        if value_s is None:
            row = Refusal(paths, choice.patterns, 0.0, 0.0)
            index = [*pairs, *(self.first_path + self._at[p] for p in sorted(paths))]
            self._model.addRow(-INF, n - 1.0, len(index), index, [1.0] * len(index))
        else:
            step = max(value_s - lowest_s, 1e-6)
            row = Refusal(paths, choice.patterns, step, value_s)
            index = [*self._eta, *pairs]
            value = [1.0] * len(self._eta) + [-step] * len(pairs)
            for i, path in enumerate(self.pool):
                entry = self._entry(row, path)
                if entry != 0.0:
                    index.append(self.first_path + i)
                    value.append(entry)
            floor = value_s - self.offset_s - step * n
            self._model.addRow(floor, INF, len(index), index, value)
        self.rows.append(row)
        self._useful.append(self._turn)

    def add_cut(self, cut: Cut) -> None:
        """Add a plane."""
        index, value = [self._eta[2 * cut.loop + cut.part]], [1.0]
        for p, const in enumerate(cut.const_s):
            if const != 0.0:
                index.append(self._z[cut.loop][p])
                value.append(-float(const))
        pool = np.array(self.pool, dtype=np.int64)
        if pool.size:
            slope = cut.slope_s[self.tree.rows[cut.loop, pool]]
            for k in np.flatnonzero(slope):
                index.append(self.first_path + int(k))
                value.append(-float(slope[k]))
        self._model.addRow(0.0, INF, len(index), index, value)
        self.rows.append(cut)
        self._useful.append(self._turn)

    def tidy(self, idle_turns: int = 0) -> None:
        """Drop the planes that did not bear on any of the last relaxed plans."""
        oldest = self._turn - idle_turns
        idle = [
            i
            for i, row in enumerate(self.rows)
            if isinstance(row, Cut) and self._useful[i] < oldest and i >= 2 * self.tree.n_loops
        ]
        if not idle:
            return
        index = np.array(idle, dtype=np.int32) + self._fixed_rows
        self._model.deleteRows(index.size, index)
        gone = set(idle)
        self.rows = [row for i, row in enumerate(self.rows) if i not in gone]
        self._useful = [turn for i, turn in enumerate(self._useful) if i not in gone]

    @property
    def extra_bounds(self) -> NDArray[np.float64]:
        """Bounds (G, 2) on tyres that are only carried."""
        return self._extra

    # Prices.

    def _reduced(self, dual: Floats) -> Floats:
        """Return the reduced cost of every path."""
        tree, n_loops = self.tree, self.tree.n_loops
        groups = self.lineup.groups
        by_group = np.zeros(len(groups))
        for group in groups:
            index, value = self._count_entries(group.index, carried=False)
            price = float(np.dot(dual[index], value)) if index else 0.0
            by_group[group.index] = price + dual[self._size[group.index]]
            given = group.tyre.given
            if self._budget is not None and given.stock.new and not given.ever_fitted:
                by_group[group.index] += dual[self._budget] * float(given.stock.price or 0.0)
        reduced = self.own_s - by_group[tree.leaf_group]
        kind_of = np.array(self.limits.class_of, dtype=np.int64)
        prices = dual[self._fixed_rows :]
        live = [(float(prices[i]), self.rows[i]) for i in np.flatnonzero(prices)]
        for weight, row in live:
            if isinstance(row, Refusal):
                for path in row.paths:
                    reduced[path] -= weight * (-row.step_s if row.step_s else 1.0)
                if row.step_s:
                    reduced = reduced - weight * self.own_s
        for loop in range(n_loops):
            corner, owner = tree.corner[loop], tree.group[loop]
            price_at = np.zeros(corner.size + 1)
            price_at[:-1] = -dual[self._fit[loop, corner, kind_of[owner]]]
            if loop == 0 and self._wheels is not None:
                on = np.array([-1 if c is None else c for c in self.on_corner])
                price_at[:-1] -= dual[self._wheels] * (on[owner] == corner)
            for weight, row in live:
                if isinstance(row, Cut) and row.loop == loop:
                    price_at += weight * row.slope_s
            mine = np.array(self.limits.kind_of, dtype=np.int64)[owner]
            for at_row, at, wanted in self._mix:
                if at == loop and dual[at_row] != 0.0:
                    price_at[:-1] -= dual[at_row] * (np.array(wanted)[corner] == mine)
            price_at[-1] = 0.0
            reduced = reduced + price_at[tree.rows[loop]]
        for at_row, beside in zip(self._side, self.side.rows, strict=True):
            if beside.paths is not None and dual[at_row] != 0.0:
                reduced = reduced - dual[at_row] * beside.paths
        rested = tree.rested[tree.rested >= 0]
        reduced[rested] = np.inf
        return reduced

    def relax(self, most: int = 60) -> Priced:
        """Solve the relaxed program over all paths by adding those that pay.

        Raises
        ------
        StoppedError
            If ``stop`` says so between two solves, or the program stays unsolved.
        """
        work = 0
        while True:
            if self.stop is not None and self.stop():
                raise StoppedError
            work += 1
            if not self._solved():
                return Priced(
                    INF, False, np.zeros(self.tree.size), {}, [], np.zeros(0), np.zeros(0), work
                )
            solution = self._model.getSolution()
            dual = np.array(solution.row_dual)
            reduced = self._reduced(dual)
            value = float(self._model.getInfo().objective_function_value)
            open_ = ~self._in_pool & self._open
            lowest = float(reduced[open_].min(initial=0.0))
            if lowest > -1e-7:
                break
            candidates = np.flatnonzero(open_ & (reduced < -1e-7))
            order = np.argsort(reduced[candidates], kind="stable")[:most]
            self.add_paths([int(p) for p in candidates[order]])
        self._turn += 1
        for i in np.flatnonzero(np.abs(dual[self._fixed_rows :]) > 1e-9):
            self._useful[i] = self._turn
        column = np.array(solution.col_value)
        if float(column[self.slack].sum()) > 1e-6:
            return Priced(INF, False, reduced, {}, [], np.zeros(0), np.zeros(0), work)
        share = {
            path: float(column[self.first_path + i])
            for i, path in enumerate(self.pool)
            if column[self.first_path + i] > 1e-7
        }
        pattern_share = [column[np.array(z, dtype=np.int64)] for z in self._z]
        eta = column[np.array(self._eta, dtype=np.int64)]
        extra = column[: len(self._u)]
        price = np.array(solution.col_dual)
        pattern_price = [price[np.array(z, dtype=np.int64)] for z in self._z]
        return Priced(
            value + self.offset_s,
            True,
            reduced,
            share,
            pattern_share,
            eta,
            extra,
            work,
            dual,
            pattern_price,
        )

    def _solved(self) -> bool:
        """Solve on from the last basis; return whether there is a solution.

        Raises
        ------
        StoppedError
            If the program stays unsolved: that says nothing of whether there is a plan.
        """
        status = highspy.HighsModelStatus
        for again in (False, True):
            if again:
                # A basis carried on over many changes may end a hair beside the optimum.
                self._model.clearSolver()
            self._model.run()
            found = self._model.getModelStatus()
            if found in (status.kOptimal, status.kInfeasible):
                return bool(found == status.kOptimal)
        raise StoppedError

    def is_plain(self, priced: Priced) -> bool:
        """Return whether no refused plan bears on the prices."""
        price = priced.dual[self._fixed_rows :]
        pairs = zip(price, self.rows, strict=False)
        return all(weight == 0.0 or isinstance(row, Cut) for weight, row in pairs)

    def priced_planes(self, priced: Priced) -> tuple[list[Floats], list[Floats]]:
        """Return the planes of each loop as they are priced: by row, and by pattern.

        Raises
        ------
        ValueError
            If a refused plan bears on the prices: then they say nothing of single loops.
        """
        tree = self.tree
        slope = [np.zeros(tree.corner[loop].size + 1) for loop in range(tree.n_loops)]
        const = [np.zeros(len(self.patterns[loop])) for loop in range(tree.n_loops)]
        price = priced.dual[self._fixed_rows :]
        for weight, row in zip(price, self.rows, strict=False):
            if weight == 0.0:
                continue
            if isinstance(row, Refusal):
                raise ValueError("a refused plan bears on the prices")  # noqa: TRY004
            slope[row.loop] += weight * row.slope_s
            const[row.loop] += weight * row.const_s
        return slope, const

    def floor_s(self, cut: Cut, priced: Priced) -> float:
        """Return what the relaxed program takes the cost under a plane to be. [s]."""
        return float(priced.eta_s[2 * cut.loop + cut.part])

    def restrict(
        self,
        paths: NDArray[np.bool_] | None = None,
        patterns: Sequence[NDArray[np.bool_]] | None = None,
        extra: NDArray[np.float64] | None = None,
    ) -> None:
        """Leave only some paths and patterns to choose from, and bounds (G, 2) on extras."""
        self._open = np.ones(self.tree.size, dtype=bool) if paths is None else paths
        pool = np.array(self.pool, dtype=np.int64)
        columns = [np.arange(pool.size, dtype=np.int32) + self.first_path]
        most = [self._open[pool].astype(np.float64)]
        least = [np.zeros(pool.size)]
        for loop, z in enumerate(self._z):
            open_ = np.ones(len(z)) if patterns is None else patterns[loop].astype(np.float64)
            columns.append(np.array(z, dtype=np.int32))
            most.append(open_)
            least.append(np.zeros(len(z)))
        u = self._extra if extra is None else extra
        columns.append(np.array(self._u, dtype=np.int32))
        least.append(u[:, 0])
        most.append(u[:, 1])
        index = np.concatenate(columns)
        order = np.argsort(index)
        self._model.changeColsBounds(
            index.size, index[order], np.concatenate(least)[order], np.concatenate(most)[order]
        )
        self._limits_now = (patterns, extra)

    def dive(self, most_steps: int = 60) -> tuple[Choice | None, int]:
        """Round the relaxed program to a plan: take the surest path, solve, again.

        Returns
        -------
        tuple
            Plan, or None where rounding leads nowhere; work done.
        """
        taken: list[int] = []
        work, choice = 0, None
        for _ in range(most_steps):
            priced = self.relax()
            work += priced.work
            if not priced.feasible:
                break
            open_ = {p: v for p, v in priced.share.items() if p not in taken}
            if all(v > 1.0 - 1e-6 for v in open_.values()):
                if all(float(z.max(initial=0.0)) > 1.0 - 1e-6 for z in priced.pattern_share):
                    picked = tuple(int(np.argmax(z)) for z in priced.pattern_share)
                    choice = Choice(tuple(sorted(priced.share)), picked)
                    break
                if not self._take_pattern(priced):
                    break
                continue
            sure = [p for p, v in open_.items() if v > 1.0 - 1e-6]
            rest = {p: v for p, v in open_.items() if v <= 1.0 - 1e-6}
            first = min(rest, key=lambda p: (-round(rest[p], 9), p))
            for path in [*sure, first]:
                taken.append(path)
                column = self.first_path + self._at[path]
                self._model.changeColBounds(column, 1.0, 1.0)
        self.restrict(self._open, *self._limits_now)
        return choice, work

    def _take_pattern(self, priced: Priced) -> bool:
        """Fix the surest pattern that is not whole yet; return whether there was one."""
        for loop, share in enumerate(priced.pattern_share):
            best = int(np.argmax(share))
            if share[best] <= 1.0 - 1e-6:
                self._model.changeColBounds(self._z[loop][best], 1.0, 1.0)
                return True
        return False


__all__ = ["INF", "Choice", "Cut", "Master", "Priced", "QuietHighs", "Refusal", "StoppedError"]
