"""Tyres as flows through depths: the network that the reference programs choose on.

Tyres alike in all that matters run through nodes (loop, depth, edges, side); an arc is one loop
on a corner or off the car. With a grid, states that round to the same depth are one node with
their mean state, as is usual; without one every path has its own nodes and nothing is rounded.
"""

from dataclasses import dataclass
from itertools import combinations_with_replacement

import numpy as np

from crewdesk.engine.course import Course
from crewdesk.engine.groups import REST, Group, Lineup, is_left, lineup
from crewdesk.engine.problem import Problem
from crewdesk.engine.tree import State, turned

EDGE_STEP = 0.1
"""Edges are rounded to this where depths are."""


@dataclass(frozen=True)
class Arc:
    """One loop of a tyre of one group."""

    group: int
    loop: int
    tail: int
    head: int
    corner: int
    """0 to 3, or 4 off the car."""
    own_s: float
    mu: np.ndarray | None
    """(K, 3)"""
    hazard: float
    opens: bool
    """The first time the tyre is on a corner."""


@dataclass(frozen=True)
class Fill:
    """Compounds of a loop: front axle, rear axle, carried."""

    front: int
    rear: int
    spares: tuple[int, ...]

    def at(self, corner: int) -> int:
        """Return the compound on a corner."""
        return self.front if corner < 2 else self.rear


@dataclass
class Node:
    """A state of the tyres of a group before a loop; ``n`` paths have been merged in it."""

    number: int
    state: State
    side: int
    used: bool
    own_s: float
    """Money so far; arcs carry the differences."""
    n: int = 1


class Network:
    """Arcs of all groups, and what a plan taken from them is."""

    def __init__(self, problem: Problem, grid_mm: float | None) -> None:
        if problem.conditions.air_c.shape[0] != 1:
            raise ValueError("the references know one scenario only")
        self.problem = problem
        self.lineup: Lineup = lineup(problem)
        self.course = Course(problem, self.lineup, problem.conditions)
        self.grid_mm = grid_mm
        self.n_loops = self.course.n_loops
        self.kinds = sorted({g.tyre.given.stock.compound for g in self.lineup.groups})
        self.kind_of = [
            self.kinds.index(g.tyre.given.stock.compound) for g in self.lineup.groups
        ]
        self.mass_kg = self.course.spec(self.lineup.groups[0].tyre).mass_kg
        self.arcs: list[Arc] = []
        self.n_nodes = 0
        self.sources: list[int] = []
        for group in self.lineup.groups:
            self._grow(group)
        rules = problem.rules
        self.fills = [
            Fill(front, rear, spares)
            for front in range(len(self.kinds))
            for rear in range(len(self.kinds))
            for n in range(rules.spare_min, min(rules.spare_max, 2) + 1)
            for spares in combinations_with_replacement(range(len(self.kinds)), n)
        ]

    def _node(self, state: State, side: int, *, used: bool, own_s: float) -> Node:
        self.n_nodes += 1
        return Node(self.n_nodes - 1, state, side, used, own_s)

    def _grow(self, group: Group) -> None:
        """Add the arcs of one group, loop by loop, all its nodes at once."""
        course = self.course
        side = {"left": 0, "right": 1}.get(group.tyre.side, -1)
        source = self._node(course.start(group), side, used=False, own_s=0.0)
        self.sources.append(source.number)
        level = [source]
        first = course.first_fit_s(group)
        for loop in range(self.n_loops):
            states = _joined([node.state for node in level])
            sides = np.array([node.side for node in level])
            after: dict[object, Node] = {}
            rested = course.rest(loop, states)
            for i, node in enumerate(level):
                state = rested.take(np.array([i]))
                head = self._merge(
                    after,
                    state,
                    node.side,
                    used=node.used,
                    own_s=node.own_s,
                    trail=(node.number, REST),
                )
                self.arcs.append(
                    Arc(group.index, loop, node.number, head, REST, 0.0, None, 0.0, opens=False)
                )
            for corner in group.tyre.corners:
                wanted = 0 if is_left(corner) else 1
                run = course.run(loop, group, corner, turned(states, sides == 1 - wanted))
                keep = course.bears(group, run.state)
                risk = course.risk_s(group, run.state)
                money = course.money_s(group, run.state).mean(axis=1)
                for i in np.flatnonzero(keep):
                    node = level[int(i)]
                    state = run.state.take(np.array([i]))
                    own_s = float(money[i])
                    head = self._merge(
                        after,
                        state,
                        wanted,
                        used=True,
                        own_s=own_s,
                        trail=(node.number, corner),
                    )
                    cost = own_s - node.own_s + float(risk[i]) + (0.0 if node.used else first)
                    self.arcs.append(
                        Arc(
                            group.index,
                            loop,
                            node.number,
                            head,
                            corner,
                            cost,
                            run.mu[i, :, 0],
                            float(run.hazard[i, 0]),
                            opens=not node.used,
                        )
                    )
            level = list(after.values())

    def _merge(
        self,
        nodes: dict[object, Node],
        state: State,
        side: int,
        *,
        used: bool,
        own_s: float,
        trail: object,
    ) -> int:
        """Return the node of a state, with the mean of those merged in it."""
        key: object = trail
        if self.grid_mm is not None:
            depth = round(float(state.tread_mm.mean()) / self.grid_mm)
            edge = round(float(state.edge.mean()) / EDGE_STEP)
            key = (depth, edge, side, used)
        if key not in nodes:
            nodes[key] = self._node(state, side, used=used, own_s=own_s)
            return nodes[key].number
        node = nodes[key]
        node.n += 1
        share = 1.0 / node.n
        node.state = State(
            *(
                (1.0 - share) * getattr(node.state, name) + share * getattr(state, name)
                for name in ("tread_mm", "edge", "tread_c", "bulk_c")
            )
        )
        node.own_s = (1.0 - share) * node.own_s + share * own_s
        return node.number

    # What a choice of arcs costs and means.

    def plane(self, loop: int, mu: np.ndarray) -> tuple[float, np.ndarray]:
        """Return a plane under the stage time of a loop, touching at grips (K, 4, 3).

        The time is that with one spare on board; (constant, slopes (K, 4, 3)). [s]
        """
        times, slopes = self.course.tangent(loop, mu[:, None], self.mass_kg)
        slopes = slopes[:, 0]
        return float(times.sum() - (slopes * mu).sum()), slopes

    def time_s(self, loop: int, mu: np.ndarray) -> float:
        """Return the stage time of a loop at grips (K, 4, 3) with one spare on board. [s]."""
        return float(self.course.time_s(loop, mu[None, :, None], self.mass_kg)[0, 0])

    def fill_s(self, loop: int, mu: np.ndarray, hazard: np.ndarray) -> np.ndarray:
        """Return, by fill, mass beyond one spare and punctures, at the grips given. [s]."""
        one = self.time_s(loop, mu)
        found = []
        for fill in self.fills:
            kg = self.mass_kg * len(fill.spares)
            mass_s = float(self.course.time_s(loop, mu[None, :, None], kg)[0, 0]) - one
            covers = np.array(
                [[fill.at(c) == kind for c in range(4)] for kind in fill.spares], dtype=bool
            ).reshape(len(fill.spares), 4)
            jam = self.course.punctures_s(loop, hazard[None, :], covers)
            found.append(mass_s + float(np.asarray(jam).reshape(-1)[0]))
        return np.array(found)

    def plan(
        self, taken: dict[int, int], fills: list[int]
    ) -> list[dict[str, str | None]] | None:
        """Return named fittings for arcs taken (number: times), or None where they don't join.

        Carried are tyres used elsewhere in the plan where there are any, then others.
        """
        out: dict[int, list[int]] = {}
        for number, times in sorted(taken.items()):
            out.setdefault(self.arcs[number].tail, []).extend([number] * times)
        tyres: dict[int, list[int]] = {g.index: list(g.members) for g in self.lineup.groups}
        fits = [[-1] * 6 for _ in range(self.n_loops)]
        counted: list[int] = []
        for group, source in zip(self.lineup.groups, self.sources, strict=True):
            while out.get(source):
                at, path = source, []
                while out.get(at):
                    number = out[at].pop(0)
                    path.append(self.arcs[number])
                    at = path[-1].head
                if all(arc.corner == REST for arc in path):
                    continue
                if not tyres[group.index]:
                    return None
                tyre = tyres[group.index].pop(0)
                counted.append(tyre)
                for arc in path:
                    if arc.corner != REST:
                        fits[arc.loop][arc.corner] = tyre
        if any(min(fit[:4]) < 0 for fit in fits):
            return None
        kind = {t: self.kind_of[g.index] for g in self.lineup.groups for t in g.members}
        left = [t for g in self.lineup.groups for t in tyres[g.index]]
        for loop, fill in enumerate(fills):
            for n, wanted in enumerate(self.fills[fill].spares):
                here = fits[loop]
                found = [t for t in counted if kind[t] == wanted and t not in here]
                if not found:
                    found = [t for t in left if kind[t] == wanted]
                    if not found:
                        return None
                    left.remove(found[0])
                    counted.append(found[0])
                fits[loop][4 + n] = found[0]
        names = ("FL", "FR", "RL", "RR", "SP1", "SP2")
        ids = [t.tyre_id for t in self.lineup.tyres]
        return [
            {p: ids[t] if t >= 0 else None for p, t in zip(names, fit, strict=True)}
            for fit in fits
        ]


def _joined(states: list[State]) -> State:
    return State(
        *(
            np.concatenate([getattr(s, name) for s in states])
            for name in ("tread_mm", "edge", "tread_c", "bulk_c")
        )
    )
