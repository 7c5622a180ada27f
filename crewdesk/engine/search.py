"""The best plan and the proof of it: planes, prices, whole numbers, exact cost, again."""

from collections.abc import Callable, Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from crewdesk.engine.branch import Brancher
from crewdesk.engine.carry import behind
from crewdesk.engine.course import Course
from crewdesk.engine.found import Found
from crewdesk.engine.groups import Lineup
from crewdesk.engine.hunt import Hunt
from crewdesk.engine.limits import Limits, Pattern, patterns
from crewdesk.engine.master import Choice, Master, Priced, StoppedError
from crewdesk.engine.planes import Planes
from crewdesk.engine.plans import Valued, Valuer
from crewdesk.engine.reach import Reach
from crewdesk.engine.siderows import side_rows
from crewdesk.engine.stems import Stems
from crewdesk.engine.tail import tail_weights
from crewdesk.engine.tree import Grower, Tree
from crewdesk.units import CORNERS

Floats = NDArray[np.float64]

TOLERANCE_S = 0.01
"""Value less bound at which a plan counts as proven. [s]"""
FIRST_PLAN = 80
"""Units of work spent on finding any plan where rounding finds none."""
BEGUN_WITH = 8
"""Plans known before that planes touch at from the beginning."""
SKETCHED = (1, 2)
"""Rounds of planes after which plans are grown already."""
SMALL = 300
EXACT_S = 1e-7
"""With no more paths than SMALL the search closes to EXACT_S. [s]"""


class Search:
    """One course, one tree, the best plan over it.

    ``ask`` is called often; whoever wants nothing any more raises from there.
    """

    def __init__(
        self,
        course: Course,
        lineup: Lineup,
        limits: Limits,
        reach: Reach | None = None,
        ask: Callable[[], bool] | None = None,
    ) -> None:
        self.course = course
        self.lineup = lineup
        self.limits = limits
        scenarios = int(course.problem.conditions.air_c.shape[0])
        grower = Grower(
            course, lineup.groups, single=False, scenarios=scenarios, reach=reach, ask=ask
        )
        self.tree: Tree = grower.grow()
        self.valuer = Valuer(course, self.tree, lineup, limits, ask)
        opens = [course.opens(g) for g in lineup.groups]
        self.patterns: list[tuple[Pattern, ...]] = []
        for loop in range(course.n_loops):
            there = frozenset(g for g, o in enumerate(opens) if o <= loop)
            found = patterns(limits, lineup.groups, there)
            if loop == 0:
                found = tuple(p for p in found if self._holds_forced(p))
            self.patterns.append(found)
        self.opens = opens
        self.last: Hunt | None = None
        """What the last search found plans with."""
        busy = [loop.place_index for loop in course.tables.loops]
        places = course.problem.places
        self.side = side_rows(
            self.tree,
            lineup,
            limits,
            self.patterns,
            busy,
            len(places),
            behind(places, busy),
        )

    def _holds_forced(self, pattern: Pattern) -> bool:
        """Return whether a pattern carries the spares that the crew fixed."""
        if not self.course.opens_at_once:
            return True
        fixed = self.limits.first_spares
        if fixed is not None and len(pattern.spares) != fixed:
            return False
        need = [0] * self.limits.n_classes
        for group in self.lineup.groups:
            if group.tyre.forced in {"SP1", "SP2"}:
                need[self.limits.class_of[group.index]] += 1
        return all(pattern.spares.count(k) >= n for k, n in enumerate(need))

    def master(self, weights: Floats) -> Master:
        """Return the program for some weights over the scenarios."""
        groups = self.lineup.groups
        on = [
            CORNERS.index(g.tyre.given.on_car) if g.tyre.given.on_car in CORNERS else None
            for g in groups
        ]
        return Master(
            tree=self.tree,
            lineup=self.lineup,
            limits=self.limits,
            patterns=self.patterns,
            opens=self.opens,
            forced=[self.course.forced_corner(g) for g in groups],
            on_corner=on,
            own_s=self.tree.own_s @ weights,
            side=self.side,
            offset_s=-self.course.beyond_start_s * float(weights.sum()),
        )

    def planes(self, weights: Floats) -> Planes:
        """Return the maker of planes for some weights."""
        mass = [self.course.spec(g.tyre).mass_kg for g in self.lineup.groups]
        return Planes(self.course, self.tree, self.limits, self.patterns, mass, weights)

    @property
    def serves_all(self) -> bool:
        """Return whether each loop has a pattern, and each of its corners a tyre that lasts."""
        rows = [np.bincount(corner, minlength=4) for corner in self.tree.corner]
        return all(self.patterns) and all(bool(n.all()) for n in rows)

    def begun(self, weights: Floats, plans: Sequence[Valued]) -> tuple[Master, Planes]:
        """Return the program with its first planes, and those that touch at some plans."""
        master, planes = self.master(weights), self.planes(weights)
        for loop in range(self.course.n_loops):
            master.add_cut(planes.puncture_plane(loop, None))
            master.add_cut(planes.opening_plane(loop))
        for plan in plans:
            self.touch(master, planes, plan)
            master.add_paths(plan.paths)
        return master, planes

    def choice_of(self, plan: Valued) -> Choice | None:
        """Return a plan as the program sees it."""
        kind = self.limits.class_of
        picked = []
        for loop, (corners, spares) in enumerate(zip(plan.corners, plan.spares, strict=True)):
            owner = [kind[int(self.tree.leaf_group[p])] for p in corners]
            want = Pattern(owner[0], owner[2], tuple(sorted(kind[g] for g in spares)))
            if want not in self.patterns[loop]:
                return None
            picked.append(self.patterns[loop].index(want))
        return Choice(plan.paths, tuple(picked))

    # The whole search.

    def run(
        self,
        start: Sequence[Valued] = (),
        *,
        stop: Callable[[], bool] | None = None,
        work_limit: int = 3000,
        on_better: Callable[[Found], None] | None = None,
        rounds: int = 14,
        prove: bool = True,
        first_plan: int = FIRST_PLAN,
        sketched: tuple[int, ...] = SKETCHED,
    ) -> Found:
        """Return the best plan with a bound under all of them."""
        found = Found()
        for plan in start:
            found.offer(plan)
        if not self.serves_all:
            found.impossible = found.best is None
            return found
        s = self.course.n_scenarios
        weight = self.valuer.weight
        weights = np.full(s, (1.0 + weight) / s)
        for _ in range(5):
            if found.best is not None:
                weights = tail_weights(found.best.cost_s, weight)
            ready = found.best is not None or s <= 1 or weight == 0.0
            try:
                self._pass(
                    found,
                    weights,
                    stop,
                    work_limit,
                    on_better,
                    rounds,
                    prove=prove and ready,
                    first_plan=first_plan,
                    sketched=sketched,
                )
            except StoppedError:
                break
            if found.impossible or found.complete or found.work >= work_limit:
                break
            if found.best is None or (stop is not None and stop()):
                break
            if np.array_equal(weights, tail_weights(found.best.cost_s, weight)):
                break
        return found

    def _pass(
        self,
        found: Found,
        weights: Floats,
        stop: Callable[[], bool] | None,
        work_limit: int,
        on_better: Callable[[Found], None] | None,
        rounds: int,
        *,
        prove: bool,
        first_plan: int,
        sketched: tuple[int, ...],
    ) -> None:
        """Search once with fixed weights over the scenarios."""
        master, planes = self.begun(weights, list(found.seen.values())[:BEGUN_WITH])
        hunt = Hunt(
            self.valuer,
            lambda: self.stems,
            self.limits,
            master,
            planes,
            lambda plan: self.touch(master, planes, plan),
            found,
            on_better,
        )
        self.last = hunt
        if stop is not None:
            master.stop = lambda: stop() and found.best is not None
        priced: Priced | None = None
        for turn in range(rounds):
            priced = master.relax()
            found.work += priced.work
            if not priced.feasible:
                found.impossible = found.best is None
                return
            found.bound_s = max(found.bound_s, priced.value_s)
            if self._halted(found, stop, work_limit):
                return
            if not planes.tighten(master, priced):
                break
            if turn in sketched:
                hunt.sketch(priced)
        if priced is None:
            return
        hunt.sketch(priced)
        if found.best is None:
            hunt.dive()
        if found.best is None:
            most = found.work + first_plan

            def enough() -> bool:
                return found.best is not None or (stop is not None and stop())

            self._prove(hunt, enough, most)
        if not prove or self._halted(found, stop, work_limit):
            return
        if not np.array_equal(planes.weights, self._weights(found)):
            return
        self._prove(hunt, stop, work_limit)

    def _weights(self, found: Found) -> Floats:
        """Return the weights over the scenarios that suit the best plan."""
        s, weight = self.course.n_scenarios, self.valuer.weight
        if found.best is None:
            return np.full(s, (1.0 + weight) / s)
        return tail_weights(found.best.cost_s, weight)

    def _halted(self, found: Found, stop: Callable[[], bool] | None, work_limit: int) -> bool:
        """Return whether to stop, and note whether the proof is there."""
        if found.best is None:
            return False
        found.complete = found.best.total_s - found.bound_s <= TOLERANCE_S
        if found.complete:
            return True
        return found.work >= work_limit or (stop is not None and stop())

    def touch(self, master: Master, planes: Planes, plan: Valued) -> None:
        """Add the planes that touch at a plan."""
        choice = self.choice_of(plan)
        for loop, corners in enumerate(plan.corners):
            rows = [int(self.tree.rows[loop, p]) for p in corners]
            mu = np.stack([self.tree.mu[loop][r] for r in rows], axis=2)
            added = sum(self.valuer.mass_kg(g) for g in plan.spares[loop])
            master.add_cut(planes.time_plane(loop, mu, added))
            if choice is not None:
                front, rear = planes.axle_hazards(loop, rows)
                master.add_cut(planes.puncture_plane(loop, choice.patterns[loop], front, rear))

    @cached_property
    def stems(self) -> Stems:
        """The beginnings of all paths."""
        return Stems(self.tree)

    def _prove(self, hunt: Hunt, stop: Callable[[], bool] | None, work_limit: int) -> None:
        """Branch until no part of the plans can hold a better one."""
        master, found = hunt.master, hunt.found

        def tighten(priced: Priced) -> bool:
            gap = found.best_s - priced.value_s
            return hunt.planes.tighten(master, priced, max(0.02, 0.1 * gap))

        exact = self.tree.size <= SMALL
        tolerance_s = EXACT_S if exact else 0.95 * TOLERANCE_S

        def grow(
            priced: Priced, paths: NDArray[np.bool_], patterns: tuple[NDArray[np.bool_], ...]
        ) -> tuple[float, int]:
            return hunt.all_below(priced, (paths, patterns), found.best_s - tolerance_s)

        open_ = self._left(master, found)
        master.tidy()
        brancher = Brancher(
            master,
            open_,
            value=hunt.value,
            best_s=lambda: found.best_s,
            tighten=tighten,
            grow=grow,
            tolerance_s=tolerance_s,
        )
        proof = brancher.run(work_limit - found.work, stop)
        found.work += proof.work
        found.bound_s = max(found.bound_s, proof.bound_s)
        if found.best is not None:
            found.complete = found.best.total_s - found.bound_s <= TOLERANCE_S
        elif proof.finished:
            found.impossible = True

    def _left(self, master: Master, found: Found) -> NDArray[np.bool_]:
        """Return the paths that a better plan may still use."""
        priced = master.relax()
        found.work += priced.work
        if found.best is None or not priced.feasible:
            return np.ones(self.tree.size, dtype=bool)
        return np.asarray(priced.reduced_s <= found.best.total_s - priced.value_s + 1e-6)
