"""A carried wheel that lost air: seen by a cold reading far under what it was set to."""

from collections.abc import Sequence
from datetime import UTC, datetime

from crewdesk.desk.state import FittingNow, TyreNow
from crewdesk.journal.entries import Report
from crewdesk.regulations.rules.wheels import LEAK_KPA, due_kpa

NEAR_S = 1800.0
"""A report this close to a reading tells its air temperature, before or after it."""


def air_at(reports: Sequence[Report], at: datetime) -> float | None:
    """Return the air temperature reported about a moment, else the last one before it."""
    known = [(r.at, r.air_c) for r in reports if r.air_c is not None and r.at is not None]
    if not known:
        return None
    near_at, near_c = min(known, key=lambda pair: abs((pair[0] - at).total_seconds()))
    before = [air_c for seen, air_c in known if seen <= at]
    if abs((near_at - at).total_seconds()) <= NEAR_S or not before:
        return near_c
    return before[-1]


def leak_words(tyre: TyreNow, fittings: Sequence[FittingNow], reports: Sequence[Report]) -> str:
    """Return why a tyre is held for a leak, empty where it is not."""
    if tyre.cold_set_kpa is None or tyre.status_why.startswith("released"):
        return ""
    times = [f.at for f in fittings if tyre.tyre_id in f.tyres.values()]
    since = max(times) if times else datetime.min.replace(tzinfo=UTC)
    cold = [(r.at, r.cold_kpa) for r in tyre.readings if r.cold_kpa is not None]
    if not cold or cold[-1][0] < since:
        return ""
    at, read_kpa = cold[-1]
    air_c = air_at(reports, at)
    due = tyre.cold_set_kpa
    if air_c is not None and tyre.set_at_c is not None:
        due = due_kpa(due, tyre.set_at_c, air_c)
    drop = due - read_kpa
    return f"LEAK-1 {drop / 100:.2f} bar under its pair" if drop >= LEAK_KPA else ""
