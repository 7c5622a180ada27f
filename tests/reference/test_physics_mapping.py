"""From what a crew knows about a road to its numbers, and what comes of it in water."""

from dataclasses import replace

import numpy as np
import pytest

from crewdesk.physics.numbers import SHIPPED
from crewdesk.physics.stage import stage_time_s
from crewdesk.physics.surface import (
    blend,
    mixed_stage,
    stage_roughness,
    stage_surface,
    swept_share,
)
from tests.reference.demo_day import DemoStage, new_state, on_target, table_of
from tests.reference.example_set import AWD, FWD
from tests.reference.shipped_set import SURFACES, shipped_tyre


def surface(
    road="gravel",
    state="dry",
    *,
    roughness=3,
    abrasion=3,
    pass_no=1,
    cars_ahead=0,
    swept=False,
    gravel_share=0.0,
    broken=False,
    holds_water=0.0,
):
    return stage_surface(
        road,
        state,
        roughness,
        abrasion,
        pass_no,
        cars_ahead,
        swept,
        gravel_share,
        broken,
        holds_water,
        classes=SURFACES,
    )


def log_blend(name_1, name_2, share, field):
    one, two = getattr(SURFACES[name_1], field), getattr(SURFACES[name_2], field)
    return np.exp((1 - share) * np.log(one) + share * np.log(two))


# Every rule below is a tuning value of this project; the expected numbers are worked by hand
# from the table of surfaces.


def test_sweeping_by_cars_ahead():
    # Common practice, no source.
    swept = [swept_share(n) for n in (5, 15, 30)]
    assert swept == pytest.approx([0.2835, 0.6321, 0.8647], abs=5e-5)


def test_grades_of_roughness_and_passes():
    grades = [stage_roughness("gravel", g, 1, broken=False) for g in (1, 2, 3, 4, 5)]
    assert grades == pytest.approx([0.15, 0.30, 0.45, 0.65, 0.85])
    passes = [stage_roughness("gravel", 4, n, broken=False) for n in (1, 2, 3)]
    assert passes == pytest.approx([0.65, 0.80, 0.90])
    assert stage_roughness("asphalt", 4, 1, broken=True) == pytest.approx(0.85)
    assert stage_roughness("gravel", 4, 1, broken=True) == pytest.approx(0.65)


def test_swept_gravel_of_medium_roughness_is_hard_gravel():
    got = surface(swept=True)
    assert got.params == SURFACES["gravel_hard"]
    assert surface(state="swept").params == SURFACES["gravel_hard"]
    assert surface(state="dry_loose", swept=True).params == SURFACES["gravel_loose"]
    assert surface(state="bedrock").params == SURFACES["gravel_rock"]


def test_first_car_has_all_the_loose_stones_and_the_second_pass_none():
    assert surface(cars_ahead=0).params == SURFACES["gravel_loose"]
    later = surface(cars_ahead=0, pass_no=2)
    share = (0.60 - 0.45) / 0.40
    assert later.params.mu == pytest.approx(
        log_blend("gravel_hard", "gravel_rock", share, "mu")
    )
    assert later.params.loose == 0.0


def test_rock_comes_before_loose_stones():
    got = surface(roughness=4, cars_ahead=15).params
    rock = blend(SURFACES["gravel_hard"], SURFACES["gravel_rock"], 0.5)
    loose = np.exp(-1.0)
    for field in ("mu", "kap", "eta", "ee", "h0"):
        expected = np.exp(
            (1 - loose) * np.log(getattr(rock, field))
            + loose * np.log(getattr(SURFACES["gravel_loose"], field))
        )
        assert getattr(got, field) == pytest.approx(expected, rel=1e-12)
    assert got.loose == pytest.approx(loose)


@pytest.mark.parametrize(
    ("road", "state", "name"),
    [
        ("gravel", "damp", "gravel_damp"),
        ("gravel", "wet", "gravel_wet"),
        ("gravel", "standing", "gravel_wet"),
        ("gravel", "snow", "snow"),
        ("gravel", "ice", "ice"),
        ("asphalt", "damp", "asphalt_damp"),
        ("asphalt", "wet", "asphalt_wet"),
        ("asphalt", "standing", "asphalt_standing"),
        ("asphalt", "standing_water", "asphalt_standing"),
        ("asphalt", "slush", "snow"),
        ("asphalt", "ice", "ice"),
        ("snow", "dry", "snow"),
        ("snow", "wet", "snow"),
        ("snow", "ice", "ice"),
        ("ice", "dry", "ice"),
    ],
)
def test_states_replace_the_class(road, state, name):
    assert surface(road, state).params == SURFACES[name]


def test_mud_has_less_grip_than_wet_gravel():
    assert surface(state="muddy").params.mu == pytest.approx(0.45)
    assert surface(state="muddy").params.kap == SURFACES["gravel_wet"].kap


def test_frozen_gravel_is_half_ice_and_frozen_asphalt_one_fifth():
    gravel = surface(state="frozen").params
    assert gravel.mu == pytest.approx(np.sqrt(0.65 * 0.22))
    # Cooling by water is 0 on one side, so it is blended linearly.
    assert gravel.u_w == pytest.approx(0.5 * 2.0)
    asphalt = surface("asphalt", "frozen", abrasion=1).params
    assert asphalt.mu == pytest.approx(1.05**0.8 * 0.22**0.2)
    assert asphalt.ee == pytest.approx(0.2 * 0.05)
    assert surface("asphalt", "frost_patches", abrasion=1).params == asphalt


def test_rock_stays_in_the_wet():
    got = surface(state="wet", roughness=4, cars_ahead=0).params
    assert got.mu == pytest.approx(log_blend("gravel_wet", "gravel_rock", 0.5, "mu"))
    assert got.u_w == pytest.approx(6.0)


def test_rock_under_snow_or_ice_is_touched_by_no_tyre():
    # The class of rock has the grip of bare dry rock (0.68), that of snow 0.33.
    for state in ("snow", "ice"):
        rocky = surface(state=state, roughness=5, pass_no=3)
        assert rocky.params == SURFACES[state]
        assert rocky.roughness_share == pytest.approx(0.9)
        assert rocky.mu_state == SURFACES[state].mu


def test_rock_takes_the_bare_half_of_frozen_gravel():
    got = surface(state="frozen", roughness=5).params
    assert got.mu == pytest.approx(np.sqrt(0.68 * 0.22))
    assert got.stud_grip == pytest.approx(np.sqrt(2.0))
    assert surface(state="frozen", roughness=3).params.mu == pytest.approx(np.sqrt(0.65 * 0.22))


@pytest.mark.parametrize("roughness", [1, 3, 4, 5])
def test_water_costs_a_rocky_road_in_time_what_it_costs_the_hard_base(roughness):
    # Both sides of the comparison are without rock: else rock, whose class is dry, would
    # make a rocky road faster in the rain than in the dry.
    for state, mu in (("wet", 0.50), ("standing", 0.50), ("muddy", 0.45), ("damp", 0.68)):
        got = surface(state=state, roughness=roughness, pass_no=2)
        assert (got.mu_state, got.mu_dry) == (pytest.approx(mu), 0.65)


def test_ice_on_a_road_of_snow_is_slower_than_the_snow():
    assert surface("snow").mu_state == surface("snow").mu_dry == 0.33
    iced = surface("snow", "ice")
    assert (iced.mu_state, iced.mu_dry) == (0.22, 0.33)
    assert surface("ice").mu_state == surface("ice").mu_dry == 0.22


def test_abrasion_picks_the_asphalt_and_scales_wear():
    kaps = [surface("asphalt", abrasion=a).params.kap for a in (1, 2, 3, 4, 5)]
    middle = np.sqrt(0.8 * 1.3)
    expected = [0.8 * np.exp(-0.5), 0.8 * np.exp(-0.25), middle]
    expected += [1.3 * np.exp(0.25), 1.3 * np.exp(0.5)]
    assert kaps == pytest.approx(expected)
    assert surface("asphalt", abrasion=3).params.mu == pytest.approx(np.sqrt(1.05 * 1.10))


def test_broken_asphalt_is_rougher_and_cuts_more():
    got = surface("asphalt", roughness=2, broken=True)
    assert got.roughness_share == pytest.approx(0.50)
    assert got.cuts_added_share == pytest.approx(0.2)


def test_packed_gravel_on_asphalt():
    got = surface("asphalt", abrasion=2, gravel_share=0.25).params
    assert got.mu == pytest.approx(1.05**0.75 * 0.65**0.25)
    assert got.asphalt == pytest.approx(0.75)
    assert got.ee == pytest.approx(0.25 * 0.06)


def test_a_wet_road_that_holds_water():
    got = surface("asphalt", "wet", holds_water=0.3).params
    assert got.drain == pytest.approx(0.7 * 0.30 + 0.3 * 0.50)
    assert got.tyre_grip[1] == pytest.approx(0.86**0.7 * 0.65**0.3)
    assert surface("asphalt", "damp", holds_water=0.3).params == SURFACES["asphalt_damp"]


def test_time_of_other_states_is_taken_against_the_plain_dry_road():
    dry = surface(roughness=5, cars_ahead=3)
    assert dry.mu_state == dry.mu_dry
    wet = surface(state="wet")
    assert (wet.mu_state, wet.mu_dry) == (0.50, 0.65)
    packed = surface("asphalt", "wet", gravel_share=0.5)
    assert (packed.mu_state, packed.mu_dry) == (0.65, 1.05)


def test_parts_of_a_stage_blend_by_their_length():
    dry, wet = surface(swept=True), surface(state="wet")
    got = mixed_stage([(dry, 2.0), (wet, 1.0), (dry, 1.0)])
    assert got.params.mu == pytest.approx(0.65**0.75 * 0.50**0.25)
    assert mixed_stage([(dry, 1.0)]) == dry


@pytest.mark.parametrize(
    "wrong",
    [
        {"road": "sand"},
        {"state": "greasy"},
        {"roughness": 6},
        {"abrasion": 0},
        {"pass_no": 0},
        {"cars_ahead": -1},
    ],
)
def test_what_is_not_known_is_refused(wrong):
    with pytest.raises(ValueError, match=r"\w"):
        surface(**wrong)


# Tyre against water: common practice, no source, throughout. Four-wheel drive and front-wheel
# drive, tyres new unless said, each against each at the same temperature.

WEATHER = [(8.0, 8.0), (12.0, 12.0), (18.0, 20.0)]


def s_km(car, state, family, hardness, weather, least_mm=None):
    air_c, road_c = weather
    spec = shipped_tyre(family, hardness)
    stage = DemoStage(12, 14.2, 100, 0.6, 0.5, surface("asphalt", state, roughness=1))
    table = table_of(car, stage, air_c, road_c, SHIPPED, [spec])
    tyres = new_state(spec, air_c)
    if least_mm is not None:
        tyres = replace(tyres, tread_mm=np.full((1, 1, 3), least_mm))
    mu = np.empty((1, 1, 4, 3))
    for corner in range(4):
        mu[:, :, corner] = on_target(table, corner, spec, tyres).mu
    return float(stage_time_s(table, mu, 0.0)[0, 0]) / 14.2


@pytest.mark.parametrize("car", [AWD, FWD])
@pytest.mark.parametrize("weather", WEATHER)
@pytest.mark.parametrize(
    ("state", "low", "high"),
    [("damp", -0.25, 0.25), ("wet", 1.0, 3.0), ("standing", 4.0, 10.0)],
)
def test_dry_soft_against_a_fresh_rain_tyre(car, weather, state, low, high):
    # About 0 s/km on damp, +1 to +3 wet, +4 to +10 standing.
    dry = s_km(car, state, "asphalt", "soft", weather)
    rain = s_km(car, state, "asphalt_wet", "medium", weather)
    assert low <= dry - rain <= high


@pytest.mark.parametrize("car", [AWD, FWD])
@pytest.mark.parametrize("weather", [(8.0, 16.0), (12.0, 20.0), (18.0, 28.0)])
def test_rain_tyre_on_a_dry_road(car, weather):
    # +1 to +2 s/km.
    best = min(s_km(car, "dry", "asphalt", h, weather) for h in ("soft", "medium", "hard"))
    assert 1.0 <= s_km(car, "dry", "asphalt_wet", "medium", weather) - best <= 2.0


@pytest.mark.parametrize("car", [AWD, FWD])
@pytest.mark.parametrize("weather", WEATHER)
def test_worn_rain_tyre_in_the_wet(car, weather):
    # 2 mm against 8 mm: +2 to +4 s/km.
    worn = s_km(car, "wet", "asphalt_wet", "medium", weather, least_mm=2.0)
    assert 2.0 <= worn - s_km(car, "wet", "asphalt_wet", "medium", weather) <= 4.0


@pytest.mark.parametrize("car", [AWD, FWD])
def test_the_more_water_the_better_the_rain_tyre(car):
    lead = [
        s_km(car, state, "asphalt", "soft", (12.0, 12.0))
        - s_km(car, state, "asphalt_wet", "medium", (12.0, 12.0))
        for state in ("dry", "damp", "wet", "standing")
    ]
    assert lead == sorted(lead)
    assert lead[0] < -0.5 < 0.5 < lead[2]


def test_rain_tyre_wears_three_times_as_fast_on_a_dry_road():
    factors = {name: params.tyre_wear for name, params in SURFACES.items()}
    assert factors["asphalt_smooth"][2] == factors["asphalt_abras"][2] == 3.0
    assert factors["asphalt_wet"][2] == factors["asphalt_damp"][2] == 1.0


@pytest.mark.parametrize("right_share", [0.4, 0.5, 0.6])
def test_camber_wears_the_inside_of_an_asphalt_front(right_share):
    # Common practice, no source: at -3.5 degrees the inner edge wears 1.2 to 1.4 x the mean.
    spec = shipped_tyre("asphalt", "medium")
    stage = DemoStage(12, 14.2, 100, 0.6, right_share, surface("asphalt", roughness=1))
    table = table_of(AWD, stage, 18.0, 26.0, SHIPPED, [spec], camber_deg=(-3.5, -2.0))
    for corner in (0, 1):
        fresh = new_state(spec, 20.0)
        run = on_target(table, corner, spec, fresh)
        inner = (fresh.tread_mm - run.state.tread_mm)[0, 0, 0] / run.loss_mm[0, 0]
        assert 1.2 <= inner <= 1.4


def test_wear_of_soft_gravel_tyres_on_wet_gravel():
    # Common practice, no source: 0.025 to 0.04 mm/km at the front.
    spec = shipped_tyre("gravel", "soft")
    stage = DemoStage(12, 14.2, 85, 0.6, 0.5, surface(state="wet"))
    table = table_of(AWD, stage, 12.0, 12.0, SHIPPED, [spec])
    loss = float(on_target(table, 0, spec, new_state(spec, 20.0)).loss_mm[0, 0])
    assert 0.025 <= loss / 14.2 <= 0.04


def test_tyres_off_their_own_ground():
    # Common practice, no source: gravel tyre on dry asphalt 0.90 and twice the wear, dry
    # pattern on gravel 0.75, on snow 0.60. Studs: 1.25 on snow, 2.0 on ice, 0.80 on bare
    # asphalt, wear of the surface times 1.5 on asphalt and gravel.
    assert SURFACES["asphalt_smooth"].tyre_grip[0] == 0.90
    assert SURFACES["asphalt_smooth"].tyre_wear[0] == 2.0
    assert SURFACES["gravel_hard"].tyre_grip[1] == 0.75
    assert SURFACES["snow"].tyre_grip[1] == 0.60
    studs = [SURFACES[n].stud_grip for n in ("snow", "ice", "asphalt_smooth", "gravel_hard")]
    assert studs == [1.25, 2.0, 0.80, 1.0]
    wear = [SURFACES[n].stud_wear for n in ("snow", "ice", "asphalt_smooth", "gravel_hard")]
    assert wear == [1.0, 1.0, 1.5, 1.5]


# Along one stage, or from hour to hour as it dries: common practice, no source. Dry pattern
# against rain tyre, seconds per kilometre.


def lead(car, surfaces, weather=(12.0, 12.0)):
    """Return how much quicker a fresh rain tyre is than a soft dry pattern. [s/km]"""
    times = []
    for family, hardness in (("asphalt", "soft"), ("asphalt_wet", "medium")):
        spec = shipped_tyre(family, hardness)
        stage = DemoStage(12, 14.2, 100, 0.6, 0.5, mixed_stage(surfaces))
        table = table_of(car, stage, *weather, SHIPPED, [spec])
        fresh = new_state(spec, weather[0])
        mu = np.stack([on_target(table, c, spec, fresh).mu for c in range(4)], axis=2)
        times.append(float(stage_time_s(table, mu, 0.0)[0, 0]) / 14.2)
    return times[0] - times[1]


@pytest.mark.parametrize("car", [AWD, FWD])
@pytest.mark.parametrize(
    ("less", "more"), [("dry", "damp"), ("damp", "wet"), ("wet", "standing")]
)
def test_a_stage_wet_in_parts_lies_between_the_two(car, less, more):
    one, two = (surface("asphalt", state, roughness=1) for state in (less, more))
    leads = [lead(car, [(one, 1.0 - share), (two, share)]) for share in (0.0, 0.25, 0.5, 0.75)]
    leads.append(lead(car, [(two, 1.0)]))
    assert leads == sorted(leads)
    # About half the way at half the length; the blend is in the logarithm.
    assert leads[2] == pytest.approx(
        0.5 * (leads[0] + leads[4]), abs=0.25 * (leads[4] - leads[0])
    )


@pytest.mark.parametrize("car", [AWD, FWD])
def test_a_wet_quarter_does_not_yet_pay_for_rain_tyres_and_a_flooded_half_does(car):
    # A dry road costs a rain tyre 1 to 2 s/km, a wet one gives it back.
    dry, wet, standing = (
        surface("asphalt", s, roughness=1) for s in ("dry", "wet", "standing")
    )
    assert lead(car, [(dry, 0.75), (wet, 0.25)]) < 0.0
    assert lead(car, [(dry, 0.5), (standing, 0.5)]) > 0.0


@pytest.mark.parametrize("car", [AWD, FWD])
def test_a_drying_road_turns_the_call_once(car):
    # Wet, half dried, damp, half damp, dry: the rain tyre's lead falls all the way.
    wet, damp, dry = (surface("asphalt", s, roughness=1) for s in ("wet", "damp", "dry"))
    hours = [
        [(wet, 1.0)],
        [(wet, 0.5), (damp, 0.5)],
        [(damp, 1.0)],
        [(damp, 0.5), (dry, 0.5)],
        [(dry, 1.0)],
    ]
    leads = [lead(car, parts) for parts in hours]
    assert leads == sorted(leads, reverse=True)
    assert leads[0] > 1.0
    assert leads[-1] < -0.5


@pytest.mark.parametrize("car", [AWD, FWD])
def test_water_that_stands_in_places_counts_by_its_length(car):
    # 0.30 of the length standing when the road is wet, against all of it.
    leads = [
        lead(car, [(surface("asphalt", "wet", roughness=1, holds_water=share), 1.0)])
        for share in (0.0, 0.1, 0.3)
    ]
    leads.append(lead(car, [(surface("asphalt", "standing", roughness=1), 1.0)]))
    assert leads == sorted(leads)
