"""Loops worked out once: pressures, heat on the way, paths, planes."""

import numpy as np
import pytest

from crewdesk.engine.course import Course, below_share
from crewdesk.engine.evaluate import Evaluator
from crewdesk.engine.groups import lineup, natural_key
from crewdesk.engine.limits import limits
from crewdesk.engine.planes import Planes
from crewdesk.engine.search import Search
from crewdesk.engine.tables import mean_conditions
from crewdesk.engine.tail import mean_of_worst, tail_weights
from crewdesk.engine.tree import Grower
from tests.unit.engine.made import made_problem, made_rules, made_tyre


def _parts(**changes):
    tyres = [made_tyre(f"A{i}", "soft") for i in (1, 2, 3)]
    tyres += [made_tyre("B1", "hard", tread_mm=7.0, edge=(0.6, 0.4, 0.5), side_run="left")]
    tyres += [made_tyre("B2", "hard", tread_mm=7.0, edge=(0.6, 0.4, 0.5), side_run="left")]
    problem = made_problem(tyres, ((12.0, 9.0), (), (11.0,)), **changes)
    tyres_ = lineup(problem)
    return problem, tyres_, Course(problem, tyres_, problem.conditions)


def test_the_cold_pressure_leads_to_the_hot_target_at_the_longest_stage():
    _, tyres, course = _parts(scenarios=1, spread_c=0.0)
    table = course.tables.loops[0]
    # The first stage is the longest; a tyre at air temperature starts the loop.
    hot = []
    for corner in (0, 1):
        _, stages = course.run_of(0, tyres.tyres[0], corner, course.start_of(tyres.tyres[0]))
        hot.append(float(stages[0].p_hot_kpa[0, 0]))
    # Cold pressures are printed in whole kPa: half of one, warmed up, is the most it is off.
    assert np.mean(hot) == pytest.approx(table.target_kpa, abs=0.7)


def test_a_loop_without_stages_is_time_to_cool():
    _, tyres, course = _parts()
    assert course.n_loops == 2
    start = course.start_of(tyres.tyres[0])
    run, stages = course.run_of(0, tyres.tyres[0], 0, start)
    at_stop = float(stages[-1].state.tread_c[0].mean())
    at_next = float(run.state.tread_c[0].mean())
    air = float(course.tables.loops[1].tables[0].air_c.mean())
    assert air - 1.0 < at_next < at_stop


def test_the_tree_and_the_evaluator_agree():
    _, tyres, course = _parts()
    tree = Grower(course, tyres.groups, single=False).grow()
    evaluator = Evaluator(course, tyres)
    for path in range(0, tree.size, 3):
        group = tyres.groups[int(tree.leaf_group[path])]
        steps = tree.steps(path)
        for loop, step in enumerate(steps):
            if step < 4:
                exact = evaluator.step(group.members[0], steps[: loop + 1])
                row = tree.rows[loop, path]
                np.testing.assert_allclose(tree.mu[loop][row], exact.run.mu[0], rtol=1e-12)
                np.testing.assert_allclose(
                    tree.hazard[loop][row], exact.run.hazard[0], rtol=1e-12
                )


def test_a_used_tyre_on_the_other_side_turns_its_fresher_edge_forward():
    _, tyres, course = _parts()
    evaluator = Evaluator(course, tyres)
    used = tyres.index("B1")
    left = evaluator.step(used, (0,)).run.mu[0, 0]
    right = evaluator.step(used, (1,)).run.mu[0, 0]
    # Braking (1) has the sharper edge on the left, driving (2) on the right.
    assert np.all(left[:, 1] > left[:, 2])
    assert np.all(right[:, 1] < right[:, 2])


def test_planes_lie_below_every_plan():
    problem, tyres, course = _parts(rules=made_rules(spare_max=1))
    search = Search(course, tyres, limits(problem, tyres))
    draw = np.random.default_rng(5)
    weights = np.full(course.n_scenarios, 1.1 / course.n_scenarios)
    mass = [course.spec(g.tyre).mass_kg for g in tyres.groups]
    planes = Planes(course, search.tree, search.limits, search.patterns, mass, weights)
    tree = search.tree
    for loop in range(course.n_loops):
        at = [np.flatnonzero(tree.corner[loop] == c) for c in range(4)]
        for _ in range(30):
            touch = [int(draw.choice(a)) for a in at]
            other = [int(draw.choice(a)) for a in at]
            mu, far = (
                np.stack([tree.mu[loop][r] for r in rows], axis=2) for rows in (touch, other)
            )
            p, q = draw.integers(len(search.patterns[loop]), size=2)
            kg = planes.added_kg(search.patterns[loop][p])
            plane = planes.time_plane(loop, mu, kg)
            for rows, grips, pattern, exact in (
                (touch, mu, p, True),
                (other, far, q, False),
            ):
                low = plane.slope_s[rows].sum() + plane.const_s[pattern]
                added = planes.added_kg(search.patterns[loop][pattern])
                true = float(course.time_s(loop, grips[None], added)[0] @ weights)
                assert low <= true + 1e-7
                if exact:
                    assert low == pytest.approx(true, abs=1e-7)
            front, rear = planes.axle_hazards(loop, touch)
            cut = planes.puncture_plane(loop, int(p), front, rear)
            hazard = np.stack([tree.hazard[loop][r] for r in other], axis=-1)
            n = len(search.patterns[loop][q].spares)
            cost = course.punctures_s(loop, hazard, np.ones((n, 4), dtype=bool))
            low = cut.slope_s[other].sum() + cut.const_s[q]
            assert low <= float(cost @ weights) + 1e-7


def test_the_weights_of_the_tail_bound_every_other_cost():
    draw = np.random.default_rng(2)
    for _ in range(50):
        one, two = draw.normal(100.0, 5.0, (2, 23))
        weights = tail_weights(one, 0.3)
        assert one @ weights == pytest.approx(one.mean() + 0.3 * mean_of_worst(one))
        assert two @ weights <= two.mean() + 0.3 * mean_of_worst(two) + 1e-9


def test_the_best_estimate_is_one_scenario():
    problem, *_ = _parts()
    simple = mean_conditions(problem.conditions)
    assert simple.air_c.shape[0] == 1
    np.testing.assert_allclose(simple.air_c[0], problem.conditions.air_c.mean(axis=0))


def test_the_chance_of_too_little_tread_rises_with_the_loss():
    chances = [below_share(6.0, loss, 1.6, 0.48, 0.1) for loss in (0.0, 1.0, 3.0, 4.4, 6.0)]
    assert chances == sorted(chances)
    assert chances[0] == 0.0
    assert below_share(1.5, 0.1, 1.6, 0.48, 0.1) == 1.0
    assert chances[3] == pytest.approx(0.5)


def test_ids_sort_as_people_count():
    assert sorted(["H10", "H2", "H1", "A3"], key=natural_key) == ["A3", "H1", "H2", "H10"]
