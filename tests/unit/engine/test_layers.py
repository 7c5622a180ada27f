"""Plans grown loop by loop: as good as trying all, and never under the true least cost."""

import numpy as np
import pytest

from crewdesk.engine.course import Course
from crewdesk.engine.groups import lineup
from crewdesk.engine.layers import FAR, Layers
from crewdesk.engine.limits import limits
from crewdesk.engine.master import Master, Priced
from crewdesk.engine.planes import Planes
from crewdesk.engine.search import Search
from crewdesk.engine.stems import Stems
from tests.benchmarks.instances import Size, instance
from tests.reference.test_engine_brute_force import best_by_trying


def ready(size: str, number: int, rounds: int) -> tuple[Search, Master, Planes, Priced]:
    """Return a search with its relaxed program at hand."""
    problem = instance(Size.read(size), number)
    tyres = lineup(problem)
    course = Course(problem, tyres, problem.conditions)
    search = Search(course, tyres, limits(problem, tyres))
    weights = np.full(1, 1.0 + search.valuer.weight)
    master, planes = search.master(weights), search.planes(weights)
    for loop in range(course.n_loops):
        master.add_cut(planes.puncture_plane(loop, None))
        master.add_cut(planes.opening_plane(loop))
    priced = master.relax()
    for _ in range(rounds):
        planes.tighten(master, priced)
        priced = master.relax()
    return search, master, planes, priced


def grower(search: Search, master: Master, planes: Planes, priced: Priced) -> Layers:
    """Return what grows plans."""
    return Layers(search.valuer, Stems(search.tree), search.limits, master, planes, priced)


@pytest.mark.parametrize("rounds", [0, 3])
@pytest.mark.parametrize("number", [0, 1, 2, 3])
def test_all_plans_under_a_cost_hold_the_best_of_all(number: int, rounds: int) -> None:
    """Source of the reference: every plan there is, tried one by one."""
    found = ready("6x2", number, rounds)
    search = found[0]
    best_s = best_by_trying(instance(Size.read("6x2"), number))
    grown = grower(*found).grow(10**6, below_s=best_s + 1.0)
    valued = [(least, search.valuer.value(paths)) for least, paths in grown.plans]
    kept = [(least, plan.total_s) for least, plan in valued if plan is not None]
    assert min(total for _, total in kept) == pytest.approx(best_s, abs=1e-6)
    assert all(least <= total + 1e-6 for least, total in kept)
    assert grown.bound_s == pytest.approx(best_s + 1.0)


def test_nothing_is_left_under_the_best() -> None:
    """A cost just under the best leaves no plan that keeps the rules."""
    found = ready("6x2", 1, 3)
    best_s = best_by_trying(instance(Size.read("6x2"), 1))
    grown = grower(*found).grow(10**6, below_s=best_s - 0.001)
    plans = [found[0].valuer.value(paths) for _, paths in grown.plans]
    assert all(plan is None or plan.total_s >= best_s - 1e-6 for plan in plans)


@pytest.mark.parametrize("width", [1, 5, 40])
def test_what_is_dropped_for_the_width_is_the_bound(width: int) -> None:
    """However narrow, no plan lies under the bound but those that were kept."""
    found = ready("12x3", 0, 3)
    wide = grower(*found).grow(10**5, below_s=found[3].value_s + 3.0)
    least_s = min(least for least, _ in wide.plans)
    narrow = grower(*found).grow(width, below_s=found[3].value_s + 3.0)
    kept_s = min((least for least, _ in narrow.plans), default=np.inf)
    assert min(narrow.bound_s, kept_s) <= least_s + 1e-6
    assert narrow.bound_s >= found[3].value_s - 1e-6
    ended = grower(*found).grow(width, below_s=found[3].value_s + 3.0, whole=True)
    assert ended.bound_s <= least_s + 1e-6


def test_closed_paths_are_in_no_plan() -> None:
    """A part of the plans is grown without those that it leaves out."""
    search, master, planes, priced = ready("12x3", 1, 3)
    paths = np.ones(search.tree.size, dtype=bool)
    whole = grower(search, master, planes, priced).grow(50)
    out = whole.plans[0][1][0]
    paths[out] = False
    patterns = tuple(np.ones(len(p), dtype=bool) for p in search.patterns)
    layers = Layers(
        search.valuer,
        Stems(search.tree),
        search.limits,
        master,
        planes,
        priced,
        (paths, patterns),
    )
    grown = layers.grow(50)
    assert grown.plans
    assert all(out not in plan for _, plan in grown.plans)
    assert all(least < priced.value_s + FAR / 2 for least, _ in grown.plans)
