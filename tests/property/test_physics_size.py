"""What must hold of size marks, of what a size does to wear, and of plain conversions."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from crewdesk.physics.size import size_m, size_of
from crewdesk.physics.size_fit import gearing_change, max_speed_kmh, turns_per_km
from crewdesk.physics.tyre import TyreSpec
from crewdesk.units import KPA_PER_PSI, bar_from_kpa, kpa_from_bar
from tests.reference.shipped_set import COMPOUNDS

RIMS = st.integers(13, 19)
WIDTHS = st.integers(14, 32).map(lambda n: 10 * n + 5)
ASPECTS = st.integers(6, 16).map(lambda n: 5 * n)


@st.composite
def metric(draw):
    return draw(WIDTHS), draw(ASPECTS), draw(RIMS)


@st.composite
def by_diameter(draw):
    """Draw a competition mark, in centimetres or in millimetres."""
    rim = draw(RIMS)
    rim_mm = int(25.4 * rim + 0.5)
    low, high = rim_mm + 60, 2 * rim_mm + 40
    if draw(st.booleans()):
        diameter = draw(st.integers(max(45, -(-low // 10)), min(80, high // 10)))
        return draw(st.integers(12, 40)), diameter, rim
    return draw(st.integers(105, 400)), draw(st.integers(max(400, low), min(800, high))), rim


@given(
    metric(), st.sampled_from(["R", "ZR", "-", " R"]), st.sampled_from(["", " 91H", "(97Y)"])
)
def test_a_metric_mark_says_what_it_was_made_of(parts, sign, service):
    width, aspect, rim = parts
    size = size_of(f"{width}/{aspect}{sign}{rim}{service}")
    # UN Regulation No. 30: D = d + 2 H, both rounded to 1 mm, halves up (from memory).
    rim_mm, height = int(25.4 * rim + 0.5), int(width * aspect / 100 + 0.5)
    assert (size.width_m, size.diameter_m, size.rim_inch) == pytest.approx(
        (width / 1000, (rim_mm + 2 * height) / 1000, rim)
    )


@given(
    by_diameter(),
    st.sampled_from(["-", "R", "X", " - ", " \N{EN DASH} ", "\N{MULTIPLICATION SIGN}"]),
)
def test_a_competition_mark_gives_its_diameter(parts, sign):
    width, diameter, rim = parts
    per = 100 if width <= 40 else 1000
    assert size_m(f"{width}/{diameter}{sign}{rim}") == pytest.approx(
        (width / per, diameter / per), abs=1e-12
    )


@given(metric(), st.booleans())
def test_blanks_and_case_do_not_matter(parts, lower):
    width, aspect, rim = parts
    plain = size_of(f"{width}/{aspect}R{rim}")
    spread = f" {width} / {aspect} r {rim} "
    assert size_of(spread if lower else spread.upper()) == plain


@given(metric(), st.sampled_from([0, 1, 2]))
def test_a_wider_higher_or_larger_tyre_is_larger(parts, which):
    more = list(parts)
    more[which] += (10, 5, 1)[which]
    assume(more[1] <= 80 and more[2] <= 19 and more[0] <= 325)
    small = size_of("{}/{}R{}".format(*parts))
    large = size_of("{}/{}R{}".format(*more))
    assert large.diameter_m > small.diameter_m
    # Turns per kilometre times circumference (3.05 D, ETRTO, second hand) are a kilometre.
    for size in (small, large):
        assert turns_per_km(size) * 3.05 * size.diameter_m == pytest.approx(1e3)


@given(st.text(max_size=16))
def test_any_other_text_has_one_kind_of_error(text):
    try:
        size = size_of(text)
    except ValueError:
        return
    assert size.diameter_m > 0.0
    assert size.width_m > 0.0


@given(metric(), metric())
def test_exchanging_two_sizes_turns_the_gearing_round(one, two):
    first, second = size_of("{}/{}R{}".format(*one)), size_of("{}/{}R{}".format(*two))
    force, speed = gearing_change(first, second)
    back_force, back_speed = gearing_change(second, first)
    assert (1.0 + speed) * (1.0 + back_speed) == pytest.approx(1.0)
    assert (force, speed) == pytest.approx((back_speed, back_force))


@given(metric(), st.floats(1.01, 1.4))
def test_a_larger_tread_loses_less_depth_for_the_same_work(parts, factor):
    width_m, diameter_m = size_m("{}/{}R{}".format(*parts))
    compound = COMPOUNDS["gravel", "medium"]

    def land(width, diameter):
        return TyreSpec(compound, width, diameter, 0.6, 9.5).land_mm2

    base = land(width_m, diameter_m)
    assert land(factor * width_m, diameter_m) == pytest.approx(factor * base)
    assert land(width_m, factor * diameter_m) == pytest.approx(factor * base)


def test_speed_symbols_are_in_the_order_of_speed_not_of_the_alphabet():
    # UN Regulation No. 30 (three public tables): H stands between U and V; four letters are
    # no symbols.
    assert max_speed_kmh("U") < max_speed_kmh("H") < max_speed_kmh("V")
    for letter in "IOXZ":
        with pytest.raises(ValueError, match="symbol"):
            max_speed_kmh(letter)


@given(st.floats(-1e4, 1e4), st.floats(-1e4, 1e4))
def test_conversions_of_pressure(one, two):
    # 1 bar = 100 kPa exactly; 1 psi = 6.894757293168 kPa (NIST SP 811).
    assert kpa_from_bar(bar_from_kpa(one)) == pytest.approx(one, rel=1e-12, abs=1e-12)
    assert bar_from_kpa(0.0) == kpa_from_bar(0.0) == 0.0
    assert bar_from_kpa(one) - bar_from_kpa(two) == pytest.approx(
        bar_from_kpa(one - two), rel=1e-12, abs=1e-9
    )
    if one < two:
        assert bar_from_kpa(one) <= bar_from_kpa(two)
    assert kpa_from_bar(1.0) / KPA_PER_PSI == pytest.approx(14.50377, abs=5e-6)
