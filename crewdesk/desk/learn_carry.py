"""What was learnt goes to the next event, and comes from the last one."""

import numpy as np

from crewdesk.desk.learnt import Layout, Learnt, Rubber
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.event import Family, Hardness
from crewdesk.documents.learnt import LearntBefore, LearntCorner, LearntWear
from crewdesk.physics.bands import COMPOUND_LN_SD, CORNER_LN_SD
from crewdesk.physics.kalman import Belief, start
from crewdesk.physics.learning_channels import HEAT_START_SD
from crewdesk.units import CORNERS

NEW_PLACE_LN_SD = 0.20
"""Added doubt of ln(wear) at another place, in squares. Tuning value of this project."""

_LEAST_LN_SD = 1e-6


def carried_rubbers(bundle: EventBundle) -> tuple[Rubber, ...]:
    """Return the compounds of this stock, with their grounds, that the last event taught."""
    return tuple(_matches(bundle))


def _matches(bundle: EventBundle) -> dict[Rubber, int]:
    """Return by compound and ground the place of what was learnt of that kind of rubber.

    Makers and words may differ from event to event; family and hardness tell the kind. Of
    several such compounds the one with the same word goes first, then the most read.
    """
    before = bundle.learnt
    if before is None:
        return {}
    found: dict[Rubber, int] = {}
    for stock in bundle.stock.tyres:
        rank: dict[str, list[tuple[bool, int, int]]] = {}
        for number, one in enumerate(before.wear):
            if (one.use, one.hardness) == (stock.use, stock.hardness):
                same = one.compound == stock.compound
                rank.setdefault(one.ground, []).append((same, one.readings, -number))
        for ground, rows in rank.items():
            found.setdefault(Rubber(stock.use, stock.compound, ground), -max(rows)[2])
    return found


def begin(bundle: EventBundle, layout: Layout) -> Belief:
    """Return what is known before the first reading.

    Tables alone, or what the last event taught, less sure at a new place; corners always
    start anew, for they belong to the roads of an event.
    """
    first = len(layout.rubbers)
    plain = start(
        np.zeros(layout.size), [COMPOUND_LN_SD] * first + [CORNER_LN_SD] * len(CORNERS)
    )
    before = bundle.learnt
    matched = _matches(bundle)
    at = [(layout.of(r), number) for r, number in matched.items() if r in layout.rubbers]
    if before is None or not at:
        return plain
    mean, cov = plain.mean.copy(), plain.cov.copy()
    known = np.array(before.ln_cov)
    rows = np.array([row for row, _ in at])
    numbers = np.array([number for _, number in at])
    mean[rows] = [before.wear[number].ln_factor for number in numbers]
    cov[np.ix_(rows, rows)] = known[np.ix_(numbers, numbers)]
    cov[rows, rows] += NEW_PLACE_LN_SD**2
    return Belief(mean, cov)


def learnt_before(bundle: EventBundle, learnt: Learnt) -> LearntBefore | None:
    """Return what this event has taught, for the handover; None where it is nothing."""
    if not learnt.knows:
        return None
    hardness: dict[tuple[str, str], tuple[Family, Hardness]] = {
        (stock.use, stock.compound): (stock.use, stock.hardness) for stock in bundle.stock.tyres
    }
    kept = [r for r in learnt.layout.rubbers if (r.use, r.compound) in hardness]
    rows = [learnt.layout.of(rubber) for rubber in kept]
    cov = learnt.belief.cov[np.ix_(rows, rows)]
    heat_sd = np.log(learnt.heat.high / learnt.heat.low) / (2.0 * 1.6448536269514722)
    return LearntBefore(
        event=bundle.event.name,
        wear=tuple(
            LearntWear(
                use=hardness[rubber.use, rubber.compound][0],
                compound=rubber.compound,
                hardness=hardness[rubber.use, rubber.compound][1],
                ground=rubber.ground,
                ln_factor=round(float(learnt.belief.mean[row]), 6),
                readings=learnt.counts.get(rubber, 0),
            )
            for rubber, row in zip(kept, rows, strict=True)
        ),
        ln_cov=tuple(tuple(round(float(value), 9) for value in line) for line in cov),
        corners=tuple(
            LearntCorner(
                corner=corner,
                ln_factor=round(float(learnt.belief.mean[learnt.layout.corner(number)]), 6),
                readings=learnt.corner_counts[number],
            )
            for number, corner in enumerate(CORNERS)
        ),
        heat_ln_factor=round(float(np.log(learnt.heat.factor)), 6),
        heat_ln_sd=round(float(heat_sd), 6) if heat_sd > _LEAST_LN_SD else HEAT_START_SD,
        heat_readings=learnt.heat.readings,
    )
