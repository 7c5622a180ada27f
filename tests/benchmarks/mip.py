"""The choice on a network as a whole-number program, for HiGHS and for CP-SAT."""

from collections.abc import Callable
from dataclasses import dataclass, field
from time import perf_counter

import highspy
import numpy as np
from scipy.sparse import csr_matrix, vstack

from crewdesk.engine.judge import judge
from crewdesk.engine.program import QuietHighs
from crewdesk.engine.result import JudgeResult
from tests.benchmarks.network import Network

ROUNDS = 12
"""Rounds of planes at the relaxed program, before whole numbers."""
NEAR_S = 0.01


@dataclass
class Referred:
    """What a reference found."""

    value_s: float | None = None
    """Exact cost of its best plan that breaks no rule."""
    illegal: int = 0
    """Plans that it thought good and that break a rule."""
    codes: set[str] = field(default_factory=set)
    proven: bool = False
    """It ended by itself, on its own network."""
    own_gap_s: float = float("inf")
    """Between its own value and its own bound, on its own network."""
    plans: int = 0
    elapsed_s: float = 0.0
    first_s: float | None = None
    found_s: float | None = None
    """When it had the plan of the value."""
    arcs: int = 0
    plan: list[dict[str, str | None]] = field(default_factory=list)
    """That of the value."""


@dataclass
class Program:
    """Rows and columns; planes are added as they are found."""

    net: Network
    cost: np.ndarray
    upper: np.ndarray
    whole: np.ndarray
    rows: csr_matrix
    low: np.ndarray
    high: np.ndarray
    z0: int
    e0: int
    eta0: int

    @classmethod
    def of(cls, net: Network) -> "Program":
        """Return the program of a network, without planes."""
        n_arcs, n_loops, n_fills = len(net.arcs), net.n_loops, len(net.fills)
        groups = net.lineup.groups
        z0 = n_arcs
        e0 = z0 + n_loops * n_fills
        eta0 = e0 + len(groups)
        n = eta0 + n_loops
        cost, upper = np.zeros(n), np.ones(n)
        whole = np.ones(n, dtype=bool)
        whole[eta0:] = False
        upper[eta0:] = highspy.kHighsInf
        for i, arc in enumerate(net.arcs):
            cost[i] = arc.own_s
            upper[i] = groups[arc.group].size
        for group in groups:
            upper[e0 + group.index] = min(group.size, 2 * n_loops)
        cost[eta0:] = 1.0
        for loop in range(n_loops):
            mu, hazard = middle(net, loop)
            cost[z0 + loop * n_fills : z0 + (loop + 1) * n_fills] = net.fill_s(loop, mu, hazard)
        entries: list[dict[int, float]] = []
        low: list[float] = []
        high: list[float] = []

        def row(values: dict[int, float], least: float, most: float) -> None:
            entries.append(values)
            low.append(least)
            high.append(most)

        inf = highspy.kHighsInf
        into: dict[int, dict[int, float]] = {}
        first: list[dict[int, float]] = [{} for _ in groups]
        on = [[[{} for _ in net.kinds] for _ in range(4)] for _ in range(n_loops)]
        for i, arc in enumerate(net.arcs):
            into.setdefault(arc.head, {})[i] = 1.0
            into.setdefault(arc.tail, {})[i] = into.get(arc.tail, {}).get(i, 0.0) - 1.0
            if arc.opens:
                first[arc.group][i] = 1.0
            if arc.corner < 4:
                on[arc.loop][arc.corner][net.kind_of[arc.group]][i] = 1.0
        last = {a.head for a in net.arcs if a.loop == n_loops - 1}
        sources = set(net.sources)
        for node, values in into.items():
            if node in sources:
                group = net.sources.index(node)
                row(values, -float(groups[group].size), 0.0)
            elif node not in last:
                row(values, 0.0, 0.0)
        for loop in range(n_loops):
            fills = range(z0 + loop * n_fills, z0 + (loop + 1) * n_fills)
            row(dict.fromkeys(fills, 1.0), 1.0, 1.0)
            for corner in range(4):
                for kind in range(len(net.kinds)):
                    values = dict(on[loop][corner][kind])
                    for f, fill in enumerate(net.fills):
                        if fill.at(corner) == kind:
                            values[fills[f]] = -1.0
                    row(values, 0.0, 0.0)
            for kind in range(len(net.kinds)):
                # Carried and fitted of a kind are no more than are counted of it.
                values: dict[int, float] = {}
                for group in groups:
                    if net.kind_of[group.index] == kind:
                        values[e0 + group.index] = 1.0
                        values.update(first[group.index])
                for f, fill in enumerate(net.fills):
                    need = 2 * (fill.front == kind) + 2 * (fill.rear == kind)
                    need += fill.spares.count(kind)
                    if need:
                        values[fills[f]] = -float(need)
                row(values, 0.0, inf)
        for group in groups:
            row({**first[group.index], e0 + group.index: 1.0}, 0.0, float(group.size))
        rules = net.problem.rules
        limits: list[tuple[int | None, set[str]]] = [(rules.qty_total, set(net.kinds))]
        limits += [(cap, {name}) for name, cap in rules.caps.items()]
        for most, names in limits:
            values = {}
            for group in groups:
                if net.kinds[net.kind_of[group.index]] in names:
                    values.update(first[group.index])
                    values[e0 + group.index] = 1.0
            if most is not None and values:
                row(values, 0.0, float(most))
        program = cls(
            net,
            cost,
            upper,
            whole,
            _matrix(entries, n),
            np.array(low),
            np.array(high),
            z0,
            e0,
            eta0,
        )
        for loop in range(n_loops):
            program.add_plane(loop, middle(net, loop)[0])
        return program

    def add_plane(self, loop: int, mu: np.ndarray) -> None:
        """Add the plane under a loop's time that touches at some grips."""
        const, slopes = self.net.plane(loop, mu)
        values = {self.eta0 + loop: 1.0}
        for i, arc in enumerate(self.net.arcs):
            if arc.loop == loop and arc.mu is not None:
                values[i] = -float((slopes[:, arc.corner] * arc.mu).sum())
        self.rows = vstack([self.rows, _matrix([values], self.cost.size)], format="csr")
        self.low = np.append(self.low, const)
        self.high = np.append(self.high, highspy.kHighsInf)

    def grips(self, x: np.ndarray, loop: int) -> np.ndarray:
        """Return the grips (K, 4, 3) of a loop at a point, whole or not."""
        found: list[np.ndarray | None] = [None] * 4
        for i, arc in enumerate(self.net.arcs):
            if arc.loop == loop and arc.mu is not None and x[i] > 1e-9:
                so_far = found[arc.corner]
                part = x[i] * arc.mu
                found[arc.corner] = part if so_far is None else so_far + part
        return np.stack([f for f in found if f is not None], axis=1)

    def touch(self, x: np.ndarray, least_s: float) -> bool:
        """Add planes where a point lies too low; return whether there were any."""
        raised = False
        for loop in range(self.net.n_loops):
            mu = self.grips(x, loop)
            if self.net.time_s(loop, mu) - x[self.eta0 + loop] > least_s:
                self.add_plane(loop, mu)
                raised = True
        return raised

    def plan(self, x: np.ndarray) -> list[dict[str, str | None]] | None:
        """Return the plan of a whole point."""
        taken = {i: round(x[i]) for i in range(len(self.net.arcs)) if x[i] > 0.5}
        n_fills = len(self.net.fills)
        fills = [
            int(np.argmax(x[self.z0 + loop * n_fills : self.z0 + (loop + 1) * n_fills]))
            for loop in range(self.net.n_loops)
        ]
        return self.net.plan(taken, fills)


def middle(net: Network, loop: int) -> tuple[np.ndarray, np.ndarray]:
    """Return mean grips (K, 4, 3) and hazards (4,) of a loop over all arcs."""
    grips, hazards = [], []
    for corner in range(4):
        arcs = [a for a in net.arcs if a.loop == loop and a.corner == corner]
        grips.append(np.mean([a.mu for a in arcs if a.mu is not None], axis=0))
        hazards.append(float(np.mean([a.hazard for a in arcs])))
    return np.stack(grips, axis=1), np.array(hazards)


def _matrix(entries: list[dict[int, float]], width: int) -> csr_matrix:
    rows = [r for r, values in enumerate(entries) for _ in values]
    columns = [c for values in entries for c in values]
    data = [v for values in entries for v in values.values()]
    return csr_matrix((data, (rows, columns)), shape=(len(entries), width))


def _highs(program: Program, limit_s: float, *, whole: bool, start: np.ndarray | None = None):
    """Return (values, bound, ended) of HiGHS on a program; values None where it found none."""
    model = highspy.HighsLp()
    n = program.cost.size
    model.num_col_, model.num_row_ = n, program.rows.shape[0]
    model.col_cost_ = program.cost
    model.col_lower_, model.col_upper_ = np.zeros(n), program.upper
    model.row_lower_, model.row_upper_ = program.low, program.high
    model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    model.a_matrix_.start_ = program.rows.indptr
    model.a_matrix_.index_ = program.rows.indices
    model.a_matrix_.value_ = program.rows.data
    if whole:
        kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
        model.integrality_ = [kinds[int(w)] for w in program.whole]
    highs = QuietHighs()
    highs.setOptionValue("time_limit", max(limit_s, 0.1))
    highs.setOptionValue("mip_abs_gap", NEAR_S / 2)
    highs.setOptionValue("mip_rel_gap", 0.0)
    highs.passModel(model)
    if start is not None:
        given = highspy.HighsSolution()
        given.col_value = list(start)
        highs.setSolution(given)
    highs.run()
    info = highs.getInfo()
    found = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    ended = highs.getModelStatus() == highspy.HighsModelStatus.kOptimal
    values = np.array(highs.getSolution().col_value) if found else None
    bound = info.mip_dual_bound if whole else info.objective_function_value
    return values, float(bound), ended


Solve = Callable[[Program, float, np.ndarray | None], tuple[np.ndarray | None, float, bool]]


def by_highs(
    program: Program, limit_s: float, start: np.ndarray | None
) -> tuple[np.ndarray | None, float, bool]:
    """Return the whole-number answer of HiGHS."""
    return _highs(program, limit_s, whole=True, start=start)


def by_cp_sat(
    program: Program, limit_s: float, start: np.ndarray | None
) -> tuple[np.ndarray | None, float, bool]:
    """Return the whole-number answer of CP-SAT; costs in tenths of a millisecond."""
    from ortools.sat.python import cp_model

    unit = 10_000
    model = cp_model.CpModel()
    big = 10**9
    columns = []
    for i in range(program.cost.size):
        most = int(program.upper[i]) if program.whole[i] else big
        columns.append(model.new_int_var(0, most, f"x{i}"))
    rows = program.rows
    for r in range(rows.shape[0]):
        at = slice(rows.indptr[r], rows.indptr[r + 1])
        index, value = rows.indices[at], rows.data[at]
        scaled = any(i >= program.eta0 for i in index)
        if scaled:  # a plane: the time column counts in units already
            factors = [
                1 if i >= program.eta0 else int(np.floor(v * unit))
                for i, v in zip(index, value, strict=True)
            ]
            least = int(np.floor(program.low[r] * unit))
        else:
            factors = [round(v) for v in value]
            least = round(program.low[r])
        terms = cp_model.LinearExpr.weighted_sum([columns[i] for i in index], factors)
        if not np.isinf(program.high[r]) and program.low[r] == program.high[r]:
            model.add(terms == least)
            continue
        model.add(terms >= least)
        if not np.isinf(program.high[r]):
            model.add(terms <= round(program.high[r]))
    weights = [1 if i >= program.eta0 else round(c * unit) for i, c in enumerate(program.cost)]
    model.minimize(cp_model.LinearExpr.weighted_sum(columns, weights))
    if start is not None:
        for i, column in enumerate(columns):
            at_unit = unit if i >= program.eta0 else 1
            model.add_hint(column, int(np.ceil(start[i] * at_unit)))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = max(limit_s, 0.1)
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 0
    solver.parameters.absolute_gap_limit = unit * NEAR_S / 2
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None, solver.best_objective_bound / unit, status == cp_model.INFEASIBLE
    values = np.array([float(solver.value(c)) for c in columns])
    values[program.eta0 :] /= unit
    return values, solver.best_objective_bound / unit, status == cp_model.OPTIMAL


def solve(net: Network, way: Solve, limit_s: float, began: float | None = None) -> Referred:
    """Return what a reference finds in the time: planes, whole numbers, exact cost, again."""
    start_s = perf_counter() if began is None else began
    found = Referred(arcs=len(net.arcs))

    def left() -> float:
        return limit_s - (perf_counter() - start_s)

    program = Program.of(net)
    for _ in range(ROUNDS):
        values, _, ended = _highs(program, left(), whole=False)
        if values is None or not ended or left() < 0.5 * limit_s:
            break
        if not program.touch(values, NEAR_S):
            break
    start: np.ndarray | None = None
    while left() > 0.2:
        values, bound, ended = way(program, left(), start)
        if values is None:
            break
        found.plans += 1
        judged = _judged(net, program, values)
        if judged is None or judged.objective is None or judged.breaches:
            found.illegal += 1
            if judged is not None:
                found.codes |= {b.code for b in judged.breaches}
        elif found.value_s is None or judged.objective.total_s < found.value_s:
            found.value_s = judged.objective.total_s
            found.found_s = perf_counter() - start_s
            found.plan = [dict(loop.fitting) for loop in judged.plan]
        if found.first_s is None:
            found.first_s = perf_counter() - start_s
        worth = float(program.cost @ values)
        found.own_gap_s = max(worth - bound, 0.0)
        if not program.touch(values, NEAR_S):
            found.proven = ended
            break
        start = values.copy()
        for loop in range(net.n_loops):
            start[program.eta0 + loop] = net.time_s(loop, program.grips(values, loop)) + 1e-6
    found.elapsed_s = perf_counter() - start_s
    return found


def _judged(net: Network, program: Program, values: np.ndarray) -> JudgeResult | None:
    """Return the exact cost of a point, by the program's own judge."""
    plan = program.plan(values)
    return None if plan is None else judge(net.problem, plan)
