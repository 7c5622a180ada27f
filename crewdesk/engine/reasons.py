"""Why the call beats the next best, in seconds by cause."""

import numpy as np
from numpy.typing import NDArray

from crewdesk.engine.course import Course
from crewdesk.engine.evaluate import Evaluated, Evaluator, Fit
from crewdesk.engine.groups import is_left
from crewdesk.engine.result import Reason
from crewdesk.engine.tree import turned
from crewdesk.physics.grip import depth_factor, drain_factor, edge_factor
from crewdesk.physics.stage import (
    BRAKE,
    DRIVE,
    LATERAL,
    StageTable,
    mode_grips,
    stage_time_s,
)

Floats = NDArray[np.float64]


def reasons(
    evaluator: Evaluator,
    call: tuple[list[Fit], Evaluated],
    rival: tuple[list[Fit], Evaluated],
) -> tuple[Reason, ...]:
    """Return the causes of the difference between two plans.

    Parameters
    ----------
    evaluator : Evaluator
        Costs both.
    call, rival : tuple
        Fittings of the loops with stages, and their cost.

    Returns
    -------
    tuple of Reason
        Positive seconds speak for the call; together they are its whole lead.

    Notes
    -----
    In the next loop the tyres of the rival are exchanged for those of the call factor by
    factor: temperature, then depth and edges; balance is what uneven axles and sides
    cost on top; then the spares' mass. Later loops count as a whole.

    References
    ----------
    .. [1] Telescoping sum.
    """
    course = evaluator.course
    fits_a, cost_a = call
    fits_b, cost_b = rival
    warm_a, worn_a = _factors(evaluator, fits_a)
    warm_b, worn_b = _factors(evaluator, fits_b)
    mass_a, mass_b = _mass(course, fits_a[0]), _mass(course, fits_b[0])
    level = [
        _time(course, warm * worn, mass_b, even=True)
        for warm, worn in ((warm_b, worn_b), (warm_a, worn_b), (warm_a, worn_a))
    ]
    real_b = _time(course, warm_b * worn_b, mass_b, even=False)
    real_ab = _time(course, warm_a * worn_a, mass_b, even=False)
    real_a = _time(course, warm_a * worn_a, mass_a, even=False)
    objective_a, objective_b = cost_a.objective, cost_b.objective

    def loop_cost(cost: Evaluated, loop: int | None) -> float:
        where = slice(1, None) if loop is None else slice(loop, loop + 1)
        punctures = cost.punctures_s[where].sum(axis=0).mean() + cost.risk_s[where].sum()
        later = cost.time_s[where].sum(axis=0).mean() if loop is None else 0.0
        return float(punctures + later)

    parts = {
        "temperature": level[0] - level[1],
        "wear": level[1] - level[2],
        "balance": (real_b - level[0]) - (real_ab - level[2]),
        "spare_mass": real_ab - real_a,
        "punctures": loop_cost(cost_b, 0) - loop_cost(cost_a, 0),
        "money": objective_b.money_s - objective_a.money_s,
        "later_loops": loop_cost(cost_b, None)
        - loop_cost(cost_a, None)
        + objective_b.beyond_s
        - objective_a.beyond_s,
        "worst_tenth": objective_b.worst_tenth_s - objective_a.worst_tenth_s,
    }
    return tuple(Reason(kind, float(seconds)) for kind, seconds in parts.items())


def _mass(course: Course, fit: Fit) -> float:
    """Return the mass of the spares. [kg]."""
    return sum(course.spec(course.lineup.tyres[t]).mass_kg for t in fit[4:] if t >= 0)


def _factors(evaluator: Evaluator, fits: list[Fit]) -> tuple[Floats, Floats]:
    """Return grips (K, S, 4, 3) of the first loop as temperature times wear."""
    course = evaluator.course
    table = course.tables.loops[0]
    warm, worn = [], []
    for corner in range(4):
        tyre = fits[0][corner]
        spec = course.spec(course.lineup.tyres[tyre])
        steps = evaluator.path(tyre, fits)[:1]
        step = evaluator.step(tyre, steps)
        state, side = evaluator.state(tyre, ())
        wanted = 0 if is_left(corner) else 1
        state = turned(state, np.array([side == 1 - wanted]))
        tread, edge = state.tread_mm, state.edge
        factors = []
        for k, stage in enumerate(table.tables):
            depth = depth_factor(tread.mean(axis=2), stage.ed)
            depth = depth * drain_factor(tread.min(axis=2), stage.drain)
            rows = np.empty((*depth.shape, 3))
            shoulder = stage.shoulder if spec.shoulder_rounded else 1.0
            for mode, e, pattern in (
                (LATERAL, 2, spec.edge_side * shoulder),
                (BRAKE, 0, spec.edge_brake),
                (DRIVE, 1, spec.edge_drive),
            ):
                rows[..., mode] = depth * edge_factor(edge[..., e], stage.ee, pattern)
            factors.append(rows[0])
            tread, edge = step.stages[k].state.tread_mm, step.stages[k].state.edge
        wear = np.stack(np.broadcast_arrays(*factors))
        wear = np.broadcast_to(wear, step.run.mu[0].shape)
        worn.append(wear)
        warm.append(step.run.mu[0] / wear)
    return np.stack(warm, axis=2), np.stack(worn, axis=2)


def _time(course: Course, mu: Floats, added_kg: float, *, even: bool) -> float:
    """Return the mean time of the first loop, with or without the cost of unevenness. [s]."""
    total = 0.0
    for k, table in enumerate(course.tables.loops[0].tables):
        time = stage_time_s(table, mu[k], added_kg)
        if even:
            log = np.log(_even_grips(table, mu[k]) / mode_grips(table, mu[k]))
            time = time * np.exp(-np.einsum("sm,sm->s", log, _shares(table)))
        total += float(time.mean())
    return total


def _shares(table: StageTable) -> Floats:
    """Return how much each mode counts, times the exponent of grip, shape (S, 4)."""
    answer = table.response
    side = answer.exponent * answer.side_share
    return np.stack(
        [
            side * table.right_share,
            side * (1.0 - table.right_share),
            answer.exponent * answer.brake_share,
            answer.exponent * answer.drive_share,
        ],
        axis=-1,
    )


def _even_grips(table: StageTable, mu: Floats) -> Floats:
    """Return the car's grip by mode as the plain mean of axles or sides, shape (S, 4)."""
    rows = []
    for direction in (1.0, -1.0):
        left = (1.0 + direction * table.lateral_transfer) / 2.0
        grip = mu[..., LATERAL]
        front = left * grip[:, 0] + (1.0 - left) * grip[:, 1]
        rear = left * grip[:, 2] + (1.0 - left) * grip[:, 3]
        rows.append((front + rear) / 2.0)
    car = table.car
    for mode, share in ((BRAKE, car.brake_front_share), (DRIVE, car.drive_front_share)):
        grip = mu[..., mode]
        left_side = share * grip[:, 0] + (1.0 - share) * grip[:, 2]
        right_side = share * grip[:, 1] + (1.0 - share) * grip[:, 3]
        rows.append((left_side + right_side) / 2.0)
    return np.stack(rows, axis=-1)
