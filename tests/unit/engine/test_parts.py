"""Stages whose parts differ: the table of the engine and what tyres make of it."""

import numpy as np
import pytest

from crewdesk.conditions.moments import STATES
from crewdesk.engine.specs import catalogue
from crewdesk.engine.tables import build_stage, mean_conditions
from tests.unit.engine.made import made_problem, made_rules, made_tyre


def stage_table(state, parts=(), *, surface="asphalt", **stage):
    problem = made_problem([made_tyre(f"A{i}", "soft") for i in (1, 2, 3, 4)], ((12.0,),))
    one = next(iter(problem.stages.values())).model_copy(
        update={"surface": surface, "gravel_share": 0.0, **stage}
    )
    scenarios = 2
    return build_stage(
        problem.car,
        problem.settings,
        one,
        air_c=np.full(scenarios, 10.0),
        road_c=np.full(scenarios, 12.0),
        state=np.full(scenarios, STATES.index(state)),
        cars_ahead=5,
        width_m=0.2,
        diameter_m=0.65,
        parts=[(np.full(scenarios, STATES.index(word)), share) for word, share in parts],
    )


def test_parts_blend_by_their_length():
    dry, wet = stage_table("dry"), stage_table("wet")
    mixed = stage_table("dry", [("wet", 0.25)])
    assert mixed.mu == pytest.approx(dry.mu**0.75 * wet.mu**0.25)
    assert np.all((dry.time_s < mixed.time_s) & (mixed.time_s < wet.time_s))
    assert stage_table("dry", [("dry", 0.25)]).time_s == pytest.approx(dry.time_s)
    assert stage_table("dry", [("wet", 0.5), ("wet", 0.5)]).mu == pytest.approx(wet.mu)


def test_each_scenario_has_its_own_mix():
    problem = made_problem([made_tyre("A1", "soft")], ((12.0,),))
    one = next(iter(problem.stages.values())).model_copy(
        update={"surface": "asphalt", "gravel_share": 0.0, "holds_water": 0.0}
    )
    table = build_stage(
        problem.car,
        problem.settings,
        one,
        air_c=np.full(3, 10.0),
        road_c=np.full(3, 12.0),
        state=np.array([STATES.index(s) for s in ("dry", "wet", "dry")]),
        cars_ahead=5,
        width_m=0.2,
        diameter_m=0.65,
        parts=[(np.array([STATES.index(s) for s in ("wet", "wet", "dry")]), 0.5)],
    )
    wet = catalogue().surfaces["asphalt_wet"].mu
    assert table.mu[1] == pytest.approx(wet)
    assert table.mu[2] > table.mu[0] == pytest.approx(np.sqrt(wet * table.mu[2]))


def test_the_likeliest_conditions_keep_the_parts():
    problem = made_problem([made_tyre("A1", "soft")], ((12.0,),), rules=made_rules())
    given = problem.conditions
    assert mean_conditions(given).parts == given.parts
    assert mean_conditions(given).keys == given.keys
