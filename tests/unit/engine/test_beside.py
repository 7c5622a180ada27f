"""What stands beside the call: flips of every kind, a reading, answers, limits."""

from dataclasses import replace

import numpy as np
import pytest

from crewdesk.conditions.moments import STATES
from crewdesk.engine.beside import beside
from crewdesk.engine.judge import judge
from crewdesk.engine.master import Master, StoppedError
from crewdesk.engine.moving import movings
from crewdesk.engine.pool import Pool, few, taken
from crewdesk.engine.reading import reading_worth
from crewdesk.engine.recourse import kinds_of_loop, recourse
from crewdesk.engine.shadow import shadow_prices
from crewdesk.engine.solve import propose
from tests.unit.engine.made import made_problem, made_rules, made_tyre


def _stock(*counts):
    words = ("soft", "medium", "hard")
    return [
        made_tyre(f"{word[0].upper()}{i}", word)
        for word, n in zip(words, counts, strict=False)
        for i in range(1, n + 1)
    ]


def _day(**more):
    return made_problem(
        _stock(4, 5), ((12.0,), (12.0,)), scenarios=16, air_c=13.0, spread_c=5.0, **more
    )


@pytest.fixture(scope="module")
def wet_day():
    problem = _day(states=("dry", "wet"))
    return problem, propose(problem)


def test_answering_later_costs_no_more_than_the_plan_held_fixed(wet_day):
    problem, result = wet_day
    found = recourse(problem, result)
    assert len(kinds_of_loop(problem)) >= 2
    assert found.bound_s <= found.objective_s <= result.objective.total_s + 1e-9


def test_answering_never_beats_knowing_all_the_weather_from_the_start(wet_day):
    problem, result = wet_day
    alone = [
        replace(problem, conditions=taken(problem.conditions, np.array([row])))
        for row in range(problem.conditions.air_c.shape[0])
    ]
    known = [propose(p, effort="quick").objective.total_s for p in alone]
    assert recourse(problem, result).objective_s >= np.mean(known) - 0.05


def test_a_program_that_stays_unsolved_says_nothing_of_answering_later(wet_day, monkeypatch):
    problem, result = wet_day

    def unsolved(_master):
        raise StoppedError

    monkeypatch.setattr(Master, "_solved", unsolved)
    assert recourse(problem, result) is None


def test_the_next_fitting_is_one_for_every_kind_of_loop(wet_day):
    problem, _ = wet_day
    parts = kinds_of_loop(problem)
    total = np.sum(parts, axis=0)
    assert (total == 1).all()
    # Only the next loop's own weather tells the kinds apart, never that of later ones.
    column = problem.conditions.index("SS2")
    later = problem.conditions.road_c.copy()
    later[:, column] += np.linspace(-20.0, 20.0, later.shape[0])
    changed = replace(problem, conditions=replace(problem.conditions, road_c=later))
    for one, two in zip(parts, kinds_of_loop(changed), strict=True):
        assert (one == two).all()


def test_with_one_loop_left_there_is_nothing_to_answer():
    problem = made_problem(_stock(5, 5), ((12.0,),), scenarios=20)
    result = propose(problem, effort="proof")
    found = recourse(problem, result)
    assert (found.objective_s, found.best) == (result.objective.total_s, 0)


def test_the_numbers_beside_the_call_leave_the_call_as_it_is(wet_day):
    problem, result = wet_day
    told = beside(problem, result)
    if told.held_fixed is None:
        assert told.plan == result.plan
    again = judge(problem, [loop.fitting for loop in told.plan])
    assert again.objective.total_s == pytest.approx(told.objective.total_s, abs=1e-6)
    assert told.bound_s == result.bound_s
    assert told.recourse_objective_s <= told.objective.total_s + 1e-9
    assert {c.what for c in told.flip_charts} >= {"road", "rain", "new_tyre_worth"}
    for chart in told.flip_charts:
        assert all(len(line.seconds) == len(chart.values) for line in chart.lines)
        for at in range(len(chart.values)):
            assert min(line.seconds[at] for line in chart.lines) == 0.0
        now = chart.values.index(round(chart.now, 2))
        assert chart.lines[0].seconds[now] == pytest.approx(0.0, abs=1e-6)
    for flip in told.flips:
        assert flip.at != flip.now
        step = {"road": 0.5, "rain": 5.0, "new_tyre_worth": 0.5, "tread": 0.1}[flip.what]
        moved = abs(flip.at - flip.now) / step
        assert moved == pytest.approx(round(moved), abs=0.11)


def test_stopped_at_once_nothing_is_lost(wet_day):
    problem, result = wet_day
    told = beside(problem, result, stop=lambda: True)
    assert (told.plan, told.objective, told.flips) == (result.plan, result.objective, ())


def test_moving_the_chance_of_rain_moves_the_share_of_wet_weathers(wet_day):
    problem, result = wet_day
    rain = next(m for m in movings(problem, result) if m.what == "rain")
    column = problem.conditions.index("SS1")
    for steps in (rain.low, 0, rain.high):
        moved = rain.to(problem, rain.step * steps)
        share = (moved.conditions.state[:, column] == STATES.index("wet")).mean()
        assert 100 * share == pytest.approx(rain.now + rain.step * steps)


def test_a_dearer_tyre_makes_the_call_keep_the_used_ones():
    used = [
        made_tyre(f"U{i}", "medium", tread_mm=8.6, edge=0.9, tread_sd_mm=0.05) for i in range(5)
    ]
    new = [made_tyre(f"N{i}", "medium") for i in range(5)]
    settings = {"new_tyre_worth_s": 1}
    problem = made_problem([*used, *new], ((12.0,),), scenarios=4, settings=settings)
    result = propose(problem)
    worth = next(m for m in movings(problem, result) if m.what == "new_tyre_worth")
    dear = propose(worth.to(problem, 19.0), effort="quick")

    def n_new(plan):
        return sum(plan[0].fitting[c].startswith("N") for c in ("FL", "FR", "RL", "RR"))

    assert n_new(dear.plan) < n_new(result.plan)
    told = beside(problem, result)
    flip = next(f for f in told.flips if f.what == "new_tyre_worth")
    assert 1.0 < flip.at <= 21.0
    here = propose(worth.to(problem, flip.at + 0.5 - 1.0), effort="quick")
    assert here.plan[0].fitting == dict(flip.fitting)


def test_a_tread_nobody_knows_is_the_reading_worth_most():
    doubt = [
        made_tyre(f"U{i}", "soft", tread_mm=3.4, edge=0.5, tread_sd_mm=1.0) for i in range(4)
    ]
    sure = [made_tyre(f"M{i}", "medium", tread_mm=3.6, edge=0.5) for i in range(5)]
    settings = {"new_tyre_worth_s": 0, "tread_risk_s": 0}
    problem = made_problem(
        [*doubt, *sure],
        ((14.0, 14.0),),
        scenarios=4,
        air_c=8.0,
        spread_c=0.1,
        settings=settings,
    )
    result = propose(problem)
    worth = reading_worth(problem, result, Pool(problem, result), propose)
    assert (worth.what, worth.tyre) == ("tread", "U0")
    # It can be worth no more than the best that any depth read could bring.
    assert 0.0 < worth.gain_s < result.alternatives[-1].loss_s
    known = replace(problem, tyres=tuple(replace(t, tread_sd_mm=0.05) for t in problem.tyres))
    again = propose(known)
    assert reading_worth(known, again, Pool(known, again), propose) is None


def test_a_limit_that_is_used_up_has_its_price():
    rules = made_rules(caps={"soft": 2}, axle_mix=dict.fromkeys(made_rules().axle_mix, "allow"))
    problem = made_problem(
        _stock(6, 0, 6),
        ((12.0,),),
        scenarios=4,
        air_c=2.0,
        road_above_c=1.0,
        rules=rules,
        settings={"new_tyre_worth_s": 0},
    )
    result = propose(problem)
    prices = shadow_prices(problem, result, propose)
    assert [p.values["code"] for p in prices] == ["QTY-2"]
    assert prices[0].seconds == 0.0
    more = replace(problem, rules=replace(rules, caps={"soft": 3}))
    gain = result.objective.total_s - propose(more).objective.total_s
    assert prices[0].values["worth_s"] == pytest.approx(gain, abs=0.02)
    free = replace(problem, rules=replace(rules, caps={"soft": 6}))
    assert shadow_prices(free, propose(free), propose) == ()


def test_few_scenarios_hold_cold_and_warm():
    problem = _day()
    fewer = few(problem, 4).conditions.road_c.mean(axis=1)
    every = problem.conditions.road_c.mean(axis=1)
    assert fewer.size == 4
    assert fewer.min() < np.median(every) < fewer.max()
    assert fewer.mean() == pytest.approx(every.mean(), abs=1.0)
