"""What is asked of the engine on a simulated day where the tyres cannot last."""

import pytest

from crewdesk.desk.backtest.policies import Engine
from crewdesk.engine.solve import propose
from tests.unit.engine.made import made_problem, made_rules, made_tyre


@pytest.mark.parametrize("tread_mm", [3.0, 2.0])
def test_where_nothing_keeps_the_least_tread_the_car_still_goes_on(tread_mm: float) -> None:
    tyres = [made_tyre(f"S{n}", "soft", tread_mm=tread_mm) for n in range(6)]
    problem = made_problem(tyres, ((30.0, 30.0), (30.0,)), rules=made_rules())
    strict = propose(problem, effort="quick")
    assert not strict.plan
    assert [lift.code for lift in strict.lift] == ["TRD-1"]
    told = Engine().answer(problem)
    assert len(told.plan) == 2
    assert min(min(mm) for loop in told.plan for mm in loop.tread_end_mm.values()) < 1.6


def test_what_is_short_of_tyres_still_has_no_plan() -> None:
    tyres = [made_tyre(f"S{n}", "soft") for n in range(3)]
    assert not Engine().answer(made_problem(tyres, ((10.0,),), rules=made_rules())).plan
