"""How sure a loss is: against the distributions of scipy."""

import numpy as np
import pytest
from scipy.stats import lognorm, norm

from crewdesk.physics import bands


def test_normal_distribution():
    # scipy.stats.norm; the formula of Abramowitz and Stegun, 26.2.17, states 7.5e-8.
    z = np.linspace(-9.0, 9.0, 1801)
    assert bands.normal_cdf(z) == pytest.approx(norm.cdf(z), abs=7.5e-8)
    assert bands.normal_cdf([-1e9, 1e9]) == pytest.approx([0.0, 1.0], abs=1e-300)
    assert norm.ppf(0.9) == pytest.approx(bands.TEN_PERCENT_SD, rel=1e-12)


def test_spread_before_any_reading():
    # Tuning values of this project: 0.40 compound, 0.20 corner, 0.15 model.
    assert bands.ln_loss_sd() == pytest.approx(np.sqrt(0.16 + 0.04 + 0.0225))
    assert bands.ln_loss_sd(0.0, 0.0, 0.15) == pytest.approx(0.15)


def test_band_holds_eighty_in_a_hundred():
    low, high = bands.loss_band_mm(1.5, 0.47)
    inside = lognorm(0.47, scale=1.5)
    assert inside.cdf([float(low), float(high)]) == pytest.approx([0.1, 0.9], abs=1e-9)


def test_chance_of_too_little_tread():
    loss = np.array([0.5, 2.0, 4.0, 6.0, 12.0])
    exact = lognorm.sf(9.5 - 2.5, 0.48, scale=loss)
    assert bands.chance_below(9.5, loss, 2.5, 0.48) == pytest.approx(exact, abs=1e-7)
    assert bands.chance_below(2.0, 0.0, 2.5, 0.48) == 1.0
    assert bands.chance_below(3.0, 0.0, 2.5, 0.48) == 0.0
    with pytest.raises(ValueError, match="positive"):
        bands.chance_below(9.5, 1.0, 2.5, 0.0)


def test_band_of_a_depth_takes_both_sources():
    low, high = bands.depth_band_mm(8.0, 1.5, 0.47, 0.0)
    least, most = bands.loss_band_mm(1.5, 0.47)
    assert (low, high) == (pytest.approx(8.0 - most), pytest.approx(8.0 - least))
    low, high = bands.depth_band_mm(8.0, 0.0, 0.47, 0.2)
    assert float(high - low) == pytest.approx(2 * 1.2815516 * 0.2)
    assert bands.depth_band_mm(1.0, 3.0, 0.47, 0.1)[0] == 0.0
