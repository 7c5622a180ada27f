"""What a day's readings teach: followed through the book, back into estimates and the call."""

from dataclasses import replace

import numpy as np
import pytest

from crewdesk.desk.answer import CallOptions
from crewdesk.desk.ask import build_problem
from crewdesk.desk.estimate import estimates_of, predicted_mm
from crewdesk.desk.learn import learn, sentences_of
from crewdesk.desk.learn_readings import walk
from crewdesk.desk.learn_runs import PastRuns, ground
from crewdesk.desk.learn_wear import learn_wear_of
from crewdesk.desk.learnt import Layout, Rubber, nothing_learnt
from crewdesk.desk.replay import replay
from crewdesk.desk.state import Run
from crewdesk.physics import kalman
from crewdesk.physics.learning_wear import WearReading, learn_wear, loss_sd_mm

FEW = CallOptions(scenarios=4)
FRONT_SWAP = ("H03", "H04", "H01", "H02")
HARD = Rubber("gravel", "hard", "gravel")
FORBIDDEN = (
    "gap",
    "bound",
    "seed",
    "scenario",
    "prior",
    "posterior",
    "objective",
    "sigma",
    "quantile",
    "parameter",
    "constraint",
    "infeasible",
    "solver",
    "legal",
    "safe",
    "invalid",
)


def read(tyre: str, depths, place: str, **more):
    inner, middle, outer = depths
    return {
        "kind": "reading",
        "tyre_id": tyre,
        "tread_in_mm": inner,
        "tread_mid_mm": middle,
        "tread_out_mm": outer,
        "place": place,
        **more,
    }


@pytest.fixture
def day(quellhaven, entries_of, car_of):
    """Two loops with the same four hards, the axles swapped between, each wear by a factor."""

    def make(factors=(1.3, 1.3), *, swap=True, loops=2, extra=()):
        bodies = [
            {"kind": "fitting", "place": "A", "fitting": car_of("H01", "H02", "H03", "H04")},
            {"kind": "as_found", "place": "B", "fitting": car_of("H01", "H02", "H03", "H04")},
        ]
        depth = {f"H0{n}": np.full(3, 10.0) for n in range(1, 5)}
        second = FRONT_SWAP if swap else ("H01", "H02", "H03", "H04")
        for loop in range(loops):
            state = replay(quellhaven, entries_of(bodies))
            past = PastRuns(quellhaven, state, state.last_entry_at)
            stages = ({"SS1", "SS2", "SS3"}, {"SS4", "SS5", "SS6"})[loop]
            place = "BC"[loop]
            for tyre_id in depth:
                lost = sum(
                    np.array(run.loss_mm)
                    for run in past.done(state.tyres[tyre_id])
                    if run.run.stage in stages
                )
                depth[tyre_id] = depth[tyre_id] - factors[loop] * lost
                bodies.append(read(tyre_id, depth[tyre_id].tolist(), place))
            if loop == 0 and loops == 2:
                bodies.append({"kind": "fitting", "place": "B", "fitting": car_of(*second)})
                bodies.append({"kind": "as_found", "place": "C", "fitting": car_of(*second)})
        bodies += list(extra)
        return replay(quellhaven, entries_of(bodies))

    return make


def test_kinds_of_ground():
    assert ground("gravel", "dry") == ground("gravel", "damp") == "gravel"
    assert ground("gravel", "muddy") == "wet gravel"
    assert ground("asphalt", "damp") == ground("asphalt", "standing") == "wet asphalt"
    assert ground("asphalt", "frozen") == ground("snow", "dry") == "snow and ice"


def test_without_readings_nothing_changes(quellhaven, day):
    state = replay(quellhaven, [])
    due = quellhaven.itinerary.place("A").due_in_utc
    learnt = learn(quellhaven, state, due)
    assert not learnt.knows
    assert learnt.factor(HARD, 0) == 1.0
    assert learnt.ln_sd(HARD, 0) == 0.48
    problem = build_problem(quellhaven, state, FEW, due)
    assert (problem.wear_sd, problem.wear_multiplier, problem.tyre_wear_sd) == (0.48, {}, {})
    assert nothing_learnt().loss_sd_mm([]) == 0.0


def test_readings_are_the_filter_by_hand(quellhaven, day):
    # The same losses through the filter alone (Kalman 1960, see the reference tests).
    state = day(loops=1)
    past = PastRuns(quellhaven, state, state.last_entry_at)
    learnt = learn_wear_of(past)
    belief = kalman.start(np.zeros(5), [0.40, 0.20, 0.20, 0.20, 0.20])
    belief = kalman.widened(belief, [3 * 0.02**2, 0, 0, 0, 0])
    readings = []
    for corner, tyre_id in enumerate(("H01", "H02", "H03", "H04")):
        told = sum(run.mean_loss_mm for run in past.done(state.tyres[tyre_id]))
        share = np.eye(5)[0] + np.eye(5)[1 + corner]
        readings.append(WearReading(told, 1.3 * told, share, loss_sd_mm()))
    by_hand, _ = learn_wear(belief, readings)
    assert learnt.layout.rubbers == (HARD,)
    assert learnt.belief.mean == pytest.approx(by_hand.mean, abs=1e-9)
    assert learnt.belief.cov == pytest.approx(by_hand.cov, abs=1e-9)
    assert learnt.readings == 4


def test_tyres_are_followed_from_corner_to_corner(quellhaven, day):
    state = day()
    learnt = learn(quellhaven, state, state.last_entry_at)
    second = [one for one in learnt.compared if not one.from_stock]
    assert {one.tyre_id: one.corner for one in second} == {
        "H03": "FL",
        "H04": "FR",
        "H01": "RL",
        "H02": "RR",
    }
    assert all(one.stages == ("SS4", "SS5", "SS6") for one in second)
    assert learnt.corner_counts == (2, 2, 2, 2)
    (wear,) = learnt.wear
    assert wear.factor == pytest.approx(1.3, abs=0.05)
    assert wear.low < 1.3 < wear.high
    assert (wear.before, wear.readings, wear.told_apart) == (1.0, 8, True)
    assert "Hards wear" in wear.sentence
    assert "faster than the table says on this gravel, sure to within" in wear.sentence


def test_one_axle_alone_is_said_not_to_be_told_apart(quellhaven, entries_of, car_of):
    bodies = [
        {"kind": "fitting", "place": "A", "fitting": car_of("H01", "H02", "S01", "S02")},
        {"kind": "as_found", "place": "B", "fitting": car_of("H01", "H02", "S01", "S02")},
        *(read(t, (8.0, 8.0, 8.0), "B") for t in ("H01", "H02", "S01", "S02")),
    ]
    state = replay(quellhaven, entries_of(bodies))
    learnt = learn(quellhaven, state, state.last_entry_at)
    by_compound = {one.compound: one for one in learnt.wear}
    assert not by_compound["hard"].told_apart
    assert "read at FL and FR only" in by_compound["hard"].sentence
    assert "read at RL and RR only" in by_compound["soft"].sentence


def test_swapping_axles_separates_rubber_from_corner(quellhaven, day):
    moved, still = day(swap=True), day(swap=False)
    first = learn_wear_of(PastRuns(quellhaven, moved, moved.last_entry_at))
    other = learn_wear_of(PastRuns(quellhaven, still, still.last_entry_at))
    # Four tyres of one compound: what one corner does apart from the rubber gets clearer.
    row = np.array([0.0, 1.0, -1.0, 0.0, 0.0])
    assert first.belief.sd(row) <= other.belief.sd(row) + 1e-9
    assert first.readings == other.readings == 8


def test_estimates_between_readings_use_what_was_learnt(quellhaven, day):
    told = day((1.4, 1.4))
    car = {"FL": "H03", "FR": "H04", "RL": "H01", "RR": "H02"}
    stages = ("SS7", "SS8")
    now = told.last_entry_at
    with_it = predicted_mm(quellhaven, told, car, stages, now)
    bare = replace(
        told, tyres={t: replace(tyre, readings=()) for t, tyre in told.tyres.items()}
    )
    learnt = learn_wear_of(PastRuns(quellhaven, told, now))
    past = PastRuns(quellhaven, told, now, stages)
    for corner, tyre_id in car.items():
        tyre = told.tyres[tyre_id]
        start = estimates_of(quellhaven, told, now)[tyre_id].tread_mm
        runs = tuple(Run(s, corner, past.stages[s].km) for s in stages)
        done = past.follow(tyre, runs, past.done(tyre)[-1])
        number = ("FL", "FR", "RL", "RR").index(corner)
        ends = [
            start[z]
            - sum(
                one.loss_mm[z] * learnt.factor(Rubber("gravel", "hard", one.ground), number)
                for one in done
            )
            for z in range(3)
        ]
        best, low, high = with_it[tyre_id]
        assert best == pytest.approx(min(ends), abs=1e-9)
        assert low < best < high
    wide = predicted_mm(quellhaven, bare, car, stages, now)
    for tyre_id in car.values():
        assert wide[tyre_id][2] - wide[tyre_id][1] > with_it[tyre_id][2] - with_it[tyre_id][1]


def test_the_call_gets_factors_and_doubts(quellhaven, day):
    state = day((1.3, 1.3))
    problem = build_problem(quellhaven, state, FEW, state.last_entry_at)
    # Rain is likely later on; wet gravel has taught nothing yet and stays with the table.
    assert 1.1 < problem.wear_multiplier["hard"] < 1.3
    assert max(problem.stage_wear_multiplier["hard", ref] for ref in problem.stages) > 1.2
    assert problem.wear_multiplier["soft"] == 1.0
    assert set(problem.corner_multiplier) == {"FL", "FR", "RL", "RR"}
    assert problem.tyre_wear_sd["H01"] < 0.30
    assert problem.tyre_wear_sd["S01"] == pytest.approx(0.45, abs=0.03)
    assert problem.tyre_wear_sd["H01"] < problem.wear_sd < 0.48
    for ref in problem.stages:
        assert problem.stage_wear_multiplier["soft", ref] == 1.0


def test_answers_do_not_hang_on_the_order_of_the_stock(quellhaven, day):
    state = day()
    turned = replace(state, tyres=dict(reversed(list(state.tyres.items()))))
    now = state.last_entry_at
    one = learn_wear_of(PastRuns(quellhaven, state, now))
    other = learn_wear_of(PastRuns(quellhaven, turned, now))
    assert one.belief.mean == pytest.approx(other.belief.mean, rel=1e-12)
    assert one.belief.cov == pytest.approx(other.belief.cov, rel=1e-12)


def test_points_read_alone_are_compared_with_their_own_depth(quellhaven, entries_of, car_of):
    bodies = [
        {"kind": "fitting", "place": "A", "fitting": car_of("H01", "H02", "H03", "H04")},
        {"kind": "as_found", "place": "B", "fitting": car_of("H01", "H02", "H03", "H04")},
        {"kind": "reading", "tyre_id": "H01", "tread_mid_mm": 8.0, "place": "B"},
    ]
    state = replay(quellhaven, entries_of(bodies))
    past = PastRuns(quellhaven, state, state.last_entry_at)
    start = kalman.start(np.zeros(5), [0.40] + [0.20] * 4)
    told = walk(past, Layout([HARD]), start)
    ((pair, weighed),) = told.pairs
    assert pair.points == (1,)
    assert pair.measured_mm == pytest.approx(2.0)
    # A single point is sqrt(3) times as rough as the mean of three.
    sd = loss_sd_mm(points=1)
    assert weighed.variance == pytest.approx(0.15**2 + (sd / pair.told_mm) ** 2)


def test_sentences_are_in_the_crews_words(walk):
    for name in ("quellhaven", "lunehaven"):
        told = walk(name)
        learnt = learn(told.bundle, told.state, told.state.last_entry_at)
        assert learnt.readings > 15
        assert learnt.punctures is not None
        assert learnt.heat.readings > 0
        for text in sentences_of(learnt):
            words = text.lower().replace(",", " ").split()
            assert not set(words) & set(FORBIDDEN), text
            assert text[0].isupper()
            assert text.endswith(".")


def test_wear_far_from_the_table_is_said(quellhaven, day):
    state = day((1.6, 1.6))
    learnt = learn(quellhaven, state, state.last_entry_at)
    assert any("Hards wear" in w and "by what was read" in w for w in learnt.warnings)
    agreed = day((1.05, 1.05))
    assert learn(quellhaven, agreed, agreed.last_entry_at).warnings == ()


def test_loops_that_contradict_each_other_are_said(quellhaven, day):
    state = day((0.7, 2.4))
    warnings = learn(quellhaven, state, state.last_entry_at).warnings
    assert any("further from what was expected" in w for w in warnings)


def test_a_gauge_that_reads_too_deep_on_new_tyres_is_said(quellhaven, entries_of):
    bodies = [read(f"H0{n}", (10.3, 10.4, 10.3), "A") for n in range(1, 5)]
    state = replay(quellhaven, entries_of(bodies))
    learnt = learn(quellhaven, state, state.last_entry_at)
    assert any("The gauge reads 0.3 mm deeper" in w for w in learnt.warnings)
