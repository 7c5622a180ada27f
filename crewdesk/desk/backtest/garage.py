"""The real tyres of a simulated day, and what a loop really does to them and to the clock."""

from collections.abc import Mapping
from copy import copy
from dataclasses import dataclass, field, replace

import numpy as np

from crewdesk.desk.backtest.dice import Floats
from crewdesk.desk.backtest.truth import Truth
from crewdesk.desk.case import models_of, rules_of
from crewdesk.desk.estimate import side_of
from crewdesk.desk.models import model_of
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.itinerary import ChangePlace, Stage
from crewdesk.documents.stock import StockTyre
from crewdesk.engine.specs import catalogue, tyre_spec
from crewdesk.engine.tables import CHANGE_S_KM, LoopTable, LoopTables, build_tables
from crewdesk.physics.heat import apply_map
from crewdesk.physics.stage import StageTable, run_stage, stage_time_s
from crewdesk.physics.tyre import TyreSpec, TyreState, moved_across
from crewdesk.physics.value import state_share, value_now
from crewdesk.regulations.predicates import spare_covers
from crewdesk.regulations.rulebook import Rulebook
from crewdesk.units import CORNERS, PLACES, Corner, Place

SPARES: tuple[Place, ...] = ("SP1", "SP2")
EPS_MM = 1e-9


def true_tables(bundle: EventBundle, truth: Truth) -> LoopTables:
    """Return all loops of an event in the true weather."""
    itinerary = bundle.itinerary
    return build_tables(
        car=bundle.event.car,
        settings=bundle.event.settings,
        places=itinerary.change_places,
        stages={stage.ref: stage for stage in itinerary.stages},
        positions={leg.leg: leg.position for leg in bundle.event.legs},
        conditions=truth.conditions,
        size=bundle.event.car.tyre_size,
    )


@dataclass
class TrueTyre:
    """One tyre as it really is."""

    stock: StockTyre
    spec: TyreSpec
    state: TyreState
    """Shapes (1, 1, ...); temperatures at the out control ahead."""
    side: str
    """Side that its edges belong to; blank: not run yet."""
    on_hub: bool
    """Has been fitted to a hub, before or at this event."""
    worth: float
    """At the event's start. [money]"""
    flat: bool = False

    @property
    def tread_mm(self) -> tuple[float, float, float]:
        """Return the depths, inner, middle, outer."""
        inner, middle, outer = self.state.tread_mm[0, 0]
        return float(inner), float(middle), float(outer)

    @property
    def edge_share(self) -> tuple[float, float, float]:
        """Return the sharpness of the edges."""
        brake, drive, side = self.state.edge[0, 0]
        return float(brake), float(drive), float(side)

    def worth_now(self) -> float:
        """Return what it is worth now; one without a price counts for nothing. [money]."""
        if self.stock.price is None:
            return 0.0
        family = catalogue().families[self.stock.use]
        share = state_share(
            float(np.mean(self.tread_mm)),
            float(np.mean(self.edge_share)),
            tread_new_mm=self.stock.tread_new_mm,
            worthless_mm=family["tread_worthless_mm"],
            edge_value_share=family["edge_value_share"],
        )
        terms = self.stock.terms
        return float(value_now(self.stock.price, share, ever_fitted=self.on_hub, terms=terms))


@dataclass(frozen=True)
class Flat:
    """A puncture as it happened."""

    stage: str
    corner: Corner
    off: str
    on: str | None
    """The carried wheel that went on; None: there was none that fits."""
    lost_s: float


@dataclass(frozen=True)
class Driven:
    """A loop as it was driven."""

    stage_s: Mapping[str, float]
    flats: tuple[Flat, ...]
    lost_s: float
    """To punctures: every change, and once the loss of a wheel that nothing replaced."""
    below: tuple[str, ...]
    """Tyres that ended the loop under the event's least tread."""
    car: Mapping[Place, str | None]
    """What is on the car as it comes in."""


@dataclass
class Garage:
    """The tyres of a simulated day, driven by one policy."""

    bundle: EventBundle
    truth: Truth
    tables: LoopTables
    tyres: dict[str, TrueTyre] = field(init=False)
    rules: Rulebook = field(init=False)

    def __post_init__(self) -> None:
        models = models_of(self.bundle)
        self.rules = rules_of(self.bundle)
        self._loops = {loop.place.key: loop for loop in self.tables.loops}
        start = self.tables.start_air_c[None, :]
        tread_c, bulk_c = apply_map(self.tables.to_start, start, start)
        self.tyres = {}
        for stock in self.bundle.stock.tyres:
            tyre = TrueTyre(
                stock=stock,
                spec=tyre_spec(stock, model_of(stock, models)),
                state=TyreState(
                    np.array([[stock.tread_mm]], dtype=np.float64),
                    np.array([[stock.edge_share]], dtype=np.float64),
                    np.asarray(tread_c),
                    np.asarray(bulk_c),
                ),
                side=stock.side_run if stock.side_run in ("left", "right") else "",
                on_hub=not stock.new,
                worth=0.0,
            )
            tyre.worth = tyre.worth_now()
            self.tyres[stock.tyre_id] = tyre

    def copy(self) -> "Garage":
        """Return the same tyres once more, to try a loop that nobody drives."""
        other = copy(self)
        other.tyres = {tyre_id: replace(tyre) for tyre_id, tyre in self.tyres.items()}
        return other

    @property
    def money(self) -> float:
        """Return what the tyres lost in worth so far. [money].

        A puncture takes nothing off but what the tyre wore: the engine prices it in time.
        """
        return sum(tyre.worth - tyre.worth_now() for tyre in self.tyres.values())

    def drive(
        self,
        place: ChangePlace,
        fitting: Mapping[Place, str | None],
        cold_kpa: Mapping[Place, float],
    ) -> Driven:
        """Drive the loop behind a change place."""
        loop = self._loops[place.key]
        car: dict[Place, str | None] = {p: fitting.get(p) for p in PLACES}
        for where in CORNERS:
            self._onto(car[where] or "", where)
        added_kg = sum(self.tyres[t].spec.mass_kg for p in SPARES if (t := car[p]))
        stage_s: dict[str, float] = {}
        flats: list[Flat] = []
        stuck = False
        for number, (stage, table) in enumerate(zip(loop.stages, loop.tables, strict=True)):
            hazard, mu = self._through(loop, number, car, cold_kpa)
            stage_s[stage.ref] = float(stage_time_s(table, mu, added_kg)[0])
            hit = [
                corner
                for corner in range(4)
                if not self.tyres[car[CORNERS[corner]] or ""].flat
                and self.truth.punctured(stage.ref, corner, hazard[corner])
            ]
            for corner in sorted(hit, key=lambda c: self.truth.puncture_share(stage.ref, c)):
                flats.append(self._flat(stage, table, corner, car))
                stuck = stuck or flats[-1].on is None
        settings = self.bundle.event.settings
        lost_s = sum(flat.lost_s for flat in flats) + (settings.wheel_lost_s if stuck else 0.0)
        below = tuple(
            tyre.stock.tyre_id
            for corner in CORNERS
            if not (tyre := self.tyres[car[corner] or ""]).flat
            and min(tyre.tread_mm) < self._least_mm(tyre.stock) - EPS_MM
        )
        self._cool(loop, car)
        return Driven(stage_s, tuple(flats), lost_s, below, car)

    def _least_mm(self, stock: StockTyre) -> float:
        winter = self.rules.winter_tread_min_mm
        return (
            winter if stock.use == "winter" and winter is not None else self.rules.tread_min_mm
        )

    def _onto(self, tyre_id: str, corner: Corner) -> None:
        """Put a tyre on a corner; on the other side of the car it turns the other way."""
        tyre = self.tyres[tyre_id]
        side = side_of(corner)
        if tyre.side and tyre.side != side:
            tyre.state = moved_across(tyre.state)
        tyre.side = side
        tyre.on_hub = True

    def _through(
        self,
        loop: LoopTable,
        number: int,
        car: Mapping[Place, str | None],
        cold_kpa: Mapping[Place, float],
    ) -> tuple[list[float], Floats]:
        """Take four tyres through a stage; return their hazards and grips."""
        stage, table, before = loop.stages[number], loop.tables[number], loop.before[number]
        word = self.truth.ground(stage)
        hazards: list[float] = []
        grips: list[Floats] = []
        for index, corner in enumerate(CORNERS):
            tyre = self.tyres[car[corner] or ""]
            factor = (
                self.truth.compound_factor(tyre.stock, word)
                * self.truth.corner_factor(index)
                * self.truth.tyre_factor(tyre.stock.tyre_id, loop.number)
            )
            tread_c, bulk_c = apply_map(before, tyre.state.tread_c, tyre.state.bulk_c)
            done = run_stage(
                table,
                index,
                tyre.spec,
                TyreState(tyre.state.tread_mm, tyre.state.edge, tread_c, bulk_c),
                cold_kpa=cold_kpa[corner],
                set_c=loop.set_c,
                set_altitude_m=loop.place.altitude_m,
                target_kpa=loop.target_kpa,
                wear_multiplier=factor,
            )
            tyre.state = done.state
            hazards.append(float(done.hazard[0, 0]))
            grips.append(done.mu[0])
        return hazards, np.stack(grips, axis=1)

    def _flat(
        self, stage: Stage, table: StageTable, corner: int, car: dict[Place, str | None]
    ) -> Flat:
        """Change a punctured wheel for a carried one, where there is one that fits.

        The stage is run to its end on the damaged wheel; what that or the change costs is in
        the time lost.
        """
        where = CORNERS[corner]
        off = car[where] or ""
        self.tyres[off].flat = True
        fitted = {c: self.tyres[t].stock for c in CORNERS if (t := car[c])}
        able = []
        for place in SPARES:
            tyre_id = car[place]
            if tyre_id is None or self.tyres[tyre_id].flat:
                continue
            reach = spare_covers(self.tyres[tyre_id].stock, fitted, self.rules)
            if where in reach:
                able.append((len(reach), place))
        if not able:
            return Flat(stage.ref, where, off, None, 0.0)
        place = min(able)[1]
        on = car[place] or ""
        car[where], car[place] = on, off
        air = table.air_c[None, :]
        spare = self.tyres[on]
        spare.state = TyreState(spare.state.tread_mm, spare.state.edge, air, air)
        self._onto(on, where)
        left_km = stage.km * (1.0 - self.truth.puncture_share(stage.ref, corner))
        change_s = self.bundle.event.settings.wheel_change_s
        return Flat(
            stage.ref, where, off, on, min(change_s, CHANGE_S_KM[stage.surface] * left_km)
        )

    def _cool(self, loop: LoopTable, car: Mapping[Place, str | None]) -> None:
        """Bring every tyre to the out control that opens the next loop with stages."""
        driven = {car[corner] for corner in CORNERS}
        for tyre_id, tyre in self.tyres.items():
            way = loop.after if tyre_id in driven else loop.off
            tread_c, bulk_c = apply_map(way, tyre.state.tread_c, tyre.state.bulk_c)
            tyre.state = TyreState(tyre.state.tread_mm, tyre.state.edge, tread_c, bulk_c)
