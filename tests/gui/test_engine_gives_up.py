"""What nobody waits for any more is left at once, wherever the work is."""

from dataclasses import dataclass
from multiprocessing import Pipe

import pytest

from crewdesk.engine.course import Course
from crewdesk.engine.groups import lineup
from crewdesk.engine.limits import limits
from crewdesk.engine.search import Search
from crewdesk.engine.solve import propose
from crewdesk.gui.engine_worker import _one
from tests.benchmarks.instances import Size, instance


@dataclass
class Newest:
    """Number of the newest request."""

    value: int


def test_work_that_only_asks_and_never_looks_is_left() -> None:
    newest = Newest(1)
    asked: list[int] = []

    def work(*arguments: object) -> str:
        *_, stop, _ = arguments
        for turn in range(1000):
            asked.append(turn)
            if turn == 7:
                newest.value = 2
            stop()  # type: ignore[operator]
        return "done"

    here, _ = Pipe()
    told = _one(here, newest, work, 1, (None, None, None, None))  # type: ignore[arg-type]
    assert told == ("stopped", 1, None)
    assert len(asked) == 8


class GivenUpError(Exception):
    """Raised from where the engine asks."""


@pytest.mark.parametrize("after", [1, 3])
def test_growing_the_paths_can_be_left(after: int) -> None:
    problem = instance(Size(12, 3), 0)
    tyres = lineup(problem)
    course = Course(problem, tyres, problem.conditions)
    asked: list[int] = []

    def ask() -> bool:
        asked.append(1)
        if len(asked) == after:
            raise GivenUpError
        return False

    with pytest.raises(GivenUpError):
        Search(course, tyres, limits(problem, tyres), ask=ask)
    assert len(asked) == after


def test_before_there_is_any_plan_the_call_can_be_left() -> None:
    told: list[object] = []
    asked: list[int] = []

    def stop() -> bool:
        asked.append(1)
        if len(asked) > 40:
            raise GivenUpError
        return False

    with pytest.raises(GivenUpError):
        propose(instance(Size(24, 6), 0), stop=stop, on_progress=told.append)
    assert not told
    assert len(asked) == 41


def test_who_has_only_run_out_of_time_still_gets_a_plan() -> None:
    result = propose(instance(Size(12, 3), 0), stop=lambda: True)
    assert result.plan
