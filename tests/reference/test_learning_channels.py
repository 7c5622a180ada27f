"""Other readings, against the gas law, the heat model and scipy's distributions."""

import math

import numpy as np
import pytest
from scipy.stats import gamma

from crewdesk.physics import kalman
from crewdesk.physics.heat import apply_map, standing_map
from crewdesk.physics.inflation import gas_c_from_pressure, hot_pressure_kpa
from crewdesk.physics.learning_channels import (
    GAS_SD_K,
    HEAT_LN_SD,
    grip_from_times,
    grip_from_words,
    heat_reading,
    learn_one,
    look_c,
    rate_band,
    tread_at_stop_c,
)
from crewdesk.physics.puncture import learnt_rate_1_km


def test_hot_pressure_tells_the_gas_temperature():
    # Worked example of this project (gas law): cold 150 kPa at 16, hot 188 -> 59.7 degC.
    assert float(gas_c_from_pressure(150.0, 16.0, 188.0)) == pytest.approx(59.7, abs=0.05)
    # +-2 kPa are about 2.3 K (the same example).
    apart = float(gas_c_from_pressure(150.0, 16.0, 190.0)) - 59.7
    assert apart == pytest.approx(GAS_SD_K, abs=0.15)


def test_heat_factor_from_a_hot_pressure():
    hot = float(hot_pressure_kpa(150.0, 16.0, 62.0))
    seen_c = float(gas_c_from_pressure(150.0, 16.0, hot))
    told = heat_reading(seen_c, 52.0, 16.0, GAS_SD_K)
    assert told is not None
    off, variance = told
    assert off == pytest.approx(math.log((62.0 - 16.0) / (52.0 - 16.0)))
    assert variance == pytest.approx(HEAT_LN_SD**2 + (2.3 / 36.0) ** 2)
    assert heat_reading(20.0, 18.0, 16.0, GAS_SD_K) is None
    # A mean between what was known and what was read (two normal distributions).
    after = learn_one(kalman.start([0.0], [0.25]), off, [1.0], variance)
    wanted = off * 0.25**2 / (0.25**2 + variance)
    assert float(after.mean[0]) == pytest.approx(wanted, rel=1e-12)


def test_probe_is_taken_back_to_the_stop_line():
    # Round trip through the exact standing step.
    step = standing_map(np.array([14.0]), 240.0)
    later, _ = apply_map(step, np.array([[71.0]]), np.array([[58.0]]))
    read_c = float(later[0, 0])
    assert read_c < 71.0
    assert tread_at_stop_c(read_c, 58.0, 14.0, 240.0) == pytest.approx(71.0, abs=1e-9)
    with pytest.raises(ValueError, match="after"):
        tread_at_stop_c(read_c, 58.0, 14.0, -1.0)


@pytest.mark.parametrize(
    ("look", "peak_c", "expected_c"),
    [
        # Common practice: below the window, inside, up to 10 K above, beyond.
        ("moulding_lines", 40.0, 28.0),
        ("grained", 20.0, 20.0),
        ("even", 50.0, 50.0),
        ("even", 90.0, 78.0),
        ("feathered", 60.0, 78.0),
        ("feathered", 95.0, 88.0),
        ("torn", 60.0, 88.0),
        ("torn", 99.0, 99.0),
    ],
)
def test_look_of_a_tyre(look, peak_c, expected_c):
    assert look_c(look, peak_c, 28.0, 78.0) == expected_c


def test_unknown_look():
    with pytest.raises(ValueError, match="unknown look"):
        look_c("shiny", 50.0, 28.0, 78.0)


def test_drivers_words():
    # Tuning values of this project: 0.02 a step, 0.03 its doubt.
    assert grip_from_words(1) == (pytest.approx(0.02), pytest.approx(0.0009))
    assert grip_from_words(-2)[0] == pytest.approx(-0.04)


def test_difference_of_two_times():
    # t ~ grip^-e, so a pass 0.6 % quicker than predicted at e = 0.3 is 2 % more grip.
    off, variance = grip_from_times(math.exp(-0.006), 1.0, 0.3)
    assert off == pytest.approx(0.02)
    assert math.sqrt(variance) == pytest.approx(0.02)
    assert grip_from_times(0.98, 0.98, 0.3)[0] == pytest.approx(0.0)


@pytest.mark.parametrize(("count", "km"), [(0, 80.0), (1, 80.0), (3, 150.0)])
def test_range_of_the_puncture_rate(count, km):
    # Conjugate pair of textbooks; points of scipy.stats.gamma.
    low, high = rate_band(0.012, count, km, 1.2815515655)
    exact = gamma(2 + count, scale=1.0 / (2 / 0.012 + km))
    assert exact.mean() == pytest.approx(learnt_rate_1_km(0.012, count, km))
    assert low == pytest.approx(float(exact.ppf(0.1)), rel=0.03)
    assert high == pytest.approx(float(exact.ppf(0.9)), rel=0.03)
