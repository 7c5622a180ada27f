"""The call in plain words, for the window and the terminal alike."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from crewdesk.desk.answer import Answer
from crewdesk.desk.case import rules_of
from crewdesk.desk.state import DayState, TyreNow
from crewdesk.desk.words_beside import beside_words
from crewdesk.documents.bundle import EventBundle
from crewdesk.engine.groups import least_mm
from crewdesk.engine.result import Alternative, Flip, LoopPlan, PlanResult, Reason, RuleCheck
from crewdesk.units import CORNERS, PLACES, Corner, Place

CORNER_WORDS: Mapping[Place, str] = {
    "FL": "front left",
    "FR": "front right",
    "RL": "rear left",
    "RR": "rear right",
    "SP1": "carried 1",
    "SP2": "carried 2",
}
NO_BREACH = "No breach found of the rules that were entered."
_LEVEL_WORDS = {"stops": "stops", "watch": "watch", "note": "note"}


def wheel_name(
    state: DayState, tyre_id: str | None, rims: Mapping[Place, str], place: Place
) -> str:
    """Return rim and tyre number together, as G07·H07; without a rim the tyre alone."""
    if not tyre_id:
        return "nothing"
    rim = rims.get(place) or (state.tyres[tyre_id].rim_id if tyre_id in state.tyres else "")
    return f"{rim}·{tyre_id}" if rim else tyre_id


def is_new(tyre: TyreNow) -> bool:
    """Say whether a tyre has never run; one on a corner will have when the car comes in."""
    return tyre.stock.new and not tyre.runs and tyre.place not in CORNERS


def kind_words(tyre: TyreNow) -> str:
    """Return what a tyre is in two words, as "new hard"."""
    return f"{'new' if is_new(tyre) else 'used'} {tyre.stock.compound}"


def headline(state: DayState, fitting: Mapping[Place, str | None]) -> str:
    """Return a fitting in one line, as NEW HARD ALL ROUND."""
    return fitting_words(state, fitting).upper()


def fitting_words(state: DayState, fitting: Mapping[Place, str | None]) -> str:
    """Return what is on the corners in few words, as new hard all round."""
    tyres = {c: state.tyres[t] for c in CORNERS if (t := fitting.get(c)) and t in state.tyres}
    if len(tyres) < len(CORNERS):
        return "no full fitting"
    on_car = state.fitted.tyres if state.fitted is not None else {}
    if on_car and all(on_car.get(c) == fitting.get(c) for c in CORNERS):
        return f"leave all four on: {_kinds(tyres)}"
    return _kinds(tyres)


def _kinds(tyres: Mapping[Corner, TyreNow]) -> str:
    words = {corner: kind_words(tyre) for corner, tyre in tyres.items()}
    front, rear = {words["FL"], words["FR"]}, {words["RL"], words["RR"]}
    if len(front | rear) == 1:
        return f"{words['FL']} all round"
    compounds = {corner: tyre.stock.compound for corner, tyre in tyres.items()}
    if len(front) == len(rear) == 1:
        if len(set(compounds.values())) == 1:
            new_ones = "fronts" if is_new(tyres["FL"]) else "rears"
            return f"{compounds['FL']} all round, {new_ones} new"
        return f"{words['FL']} in front, {words['RL']} behind"
    if words["FL"] == words["RL"] and words["FR"] == words["RR"]:
        return f"{words['FL']} left, {words['FR']} right"
    if len(set(compounds.values())) == 1:
        return f"{compounds['FL']} all round, new and used mixed"
    if compounds["FL"] == compounds["FR"] and compounds["RL"] == compounds["RR"]:
        return f"{compounds['FL']} in front, {compounds['RL']} behind"
    return ", ".join(f"{corner} {words[corner]}" for corner in CORNERS)


def fitting_line(
    state: DayState, fitting: Mapping[Place, str | None], rims: Mapping[Place, str]
) -> str:
    """Return wheels by corner and what is carried, in one line."""
    corners = "  ".join(
        f"{corner} {wheel_name(state, fitting.get(corner), rims, corner)}" for corner in CORNERS
    )
    carried: list[Place] = [p for p in ("SP1", "SP2") if fitting.get(p)]
    spares = " and ".join(wheel_name(state, fitting.get(p), rims, p) for p in carried)
    return f"{corners}  carried {spares or 'none'}"


def bar_words(kpa: float) -> str:
    """Return a pressure in bar with two decimals."""
    return f"{kpa / 100:.2f} bar"


def pressure_line(loop: LoopPlan) -> str:
    """Return the cold settings of an axle each, and what they are to give hot."""
    parts = []
    for axle, corner in (("front", "FL"), ("rear", "RL")):
        kpa = loop.cold_pressure_kpa.get(corner)  # type: ignore[call-overload]  # a corner
        if kpa is None:
            continue
        floor = loop.floor_binds.get(corner)  # type: ignore[call-overload]  # a corner
        parts.append(f"{axle} {bar_words(kpa)}{' (as low as allowed)' if floor else ''}")
    if not parts:
        return "Cold pressures: none worked out."
    hot = f", hot {bar_words(loop.hot_target_kpa)} at the stop line"
    return f"Cold now: {', '.join(parts)}{hot if loop.hot_target_kpa else ''}."


_REASONS: Mapping[str, tuple[str, str]] = {
    "temperature": (
        "Closer to the temperature it works at",
        "Further from the temperature it works at",
    ),
    "wear": ("Deeper tread and sharper edges", "Less tread and rounder edges"),
    "balance": ("Better matched corners", "Less well matched corners"),
    "spare_mass": ("Less weight on board", "More weight on board"),
    "punctures": ("Less lost to punctures", "More lost to punctures"),
    "money": ("Cheaper in tyres", "Dearer in tyres"),
    "later_loops": ("Better tyres left for later loops", "Worse tyres left for later loops"),
    "worst_tenth": ("Better when the weather turns out badly", "Worse if the weather turns"),
}


def reason_words(reason: Reason) -> str:
    """Return one cause of the difference to the next best call."""
    better, worse = _REASONS.get(
        reason.kind, (reason.kind.replace("_", " "), reason.kind.replace("_", " "))
    )
    seconds = reason.seconds
    if abs(seconds) < 0.05:
        return f"{better}: no difference"
    return f"{better if seconds > 0 else worse}: {abs(seconds):.1f} s {_for(seconds)}"


def _for(seconds: float) -> str:
    return "for it" if seconds > 0 else "against it"


def reasons_words(reasons: Sequence[Reason], most: int = 4) -> list[str]:
    """Return the causes that matter, those for the call first, the largest of each first."""
    ranked = sorted(reasons, key=lambda r: (-abs(r.seconds), r.kind))
    told = [r for r in ranked if abs(r.seconds) >= 0.05][:most]
    return [reason_words(r) for r in sorted(told, key=lambda r: r.seconds < 0)]


def rule_words(check: RuleCheck) -> str:
    """Return a checked rule with its level as a word."""
    level = _LEVEL_WORDS.get(check.level, check.level)
    return f"{'ok' if check.ok else level}: {check.text}"


def rules_words(checks: Sequence[RuleCheck]) -> list[str]:
    """Return what the rules say of a call; never more than that no breach was found."""
    said = [rule_words(check) for check in checks if not check.ok]
    return said or [NO_BREACH]


_UNITS = {"degC": "°C", "c": "°C", "C": "°C", "mm_h": "mm/h", "share": ""}


def flip_words(flip: Flip, state: DayState | None = None) -> str:
    """Return where another call becomes the better one.

    With the state new and used are told apart: the call may change between the two alone.
    """
    kinds = "/".join(dict.fromkeys(flip.then[c] for c in CORNERS if c in flip.then))
    if state is not None and flip.fitting:
        kinds = fitting_words(state, flip.fitting)
    up = flip.at >= flip.now
    if flip.what == "road":
        return f"With the road at {flip.at:.1f} °C or {'warmer' if up else 'colder'}: {kinds}"
    way = "more" if up else "less"
    if flip.what == "rain":
        return f"With rain {flip.at:.0f} in 100 likely or {way}: {kinds}"
    if flip.what == "new_tyre_worth":
        return f"With a new tyre worth {flip.at:g} s or {way}: {kinds}"
    if flip.what == "tread":
        return f"With {flip.at:.1f} mm or {way} left on {flip.tyre}: {kinds}"
    unit = _UNITS.get(flip.unit, flip.unit)
    at = f"{flip.at:.0f} {unit}".strip() if unit else f"{flip.at:.2f}"
    return f"{flip.what.replace('_', ' ').capitalize()} {at} or {way}: {kinds}"


def alternative_words(
    state: DayState, other: Alternative, call: Mapping[Place, str | None]
) -> str:
    """Return another fitting with what it costs; of the same kinds, what differs in it."""
    words = headline(state, other.fitting)
    if words != headline(state, call):
        return f"{words.capitalize()}: +{other.loss_s:.1f} s"
    differs = differs_words(call, other.fitting)
    shown = "; ".join(differs[:2])
    more = f" and {len(differs) - 2} more" if len(differs) > 2 else ""
    return f"Same kinds, {shown}{more}: +{other.loss_s:.1f} s"


def certainty_words(result: PlanResult) -> str:
    """Return how good the call is known to be."""
    left = result.gap_s
    if result.objective is None:
        return ""
    if left is None:
        return "Best found so far."
    if left < 0.05:
        return "Best there is under this forecast."
    return f"Best found, could be at most {left:.1f} s better."


def differs_words(
    before: Mapping[Place, str | None], after: Mapping[Place, str | None]
) -> list[str]:
    """Return what differs between two fittings, place by place."""
    said = [
        f"{corner} {after.get(corner) or 'nothing'} in place of "
        f"{before.get(corner) or 'nothing'}"
        for corner in CORNERS
        if before.get(corner) != after.get(corner)
    ]
    carried = [{t for t in (f.get("SP1"), f.get("SP2")) if t} for f in (before, after)]
    if carried[0] != carried[1]:
        said.append(
            f"carried {' '.join(sorted(carried[1])) or 'none'} in place of "
            f"{' '.join(sorted(carried[0])) or 'none'}"
        )
    return said


def risk_words(loop: LoopPlan) -> str:
    """Return the greatest chance of a tyre ending below the minimum."""
    if not loop.below_minimum:
        return ""
    tyre, share = max(loop.below_minimum.items(), key=lambda pair: (pair[1], pair[0]))
    if share < 0.005:
        return "None is likely to end under the minimum tread."
    return f"{tyre}: {share * 100:.0f} in 100 end under the minimum tread."


def time_words(loop: LoopPlan) -> str:
    """Return the stage time of a loop with its range where there is one."""
    low, high = loop.spread_s
    if high - low < 1.0:
        return f"{loop.expected_s:.0f} s."
    return f"{loop.expected_s:.0f} s, most likely between {low:.0f} and {high:.0f} s."


def local_time(bundle: EventBundle, at: datetime) -> str:
    """Return an instant as the event's clock shows it."""
    return f"{at.astimezone(ZoneInfo(bundle.event.zone)):%a %d %b %H:%M}"


def _in_hundred(share: float) -> str:
    """Return a chance in words; a small one in a thousand."""
    return f"{share * 100:.0f} in 100" if share >= 0.0095 else f"{share * 1000:.0f} in 1000"


def bring_words(plan: Sequence[LoopPlan]) -> list[str]:
    """Return what must leave with the van for the zone ahead, and what of it is in reserve."""
    if len(plan) < 2 or not plan[1].bring:
        return []
    lines = [f"To bring to the tyre zone {plan[1].place}: {', '.join(plan[1].bring)}"]
    for wheel in plan[1].reserve:
        lost = f"{' or '.join(wheel.corners)} is" if wheel.corners else "two corners are"
        lines.append(
            f"{wheel.tyre} in reserve, in case {lost} lost before it: "
            f"{_in_hundred(wheel.chance)}, worth {wheel.saves_s:.1f} s"
        )
    return lines


UNDER = 3
"""Of the tyres that go under the least tread so many are named."""


def worn_words(bundle: EventBundle, state: DayState, result: PlanResult) -> list[str]:
    """Return what the crew could drive on with where the tyres do not last, and the price."""
    if not result.least_worn:
        return []
    first = result.least_worn[0]
    minimum_mm = least_mm(rules_of(bundle))
    under = [
        f"{tyre} {min(mm):.1f} mm after {loop.place}"
        for loop in result.least_worn
        for tyre, mm in loop.tread_end_mm.items()
        if min(mm) < minimum_mm
    ]
    more = f" and {len(under) - UNDER} more" if len(under) > UNDER else ""
    expected = f"Expected under {minimum_mm:g} mm: {', '.join(under[:UNDER])}{more}."
    return [
        f"No call, but what lasts best: {fitting_line(state, first.fitting, first.rims)}",
        f"{expected} The event's rules decide whether you may go on.",
    ]


def call_words(bundle: EventBundle, state: DayState, answer: Answer) -> list[str]:
    """Return the whole call as lines for the terminal."""
    result = answer.result
    place = bundle.itinerary.place(answer.place)
    ahead = ", ".join(place.stages) or "none before the next change"
    due = local_time(bundle, place.due_in_utc)
    lines = [
        f"{bundle.event.name}: {place.key}, {place.name}",
        f"In {due}, {place.minutes:g} min; next stages: {ahead}.",
        "",
    ]
    if not result.plan:
        lines.append("NO FITTING WITHOUT A BREACH")
        lines += [f"  To get one, lift {lift.code}: {lift.what}" for lift in result.lift]
        lines += [f"  {text}" for text in worn_words(bundle, state, result)]
        return lines
    first = result.plan[0]
    lines += [
        headline(state, first.fitting),
        f"  {fitting_line(state, first.fitting, first.rims)}",
        f"  {pressure_line(first)}",
    ]
    lines += [f"  {words}." for words in bring_words(result.plan)]
    if place.stages:
        lines.append(f"  Stages of this loop: {time_words(first)} {risk_words(first)}".rstrip())
    lines.append(f"  {certainty_words(result)}".rstrip())
    if result.short_call is not None and result.short_call.loss_s > 0.05:
        short = result.short_call
        lines.append(
            f"  Short call ({short.minutes:g} min, +{short.loss_s:.1f} s): "
            f"{fitting_line(state, short.plan.fitting, short.plan.rims)}"
        )
    reasons = reasons_words(result.reasons)
    if reasons:
        better = sum(reason.seconds for reason in result.reasons)
        lines += ["", f"Why, {better:.1f} s better than the next best:"]
        lines += [f"  {words}" for words in reasons]
    if result.alternatives:
        lines += ["", "Next best:"]
        lines += [
            f"  {alternative_words(state, other, first.fitting)}"
            for other in result.alternatives[:3]
        ]
    if result.flips:
        lines += ["", "When it changes:", *(f"  {flip_words(f, state)}" for f in result.flips)]
    beside = beside_words(result)
    if beside:
        lines += ["", "Beside it:", *(f"  {line}" for line in beside)]
    lines += ["", "Rules:", *(f"  {words}" for words in rules_words(result.rules))]
    lines += ["", "Later loops:"]
    for loop in result.plan[1:]:
        lines.append(f"  {loop.place}: {fitting_line(state, loop.fitting, loop.rims)}")
    if len(result.plan) == 1:
        lines.append("  none")
    assumed = answer.call.get("assumed", [])
    if assumed:
        count = "1 thing" if len(assumed) == 1 else f"{len(assumed)} things"
        lines += ["", f"{count} assumed:", *(f"  {word}" for word in assumed)]
    lines += ["", "The crew decides; the event's own papers and the tyre maker's limits count."]
    return lines


def places_in_order(fitting: Mapping[Place, str | None]) -> list[tuple[Place, str]]:
    """Return the places with a tyre, in walk order of the sheet."""
    return [(place, tyre) for place in PLACES if (tyre := fitting.get(place))]
