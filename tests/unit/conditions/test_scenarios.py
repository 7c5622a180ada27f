"""Draws that stay put, and rain that comes at other times."""

import numpy as np
import pytest

from crewdesk.conditions.scenarios import (
    correlated,
    evenly,
    paired_normals,
    rain_paths_mm_h,
)


def test_pairs_cancel_and_columns_stand_alone() -> None:
    one = paired_normals(3, ["a", "b"], 10)
    assert np.array_equal(one[0::2], -one[1::2])
    swapped = paired_normals(3, ["b", "c", "a"], 10)
    assert np.array_equal(swapped[:, [2, 0]], one)
    assert np.array_equal(paired_normals(3, ["a", "b"], 16)[:10], one)


def test_odd_number_ends_with_the_best_estimate() -> None:
    assert np.all(paired_normals(0, ["a", "b"], 5)[-1] == 0.0)
    assert np.all(paired_normals(0, ["a"], 1) == 0.0)


def test_draws_are_standard_normal() -> None:
    drawn = paired_normals(0, ["a"], 20000)[:, 0]
    assert drawn.std() == pytest.approx(1.0, abs=0.02)
    # The normal table: 68.27 % within one.
    assert np.mean(np.abs(drawn) < 1.0) == pytest.approx(0.6827, abs=0.015)


def test_even_spread() -> None:
    spread = evenly(paired_normals(0, ["a"], 20000)[:, 0])
    assert np.all(np.abs(spread) <= 1.0)
    assert spread.std() == pytest.approx(1.0 / np.sqrt(3.0), abs=0.01)
    assert evenly(np.zeros(2)).tolist() == [0.0, 0.0]


def test_covariance_comes_out() -> None:
    wanted = np.array([[4.0, 3.0, 0.5], [3.0, 9.0, 1.0], [0.5, 1.0, 1.0]])
    drawn = correlated(paired_normals(1, ["x", "y", "z"], 40000), wanted)
    assert np.cov(drawn.T) == pytest.approx(wanted, abs=0.15)


def test_singular_covariance_is_taken() -> None:
    drawn = correlated(paired_normals(1, ["x", "y"], 100), np.full((2, 2), 4.0))
    assert drawn[:, 0] == pytest.approx(drawn[:, 1], abs=0.02)
    assert np.all(correlated(paired_normals(1, ["x"], 4), np.zeros((1, 1))) == 0.0)


def test_arguments_that_cannot_be() -> None:
    with pytest.raises(ValueError, match="at least one"):
        paired_normals(0, ["a"], 0)
    with pytest.raises(ValueError, match="negative"):
        paired_normals(-1, ["a"], 2)


GRID_H = np.linspace(0.0, 24.0, 145)
POINTS_H = np.array([6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 15.0])
POINTS_MM_H = np.array([0.0, 0.0, 2.0, 2.0, 2.0, 0.0, 0.0])


def paths(amount: float = 1.0, onset_h: float = 0.0, end_h: float = 0.0) -> np.ndarray:
    return rain_paths_mm_h(
        GRID_H,
        POINTS_H,
        POINTS_MM_H,
        amount=np.array([amount]),
        onset_h=np.array([onset_h]),
        end_h=np.array([end_h]),
    )[0]


def test_unshifted_rain_is_the_forecast() -> None:
    assert paths() == pytest.approx(np.interp(GRID_H, POINTS_H, POINTS_MM_H))


def test_amount_scales_and_shift_moves() -> None:
    assert paths(amount=2.5) == pytest.approx(2.5 * paths())
    moved = paths(onset_h=1.0, end_h=1.0)
    assert moved[6:] == pytest.approx(paths()[:-6])
    longer = paths(onset_h=-1.0, end_h=1.0)
    assert longer.sum() == pytest.approx(paths().sum() * 6.0 / 4.0, rel=0.02)
    assert longer.max() == pytest.approx(2.0)


def test_spell_that_ends_before_it_starts_passes_by() -> None:
    assert np.all(paths(onset_h=2.5, end_h=-2.0) == 0.0)


def test_rain_in_the_first_and_last_hour_reaches_one_hour_out() -> None:
    rain = rain_paths_mm_h(
        GRID_H,
        np.array([6.0, 7.0]),
        np.array([1.0, 1.0]),
        amount=np.ones(1),
        onset_h=np.zeros(1),
        end_h=np.zeros(1),
    )[0]
    falling = GRID_H[rain > 0.0]
    assert falling[0] == pytest.approx(5.0)
    assert falling[-1] == pytest.approx(8.0)
