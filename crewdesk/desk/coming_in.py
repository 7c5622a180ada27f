"""The car as it will come in: a call is made while the loop before it is still being driven."""

from dataclasses import replace

import numpy as np

from crewdesk.conditions.moments import Conditions
from crewdesk.desk.estimate import History, side_of
from crewdesk.desk.state import DayState, Run
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.itinerary import ChangePlace
from crewdesk.engine.tables import road_and_wait
from crewdesk.physics.heat import apply_map, standing_map

LONG_STOP_S = 6 * 3600.0
"""After this long a tyre is taken to be at air temperature. Common practice, no source."""


def stages_to_come(bundle: EventBundle, state: DayState, place: ChangePlace) -> tuple[str, ...]:
    """Return the stages that the car still runs on what is on it before it comes to a place."""
    if state.fitted is None:
        return ()
    places = bundle.itinerary.change_places
    fitted = next((p for p in places if p.key == state.fitted.place), None)
    if fitted is None or fitted.loop >= place.loop:
        return ()
    gone = {*state.stages_run, *state.cancelled}
    return tuple(ref for ref in fitted.stages if ref not in gone)


def as_it_comes_in(bundle: EventBundle, state: DayState, place: ChangePlace) -> DayState:
    """Return the state with the stages still to come run by the tyres on their corners.

    What a spare will have replaced by then nobody knows; the call is worked out again when
    the car is in.
    """
    coming = stages_to_come(bundle, state, place)
    if not coming:
        return state
    runs = {ref: bundle.itinerary.stage(ref).km for ref in coming}
    tyres = {
        tyre_id: replace(
            tyre,
            runs=(*tyre.runs, *(Run(ref, tyre.place, km) for ref, km in runs.items())),
        )
        if side_of(tyre.place)
        else tyre
        for tyre_id, tyre in state.tyres.items()
    }
    return replace(state, tyres=tyres)


def warmth_c(
    bundle: EventBundle,
    history: History,
    place: ChangePlace,
    conditions: Conditions,
    *,
    on_car: bool,
) -> tuple[float, float] | None:
    """Return tread and bulk temperature of a tyre at a place's IN [°C]; None: at air's.

    A tyre on the car drives home from its last stage and then stands, one off it has cooled
    where it lay.
    """
    if history.ended is None:
        return None
    seconds = (place.due_in_utc - history.ended).total_seconds()
    if not 0.0 <= seconds <= LONG_STOP_S:
        return None
    column = conditions.index(place.key)
    air_c = conditions.air_mean_c[column : column + 1]
    road_c = conditions.road_mean_c[column : column + 1]
    if on_car:
        km = _liaison_home_km(bundle, place)
        way = road_and_wait(bundle.event.car, km, seconds, air_c, road_c)
    else:
        way = standing_map(air_c, seconds)
    tread_c, bulk_c = apply_map(
        way, np.array([[history.tread_c]]), np.array([[history.bulk_c]])
    )
    return float(tread_c[0, 0]), float(bulk_c[0, 0])


def _liaison_home_km(bundle: EventBundle, place: ChangePlace) -> float:
    """Return the road kilometres between the last stage before a place and its IN."""
    km = 0.0
    for row in bundle.itinerary.rows:
        if row.kind == "stage":
            km = 0.0
        elif row.liaison_km is not None:
            km += row.liaison_km
        if row.ref == place.in_ref:
            return km
    return 0.0
