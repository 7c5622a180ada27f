"""Tyres that do not last: no call, but the crew is told what lasts best and what goes under."""

from dataclasses import replace

import pytest

from crewdesk.desk.answer import CallOptions
from crewdesk.desk.ask import answer
from crewdesk.desk.replay import finish, start
from crewdesk.desk.words import call_words, worn_words
from crewdesk.engine.solve import propose
from tests.unit.engine.made import made_problem, made_rules, made_tyre


def thin(n: int = 6):
    return [made_tyre(f"S{i}", "soft", tread_mm=2.5) for i in range(1, n + 1)]


def test_where_only_the_tread_ahead_stands_in_the_way_there_is_something_to_drive_on() -> None:
    result = propose(made_problem(thin(), ((30.0, 30.0), (30.0,)), rules=made_rules()))
    assert not result.plan
    assert [lift.code for lift in result.lift] == ["TRD-1"]
    assert [loop.place for loop in result.least_worn] == ["start", "P1"]


def test_where_tyres_are_missing_there_is_nothing_to_drive_on() -> None:
    result = propose(made_problem(thin(3), ((30.0,),), rules=made_rules()))
    assert not result.plan
    assert result.least_worn == ()


@pytest.fixture(scope="module")
def worn_out(saldrey):
    """Return an event on which every tyre is down to 2.2 mm."""
    tyres = tuple(
        tyre.model_copy(update={"tread_mm": (2.2, 2.2, 2.2), "new": False})
        for tyre in saldrey.stock.tyres
    )
    return saldrey.model_copy(
        update={"stock": saldrey.stock.model_copy(update={"tyres": tyres})}
    )


def test_the_words_name_the_wheels_and_what_goes_under(worn_out) -> None:
    state = finish(start(worn_out))
    place = worn_out.itinerary.change_places[0]
    told = answer(worn_out, state, CallOptions(at=place.key, scenarios=2), 1, place.due_in_utc)
    assert not told.result.plan
    first, second = worn_words(worn_out, state, told.result)
    assert first.startswith("No call, but what lasts best: FL ")
    assert second.startswith("Expected under 1.6 mm: ")
    assert " mm after " in second
    assert second.endswith("The event's rules decide whether you may go on.")
    assert f"  {first}" in call_words(worn_out, state, told)
    assert worn_words(worn_out, state, replace(told.result, least_worn=())) == []
