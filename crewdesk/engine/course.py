"""Tyres move through the loops: wear, grip, worth, and the car's time."""

from functools import cached_property
from math import erf, sqrt
from typing import cast

import numpy as np
from numpy.typing import ArrayLike, NDArray

from crewdesk.conditions.moments import Conditions
from crewdesk.engine.groups import REST, Group, Lineup, Tyre, least_mm
from crewdesk.engine.problem import Problem
from crewdesk.engine.specs import FITTED_LOSS, catalogue, tyre_spec
from crewdesk.engine.tables import LoopTables, build_tables
from crewdesk.engine.tree import Run, State
from crewdesk.physics.heat import AffineMap, apply_map
from crewdesk.physics.puncture import expected_cost_s
from crewdesk.physics.stage import StageRun, run_stage, stage_time_s, stage_time_tangent
from crewdesk.physics.tyre import TyreSpec, TyreState
from crewdesk.physics.value import state_share
from crewdesk.units import CORNERS

Floats = NDArray[np.float64]

TENTH_POINT = 1.2815515655446004
"""Point of the standard normal with 90 in 100 below it."""


def below_share(
    start_mm: ArrayLike, loss_mm: ArrayLike, minimum_mm: float, sd: float, sd_mm: float
) -> Floats:
    r"""Return the chance that a depth ends below the minimum.

    Parameters
    ----------
    start_mm, loss_mm : array_like, shape (P,)
        Depth now and loss predicted. [mm]
    minimum_mm : float
        Limit. [mm]
    sd : float
        Standard deviation of the logarithm of the loss.
    sd_mm : float
        Standard deviation of the depth now. [mm]

    Returns
    -------
    numpy.ndarray, shape (P,)
        0 to 1.

    Notes
    -----
    .. math:: P = \Phi\left( \frac{\ln l - \ln(d - d_{min})}
       {\sqrt{\sigma^2 + (\sigma_d / (d - d_{min}))^2}} \right)

    References
    ----------
    .. [1] Normal distribution of ln(loss); spread in the way this project learns wear.

    Examples
    --------
    >>> float(below_share(5.0, 3.4, 1.6, 0.48, 0.0))
    0.5
    """
    start, loss = np.broadcast_arrays(
        np.asarray(start_mm, dtype=np.float64), np.asarray(loss_mm, dtype=np.float64)
    )
    room = start - minimum_mm
    open_ = (room > 0.0) & (loss > 0.0)
    share = np.where(room <= 0.0, 1.0, 0.0)
    left, lost = room[open_], loss[open_]
    spread = np.sqrt(sd * sd + (sd_mm / left) ** 2)
    ahead = np.log(lost) - np.log(left)
    # Without any doubt it is below or it is not.
    sure = np.where(ahead > 0.0, np.inf, -np.inf)
    z = np.divide(ahead, spread, out=sure, where=spread > 0.0)
    share[open_] = [0.5 * (1.0 + erf(x)) for x in (z / sqrt(2.0)).tolist()]
    return np.asarray(share)


class Course:
    """What the search asks about tyres and loops; one set of scenarios."""

    def __init__(self, problem: Problem, lineup: Lineup, conditions: Conditions) -> None:
        self.problem = problem
        self.lineup = lineup
        usable = [t for t in lineup.tyres if t.usable]
        sizes = [t.given.stock.size for t in usable]
        size = problem.car.tyre_size or (sizes[0] if sizes else "")
        self.tables: LoopTables = build_tables(
            car=problem.car,
            settings=problem.settings,
            places=problem.places,
            stages=problem.stages,
            positions=problem.positions,
            conditions=conditions,
            size=size,
            floor_kpa=makers_floor_kpa(usable),
            least_kpa=problem.rules.cold_min_kpa,
        )
        self.n_loops = len(self.tables.loops)
        self.n_scenarios = self.tables.n_scenarios
        self._specs: dict[int, TyreSpec] = {}

    def spec(self, tyre: Tyre) -> TyreSpec:
        """Return the physics of a tyre."""
        like = self.lineup.like[tyre.index]
        if like not in self._specs:
            self._specs[like] = tyre_spec(tyre.given.stock, tyre.given.model)
        return self._specs[like]

    @property
    def minimum_mm(self) -> float:
        """Least depth that the event allows. [mm]."""
        return least_mm(self.problem.rules)

    def wear_sd(self, tyre: Tyre) -> float:
        """Return the standard deviation of ln(wear) of a tyre."""
        return self.problem.tyre_wear_sd.get(tyre.tyre_id, self.problem.wear_sd)

    # Mover

    def start(self, group: Group) -> State:
        """Return the state of a tyre at the out control of the first loop with stages."""
        return self.start_of(group.tyre)

    def start_of(self, tyre: Tyre) -> State:
        """Return the state of any tyre there."""
        given, s = tyre.given, self.n_scenarios
        air = self.tables.start_air_c[None, :]
        tread_c = air if given.tread_c is None else np.full((1, s), given.tread_c)
        bulk_c = air if given.bulk_c is None else np.full((1, s), given.bulk_c)
        if given.tread_c is not None or given.bulk_c is not None:
            tread_c, bulk_c = apply_map(self.tables.to_start, tread_c, bulk_c)
        return State(
            np.broadcast_to(np.array(given.tread_mm), (1, s, 3)),
            np.broadcast_to(np.array(given.edge_share), (1, s, 3)),
            np.asarray(tread_c),
            np.asarray(bulk_c),
        )

    def run(self, loop: int, group: Group, corner: int, state: State) -> Run:
        """Return a loop on a corner."""
        run, _ = self.run_of(loop, group.tyre, corner, state)
        return run

    def run_of(
        self, loop: int, tyre: Tyre, corner: int, state: State
    ) -> tuple[Run, list[StageRun]]:
        """Return a loop on a corner, with its stages one by one."""
        table = self.tables.loops[loop]
        spec = self.spec(tyre)
        compound = tyre.given.stock.compound
        of_corner = self.problem.corner_multiplier.get(CORNERS[corner], 1.0)
        usual = self.problem.wear_multiplier.get(compound, 1.0)
        by_stage = self.problem.stage_wear_multiplier
        now = TyreState(state.tread_mm, state.edge, state.tread_c, state.bulk_c)
        grips, runs = [], []
        hazard: Floats | None = None
        for told, stage, before in zip(table.stages, table.tables, table.before, strict=True):
            tread_c, bulk_c = apply_map(before, now.tread_c, now.bulk_c)
            done = run_stage(
                stage,
                corner,
                spec,
                TyreState(now.tread_mm, now.edge, tread_c, bulk_c),
                cold_kpa=table.cold_kpa[corner // 2],
                set_c=table.set_c,
                set_altitude_m=table.place.altitude_m,
                target_kpa=table.target_kpa,
                wear_multiplier=of_corner * by_stage.get((compound, told.ref), usual),
            )
            grips.append(done.mu)
            hazard = done.hazard if hazard is None else hazard + done.hazard
            runs.append(done)
            now = done.state
        tread_c, bulk_c = apply_map(table.after, now.tread_c, now.bulk_c)
        after = State(now.tread_mm, now.edge, tread_c, bulk_c)
        return Run(after, np.stack(grips, axis=1), cast("Floats", hazard)), runs

    def rest(self, loop: int, state: State) -> State:
        """Return a loop on no corner."""
        tread_c, bulk_c = apply_map(self.tables.loops[loop].off, state.tread_c, state.bulk_c)
        return State(state.tread_mm, state.edge, tread_c, bulk_c)

    def bears(self, group: Group, state: State) -> NDArray[np.bool_]:
        """Return, by path, whether the mean least depth keeps the minimum."""
        return self.room_mm(group.tyre, state) >= 0.0

    def room_mm(self, tyre: Tyre, state: State) -> Floats:
        """Return, by path, the least mean depth less what the rules ask. [mm]."""
        ends = state.tread_mm.mean(axis=1)
        least = ends.min(axis=1)
        room = least - self.minimum_mm
        margin = self.problem.settings.tread_margin_sd
        if margin > 0.0:
            loss = np.array(tyre.given.tread_mm)[None, :] - ends
            worst = ends.argmin(axis=1)
            lost = np.take_along_axis(loss, worst[:, None], axis=1)[:, 0]
            sd = np.hypot(lost * self.wear_sd(tyre), tyre.given.tread_sd_mm)
            room = room - margin * sd
        return np.asarray(room)

    def below(self, tyre: Tyre, ends_mm: Floats) -> Floats:
        """Return (P,), chances of being below the minimum, from mean depths (P, 3)."""
        least = ends_mm.argmin(axis=1)
        start = np.array(tyre.given.tread_mm)[least]
        return below_share(
            start,
            start - ends_mm[np.arange(least.size), least],
            self.minimum_mm,
            self.wear_sd(tyre),
            tyre.given.tread_sd_mm,
        )

    def risk_s(self, group: Group, state: State) -> Floats:
        """Return, by path, the price of the chance of having gone below the minimum. [s]."""
        ends = state.tread_mm.mean(axis=1)
        price = self.problem.settings.tread_risk_s
        if price == 0.0:
            return np.zeros(ends.shape[0])
        return price * self.below(group.tyre, ends)

    def worth(self, tyre: Tyre, state: State) -> Floats:
        """Return (P, S), the worth of a tyre that has been on a hub. [money]."""
        stock = tyre.given.stock
        if stock.price is None or stock.terms == "hired":
            return np.zeros(state.tread_c.shape)
        family = catalogue().families[stock.use]
        share = state_share(
            state.tread_mm.mean(axis=2),
            state.edge.mean(axis=2),
            tread_new_mm=stock.tread_new_mm,
            worthless_mm=family["tread_worthless_mm"],
            edge_value_share=family["edge_value_share"],
        )
        return np.asarray((1.0 - FITTED_LOSS) * stock.price * share)

    def money_s(self, group: Group, state: State) -> Floats:
        """Return (P, S), worth lost to wear, less what is left for later. [s]."""
        return self.money_of(group.tyre, state)

    def money_of(self, tyre: Tyre, state: State) -> Floats:
        """Return the same of any tyre, and what its depth is worth beyond the plan. [s]."""
        return np.asarray(self.wear_money_s(tyre, state) + self.beyond_s(tyre, state))

    def wear_money_s(self, tyre: Tyre, state: State) -> Floats:
        """Return (P, S), worth lost to wear. [s]."""
        xi = self.problem.xi_money_per_s
        if xi <= 0.0:
            return np.zeros(state.tread_c.shape)
        before = self.worth(tyre, self.start_of(tyre))
        return np.asarray((before - self.worth(tyre, state)) / xi)

    def beyond_s(self, tyre: Tyre, state: State) -> Floats:
        """Return (P, S), the loss of depth that legs beyond the plan would use. [s]."""
        rate = self.problem.settings.beyond_plan_s_per_mm
        if rate == 0.0:
            return np.zeros(state.tread_c.shape)
        least = self.minimum_mm
        left = np.maximum(state.tread_mm.mean(axis=2) - least, 0.0)
        before = max(float(np.mean(tyre.given.tread_mm)) - least, 0.0)
        return np.asarray(rate * (before - left))

    @cached_property
    def beyond_start_s(self) -> float:
        """Worth of all usable tyres for legs beyond the plan, before it begins. [s]."""
        rate = self.problem.settings.beyond_plan_s_per_mm
        return rate * sum(
            max(float(np.mean(t.given.tread_mm)) - self.minimum_mm, 0.0)
            for t in self.lineup.tyres
            if t.usable
        )

    def first_fit_s(self, group: Group) -> float:
        """Return what the first fitting to a hub costs. [s]."""
        return self.first_fit_of(group.tyre)

    def first_fit_of(self, tyre: Tyre) -> float:
        """Return the same of any tyre. [s]."""
        given, xi = tyre.given, self.problem.xi_money_per_s
        price = given.stock.price
        if given.ever_fitted or xi <= 0.0 or price is None:
            return 0.0
        if given.stock.terms == "hired":
            return price / xi
        return float(price - self.worth(tyre, self.start_of(tyre)).mean()) / xi

    def opens(self, group: Group) -> int:
        """Return the first loop with stages for which a group is there."""
        first = group.tyre.first_place
        return sum(loop.place_index < first for loop in self.tables.loops)

    def forced_corner(self, group: Group) -> int | None:
        """Return the step fixed for the first loop, a corner or rest, or None."""
        place = group.tyre.forced
        if place is None or not self.opens_at_once:
            return None
        return CORNERS.index(place) if place in CORNERS else REST

    @property
    def opens_at_once(self) -> bool:
        """Whether the call's own loop has stages."""
        return bool(self.tables.loops) and self.tables.loops[0].place_index == 0

    # The car

    def time_s(self, loop: int, mu: Floats, added_kg: float) -> Floats:
        """Return (B, S), stage time of a loop from grips (B, K, S, 4, 3). [s]."""
        total = np.zeros((mu.shape[0], self.n_scenarios))
        for k, table in enumerate(self.tables.loops[loop].tables):
            total += stage_time_s(table, mu[:, k], added_kg)
        return total

    def tangent(self, loop: int, mu: Floats, added_kg: float) -> tuple[Floats, Floats]:
        """Return (K, S) stage times and their slopes (K, S, 4, 3) at grips of that shape."""
        pairs = [
            stage_time_tangent(table, mu[k], added_kg)
            for k, table in enumerate(self.tables.loops[loop].tables)
        ]
        return np.stack([p[0] for p in pairs]), np.stack([p[1] for p in pairs])

    def mass_log(self, loop: int, added_kg: float) -> Floats:
        """Return (K, S), the logarithm of the factor of added mass on stage time."""
        car = self.problem.car.mass_kg
        return np.stack(
            [
                t.response.mass_exponent * np.log1p(added_kg / car)
                for t in self.tables.loops[loop].tables
            ]
        )

    def punctures_s(self, loop: int, hazard: Floats, covers: NDArray[np.bool_]) -> Floats:
        """Return the expected cost of punctures for hazards (..., 4). [s]."""
        if not len(covers):
            total = np.asarray(hazard).sum(axis=-1)
            return np.asarray(-self.problem.settings.wheel_lost_s * np.expm1(-total))
        return expected_cost_s(
            hazard,
            covers.tolist(),
            change_s=self.tables.loops[loop].change_s,
            lost_s=self.problem.settings.wheel_lost_s,
        )


def makers_floor_kpa(tyres: list[Tyre]) -> float | None:
    """Return the highest of the makers' own minimum cold pressures, or None. [kPa]."""
    given = [t.given.model.min_cold_kpa for t in tyres]
    known = [g for g in given if g is not None]
    return max(known) if known else None


__all__ = ["AffineMap", "Course", "below_share", "makers_floor_kpa"]
