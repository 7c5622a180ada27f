"""The call against a whole-number program over all paths, solved by HiGHS, and brute force.

The program of `tests.benchmarks` without its wear grid: every tyre's every path through two
loops, nothing rounded; planes under the stage times are added until none lies under the answer.
It shares the physics with the engine, but not its search.
"""

import pytest

from crewdesk.engine.solve import propose
from tests.benchmarks.mip import NEAR_S, by_highs, solve
from tests.benchmarks.network import Network
from tests.reference.test_engine_brute_force import BLOCK, best_by_trying
from tests.unit.engine.made import made_problem, made_rules, made_tyre

SETTINGS = {"wheel_lost_s": 0.0, "wheel_change_s": 0.0, "new_tyre_worth_s": 3.0}
"""Punctures cost nothing, as the program takes their cost to be the same for all tyres."""


def _problem(n_tyres: int, air_c: float):
    tyres = [
        made_tyre("A1", "soft"),
        made_tyre("A2", "soft"),
        made_tyre("A3", "soft", tread_mm=7.1, edge=0.6),
        made_tyre("B1", "medium", tread_mm=(7.9, 8.2, 8.0), edge=(0.8, 0.7, 0.9)),
        made_tyre("B2", "medium"),
        made_tyre("B3", "medium", tread_mm=5.0, edge=0.5),
        made_tyre("A4", "soft", tread_mm=8.4, edge=(0.9, 0.5, 0.7), side_run="right"),
        made_tyre("B4", "medium", tread_mm=6.2, edge=0.4),
    ][:n_tyres]
    rules = made_rules(axle_mix=BLOCK, spare_min=1, spare_max=1, qty_total=min(n_tyres, 7))
    return made_problem(
        tyres, ((12.0,), (15.0,)), rules=rules, scenarios=1, air_c=air_c, settings=SETTINGS
    )


@pytest.mark.parametrize(("n_tyres", "air_c"), [(7, 9.0), (8, 20.0)])
def test_the_call_is_the_best_of_a_whole_number_program(n_tyres, air_c):
    problem = _problem(n_tyres, air_c)
    found = solve(Network(problem, None), by_highs, 60.0)
    result = propose(problem)
    assert found.proven
    assert found.illegal == 0
    assert result.complete
    assert result.objective.total_s == pytest.approx(found.value_s, abs=4 * NEAR_S)
    assert result.objective.total_s <= found.value_s + 1e-6


def test_the_program_and_brute_force_agree():
    problem = _problem(6, 14.0)
    least = best_by_trying(problem)
    found = solve(Network(problem, None), by_highs, 60.0)
    assert found.value_s == pytest.approx(least, abs=4 * NEAR_S)
    assert propose(problem).objective.total_s == pytest.approx(least, abs=1e-6)
