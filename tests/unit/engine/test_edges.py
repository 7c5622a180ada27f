"""Strange questions: each is answered in words or with a plan, by little work."""

from dataclasses import replace

import pytest

from crewdesk.engine.judge import judge
from crewdesk.engine.problem import Choices
from crewdesk.engine.solve import propose
from crewdesk.engine.warm import Memory
from tests.unit.engine.made import made_problem, made_rules, made_tyre

LITTLE = 40
"""Units of work: no clock is looked at."""


def _ask(problem, **how):
    return propose(problem, effort="quick", work_limit=LITTLE, **how)


def _tyres(n: int, compound: str = "soft", **how):
    return [made_tyre(f"{compound[0].upper()}{i}", compound, **how) for i in range(1, n + 1)]


def test_tyres_all_alike_are_taken_in_the_order_of_their_names():
    result = _ask(made_problem(_tyres(6), ((12.0,), (11.0,)), scenarios=2))
    assert [result.plan[0].fitting[c] for c in ("FL", "FR", "RL", "RR")] == [
        "S1",
        "S2",
        "S3",
        "S4",
    ]
    assert result.bound_s <= result.objective.total_s


def test_one_tyre_too_few_is_said_by_name():
    result = _ask(made_problem(_tyres(3), ((12.0,),), scenarios=2))
    assert result.plan == ()
    assert result.lift[-1].what == "only 3 tyres to be used"


def test_a_cap_that_history_broke_is_said_and_nothing_is_added_to_it():
    used = [replace(t, counted=True, ever_fitted=True) for t in _tyres(5)]
    problem = made_problem(
        [*used, *_tyres(2, "hard")],
        ((12.0,), (11.0,)),
        rules=made_rules(caps={"soft": 4}, qty_total=4),
        scenarios=2,
    )
    result = _ask(problem)
    assert {t for loop in result.plan for t in loop.fitting.values() if t} <= {
        t.stock.tyre_id for t in used
    }
    told = {c.code: c for c in result.rules if not c.ok}
    assert told["QTY-1"].level == told["QTY-2"].level == "watch"
    assert "this plan adds none" in told["QTY-1"].text
    assert judge(problem, [loop.fitting for loop in result.plan]).breaches == ()


def test_locks_that_contradict_each_other_name_a_lock_to_lift():
    block = {"compound": "block", "maker": "block", "structure": "block"}
    problem = made_problem(
        [*_tyres(4), *_tyres(4, "hard")],
        ((12.0,),),
        rules=made_rules(axle_mix=block),
        locks={"FL": "S1", "FR": "H1"},
        scenarios=2,
    )
    result = _ask(problem)
    assert result.plan == ()
    assert [lift.code for lift in result.lift] == ["LCK-1"]


def test_one_tyre_locked_to_two_places_is_not_fitted_twice():
    problem = made_problem(_tyres(5), ((12.0,),), scenarios=2)
    result = _ask(replace(problem, choices=Choices({"FL": "S1", "RR": "S1"})))
    assert result.plan == ()
    assert result.lift[0].code == "LCK-1"


def test_loops_without_stages_before_and_behind():
    result = _ask(made_problem(_tyres(6), ((), (12.0,), ()), scenarios=2))
    assert [loop.expected_s > 0.0 for loop in result.plan] == [False, True, False]


def test_three_hundred_tyres():
    stock = [
        made_tyre(f"{c[0].upper()}{i}", c)
        for c in ("soft", "medium", "hard")
        for i in range(100)
    ]
    result = _ask(made_problem(stock, ((12.0,), (11.0,)), scenarios=2))
    assert result.plan
    assert result.bound_s <= result.objective.total_s


def test_one_loop():
    assert _ask(made_problem(_tyres(5), ((12.0,),), scenarios=2)).gap_s <= 0.02


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"qty_per_leg": 3}, "QTY-1"),
        ({"qty_per_service": 3}, "QTY-1"),
        ({"prior_use_cap": 0}, "QTY-2"),
        ({"maker_locked": True}, "QTY-5"),
    ],
)
def test_a_limit_that_leaves_nothing_is_named(changes, code):
    stock = [
        made_tyre("U1", maker="Corlane", tread_mm=7.0, new=False),
        made_tyre("U2", maker="Corlane", tread_mm=7.0, new=False),
        made_tyre("U3", maker="Velbrand", tread_mm=7.0, new=False),
        made_tyre("U4", maker="Velbrand", tread_mm=7.0, new=False),
    ]
    problem = made_problem(
        stock, ((9.0,),), rules=made_rules(spare_max=0, **changes), scenarios=2
    )
    result = _ask(problem)
    assert result.plan == ()
    assert [lift.code for lift in result.lift] == [code]


def test_a_remote_place_has_what_was_carried():
    problem = made_problem(
        [*_tyres(6), *_tyres(6, "hard")],
        ((9.0,), (11.0,), (8.0,)),
        kinds=("start", "service", "service"),
        rules=made_rules(spare_max=2),
        scenarios=2,
    )
    places = list(problem.places)
    places[1] = places[1].model_copy(update={"remote": True})
    problem = replace(problem, places=tuple(places))
    result = _ask(problem)
    first, remote = ({t for t in loop.fitting.values() if t} for loop in result.plan[:2])
    assert remote <= first
    other = [dict(loop.fitting) for loop in result.plan]
    free = next(t.stock.tyre_id for t in problem.tyres if t.stock.tyre_id not in first)
    other[1]["FL"] = free
    assert "PLC-4" in {b.code for b in judge(problem, other).breaches}


def test_free_rain_tyres_and_replacements_leave_the_limit_alone():
    wets = _tyres(4, use="asphalt_wet", tread_mm=7.0, new=True)
    joker = replace(made_tyre("J1", "soft"), joker=True)
    problem = made_problem(
        [*wets, joker],
        ((9.0,),),
        rules=made_rules(qty_total=0, wets_count=False, joker_total=1, spare_min=1),
        scenarios=2,
    )
    assert _ask(problem).plan
    none_left = replace(problem, rules=replace(problem.rules, joker_total=0))
    assert {lift.code for lift in _ask(none_left).lift} & {"JOK-2", "SPR-1"}


def test_the_events_own_least_pressure_stands_beside_the_makers():
    problem = made_problem(
        _tyres(5), ((9.0,),), rules=made_rules(cold_min_kpa=260.0), scenarios=2
    )
    loop = _ask(problem).plan[0]
    assert set(loop.cold_pressure_kpa.values()) == {260.0}
    assert all(loop.floor_binds.values())


def test_what_was_learnt_of_a_stage_acts_on_that_stage():
    plain = made_problem(_tyres(4), ((9.0, 8.0),), rules=made_rules(spare_max=0), scenarios=2)
    twice = replace(
        plain,
        stage_wear_multiplier={("soft", "SS1"): 2.0},
        tyre_wear_sd={t.stock.tyre_id: 0.1 for t in plain.tyres},
    )
    plan = [{"FL": "S1", "FR": "S2", "RL": "S3", "RR": "S4"}]
    one, two = judge(plain, plan).plan[0], judge(twice, plan).plan[0]
    for tyre in ("S1", "S2", "S3", "S4"):
        before, after = one.stage_tread_mm[tyre], two.stage_tread_mm[tyre]
        lost, doubled = 9.5 - before[0][1], 9.5 - after[0][1]
        assert doubled == pytest.approx(2.0 * lost, rel=0.05)
        # The second stage keeps its own factor, on a tyre that is a little thinner by then.
        assert after[0][1] - after[1][1] == pytest.approx(before[0][1] - before[1][1], rel=0.15)
        assert after[1][3] - after[1][2] < before[1][3] - before[1][2]


def test_the_last_plan_is_told_first_after_a_small_change():
    memory = Memory()
    problem = made_problem([*_tyres(5), *_tyres(5, "hard")], ((12.0,), (11.0,)), scenarios=2)
    first = _ask(problem, memory=memory)
    worn = replace(problem.tyres[0], tread_mm=(9.2, 9.2, 9.2))
    changed = replace(problem, tyres=(worn, *problem.tyres[1:]))
    seen = []
    result = _ask(changed, memory=memory, on_progress=seen.append)
    assert [loop.fitting for loop in seen[0].plan] == [loop.fitting for loop in first.plan]
    assert seen[0].bound_s is None
    assert not seen[0].complete
    judged = judge(changed, [loop.fitting for loop in seen[0].plan])
    assert seen[0].objective.total_s == pytest.approx(judged.objective.total_s, abs=1e-9)
    assert result.objective.total_s <= seen[0].objective.total_s + 1e-9


def test_a_last_plan_that_breaks_a_rule_by_now_is_not_told():
    memory = Memory()
    problem = made_problem([*_tyres(5), *_tyres(5, "hard")], ((12.0,),), scenarios=2)
    first = _ask(problem, memory=memory)
    gone = first.plan[0].fitting["FL"]
    seen = []
    _ask(
        replace(problem, choices=Choices(bans=frozenset({gone}))),
        memory=memory,
        on_progress=seen.append,
    )
    assert all(gone not in r.plan[0].fitting.values() for r in seen)


def test_twenty_loops_are_planned_in_pieces():
    problem = made_problem(
        [*_tyres(6), *_tyres(6, "hard")],
        ((3.0,),) * 20,
        rules=made_rules(qty_total=11),
        scenarios=1,
    )
    result = _ask(problem)
    assert len(result.plan) == 20
    assert judge(problem, [loop.fitting for loop in result.plan]).breaches == ()
    assert result.bound_s is None
    assert not result.complete


def test_where_rims_are_short_for_a_zone_fewer_wheels_are_on_board():
    problem = made_problem(
        [*_tyres(6), *_tyres(6, "hard")],
        ((12.0,), (11.0,)),
        kinds=("start", "zone"),
        rules=made_rules(spare_max=2),
        rims={f"R{i}": "7Jx15" for i in range(1, 6)},
        scenarios=2,
    )
    result = _ask(problem)
    assert result.plan
    assert judge(problem, [loop.fitting for loop in result.plan]).breaches == ()
    assert result.bound_s <= result.objective.total_s


def test_lifting_a_ban_is_never_worse():
    problem = made_problem([*_tyres(5), *_tyres(5, "hard")], ((12.0,), (11.0,)), scenarios=2)
    banned = replace(problem, choices=Choices(bans=frozenset({"soft"})))
    free, held = _ask(problem), _ask(banned)
    assert free.bound_s <= held.objective.total_s
    assert free.objective.total_s <= held.objective.total_s + free.gap_s


def test_corners_that_no_tyre_may_go_on_are_told_without_a_sum_over_nothing():
    """All that warns is an error here: the mean over no grips was one."""
    problem = made_problem(_tyres(8, lock="left"), ((12.0,), (12.0,)), scenarios=2)
    result = _ask(problem)
    assert not result.plan
    assert result.complete
    assert "DIR-1" in [lift.code for lift in result.lift]
