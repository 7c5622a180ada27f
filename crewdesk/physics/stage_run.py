"""A tyre runs a stage: what it loses and what it gives."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from crewdesk.physics.grip import (
    EDGE_CEILING,
    FULL_DEPTH_MM,
    FULL_DRAIN_MM,
    WLF_1,
    WLF_2_K,
)
from crewdesk.physics.inflation import atmosphere_kpa
from crewdesk.physics.stage_table import StageTable
from crewdesk.physics.tyre import FAMILIES, TyreSpec, TyreState
from crewdesk.physics.wear import (
    ACROSS_PRESSURE_EDGE,
    ACROSS_PRESSURE_MIDDLE,
    ACROSS_TURNS,
    LEAST_WEIGHT,
)
from crewdesk.units import ZERO_C_IN_K

Floats = NDArray[np.float64]

LATERAL: Final = 0
BRAKE: Final = 1
DRIVE: Final = 2
"""Order of the last axis of grip."""

OUTER: Final = 2
"""The cornering edge and the outer depth stand last on their axes."""

UNSEATED_HAZARD: Final = 3.0
"""Factor on the hazard below the pressure of the bead. Tuning value of this project."""
LEAST_PRESSURE_KPA: Final = 20.0
"""A tyre is never taken as flatter than this while it runs."""
BLOCK_ROWS: Final = 1024
"""Paths run at once, so that what a block needs stays near the processor."""


@dataclass(frozen=True)
class StageRun:
    """What a stage does to P tyres in S scenarios, and what they give.

    Parameters
    ----------
    state : TyreState
        After the stage.
    mu : numpy.ndarray, shape (P, S, 3)
        Grip in cornering, braking, driving (`LATERAL`, `BRAKE`, `DRIVE`).
    hazard : numpy.ndarray, shape (P, S)
        Expected punctures on the stage.
    loss_mm : numpy.ndarray, shape (P, S)
        Mean depth lost. [mm]
    peak_tread_c, tread_mean_c : numpy.ndarray, shape (P, S)
        Highest and mean tread temperature. [°C]
    p_hot_kpa : numpy.ndarray, shape (P, S)
        Gauge pressure at the stop line. [kPa]
    """

    state: TyreState
    mu: Floats
    hazard: Floats
    loss_mm: Floats
    peak_tread_c: Floats
    tread_mean_c: Floats
    p_hot_kpa: Floats


def run_stage(
    table: StageTable,
    corner: int,
    spec: TyreSpec,
    state: TyreState,
    *,
    cold_kpa: float,
    set_c: float,
    set_altitude_m: float,
    target_kpa: float,
    wear_multiplier: ArrayLike = 1.0,
) -> StageRun:
    r"""Run tyres of one kind through a stage on one corner.

    Parameters
    ----------
    table : StageTable
        Stage.
    corner : int
        0 to 3 for FL FR RL RR.
    spec : TyreSpec
        What the tyres are.
    state : TyreState
        How they come to the start, shapes (P, S, ...).
    cold_kpa, set_c, set_altitude_m : float
        Gauge pressure as set, gas temperature and altitude there. [kPa], [°C], [m]
    target_kpa : float
        Hot gauge pressure aimed at. [kPa]
    wear_multiplier : array_like, default 1
        Learnt factor on wear, broadcast against (P, S).

    Returns
    -------
    StageRun
        Arrays of shape (P, S) and (P, S, 3).

    Raises
    ------
    ValueError
        If the corner is not 0 to 3, a pressure is not positive or a state does not fit
        the scenarios.

    Notes
    -----
    Grip takes depth and edges as at the start, and the mean of the temperature factor
    over three slices; wear takes the mean of its own factor over them. The formulas are
    those of `wear`, `edges`, `grip`, `inflation`, written out here so that a whole
    batch needs few passes over memory.

    A tyre off its own ground has the surface's factors for its family: gravel tyre on
    asphalt, asphalt tyre on gravel or snow, dry pattern in water, rain tyre on a dry
    road. Studs likewise.

    References
    ----------
    .. [1] Tuning values of this project; sources stand at each part's own function.
    """
    if corner not in range(4):
        raise ValueError(f"a corner is 0 to 3, not {corner}")
    if target_kpa <= 0.0 or cold_kpa <= 0.0:
        raise ValueError("pressures must be positive")
    if state.tread_c.shape[-1] not in {1, table.n_scenarios}:
        raise ValueError("the state of the tyres does not fit the scenarios of the stage")
    inside = cold_kpa + float(atmosphere_kpa(set_altitude_m))
    pressure = _Pressure(inside / (set_c + ZERO_C_IN_K), target_kpa)
    multiplier = np.atleast_2d(np.asarray(wear_multiplier, dtype=np.float64))
    shape = np.broadcast_shapes(
        state.tread_mm.shape[:-1],
        state.edge.shape[:-1],
        state.tread_c.shape,
        state.bulk_c.shape,
        multiplier.shape,
        (1, table.n_scenarios),
    )
    if shape[0] <= BLOCK_ROWS:
        return _run_block(table, corner, spec, state, pressure, multiplier, shape)
    full = _blank(shape)
    for first in range(0, shape[0], BLOCK_ROWS):
        rows = slice(first, min(first + BLOCK_ROWS, shape[0]))
        part = _run_block(
            table,
            corner,
            spec,
            TyreState(*(_rows(a, rows) for a in _arrays(state))),
            pressure,
            _rows(multiplier, rows),
            (rows.stop - rows.start, shape[1]),
        )
        for whole, piece in zip(_outputs(full), _outputs(part), strict=True):
            whole[rows] = piece
    return full


@dataclass(frozen=True)
class _Pressure:
    """Absolute pressure over absolute temperature as set [kPa/K], hot gauge target [kPa]."""

    inside_kpa_k: float
    target_kpa: float


def _arrays(state: TyreState) -> tuple[Floats, ...]:
    """Return the arrays of a state in the order of its fields."""
    return (state.tread_mm, state.edge, state.tread_c, state.bulk_c)


def _outputs(run: StageRun) -> tuple[Floats, ...]:
    """Return every array of a run, those of its state first."""
    return (
        *_arrays(run.state),
        run.mu,
        run.hazard,
        run.loss_mm,
        run.peak_tread_c,
        run.tread_mean_c,
        run.p_hot_kpa,
    )


def _rows(values: Floats, rows: slice) -> Floats:
    """Return some rows, or the only one."""
    return values if values.shape[0] == 1 else values[rows]


def _full(values: Floats, shape: tuple[int, ...]) -> Floats:
    """Return values in the shape of the block."""
    return values if values.shape == shape else np.broadcast_to(values, shape)


def _blank(shape: tuple[int, ...]) -> StageRun:
    """Return a run whose arrays are still to be filled."""
    deep = (*shape, 3)
    return StageRun(
        state=TyreState(np.empty(deep), np.empty(deep), np.empty(shape), np.empty(shape)),
        mu=np.empty(deep),
        hazard=np.empty(shape),
        loss_mm=np.empty(shape),
        peak_tread_c=np.empty(shape),
        tread_mean_c=np.empty(shape),
        p_hot_kpa=np.empty(shape),
    )


def _run_block(
    table: StageTable,
    corner: int,
    spec: TyreSpec,
    state: TyreState,
    pressure: _Pressure,
    multiplier: Floats,
    shape: tuple[int, ...],
) -> StageRun:
    """Run a block of paths, small enough that its arrays stay near the processor."""
    compound = spec.compound
    family = FAMILIES.index(compound.family)

    warm_sum, wear_sum, mean_c, peak_c, end_c = _through(table, corner, spec, state)
    bulk_c = table.bulk_from_tread * state.tread_c
    bulk_c += table.bulk_from_bulk * state.bulk_c
    bulk_c += table.bulk_offset[corner]

    p_hot = bulk_c + ZERO_C_IN_K
    p_hot *= pressure.inside_kpa_k
    p_hot -= table.air_kpa
    np.maximum(p_hot, LEAST_PRESSURE_KPA, out=p_hot)

    worn = table.rubber_work_j[corner] * table.family_wear[family]
    if spec.studded:
        worn = worn * table.stud_wear
    loss = wear_sum
    loss *= worn * (compound.k_c_mm3_j / (3.0 * spec.land_mm2))
    loss = loss * multiplier

    before = state.tread_mm
    weights = _weights(table, corner, p_hot / pressure.target_kpa - 1.0)
    tread = np.empty((*shape, 3))
    for z, weight in enumerate(weights):
        np.maximum(before[..., z] - loss * weight, 0.0, out=tread[..., z])

    rate = table.psi * (-1.0 / spec.edge_length_mm)
    edge = np.empty((*shape, 3))
    for e in range(3):
        down = loss * (rate * table.edge_load[corner, e])
        if e == OUTER:
            down *= weights[2]
        np.exp(down, out=down)
        np.multiply(state.edge[..., e], down, out=edge[..., e])

    mean_mm = (before[..., 0] + before[..., 1] + before[..., 2]) / 3.0
    return StageRun(
        state=TyreState(
            tread_mm=tread,
            edge=edge,
            tread_c=_full(end_c, shape),
            bulk_c=_full(bulk_c, shape),
        ),
        mu=_grip(table, spec, family, state, mean_mm, warm_sum, shape),
        hazard=_hazard(table, corner, spec, mean_mm, p_hot, pressure.target_kpa, shape),
        loss_mm=_full(loss, shape),
        peak_tread_c=_full(peak_c, shape),
        tread_mean_c=_full(mean_c, shape),
        p_hot_kpa=_full(p_hot, shape),
    )


def _through(
    table: StageTable, corner: int, spec: TyreSpec, state: TyreState
) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """Return sums of grip and wear factor over the slices; mean, peak and end of T_t."""
    compound = spec.compound
    far = WLF_2_K - compound.tg_c
    best = 1.0 / (far + compound.t_opt_c)
    scale = WLF_1 * WLF_2_K / compound.beta_c
    at: list[Floats] = []
    for moment in range(4):
        tread_c = table.tread_from_tread[moment] * state.tread_c
        tread_c += table.tread_from_bulk[moment] * state.bulk_c
        tread_c += table.tread_offset[corner, moment]
        at.append(tread_c)
    warm_sum = np.zeros_like(at[0])
    wear_sum = np.zeros_like(at[0])
    for tread_c in at[:3]:
        # x / beta = scale * (1 / (T + far) - 1 / (T_opt + far)), the same as the
        # difference of two shifts with one division.
        x = np.maximum(tread_c, compound.tg_c + 5.0)
        x += far
        np.divide(scale, x, out=x)
        x -= scale * best
        x *= x
        np.negative(x, out=x)
        np.exp(x, out=x)
        warm_sum += x
        # Inside the window both terms are 0; at most one of them is not.
        hot = tread_c - compound.t_hi_c
        hot *= compound.a_hot / 10.0
        cold = compound.t_lo_c - tread_c
        cold *= compound.a_cold / 10.0
        np.maximum(hot, cold, out=hot)
        np.maximum(hot, 0.0, out=hot)
        np.exp(hot, out=hot)
        wear_sum += hot
    mean_c = at[0] + at[1]
    mean_c += at[2]
    mean_c *= 1.0 / 3.0
    peak_c = np.maximum(at[0], at[1])
    np.maximum(peak_c, at[2], out=peak_c)
    np.maximum(peak_c, at[3], out=peak_c)
    return warm_sum, wear_sum, mean_c, peak_c, at[3]


def _weights(table: StageTable, corner: int, error: Floats) -> tuple[Floats, Floats, Floats]:
    """Return the wear weights of inner, middle and outer, as `wear.width_weights`."""
    shift = ACROSS_TURNS * table.asymmetry[corner] - table.camber_shift[corner]
    edge = ACROSS_PRESSURE_EDGE * error
    inner = (1.0 - shift) - edge
    outer = (1.0 + shift) - edge
    middle = 1.0 + ACROSS_PRESSURE_MIDDLE * error
    least = min(float(inner.min()), float(outer.min()), float(middle.min()))
    if least < LEAST_WEIGHT:
        for weight in (inner, middle, outer):
            np.maximum(weight, LEAST_WEIGHT, out=weight)
        total = (inner + middle + outer) / 3.0
        for weight in (inner, middle, outer):
            weight /= total
    return inner, middle, outer


def _grip(
    table: StageTable,
    spec: TyreSpec,
    family: int,
    state: TyreState,
    mean_mm: Floats,
    warm_sum: Floats,
    shape: tuple[int, ...],
) -> Floats:
    """Return grip by mode."""
    base = table.mu * table.family_grip[family] * (spec.compound.mu_peak / 3.0)
    if spec.studded:
        base = base * table.stud_grip
    grip = warm_sum * base
    if table.ed.any():
        lost = np.maximum(0.0, 1.0 - mean_mm / FULL_DEPTH_MM)
        grip = grip * (1.0 - table.ed * lost)
    if table.drain.any():
        least = np.minimum(state.tread_mm[..., 0], state.tread_mm[..., 1])
        least = np.minimum(least, state.tread_mm[..., 2])
        grip = grip * (1.0 - table.drain * np.maximum(0.0, 1.0 - least / FULL_DRAIN_MM))
    mu = np.empty((*shape, 3))
    side = spec.edge_side * table.shoulder if spec.shoulder_rounded else spec.edge_side
    for mode, e, pattern in (
        (LATERAL, OUTER, side),
        (BRAKE, 0, spec.edge_brake),
        (DRIVE, 1, spec.edge_drive),
    ):
        stands = np.minimum(state.edge[..., e] * pattern, EDGE_CEILING)
        stands = stands * table.ee
        stands += 1.0 - table.ee
        np.multiply(grip, stands, out=mu[..., mode])
    return mu


def _hazard(
    table: StageTable,
    corner: int,
    spec: TyreSpec,
    mean_mm: Floats,
    p_hot: Floats,
    target_kpa: float,
    shape: tuple[int, ...],
) -> Floats:
    """Return the expected punctures, as `puncture.hazard_1_km` times the length."""
    hazard = np.maximum(0.0, 1.0 - mean_mm / spec.tread_new_mm)
    np.exp(hazard, out=hazard)
    thin = target_kpa / p_hot
    thin *= thin
    thin *= table.hazard[corner] * (spec.casing * spec.compound.cut)
    unseated = p_hot < spec.bead_min_kpa
    if unseated.any():
        thin[unseated] *= UNSEATED_HAZARD
    return _full(hazard * thin, shape)
