"""A depth far from what was expected is asked about before it is taken."""

import re

import numpy as np
import pytest

from crewdesk.desk.estimate import estimates_of
from crewdesk.desk.learn import learn
from crewdesk.desk.learn_runs import PastRuns
from crewdesk.journal.entries import AsFound, Correction, Fitting, Reading


def depths_of(day, tyre_id: str, factor: float = 1.0) -> np.ndarray:
    state = day.state
    past = PastRuns(day.bundle, state, state.last_entry_at)
    tyre = state.tyres[tyre_id]
    lost = sum(np.array(run.loss_mm) for run in past.done(tyre))
    return np.array(tyre.stock.tread_mm) - factor * lost


def reading(tyre_id: str, depths, **more) -> Reading:
    inner, middle, outer = (float(round(d, 2)) for d in depths)
    return Reading(
        tyre_id=tyre_id,
        tread_in_mm=inner,
        tread_mid_mm=middle,
        tread_out_mm=outer,
        place="B",
        **more,
    )


def asked(receipt) -> list[str]:
    return [m.text for m in receipt.messages if "measure again" in m.text]


@pytest.fixture
def day(open_day, car_of):
    opened = open_day()
    car = car_of("H01", "H02", "H03", "H04")
    at = opened.bundle.itinerary.place("B").due_in_utc
    opened.enter(
        Fitting(place="A", fitting=car, at=opened.bundle.itinerary.place("A").due_in_utc)
    )
    opened.enter(AsFound(place="B", fitting=car, at=at))
    return opened


def test_what_is_expected_is_not_asked_about(day):
    for factor, tyre_id in ((0.8, "H01"), (1.0, "H02"), (1.3, "H03"), (1.5, "H04")):
        assert not asked(day.enter(reading(tyre_id, depths_of(day, tyre_id, factor))))


def test_a_slip_of_the_pen_is_asked_about(day):
    right = depths_of(day, "H01")
    wrong = right + np.array([0.0, -3.2, 0.0])
    receipt = day.enter(reading("H01", wrong))
    (text,) = asked(receipt)
    assert receipt.accepted
    assert re.fullmatch(
        r"H01 middle \d\.\d mm, expected \d\.\d \(\d\.\d to \d+\.\d\): "
        r"measure again, or confirm\.",
        text,
    )
    assert [m.level for m in receipt.messages if "measure again" in m.text] == ["watch"]
    # Reckoned on until then.
    now = day.state.last_entry_at
    estimate = estimates_of(day.bundle, day.state, now)["H01"]
    assert not estimate.measured
    assert estimate.tread_mm[1] == pytest.approx(right[1], abs=0.6)
    learnt = learn(day.bundle, day.state, now)
    assert [one.tyre_id for one in learnt.outliers] == ["H01"]
    assert "not taken until confirmed" in learnt.outliers[0].sentence


def test_measured_again_it_is_taken(day):
    right = depths_of(day, "H01", 1.2)
    day.enter(reading("H01", right + np.array([0.0, -3.2, 0.0])))
    again = day.enter(Reading(tyre_id="H01", tread_mid_mm=round(right[1], 2), place="B"))
    assert not asked(again)
    estimate = estimates_of(day.bundle, day.state, day.state.last_entry_at)["H01"]
    assert estimate.measured
    assert estimate.tread_mm == pytest.approx(tuple(right), abs=0.01)
    assert not learn(day.bundle, day.state, day.state.last_entry_at).outliers


def test_confirmed_it_is_kept_and_counts_little(day):
    wrong = depths_of(day, "H01") - np.array([5.5, 5.5, 5.5])
    assert asked(day.enter(reading("H01", wrong), dry_run=True))
    assert not asked(day.enter(reading("H01", wrong, confirmed=True)))
    now = day.state.last_entry_at
    estimate = estimates_of(day.bundle, day.state, now)["H01"]
    assert estimate.measured
    assert estimate.tread_mm == pytest.approx(tuple(wrong), abs=0.01)
    (one,) = learn(day.bundle, day.state, now).outliers
    assert one.confirmed
    assert one.weight < 0.6
    assert "confirmed, counts little" in one.sentence


def test_a_tyre_that_has_not_run_is_not_asked_about(day):
    assert not asked(day.enter(reading("H09", (7.0, 7.0, 7.0))))


def test_a_further_point_of_the_same_reading_is_asked_about_too(day):
    right = depths_of(day, "H01")
    first = day.enter(Reading(tyre_id="H01", tread_in_mm=round(right[0], 2), place="B"))
    assert not asked(first)
    wrong = Correction(target_id=first.id, values={"tread_mid_mm": 0.1})
    (text,) = asked(day.enter(wrong))
    assert text.startswith("H01 middle 0.1 mm, expected ")
    kept = Correction(target_id=first.id, values={"confirmed": True})
    assert not asked(day.enter(kept))
