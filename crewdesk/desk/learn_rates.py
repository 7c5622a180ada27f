"""Wear in mm/km by compound, ground and corner: as the tables had it, and now."""

from math import exp, hypot, log

import numpy as np

from crewdesk.desk.learn_readings import rubber_of
from crewdesk.desk.learn_runs import PastRuns
from crewdesk.desk.learnt import Learnt, Rubber, WearRate
from crewdesk.physics.bands import COMPOUND_LN_SD, CORNER_LN_SD
from crewdesk.physics.learning_wear import NINETY, factor_band
from crewdesk.units import CORNERS


def rates_of(past: PastRuns, learnt: Learnt) -> tuple[WearRate, ...]:
    """Return the wear of every compound on every ground and corner it has run on.

    The rate of the tables is that of the stages run there: mean loss of the three depths
    over the kilometres.
    """
    km: dict[tuple[Rubber, int], float] = {}
    lost: dict[tuple[Rubber, int], float] = {}
    for tyre in past.state.tyres.values():
        for run in past.done(tyre):
            if run.stage is None or len(run.corners) != 1:
                continue
            key = (rubber_of(tyre, run), run.corners[0])
            km[key] = km.get(key, 0.0) + run.run.km * run.run.split
            lost[key] = lost.get(key, 0.0) + run.mean_loss_mm
    counts = _counts(learnt)
    return tuple(
        _rate(learnt, rubber, corner, lost[rubber, corner] / km[rubber, corner], counts)
        for rubber, corner in sorted(km)
        if km[rubber, corner] > 0.0
    )


def _counts(learnt: Learnt) -> dict[tuple[str, str, int], int]:
    """Return how many depths stand behind each compound, ground and corner."""
    counts: dict[tuple[str, str, int], int] = {}
    for one in learnt.compared:
        for ground in one.grounds:
            for corner in one.corner.split():
                key = (one.compound, ground, CORNERS.index(corner))
                counts[key] = counts.get(key, 0) + 1
    return counts


def _rate(
    learnt: Learnt,
    rubber: Rubber,
    corner: int,
    table: float,
    counts: dict[tuple[str, str, int], int],
) -> WearRate:
    """Return one rate with its ranges; 90 in 100 lie in them."""
    began = next(
        (
            w
            for w in learnt.wear
            if (w.use, w.compound, w.ground) == (rubber.use, rubber.compound, rubber.ground)
        ),
        None,
    )
    first = began.before if began is not None else 1.0
    own_sd = (
        log(began.before_high / began.before) / NINETY if began is not None else COMPOUND_LN_SD
    )
    first_low, first_high = factor_band(log(first), hypot(own_sd, CORNER_LN_SD))
    now, low, high = first, first_low, first_high
    if learnt.knows and rubber in learnt.layout.rubbers:
        row = np.zeros(learnt.layout.size)
        row[learnt.layout.of(rubber)] = row[learnt.layout.corner(corner)] = 1.0
        mean = learnt.belief.value(row)
        now = exp(mean)
        low, high = factor_band(mean, learnt.belief.sd(row))
    return WearRate(
        compound=rubber.compound,
        use=rubber.use,
        ground=rubber.ground,
        corner=CORNERS[corner],
        start_mm_km=table * first,
        start_low=table * first_low,
        start_high=table * first_high,
        now_mm_km=table * now,
        now_low=table * low,
        now_high=table * high,
        readings=counts.get((rubber.compound, rubber.ground, corner), 0),
    )
