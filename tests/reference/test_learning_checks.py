"""Tests of fit, against scipy's distributions and draws."""

import numpy as np
import pytest
from scipy.stats import chi2

from crewdesk.physics import kalman
from crewdesk.physics.learning_checks import disagree, gauge_is_off, gauge_offset, joint_z2
from crewdesk.physics.learning_wear import WearReading, learn_wear, loss_sd_mm, odd_point

SD_L = loss_sd_mm()


def four(losses, told=1.5) -> list[WearReading]:
    rows = np.hstack([np.ones((4, 1)), np.eye(4)])
    return [WearReading(told, float(m), h, SD_L) for m, h in zip(losses, rows, strict=True)]


def start() -> kalman.Belief:
    return kalman.start(np.zeros(5), [0.40, 0.20, 0.20, 0.20, 0.20])


def test_joint_distance_is_chi_square():
    # Normalised innovation squared of textbook filters: chi-square with as many degrees
    # of freedom as readings (scipy.stats.chi2). Large losses, so that the gauge is small.
    rng = np.random.default_rng(3)
    seen = []
    for _ in range(1500):
        hidden = np.exp(rng.normal(0, 0.40) + rng.normal(0, 0.20, 4) + rng.normal(0, 0.15, 4))
        readings = four(30.0 * hidden + rng.normal(0, SD_L, 4), told=30.0)
        _, weighed = learn_wear(start(), readings)
        seen.append(joint_z2(start(), weighed))
    for point in (0.5, 0.9, 0.99):
        inside = float(np.mean(np.array(seen) < chi2.ppf(point, 4)))
        assert inside == pytest.approx(point, abs=0.035)


def test_one_time_in_a_hundred_a_right_model_is_doubted():
    # scipy.stats.chi2, 12 readings at three services.
    just = float(chi2.ppf(0.985, 12))
    far = float(chi2.ppf(0.995, 12))
    assert not disagree([(4, just / 3)] * 3)
    assert disagree([(4, far / 3)] * 3)
    assert not disagree([])
    assert joint_z2(start(), ()) == 0.0


def test_offset_of_a_gauge():
    # Exact by hand: wear 1.2 times the table, a gauge 0.3 mm too deep hides 0.3 mm.
    between = [(1.5, 1.8), (1.0, 1.2), (2.0, 2.4), (1.5, 1.8)]
    offset, sd = gauge_offset([(1.5, 1.5), (1.0, 0.9), (2.0, 2.1), (1.5, 1.5)], between)
    assert offset == pytest.approx(0.3)
    assert sd > 0.1
    assert gauge_is_off(0.3, 0.1)
    assert not gauge_is_off(0.3, 0.2)
    assert not gauge_is_off(0.1, 0.01)
    with pytest.raises(ValueError, match="both kinds"):
        gauge_offset([], between)


def test_doubt_of_the_offset_is_that_of_draws():
    rng = np.random.default_rng(9)
    told, found, said = 1.5, [], []
    for _ in range(2000):
        loss = told * 1.1 * np.exp(rng.normal(0, 0.15, 16))
        gauge = 0.2 / np.sqrt(3.0)
        stock = loss[:8] - rng.normal(0, gauge, 8)
        between = loss[8:] + rng.normal(0, np.sqrt(2.0) * gauge, 8)
        offset, sd = gauge_offset([(told, m) for m in stock], [(told, m) for m in between])
        found.append(offset)
        said.append(sd)
    assert float(np.std(found)) == pytest.approx(float(np.mean(said)), rel=0.15)


def test_the_odd_point_is_found():
    # By hand: differences 0, -3, 0 from their mean -1 are +1, -2, +1.
    which, z2 = odd_point((8.0, 5.0, 8.0), (8.0, 8.0, 8.0), 2.0)
    assert which == 1
    assert z2 == pytest.approx(4.0 / (0.04 * 2 / 3 + (0.3 * 2.0) ** 2))
    # A tyre that wore twice as fast everywhere is not odd.
    assert odd_point((6.0, 6.0, 6.0), (8.0, 8.0, 8.0), 2.0)[1] == pytest.approx(0.0)
    with pytest.raises(ValueError, match="two or more"):
        odd_point((8.0,), (8.0,), 1.0)
