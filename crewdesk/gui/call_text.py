"""The call in short lines for its two cards; made from the answer, nothing is reckoned here."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from crewdesk.desk.state import DayState
from crewdesk.gui.texts import SHORT
from crewdesk.gui.views import differing, why_words
from crewdesk.units import CORNERS, Place

if TYPE_CHECKING:
    from crewdesk.desk.answer import Answer
    from crewdesk.engine.result import LoopPlan


def wheels_line(
    state: DayState,
    fitting: Mapping[Place, str | None],
    places: tuple[Place, ...],
    rims: Mapping[Place, str] | None = None,
) -> str:
    """Return wheels with their places, as ``G07 FL  G08 FR``; the rim is what people carry."""
    parts = []
    for place in places:
        tyre_id = fitting.get(place)
        if not tyre_id:
            continue
        tyre = state.tyres.get(tyre_id)
        rim = (rims or {}).get(place) or (tyre.rim_id if tyre is not None else "") or tyre_id
        # A wheel and its place stay on one line.
        parts.append(f"{rim}\u00a0{SHORT[place]}" if place in CORNERS else rim)
    return "  ".join(parts)


def kinds(state: DayState, fitting: Mapping[Place, str | None]) -> str:
    """Return the compounds in front and behind in the fewest words, as ``hard/soft``."""
    axles: tuple[tuple[Place, Place], ...] = (("FL", "FR"), ("RL", "RR"))
    said = []
    for axle in axles:
        ids = [tyre_id for corner in axle if (tyre_id := fitting.get(corner)) in state.tyres]
        said.append("+".join(sorted({state.tyres[t].stock.compound for t in ids if t})))
    return said[0] if said[0] == said[1] else "/".join(said)


CardKind = Literal["full", "short", "used", "choice"]


def risk_in_100(plan: "LoopPlan") -> int:
    """Return the chance that some wheel ends under the minimum, in 100, rounded up."""
    worst = max(plan.below_minimum.values(), default=0.0)
    return int(worst * 100 + 0.999)


@dataclass(frozen=True)
class CardText:
    """One card of the call."""

    number: int
    kind: CardKind
    fitting: Mapping[Place, str | None]
    headline: str
    wheels: str
    carried: str
    wheels_changed: int
    minutes: float | None
    loss_s: float | None
    risk: int | None


def card_of(
    state: DayState,
    number: int,
    kind: CardKind,
    fitting: Mapping[Place, str | None],
    *,
    plan: "LoopPlan | None" = None,
    minutes: float | None = None,
    loss_s: float | None = None,
) -> CardText:
    """Return the card of a fitting."""
    # The words draw in the heavy libraries of the core, which the first paint does without.
    from crewdesk.desk.words import headline

    on_car = state.fitted.tyres if state.fitted is not None else {}
    moved = differing(fitting, on_car)
    corners = tuple(c for c in CORNERS)
    short = kind == "short" and on_car
    shown: tuple[Place, ...] = tuple(c for c in corners if c in moved) if short else corners
    text = headline(state, fitting)
    rims = plan.rims if plan is not None else {}
    if short:
        text = _short_headline(moved) or text
    return CardText(
        number=number,
        kind=kind,
        fitting=fitting,
        headline=text,
        wheels=wheels_line(state, fitting, shown, rims),
        carried=wheels_line(state, fitting, ("SP1", "SP2"), rims),
        wheels_changed=sum(1 for p in moved if p in CORNERS),
        minutes=minutes,
        loss_s=loss_s,
        risk=risk_in_100(plan) if plan is not None else None,
    )


def _short_headline(moved: tuple[Place, ...]) -> str:
    corners = {p for p in moved if p in CORNERS}
    if not corners:
        return "NOTHING CHANGES"
    if corners == {"FL", "FR"}:
        return "FRONTS ONLY"
    if corners == {"RL", "RR"}:
        return "REARS ONLY"
    if len(corners) == 4:
        return ""
    return f"ONLY {' '.join(c for c in CORNERS if c in corners)}"


@dataclass(frozen=True)
class Standing:
    """How the call in use stands against what is known now."""

    kind: Literal["none", "same", "quiet", "better", "broken"]
    gain_s: float | None = None
    broken: tuple[str, ...] = ()
    """What is wrong with a wheel of the call in use."""


def standing(state: DayState, answer: "Answer | None", keep_gain_s: float) -> Standing:
    """Return whether the call in use still holds; only a breach or a real gain reopens it."""
    used = state.call_used
    place = state.at_place or state.next_place
    if used is None or used.place != place:
        return Standing("none")
    broken = tuple(
        f"{tyre.rim_id or tyre.tyre_id} {why_words(tyre)}"
        for tyre_id in used.fitting.values()
        if tyre_id and (tyre := state.tyres.get(tyre_id)) is not None and tyre.status != "ok"
    )
    if broken:
        return Standing("broken", broken=broken)
    if answer is None or answer.place != place or not answer.result.plan:
        return Standing("same")
    if not differing(answer.result.plan[0].fitting, used.fitting):
        return Standing("same")
    gain_s = _gain(state, answer)
    if gain_s is None:
        return Standing("same")
    return Standing("better" if gain_s > keep_gain_s else "quiet", gain_s)


def _gain(state: DayState, answer: "Answer") -> float | None:
    """Return what the new call would gain over the one in use, where the engine says it."""
    used = state.call_used
    assert used is not None
    for other in answer.result.alternatives:
        if not differing(other.fitting, used.fitting):
            return other.loss_s
    short = answer.result.short_call
    if short is not None and not differing(short.plan.fitting, used.fitting):
        return short.loss_s
    losses = [a.loss_s for a in answer.result.alternatives]
    # Behind every choice that was looked at: it loses at least as much as the last of them.
    return max(losses) if losses else None
