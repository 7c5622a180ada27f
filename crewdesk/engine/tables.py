"""Every loop worked out once: stages, heat on the way, pressures, what a wheel change costs."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from crewdesk.conditions.moments import STATES, Conditions
from crewdesk.documents.event import Car, Settings
from crewdesk.documents.itinerary import ChangePlace, Stage
from crewdesk.engine.pressures import cold_settings
from crewdesk.engine.specs import LOOSE_SIZE_M, car_params, catalogue, known_size_m
from crewdesk.physics.heat import (
    AffineMap,
    quarter_weight_n,
    road_map,
    standing_map,
    then,
)
from crewdesk.physics.puncture import loop_change_s, mean_change_s
from crewdesk.physics.stage import StageTable, stage_table
from crewdesk.physics.surface import StageSurface, mixed_stage, stage_surface

Floats = NDArray[np.float64]

ROAD_KMH = 45.0
"""Mean speed on the road where the times do not tell. Common practice, no source."""
ROAD_KMH_RANGE = (30.0, 75.0)
"""Speeds that printed times may imply on a road section; outside, ROAD_KMH holds."""
WAIT_S = 180.0
"""From the control to the start of the stage. Common practice, no source."""
LONG_STOP_S = 6 * 3600.0
"""After a stop as long as this a tyre is at air temperature."""
CHANGE_S_KM = {"gravel": 20.0, "asphalt": 16.0, "snow": 20.0, "ice": 20.0}
"""Loss of driving on without air, by surface. Common practice, no source. [s/km]"""


@dataclass(frozen=True)
class LoopTable:
    """A loop with stages."""

    number: int
    """As the itinerary counts it."""
    place_index: int
    """Among ``Problem.places``."""
    place: ChangePlace
    stages: tuple[Stage, ...]
    tables: tuple[StageTable, ...]
    before: tuple[AffineMap, ...]
    """Road and waiting from the change place, or the stage before, to each start."""
    after: AffineMap
    """From the last stop line to the out control that opens the next loop with stages."""
    off: AffineMap
    """The same for a tyre that is not on the car, from this loop's out control on."""
    cold_kpa: tuple[float, float]
    """Front, rear."""
    floor_binds: tuple[bool, bool]
    target_kpa: float
    set_c: float
    change_s: float
    """Cost of a wheel change, mean over where a puncture may happen. [s]"""


@dataclass(frozen=True)
class LoopTables:
    """All loops still to run."""

    loops: tuple[LoopTable, ...]
    to_start: AffineMap
    """From decision time to the out control of the first loop with stages."""
    start_air_c: Floats
    """(S,), air at the first change place."""
    n_scenarios: int


def mean_conditions(conditions: Conditions) -> Conditions:
    """Return the best estimate as conditions with one scenario."""
    likely = [
        STATES.index(max(sorted(shares), key=lambda word: shares[word])) if shares else 0
        for shares in conditions.state_shares
    ]
    return replace(
        conditions,
        air_c=conditions.air_mean_c[None, :].copy(),
        road_c=conditions.road_mean_c[None, :].copy(),
        state=np.array([likely], dtype=np.int64),
        air_sd_c=np.zeros_like(conditions.air_sd_c),
        road_sd_c=np.zeros_like(conditions.road_sd_c),
        rain_mm_h=conditions.rain_mm_h.mean(axis=0, keepdims=True),
    )


def build_stage(
    car: Car,
    settings: Settings,
    stage: Stage,
    *,
    air_c: Floats,
    road_c: Floats,
    state: NDArray[np.int64],
    cars_ahead: int,
    width_m: float,
    diameter_m: float,
    parts: Sequence[tuple[NDArray[np.int64], float]] = (),
) -> StageTable:
    """Return the table of one stage in its conditions.

    Parameters
    ----------
    car, settings, stage
        Documents.
    air_c, road_c : numpy.ndarray, shape (S,)
        At the start. [°C]
    state : numpy.ndarray of int, shape (S,)
        Index into ``STATES``.
    cars_ahead : int
        That sweep the road.
    width_m, diameter_m : float
        Of the size the car runs. [m]
    parts : sequence of (numpy.ndarray of int, shape (S,), float)
        Parts with a state of their own: index into ``STATES`` and share of the length.

    Returns
    -------
    StageTable
        The table.

    Notes
    -----
    One surface for every state that occurs; parts are blended by their lengths.

    References
    ----------
    .. [1] `physics.surface`.
    """

    def surface(index: int) -> StageSurface:
        return stage_surface(
            stage.surface,
            STATES[index],
            stage.roughness,
            stage.abrasion,
            stage.pass_no,
            cars_ahead,
            False,
            stage.gravel_share,
            stage.broken,
            stage.holds_water,
            classes=catalogue().surfaces,
        )

    shares = [max(0.0, 1.0 - sum(share for _, share in parts)), *(share for _, share in parts)]
    together = np.stack([state, *(of_part for of_part, _ in parts)], axis=-1)
    found, of = np.unique(together, axis=0, return_inverse=True)
    surfaces = [
        mixed_stage([(surface(int(i)), s) for i, s in zip(row, shares, strict=True) if s > 0.0])
        for row in found
    ]
    return stage_table(
        car_params(car),
        km=stage.km,
        avg_kmh=stage.avg_kmh,
        twist=stage.twist,
        right_share=stage.right_share,
        cuts=stage.cuts,
        aggressiveness=settings.aggressiveness,
        surfaces=surfaces,
        surface_of=of.reshape(-1),
        air_c=air_c,
        road_c=road_c,
        altitude_m=stage.altitude_m,
        camber_deg=_camber(car, stage.surface),
        tyre_width_m=width_m,
        tyre_diameter_m=diameter_m,
    )


_CAMBER = {"gravel": (-1.0, -1.0), "asphalt": (-3.5, -2.0)}
"""Front and rear where the car does not say. Common practice, no source."""


def _camber(car: Car, surface: str) -> tuple[float, float]:
    """Return the camber of front and rear on a surface."""
    usual = _CAMBER.get(surface, _CAMBER["gravel"])
    front = car.camber_front_deg.get(surface, usual[0])
    rear = car.camber_rear_deg.get(surface, usual[1])
    return front, rear


def road_and_wait(
    car: Car, km: float, seconds: float, air_c: Floats, road_c: Floats
) -> AffineMap:
    """Return what a road section and the rest of its time do to a tyre.

    Parameters
    ----------
    car : Car
        Car.
    km : float
        Length of the section. [km]
    seconds : float
        From the stop line, or the out control, to the next start. [s]
    air_c, road_c : numpy.ndarray, shape (S,)
        Of the next stage. [°C]

    Returns
    -------
    AffineMap
        Road first, then standing.

    Notes
    -----
    Speed is length over time less the wait at the control; where that is no speed for a
    road section, 45 km/h.

    References
    ----------
    .. [1] Common practice, no source.
    """
    moving_s = max(seconds - WAIT_S, 1.0)
    kmh = km / moving_s * 3600.0
    if not ROAD_KMH_RANGE[0] <= kmh <= ROAD_KMH_RANGE[1]:
        kmh = ROAD_KMH
    standing_s = max(seconds - km / kmh * 3600.0, 0.0)
    wait = standing_map(air_c, standing_s)
    if km <= 0.0:
        return wait
    road = road_map(air_c, road_c, km=km, kmh=kmh, fz_n=quarter_weight_n(car.mass_kg))
    return then(road, wait)


def at_air(air_c: Floats) -> AffineMap:
    """Return the map that leaves a tyre at air temperature."""
    offset = np.stack([air_c, air_c], axis=-1)
    return AffineMap(np.zeros((air_c.size, 2, 2)), offset)


def _standing(air_c: Floats, start: datetime, end: datetime) -> AffineMap:
    """Return the map of lying about between two moments."""
    seconds = max((end - start).total_seconds(), 0.0)
    return at_air(air_c) if seconds > LONG_STOP_S else standing_map(air_c, seconds)


def build_tables(
    *,
    car: Car,
    settings: Settings,
    places: Sequence[ChangePlace],
    stages: Mapping[str, Stage],
    positions: Mapping[int, int],
    conditions: Conditions,
    size: str = "",
    floor_kpa: float | None = None,
    least_kpa: float | None = None,
) -> LoopTables:
    """Return all loops of some change places, worked out.

    Parameters
    ----------
    car, settings
        Documents.
    places : sequence of ChangePlace
        In order of time.
    stages : mapping of str to Stage
        By reference.
    positions : mapping of int to int
        Our position on the road by leg.
    conditions : Conditions
        One column for every stage and every place.
    size : str
        Size mark of the tyres; blank: the car's.
    floor_kpa : float, optional
        Least cold pressure of the makers. [kPa]
    least_kpa : float, optional
        The event's own, beside it. [kPa]

    Returns
    -------
    LoopTables
        Loops with stages only; the time of the others is in the heat maps.

    Raises
    ------
    ValueError
        If conditions miss a stage or a place.

    Notes
    -----
    Road sections follow from the due times. From the last stop line the car drives to the
    next change place over the length of the section before its first stage.

    References
    ----------
    .. [1] `physics.heat`, `physics.inflation`.
    """
    width_m, diameter_m = known_size_m(size or car.tyre_size) or LOOSE_SIZE_M
    busy = [i for i, place in enumerate(places) if place.stages]
    first_air = _column(conditions, places[0].key, conditions.air_c) if places else np.zeros(1)
    loops: list[LoopTable] = []
    for n, i in enumerate(busy):
        place = places[i]
        own = tuple(stages[ref] for ref in place.stages)
        tables, before = [], []
        clock = place.due_out_utc
        for stage in own:
            air_c = _column(conditions, stage.ref, conditions.air_c)
            road_c = _column(conditions, stage.ref, conditions.road_c)
            table = build_stage(
                car,
                settings,
                stage,
                air_c=air_c,
                road_c=road_c,
                state=np.asarray(conditions.state[:, conditions.index(stage.ref)]),
                parts=conditions.part_states(stage.ref),
                cars_ahead=max(positions.get(stage.leg, 1) - 1, 0),
                width_m=width_m,
                diameter_m=diameter_m,
            )
            seconds = (stage.due_utc - clock).total_seconds()
            before.append(road_and_wait(car, stage.liaison_before_km, seconds, air_c, road_c))
            tables.append(table)
            clock = stage.due_utc + timedelta(seconds=float(table.time_s.mean()))
        later = busy[n + 1] if n + 1 < len(busy) else None
        loops.append(
            _loop(
                car,
                settings,
                places,
                i,
                later,
                own,
                tuple(tables),
                tuple(before),
                clock,
                conditions,
                floor_kpa,
                least_kpa,
            )
        )
    to_start = at_air(first_air)
    if busy:
        opening = places[busy[0]]
        air_c = _column(conditions, opening.key, conditions.air_c)
        to_start = _standing(air_c, places[0].due_in_utc, opening.due_out_utc)
    return LoopTables(tuple(loops), to_start, first_air, int(first_air.size))


def _column(conditions: Conditions, key: str, values: Floats) -> Floats:
    """Return a column of the conditions."""
    if key not in conditions.keys:
        raise ValueError(f"conditions miss {key}")
    return np.ascontiguousarray(values[:, conditions.index(key)])


def _loop(
    car: Car,
    settings: Settings,
    places: Sequence[ChangePlace],
    index: int,
    later: int | None,
    own: tuple[Stage, ...],
    tables: tuple[StageTable, ...],
    before: tuple[AffineMap, ...],
    last_stop: datetime,
    conditions: Conditions,
    floor_kpa: float | None,
    least_kpa: float | None,
) -> LoopTable:
    """Return one loop."""
    place = places[index]
    here = _column(conditions, place.key, conditions.air_c)
    if later is None:
        after = off = standing_map(here, 0.0)
    else:
        there = _column(conditions, places[later].key, conditions.air_c)
        out = places[later].due_out_utc
        off = _standing(there, place.due_out_utc, out)
        if (out - last_stop).total_seconds() > LONG_STOP_S:
            after = at_air(there)
        else:
            road_c = tables[-1].road_c
            to_place = road_and_wait(
                car,
                own[0].liaison_before_km,
                (places[index + 1].due_in_utc - last_stop).total_seconds(),
                there,
                road_c,
            )
            after = then(to_place, _standing(there, places[index + 1].due_in_utc, out))
    set_c = float(conditions.air_mean_c[conditions.index(place.key)])
    cold, binds, target = cold_settings(
        place, own, tables, before, here, set_c=set_c, floor_kpa=floor_kpa, least_kpa=least_kpa
    )
    costs = [
        float(mean_change_s(s.km, settings.wheel_change_s, CHANGE_S_KM[s.surface])) for s in own
    ]
    change_s = float(loop_change_s([float(t.hazard.mean()) for t in tables], costs))
    return LoopTable(
        number=place.loop,
        place_index=index,
        place=place,
        stages=own,
        tables=tables,
        before=before,
        after=after,
        off=off,
        cold_kpa=cold,
        floor_binds=binds,
        target_kpa=target,
        set_c=set_c,
        change_s=change_s,
    )
