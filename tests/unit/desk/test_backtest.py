"""Simulated days: who knows what, what counts, and that the answer repeats."""

import json
from dataclasses import dataclass, replace
from itertools import pairwise

import pytest

from crewdesk.cli import main
from crewdesk.desk.answer import CallOptions
from crewdesk.desk.ask import build_problem, money_per_s
from crewdesk.desk.backtest.foresight import Foresight
from crewdesk.desk.backtest.garage import Garage, true_tables
from crewdesk.desk.backtest.notebook import Notebook
from crewdesk.desk.backtest.play import Played, best_of, play, play_all
from crewdesk.desk.backtest.policies import POLICIES, Call, Engine, asked
from crewdesk.desk.backtest.run import backtest_days
from crewdesk.desk.backtest.score import Backtest, backtest_document, day_score
from crewdesk.desk.backtest.sky import Spread
from crewdesk.desk.backtest.thumb import Bench, by_thumb, cars, stand_in, wanted_hardness
from crewdesk.desk.backtest.truth import Truth, draw_truth
from crewdesk.desk.backtest.words import backtest_words
from crewdesk.desk.replay import replay
from crewdesk.errors import EngineError
from tests.unit.desk.conftest import demo

FEW = 2


def cut_short(saldrey):
    """Return an event that ends with the second loop's last stage: quick to play."""
    places = saldrey.itinerary.change_places[:2]
    refs = {ref for place in places for ref in place.stages}
    stages = tuple(s for s in saldrey.itinerary.stages if s.ref in refs)
    itinerary = saldrey.itinerary.model_copy(update={"change_places": places, "stages": stages})
    return saldrey.model_copy(update={"itinerary": itinerary})


@pytest.fixture(scope="module")
def brief(saldrey):
    return cut_short(saldrey)


@pytest.fixture(scope="module")
def two_days(brief):
    return backtest_days(brief, 2, 3, scenarios=FEW, jobs=1)


# ---- the answer repeats, and can be stopped


def test_the_days_repeat_on_however_many_processors(brief, two_days):
    apart = backtest_days(brief, 2, 3, scenarios=FEW, jobs=2)
    assert backtest_document(apart) == backtest_document(two_days)
    assert two_days.days[0] != two_days.days[1]


def test_the_json_has_exactly_these_keys(two_days):
    told = json.loads(json.dumps(backtest_document(two_days)))
    assert list(told) == ["format", "days", "seed", "policies", "share_recovered", "per_day"]
    assert (told["format"], told["days"], told["seed"]) == (1, 2, 3)
    assert tuple(told["policies"]) == POLICIES
    for policy in told["policies"].values():
        assert set(policy) == {"total_s", "money", "breaches", "punctures", "no_plan_days"}
    total = {name: told["policies"][name]["total_s"] for name in POLICIES}
    assert told["share_recovered"] == pytest.approx(
        (total["rule_of_thumb"] - total["call"]) / (total["rule_of_thumb"] - total["foresight"])
    )
    for name in POLICIES:
        days = [day["policies"][name]["total_s"] for day in told["per_day"]]
        assert sum(days) == pytest.approx(total[name])


def test_it_stops_between_days_with_what_is_done(brief):
    seen = []
    made = backtest_days(
        brief,
        9,
        3,
        scenarios=1,
        jobs=1,
        on_progress=lambda done, total: seen.append((done, total)),
        stop=lambda: bool(seen),
    )
    assert seen == [(1, 9)]
    assert made.stopped
    document = backtest_document(made)
    assert (document["days"], document["partial"]) == (1, True)
    assert any("stopped before all were done" in line for line in backtest_words(made))


def test_it_stops_in_the_middle_of_a_day(brief):
    made = backtest_days(brief, 9, 3, scenarios=1, jobs=1, stop=lambda: True)
    document = backtest_document(made)
    assert (document["days"], document["share_recovered"]) == (0, None)
    assert backtest_words(made) == ["No day was played to its end."]


def test_a_keyboard_interrupt_gives_what_is_done(brief):
    def interrupt(done: int, total: int) -> None:
        raise KeyboardInterrupt

    made = backtest_days(brief, 4, 3, scenarios=1, jobs=2, on_progress=interrupt)
    assert made.stopped
    assert len(made.days) == 1


def test_no_day_without_a_loop(saldrey):
    places = tuple(p.model_copy(update={"stages": ()}) for p in saldrey.itinerary.change_places)
    itinerary = saldrey.itinerary.model_copy(update={"change_places": places})
    with pytest.raises(EngineError, match="no day to play"):
        backtest_days(saldrey.model_copy(update={"itinerary": itinerary}), 1)


# ---- who knows what


def call_of(bundle, truth):
    garage = Garage(bundle, truth, true_tables(bundle, truth))
    return play(bundle, truth, garage, Call(Engine(), FEW, 0))


def test_the_call_now_does_not_depend_on_what_will_happen(saldrey):
    truth = draw_truth(saldrey, 5, 0, Spread())
    conditions = truth.conditions
    later = [conditions.index(key) for key in ("SS5", "SS6")]
    air, road = conditions.air_c.copy(), conditions.road_c.copy()
    state = conditions.state.copy()
    air[:, later] += 20.0
    road[:, later] += 30.0
    state[:, later] = 2
    other = replace(truth, conditions=replace(conditions, air_c=air, road_c=road, state=state))
    one, two = call_of(saldrey, truth), call_of(saldrey, other)
    assert [key for key, _ in one.fittings] == ["start", "A", "B"]
    assert one.fittings == two.fittings
    assert one.time_s != pytest.approx(two.time_s, abs=1.0)


def test_the_book_tells_readings_and_nothing_of_the_truth(saldrey):
    truth = draw_truth(saldrey, 5, 0, Spread())
    garage = Garage(saldrey, truth, true_tables(saldrey, truth))
    start, second = saldrey.itinerary.change_places[:2]
    book = Notebook(saldrey)
    book.car_in(start, truth, garage, None, ran=False)
    problem = build_problem(saldrey, book.state, CallOptions(at="start"), start.due_in_utc)
    choice = by_thumb(problem, lambda c: not book.refused(start, c))
    assert choice is not None
    book.fit(start, choice)
    loop = garage.drive(start, choice.fitting, choice.cold_kpa)
    book.loop_driven(loop)
    book.car_in(second, truth, garage, loop.car, ran=True)
    for corner in ("FL", "FR", "RL", "RR"):
        tyre_id = choice.fitting[corner]
        read = book.state.tyres[tyre_id].readings[-1].tread_mm
        deep = garage.tyres[tyre_id].tread_mm
        assert read != deep
        assert read == pytest.approx(deep, abs=1.0)
    assert book.state.next_place == "A"
    assert set(book.state.stages_run) == {"SS1", "SS2"}
    reports = [r for r in book.state.reports if r.place == "A"]
    assert reports[0].air_c == truth.air_read_c("A")
    # And the engine learns from it: what was read is the depth that the call starts from.
    after = build_problem(saldrey, book.state, CallOptions(at="A"), second.due_in_utc)
    known = {t.stock.tyre_id: t for t in after.tyres}
    tyre_id = choice.fitting["FL"]
    assert known[tyre_id].tread_mm == book.state.tyres[tyre_id].readings[-1].tread_mm
    assert after.wear_sd < problem.wear_sd


def test_the_car_drives_what_foresight_planned(brief):
    """Where nothing is drawn the car's own equations give the engine's time and money."""
    truth = draw_truth(brief, 0, 0, Spread(widen=0.0))
    truth = replace(truth, spread=Spread(widen=0.0, wear_bias=1.2))
    garage = Garage(brief, truth, true_tables(brief, truth))
    foresight = Foresight(Engine(), truth, garage)
    book = Notebook(brief)
    place = brief.itinerary.change_places[0]
    book.car_in(place, truth, garage, None, ran=False)
    told = Engine().answer(foresight.problem(book.seen(place)))
    loops = [
        garage.drive(brief.itinerary.place(loop.place), loop.fitting, loop.cold_pressure_kpa)
        for loop in told.plan
    ]
    xi = money_per_s(brief, brief.event.settings.new_tyre_worth_s)
    assert len(loops) == 2
    assert not any(loop.flats for loop in loops)
    time_s = sum(sum(loop.stage_s.values()) for loop in loops)
    assert time_s == pytest.approx(told.objective.time_s, rel=1e-9)
    assert garage.money / xi == pytest.approx(told.objective.money_s, rel=1e-9)


@dataclass(frozen=True)
class Plain(Truth):
    """A truth in which a tyre wears as its compound and corner say."""

    def tyre_factor(self, tyre_id: str, loop: int) -> float:
        return 1.0


@dataclass(frozen=True)
class Stones(Truth):
    """A truth with stones where a test wants them."""

    hit: tuple[tuple[str, int], ...] = ()

    def punctured(self, stage: str, corner: int, hazard: float) -> bool:
        return (stage, corner) in self.hit


def test_nobody_beats_full_foresight(brief):
    """Punctures cost nothing here, and nothing is hidden from foresight."""
    settings = brief.event.settings.model_copy(
        update={"wheel_lost_s": 0.0, "wheel_change_s": 0.0}
    )
    bundle = brief.model_copy(
        update={"event": brief.event.model_copy(update={"settings": settings})}
    )
    xi = money_per_s(bundle, settings.new_tyre_worth_s)
    gained = 0.0
    for day in range(3):
        drawn = draw_truth(bundle, 8, day, Spread())
        truth = Plain(drawn.dice, drawn.spread, drawn.conditions)
        garage = Garage(bundle, truth, true_tables(bundle, truth))
        foresight = Foresight(Engine(), truth, garage)
        own = play(bundle, truth, garage, foresight).cost_s(xi)
        played = play_all(bundle, truth, FEW)
        assert all(p.whole for p in played.values())
        assert foresight.open_s < 1.0
        for name, one in played.items():
            # Its own plan is as good as the search has proven; with the others' plans at hand
            # nobody is better at all.
            assert own <= one.cost_s(xi) + foresight.open_s + 0.01, (day, name)
            assert played["foresight"].cost_s(xi) <= one.cost_s(xi), (day, name)
        gained += played["rule_of_thumb"].cost_s(xi) - own
    assert gained > 4.0


def test_somebody_who_knows_the_stones_carries_what_they_ask_for(brief):
    truth = draw_truth(brief, 8, 0, Spread())
    for hit in ((), (("SS1", 3),)):
        known = Stones(truth.dice, truth.spread, truth.conditions, hit)
        garage = Garage(brief, known, true_tables(brief, known))
        done = play(brief, known, garage, Foresight(Engine(), known, garage))
        carried = [sum(f[p] is not None for p in ("SP1", "SP2")) for _, f in done.fittings]
        least = garage.rules.spare_min
        assert carried == [max(len(hit), least), least]
        assert done.lost_s < brief.event.settings.wheel_lost_s


# ---- the rule of thumb


def problem_at(bundle, place, road_c):
    state = replay(bundle, ())
    options = CallOptions(at=place, road_c=road_c, hold=True, scenarios=1)
    at = bundle.itinerary.place(place)
    return build_problem(bundle, state, options, at.due_in_utc)


def test_cold_roads_take_soft_tyres_and_hot_ones_hard():
    words = ["soft", "medium", "hard"]
    told = [wanted_hardness(road, "gravel", words) for road in (5.0, 30.0, 55.0)]
    assert told == words
    assert wanted_hardness(55.0, "gravel", ["soft"]) == "soft"
    assert [wanted_hardness(r, "asphalt", ["soft", "hard"]) for r in (5.0, 55.0)] == [
        "soft",
        "hard",
    ]


@pytest.mark.parametrize(("road_c", "word"), [(6.0, "soft"), (50.0, "hard")])
def test_the_rule_of_thumb_by_the_road(quellhaven, road_c, word):
    problem = problem_at(quellhaven, "A", road_c)
    choice = by_thumb(problem, lambda _: True)
    compounds = {t.stock.tyre_id: t.stock.compound for t in problem.tyres}
    worn = {compounds[t] for t in choice.fitting.values() if t}
    assert worn == {word}


def test_two_spares_on_rough_loops(saldrey):
    # Roughness 3 and 4 are 0.45 and 0.65; a second pass adds 0.15.
    assert Bench(problem_at(saldrey, "start", 15.0)).spares_wanted() == 1
    assert Bench(problem_at(saldrey, "A", 15.0)).spares_wanted() == 2


def test_the_deepest_tyres_go_on_the_driven_axle(saldrey):
    bench = Bench(problem_at(saldrey, "start", 15.0))
    car = next(cars(bench))
    front = [min(car[c].given.tread_mm) for c in ("FL", "FR")]
    rear = [min(car[c].given.tread_mm) for c in ("RL", "RR")]
    assert min(front) >= max(rear)


def test_rain_tyres_where_the_road_is_expected_wet(lunehaven):
    problem = problem_at(lunehaven, "D", 9.0)
    choice = by_thumb(problem, lambda _: True)
    use = {t.stock.tyre_id: t.stock.use for t in problem.tyres}
    column = problem.conditions.index(problem.places[0].stages[0])
    shares = problem.conditions.state_shares[column]
    wet = max(shares, key=lambda word: shares[word]) in ("wet", "standing")
    assert {use[choice.fitting[c]] for c in ("FL", "FR", "RL", "RR")} == {
        "asphalt_wet" if wet else "asphalt"
    }


def test_a_locked_tyre_of_a_held_plan_is_replaced_by_its_like(saldrey):
    problem = problem_at(saldrey, "start", 15.0)
    held = {"FL": "M01", "FR": "M02", "RL": "M05", "RR": "M06", "SP1": "M03", "SP2": None}
    tyres = tuple(
        replace(t, usable=False) if t.stock.tyre_id == "M01" else t for t in problem.tyres
    )
    choice = stand_in(replace(problem, tyres=tyres), held, lambda _: True)
    assert choice is not None
    kind = {t.stock.tyre_id: t.stock.kind_key for t in problem.tyres}
    assert choice.fitting["FL"] not in (None, "M01")
    assert kind[choice.fitting["FL"]] == kind["M01"]
    assert {p: choice.fitting[p] for p in ("FR", "RL", "RR", "SP1")} == {
        p: held[p] for p in ("FR", "RL", "RR", "SP1")
    }


# ---- what counts


def scored(bundle, truth, **played):
    whole = {name: Played(time_s=1000.0) for name in POLICIES} | played
    return day_score(bundle, truth, 0, whole, xi_money_per_s=32.0)


@pytest.fixture(scope="module")
def plain_truth(saldrey):
    return draw_truth(saldrey, 0, 0, Spread(widen=0.0))


def test_a_broken_day_counts_foresight_and_a_lost_wheel(saldrey, plain_truth):
    day = scored(
        saldrey,
        plain_truth,
        call=Played(time_s=500.0, breaches=["TRD-1 M01"]),
        rule_of_thumb=Played(time_s=100.0, no_plan=True),
        morning_plan=Played(time_s=1000.0, lost_s=20.0, money=64.0),
        foresight=Played(time_s=990.0, money=320.0),
    )
    assert day.scores["foresight"].total_s == pytest.approx(1000.0)
    assert day.scores["morning_plan"].total_s == pytest.approx(1022.0)
    assert day.scores["call"].total_s == pytest.approx(1900.0)
    assert day.scores["rule_of_thumb"].total_s == pytest.approx(1900.0)


def test_the_best_plan_of_all_stands_for_foresight():
    day = {
        "call": Played(time_s=980.0),
        "rule_of_thumb": Played(time_s=100.0, breaches=["TRD-1 M01"]),
        "morning_plan": Played(time_s=50.0, no_plan=True),
    }
    own = Played(time_s=990.0, open_s=3.0)
    best = best_of(day | {"foresight": own}, 32.0)
    assert (best.time_s, best.made_by, best.open_s) == (980.0, "call", 3.0)
    assert best_of(day | {"foresight": Played(time_s=970.0)}, 32.0).made_by == ""
    broken = Played(time_s=10.0, breaches=["TRD-1 M02"])
    assert best_of(day | {"foresight": broken}, 32.0).made_by == "call"
    nothing = Played(time_s=10.0, no_plan=True)
    assert best_of({"call": nothing, "foresight": nothing}, 32.0) is nothing


def test_where_nobody_found_a_plan_all_count_alike(saldrey, plain_truth):
    without = {name: Played(time_s=100.0 + n, no_plan=True) for n, name in enumerate(POLICIES)}
    day = scored(saldrey, plain_truth, **without)
    assert {s.total_s for s in day.scores.values()} == {1003.0}


def test_no_share_where_there_is_nothing_to_gain(saldrey, plain_truth):
    day = scored(saldrey, plain_truth, rule_of_thumb=Played(time_s=1000.9))
    made = Backtest(0, (day,))
    assert made.share_recovered is None
    assert "too little" in " ".join(backtest_words(made))
    day = scored(saldrey, plain_truth, rule_of_thumb=Played(time_s=1008.0))
    assert Backtest(0, (day,)).share_recovered == pytest.approx(1.0)


def test_the_parts_of_the_rest_add_up(two_days):
    rest = sum(two_days.rest().values())
    assert rest == pytest.approx(two_days.total_s("call") - two_days.total_s("foresight"))


# ---- the command


def test_the_command_prints_json_alone(capfd, monkeypatch, brief):
    monkeypatch.setattr("crewdesk.documents.store.load_event", lambda _folder: brief)
    few = ["--days", "1", "--seed", "3", "--jobs", "1", "--scenarios", "1"]
    knobs = ["--widen", "0.5", "--bias-air-c", "2"]
    code = main(["backtest", str(demo("saldrey")), *few, *knobs, "--json"])
    out, err = capfd.readouterr()
    assert code == 0
    assert json.loads(out)["days"] == 1
    assert "1 of 1 days done" in err


def test_an_event_that_is_not_there_is_told(capsys):
    assert main(["backtest", "nowhere", "--days", "1"]) == 1
    assert "nowhere" in capsys.readouterr().err


@pytest.mark.parametrize("words", [["--days", "0"], ["--widen", "-1"], ["--wear-bias", "x"]])
def test_numbers_out_of_range_are_wrong_usage(words, capsys):
    with pytest.raises(SystemExit) as end:
        main(["backtest", str(demo("saldrey")), *words])
    assert end.value.code == 2
    assert "Traceback" not in capsys.readouterr().err


def test_whoever_decides_is_told_the_price_at_which_the_days_are_counted(brief):
    place = brief.itinerary.change_places[0]
    problem = asked(Notebook(brief).seen(place), FEW, 0)
    settings = brief.event.settings
    assert settings.tread_risk_s < settings.wheel_lost_s
    assert problem.settings.tread_risk_s == settings.wheel_lost_s
    assert problem.settings.worst_tenth_weight == settings.worst_tenth_weight


def test_the_van_of_the_call_takes_planned_and_reserve_wheels_with_their_rims(quellhaven):
    places = quellhaven.itinerary.change_places
    service = next(p for p, zone in pairwise(places) if zone.kind == "zone")
    seen = Notebook(quellhaven).seen(service)
    choice = Call(Engine(), FEW, 0).choose(seen, lambda _: True)
    assert choice.bring
    assert set(choice.bring_rims) == set(choice.bring)
    assert not set(choice.bring) & set(choice.fitting.values())
