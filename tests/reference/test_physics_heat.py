"""Temperatures: worked example, exact solutions, published forms."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.linalg import expm

from crewdesk.physics import conductance, heat
from crewdesk.physics.numbers import SHIPPED
from tests.reference.example_set import AWD, NUMBERS, SURFACES

SPEED = 96 / 3.6
TREAD_W = 0.35 * 0.65 * 256.956 * SPEED
BULK_W = 0.012 * 1390 * 9.80665 / 4 * SPEED


def _cooling(speed_ms=SPEED, effusivity=1100.0, numbers=NUMBERS):
    return conductance.rolling_cooling(
        speed_ms,
        road_effusivity=effusivity,
        water_w_k=0.0,
        width_m=0.190,
        land_ratio=0.60,
        numbers=numbers,
    )


def _steady():
    return heat.steady_c(_cooling(), air_c=16.0, road_c=24.0, tread_w=TREAD_W, bulk_w=BULK_W)


def _at(seconds):
    step = heat.affine_map(heat.step_matrix(_cooling(), seconds), _steady())
    return [float(x) for x in heat.apply_map(step, 16.0, 16.0)]


def test_worked_example_of_conductances():
    cooling = _cooling()
    assert conductance.film_coefficient_w_m2k(SPEED) == pytest.approx(61.31, abs=6e-3)
    assert cooling.tread_air_w_k == pytest.approx(18.39, abs=6e-3)
    assert cooling.bulk_air_w_k == pytest.approx(15.33, abs=6e-3)
    contact = conductance.contact_w_m2k(SPEED, 1100.0)
    assert contact == pytest.approx(7277, abs=1)
    assert contact * 0.12 * 0.190 * 0.60 == pytest.approx(99.54, abs=6e-3)
    assert cooling.road_w_k == pytest.approx(10.71, abs=6e-3)
    assert pytest.approx(1559, abs=0.6) == TREAD_W
    assert pytest.approx(1090, abs=0.6) == BULK_W


def test_worked_example_of_a_stage():
    assert _steady() == pytest.approx([75.45, 81.56], abs=6e-3)
    slow, fast = heat.time_constants_s(_cooling())
    assert (fast, slow) == pytest.approx((149.1, 527.3), abs=0.06)
    assert _at(60.0) == pytest.approx([28.08, 21.49], abs=6e-3)
    assert _at(300.0) == pytest.approx([52.78, 41.44], abs=6e-3)
    assert _at(532.5) == pytest.approx([62.33, 55.34], abs=6e-3)
    assert _at(1800.0) == pytest.approx([74.33, 79.17], abs=6e-3)


def test_worked_example_of_standing_and_of_a_road_section():
    standing = heat.standing_map([16.0], 1800.0, numbers=NUMBERS)
    after = heat.apply_map(standing, 60.0, 55.0)
    assert [x[0] for x in after] == pytest.approx([43.44, 45.23], abs=6e-3)
    constants = heat.time_constants_s(conductance.standing_cooling(NUMBERS))
    assert constants == pytest.approx((5076, 292), abs=0.6)
    section = heat.road_map(
        [16.0],
        [24.0],
        km=12,
        kmh=50,
        fz_n=heat.quarter_weight_n(AWD.mass_kg),
        numbers=NUMBERS,
    )
    after = heat.apply_map(section, 16.0, 16.0)
    assert [x[0] for x in after] == pytest.approx([25.49, 35.61], abs=6e-3)


def _matrix(cooling):
    """The balance of two nodes of 7000 and 12000 J/K with 14 W/K across, written anew."""
    out = float(cooling.tread_air_w_k + cooling.road_w_k + 14.0)
    bulk_out = float(cooling.bulk_air_w_k + 14.0)
    return np.array([[-out / 7000, 14 / 7000], [14 / 12000, -bulk_out / 12000]])


@pytest.mark.parametrize("seconds", [1e-3, 60.0, 532.5, 1800.0, 2e5])
@pytest.mark.parametrize("numbers", [NUMBERS, SHIPPED])
def test_step_is_the_matrix_exponential(seconds, numbers):
    # scipy.linalg.expm (Pade approximation with scaling and squaring).
    for cooling in (_cooling(numbers=numbers), conductance.standing_cooling(numbers)):
        assert heat.step_matrix(cooling, seconds) == pytest.approx(
            expm(_matrix(cooling) * seconds), abs=1e-12
        )


def test_step_is_the_solution_of_the_differential_equation():
    # scipy.integrate.solve_ivp, eighth-order Runge-Kutta.
    cooling = _cooling()
    tread_in = TREAD_W + float(cooling.tread_air_w_k) * 16 + float(cooling.road_w_k) * 24
    bulk_in = BULK_W + float(cooling.bulk_air_w_k) * 16
    heating = np.array([tread_in / 7000, bulk_in / 12000])
    solved = solve_ivp(
        lambda _, t: _matrix(cooling) @ t + heating,
        (0.0, 532.5),
        [16.0, 16.0],
        method="DOP853",
        rtol=1e-12,
        atol=1e-10,
    )
    assert _at(532.5) == pytest.approx(solved.y[:, -1], abs=1e-8)


@pytest.mark.parametrize(("numbers", "share"), [(NUMBERS, 0.955), (SHIPPED, 0.992)])
def test_half_an_hour_at_80_kmh_warms_a_tyre_through(numbers, share):
    # ISO 28580 warms passenger tyres for 30 min at 80 km/h before rolling resistance is
    # measured (from memory, not verified), which takes that to be enough: 90 to 99.5 % of the
    # way.
    cooling = _cooling(22.22, 1400.0, numbers)
    slow, _ = heat.time_constants_s(cooling)
    reached = 1.0 - np.exp(-1800.0 / slow)
    assert 0.90 < reached < 0.995
    assert reached == pytest.approx(share, abs=6e-4)


def test_slow_constant_at_80_kmh():
    slow, _ = heat.time_constants_s(_cooling(22.22, 1400.0))
    assert slow == pytest.approx(581, abs=0.6)


def test_contact_goes_with_the_root_of_speed_over_length():
    # Cattani et al., Appl. Sci. 13(21), 11996, 2023: the contact coefficient depends on speed
    # and footprint length; two semi-infinite bodies give the root (Carslaw and Jaeger, from
    # memory).
    base = conductance.contact_w_m2k(20.0, 1400.0, 0.12)
    assert conductance.contact_w_m2k(80.0, 1400.0, 0.12) == pytest.approx(2 * base, rel=1e-12)
    assert conductance.contact_w_m2k(20.0, 1400.0, 0.48) == pytest.approx(base / 2, rel=1e-12)


@pytest.mark.parametrize(("kmh", "low_bar", "high_bar"), [(110, 0.2, 0.3), (50, 0.1, 0.2)])
def test_pressure_rise_of_a_road_car_after_an_hour(kmh, low_bar, high_bar):
    # Common practice, no source: +0.2 to +0.3 bar at 110 km/h, +0.1 to +0.2 bar at 50 km/h.
    hour = heat.road_map([20.0], [20.0], km=kmh, kmh=kmh, fz_n=3400.0)
    _, bulk_c = heat.apply_map(hour, 20.0, 20.0)
    rise_kpa = (220.0 + 101.325) * (bulk_c[0] - 20.0) / 293.15
    assert low_bar <= rise_kpa / 100.0 <= high_bar


def test_tread_warms_less_on_a_cold_conducting_road():
    ice = SURFACES["ice"]
    assert ice.e_s > SURFACES["snow"].e_s
    assert _cooling(effusivity=ice.e_s).road_w_k > _cooling(effusivity=500.0).road_w_k
