"""What must hold of slip work, wear and edges whatever the stage."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from crewdesk.physics import edges, wear
from crewdesk.physics.brush import slip_work_factor
from crewdesk.physics.work import corner_work, drive_of
from tests.reference.example_set import AWD, CARS, COMPOUNDS, FWD, SURFACES

shares = st.floats(0.0, 1.0)
cars = st.sampled_from(sorted(CARS)).map(CARS.__getitem__)
surfaces = st.sampled_from(sorted(SURFACES)).map(SURFACES.__getitem__)
speeds_ms = st.floats(12.0, 40.0)
depths_mm = st.floats(0.5, 10.0)
compounds = st.sampled_from(sorted(COMPOUNDS)).map(COMPOUNDS.__getitem__)


def work(car, surface, speed_ms, *, twist=0.6, roughness=0.45, driver=0.8, right=0.5):
    drive = drive_of(car, mu=surface.mu, speed_ms=speed_ms, twist=twist, aggressiveness=driver)
    return corner_work(
        car,
        drive,
        mu=surface.mu,
        c_per_rad=surface.c_per_rad,
        roughness=roughness,
        right_share=right,
    )


@given(cars, surfaces, speeds_ms, shares, shares, shares, shares)
def test_shares_of_driving_sum_to_one_and_work_is_never_negative(
    car, surface, speed_ms, twist, rough, driver, right
):
    drive = drive_of(car, mu=surface.mu, speed_ms=speed_ms, twist=twist, aggressiveness=driver)
    parts = (drive.corner_share, drive.brake_share, drive.drive_share, drive.cruise_share)
    assert sum(parts) == pytest.approx(1.0)
    assert min(parts) >= 0.0
    done = work(
        car, surface, speed_ms, twist=twist, roughness=rough, driver=driver, right=right
    )
    for part in (done.corner_j_m, done.brake_j_m, done.drive_j_m, done.cruise_j_m):
        assert np.all(part >= 0.0)


@given(cars, surfaces, speeds_ms, shares, shares)
def test_more_roughness_never_works_a_corner_less(car, surface, speed_ms, one, two):
    low, high = sorted((one, two))
    less = work(car, surface, speed_ms, roughness=low).total_j_m
    assert np.all(work(car, surface, speed_ms, roughness=high).total_j_m >= less - 1e-9)


@given(cars, surfaces, speeds_ms, shares, shares)
def test_harder_driving_and_more_turns_never_work_the_car_less(
    car, surface, speed_ms, one, two
):
    low, high = sorted((one, two))
    for name in ("driver", "twist"):
        less = work(car, surface, speed_ms, **{name: low}).total_j_m.sum()
        assert work(car, surface, speed_ms, **{name: high}).total_j_m.sum() >= less - 1e-9


@given(cars, surfaces, speeds_ms, shares)
def test_mirrored_turns_swap_left_and_right(car, surface, speed_ms, right):
    here = work(car, surface, speed_ms, right=right).total_j_m
    mirrored = work(car, surface, speed_ms, right=1.0 - right).total_j_m
    assert mirrored[[1, 0, 3, 2]] == pytest.approx(here, rel=1e-12)
    even = work(car, surface, speed_ms).total_j_m
    assert here.sum() == pytest.approx(even.sum(), rel=1e-12)
    assert even[0] == even[1]


@given(cars, surfaces, speeds_ms, st.floats(0.5, 2.0))
def test_mass_and_power_together_scale_the_work(car, surface, speed_ms, factor):
    bigger = replace(car, mass_kg=factor * car.mass_kg, power_kw=factor * car.power_kw)
    assert work(bigger, surface, speed_ms).total_j_m == pytest.approx(
        factor * work(car, surface, speed_ms).total_j_m, rel=1e-9
    )


@given(st.floats(1e-6, 1e-3))
def test_slip_work_at_its_limits(force):
    # Brush model: quadratic in a small force, three times the grip's work at the limit; capped
    # at 0.995.
    assert slip_work_factor(force) == pytest.approx(force**2, rel=2.0 * force)
    assert slip_work_factor(1.0) == slip_work_factor(0.995) == pytest.approx(2.475, abs=5e-4)


@given(st.floats(0.0, 600.0), st.floats(1.0, 60.0), st.floats(0.05, 0.95))
def test_two_parts_of_a_stage_lose_what_the_whole_loses(work_j_m, km, share):
    rate = wear.volume_mm3_km(work_j_m, k_c_mm3_j=0.06, kap=1.0, eta=0.65) / 232_800.0
    weights = wear.width_weights(0.13, camber_shift=0.06, pressure_error=0.05)
    start = np.full(3, 60.0)
    once = start - rate * km * weights
    twice = start - rate * share * km * weights - rate * (1.0 - share) * km * weights
    assert twice == pytest.approx(once, rel=1e-12)
    assert np.all(once <= start)


@given(surfaces, speeds_ms)
def test_a_front_driven_car_works_its_front_tyres_more(surface, speed_ms):
    done = work(FWD, surface, speed_ms).total_j_m
    assert done[0] > done[2]


@given(surfaces, speeds_ms, shares, shares)
def test_more_drive_at_the_front_never_works_the_front_less(surface, speed_ms, one, two):
    low, high = sorted((one, two))
    less = work(replace(AWD, drive_front_share=low), surface, speed_ms).total_j_m
    more = work(replace(AWD, drive_front_share=high), surface, speed_ms).total_j_m
    assert more[0] >= less[0] - 1e-9


@given(st.floats(0.0, 0.99), st.floats(0.0, 0.99))
def test_slip_work_grows_with_force(one, two):
    low, high = sorted((one, two))
    assert slip_work_factor(low) <= slip_work_factor(high) <= 3.0


@given(compounds, st.floats(-30.0, 150.0), st.floats(-30.0, 150.0))
def test_wear_factor_is_at_least_one_and_grows_with_heat(compound, one, two):
    low, high = sorted((one, two))
    assert wear.temperature_wear(compound, low) >= 1.0
    if low >= compound.t_lo_c:
        assert wear.temperature_wear(compound, high) >= wear.temperature_wear(compound, low)


@given(st.floats(0.0, 600.0), st.floats(0.1, 4.0), st.floats(0.1, 4.0))
def test_volume_is_linear_in_each_factor(work_j_m, x, y):
    given = {"k_c_mm3_j": 0.05, "kap": 1.1, "eta": 0.7, "factor": 1.2}
    base = wear.volume_mm3_km(work_j_m, **given)
    assert base >= 0.0
    assert wear.volume_mm3_km(x * work_j_m, **given) == pytest.approx(x * base)
    for name in given:
        more = wear.volume_mm3_km(work_j_m, **(given | {name: y * given[name]}))
        assert more == pytest.approx(y * base)


@given(st.floats(-1.0, 1.0), st.floats(-0.5, 0.5), st.floats(-0.6, 0.8))
def test_width_weights_sum_to_three_and_are_positive(asymmetry, camber, error):
    weights = wear.width_weights(asymmetry, camber_shift=camber, pressure_error=error)
    assert weights.sum() == pytest.approx(3.0, rel=1e-14)
    assert np.all(weights > 0.0)


@given(st.floats(-0.4, 0.4), st.floats(0.01, 0.3), st.floats(0.01, 0.3))
def test_camber_wears_the_inside_and_pressure_the_middle(asymmetry, camber, error):
    plain = wear.width_weights(asymmetry, camber_shift=0.0, pressure_error=0.0)
    assert wear.width_weights(asymmetry, camber_shift=camber, pressure_error=0.0)[0] > plain[0]
    assert wear.width_weights(asymmetry, camber_shift=0.0, pressure_error=error)[1] > plain[1]
    even = wear.width_weights(0.0, camber_shift=0.0, pressure_error=0.0)
    assert even == pytest.approx([1.0, 1.0, 1.0], abs=0)


@given(st.floats(0.0, 0.95))
def test_even_turning_leans_by_the_load_transfer(transfer):
    assert wear.turning_asymmetry(1.0, transfer, 0.5) == pytest.approx(transfer)


@given(st.floats(0.0, 400.0), st.floats(0.0, 400.0), st.floats(1.0, 400.0))
def test_edge_loads_keep_their_limits(brake, drive, corner):
    load = edges.edge_load(brake, drive, corner)
    assert np.all((load >= 0.3) & (load <= 2.0))


@given(
    st.floats(0.01, 1.0),
    st.floats(0.0, 3.0),
    st.floats(0.0, 3.0),
    st.floats(0.3, 2.0),
    st.floats(0.2, 1.5),
)
def test_rounding_adds_up_over_stages_in_any_order(sharp, first, second, load, psi):
    how = {"load": load, "psi": psi, "edge_length_mm": 4.5}
    after = edges.rounded(edges.rounded(sharp, first, **how), second, **how)
    other = edges.rounded(edges.rounded(sharp, second, **how), first, **how)
    assert after == pytest.approx(other, rel=1e-12)
    assert after == pytest.approx(edges.rounded(sharp, first + second, **how), rel=1e-12)
    assert 0.0 < after <= sharp
    assert edges.rounded(sharp, 0.0, **how) == sharp


@given(depths_mm, depths_mm)
def test_an_edge_nobody_looked_at_is_duller_the_more_is_worn(one, two):
    low, high = sorted((one, two))
    assume(high > low)
    dull, sharp = edges.assumed_sharpness([low, high], 9.5, 4.5)
    assert 0.0 < dull <= sharp <= 1.0
