"""Wheels brought to a zone in case a puncture before it takes one that is planned there."""

from dataclasses import replace

import pytest
from scipy.stats import poisson

from crewdesk.engine.groups import lineup
from crewdesk.engine.judge import judge
from crewdesk.engine.problem import Choices
from crewdesk.engine.reserve import MOST, losses
from crewdesk.engine.solve import propose
from crewdesk.engine.wheels import rims_for
from tests.unit.engine.made import made_problem, made_rules, made_tyre

BLOCK = {"compound": "block", "maker": "block", "structure": "block"}
ON = ("FL", "FR", "RL", "RR")


def _problem(others, *, rules=None, lost_s=900.0, **more):
    """Return a service and a zone behind it, four used softs that can do both loops."""
    tyres = [
        made_tyre(f"S{i}", counted=True, ever_fitted=True, compound="soft", rim_id=f"R{i:02d}")
        for i in range(1, 5)
    ]
    return made_problem(
        [*tyres, *others],
        ((12.0, 11.0), (9.0,)),
        kinds=("service", "zone"),
        rules=rules or made_rules(axle_mix=BLOCK, spare_max=0),
        settings={"wheel_lost_s": lost_s, "new_tyre_worth_s": 60},
        air_c=6.0,
        scenarios=3,
        **more,
    )


def _soft(name="S5", **how):
    return made_tyre(name, "soft", tread_mm=7.0, edge=0.6, new=False, counted=True, **how)


def _at_zone(problem, plan, lost):
    """Return the call in the zone of a car that lost corners in the loop before."""
    aboard = {t: p for p, t in plan[0].fitting.items() if t}
    flat = {plan[0].fitting[p] for p in lost}
    tyres = tuple(
        replace(
            t,
            on_car=aboard.get(t.stock.tyre_id),
            in_zone=t.stock.tyre_id in plan[1].bring,
            usable=t.stock.tyre_id not in flat,
            unusable_why="DMG-1 punctured" if t.stock.tyre_id in flat else "",
        )
        for t in problem.tyres
    )
    return propose(replace(problem, tyres=tyres, places=problem.places[1:]), effort="quick")


def test_losses_are_apart_and_make_up_the_whole_with_the_rarer_ones():
    hazard = [0.03, 0.05, 0.02, 0.04]
    found = losses(hazard)
    assert len({loss.corners for loss in found}) == 10
    # Poisson counts of four corners: none, one or two of them hit; three or four are left out.
    hit = [1.0 - poisson.pmf(0, h) for h in hazard]
    whole = sum(loss.chance for loss in found) + poisson.pmf(0, sum(hazard))
    three_or_four = 0.0
    for mask in range(16):
        if mask.bit_count() >= 3:
            chance = 1.0
            for corner, p in enumerate(hit):
                chance *= p if mask >> corner & 1 else 1.0 - p
            three_or_four += chance
    assert whole + three_or_four == pytest.approx(1.0, abs=1e-12)


def test_one_more_of_the_kind_goes_along_and_saves_the_day():
    problem = _problem([_soft(), made_tyre("H1", "hard")])
    result = propose(problem, effort="quick")
    zone = result.plan[1]
    assert [wheel.tyre for wheel in zone.reserve] == ["S5"]
    assert zone.bring[-1] == "S5"
    (wheel,) = zone.reserve
    assert wheel.corners == ON
    assert 0.0 < wheel.chance < 1.0
    assert wheel.saves_s == pytest.approx(wheel.chance * 900.0, rel=0.2)
    assert zone.bring_rims["S5"] not in set(zone.rims.values())
    for corner in ON:
        assert _at_zone(problem, result.plan, [corner]).plan
    bare = (result.plan[0], replace(zone, bring=()))
    assert not _at_zone(problem, bare, ["FL"]).plan


def test_two_of_another_kind_go_where_an_axle_must_be_alike():
    problem = _problem([made_tyre("H1", "hard"), made_tyre("H2", "hard")])
    result = propose(problem, effort="quick")
    assert {w.tyre for w in result.plan[1].reserve} == {"H1", "H2"}
    assert _at_zone(problem, result.plan, ["RR"]).plan


def test_one_of_another_kind_that_could_go_beside_none_stays():
    result = propose(_problem([made_tyre("H1", "hard")]), effort="quick")
    assert result.plan[1].reserve == ()
    assert result.plan[1].bring == ()


def test_where_an_axle_may_be_mixed_one_of_another_kind_goes():
    rules = made_rules(axle_mix={**BLOCK, "compound": "warn"}, spare_max=0)
    result = propose(_problem([made_tyre("H1", "hard")], rules=rules), effort="quick")
    assert [w.tyre for w in result.plan[1].reserve] == ["H1"]


@pytest.mark.parametrize(
    "more",
    [
        {"lost_s": 0.0},
        {"rims": {f"R{i:02d}": "7Jx15" for i in range(1, 5)}},
        {"bans": frozenset({"S5"})},
    ],
)
def test_none_goes_where_it_saves_nothing_has_no_rim_or_is_banned(more):
    bans = more.pop("bans", frozenset())
    problem = replace(_problem([_soft()], **more), choices=Choices(bans=bans))
    result = propose(problem, effort="quick")
    assert result.plan
    assert result.plan[1].reserve == ()


def test_a_reserve_keeps_the_limits_of_the_event():
    # One that counts already may come; a fifth tyre of four may not be fitted in the zone.
    for limit, other, goes in ((5, _soft(), True), (4, made_tyre("N5", "soft"), False)):
        rules = made_rules(axle_mix=BLOCK, spare_max=0, qty_total=limit)
        result = propose(_problem([other], rules=rules), effort="quick")
        assert bool(result.plan[1].reserve) is goes


def test_no_more_go_along_than_a_car_carries_and_the_cost_stays():
    problem = _problem([_soft(f"S{i}") for i in range(5, 10)])
    result = propose(problem, effort="quick")
    zone = result.plan[1]
    assert 1 <= len(zone.reserve) <= MOST
    aboard = set(result.plan[0].fitting.values()) | set(zone.fitting.values())
    assert not aboard & {w.tyre for w in zone.reserve}
    judged = judge(problem, [loop.fitting for loop in result.plan])
    assert judged.objective.total_s == pytest.approx(result.objective.total_s, abs=1e-9)
    assert judged.plan[1].reserve == zone.reserve


def test_at_a_zone_itself_nothing_more_can_come():
    problem = _problem([_soft()])
    result = propose(replace(problem, places=problem.places[1:]), effort="quick")
    assert result.plan[0].reserve == result.plan[0].bring == ()


def test_no_rim_is_given_twice_where_the_book_has_moved_it_to_another_tyre():
    # R01 was under A1 by the stock table; by the book B1 is on it now.
    moved = replace(_soft("A1", rim_id="R01"), rim_id="")
    problem = _problem([moved, _soft("B1")])
    tyres = tuple(
        replace(t, rim_id="R09") if t.stock.tyre_id == "S1" else t for t in problem.tyres
    )
    tyres = tuple(replace(t, rim_id="R01") if t.stock.tyre_id == "B1" else t for t in tyres)
    problem = replace(problem, tyres=tyres)
    crew = lineup(problem)
    fit = (*(crew.index(t) for t in ("A1", "B1", "S3", "S4")), -1, -1)
    (rims,) = rims_for(problem, crew, [fit], [False]).by_place
    assert rims["FR"] == "R01"
    assert len(set(rims.values())) == 4
