"""The ranges of predicted tread hold what they promise, on days with hidden truth.

The days are the benchmark's, fewer of them; the limits are a little wider for that.
"""

import numpy as np
import pytest

from tests.benchmarks.bench_learning import LOOPS, Outcome, World, play

DAYS = 200


@pytest.fixture(scope="module")
def drawn() -> Outcome:
    return play(World(days=DAYS))


def test_eighty_in_a_hundred_lie_inside(drawn):
    by_loop = 100 * drawn.inside_mean.mean(axis=(0, 2))
    by_point = 100 * drawn.inside_point.mean(axis=(0, 2, 3))
    for loop in range(LOOPS):  # the first before any reading, the others after
        assert 74.0 < by_loop[loop] < 86.0
        assert 74.0 < by_point[loop] < 86.0


def test_two_loops_of_readings_halve_the_range(drawn):
    width = drawn.width_mm.mean(axis=(0, 2))
    assert width[2] <= 0.5 * width[0]


def test_without_learning_the_range_is_true_but_stays_wide():
    out = play(World(days=DAYS), learn=False)
    assert 74.0 < 100 * out.inside_mean.mean() < 86.0
    width = out.width_mm.mean(axis=(0, 2))
    assert width[2] > 0.9 * width[0]


@pytest.mark.parametrize("factor", [0.6, 1.4])
def test_wear_far_from_the_table_is_learnt_within_the_day(factor):
    out = play(World(days=DAYS, factor=factor))
    by_loop = out.inside_mean.mean(axis=(0, 2))
    assert by_loop[0] < 0.74  # the table is wrong, and nobody can know it yet
    assert by_loop[3] > by_loop[0] + 0.05
    # The crew is told on most of these days.
    assert out.far.mean() > 0.55


@pytest.mark.parametrize("bias_mm", [-0.3, 0.3])
def test_a_biased_gauge_is_noticed(bias_mm, drawn):
    out = play(World(days=DAYS, gauge_bias_mm=bias_mm))
    assert out.warned.mean() > 0.45
    assert drawn.warned.mean() < 0.15


def test_mistyped_readings_are_asked_about_and_do_little_harm(drawn):
    out = play(World(days=DAYS, bad_share=0.1))
    assert 74.0 < 100 * out.inside_mean.mean() < 86.0
    # 1.6 a day are mistyped; a sound one is hardly ever asked about.
    assert out.asked.mean() > 1.1
    assert drawn.asked.mean() < 0.15


def test_a_forecast_six_degrees_off_leaves_the_ranges_true():
    for off_c in (-6.0, 6.0):
        out = play(World(days=DAYS, weather_off_c=off_c))
        assert np.all(np.abs(100 * out.inside_mean.mean(axis=(0, 2)) - 80.0) < 6.0)
