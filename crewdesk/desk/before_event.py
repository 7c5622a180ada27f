"""The checks before the event: does this set suit the car, the roads and the distance."""

from collections.abc import Iterator
from datetime import UTC, datetime

from crewdesk.desk.before_kinds import Checked, Kind, gathered, kinds_of, listed
from crewdesk.desk.before_runs import (
    casing_checks,
    distance_checks,
    paper_runs,
    pressure_checks,
    warmth_checks,
)
from crewdesk.desk.before_size import size_checks
from crewdesk.desk.case import first_day, rules_of
from crewdesk.desk.cautions import all_cautions
from crewdesk.desk.learn_runs import PastRuns
from crewdesk.desk.replay import finish, start
from crewdesk.desk.state import DayState
from crewdesk.documents.bundle import EventBundle
from crewdesk.regulations.rules.wheels import age_years

TOPICS = ("size", "load", "warmth", "pressures", "age", "distance", "casing")
"""In the order they are told."""


def before_event(
    bundle: EventBundle, state: DayState | None = None, now_utc: datetime | None = None
) -> tuple[Checked, ...]:
    """Return every check of the event before it begins, by topic, the gravest first.

    Parameters
    ----------
    bundle : EventBundle
        Documents of the event.
    state : DayState, optional
        The day so far; where left out, that of its beginning.
    now_utc : datetime, optional
        Moment whose forecasts are known; where left out, the first car's start.
    """
    state = state or finish(start(bundle))
    kinds = kinds_of(bundle, state)
    if not kinds:
        text = "no tyre of the stock may be used at this event."
        return (Checked("distance", "stops", text),)
    told = [*size_checks(bundle, kinds), *_age(bundle, state)]
    stages = bundle.itinerary.stages
    if stages:
        now = now_utc or min((s.due_utc for s in stages), default=datetime.now(UTC))
        refs = tuple(stage.ref for stage in stages)
        told += _on_paper(PastRuns(bundle, state, now, refs), kinds)
    ordered = gathered(told)
    return tuple(one for topic in TOPICS for one in ordered if one.topic == topic)


def _on_paper(past: PastRuns, kinds: tuple[Kind, ...]) -> Iterator[Checked]:
    paper = paper_runs(past, kinds)
    yield from warmth_checks(paper, kinds)
    yield from pressure_checks(paper, kinds)
    yield from distance_checks(paper, kinds)
    yield from casing_checks(paper, kinds)


def _age(bundle: EventBundle, state: DayState) -> Iterator[Checked]:
    """Say which tyres are old, and of which it is not known."""
    day, rules = first_day(bundle), rules_of(bundle)
    if day is None:
        return
    watch, stop = rules.age_watch_years, rules.age_stop_years
    ages: dict[str, float] = {}
    unknown: list[str] = []
    for tyre in state.tyres.values():
        years = age_years(tyre.stock.dot, day)
        if years is None:
            unknown.append(tyre.tyre_id)
        else:
            ages[tyre.tyre_id] = years
    over = [tyre_id for tyre_id, years in ages.items() if years >= stop]
    old = [tyre_id for tyre_id, years in ages.items() if watch <= years < stop]
    if over:
        text = f"{stop:g} years old or more: not to be used, whatever they look like."
        yield Checked("age", "stops", text, tuple(over), "age")
    if old:
        text = f"{watch:g} years old or more: look at them closely before they are fitted."
        yield Checked("age", "watch", text, tuple(old), "age")
    if unknown:
        text = f"{len(unknown)} tyres without a date code ({listed(unknown)}): age not known."
        yield Checked("age", "note", text, caution="age")
    if ages and not over and not old:
        text = f"the oldest tyre is {max(ages.values()):.1f} years old."
        yield Checked("age", "holds", text)


def cautions_of(told: tuple[Checked, ...]) -> tuple[str, ...]:
    """Return the cautions that belong to some checks, each once."""
    wanted = {one.caution for one in told if one.caution and one.level != "holds"}
    return tuple(one.text for one in all_cautions() if one.id in wanted)
