"""Slip work: against the integral of the brush model and against road tests."""

import numpy as np
import pytest
from scipy.integrate import quad

from crewdesk.physics.brush import slip, slip_work_factor, slip_work_j_m
from crewdesk.physics.work import corner_work, drive_of, road_work_j_m
from tests.reference.example_set import AWD, FWD, RWD

G = 9.80665  # SI Brochure, 9th ed., 2019


def test_factor_of_slip_work_at_round_utilisations():
    # Phi(f) = 3 f (1 - (1 - f)^(1/3)), evaluated by hand.
    f = [0.10, 0.25, 0.50, 0.75, 0.90, 0.944, 0.95, 0.99, 0.995]
    by_hand = [0.01035, 0.06858, 0.3094, 0.8326, 1.447, 1.749, 1.800, 2.330, 2.475]
    for at, printed in zip(f, by_hand, strict=True):
        assert f"{float(slip_work_factor(at)):.4g}" == f"{printed:.4g}"


def test_utilisation_above_the_cap_counts_as_the_cap():
    assert slip_work_factor(2.0) == slip_work_factor(0.995)


@pytest.mark.parametrize("half_length_m", [0.04, 0.06, 0.11])
def test_work_is_the_integral_of_friction_times_sliding_over_the_patch(half_length_m):
    # Brush model of tyre science textbooks, parabolic contact pressure: bristles adhere from
    # the leading edge until their force reaches mu q(x), then slide. Slip stiffness per load is
    # c.
    mu, load_n, c, sigma, a = 0.65, 3823.0, 7.0, 0.10, half_length_m

    def q(x):  # pressure per length, x from the leading edge
        return 3.0 * load_n / (4.0 * a) * (1.0 - ((x - a) / a) ** 2)

    stiffness = c * load_n / (2.0 * a * a)  # of bristles per length, so that dF/dsigma = c Fz
    # adhesion ends where stiffness * sigma * x = mu q(x)
    ends = 2.0 * a * (1.0 - 2.0 * stiffness * sigma * a * a / (3.0 * mu * load_n))
    force = quad(lambda x: stiffness * sigma * x, 0, ends)[0]
    force += quad(lambda x: mu * q(x), ends, 2 * a)[0]

    # Each bristle slides by what its root moves less what its bend grows; per metre of travel
    # the roots move sigma, and in the sliding part the bend is mu q(x) / stiffness.
    def sliding(x):
        bend_slope = mu * 3.0 * load_n / (4.0 * a) * (-2.0 * (x - a) / a**2) / stiffness
        return sigma - bend_slope

    work = quad(lambda x: mu * q(x) * sliding(x), ends, 2 * a)[0]
    f = force / (mu * load_n)
    assert force == pytest.approx(1830.0, abs=1.0)
    assert f == pytest.approx(0.7366, abs=1e-4)
    assert work == pytest.approx(183.0, abs=0.1)
    assert slip_work_j_m(f, load_n, mu, c) == pytest.approx(work, rel=1e-9)
    assert slip(f, mu, c) == pytest.approx(sigma, rel=1e-9)


def test_wear_of_a_slipping_wheel_is_quadratic_in_small_slip():
    # A. Schallamach and D. M. Turner, "The wear of slipping wheels", 1960 (from memory, not
    # verified): d ln w / d ln sigma -> 2.
    f = np.array([1e-5, 2e-5])
    slope = np.diff(np.log(slip_work_j_m(f, 3823.0, 0.65, 7.0)))
    slope /= np.diff(np.log(slip(f, 0.65, 7.0)))
    assert slope[0] == pytest.approx(2.0, abs=1e-4)


# Worked example on hard gravel (regression of the project's own numbers).
MU, C, SPEED, R = 0.65, 7.0, 96 / 3.6, 0.45


def _drive(car):
    return drive_of(car, mu=MU, speed_ms=SPEED, twist=0.6, aggressiveness=0.8)


def _work(car, right_share=0.5):
    return corner_work(
        car, _drive(car), mu=MU, c_per_rad=C, roughness=R, right_share=right_share
    )


def test_worked_example_of_driving_modes():
    drive = _drive(AWD)
    assert drive.utilisation == pytest.approx(0.9440, abs=5e-5)
    assert drive.power_to_grip == pytest.approx(0.7555, abs=5e-5)
    shares = (drive.corner_share, drive.brake_share, drive.drive_share)
    assert shares == pytest.approx((0.2120, 0.2302, 0.3200), abs=5e-5)
    assert drive.lateral_transfer == pytest.approx(0.3835, abs=5e-5)
    accelerations = np.array([drive.corner_g, drive.brake_g, drive.drive_g]) * G
    assert accelerations == pytest.approx([6.017, 5.282, 5.424], abs=6e-4)


def test_worked_example_of_work_by_mode():
    work = _work(AWD)
    front = [work.corner_j_m[0], work.brake_j_m[0], work.drive_j_m[0], work.cruise_j_m[0]]
    rear = [work.corner_j_m[2], work.brake_j_m[2], work.drive_j_m[2], work.cruise_j_m[2]]
    assert front == pytest.approx([89.07, 59.09, 108.2, 0.5915], rel=5e-4)
    assert rear == pytest.approx([69.98, 57.62, 68.59, 0.4647], rel=2e-4)


@pytest.mark.parametrize(
    ("car", "right_share", "expected"),
    [
        (AWD, 0.5, [257.0, 257.0, 196.7, 196.7]),
        (AWD, 0.6, [263.8, 250.1, 202.0, 191.3]),
        (FWD, 0.5, [243.3, 243.3, 86.47, 86.47]),
        (RWD, 0.5, [140.1, 140.1, 235.0, 235.0]),
    ],
)
def test_worked_example_of_work_by_corner(car, right_share, expected):
    assert _work(car, right_share).total_j_m == pytest.approx(expected, rel=3e-4)


def test_scaling_mass_and_power_scales_work():
    heavier = type(FWD)(**{**FWD.__dict__, "mass_kg": 2 * 1190, "power_kw": 280})
    assert _work(heavier).total_j_m == pytest.approx(2 * _work(FWD).total_j_m, rel=1e-12)


def test_an_undriven_axle_does_no_work_in_driving():
    assert _work(FWD).drive_j_m[2] == 0.0
    assert _work(RWD).drive_j_m[0] == 0.0


def test_road_sections_scrub_little():
    assert road_work_j_m(3400.0, 16.0) == pytest.approx(4.67, abs=0.01)


# Road tests with five tyre models: J. A. J. Meesters and J. T. K. Quik, "Tyre wear emission
# model based on friction", RIVM 2023 (LEON-T deliverable 3.4); data file of the public
# repository rivm-syso/tyre-friction-abrasion-emission, EUPL 1.2. Laps, acceleration [m/s2],
# radius [m], bank, speed [m/s], metres per lap; car 1644 kg.
ROAD_TESTS = {
    "rural": [
        (2, -1.0, None, 0.0, 15.28, 424.4),
        (2, 1.0, None, 0.0, 15.28, 424.4),
        (2, 0.0, None, 0.0, 16.67, 3657.0),
        (2, 0.0, 470.0, 0.01, 16.67, 2953.0),
        (5, -1.4, None, 0.0, 16.67, 396.8),
        (5, 1.4, None, 0.0, 16.67, 396.8),
        (5, 0.0, None, 0.0, 19.44, 3712.0),
        (5, 0.0, 470.0, 0.01, 19.44, 2953.0),
        (5, -2.94, None, 0.0, 18.06, 307.1),
        (5, 1.6, None, 0.0, 18.06, 564.2),
        (5, 0.0, None, 0.0, 22.22, 3635.0),
        (5, 0.0, 470.0, 0.01, 22.22, 2953.0),
    ],
    "motorway": [
        (15, -2.94, None, 0.0, 25.0, 189.0),
        (15, 1.5, None, 0.0, 25.0, 370.4),
        (15, 0.0, None, 0.0, 36.11, 3947.0),
        (15, 0.0, 470.0, 0.04, 36.11, 2953.0),
    ],
}
TOTAL_KM = {"rural": 89.2, "motorway": 111.0}  # as published
MEASURED_MG_KM = {"rural": 359.6, "motorway": 544.5}  # mean over tyre models, whole car
MEASURED_FRONT_TO_REAR = {"rural": (1.7, 2.5), "motorway": (2.6, 3.8)}  # range over models


def _axle_work_j_m(acceleration, radius, bank, speed):
    """Work of front and rear axle per metre; grip, stiffness and car beyond mass assumed."""
    mass, mu, c = 1644.0, 1.0, 15.0
    weight = np.array([0.58, 0.42])
    resistance = 0.010 * mass * G + 0.5 * 1.205 * 2.629 * 0.347 * speed**2
    along = 1.05 * mass * acceleration + resistance
    share = np.array([1.0, 0.0]) if along > 0 else np.array([0.70, 0.30])
    load = mass * (G * weight + np.array([-1.0, 1.0]) * acceleration * 0.62 / 2.69)
    across = max(0.0, speed**2 / radius - G * bank) if radius else 0.0
    used = np.hypot(along * share, mass * weight * across) / (mu * load)
    return slip_work_j_m(used, load, mu, c) + c * load * 0.0035**2


def _car_work_j_m(test):
    rows = ROAD_TESTS[test]
    total = sum(laps * metres * _axle_work_j_m(*how) for laps, *how, metres in rows)
    return total / (TOTAL_KM[test] * 1000.0)


@pytest.mark.parametrize(
    ("test", "front", "rear"), [("rural", 10.53, 3.02), ("motorway", 29.40, 13.50)]
)
def test_work_of_the_road_tests(test, front, rear):
    assert _car_work_j_m(test) == pytest.approx([front, rear], abs=0.006)


def test_one_abradability_gives_the_measured_wear_within_a_factor_of_two():
    # 21.1 mg/kJ: geometric mean over the rural, motorway and urban tests of the same file.
    for test, measured in MEASURED_MG_KM.items():
        assert 0.5 < measured / (21.1 * _car_work_j_m(test).sum()) < 2.0
    ratios = [MEASURED_MG_KM[t] / _car_work_j_m(t).sum() for t in ROAD_TESTS]
    own = np.sqrt(ratios[0] * ratios[1])
    assert all(0.5 < ratio / own < 2.0 for ratio in ratios)


def test_order_of_the_road_tests_and_of_their_axles():
    assert _car_work_j_m("rural").sum() < _car_work_j_m("motorway").sum()
    for test, (low, high) in MEASURED_FRONT_TO_REAR.items():
        front, rear = _car_work_j_m(test)
        assert front > rear
        assert 0.5 < front / rear / (0.5 * (low + high)) < 2.0


def test_abradability_of_the_road_tyres_lies_between_other_published_ones():
    # The same file tabulates Cenek et al. 1997: 0.0016 to 0.0099 mm3/J; drum tests of ISO 4649:
    # 0.18 to 0.38 mm3/J (from memory, not verified). Tread rubber 1130 kg/m3.
    for test, measured in MEASURED_MG_KM.items():
        mm3_j = measured / 1.130 / (_car_work_j_m(test).sum() * 1000.0)
        assert 0.0016 < mm3_j < 0.38
