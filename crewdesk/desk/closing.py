"""What must be looked at before an event is closed, and what was overridden in it."""

from dataclasses import dataclass

from crewdesk.desk.case import base_case, facts_of, split_code
from crewdesk.desk.state import DayState
from crewdesk.documents.bundle import EventBundle
from crewdesk.regulations.fitting import FittingCase
from crewdesk.regulations.rulebook import Message
from crewdesk.regulations.rules import check_all


@dataclass(frozen=True)
class OverrideMade:
    """A rule that a named person overrode."""

    code: str
    """Blank: every rule that stopped one fitting."""
    name: str
    reason: str
    place: str


def overrides_made(state: DayState) -> tuple[OverrideMade, ...]:
    """Return every override of the day, in order."""
    return tuple(
        OverrideMade(
            str(one.get("code", "")),
            str(one.get("name", "")),
            str(one.get("reason", "")),
            str(one.get("place", "")),
        )
        for one in state.overrides
    )


def closing_messages(bundle: EventBundle, state: DayState) -> tuple[Message, ...]:
    """Return what the rules and the book say before the event is closed."""
    base = base_case(bundle, state, facts_of(bundle, state))
    car = dict(state.fitted.tyres) if state.fitted is not None else {}
    said = list(check_all(FittingCase(**base, fitting=car), "close"))
    limit, used = base["rules"].qty_total, len(state.counted)
    if limit is not None and used > limit:
        said.append(
            Message(
                "QTY-1",
                "watch",
                f"{used} of {limit} tyres counted. Say so to the officials before they do.",
                {"used": used, "limit": limit},
            )
        )
    held = [t for t in state.tyres.values() if t.status == "locked"]
    for tyre in held:
        code, why = split_code(tyre.status_why)
        said.append(
            Message(
                code or "DMG-1",
                "watch",
                f"{tyre.tyre_id} is still on hold: {why}. It goes to the next event so.",
                {"tyre": tyre.tyre_id},
            )
        )
    if state.torque_due:
        corners = ", ".join(f"{t.corner} ({t.tyre_id})" for t in state.torque_due)
        said.append(
            Message(
                "NUT-1",
                "watch",
                f"Torque not entered for {corners}.",
                {"corners": tuple(t.corner for t in state.torque_due)},
            )
        )
    return tuple(said)
