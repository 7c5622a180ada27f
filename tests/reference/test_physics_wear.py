"""Tread wear and edges: worked examples, published data and forms."""

import csv
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from crewdesk.physics import edges, wear
from crewdesk.physics.brush import slip_work_j_m
from crewdesk.physics.work import corner_work, drive_of
from tests.reference import example_set, shipped_set
from tests.reference.example_set import AWD, COMPOUNDS, SURFACES, tyre

DATA = Path(__file__).parents[1] / "data"


def _work(surface, speed_kmh, twist, roughness, right_share=0.5):
    params = SURFACES[surface]
    drive = drive_of(
        AWD, mu=params.mu, speed_ms=speed_kmh / 3.6, twist=twist, aggressiveness=0.8
    )
    work = corner_work(
        AWD,
        drive,
        mu=params.mu,
        c_per_rad=params.c_per_rad,
        roughness=roughness,
        right_share=right_share,
    )
    return drive, work


def _rate(surface, compound, spec, work_j_m):
    params = SURFACES[surface]
    volume = wear.volume_mm3_km(
        work_j_m, k_c_mm3_j=compound.k_c_mm3_j, kap=params.kap, eta=params.eta
    )
    return volume, volume / spec.land_mm2


def test_worked_example_on_gravel():
    medium = COMPOUNDS["gravel", "medium"]
    spec = tyre(medium)
    assert spec.land_mm2 == pytest.approx(232_800, rel=1e-4)
    drive, work = _work("gravel_hard", 96, 0.6, 0.45)
    volume, rate = _rate("gravel_hard", medium, spec, work.total_j_m)
    assert volume[0] == pytest.approx(7683, abs=1)
    assert rate[[0, 2]] == pytest.approx([0.03300, 0.02526], abs=5e-6)
    assert 14.2 * rate[[0, 2]] == pytest.approx([0.4687, 0.3587], abs=5e-5)

    asymmetry = wear.turning_asymmetry(
        work.corner_j_m[0] / work.total_j_m[0], drive.lateral_transfer, 0.5
    )
    assert asymmetry == pytest.approx(0.1329, abs=5e-5)
    weights = wear.width_weights(asymmetry, camber_shift=0.06, pressure_error=0.0)
    assert weights == pytest.approx([0.9935, 1.000, 1.0065], abs=5e-5)


def test_worked_example_on_asphalt():
    medium = COMPOUNDS["asphalt", "medium"]
    spec = tyre(medium, asphalt=True)
    assert spec.land_mm2 == pytest.approx(340_400, rel=1e-4)
    for surface, expected in (("asphalt_smooth", 0.02524), ("asphalt_abras", 0.04354)):
        _, work = _work(surface, 105, 0.6, 0.15)
        assert _rate(surface, medium, spec, work.total_j_m)[1][0] == pytest.approx(
            expected, abs=6e-6
        )


def test_worked_example_of_overheating():
    soft = COMPOUNDS["gravel", "soft"]
    factors = wear.temperature_wear(soft, [70.0, 80.0, 90.0])
    assert factors == pytest.approx([1.522, 2.160, 3.065], abs=6e-4)


def test_worked_example_of_edges():
    _, work = _work("gravel_hard", 96, 0.6, 0.45)
    load = edges.edge_load(work.brake_j_m[0], work.drive_j_m[0], work.corner_j_m[0])
    assert load == pytest.approx([0.6914, 1.266, 1.042], abs=6e-4)
    medium = COMPOUNDS["gravel", "medium"]
    loss = 14.2 * _rate("gravel_hard", medium, tyre(medium), work.total_j_m)[1][0]
    outer = np.array([1.0, 1.0, 1.0065])  # the shoulder wears 1.0065 x the mean
    left = edges.rounded(1.0, loss * outer, load=load, psi=1.0, edge_length_mm=1.6)
    # The last digit of 0.7355 was made with rounded factors; unrounded it is 0.73545.
    assert left == pytest.approx([0.8167, 0.6901, 0.7355], abs=7e-5)


def test_edges_are_half_gone_long_before_the_tread():
    # ln 2 = 0.6931 of the edge length.
    half = edges.rounded(1.0, 0.6931 * 1.6, load=1.0, psi=1.0, edge_length_mm=1.6)
    assert half == pytest.approx(0.5, abs=1e-4)
    assert edges.edge_radius_mm(half) == pytest.approx(1.5, abs=1e-3)


def test_plausible_life_of_a_medium_gravel_tyre():
    # Common practice, no source: after about 65 km of stage a soft to medium gravel tyre has
    # visibly rounded blocks and still has usable life. This fixed k_c and proves nothing.
    sharp = edges.rounded(1.0, 2.80, load=1.0, psi=1.1, edge_length_mm=1.6)
    assert 0.1 < sharp < 0.3


@pytest.mark.parametrize("numbers", [example_set, shipped_set])
def test_abradabilities_lie_inside_published_ones(numbers):
    # Low end: Cenek et al. 1997 as tabulated in the RIVM open data (rivm-syso/
    # tyre-friction-abrasion-emission), 0.0016 mm3/J. High end: ISO 4649 drum, 10 N over 40 m,
    # 150 mm3 at mu = 1: 0.38 mm3/J (from memory, not verified).
    for compound in numbers.COMPOUNDS.values():
        for surface in numbers.SURFACES.values():
            assert 0.0016 <= compound.k_c_mm3_j * surface.kap <= 0.38


def _davies():
    # O. L. Davies, Statistical Methods in Research and Production, 1947, table 6.1 (data set
    # Rubber of the R package MASS).
    with (DATA / "rubber_abrasion.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    return tuple(
        np.array([float(row[name]) for row in rows]) for name in ("loss", "hardness", "tensile")
    )


def _hardness_slope():
    loss, hardness, tensile = _davies()
    columns = np.column_stack([np.ones_like(loss), hardness, tensile])
    answer, residual, *_ = np.linalg.lstsq(columns, np.log(loss), rcond=None)
    variance = residual[0] / (len(loss) - 3) * np.linalg.inv(columns.T @ columns)
    return answer[1], np.sqrt(variance[1, 1])


def test_davies_data_are_the_published_ones():
    # The regression published with the data: loss = 885.2 - 6.571 H - 1.374 TS, R2 0.8402.
    loss, hardness, tensile = _davies()
    assert len(loss) == 30
    columns = np.column_stack([np.ones_like(loss), hardness, tensile])
    answer, residual, *_ = np.linalg.lstsq(columns, loss, rcond=None)
    assert answer == pytest.approx([885.2, -6.571, -1.374], rel=1e-3)
    assert 1 - residual[0] / np.sum((loss - loss.mean()) ** 2) == pytest.approx(
        0.8402, abs=1e-4
    )
    slope, error = _hardness_slope()
    assert slope == pytest.approx(-0.04160, abs=5e-5)
    assert error == pytest.approx(0.0054, abs=1e-4)


@pytest.mark.parametrize("numbers", [example_set, shipped_set])
@pytest.mark.parametrize("family", ["gravel", "asphalt", "asphalt_wet", "winter"])
def test_steps_between_compounds_are_steps_of_hardness(numbers, family):
    # Davies 1947: abrasion falls by 0.0416 in ln per Shore point. Compounds are taken to be
    # 5 to 12 points apart (common practice, no source).
    slope, _ = _hardness_slope()
    rates = [numbers.COMPOUNDS[family, h].k_c_mm3_j for h in ("soft", "medium", "hard")]
    for softer, harder in pairwise(rates):
        assert 5.0 <= np.log(harder / softer) / slope <= 12.0


def test_steps_of_gravel_compounds_in_shore_points():
    slope, _ = _hardness_slope()
    soft, medium, hard = (COMPOUNDS["gravel", h].k_c_mm3_j for h in ("soft", "medium", "hard"))
    assert (medium / soft, hard / medium) == pytest.approx((0.742, 0.739), abs=5e-4)
    steps = np.log([medium / soft, hard / medium]) / slope
    assert steps == pytest.approx([7.2, 7.3], abs=0.05)


def test_depth_falls_linearly_with_distance_inside_the_window():
    # F. C. Brenner, S. C. Scheiner and D. R. Kondo, ASTM 1975: groove depth of 27 tyres against
    # mileage is straight, R2 > 0.99.
    medium = COMPOUNDS["gravel", "medium"]
    rate = wear.volume_mm3_km(257.0, k_c_mm3_j=medium.k_c_mm3_j, kap=1.0, eta=0.65)
    rate = rate * wear.temperature_wear(medium, 50.0) / tyre(medium).land_mm2
    weights = wear.width_weights(0.13, camber_shift=0.06, pressure_error=0.0)
    left = np.full(3, 9.5)
    course = [left]
    for _ in range(20):
        left = left - rate * 5.0 * weights
        course.append(left)
    assert np.diff(course, n=2, axis=0) == pytest.approx(np.zeros((19, 3)), abs=1e-12)
    reach = wear.km_left(np.full(3, 9.5), 2.5, rate, weights)
    assert np.min(9.5 - rate * reach * weights) == pytest.approx(2.5, abs=1e-12)


def test_wear_is_in_proportion_to_load_and_lower_in_the_wet():
    # B. N. J. Persson et al., J. Chem. Phys. 162, 074704, 2025: wear rate in proportion to the
    # normal force, independent of sliding speed, clearly lower wet.
    light, heavy = slip_work_j_m(0.7, [1000.0, 3000.0], 0.65, 7.0)
    assert heavy == pytest.approx(3.0 * light, rel=1e-12)
    for numbers in (example_set.SURFACES, shipped_set.SURFACES):
        assert numbers["asphalt_wet"].kap < numbers["asphalt_damp"].kap
        assert numbers["asphalt_damp"].kap < numbers["asphalt_smooth"].kap
        for dry, wet in (("gravel_hard", "gravel_wet"), ("asphalt_smooth", "asphalt_wet")):
            assert numbers[wet].kap * numbers[wet].eta < numbers[dry].kap * numbers[dry].eta


def test_speed_enters_only_through_the_shares_of_driving():
    # Same source: no dependence on sliding speed itself.
    slow, slow_work = _work("gravel_hard", 90, 0.6, 0.45)
    fast, fast_work = _work("gravel_hard", 100, 0.6, 0.45)
    assert fast_work.brake_j_m / fast.brake_share == pytest.approx(
        slow_work.brake_j_m / slow.brake_share, rel=1e-12
    )
    assert fast_work.corner_j_m == pytest.approx(slow_work.corner_j_m, rel=1e-12)


@pytest.mark.parametrize("numbers", [example_set, shipped_set])
def test_wear_has_its_least_inside_the_window(numbers):
    # C. Ambelang, Tire Science and Technology, 1973: cutting abrasion of SBR is high below
    # freezing, has a minimum, then rises.
    for compound in numbers.COMPOUNDS.values():
        inside = np.linspace(compound.t_lo_c, compound.t_hi_c, 9)
        assert wear.temperature_wear(compound, inside) == pytest.approx(np.ones(9), abs=0)
        outside = [compound.t_lo_c - 1.0, compound.t_hi_c + 1.0]
        assert np.all(wear.temperature_wear(compound, outside) > 1.0)


def test_edges_matter_on_snow_whatever_the_speed():
    # "Investigation of snow milling mechanics", Tire Science and Technology 45(3), 2017,
    # 162-174: block edges carry force on snow by milling, independently of sliding speed.
    for numbers in (example_set.SURFACES, shipped_set.SURFACES):
        assert numbers["snow"].ee > 0.0
        assert numbers["snow"].ee > numbers["asphalt_smooth"].ee
