"""What the search asks of single tyres and pairs, and the count."""

import pytest

from crewdesk.regulations.fitting import TyreFacts
from crewdesk.regulations.ledger import Ledger
from crewdesk.regulations.predicates import (
    axle_level,
    corner_allowed,
    is_side_or_diagonal_mix,
    may_use,
    natural_key,
    spare_covers,
)
from crewdesk.regulations.rules.examples import rules, stock, tyre
from crewdesk.units import CORNERS


@pytest.mark.parametrize(
    ("one", "code"),
    [
        (tyre("T1"), ""),
        (tyre("T1", mark=""), "MRK-1"),
        (tyre("T1", registered=False), "QTY-5"),
        (tyre("T1", counts_against="shakedown", mark=""), "QTY-3"),
        (tyre("T1", counts_against="none", mark=""), "MRK-1"),
        (tyre("T1", counts_against="none"), "QTY-5"),
        (tyre("T1", lock="hold"), "DMG-1"),
        (tyre("T1", lock="scrap"), "DMG-1"),
        (tyre("T1", location="away"), "PLC-1"),
        (tyre("T1", facts={"status": "away"}), "PLC-1"),
        (tyre("T1", facts={"status": "scrapped"}), "DMG-1"),
        (tyre("T1", facts={"status": "locked", "why": "bulge"}), "DMG-1"),
        (tyre("T1", facts={"status": "locked", "why_code": "LEAK-1"}), "LEAK-1"),
    ],
)
def test_a_tyre_is_usable_or_the_first_rule_against_it_is_named(one: TyreFacts, code: str):
    allowed, said, why = may_use(one, rules())
    assert (allowed, said) == (not code, code)
    assert bool(why) is bool(code)


def test_marks_and_lists_only_matter_where_the_rules_ask_for_them():
    free = rules(marks_needed=False, registration_needed=False)
    assert may_use(tyre("T1", mark="", registered=False), free)[0]


@pytest.mark.parametrize(
    ("changes", "corners"),
    [
        ({}, CORNERS),
        ({"direction": "left"}, ("FL", "RL")),
        ({"direction": "right"}, ("FR", "RR")),
        ({"direction": "arrow"}, CORNERS),
        ({"lock": "front"}, ("FL", "FR")),
        ({"lock": "rear", "direction": "left"}, ("RL",)),
        ({"lock": "left", "direction": "right"}, ()),
        ({"lock": "RR"}, ("RR",)),
        ({"lock": "spare"}, ()),
        ({"lock": "hold"}, ()),
        ({"lock": "scrap"}, ()),
    ],
)
def test_side_and_lock_decide_the_corners(changes: dict[str, str], corners: tuple[str, ...]):
    one = stock("T1", **changes)
    assert tuple(corner for corner in CORNERS if corner_allowed(one, corner)) == corners


@pytest.mark.parametrize(
    ("mix", "changes", "level"),
    [
        ({"compound": "warn", "maker": "block"}, {}, "ok"),
        ({"compound": "warn", "maker": "block"}, {"compound": "soft"}, "warn"),
        ({"compound": "warn", "maker": "block"}, {"model": "Other"}, "warn"),
        ({"compound": "warn", "maker": "block"}, {"maker": "Maker Two"}, "block"),
        ({"compound": "block", "maker": "allow"}, {"maker": "Maker Two"}, "ok"),
        ({"compound": "block", "maker": "allow"}, {"compound": "soft"}, "block"),
        ({"structure": "block"}, {"extra": {"structure": "diagonal"}}, "block"),
        ({}, {"maker": "Maker Two", "compound": "soft"}, "ok"),
    ],
)
def test_the_strictest_difference_on_an_axle_counts(mix, changes, level):
    a = stock("T1", extra={"structure": "radial"})
    b = stock("T2", **{"extra": {"structure": "radial"}, **changes})
    assert axle_level(a, b, rules(axle_mix=mix)) == level
    assert axle_level(b, a, rules(axle_mix=mix)) == level


def test_a_spare_covers_where_side_lock_and_neighbour_allow():
    book = rules(axle_mix={"maker": "block"})
    fitted = {corner: stock(corner) for corner in CORNERS}
    assert spare_covers(stock("S"), fitted, book) == CORNERS
    assert spare_covers(stock("S", direction="left"), fitted, book) == ("FL", "RL")
    assert spare_covers(stock("S", lock="spare"), fitted, book) == CORNERS
    assert spare_covers(stock("S", lock="front"), fitted, book) == ("FL", "FR")
    assert spare_covers(stock("S", maker="Maker Two"), fitted, book) == ()
    mixed = fitted | {"FR": stock("FR", maker="Maker Two")}
    # Beside the one of the other maker, and in its place only where its own neighbour allows.
    assert spare_covers(stock("S", maker="Maker Two"), mixed, book) == ("FL",)


def test_side_and_diagonal_mixes_are_told_from_a_single_odd_tyre():
    a, b = stock("A"), stock("B", compound="soft")
    assert is_side_or_diagonal_mix(a, b, a, b) == "side"
    assert is_side_or_diagonal_mix(a, b, b, a) == "diagonal"
    assert is_side_or_diagonal_mix(a, b, a, a) == ""
    assert is_side_or_diagonal_mix(a, a, b, b) == ""
    assert is_side_or_diagonal_mix(a, a, a, b) == ""


def test_names_sort_as_people_count():
    assert sorted(["S10", "S2", "M1", "S1"], key=natural_key) == ["M1", "S1", "S2", "S10"]


def test_fitted_only_counting_leaves_out_what_is_carried():
    tyres = {f"T{n}": tyre(f"T{n}") for n in range(1, 6)}
    fitting = {"FL": "T1", "FR": "T2", "RL": "T3", "RR": "T4", "SP1": "T5"}
    carried_counts = Ledger.start(rules(), tyres).with_fitting(fitting, tyres)
    assert carried_counts.counted == ("T1", "T2", "T3", "T4", "T5")
    assert carried_counts.left == 3
    fitted_only = Ledger.start(rules(count_rule="fitted"), tyres).with_fitting(fitting, tyres)
    assert fitted_only.counted == ("T1", "T2", "T3", "T4")


def test_a_shakedown_inside_the_total_has_used_its_tyres_already():
    tyres = {"X1": tyre("X1", counts_against="shakedown"), "T1": tyre("T1")}
    assert Ledger.start(rules(), tyres).used == 0
    assert Ledger.start(rules(shakedown_in_total=True), tyres).counted == ("X1",)


def test_without_a_limit_nothing_is_left_over_to_count():
    assert Ledger.start(rules(qty_total=None)).left is None
