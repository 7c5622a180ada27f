"""On which rims a fitting puts its tyres, where the book has them on others or on none."""

from collections.abc import Mapping

from crewdesk.gui.session import Session
from crewdesk.gui.views import differing
from crewdesk.units import PLACES, Place


def rims_for(session: Session, meant: Mapping[Place, str | None]) -> dict[Place, str]:
    """Return the rims that change with a fitting.

    Those of the call are taken as it says; a tyre of the crew's own choice that is on no rim
    gets the first free one.
    """
    rims = _of_call(session, meant)
    state = session.state
    taken = {t.rim_id for t in state.tyres.values()} | set(state.rims_out) | set(rims.values())
    free = [r.rim_id for r in session.bundle.event.rims if r.rim_id not in taken]
    for p in PLACES:
        tyre_id = meant.get(p)
        if p not in rims and tyre_id and not session.rim_of(tyre_id) and free:
            rims[p] = free.pop(0)
    return rims


def _of_call(session: Session, meant: Mapping[Place, str | None]) -> dict[Place, str]:
    answer, place = session.answer, session.place
    if answer is None or place is None or answer.place != place.key:
        return {}
    result = answer.result
    plans = [*result.plan[:1], *[a.plan[0] for a in result.alternatives if a.plan]]
    if result.short_call is not None:
        plans.append(result.short_call.plan)
    plan = next((p for p in plans if not differing(p.fitting, meant)), None)
    if plan is None:
        return {}
    return {p: rim for p, rim in plan.rims.items() if rim != session.rim_of(meant.get(p))}
