"""What holds for whatever is read of the tyres."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from crewdesk.physics import kalman
from crewdesk.physics.kalman import Belief
from crewdesk.physics.learning_channels import LOOKS, heat_reading, learn_one, look_c
from crewdesk.physics.learning_wear import WearReading, learn_wear, loss_sd_mm, weigh

FEW = settings(max_examples=60, deadline=None)
SD_L = loss_sd_mm()
losses = st.floats(0.05, 6.0)
ratios = st.floats(-0.5, 4.0)
corners = st.integers(0, 3)
compounds = st.integers(0, 1)


def day_start() -> Belief:
    """Two compounds and four corners."""
    return kalman.start(np.zeros(6), [0.40, 0.40, 0.20, 0.20, 0.20, 0.20])


def share(compound: int, corner: int) -> np.ndarray:
    row = np.zeros(6)
    row[compound] = row[2 + corner] = 1.0
    return row


def reading(compound: int, corner: int, predicted: float, ratio: float) -> WearReading:
    return WearReading(predicted, predicted * ratio, share(compound, corner), SD_L)


readings = st.lists(
    st.builds(reading, compounds, corners, losses, ratios), min_size=1, max_size=8
)


@FEW
@given(readings)
def test_covariance_stays_symmetric_positive_and_shrinks(batch):
    before = day_start()
    for one in batch:
        after, _ = learn_wear(before, [one])
        assert np.array_equal(after.cov, after.cov.T)
        assert np.linalg.eigvalsh(after.cov).min() > 0.0
        assert (np.diag(after.cov) <= np.diag(before.cov) + 1e-12).all()
        assert np.isfinite(after.mean).all()
        before = after


@FEW
@given(st.floats(-1.5, 1.5), st.floats(0.05, 1.0), st.floats(-2.0, 2.0), st.floats(0.01, 1.0))
def test_mean_lies_between_what_was_known_and_what_was_read(known, sd, read, read_sd):
    after = kalman.update(kalman.start([known], [sd]), [read - known], [[1.0]], [read_sd**2])
    low, high = sorted((known, read))
    assert low - 1e-12 <= float(after.mean[0]) <= high + 1e-12


@FEW
@given(readings, st.permutations(range(8)))
def test_order_of_readings_of_one_moment_does_not_matter(batch, order):
    mixed = [batch[i] for i in order if i < len(batch)]
    one, _ = learn_wear(day_start(), batch)
    other, _ = learn_wear(day_start(), mixed)
    assert one.mean == pytest.approx(other.mean, abs=1e-9)
    assert one.cov == pytest.approx(other.cov, abs=1e-9)


@FEW
@given(st.lists(st.tuples(compounds, corners, st.floats(-1, 1)), min_size=2, max_size=6))
def test_order_of_independent_updates_does_not_matter(rows):
    def through(these):
        belief = day_start()
        for compound, corner, y in these:
            h = share(compound, corner)
            belief = kalman.update(belief, [y - belief.value(h)], h[None, :], [0.05])
        return belief

    forth, back = through(rows), through(rows[::-1])
    assert forth.mean == pytest.approx(back.mean, abs=1e-10)
    assert forth.cov == pytest.approx(back.cov, abs=1e-10)


@FEW
@given(compounds, corners, losses, ratios)
def test_a_gauge_that_tells_nothing_changes_nothing(compound, corner, predicted, ratio):
    rough = WearReading(predicted, predicted * ratio, share(compound, corner), 1e7)
    after, _ = learn_wear(day_start(), [rough])
    assert after.mean == pytest.approx(np.zeros(6), abs=1e-6)
    assert after.cov == pytest.approx(day_start().cov, abs=1e-6)
    none = kalman.update(day_start(), [1.0], share(0, 0)[None, :], [math.inf])
    assert np.array_equal(none.cov, day_start().cov)


@FEW
@given(st.integers(1, 12), st.floats(0.6, 1.6))
def test_never_rotating_leaves_the_split_to_what_was_known(loops, ratio):
    belief = day_start()
    for _ in range(loops):
        belief, _ = learn_wear(belief, [reading(0, 0, 1.1, ratio)])
    # The sum is known well; of it each part takes the share of its own variance.
    assert belief.sd(share(0, 0)) < 0.20
    assert float(belief.mean[0]) == pytest.approx(4.0 * float(belief.mean[2]), rel=1e-6)
    apart = share(0, 0) * np.array([0.2**2, 0, -(0.4**2), 0, 0, 0])
    # The direction that no such reading answers to is as unsure as before.
    assert belief.sd(apart) == pytest.approx(day_start().sd(apart), rel=1e-9)


@FEW
@given(st.integers(1, 4), st.floats(0.6, 1.6))
def test_rotating_separates_rubber_from_corner(rounds, ratio):
    still = moved = day_start()
    for loop in range(4 * rounds):
        still, _ = learn_wear(still, [reading(0, 0, 1.1, ratio)])
        moved, _ = learn_wear(moved, [reading(0, loop % 4, 1.1, ratio)])
    assert moved.cov[0, 0] < still.cov[0, 0]


@FEW
@given(compounds, corners, losses, st.floats(1.0, 40.0))
def test_a_farther_reading_never_counts_more(compound, corner, predicted, ratio):
    near = weigh(day_start(), reading(compound, corner, predicted, ratio))
    far = weigh(day_start(), reading(compound, corner, predicted, ratio * 1.5))
    if near.by_ln == far.by_ln:
        assert far.weight <= near.weight
    assert 0.0 < far.weight <= 1.0


@FEW
@given(st.floats(0.3, 3.0), st.floats(20.0, 90.0), st.floats(-10.0, 30.0))
def test_heat_factor_moves_towards_what_was_read(ratio, rise, air):
    told = heat_reading(air + ratio * rise, air + rise, air, 4.0)
    assert told is not None
    after = learn_one(kalman.start([0.0], [0.25]), told[0], [1.0], told[1])
    assert abs(float(after.mean[0])) <= abs(math.log(ratio)) + 1e-12
    assert float(after.mean[0]) * math.log(ratio) >= 0.0


@FEW
@given(st.sampled_from(LOOKS), st.floats(-20.0, 120.0), st.floats(-20.0, 50.0))
def test_looks_in_order_tell_of_rising_heat(look, peak, low):
    told = [look_c(word, peak, low, low + 40.0) for word in LOOKS]
    assert told == sorted(told)
    assert look_c(look, look_c(look, peak, low, low + 40.0), low, low + 40.0) == pytest.approx(
        look_c(look, peak, low, low + 40.0)
    )
