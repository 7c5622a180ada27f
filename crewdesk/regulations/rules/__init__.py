"""All rules there are, in the order in which their messages are shown."""

from dataclasses import replace
from typing import Final

from crewdesk.regulations.fitting import FittingCase, When
from crewdesk.regulations.rulebook import Message
from crewdesk.regulations.rules import (
    approval,
    clocks,
    marks,
    places,
    pressures,
    quantity,
    spares,
    tread,
    wheels,
)
from crewdesk.regulations.rules.base import Rule

NO_BREACH: Final = "No breach found of the rules that were entered."
"""What is said when nothing speaks against a fitting; never more than that."""

RULES: Final[tuple[Rule, ...]] = (
    quantity.TotalQuantity(),
    quantity.CapQuantity(),
    quantity.ShakedownTyre(),
    quantity.NominationClosing(),
    quantity.Nominated(),
    marks.Marked(),
    marks.MarkOnce(),
    marks.JokerPapers(),
    marks.JokersLeft(),
    places.ChangePlaces(),
    places.WheelReturns(),
    places.TimeAllowed(),
    places.ZoneWork(),
    spares.SpareCount(),
    spares.SpareUsable(),
    tread.TreadNow(),
    tread.TreadAhead(),
    tread.WinterTread(),
    spares.AxleMix(),
    wheels.ClassSize(),
    wheels.RimFree(),
    wheels.Age(),
    wheels.Damaged(),
    wheels.Leaking(),
    wheels.NutsChecked(),
    pressures.LeastPressure(),
    pressures.MostPressure(),
    pressures.HotBand(),
    pressures.Overheating(),
    pressures.Floating(),
    approval.RoadMarks(),
    approval.RoadStuds(),
    approval.StudCount(),
    approval.StudWear(),
    approval.Pattern(),
    approval.Treatment(),
    clocks.ConditionsChanged(),
    clocks.OnTime(),
    clocks.OutOfTime(),
    marks.AsFoundAgrees(),
    marks.ReadBackAgrees(),
    marks.Unanswered(),
    marks.OfficialMarks(),
)
"""The only list of the rules."""


def check_all(case: FittingCase, when: When) -> tuple[Message, ...]:
    """Ask every rule of a moment, in the order of the list.

    A message that stops and was overridden by a named person is shown as one to watch, with
    the name.
    """
    return tuple(
        _overridden(message, case)
        for rule in RULES
        if when in rule.when
        for message in rule.check(case)
    )


def _overridden(message: Message, case: FittingCase) -> Message:
    name = case.overrides.get(message.code, "")
    if message.level != "stops" or not name:
        return message
    return replace(
        message,
        level="watch",
        text=f"{message.text} Overridden by {name}.",
        values={**message.values, "overridden_by": name},
    )


def stops(messages: tuple[Message, ...]) -> tuple[Message, ...]:
    """Return the messages that refuse."""
    return tuple(message for message in messages if message.level == "stops")


def rule_of(code: str) -> Rule:
    """Return the rule behind a code, or raise KeyError."""
    for rule in RULES:
        if rule.code == code:
            return rule
    raise KeyError(code)
