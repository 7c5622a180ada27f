"""No proposal breaks a limit that the rules keep: the rules themselves are asked."""

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from crewdesk.engine.judge import judge
from crewdesk.engine.solve import propose
from crewdesk.regulations.fitting import FittingCase, TyreFacts
from crewdesk.regulations.ledger import Ledger
from crewdesk.regulations.rules import check_all, stops
from tests.unit.engine.made import made_problem, made_rules, made_tyre


def _stock(joker: bool):
    """Return twelve tyres: two makers, three compounds, new and used, one a replacement."""
    tyres = [
        *(made_tyre(f"S{i}", "soft") for i in range(1, 5)),
        *(made_tyre(f"M{i}", "medium", maker="Velbrand") for i in range(1, 5)),
        *(made_tyre(f"U{i}", "soft", tread_mm=7.0, edge=0.6, new=False) for i in range(1, 3)),
        made_tyre("W1", "soft", use="asphalt_wet", tread_mm=7.0, new=True),
        made_tyre("J1", "soft"),
    ]
    if joker:
        tyres[-1] = replace(tyres[-1], joker=True)
    return tyres


@st.composite
def _problems(draw):
    """Return a question whose rules limit legs, places, makers, used tyres and spares."""
    of = st.sampled_from
    rules = made_rules(
        qty_total=draw(of([None, 6, 8])),
        caps=draw(of([{}, {"soft": 4}, {"soft": 6, "medium": 2}])),
        count_rule=draw(of(["fitted", "fitted_or_carried"])),
        qty_per_leg=draw(of([None, 5, 6])),
        qty_per_service=draw(of([None, 4, 5])),
        prior_use_cap=draw(of([None, 0, 1])),
        wets_count=draw(st.booleans()),
        maker_locked=draw(st.booleans()),
        joker_total=draw(of([0, 1])),
        spare_min=draw(of([0, 1])),
        spare_max=draw(of([1, 2])),
    )
    problem = made_problem(
        _stock(draw(st.booleans())),
        ((9.0,), (11.0,), (8.0,)),
        kinds=("start", "service", "service"),
        rules=rules,
        scenarios=2,
        settings={"new_tyre_worth_s": draw(of([0, 5]))},
    )
    legs = draw(of([(1, 1, 1), (1, 1, 2), (1, 2, 2)]))
    remote = draw(of([(), (1,), (2,), (1, 2)]))
    places = tuple(
        p.model_copy(update={"leg": leg, "remote": i in remote})
        for i, (p, leg) in enumerate(zip(problem.places, legs, strict=True))
    )
    return replace(problem, places=places)


def _said(problem, plan):
    """Return what the rules stop, asked at each place with what was counted before."""
    facts = {
        t.stock.tyre_id: TyreFacts(
            stock=t.stock,
            rim_id=t.rim_id,
            joker_for="T9" if t.joker else "",
            joker_sheet="J-1" if t.joker else "",
            approved_by="A. Name" if t.joker else "",
        )
        for t in problem.tyres
    }
    ledger = Ledger.start(problem.rules, facts)
    in_leg: dict[int, int] = {}
    before = None
    found = []
    for place, loop in zip(problem.places, plan, strict=True):
        case = FittingCase(
            rules=problem.rules,
            fitting=loop.fitting,
            tyres=facts,
            ledger=ledger,
            place=place,
            before=before,
            rims=problem.rims,
            rims_chosen={p: r for p, r in loop.rims.items() if loop.fitting.get(p)},
            cold_kpa=loop.cold_pressure_kpa,
            counted_this_leg=in_leg.get(place.leg, 0),
        )
        found += [(place.key, m.code, m.text) for m in stops(check_all(case, "fitting"))]
        new = ledger.newly_counted(loop.fitting, facts)
        in_leg[place.leg] = in_leg.get(place.leg, 0) + len(new)
        ledger = ledger.with_fitting(loop.fitting, facts)
        before = dict(loop.fitting)
    return found


@settings(max_examples=12, deadline=None)
@given(problem=_problems())
def test_the_rules_stop_no_proposal(problem):
    result = propose(problem, effort="quick", work_limit=60)
    if not result.plan:
        assert result.lift
        assert all(lift.code and lift.what for lift in result.lift)
        return
    assert _said(problem, result.plan) == []
    judged = judge(problem, [loop.fitting for loop in result.plan])
    assert judged.breaches == ()
    assert abs(judged.objective.total_s - result.objective.total_s) < 1e-6
    assert result.bound_s <= result.objective.total_s + 1e-9
