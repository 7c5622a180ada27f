"""What must hold for every call: bounds, order, and which way it moves."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from crewdesk.engine.judge import judge
from crewdesk.engine.solve import propose
from tests.unit.engine.made import made_problem, made_rules, made_tyre

COMPOUNDS = ("soft", "medium", "hard")


def _stock():
    """Return nine tyres, new and worn, of three compounds."""
    return [
        made_tyre("S1", "soft"),
        made_tyre("S2", "soft"),
        made_tyre("S3", "soft", tread_mm=7.2, edge=0.6),
        made_tyre("M1", "medium"),
        made_tyre("M2", "medium"),
        made_tyre("M3", "medium", tread_mm=(6.8, 6.5, 6.1), edge=(0.5, 0.4, 0.45)),
        made_tyre("H1", "hard"),
        made_tyre("H2", "hard"),
        made_tyre("H10", "hard", tread_mm=6.0, edge=0.5),
    ]


def _problem(tyres=None, **changes):
    """Return three loops, one of them behind a zone."""
    return made_problem(
        _stock() if tyres is None else tyres,
        ((10.0, 8.0), (12.0,), (9.0,)),
        kinds=("start", "service", "zone"),
        rules=changes.pop("rules", made_rules(qty_total=8, spare_min=1)),
        **changes,
    )


def _random_plan(problem, draw):
    """Return a random fitting for every place."""
    ids = [t.stock.tyre_id for t in problem.tyres]
    plan = []
    for _ in problem.places:
        order = draw.permutation(ids)
        plan.append(dict(zip(("FL", "FR", "RL", "RR", "SP1"), map(str, order), strict=False)))
    return plan


@settings(max_examples=6, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_no_plan_without_a_breach_judges_below_the_bound(seed):
    problem = _problem(seed=seed % 7)
    result = propose(problem, effort="quick")
    draw = np.random.default_rng(seed)
    kept = 0
    for _ in range(60):
        judged = judge(problem, _random_plan(problem, draw))
        if not judged.breaches:
            kept += 1
            assert judged.objective.total_s >= result.bound_s - 1e-6
    assert result.bound_s <= result.objective.total_s + 1e-9
    assert kept > 0 or problem.rules.qty_total < 9


@pytest.mark.parametrize("seed", [3, 4])
def test_judging_the_own_plan_gives_the_own_objective(seed):
    problem = _problem(seed=seed)
    result = propose(problem)
    judged = judge(problem, [loop.fitting for loop in result.plan])
    assert judged.breaches == ()
    assert judged.objective.total_s == pytest.approx(result.objective.total_s, abs=1e-9)
    alone = judge(problem, [result.plan[0].fitting])
    assert alone.completed
    assert alone.objective.total_s == pytest.approx(result.objective.total_s, abs=0.05)
    for other in result.alternatives:
        assert other.loss_s >= 0.0
        again = judge(problem, [loop.fitting for loop in other.plan])
        assert again.objective.total_s == pytest.approx(other.objective_s, abs=1e-9)


@settings(max_examples=4, deadline=None)
@given(order=st.permutations(range(9)))
def test_the_order_of_the_rows_changes_nothing(order):
    stock = _stock()
    one = propose(_problem(stock))
    two = propose(_problem([stock[i] for i in order]))
    assert [loop.fitting for loop in one.plan] == [loop.fitting for loop in two.plan]
    assert one.objective == two.objective
    assert one.bound_s == two.bound_s
    assert [a.fitting for a in one.alternatives] == [a.fitting for a in two.alternatives]


def test_asking_twice_gives_the_same():
    one, two = propose(_problem()), propose(_problem())
    assert one == two


def test_more_tyres_and_wider_limits_are_never_worse():
    base = propose(_problem(rules=made_rules(qty_total=6, spare_min=1)))
    wider = propose(_problem(rules=made_rules(qty_total=9, spare_min=1)))
    more = propose(
        _problem(
            [*_stock(), made_tyre("M4", "medium")],
            rules=made_rules(qty_total=6, spare_min=1),
        )
    )
    assert wider.objective.total_s <= base.objective.total_s + 0.011
    assert more.objective.total_s <= base.objective.total_s + 0.011


def test_the_reasons_add_up_to_the_lead():
    result = propose(_problem())
    lead = result.alternatives[0].loss_s
    assert sum(r.seconds for r in result.reasons) == pytest.approx(lead, abs=1e-6)
    kinds = {r.kind for r in result.reasons}
    assert kinds == {
        "temperature",
        "wear",
        "balance",
        "spare_mass",
        "punctures",
        "money",
        "later_loops",
        "worst_tenth",
    }


def _hardness(result) -> float:
    """Return the mean hardness of the first fitting, 0 soft to 2 hard."""
    fitting = result.plan[0].fitting
    ranks = [
        COMPOUNDS.index({"S": "soft", "M": "medium", "H": "hard"}[fitting[c][0]])
        for c in ("FL", "FR", "RL", "RR")
    ]
    return float(np.mean(ranks))


def test_hotter_moves_from_soft_to_hard():
    stock = [made_tyre(f"{c[0].upper()}{i}", c) for c in COMPOUNDS for i in range(1, 6)]
    found = []
    for air_c in (0.0, 12.0, 24.0, 38.0):
        problem = made_problem(
            stock, ((14.0, 11.0),), air_c=air_c, spread_c=1.0, settings={"new_tyre_worth_s": 1}
        )
        found.append(_hardness(propose(problem, effort="quick")))
    assert found == sorted(found)
    assert found[0] < 0.5
    assert found[-1] > 1.5


def test_dearer_tyres_move_to_used_ones():
    new = [made_tyre(f"N{i}", "medium") for i in range(1, 6)]
    used = [
        made_tyre(f"U{i}", "medium", tread_mm=7.5, edge=0.6, new=False) for i in range(1, 6)
    ]
    counts = []
    for worth in (0, 5, 60):
        problem = made_problem(
            [*new, *used],
            ((14.0,),),
            settings={"new_tyre_worth_s": worth, "tread_risk_s": 0},
        )
        fitting = propose(problem, effort="quick").plan[0].fitting
        counts.append(sum(fitting[c].startswith("U") for c in ("FL", "FR", "RL", "RR")))
    assert counts == sorted(counts)
    assert counts[0] == 0
    assert counts[-1] == 4


def test_where_the_minimum_binds_the_deeper_tyres_go_where_the_wear_is():
    worn = [
        made_tyre("A1", "soft", tread_mm=3.4, edge=0.5, new=False),
        made_tyre("A2", "soft", tread_mm=3.4, edge=0.5, new=False),
        made_tyre("B1", "soft", tread_mm=2.9, edge=0.5, new=False),
        made_tyre("B2", "soft", tread_mm=2.9, edge=0.5, new=False),
    ]
    problem = made_problem(
        worn,
        ((14.0, 12.0),),
        air_c=14.0,
        settings={"tread_risk_s": 0},
        rules=made_rules(spare_max=0, tread_min_mm=1.6),
        right=(0.5,),
    )
    result = propose(problem)
    fitting = result.plan[0].fitting
    # The car of the test works its front tyres harder.
    assert {fitting["FL"], fitting["FR"]} == {"A1", "A2"}
    assert {fitting["RL"], fitting["RR"]} == {"B1", "B2"}
    swapped = {"FL": "B1", "FR": "B2", "RL": "A1", "RR": "A2"}
    judged = judge(problem, [swapped])
    assert {b.code for b in judged.breaches} == {"TRD-1"}


def test_a_heavier_tail_costs_no_less():
    light = propose(_problem(settings={"worst_tenth_weight": 0.0}), effort="quick")
    heavy = propose(_problem(settings={"worst_tenth_weight": 0.5}), effort="quick")
    assert light.objective.worst_tenth_s == 0.0
    assert heavy.objective.total_s > light.objective.total_s


def test_a_fixed_first_fitting_is_never_better_than_the_call():
    problem = _problem()
    result = propose(problem)
    locked = replace(problem, choices=type(problem.choices)({"FL": "H10"}))
    other = propose(locked, effort="quick")
    assert other.plan[0].fitting["FL"] == "H10"
    assert other.objective.total_s >= result.bound_s - 1e-6
