"""The rules on cases nobody thought of."""

from datetime import date
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from crewdesk.regulations.fitting import WHENS, FittingCase
from crewdesk.regulations.ledger import Ledger
from crewdesk.regulations.predicates import ACROSS, axle_level, corner_allowed, spare_covers
from crewdesk.regulations.rules import RULES, check_all, rule_of
from crewdesk.regulations.rules.examples import case, rules, stock, tyre
from crewdesk.units import CORNERS, PLACES

IDS = tuple(f"T{n}" for n in range(1, 13))
MIXES = st.sampled_from(["block", "warn", "allow"])


@st.composite
def stocks(draw: st.DrawFn, tyre_id: str) -> dict[str, Any]:
    return {
        "tyre_id": tyre_id,
        "maker": draw(st.sampled_from(["Maker One", "Maker Two"])),
        "compound": draw(st.sampled_from(["soft", "hard"])),
        "direction": draw(st.sampled_from(["free", "free", "left", "right", "arrow"])),
        "lock": draw(st.sampled_from(["", "", "", "front", "rear", "spare", "FL"])),
        "counts_against": draw(
            st.sampled_from(["event", "event", "event", "shakedown", "none"])
        ),
        "mark": draw(st.sampled_from([f"EX-{tyre_id}", f"EX-{tyre_id}", "EX-1", ""])),
        "e_mark": draw(st.sampled_from([True, False, None])),
        "rim_id": draw(st.sampled_from([f"R-{tyre_id}", ""])),
        "dot": draw(st.sampled_from(["0125", "1119", "0112", ""])),
        "tread_mm": draw(st.sampled_from([(8.0, 8.0, 8.0), (1.5, 3.0, 3.0)])),
    }


@st.composite
def cases(draw: st.DrawFn) -> FittingCase:
    book = rules(
        axle_mix={"compound": draw(MIXES), "maker": draw(MIXES)},
        qty_total=draw(st.sampled_from([None, 4, 6, 8])),
        count_rule=draw(st.sampled_from(["fitted", "fitted_or_carried"])),
    )
    tyres = {}
    for tyre_id in IDS:
        facts = {"status": draw(st.sampled_from(["ok", "ok", "ok", "locked"]))}
        values = draw(stocks(tyre_id))
        tyres[tyre_id] = tyre(values.pop("tyre_id"), facts=facts, **values)
    ledger = Ledger.start(book, tyres)
    for _ in range(draw(st.integers(0, 3))):
        ledger = ledger.with_fitting(draw(fittings()), tyres)
    fitting = draw(st.one_of(fittings(), fittings(), fittings(), st.just({})))
    return FittingCase(
        rules=book,
        fitting=fitting,
        tyres=tyres,
        ledger=ledger,
        event_date=date(2026, 6, 6),
        rims=draw(st.sampled_from([{}, {"R1": "7Jx15"}])),
    )


def fittings() -> st.SearchStrategy[dict[str, str | None]]:
    return st.permutations(IDS).flatmap(
        lambda order: st.integers(4, 6).map(
            lambda n: dict(zip(PLACES[:n], order[:n], strict=True))
        )
    )


@given(cases(), st.sampled_from(WHENS))
def test_answers_depend_on_the_case_alone(made: FittingCase, when):
    turned = FittingCase(
        rules=made.rules,
        fitting=dict(reversed(made.fitting.items())),
        tyres=dict(reversed(made.tyres.items())),
        ledger=made.ledger,
        event_date=made.event_date,
        rims=made.rims,
    )
    answer = check_all(made, when)
    assert answer == check_all(made, when) == check_all(turned, when)
    order = [rule.code for rule in RULES]
    assert [order.index(m.code) for m in answer] == sorted(order.index(m.code) for m in answer)


@given(cases())
def test_a_tyre_counts_once_however_often_it_is_fitted(made: FittingCase):
    once = made.ledger.with_fitting(made.fitting, made.tyres)
    assert once.with_fitting(made.fitting, made.tyres) == once
    assert once.counted[: made.ledger.used] == made.ledger.counted
    assert len(set(once.counted)) == once.used
    assert sum(once.by_compound.values()) == sum(once.by_group.values()) == once.used
    places = CORNERS if made.rules.count_rule == "fitted" else PLACES
    placed = {made.fitting.get(place) for place in places} - {None}
    ours = {one for one in placed if made.tyres[one].stock.counts_against == "event"}
    assert set(once.counted) == set(made.ledger.counted) | ours


@given(cases())
def test_the_limit_stops_exactly_the_fittings_that_go_over_it(made: FittingCase):
    levels = [message.level for message in rule_of("QTY-1").check(made)]
    after = made.ledger.with_fitting(made.fitting, made.tyres)
    limit = made.rules.qty_total
    grows = after.used > made.ledger.used
    if limit is None or not grows or after.used < limit:
        assert levels == []
    else:
        assert levels == (["note"] if after.used == limit else ["stops"])


@given(cases())
def test_an_axle_is_judged_the_same_from_both_sides(made: FittingCase):
    for one in made.tyres.values():
        for other in made.tyres.values():
            level = axle_level(one.stock, other.stock, made.rules)
            assert level == axle_level(other.stock, one.stock, made.rules)
            if one is other:
                assert level == "ok"


@given(cases())
def test_a_spare_put_where_it_covers_never_breaks_its_axle(made: FittingCase):
    fitted = {corner: one.stock for corner, one in made.on_corners().items()}
    for spare in made.carried():
        covers = spare_covers(spare.stock, fitted, made.rules)
        for corner in CORNERS:
            put = {**made.fitting, corner: spare.tyre_id, "SP1": None, "SP2": None}
            blocked = {
                message.values["axle"]
                for message in rule_of("AXL-1").check(
                    FittingCase(rules=made.rules, fitting=put, tyres=made.tyres)
                )
                if message.level == "stops"
            }
            axle = "front" if corner in {"FL", "FR"} else "rear"
            if corner in covers:
                assert axle not in blocked
            elif corner_allowed(spare.stock, corner):
                assert axle in blocked
                assert ACROSS[corner] in fitted


@given(st.floats(0, 8), st.floats(0, 8), st.floats(0, 8), st.floats(0, 4))
def test_the_lowest_point_decides(inner: float, middle: float, outer: float, limit: float):
    made = case(tyre("T1", tread_mm=(inner, middle, outer)), book=rules(tread_min_mm=limit))
    spoken = any(m.values["tyre"] == "T1" for m in rule_of("TRD-1").check(made))
    lowest = min(inner, middle, outer)
    if abs(lowest - limit) > 1e-6:
        assert spoken is (lowest < limit)


@given(st.integers(0, 600))
def test_more_studs_never_pass_where_fewer_were_stopped(studs: int):
    def stopped(count: int) -> bool:
        made = case(tyre("T1", size="15/65-15", studs=count))
        return bool(rule_of("STD-1").check(made))

    assert stopped(studs) <= stopped(studs + 1)


def test_the_invented_tyres_of_these_tests_are_of_the_class():
    assert stock("T1").size == rules().size_table["size"]
