"""The cold pressures of a loop, from the hot pressure wanted at its stop line."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from crewdesk.documents.itinerary import ChangePlace, Stage
from crewdesk.physics.heat import AffineMap, apply_map
from crewdesk.physics.inflation import (
    FLOOR_KPA,
    HOT_TARGET_KPA,
    atmosphere_kpa,
    cold_pressure_kpa,
    cold_setting_kpa,
    pressure_kind,
)
from crewdesk.physics.stage import StageTable
from crewdesk.physics.surface import stage_roughness

Floats = NDArray[np.float64]


def cold_settings(
    place: ChangePlace,
    stages: Sequence[Stage],
    tables: Sequence[StageTable],
    before: Sequence[AffineMap],
    air_c: Floats,
    *,
    set_c: float,
    floor_kpa: float | None,
    least_kpa: float | None = None,
) -> tuple[tuple[float, float], tuple[bool, bool], float]:
    """Return the cold pressures of front and rear, where the floor binds, the hot target.

    Parameters
    ----------
    place : ChangePlace
        Where they are set.
    stages, tables, before : sequences
        Of the loop.
    air_c : numpy.ndarray, shape (S,)
        Air at the place. [°C]
    set_c : float
        Its mean. [°C]
    floor_kpa : float, optional
        Least pressure of the makers. [kPa]
    least_kpa : float, optional
        The event's own least, in force beside it. [kPa]

    Returns
    -------
    tuple
        (front, rear) [kPa], (binds, binds), target [kPa].

    Notes
    -----
    For the stop line of the longest stage and a tyre that starts the loop at air
    temperature; the mean over scenarios and over left and right.

    References
    ----------
    .. [1] Hot targets: common practice, no source.
    """
    longest = max(range(len(stages)), key=lambda k: (stages[k].km, -k))
    tread = np.repeat(air_c[None, :], 4, axis=0)
    bulk = tread.copy()
    for k in range(longest + 1):
        tread, bulk = apply_map(before[k], tread, bulk)
        tread, bulk = _through_stage(tables[k], tread, bulk)
    stage = stages[longest]
    rough = stage_roughness(stage.surface, stage.roughness, stage.pass_no, broken=stage.broken)
    kind = pressure_kind(stage.surface, rough)
    target = HOT_TARGET_KPA[kind]
    floor = FLOOR_KPA[kind] if floor_kpa is None else floor_kpa
    floor = max(floor, least_kpa or 0.0)
    cold, binds = [], []
    for axle in (slice(0, 2), slice(2, 4)):
        wanted = cold_pressure_kpa(
            target,
            set_c,
            float(bulk[axle].mean()),
            float(atmosphere_kpa(place.altitude_m)),
            tables[longest].air_kpa,
        )
        value, bound = cold_setting_kpa(float(wanted), floor)
        cold.append(value)
        binds.append(bound)
    return (cold[0], cold[1]), (binds[0], binds[1]), target


def _through_stage(table: StageTable, tread_c: Floats, bulk_c: Floats) -> tuple[Floats, Floats]:
    """Return temperatures at the stop line, four corners by scenarios."""
    tread = (
        table.tread_from_tread[3] * tread_c
        + table.tread_from_bulk[3] * bulk_c
        + table.tread_offset[:, 3]
    )
    bulk = table.bulk_from_tread * tread_c + table.bulk_from_bulk * bulk_c + table.bulk_offset
    return tread, bulk
