"""The call on small events, step by step."""

from dataclasses import replace

import pytest

from crewdesk.engine.judge import judge
from crewdesk.engine.problem import Choices
from crewdesk.engine.solve import propose
from crewdesk.errors import EngineError
from tests.unit.engine.made import made_problem, made_rules, made_tyre

BLOCK = {"compound": "block", "maker": "block", "structure": "block"}


def _eight():
    return [made_tyre(f"{c[0].upper()}{i}", c) for c in ("soft", "hard") for i in range(1, 5)]


def test_a_loop_without_stages_takes_counted_tyres_and_costs_nothing():
    problem = made_problem(_eight(), ((12.0,), (), (11.0,)))
    result = propose(problem)
    assert [loop.place for loop in result.plan] == ["start", "P1", "P2"]
    quiet = result.plan[1]
    used = {t for loop in (result.plan[0], result.plan[2]) for t in loop.fitting.values()}
    assert {t for t in quiet.fitting.values() if t} <= used
    assert quiet.expected_s == 0.0
    assert quiet.tread_end_mm == {}
    assert quiet.cold_pressure_kpa["FL"] == result.plan[0].cold_pressure_kpa["FL"]


def test_a_call_at_a_place_whose_loop_has_no_stages():
    problem = made_problem(_eight(), ((), (12.0,)), locks={"RR": "H4"})
    result = propose(problem)
    assert result.plan[0].fitting["RR"] == "H4"
    assert all(result.plan[0].fitting[c] for c in ("FL", "FR", "RL", "RR"))


def test_wheels_for_a_zone_are_named_at_the_zone():
    problem = made_problem(
        _eight(),
        ((14.0,), (14.0,)),
        kinds=("start", "zone"),
        rules=made_rules(axle_mix=BLOCK, spare_min=1),
    )
    result = propose(problem)
    first, zone = result.plan
    aboard = {t for t in first.fitting.values() if t}
    new = {t for t in zone.fitting.values() if t} - aboard
    assert set(zone.bring) - {wheel.tyre for wheel in zone.reserve} == new
    assert first.bring == ()


def test_at_a_zone_only_what_is_there_can_be_fitted():
    tyres = [
        made_tyre(t, c, on_car=p, counted=True, ever_fitted=True)
        for t, c, p in (
            ("S1", "soft", "FL"),
            ("S2", "soft", "FR"),
            ("S3", "soft", "RL"),
            ("S4", "soft", "RR"),
        )
    ]
    tyres += [made_tyre("H1", "hard"), made_tyre("H2", "hard", in_zone=True)]
    problem = made_problem(tyres, ((14.0,),), kinds=("zone",), air_c=35.0)
    result = propose(problem)
    assert "H1" not in result.plan[0].fitting.values()
    judged = judge(problem, [{"FL": "H1", "FR": "S2", "RL": "S3", "RR": "S4"}])
    assert "PLC-4" in {b.code for b in judged.breaches}


def test_the_short_call_changes_few_wheels():
    worn = [
        made_tyre(f"S{i}", "soft", tread_mm=5.0, edge=0.3, on_car=p, counted=True)
        for i, p in enumerate(("FL", "FR", "RL", "RR"), 1)
    ]
    new = [made_tyre(f"H{i}", "hard") for i in range(1, 6)]
    problem = made_problem(
        [*worn, *new],
        ((14.0, 12.0), (12.0,)),
        kinds=("service", "service"),
        air_c=34.0,
        settings={"new_tyre_worth_s": 1},
    )
    result = propose(problem)
    changed = [
        c
        for i, c in enumerate(("FL", "FR", "RL", "RR"), 1)
        if result.plan[0].fitting[c] != f"S{i}"
    ]
    assert len(changed) == 4
    short = result.short_call
    assert short.wheels <= 2
    assert short.loss_s > 0.0
    kept = [
        c for i, c in enumerate(("FL", "FR", "RL", "RR"), 1) if short.plan.fitting[c] == f"S{i}"
    ]
    assert len(kept) >= 2


def test_with_nothing_on_the_car_the_short_call_is_the_call():
    result = propose(made_problem(_eight(), ((12.0,),)))
    assert result.short_call.loss_s == 0.0
    assert result.short_call.plan == result.plan[0]


@pytest.mark.parametrize(
    ("changes", "codes"),
    [
        ({"rules": made_rules(qty_total=3)}, {"QTY-1"}),
        ({"rules": made_rules(caps={"soft": 2, "hard": 1})}, {"QTY-2"}),
        ({"rules": made_rules(tread_min_mm=9.4)}, {"TRD-1"}),
        ({"bans": frozenset({"soft", "H1"})}, {"BAN-1"}),
        ({"locks": {"FL": "S1", "FR": "H1"}, "rules": made_rules(axle_mix=BLOCK)}, {"LCK-1"}),
        ({"rules": made_rules(qty_total=4, spare_min=1)}, {"SPR-1"}),
    ],
)
def test_without_a_plan_it_says_what_to_lift(changes, codes):
    result = propose(made_problem(_eight(), ((12.0,), (11.0,)), **changes))
    assert result.plan == ()
    assert result.objective is None
    assert {lift.code for lift in result.lift} == codes
    assert all(lift.what for lift in result.lift)


def test_tyres_held_back_by_a_rule_are_named():
    tyres = [made_tyre(f"S{i}", "soft") for i in (1, 2, 3)]
    tyres.append(made_tyre("S4", "soft", usable=False, why="MRK-1 has no mark"))
    result = propose(made_problem(tyres, ((12.0,),)))
    assert [lift.code for lift in result.lift] == ["MRK-1"]
    assert "S4" in result.lift[0].what


def test_a_lock_to_a_tyre_not_to_be_used_is_named():
    tyres = [*_eight(), made_tyre("X1", "soft", usable=False, why="QTY-3 shakedown")]
    result = propose(made_problem(tyres, ((12.0,),), locks={"FL": "X1"}))
    assert result.plan == ()
    assert [lift.code for lift in result.lift] == ["LCK-1"]
    assert "X1" in result.lift[0].what


def test_two_limits_at_once_are_both_named():
    rules = made_rules(qty_total=3, caps={"soft": 1, "hard": 2})
    result = propose(made_problem(_eight(), ((12.0,),), rules=rules))
    assert {lift.code for lift in result.lift} == {"QTY-1", "QTY-2"}


def test_progress_comes_early_and_only_gets_better():
    seen = []
    result = propose(made_problem(_eight(), ((12.0,), (11.0,))), on_progress=seen.append)
    totals = [r.objective.total_s for r in seen]
    assert totals
    assert totals == sorted(totals, reverse=True)
    assert result.objective.total_s <= totals[-1] + 1e-9


def test_stopped_at_once_it_still_answers():
    result = propose(made_problem(_eight(), ((12.0,), (11.0,))), stop=lambda: True)
    assert result.plan
    assert result.objective is not None


def test_a_fitting_that_breaks_rules_is_judged_with_its_breaches():
    problem = made_problem(
        [*_eight(), made_tyre("X1", "soft", usable=False, why="MRK-1 has no mark")],
        ((12.0,), (11.0,)),
        rules=made_rules(axle_mix=BLOCK, spare_min=1),
    )
    judged = judge(problem, [{"FL": "S1", "FR": "H1", "RL": "X1", "RR": "S2"}])
    assert {b.code for b in judged.breaches} >= {"AXL-1", "MRK-1", "SPR-1"}
    assert judged.completed
    assert judged.objective is not None


def test_a_fitting_with_a_hole_has_no_cost():
    problem = made_problem(_eight(), ((12.0,),))
    judged = judge(problem, [{"FL": "S1", "FR": "S2", "RL": "S3"}])
    assert judged.objective is None
    assert "DUP-1" in {b.code for b in judged.breaches}


def test_a_tyre_that_is_not_there_is_named():
    problem = made_problem(_eight(), ((12.0,),))
    with pytest.raises(EngineError, match="Z9"):
        judge(problem, [{"FL": "Z9", "FR": "S2", "RL": "S3", "RR": "S4"}])


def test_nothing_left_to_run_is_said():
    with pytest.raises(EngineError):
        propose(made_problem(_eight(), ((),)))


def test_a_flip_is_a_real_change_of_the_call():
    stock = [
        made_tyre(f"{c[0].upper()}{i}", c) for c in ("soft", "medium") for i in range(1, 6)
    ]
    problem = made_problem(
        stock,
        ((14.0,),),
        air_c=10.0,
        spread_c=0.5,
        scenarios=4,
        settings={"new_tyre_worth_s": 0},
    )
    result = propose(problem, with_flips=True)
    assert result.flips
    for flip in result.flips:
        by_c = flip.at - flip.now
        from crewdesk.engine.flips import STEP_C, shifted

        beyond = by_c + (STEP_C if by_c > 0 else -STEP_C)
        moved = replace(problem, conditions=shifted(problem.conditions, beyond))
        there = propose(moved, effort="quick")
        words = {t.stock.tyre_id: t.stock.compound for t in stock}
        kinds = {p: words[t] for p, t in there.plan[0].fitting.items() if t}
        assert kinds == dict(flip.then)
        own = {p: words[t] for p, t in result.plan[0].fitting.items() if t}
        assert kinds != own


def test_bans_and_locks_hold():
    problem = replace(
        made_problem(_eight(), ((12.0,), (11.0,))),
        choices=Choices({"SP1": "H2"}, frozenset({"S1"})),
    )
    result = propose(problem)
    assert result.plan[0].fitting["SP1"] == "H2"
    assert all("S1" not in loop.fitting.values() for loop in result.plan)


def test_the_rules_of_the_next_loop_are_listed():
    result = propose(made_problem(_eight(), ((12.0,),), rules=made_rules(qty_total=8)))
    codes = {check.code for check in result.rules}
    assert {"QTY-1", "AXL-1", "SPR-1", "TRD-1", "RIM-1", "MRK-1"} <= codes
    assert all(check.ok for check in result.rules if check.level == "stops")


def test_too_few_rims_make_no_plan_with_spares():
    rims = {f"R{i}": "7Jx15" for i in range(1, 5)}
    result = propose(made_problem(_eight(), ((12.0,),), rims=rims))
    assert result.plan[0].fitting["SP1"] is None
    assert set(result.plan[0].rims.values()) == set(rims)
