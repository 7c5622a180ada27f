"""What tyres are worth: worked examples, and what one pays in a lifetime."""

import numpy as np
import pytest

from crewdesk.physics.value import (
    seconds_from_money,
    state_share,
    value_linear,
    value_now,
)
from tests.reference.demo_day import gravel_stages, new_state, run_loop
from tests.reference.example_set import AWD, COMPOUNDS, NUMBERS, SURFACES, tyre


def _gravel_share(depth_mm, sharpness):
    return state_share(
        depth_mm, sharpness, tread_new_mm=9.5, worthless_mm=2.5, edge_value_share=0.35
    )


def test_worked_example():
    worth = value_linear(180.0, _gravel_share(6.27, 0.11))
    assert worth == pytest.approx(66.75, abs=6e-3)
    assert seconds_from_money(worth, 8.0) == pytest.approx(8.343, abs=1e-3)


@pytest.mark.parametrize(
    ("edge_value_share", "more_money", "per_second"), [(0.0, 34.65, 20.7), (0.35, 50.1, 30.0)]
)
def test_worked_example_of_soft_against_medium(edge_value_share, more_money, per_second):
    # Demonstration loop 1 at 9 degC, example numbers: soft gains 1.7 s over medium and costs
    # 34.65 more on depth alone, 50.1 with the edges (four tyres): worth it above 20.7 or 30.0
    # money/s.
    money, time_s = [], []
    for hardness in ("soft", "medium"):
        spec = tyre(COMPOUNDS["gravel", hardness])
        loop, ends = run_loop(
            AWD,
            [spec] * 4,
            [new_state(spec, 9.0)] * 4,
            gravel_stages(SURFACES),
            air_c=9.0,
            road_c=11.0,
            numbers=NUMBERS,
        )
        left = [
            value_linear(
                180.0,
                state_share(
                    end.tread_mm.mean(),
                    end.edge.mean(),
                    tread_new_mm=9.5,
                    worthless_mm=2.5,
                    edge_value_share=edge_value_share,
                ),
            )
            for end in ends
        ]
        money.append(4 * 180.0 - sum(left))
        time_s.append(loop.time_s)
    gain_s, cost = time_s[1] - time_s[0], money[0] - money[1]
    assert gain_s == pytest.approx(1.7, abs=0.05)
    assert cost == pytest.approx(more_money, rel=2e-3)
    assert cost / gain_s == pytest.approx(per_second, rel=3e-3)


def test_value_lost_sums_to_what_was_paid_less_what_is_left():
    # A telescoping sum, so exact whatever the course.
    generator = np.random.default_rng(7)
    depth = 9.5 - np.cumsum(generator.uniform(0, 0.6, 12))
    sharp = np.cumprod(generator.uniform(0.7, 1.0, 12))
    worth = np.concatenate(
        [[180.0], value_now(180.0, _gravel_share(depth, sharp), ever_fitted=True)]
    )
    assert np.sum(-np.diff(worth)) == pytest.approx(180.0 - worth[-1], rel=1e-14)


def test_two_fifths_go_with_the_first_fitting():
    # Common practice, no source.
    assert value_now(200.0, 1.0, ever_fitted=False) == 200.0
    assert value_now(200.0, 1.0, ever_fitted=True) == pytest.approx(120.0)
    assert value_now(200.0, 1.0, ever_fitted=True, terms="returnable") == pytest.approx(120.0)
    assert value_now(200.0, 1.0, ever_fitted=False, terms="hired") == 200.0
    assert value_now(200.0, 1.0, ever_fitted=True, terms="hired") == 0.0
    with pytest.raises(ValueError, match="leased"):
        value_now(200.0, 1.0, ever_fitted=True, terms="leased")


def test_money_may_count_for_nothing():
    assert seconds_from_money(180.0, 0.0) == 0.0
    with pytest.raises(ValueError, match="negative"):
        seconds_from_money(180.0, -1.0)


def test_a_tyre_at_its_least_depth_is_worth_nothing():
    assert _gravel_share([2.5, 1.0], [1.0, 0.5]) == pytest.approx([0.0, 0.0], abs=0)
    assert _gravel_share(9.5, 1.0) == 1.0
