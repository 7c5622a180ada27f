"""Which fittings of an answer become cards and further choices of the call page."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication

from crewdesk.gui.call_text import CardText, card_of, kinds, wheels_line
from crewdesk.gui.texts import SHORT
from crewdesk.gui.views import differing
from crewdesk.units import PLACES, Place

if TYPE_CHECKING:
    from crewdesk.desk.answer import Answer
    from crewdesk.engine.result import LoopPlan
    from crewdesk.gui.session import Session


def _tr(text: str) -> str:
    return QCoreApplication.translate("CallPage", text)


def full(session: "Session", answer: "Answer | None") -> CardText | None:
    """Return the card of the full call."""
    if answer is None or not answer.result.plan:
        return None
    plan = answer.result.plan[0]
    return card_of(
        session.state,
        1,
        "full",
        plan.fitting,
        plan=plan,
        minutes=minutes_of(session, answer, plan.fitting),
    )


def minutes_of(
    session: "Session", answer: "Answer", fitting: Mapping[Place, str | None]
) -> float | None:
    """Return the minutes that a fitting needs; None: nothing is on the car yet."""
    from crewdesk.desk.minutes import people_at, times_of, work_min, work_of

    fitted = session.state.fitted
    if fitted is None:
        return None
    place = session.bundle.itinerary.place(answer.place)
    hands = people_at(session.bundle, place, session.people)
    return float(work_min(work_of(fitted.tyres, fitting), hands, times_of(session.bundle)))


def short(session: "Session", answer: "Answer | None") -> CardText | None:
    """Return the card of the short call."""
    found = answer.result.short_call if answer is not None else None
    if found is None:
        return None
    return card_of(
        session.state,
        2,
        "short",
        found.plan.fitting,
        plan=found.plan,
        minutes=found.minutes,
        loss_s=found.loss_s,
    )


def plan_of(answer: "Answer | None", fitting: Mapping[Place, str | None]) -> "LoopPlan | None":
    """Return the plan of the answer that begins with a fitting."""
    if answer is None or not answer.result.plan:
        return None
    plans = [answer.result.plan[0]]
    if answer.result.short_call is not None:
        plans.append(answer.result.short_call.plan)
    plans += [a.plan[0] for a in answer.result.alternatives if a.plan]
    return next((p for p in plans if not differing(p.fitting, fitting)), None)


def differs(session: "Session", card: CardText, shown: Sequence[CardText]) -> str:
    """Return in very few words what a choice has other than the first card."""
    first = shown[0].fitting if shown else {}
    moved = differing(card.fitting, first)
    if len(moved) == 1:
        place = moved[0]
        tyre_id = card.fitting.get(place)
        rim = session.rim_of(tyre_id) or tyre_id or _tr("none")
        return f"{SHORT[place]} {rim}"
    state = session.state
    own, other = kinds(state, card.fitting), kinds(state, first)
    return own if own != other else _tr("other wheels")


def others(
    session: "Session", answer: "Answer | None", shown: Sequence[CardText]
) -> list[CardText]:
    """Return two further choices beside the cards that are shown."""
    if answer is None:
        return []
    cards: list[CardText] = []
    for other in answer.result.alternatives:
        if any(not differing(other.fitting, text.fitting) for text in shown):
            continue
        cards.append(
            card_of(
                session.state,
                3 + len(cards),
                "choice",
                other.fitting,
                plan=other.plan[0] if other.plan else None,
                loss_s=other.loss_s,
            )
        )
    return cards[:2]


def choice_lines(session: "Session", card: CardText | None) -> list[str]:
    """Return a further choice in lines."""
    if card is None:
        return []
    fit = {p: card.fitting.get(p) for p in PLACES}
    places: tuple[Place, ...] = ("FL", "FR", "RL", "RR")
    lines = [card.headline, wheels_line(session.state, fit, places)]
    lines.append(_tr("carry {0}").format(card.carried or _tr("nothing")))
    if card.risk is not None:
        lines.append(_tr("{0} in 100 under the minimum").format(card.risk))
    return lines
