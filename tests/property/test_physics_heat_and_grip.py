"""What must hold of temperatures, pressures and grip whatever the numbers."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from crewdesk.physics import conductance, grip, heat
from crewdesk.physics.inflation import (
    atmosphere_kpa,
    cold_pressure_kpa,
    gas_c_from_pressure,
    hot_pressure_kpa,
)
from tests.reference.shipped_set import COMPOUNDS

times_s = st.floats(0.0, 20_000.0)
ambient_c = st.floats(-30.0, 45.0)
hot_c = st.floats(-30.0, 130.0)
compounds = st.sampled_from(sorted(COMPOUNDS)).map(COMPOUNDS.__getitem__)


@st.composite
def coolings(draw):
    if draw(st.booleans()):
        return conductance.standing_cooling()
    return conductance.rolling_cooling(
        draw(st.floats(5.0, 45.0)),
        road_effusivity=draw(st.floats(400.0, 2200.0)),
        water_w_k=draw(st.floats(0.0, 60.0)),
        width_m=0.2,
        land_ratio=draw(st.floats(0.5, 0.9)),
    )


def step(cooling, seconds, *, air_c=15.0, road_c=20.0, tread_w=0.0, bulk_w=0.0):
    steady = heat.steady_c(cooling, air_c=air_c, road_c=road_c, tread_w=tread_w, bulk_w=bulk_w)
    return heat.affine_map(heat.step_matrix(cooling, seconds), steady)


@given(coolings(), times_s, ambient_c, hot_c, hot_c)
def test_without_heat_the_largest_difference_never_grows(cooling, seconds, air_c, tread, bulk):
    after = heat.apply_map(step(cooling, seconds, air_c=air_c, road_c=air_c), tread, bulk)
    before = max(abs(tread - air_c), abs(bulk - air_c))
    assert max(abs(x - air_c) for x in after) <= before + 1e-9
    late = heat.apply_map(step(cooling, 1e6, air_c=air_c, road_c=air_c), tread, bulk)
    assert late == pytest.approx((air_c, air_c), abs=1e-6)


@given(coolings(), times_s, times_s, hot_c, hot_c)
def test_two_steps_are_one_of_both_lengths(cooling, first_s, second_s, tread, bulk):
    first, second = (
        step(cooling, first_s, tread_w=900.0),
        step(cooling, second_s, tread_w=900.0),
    )
    both = step(cooling, first_s + second_s, tread_w=900.0)
    whole = np.array(heat.apply_map(both, tread, bulk))
    in_two = heat.apply_map(second, *heat.apply_map(first, tread, bulk))
    assert np.array(in_two) == pytest.approx(whole, abs=1e-8)
    composed = heat.apply_map(heat.then(first, second), tread, bulk)
    assert np.array(composed) == pytest.approx(whole, abs=1e-8)


@given(coolings(), times_s, hot_c, hot_c, st.floats(-20.0, 20.0))
def test_warmer_surroundings_and_start_shift_everything_alike(
    cooling, seconds, tread, bulk, by
):
    here = heat.apply_map(step(cooling, seconds, tread_w=700.0), tread, bulk)
    moved = heat.apply_map(
        step(cooling, seconds, air_c=15.0 + by, road_c=20.0 + by, tread_w=700.0),
        tread + by,
        bulk + by,
    )
    assert moved == pytest.approx(tuple(x + by for x in here), abs=1e-8)


@given(coolings(), times_s, hot_c, hot_c, st.floats(0.0, 30.0), st.floats(0.0, 30.0))
def test_a_hotter_start_is_never_colder_later(cooling, seconds, tread, bulk, more, more_bulk):
    cooler = heat.apply_map(step(cooling, seconds), tread, bulk)
    hotter = heat.apply_map(step(cooling, seconds), tread + more, bulk + more_bulk)
    assert all(h >= c - 1e-9 for h, c in zip(hotter, cooler, strict=True))


@given(coolings(), times_s, st.floats(0.0, 2000.0), st.floats(0.0, 1500.0), st.floats(0.0, 1.0))
def test_a_start_below_the_steady_state_stays_below(cooling, seconds, tread_w, bulk_w, share):
    end = heat.steady_c(cooling, air_c=15.0, road_c=20.0, tread_w=tread_w, bulk_w=bulk_w)
    start = end - 40.0 * share
    after = heat.apply_map(
        step(cooling, seconds, tread_w=tread_w, bulk_w=bulk_w), start[0], start[1]
    )
    assert all(a <= e + 1e-8 for a, e in zip(after, end, strict=True))


@given(coolings(), st.floats(0.0, 2000.0), st.floats(1.0, 500.0), ambient_c)
def test_steady_temperatures_rise_with_heat_and_surroundings(cooling, watt, more, air_c):
    def end(**changed):
        given = {"air_c": air_c, "road_c": air_c, "tread_w": watt, "bulk_w": watt / 2}
        return heat.steady_c(cooling, **(given | changed))

    for changed in (
        {"tread_w": watt + more},
        {"bulk_w": watt / 2 + more},
        {"air_c": air_c + 5.0},
        {"road_c": air_c + 5.0},
    ):
        assert np.all(end(**changed) > end())


@given(st.floats(10.0, 40.0), st.floats(0.0, 50.0), st.floats(1.0, 20.0))
def test_more_cooling_makes_a_tyre_hotter_than_the_air_colder(speed_ms, water, more):
    def end(water_w_k):
        cooling = conductance.rolling_cooling(
            speed_ms,
            road_effusivity=1400.0,
            water_w_k=water_w_k,
            width_m=0.2,
            land_ratio=0.6,
        )
        return heat.steady_c(cooling, air_c=15.0, road_c=15.0, tread_w=1500.0, bulk_w=1000.0)

    assert np.all(end(water + more) < end(water))


@given(compounds, st.floats(-60.0, 160.0))
def test_grip_has_its_peak_at_the_best_temperature_only(compound, at_c):
    factor = grip.temperature_factor(compound, at_c)
    assert 0.0 < factor <= compound.mu_peak
    if abs(at_c - compound.t_opt_c) > 0.1:
        assert factor < compound.mu_peak


@given(compounds, st.floats(0.0, 100.0), st.floats(0.0, 100.0))
def test_grip_falls_on_either_side(compound, one, two):
    near, far = sorted((one, two))
    for side in (1.0, -1.0):
        at_near = grip.temperature_factor(compound, compound.t_opt_c + side * near)
        at_far = grip.temperature_factor(compound, compound.t_opt_c + side * far)
        assert at_far <= at_near + 1e-15


@given(st.floats(0.0, 10.0), st.floats(0.0, 10.0), st.floats(0.0, 0.5))
def test_less_tread_never_grips_more(one, two, lost):
    low, high = sorted((one, two))
    assert grip.depth_factor(low, lost) <= grip.depth_factor(high, lost) <= 1.0
    assert grip.drain_factor(low, lost) <= grip.drain_factor(high, lost) <= 1.0


@given(st.floats(0.01, 1.0), st.floats(0.0, 0.3))
def test_edges_take_no_more_than_their_share(sharp, share):
    assert 1.0 - share - 1e-15 <= grip.edge_factor(sharp, share) <= 1.0 + 1e-15


pressures_kpa = st.floats(100.0, 350.0)
gas_c = st.floats(-25.0, 120.0)
heights_m = st.floats(0.0, 3000.0)


@given(pressures_kpa, gas_c, gas_c, heights_m)
def test_cold_to_hot_to_cold_is_where_it_began(cold, set_c, at_c, height_m):
    air = atmosphere_kpa(height_m)
    hot = hot_pressure_kpa(cold, set_c, at_c, air)
    assert cold_pressure_kpa(hot, set_c, at_c, air) == pytest.approx(cold, abs=1e-9)
    assert gas_c_from_pressure(cold, set_c, hot, air) == pytest.approx(at_c, abs=1e-9)
    if abs(at_c - set_c) > 1e-6:
        assert (hot > cold) == (at_c > set_c)


@given(pressures_kpa, gas_c, heights_m, heights_m, st.floats(0.5, 30.0))
def test_cold_setting_rises_with_height_and_with_the_air(hot, set_c, one, two, warmer):
    low, high = sorted((one, two))
    at = set_c + 50.0
    settings = cold_pressure_kpa(hot, set_c, at, atmosphere_kpa(np.array([low, high])))
    assert settings[1] >= settings[0]
    assert cold_pressure_kpa(hot, set_c + warmer, at) > cold_pressure_kpa(hot, set_c, at)


@given(pressures_kpa, gas_c, st.floats(1.0, 60.0))
def test_gauge_in_place_of_absolute_predicts_too_small_a_rise(cold, set_c, warmer):
    naive = cold * (set_c + warmer + 273.15) / (set_c + 273.15)
    assert hot_pressure_kpa(cold, set_c, set_c + warmer) > naive
