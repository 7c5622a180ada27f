"""Grip against temperature and surface: exact constants, published forms and orders."""

import numpy as np
import pytest

from crewdesk.physics import grip
from tests.reference import example_set, shipped_set
from tests.reference.example_set import COMPOUNDS

FAMILIES = ("gravel", "asphalt", "asphalt_wet", "winter")
HARDNESS = ("soft", "medium", "hard")


def test_shift_factors_of_the_universal_constants():
    # M. L. Williams, R. F. Landel and J. D. Ferry, 1955: 17.44 and 51.6 from Tg (constants from
    # memory, not verified); the arithmetic is exact.
    assert grip.wlf_shift(0.0, -50.0) == pytest.approx(-8.583, abs=5e-4)
    assert grip.wlf_shift(50.0, -50.0) == pytest.approx(-11.50, abs=5e-3)


def test_the_two_published_pairs_of_constants_agree():
    # Moved to Tg + 50 K the constants become 8.86 and 101.6, the second pair in use (from
    # memory, not verified): log a(T) - log a(Tg + 50) = -8.86 (T - Tg - 50) / (101.6 + T - Tg -
    # 50).
    at = np.linspace(-45.0, 120.0, 34)
    moved = grip.wlf_shift(at, -50.0) - grip.wlf_shift(0.0, -50.0)
    assert moved == pytest.approx(-8.86 * at / (101.6 + at), rel=1e-3)
    c1 = 17.44 * 51.6 / 101.6
    assert c1 == pytest.approx(8.857, abs=5e-4)
    assert moved == pytest.approx(-c1 * at / (101.6 + at), rel=1e-9)


def test_temperature_and_speed_fall_on_one_curve():
    # K. A. Grosch, Proc. R. Soc. A 274, 1963 (from memory, not verified), confirmed by Genovese
    # et al., Lubricants 7(10), 85, 2019: rubber friction is one curve with a maximum on the
    # reduced speed axis.
    medium = COMPOUNDS["gravel", "medium"]
    best = grip.wlf_shift(medium.t_opt_c, medium.tg_c)
    for x in (-4.0, -1.0, 0.0, 0.7, 3.0):
        at_c = np.array([-20.0, 10.0, 45.0, 80.0, 120.0])
        decades = x - (grip.wlf_shift(at_c, medium.tg_c) - best)
        factors = grip.temperature_factor(medium, at_c, decades)
        assert factors == pytest.approx(np.full(5, factors[0]), rel=1e-12)
    curve = grip.temperature_factor(medium, 30.0, np.linspace(-8, 8, 161))
    turns = np.flatnonzero(np.diff(np.sign(np.diff(curve))))
    assert len(turns) == 1


def test_worked_example():
    medium = COMPOUNDS["gravel", "medium"]
    assert grip.wlf_shift([20.0, 52.0], -50.0) == pytest.approx([-10.04, -11.58], abs=6e-3)
    assert grip.temperature_factor(medium, 20.0) == pytest.approx(0.9314, abs=5e-5)


@pytest.mark.parametrize(
    ("hardness", "expected"),
    [
        ("soft", [0.8861, 0.9844, 0.9987, 0.9751, 0.9368, 0.8949]),
        ("medium", [0.7751, 0.9314, 0.9882, 0.9927, 0.9727, 0.9426]),
        ("hard", [0.6469, 0.8529, 0.9520, 0.9867, 0.9874, 0.9715]),
    ],
)
def test_worked_table_of_gravel_compounds(hardness, expected):
    at_c = [0.0, 20.0, 40.0, 60.0, 80.0, 100.0]
    factors = grip.temperature_factor(COMPOUNDS["gravel", hardness], at_c)
    assert factors == pytest.approx(expected, abs=5.1e-5)


@pytest.mark.parametrize(
    ("family", "soft_medium", "medium_hard"),
    [
        ("gravel", 46.50, 65.01),
        ("asphalt", 50.57, 70.09),
        ("asphalt_wet", 34.23, 47.36),
        ("winter", 7.75, 18.28),
    ],
)
def test_worked_crossovers(family, soft_medium, medium_hard):
    soft, medium, hard = (COMPOUNDS[family, h] for h in HARDNESS)
    assert grip.crossover_c(soft, medium) == pytest.approx(soft_medium, abs=6e-3)
    assert grip.crossover_c(medium, hard) == pytest.approx(medium_hard, abs=6e-3)


@pytest.mark.parametrize("numbers", [example_set, shipped_set])
@pytest.mark.parametrize("family", FAMILIES)
def test_colder_favours_softer_and_hotter_favours_harder(numbers, family):
    soft, medium, hard = (numbers.COMPOUNDS[family, h] for h in HARDNESS)
    at_c = np.arange(soft.t_opt_c - 20.0, hard.t_opt_c + 20.0, 0.05)
    for softer, harder in ((soft, medium), (medium, hard)):
        lead = grip.temperature_factor(softer, at_c) - grip.temperature_factor(harder, at_c)
        assert lead[0] > 0.0 > lead[-1]
        assert np.count_nonzero(np.diff(np.sign(lead))) == 1
    assert grip.crossover_c(soft, medium) < grip.crossover_c(medium, hard)


@pytest.mark.parametrize("numbers", [example_set, shipped_set])
def test_grip_falls_faster_when_cold_than_when_hot(numbers):
    for compound in numbers.COMPOUNDS.values():
        best = compound.t_opt_c
        points = grip.temperature_factor(compound, [best - 31, best - 30, best + 30, best + 31])
        assert points[1] - points[0] > points[2] - points[3] > 0.0
        assert grip.temperature_factor(compound, best) == compound.mu_peak


@pytest.mark.parametrize("numbers", [example_set, shipped_set])
def test_order_of_surfaces_and_their_distance_from_published_friction(numbers):
    # J. Y. Wong, Theory of Ground Vehicles, after Taborek 1957, peak friction (from memory, not
    # verified): asphalt dry 0.8 to 0.9, asphalt wet 0.5 to 0.7, gravel 0.6, packed snow 0.2,
    # ice 0.1. Competition tyres lie above: 0.8 to 2.5 times.
    mu = {name: params.mu for name, params in numbers.SURFACES.items()}
    assert mu["asphalt_smooth"] > mu["asphalt_wet"]
    assert mu["asphalt_wet"] == pytest.approx(mu["gravel_hard"], rel=0.2)
    assert mu["gravel_hard"] > mu["gravel_wet"] > mu["snow"] > mu["ice"]
    published = {
        "asphalt_smooth": 0.85,
        "asphalt_abras": 0.85,
        "asphalt_wet": 0.6,
        "gravel_hard": 0.6,
        "snow": 0.2,
        "ice": 0.1,
    }
    for name, peak in published.items():
        assert 0.8 <= mu[name] / peak <= 2.5


def test_onset_of_hydroplaning():
    # W. B. Horne and R. C. Dreher, NASA TN D-2056, 1963: v = 9 sqrt(p) knots with p in psi
    # (coefficient from memory, not verified); 1 knot = 1.852 km/h, 1 psi = 6.894757 kPa.
    for kpa, kmh in ((160.0, 80.3), (180.0, 85.2), (220.0, 94.2)):
        knots = 9.0 * np.sqrt(kpa / 6.894757)
        assert grip.hydroplaning_kmh(kpa) == pytest.approx(1.852 * knots, rel=1e-3)
        assert grip.hydroplaning_kmh(kpa) == pytest.approx(kmh, abs=0.05)
        # The form in miles per hour: 10.35 sqrt(p).
        assert grip.hydroplaning_kmh(kpa) == pytest.approx(
            1.609344 * 10.35 * np.sqrt(kpa / 6.894757), rel=1e-3
        )


def test_only_a_worn_tyre_on_a_fast_stage_may_float():
    assert grip.may_float(100.0, 200.0, 2.5)
    assert not grip.may_float(100.0, 200.0, 3.5)
    assert not grip.may_float(80.0, 200.0, 2.5)


def test_depth_edges_and_drain():
    assert grip.depth_factor([9.0, 5.0, 2.5, 0.0], 0.1) == pytest.approx([1, 1, 0.95, 0.9])
    assert grip.drain_factor([8.0, 6.0, 3.0, 0.0], 0.3) == pytest.approx([1, 1, 0.85, 0.7])
    assert grip.edge_factor([1.0, 0.5], 0.06) == pytest.approx([1.0, 0.97])
    # A pattern that stands across the slip gains at most 5 % of the edges' share.
    assert grip.edge_factor(1.0, 0.1, 1.15) == pytest.approx(1.005)
