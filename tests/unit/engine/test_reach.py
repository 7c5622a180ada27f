"""Short paths of long days: counted rightly, grown as said, and good for a plan."""

from itertools import product

import pytest

from crewdesk.engine.course import Course
from crewdesk.engine.groups import REST, lineup
from crewdesk.engine.judge import judge
from crewdesk.engine.limits import limits
from crewdesk.engine.reach import Kind, Reach, fewest, nearest, widest
from crewdesk.engine.search import Search
from crewdesk.engine.solve import propose
from tests.benchmarks.instances import Size, instance


@pytest.mark.parametrize("opens", [0, 2])
@pytest.mark.parametrize("n_corners", [1, 2, 4])
@pytest.mark.parametrize(("loops", "span"), [(1, 1), (2, 2), (2, 5), (3, 4), (5, 5)])
def test_the_count_is_that_of_all_paths_written_out(
    loops: int, span: int, n_corners: int, opens: int
) -> None:
    """Source of the reference: every path there is, one by one."""
    n_loops, found = 5, 0
    for steps in product(range(n_corners + 1), repeat=n_loops):
        on = [i for i, step in enumerate(steps) if step]
        near = not on or on[-1] - on[0] < span
        found += near and len(on) <= loops and all(i >= opens for i in on)
    assert Reach(loops, span).paths(n_loops, n_corners, opens) == found


def test_a_tree_holds_the_paths_within_reach_and_no_others() -> None:
    problem = instance(Size(8, 4), 1)
    tyres = lineup(problem)
    course = Course(problem, tyres, problem.conditions)
    bounds = limits(problem, tyres)
    whole = Search(course, tyres, bounds).tree
    short = Search(course, tyres, bounds, Reach(2, 3)).tree

    def within(steps: tuple[int, ...]) -> bool:
        on = [i for i, step in enumerate(steps) if step != REST]
        return len(on) <= 2 and (not on or on[-1] - on[0] < 3)

    wanted = {
        (int(whole.leaf_group[p]), whole.steps(p))
        for p in range(whole.size)
        if within(whole.steps(p))
    }
    held = {(int(short.leaf_group[p]), short.steps(p)) for p in range(short.size)}
    assert held == wanted
    for p in range(short.size):
        q = whole.find(int(short.leaf_group[p]), int(short.code[p]))
        assert short.own_s[p] == pytest.approx(whole.own_s[q], abs=1e-9)


def test_few_tyres_run_more_loops_each() -> None:
    assert fewest(9, [Kind(40, 4, 0)]) == Reach(2, 9)
    assert fewest(9, [Kind(6, 4, 0), Kind(6, 4, 0)]) == Reach(4, 9)
    assert nearest(20, [Kind(11, 4, 0)], 10_000) is None
    assert widest(20, [Kind(11, 4, 0)], 10_000) is None
    assert widest(9, [Kind(40, 4, 0)], 38_000) == Reach(3, 9)
    assert widest(9, [Kind(40, 4, 0)], 39_000) == Reach(4, 9)


def test_a_day_with_too_many_paths_has_a_good_plan_and_no_bound() -> None:
    """Source of the figure: CP-SAT of OR-Tools 9.15 found it in 60 s, HiGHS 1.16 none."""
    problem = instance(Size(40, 9), 0)
    told: list[float] = []

    def seen(result: object) -> None:
        told.append(result.objective.total_s)  # type: ignore[attr-defined]

    result = propose(problem, effort="proof", on_progress=seen)
    assert result.objective is not None
    assert result.objective.total_s < 9243.274
    assert result.bound_s is None
    assert not result.complete
    assert told == sorted(told, reverse=True)
    assert len(told) > 1
    assert judge(problem, [loop.fitting for loop in result.plan]).breaches == ()
