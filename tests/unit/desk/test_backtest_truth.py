"""The hidden truth of simulated days: how it is drawn, and what it does to a car."""

from dataclasses import dataclass, replace

import numpy as np
import pytest
from scipy import stats

from crewdesk.conditions.outlook import forecast_conditions
from crewdesk.desk.backtest.dice import Dice
from crewdesk.desk.backtest.garage import Garage, true_tables
from crewdesk.desk.backtest.sky import AFTER_ALL, Spread, true_conditions
from crewdesk.desk.backtest.truth import Truth, draw_truth
from crewdesk.desk.outlook import moments_of
from crewdesk.documents.bundle import EventBundle
from crewdesk.units import CORNERS

AS_EXPECTED = Spread(widen=0.0)


def moments(bundle: EventBundle):
    return moments_of(bundle, bundle.itinerary.stages, bundle.itinerary.change_places)


@pytest.fixture(scope="module")
def expected(saldrey):
    return draw_truth(saldrey, 0, 0, AS_EXPECTED)


@pytest.fixture(scope="module")
def hundred(saldrey):
    return [draw_truth(saldrey, 7, day, Spread()) for day in range(100)]


# ---- the draws


def test_a_name_has_its_own_draw_whoever_asks_first():
    one, two = Dice(3, 4), Dice(3, 4)
    first, second = one.normal("a"), one.normal("b")
    assert (two.normal("b"), two.normal("a")) == (second, first)
    assert Dice(3, 5).normal("a") != first
    assert Dice(4, 4).normal("a") != first


def test_without_spread_the_day_is_the_forecast(saldrey, expected):
    # The same door that a call goes through, asked after the last issue.
    told = forecast_conditions(
        saldrey.weather, moments(saldrey), (), now_utc=AFTER_ALL, n_scenarios=1
    )
    assert expected.conditions.keys == told.keys
    assert expected.conditions.air_c == pytest.approx(told.air_c, abs=1e-9)
    # The road is worked out on a finer grid of the forecast, hence not to the last digit.
    assert expected.conditions.road_c == pytest.approx(told.road_c, abs=0.3)
    assert (expected.conditions.state == told.state).all()
    stock = saldrey.stock.tyres[0]
    assert expected.puncture_factor == 1.0
    assert expected.compound_factor(stock, "gravel") == 1.0
    assert expected.corner_factor(2) == 1.0
    assert expected.tyre_factor(stock.tyre_id, 1) == 1.0


def test_an_hour_has_the_newest_forecast_that_is_out_by_then(quellhaven):
    truth = draw_truth(quellhaven, 0, 0, AS_EXPECTED)
    by_morning = [p for p in quellhaven.itinerary.change_places if p.leg == 2]
    seen = forecast_conditions(
        quellhaven.weather,
        moments(quellhaven),
        (),
        now_utc=by_morning[0].due_in_utc,
        n_scenarios=1,
    )
    before = forecast_conditions(
        quellhaven.weather,
        moments(quellhaven),
        (),
        now_utc=quellhaven.itinerary.change_places[0].due_in_utc,
        n_scenarios=1,
    )
    column = seen.index("SS7")
    assert truth.conditions.air_c[0, column] == pytest.approx(seen.air_c[0, column], abs=0.2)
    assert abs(before.air_c[0, column] - seen.air_c[0, column]) > 0.5


def test_air_errors_have_the_spread_and_memory_that_calls_take(saldrey, expected, hundred):
    # conditions: 2 °C and six hours, from forecast verification at 14 stations (Kendzierski
    # et al. 2018, Geofizika 35); the height of a stage adds 1.5 K/km.
    keys = ["SS1", "SS4"]
    columns = [expected.conditions.index(key) for key in keys]
    off = np.array([t.conditions.air_c[0, columns] for t in hundred])
    off -= expected.conditions.air_c[0, columns]
    stages = [saldrey.itinerary.stage(key) for key in keys]
    rise_km = [(s.altitude_m - 180.0) / 1000.0 for s in stages]
    for number in range(2):
        sd = np.hypot(2.0, 1.5 * rise_km[number])
        # Bartlett: the variance of 100 normal draws lies inside these with 99.8 %.
        low, high = stats.chi2(99).ppf([0.001, 0.999]) / 99
        assert low < off[:, number].var(ddof=1) / sd**2 < high
    hours = (stages[1].due_utc - stages[0].due_utc).total_seconds() / 3600.0
    seen = np.arctanh(np.corrcoef(off.T)[0, 1])
    assert seen == pytest.approx(np.arctanh(np.exp(-hours / 6.0)), abs=3.1 / np.sqrt(97))


def test_wear_factors_have_their_spreads(saldrey):
    stock = saldrey.stock.tyres[0]
    days = [Truth(Dice(1, day), Spread(), None) for day in range(400)]
    for sd, draw in (
        (0.40, lambda t: t.compound_factor(stock, "gravel")),
        (0.20, lambda t: t.corner_factor(1)),
        (0.15, lambda t: t.tyre_factor("T1", 3)),
    ):
        test = stats.kstest([np.log(draw(t)) for t in days], stats.norm(0.0, sd).cdf)
        assert test.pvalue > 1e-3


def test_punctures_follow_a_gamma_rate_and_the_hazard():
    days = [Truth(Dice(2, day), Spread(), None) for day in range(600)]
    rates = [t.puncture_factor for t in days]
    assert stats.kstest(rates, stats.gamma(2.0, scale=0.5).cdf).pvalue > 1e-3
    hit = sum(t.punctured("SS1", 0, 0.4) for t in days)
    # A Gamma-mixed Poisson count is negative binomial (any textbook of statistics).
    chance = 1.0 - float(stats.nbinom(2.0, 1.0 / (1.0 + 0.4 * 0.5)).pmf(0))
    assert stats.binomtest(hit, len(days), chance).pvalue > 1e-3


def test_a_gauge_is_off_by_two_tenths():
    truth = Truth(Dice(5, 0), Spread(), None)
    off = np.array([truth.gauge_mm("T", f"P{n}", 0, 6.0) - 6.0 for n in range(500)])
    assert off.mean() == pytest.approx(0.0, abs=3.5 * 0.2 / np.sqrt(500))
    assert off.std() == pytest.approx(0.2, rel=0.12)
    assert np.round(off, 1) == pytest.approx(off, abs=1e-9)


# ---- the knobs


def test_bias_makes_every_hour_warmer_by_so_much(saldrey):
    plain = draw_truth(saldrey, 3, 1, Spread()).conditions
    warm = draw_truth(saldrey, 3, 1, Spread(bias_air_c=5.0)).conditions
    assert warm.air_c - plain.air_c == pytest.approx(5.0, abs=1e-9)
    assert ((warm.road_c - plain.road_c) > 2.0).all()


def test_wear_bias_is_a_factor_on_wear(saldrey):
    stock = saldrey.stock.tyres[0]
    plain, more = (Truth(Dice(3, 1), Spread(wear_bias=bias), None) for bias in (1.0, 1.4))
    assert more.compound_factor(stock, "gravel") == pytest.approx(
        1.4 * plain.compound_factor(stock, "gravel")
    )


def test_widening_carries_every_error_further(saldrey, expected):
    once = draw_truth(saldrey, 3, 1, Spread()).conditions.air_c
    twice = draw_truth(saldrey, 3, 1, Spread(widen=2.0)).conditions.air_c
    best = expected.conditions.air_c
    assert twice - best == pytest.approx(2.0 * (once - best), abs=1e-9)
    stock = saldrey.stock.tyres[0]
    narrow, wide = (Truth(Dice(3, 1), Spread(widen=w), None) for w in (1.0, 2.0))
    assert np.log(wide.compound_factor(stock, "gravel")) == pytest.approx(
        2.0 * np.log(narrow.compound_factor(stock, "gravel"))
    )


def test_rain_falls_in_other_amounts_at_other_hours(quellhaven):
    draws = [
        true_conditions(quellhaven.weather, moments(quellhaven), Dice(1, day), Spread())
        for day in range(12)
    ]
    column = draws[0].index("SS9")
    assert len({round(float(c.rain_mm_h[0, column]), 3) for c in draws}) > 6
    assert all(c.rain_mm_h.min() >= 0.0 for c in draws)


# ---- the car


@dataclass(frozen=True)
class Stones(Truth):
    """A truth with stones where a test wants them."""

    hit: tuple[tuple[str, int], ...] = ()

    def punctured(self, stage: str, corner: int, hazard: float) -> bool:
        return (stage, corner) in self.hit

    def puncture_share(self, stage: str, corner: int) -> float:
        return 0.6


def driven(saldrey, expected, *hit, spares=("M05",)):
    truth = Stones(expected.dice, expected.spread, expected.conditions, hit)
    garage = Garage(saldrey, truth, true_tables(saldrey, truth))
    place = saldrey.itinerary.change_places[0]
    wheels = ["M01", "M02", "M03", "M06", *spares]
    fitting = dict(zip([*CORNERS, "SP1", "SP2"], wheels, strict=False))
    kpa = dict.fromkeys([*CORNERS, "SP1", "SP2"], 190.0)
    return garage, garage.drive(place, fitting, kpa)


def test_a_carried_wheel_serves_a_puncture(saldrey, expected):
    garage, loop = driven(saldrey, expected, ("SS1", 0))
    _, clean = driven(saldrey, expected)
    km_left = 0.4 * saldrey.itinerary.stage("SS1").km
    # Nobody stops with so little left: 20 s/km on gravel, at most two minutes.
    assert loop.lost_s == pytest.approx(min(120.0, 20.0 * km_left))
    assert loop.stage_s["SS1"] == pytest.approx(clean.stage_s["SS1"])
    assert (loop.car["FL"], loop.car["SP1"]) == ("M05", "M01")
    assert garage.tyres["M01"].flat
    new = saldrey.stock.tyre("M05").tread_mm
    assert min(garage.tyres["M05"].tread_mm) < min(new)
    assert garage.tyres["M05"].on_hub


def test_without_a_wheel_left_the_loss_counts_once(saldrey, expected):
    _, loop = driven(saldrey, expected, ("SS1", 0), ("SS1", 3), ("SS2", 2))
    changes = [flat for flat in loop.flats if flat.on is not None]
    assert (len(loop.flats), len(changes)) == (3, 1)
    assert loop.lost_s == pytest.approx(changes[0].lost_s + 900.0)


def test_stones_lie_at_the_same_place_for_everybody(saldrey):
    truth = draw_truth(saldrey, 11, 2, Spread())
    spots = [(stage.ref, c) for stage in saldrey.itinerary.stages for c in range(4)]
    first = [truth.punctured(*spot, 0.3) for spot in spots]
    again = [draw_truth(saldrey, 11, 2, Spread()).punctured(*spot, 0.3) for spot in spots]
    assert first == again
    more = [truth.punctured(*spot, 0.6) for spot in spots]
    assert all(b or not a for a, b in zip(first, more, strict=True))


def test_a_tyre_under_the_least_tread_is_found(saldrey, expected):
    worn = replace(expected, spread=Spread(widen=0.0, wear_bias=18.0))
    garage = Garage(saldrey, worn, true_tables(saldrey, worn))
    place = saldrey.itinerary.change_places[0]
    fitting = dict(zip([*CORNERS, "SP1"], ["M01", "M02", "M05", "M06", "M03"], strict=True))
    loop = garage.drive(place, fitting, dict.fromkeys(CORNERS, 190.0))
    low = {c for c in CORNERS if min(garage.tyres[fitting[c]].tread_mm) < 1.6}
    assert low
    # So thin a tyre is soon punctured, and what is flat is not measured.
    flat = {one.off for one in loop.flats}
    assert loop.below
    assert set(loop.below) == {fitting[c] for c in low} - flat
