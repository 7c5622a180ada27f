"""The call beside the minutes left, and what the rules say of it before a wheel is touched."""

import pytest

from crewdesk.desk.answer import CallOptions
from crewdesk.desk.ask import answer_at
from crewdesk.desk.minutes import work_min, work_of
from crewdesk.desk.replay import replay
from crewdesk.units import CORNERS, PLACES

ON = dict(zip(PLACES, ("S01", "S02", "M05", "M06", "M07"), strict=False))


@pytest.fixture(scope="module")
def driven(saldrey, entries_of):
    bodies = [
        {"kind": "fitting", "place": "start", "fitting": ON},
        {"kind": "as_found", "place": "A", "fitting": ON},
    ]
    return replay(saldrey, entries_of(bodies))


@pytest.mark.parametrize("left", [2.0, 6.0, 30.0])
def test_the_short_call_fits_the_minutes_left(saldrey, driven, left):
    options = CallOptions(scenarios=1, minutes_left=left)
    made = answer_at(saldrey, driven, options, has_book=True)
    short = made.result.short_call
    assert short is not None
    assert short.minutes <= left
    assert short.minutes == work_min(work_of(ON, short.plan.fitting), 2)
    changed = sum(ON[c] != short.plan.fitting[c] for c in CORNERS)
    assert changed == short.wheels
    assert short.loss_s >= 0


def test_minutes_never_make_the_full_call_smaller(saldrey, driven):
    free = answer_at(saldrey, driven, CallOptions(scenarios=1), has_book=True)
    hurried = answer_at(
        saldrey, driven, CallOptions(scenarios=1, minutes_left=2.0), has_book=True
    )
    assert hurried.result.plan[0].fitting == free.result.plan[0].fitting


def test_the_rules_speak_of_the_proposal(saldrey, driven):
    made = answer_at(saldrey, driven, CallOptions(scenarios=1, minutes_left=1.0), has_book=True)
    assert not [m for m in made.messages if m.level == "stops"]
    need = work_min(work_of(ON, made.result.plan[0].fitting), 2)
    late = [m for m in made.messages if m.code == "PLC-3"]
    assert bool(late) is (need > 1)
    if late:
        assert late[0].values["needed_min"] == need
