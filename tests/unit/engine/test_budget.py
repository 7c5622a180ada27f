"""Money for new tyres: a budget is never passed, and none forbids them."""

import pytest

from crewdesk.engine.solve import propose
from tests.unit.engine.made import made_problem, made_tyre


def _stock():
    new = [made_tyre(f"N{i}", "soft") for i in range(1, 6)]
    worn = [made_tyre(f"U{i}", "hard", tread_mm=6.5, edge=(0.5, 0.5, 0.5)) for i in range(1, 6)]
    return new + worn


@pytest.mark.parametrize(("budget", "most"), [(0.0, 0), (2.0 * 160.0, 2), (None, 6)])
def test_no_more_new_tyres_than_the_budget_buys(budget, most):
    stock = _stock()
    problem = made_problem(stock, ((12.0,), (9.0,)), air_c=5.0, settings={"budget": budget})
    result = propose(problem)
    used = {t for loop in result.plan for t in loop.fitting.values() if t}
    new = {t for t in used if t.startswith("N")}
    price = {t.stock.tyre_id: t.stock.price for t in stock}
    assert len(new) <= most
    if budget is None:
        assert len(new) >= 4  # cold, and softs are new: without a limit they are wanted
    else:
        assert sum(price[t] for t in new) <= budget
