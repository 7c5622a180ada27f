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
from crewdesk.engine.layers import FITTINGS, Grown, Layers
from crewdesk.engine.limits import Limits, Pattern, patterns
from crewdesk.engine.master import Choice, Master, Priced, StoppedError
from crewdesk.engine.planes import Planes
from crewdesk.engine.plans import Valued, Valuer
from crewdesk.engine.polish import polished
from crewdesk.engine.reach import Reach
from crewdesk.engine.siderows import side_rows
from crewdesk.engine.stems import Stems
from crewdesk.engine.tail import tail_weights
from crewdesk.engine.tree import Grower, Tree
from crewdesk.units import CORNERS

Floats = NDArray[np.float64]
Open = tuple[NDArray[np.bool_], tuple[NDArray[np.bool_], ...]]
"""Paths and, by loop, patterns that are open."""

TOLERANCE_S = 0.01
"""Value less bound at which a plan counts as proven. [s]"""
FIRST_PLAN = 80
"""Units of work spent on finding any plan where rounding finds none."""
SKETCHED = (1, 2)
"""Rounds of planes after which plans are grown already."""
NARROW, WIDE = 120, 3000
"""Parts of plans kept where some plans are wanted, and where all are. Tuning values."""
SOME, MOST_VALUED = 12, 400
"""Grown plans that are costed: of a sketch, and of a part of the proof."""
GROWN_A_UNIT = 4000
"""Fittings that are costed for one unit of work."""
WIDER, MORE = 500, 60
"""Parts kept, and plans costed, where good plans are looked for and no proof."""
PLANE_S = 0.05
"""Planes that lift the relaxed plan by less do not help to find one. [s]"""
FEWER = 8
"""Fittings that a part goes on with there: more ways of beginning are kept instead."""
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
        self.last: tuple[Master, Planes] | None = None
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
    ) -> Found:
        """Return the best plan with a bound under all of them."""
        found = Found()
        for plan in start:
            found.offer(plan)
        if any(not p for p in self.patterns) or any(c.size == 0 for c in self.tree.corner):
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
    ) -> None:
        """Search once with fixed weights over the scenarios."""
        master, planes = self.master(weights), self.planes(weights)
        self.last = (master, planes)
        if stop is not None:
            master.stop = lambda: stop() and found.best is not None
        for loop in range(self.course.n_loops):
            master.add_cut(planes.puncture_plane(loop, None))
            master.add_cut(planes.opening_plane(loop))
        for plan in list(found.seen.values())[:8]:
            self._touch(master, planes, plan)
            master.add_paths(plan.paths)
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
            if turn in SKETCHED:
                self._sketch(master, planes, priced, found, on_better)
        if priced is None:
            return
        self._sketch(master, planes, priced, found, on_better)
        if found.best is None:
            self._dive(master, planes, found, on_better)
        if found.best is None:
            most = found.work + first_plan

            def enough() -> bool:
                return found.best is not None or (stop is not None and stop())

            self._prove(master, planes, found, enough, most, on_better)
        if not prove or self._halted(found, stop, work_limit):
            return
        if not np.array_equal(planes.weights, self._weights(found)):
            return
        self._prove(master, planes, found, stop, work_limit, on_better)

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

    def _touch(self, master: Master, planes: Planes, plan: Valued) -> None:
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

    def _dive(
        self,
        master: Master,
        planes: Planes,
        found: Found,
        on_better: Callable[[Found], None] | None,
    ) -> None:
        """Round the relaxed program to plans, with planes that touch at each."""
        for _ in range(3):
            choice, work = master.dive()
            found.work += work
            if choice is None or not self._take(master, planes, choice, found, on_better):
                return

    @cached_property
    def _stems(self) -> Stems:
        return Stems(self.tree)

    def _layers(
        self,
        master: Master,
        planes: Planes,
        priced: Priced,
        open_: Open | None = None,
    ) -> Layers:
        """Return what grows plans under the prices of a relaxed program."""
        return Layers(self.valuer, self._stems, self.limits, master, planes, priced, open_)

    def _sketch(
        self,
        master: Master,
        planes: Planes,
        priced: Priced,
        found: Found,
        on_better: Callable[[Found], None] | None,
    ) -> None:
        """Grow some plans quickly and take the good ones."""
        layers = self._layers(master, planes, priced)
        self._offer(
            master, planes, layers.grow(NARROW, stop=master.stop), SOME, found, on_better
        )

    def _offer(
        self,
        master: Master,
        planes: Planes,
        grown: Grown,
        most: int,
        found: Found,
        on_better: Callable[[Found], None] | None,
    ) -> None:
        """Cost the best of some grown plans."""
        found.work += grown.work // GROWN_A_UNIT
        before = found.best
        self._value_all(grown.plans[:most], found)
        if found.best is not before:
            self._improve(master, planes, found, on_better)

    def widen(self, found: Found, on_better: Callable[[Found], None] | None = None) -> None:
        """Look wider for better plans behind a search, as long as there are any."""
        if self.last is None or found.best is None:
            return
        master, planes = self.last
        before = None
        try:
            while found.best is not before:
                before = found.best
                priced = master.relax()
                while priced.feasible and planes.tighten(master, priced, PLANE_S):
                    priced = master.relax()
                if not priced.feasible:
                    return
                layers = self._layers(master, planes, priced)
                for fittings in (FITTINGS, FEWER):
                    grown = layers.grow(WIDER, fittings=fittings, stop=master.stop)
                    self._offer(master, planes, grown, MORE, found, on_better)
        except StoppedError:
            return

    def _grow_all(
        self,
        master: Master,
        planes: Planes,
        priced: Priced,
        found: Found,
        open_: Open,
        below_s: float,
        on_better: Callable[[Found], None] | None,
    ) -> tuple[float, int]:
        """Grow all plans of a part that may cost less; return their bound, and work done."""
        if found.best is None or not master.is_plain(priced):
            return -np.inf, 0
        before = found.best
        layers = self._layers(master, planes, priced, open_)
        grown = layers.grow(WIDE, below_s=below_s, whole=True, stop=master.stop)
        left_s = self._value_all(grown.plans, found)
        if found.best is not before:
            self._improve(master, planes, found, on_better)
        return min(grown.bound_s, left_s), grown.work // GROWN_A_UNIT

    def _improve(
        self,
        master: Master,
        planes: Planes,
        found: Found,
        on_better: Callable[[Found], None] | None,
    ) -> None:
        """Polish a new best plan, touch it with planes, and tell of it."""
        if found.best is None:
            return
        self._touch(master, planes, found.best)
        finer = polished(self.valuer, found.best)
        if found.offer(finer):
            self._touch(master, planes, finer)
        if on_better is not None:
            on_better(found)

    def _value_all(self, plans: Sequence[tuple[float, tuple[int, ...]]], found: Found) -> float:
        """Cost the plans that may be better than the best; return a bound under the others."""
        for number, (least_s, paths) in enumerate(plans):
            if least_s >= found.best_s or number >= MOST_VALUED:
                return least_s
            plan = self.valuer.value(paths)
            if plan is not None:
                found.offer(plan)
        return np.inf

    def take(self, choice: Choice, found: Found, planes: Planes) -> bool:
        """Value a plan of the program and touch it with planes; return whether it is new."""
        if self.last is None:
            return False
        return self._take(self.last[0], planes, choice, found, None)

    def _take(
        self,
        master: Master,
        planes: Planes,
        choice: Choice,
        found: Found,
        on_better: Callable[[Found], None] | None,
    ) -> bool:
        """Value a plan of the program; return whether it is new."""
        key = tuple(sorted(choice.paths))
        if key in {tuple(sorted(k)) for k in found.seen}:
            return False
        plan = self.valuer.value(choice.paths)
        if plan is None:
            return False
        plan = polished(self.valuer, plan)
        better = found.offer(plan)
        self._touch(master, planes, plan)
        if better and on_better is not None:
            on_better(found)
        return True

    def _prove(
        self,
        master: Master,
        planes: Planes,
        found: Found,
        stop: Callable[[], bool] | None,
        work_limit: int,
        on_better: Callable[[Found], None] | None,
    ) -> None:
        """Branch until no part of the plans can hold a better one."""

        def value(choice: Choice) -> float | None:
            plan = self.valuer.value(choice.paths)
            if plan is None:
                return None
            if plan.paths not in found.seen:
                if found.offer(plan):
                    self._improve(master, planes, found, on_better)
                else:
                    self._touch(master, planes, plan)
            return plan.total_s

        def tighten(priced: Priced) -> bool:
            gap = found.best_s - priced.value_s
            return planes.tighten(master, priced, max(0.02, 0.1 * gap))

        exact = self.tree.size <= SMALL
        tolerance_s = EXACT_S if exact else 0.95 * TOLERANCE_S

        def grow(
            priced: Priced, paths: NDArray[np.bool_], patterns: tuple[NDArray[np.bool_], ...]
        ) -> tuple[float, int]:
            below_s = found.best_s - tolerance_s
            open_ = (paths, patterns)
            return self._grow_all(master, planes, priced, found, open_, below_s, on_better)

        open_ = self._left(master, found)
        master.tidy()
        brancher = Brancher(
            master,
            open_,
            value=value,
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
