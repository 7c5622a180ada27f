"""Punctures and spares: worked examples and Poisson counts from elsewhere."""

from itertools import product
from math import factorial

import numpy as np
import pytest
from scipy.stats import gamma, poisson

from crewdesk.physics import puncture
from crewdesk.physics.stage import stage_table
from crewdesk.physics.surface import StageSurface
from tests.reference import example_set, shipped_set
from tests.reference.example_set import AWD, SURFACES

EVERYWHERE = [True] * 4
H = 0.1672


def _cost(total, spares, **costs):
    given = {"change_s": 120.0, "lost_s": 900.0} | costs
    quarters = np.full(4, total / 4.0)
    return float(puncture.expected_cost_s(quarters, [EVERYWHERE] * spares, **given))


def _with_mass(total, spares, spare_s=0.059 * 25.0, **costs):
    """Cost with the time that the spares' mass takes on 25 km, 0.059 s/km each."""
    return spares * spare_s + _cost(total, spares, **costs)


def _poisson_sum(total, spares, change_s, lost_s):
    """Cost summed term by term with scipy's Poisson distribution."""
    served = sum(k * change_s * poisson.pmf(k, total) for k in range(1, spares + 1))
    return served + poisson.sf(spares, total) * (spares * change_s + lost_s)


def test_worked_example_of_the_hazard():
    hard = puncture.hazard_1_km(
        SURFACES["gravel_hard"].h0, roughness=0.45, cuts=0.2, mean_mm=8.0, tread_new_mm=9.5
    )
    rock = puncture.hazard_1_km(
        SURFACES["gravel_rock"].h0, roughness=0.75, cuts=0.3, mean_mm=8.0, tread_new_mm=9.5
    )
    assert hard == pytest.approx(6.621e-4, rel=1e-4)
    assert rock == pytest.approx(3.000e-3, rel=2e-4)
    assert 4 * (14.2 * hard + 10.8 * rock) == pytest.approx(H, abs=5e-5)


def test_worked_example_of_spares():
    # H = 0.1672: 138.6, 31.21, 23.55 s for none, one, two; H = 0.02: 17.82, 4.029, 5.351 s.
    assert [_with_mass(H, n) for n in range(3)] == pytest.approx(
        [138.6, 31.21, 23.55], rel=4e-4
    )
    assert [_with_mass(0.02, n) for n in range(3)] == pytest.approx(
        [17.82, 4.029, 5.351], rel=4e-4
    )


@pytest.mark.parametrize(("more", "expected"), [(1, 0.00189), (2, 0.0636)])
def test_worked_example_of_break_even(more, expected):
    low, high = 1e-6, 0.5
    while high - low > 1e-9:
        middle = 0.5 * (low + high)
        gain = _with_mass(middle, more - 1) - _with_mass(middle, more)
        low, high = (low, middle) if gain > 0 else (middle, high)
    assert low == pytest.approx(expected, rel=5e-3)


def test_difference_between_none_and_one():
    # J(1) - J(0) = -P(1) (C - t) + P(N >= 2) t, without the mass.
    p1, more = poisson.pmf(1, H), poisson.sf(1, H)
    expected = -p1 * (900.0 - 120.0) + more * 120.0
    assert _cost(H, 1) - _cost(H, 0) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("total", [0.0, 1e-6, 0.02, H, 1.0, 3.0])
@pytest.mark.parametrize("spares", [0, 1, 2])
def test_cost_where_spares_fit_everywhere_is_the_poisson_sum(total, spares):
    assert _cost(total, spares) == pytest.approx(
        _poisson_sum(total, spares, 120.0, 900.0), rel=1e-12, abs=1e-12
    )


def test_cost_against_random_counts():
    # Monte Carlo with the Poisson generator of numpy, 200 000 draws: 138.3, 31.06, 23.56 s.
    count = np.random.default_rng(18).poisson(H, 200_000)
    for spares, drawn in zip(range(3), (138.3, 31.06, 23.56), strict=True):
        served = np.minimum(count, spares)
        cost = 120.0 * served + np.where(count > spares, 900.0, 0.0)
        error = cost.std() / np.sqrt(len(cost))
        assert abs(_cost(H, spares) - cost.mean()) < 4.0 * error
        # Those draws, another stream of the same size, lie as near.
        assert abs(_with_mass(H, spares) - drawn) < 4.0 * error


def _matched(counts, covers):
    """Most punctures that spares can serve, by trying every assignment."""
    best = 0
    for choice in product(*[[None, *[c for c in range(4) if cover[c]]] for cover in covers]):
        used = [c for c in choice if c is not None]
        if all(used.count(c) <= counts[c] for c in set(used)):
            best = max(best, len(used))
    return best


@pytest.mark.parametrize(
    "covers",
    [
        [],
        [(1, 1, 0, 0)],
        [(0, 0, 0, 0)],
        [(1, 1, 0, 0), (0, 0, 1, 1)],
        [(1, 1, 0, 0), (1, 1, 1, 1)],
        [(1, 0, 1, 0), (1, 1, 0, 0)],
        [(1, 1, 0, 0), (1, 1, 0, 0)],
        [(1, 0, 0, 0), (0, 0, 0, 0)],
        [(1, 1, 1, 0), (0, 1, 1, 1)],
    ],
)
def test_cost_with_spares_that_fit_some_corners_is_the_full_sum(covers):
    # Brute force: every count up to 9 per corner, punctures matched by trying all assignments.
    hazard = np.array([0.15, 0.05, 0.30, 0.20])
    total = 0.0
    for counts in product(range(10), repeat=4):
        chance = np.prod(
            [np.exp(-h) * h**k / factorial(k) for h, k in zip(hazard, counts, strict=True)]
        )
        served = _matched(counts, covers)
        total += chance * (110.0 * served + (700.0 if served < sum(counts) else 0.0))
    got = puncture.expected_cost_s(
        hazard, [[bool(c) for c in cover] for cover in covers], change_s=110.0, lost_s=700.0
    )
    assert got == pytest.approx(total, rel=1e-7)


def test_cost_takes_many_scenarios_at_once():
    hazard = np.random.default_rng(2).uniform(0.0, 0.2, (5, 3, 4))
    covers = [EVERYWHERE, [True, True, False, False]]
    change = np.random.default_rng(3).uniform(60.0, 120.0, (5, 3))
    together = puncture.expected_cost_s(hazard, covers, change_s=change, lost_s=900.0)
    assert together.shape == (5, 3)
    alone = puncture.expected_cost_s(hazard[4, 1], covers, change_s=change[4, 1], lost_s=900.0)
    assert together[4, 1] == pytest.approx(alone, rel=1e-14)


@pytest.mark.parametrize(("seen", "expected"), [(0, 0.008107), (1, 0.01216)])
def test_learnt_rate(seen, expected):
    # Gamma distribution of scipy with Poisson counts: mean of Gamma(2 + k, 2/h + x).
    rate = puncture.learnt_rate_1_km(0.01200, seen, 80.0)
    assert rate == pytest.approx(expected, rel=5e-4)
    assert rate == pytest.approx(gamma.mean(2 + seen, scale=1 / (2 / 0.012 + 80)), rel=1e-12)


def test_learnt_rate_is_the_mean_under_bayes_theorem():
    # Posterior by numerical integration of prior times likelihood.
    rate = np.linspace(1e-6, 0.2, 200_001)
    weight = gamma.pdf(rate, 2, scale=0.006) * poisson.pmf(3, rate * 150.0)
    assert puncture.learnt_rate_1_km(0.012, 3, 150.0) == pytest.approx(
        np.sum(rate * weight) / np.sum(weight), rel=1e-6
    )


def test_hazard_of_a_stage_by_axle_and_driver():
    # Tuning values of this project: front 0.7, rear 1.3, exp(0.6 (A - 0.8)); that rears take
    # more than half is common practice, no source.
    def stage(driver):
        return stage_table(
            AWD,
            km=12.0,
            avg_kmh=84.0,
            twist=0.7,
            right_share=0.5,
            cuts=0.3,
            aggressiveness=driver,
            surfaces=[StageSurface(shipped_set.SURFACES["gravel_rock"], 0.75, 0.2)],
            surface_of=[0],
            air_c=[20.0],
            road_c=[30.0],
            altitude_m=0.0,
            camber_deg=(-1.0, -1.0),
            tyre_width_m=0.19,
            tyre_diameter_m=0.65,
        )

    mean = 12.0 * 1.2e-4 * np.exp(3.0 * 0.75 + 0.5)
    expected = mean * np.array([0.7, 0.7, 1.3, 1.3])
    assert stage(0.8).hazard[:, 0] == pytest.approx(expected)
    assert stage(1.0).hazard[:, 0] == pytest.approx(expected * np.exp(0.12))


def test_direction_of_cut_resistance_and_of_roughness():
    # R. Stocek et al., ACS Rubber Division, 2017: cut and chip damage by repeated sharp impact
    # is a measurable property of the compound in rough terrain; direction only.
    for numbers in (example_set, shipped_set):
        cuts = [numbers.COMPOUNDS["gravel", h].cut for h in ("soft", "medium", "hard")]
        assert cuts[0] > cuts[1] > cuts[2]
    rough = puncture.hazard_1_km(
        1e-4, roughness=[0.1, 0.5, 0.9], cuts=0.2, mean_mm=8.0, tread_new_mm=9.5
    )
    assert np.all(np.diff(rough) > 0.0)


def test_mean_change_is_the_integral_over_the_place():
    # Even at 6 km on gravel (20 s/km) and 7.5 km on asphalt (16 s/km), common practice, no
    # source.
    for km in (3.0, 6.0, 7.5, 14.2, 30.0):
        for limp in (20.0, 16.0):
            x = (np.arange(200_000) + 0.5) * km / 200_000
            by_sum = np.mean(np.minimum(120.0, limp * x))
            assert puncture.mean_change_s(km, 120.0, limp) == pytest.approx(by_sum, rel=1e-9)
    assert puncture.mean_change_s(6.0, 120.0, 20.0) == pytest.approx(60.0)
    assert puncture.mean_change_s(7.5, 120.0, 16.0) == pytest.approx(60.0)
    assert puncture.LIMP_S_KM == {"gravel": 20.0, "asphalt": 16.0}


def test_mean_change_of_a_loop_is_weighted_by_hazard():
    assert puncture.loop_change_s([0.1, 0.3], [60.0, 100.0]) == pytest.approx(90.0)
    assert puncture.loop_change_s([0.0, 0.0], [60.0, 100.0]) == pytest.approx(80.0)


def test_kilometres_between_punctures_are_those_of_practice():
    # Common practice, no source: a puncture per car in 150 to 250 km of rocky gravel, 300 to
    # 400 of ordinary gravel, 500 to 900 of asphalt with cuts; medium tyres, some tread gone.
    def per_car(surface, roughness, cuts):
        one = puncture.hazard_1_km(
            shipped_set.SURFACES[surface].h0,
            roughness=roughness,
            cuts=cuts,
            mean_mm=8.0,
            tread_new_mm=9.5,
        )
        return 1.0 / (4.0 * float(one))

    assert 150.0 <= per_car("gravel_rock", 0.65, 0.3) <= 250.0
    assert 300.0 <= per_car("gravel_hard", 0.45, 0.2) <= 400.0
    assert 500.0 <= per_car("asphalt_abras", 0.30, 0.4) <= 900.0
