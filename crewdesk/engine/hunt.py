"""Plans found under the prices of a relaxed program: rounded, grown, polished, costed."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from crewdesk.engine.found import Found
from crewdesk.engine.layers import FITTINGS, Grown, Layers
from crewdesk.engine.limits import Limits
from crewdesk.engine.master import Choice, Master, Priced, StoppedError
from crewdesk.engine.planes import Planes
from crewdesk.engine.plans import Valued, Valuer
from crewdesk.engine.polish import polished
from crewdesk.engine.stems import Stems

Open = tuple[NDArray[np.bool_], tuple[NDArray[np.bool_], ...]]
"""Paths and, by loop, patterns that are open."""

NARROW, WIDE = 120, 3000
"""Parts of plans kept where some plans are wanted, and where all are. Tuning values."""
SOME, MOST_VALUED = 12, 400
"""Grown plans that are costed: of a sketch, and of a part of the proof."""
GROWN_A_UNIT = 4000
"""Fittings that are costed for one unit of work."""
WIDER, MORE = 500, 60
"""Parts kept, and plans costed, where good plans are looked for and no proof."""
FEWER = 8
"""Fittings that a part goes on with there: more ways of beginning are kept instead."""
PLANE_S = 0.05
"""Planes that lift the relaxed plan by less do not help to find one. [s]"""
WIDE_OPEN_S = 1.0
"""Value less bound of a part from which better plans are looked for in it. [s]"""
PATIENT = 5
"""Parts one after the other in which none is found, before that ends."""
DIVES = 3


@dataclass
class Hunt:
    """Looks for plans with one program and its planes, and keeps what it finds."""

    valuer: Valuer
    stems: Callable[[], Stems]
    limits: Limits
    master: Master
    planes: Planes
    touch: Callable[[Valued], None]
    """Adds the planes that touch at a plan."""
    found: Found
    on_better: Callable[[Found], None] | None = None
    _fruitless: int = 0
    _told: bool = False

    def _layers(self, priced: Priced, open_: Open | None = None) -> Layers:
        """Return what grows plans under the prices of a relaxed program."""
        return Layers(
            self.valuer, self.stems(), self.limits, self.master, self.planes, priced, open_
        )

    def dive(self) -> None:
        """Round the relaxed program to plans, with planes that touch at each."""
        for _ in range(DIVES):
            choice, work = self.master.dive()
            self.found.work += work
            if choice is None or not self.take(choice):
                return

    def sketch(self, priced: Priced) -> None:
        """Grow some plans quickly and take the good ones."""
        self._offer(self._layers(priced).grow(NARROW, stop=self.master.stop), SOME)

    def _offer(self, grown: Grown, most: int) -> None:
        """Cost the best of some grown plans."""
        self.found.work += grown.work // GROWN_A_UNIT
        before = self.found.best
        self._value_all(grown.plans[:most])
        if self.found.best is not before:
            self.improve()

    def widen(self) -> None:
        """Look wider for better plans, as long as there are any."""
        before = None
        try:
            while self.found.best is not before:
                before = self.found.best
                priced = self.master.relax()
                while priced.feasible and self.planes.tighten(self.master, priced, PLANE_S):
                    priced = self.master.relax()
                if not priced.feasible:
                    return
                layers = self._layers(priced)
                for fittings in (FITTINGS, FEWER):
                    grown = layers.grow(WIDER, fittings=fittings, stop=self.master.stop)
                    self._offer(grown, MORE)
        except StoppedError:
            return

    def all_below(self, priced: Priced, open_: Open, below_s: float) -> tuple[float, int]:
        """Grow all plans of a part that may cost less; return their bound, and work done."""
        found = self.found
        if found.best is None or not self.master.is_plain(priced):
            return -np.inf, 0
        before, stop = found.best, self.master.stop
        layers = self._layers(priced, open_)
        grown = layers.grow(WIDE, below_s=below_s, whole=True, stop=stop)
        work = grown.work
        left_s = self._value_all(grown.plans)
        wide_open = grown.bound_s < below_s and found.best_s - priced.value_s > WIDE_OPEN_S
        if wide_open and self._fruitless < PATIENT:
            # The nearer the best plan, the less there is to prove.
            some = layers.grow(NARROW, stop=stop)
            work += some.work
            self._value_all(some.plans[:SOME])
            self._fruitless = 0 if found.best is not before else self._fruitless + 1
        if found.best is not before:
            self.improve()
        return min(grown.bound_s, left_s), work // GROWN_A_UNIT

    def improve(self) -> None:
        """Polish a new best plan, touch it with planes, and tell of it."""
        if self.found.best is None:
            return
        self.touch(self.found.best)
        if not self._told:
            # The first of all is told before it is made any better.
            self._tell()
        finer = polished(self.valuer, self.found.best)
        if self.found.offer(finer):
            self.touch(finer)
        self._tell()

    def take(self, choice: Choice) -> bool:
        """Value a plan of the program; return whether it is new."""
        key = tuple(sorted(choice.paths))
        if key in {tuple(sorted(k)) for k in self.found.seen}:
            return False
        plan = self.valuer.value(choice.paths)
        if plan is None:
            return False
        plan = polished(self.valuer, plan)
        better = self.found.offer(plan)
        self.touch(plan)
        if better:
            self._tell()
        return True

    def value(self, choice: Choice) -> float | None:
        """Return the exact cost of a plan of the program, or None where it breaks a rule."""
        plan = self.valuer.value(choice.paths)
        if plan is None:
            return None
        if plan.paths not in self.found.seen:
            if self.found.offer(plan):
                self.improve()
            else:
                self.touch(plan)
        return plan.total_s

    def _tell(self) -> None:
        self._told = True
        if self.on_better is not None:
            self.on_better(self.found)

    def _value_all(self, plans: Sequence[tuple[float, tuple[int, ...]]]) -> float:
        """Cost the plans that may be better than the best; return a bound under the others."""
        for number, (least_s, paths) in enumerate(plans):
            if least_s >= self.found.best_s or number >= MOST_VALUED:
                return least_s
            plan = self.valuer.value(paths)
            if plan is not None:
                self.found.offer(plan)
        return np.inf
