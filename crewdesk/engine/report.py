"""A named plan as the rest of the program reads it."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, sqrt

import numpy as np

from crewdesk.engine.checks import breaches, check_plan
from crewdesk.engine.course import TENTH_POINT, Course
from crewdesk.engine.evaluate import Evaluated, Evaluator, Fit
from crewdesk.engine.groups import Lineup
from crewdesk.engine.naming import fill_quiet
from crewdesk.engine.problem import Problem
from crewdesk.engine.reserve import reserve_for
from crewdesk.engine.result import LoopPlan, ReserveWheel, RuleCheck
from crewdesk.engine.wheels import Rims, rims_for
from crewdesk.units import PLACES, Place


@dataclass(frozen=True)
class Report:
    """A plan, its cost, and what the rules say."""

    plan: tuple[LoopPlan, ...]
    fits: tuple[Fit, ...]
    """At every change place."""
    evaluated: Evaluated
    checks: tuple[RuleCheck, ...]

    @property
    def total_s(self) -> float:
        """Objective. [s]."""
        return self.evaluated.objective.total_s

    @property
    def stops(self) -> tuple[RuleCheck, ...]:
        """Breaches."""
        return breaches(self.checks)


class Reporter:
    """Puts plans into the form of the answer."""

    def __init__(self, problem: Problem, lineup: Lineup, course: Course) -> None:
        self.problem = problem
        self.lineup = lineup
        self.course = course
        self.evaluator = Evaluator(course, lineup)
        self.busy = [loop.place_index for loop in course.tables.loops]
        self._reserves: dict[tuple[int, tuple[Fit, ...]], tuple[ReserveWheel, ...]] = {}

    def report(self, fits: Sequence[Fit], quiet: dict[int, Fit] | None = None) -> Report | None:
        """Return a plan from the fittings of its loops with stages.

        Parameters
        ----------
        fits : sequence of Fit
            One for each loop with stages.
        quiet : dict, optional
            Fittings given for loops without stages, by number of the place.

        Returns
        -------
        Report or None
            None where a loop without stages cannot be filled.
        """
        pairs = list(zip(self.busy, fits, strict=True))
        every: list[Fit] = []
        given = quiet or {}
        for number in range(len(self.problem.places)):
            if number in self.busy:
                every.append(fits[self.busy.index(number)])
                continue
            fit = given.get(number)
            if fit is None:
                last = every[-1] if every else None
                fit = fill_quiet(self.problem, self.lineup, pairs, number, last)
            if fit is None:
                return None
            every.append(fit)
        return self.assemble(tuple(every))

    def assemble(self, every: tuple[Fit, ...]) -> Report:
        """Return a plan from the fittings at all change places."""
        fits = [every[n] for n in self.busy]
        resting = [f for n, f in enumerate(every) if n not in self.busy]
        also = frozenset(t for fit in resting for t in fit[:4] if t >= 0)
        evaluated = self.evaluator.evaluate(fits, also)
        zones = [p.kind == "zone" for p in self.problem.places]
        rims = rims_for(self.problem, self.lineup, every, zones)
        checks = check_plan(
            self.problem, self.lineup, every, evaluated, rims.missing, self.busy
        )
        plan = tuple(self._loop(number, every, evaluated, rims) for number in range(len(every)))
        return Report(plan, every, evaluated, checks)

    def fitting(self, fit: Fit) -> dict[Place, str | None]:
        """Return a fitting with ids."""
        return {
            place: self.lineup.tyres[t].tyre_id if t >= 0 else None
            for place, t in zip(PLACES, fit, strict=True)
        }

    def _loop(
        self,
        number: int,
        every: tuple[Fit, ...],
        evaluated: Evaluated,
        rims: Rims,
    ) -> LoopPlan:
        """Return one loop."""
        place, fit = self.problem.places[number], every[number]
        loop = self.busy.index(number) if number in self.busy else None
        near = loop if loop is not None else self._nearest(number)
        table = self.course.tables.loops[near]
        pressures = {p: table.cold_kpa[i // 2] for i, p in enumerate(PLACES[:4])}
        binds = {p: table.floor_binds[i // 2] for i, p in enumerate(PLACES[:4])}
        for i, p in enumerate(PLACES[4:]):
            if fit[4 + i] >= 0:
                axle = int(table.cold_kpa[1] > table.cold_kpa[0])
                pressures[p] = table.cold_kpa[axle]
                binds[p] = table.floor_binds[axle]
        bring: dict[str, str] = {}
        reserve: tuple[ReserveWheel, ...] = ()
        if place.kind == "zone" and number > 0:
            new = sorted(t for t in fit if t >= 0 and t not in every[number - 1])
            bring = {self.lineup.tyres[t].tyre_id: rims.held[number].get(t, "") for t in new}
            reserve = self._reserve(number, every, evaluated, rims)
            bring |= {wheel.tyre: wheel.rim for wheel in reserve}
        treads: dict[str, tuple[float, float, float]] = {}
        sds: dict[str, float] = {}
        edges: dict[str, tuple[float, float, float]] = {}
        peaks: dict[str, float] = {}
        below: dict[str, float] = {}
        along: dict[str, tuple[tuple[str, float, float, float], ...]] = {}
        expected, spread = 0.0, (0.0, 0.0)
        if loop is not None:
            for t in fit[:4]:
                step, name = evaluated.steps[loop, t], self.lineup.tyres[t].tyre_id
                treads[name] = _three(step.ends_mm)
                sds[name] = self._sd_mm(t, step.ends_mm)
                edges[name] = _three(step.run.state.edge[0].mean(axis=0))
                peaks[name] = max(float(r.peak_tread_c[0].mean()) for r in step.stages)
                below[name] = step.below
                along[name] = tuple(
                    (ref, *self._band(t, run.state.tread_mm[0].mean(axis=0)))
                    for ref, run in zip(place.stages, step.stages, strict=True)
                )
            times = evaluated.time_s[loop]
            expected = float(times.mean())
            spread = (float(np.quantile(times, 0.1)), float(np.quantile(times, 0.9)))
        return LoopPlan(
            loop=place.loop,
            place=place.key,
            fitting=self.fitting(fit),
            cold_pressure_kpa=pressures,
            floor_binds=binds,
            hot_target_kpa=table.target_kpa,
            bring=tuple(bring),
            rims=rims.by_place[number],
            tread_end_mm=treads,
            tread_sd_mm=sds,
            edge_end=edges,
            peak_tread_c=peaks,
            expected_s=expected,
            spread_s=spread,
            below_minimum=below,
            stage_tread_mm=along,
            bring_rims={tyre: rim for tyre, rim in bring.items() if rim},
            reserve=reserve,
        )

    def _reserve(
        self, number: int, every: tuple[Fit, ...], evaluated: Evaluated, rims: Rims
    ) -> tuple[ReserveWheel, ...]:
        """Return the wheels for a zone that only a puncture before it would need."""
        key = (number, every)
        if key not in self._reserves:
            self._reserves[key] = reserve_for(
                self.problem,
                self.lineup,
                self.evaluator,
                self.busy,
                every,
                number,
                evaluated,
                rims,
            )
        return self._reserves[key]

    def _nearest(self, number: int) -> int:
        """Return the loop whose pressures hold in a loop without stages."""
        before = [i for i, n in enumerate(self.busy) if n < number]
        return before[-1] if before else 0

    def _sd_mm(self, tyre: int, ends_mm: np.ndarray) -> float:
        """Return how unsure the least depth is. [mm]."""
        given = self.lineup.tyres[tyre].given
        least = int(np.argmin(ends_mm))
        loss = given.tread_mm[least] - float(ends_mm[least])
        sd = self.course.wear_sd(self.lineup.tyres[tyre])
        return sqrt((loss * sd) ** 2 + given.tread_sd_mm**2)

    def _band(self, tyre: int, ends_mm: np.ndarray) -> tuple[float, float, float]:
        """Return the least depth with the points that hold 80 in 100. [mm]."""
        given = self.lineup.tyres[tyre].given
        least = int(np.argmin(ends_mm))
        mm = float(ends_mm[least])
        loss = max(given.tread_mm[least] - mm, 0.0)
        spread = TENTH_POINT * self.course.wear_sd(self.lineup.tyres[tyre])
        start = TENTH_POINT * given.tread_sd_mm
        low = mm - sqrt((loss * (exp(spread) - 1.0)) ** 2 + start**2)
        high = mm + sqrt((loss * (1.0 - exp(-spread))) ** 2 + start**2)
        return mm, max(low, 0.0), min(high, given.stock.tread_new_mm)


def _three(values: np.ndarray) -> tuple[float, float, float]:
    """Return three floats."""
    return float(values[0]), float(values[1]), float(values[2])
