from datetime import timedelta

import numpy as np
import pytest

from crewdesk.desk.answer import CallOptions
from crewdesk.desk.ask import answer, build_problem
from crewdesk.desk.coming_in import as_it_comes_in, stages_to_come
from crewdesk.desk.estimate import histories
from crewdesk.desk.replay import replay

OUT_OF_A = [
    {
        "kind": "fitting",
        "at": "2026-08-22T06:30:00Z",
        "place": "A",
        "fitting": {"FL": "H01", "FR": "H02", "RL": "H03", "RR": "H04", "SP1": "H05"},
        "cold_kpa": {"FL": 195, "FR": 195, "RL": 195, "RR": 195, "SP1": 195},
        "set_at_c": 18,
    },
    {
        "kind": "read_back",
        "at": "2026-08-22T06:37:00Z",
        "place": "A",
        "fitting": {"FL": "H01", "FR": "H02", "RL": "H03", "RR": "H04", "SP1": "H05"},
    },
]


@pytest.fixture
def out(quellhaven, entries_of):
    return replay(quellhaven, entries_of(OUT_OF_A))


@pytest.fixture
def at_b(quellhaven):
    return quellhaven.itinerary.place("B")


def test_the_loop_being_driven_is_still_to_come(quellhaven, out, at_b):
    assert stages_to_come(quellhaven, out, at_b) == ("SS1", "SS2", "SS3")
    run = replay(quellhaven, [])
    assert stages_to_come(quellhaven, run, at_b) == ()


def test_what_is_on_the_corners_wears_before_it_comes_in_and_the_spare_does_not(
    quellhaven, out, at_b
):
    now = at_b.due_in_utc - timedelta(minutes=30)
    ways = histories(quellhaven, as_it_comes_in(quellhaven, out, at_b), now)
    before = histories(quellhaven, out, now)
    assert before["H01"].tread_mm == (10.0, 10.0, 10.0)
    assert all(depth < 9.5 for depth in ways["H01"].tread_mm)
    assert ways["H05"].tread_mm == (10.0, 10.0, 10.0)
    assert not ways["H01"].measured


def test_stages_said_to_be_run_are_not_run_twice(quellhaven, entries_of, at_b):
    run = {"kind": "stage_run", "at": "2026-08-22T07:30:00Z", "stage": "SS1"}
    state = replay(quellhaven, entries_of([*OUT_OF_A, run]))
    assert stages_to_come(quellhaven, state, at_b) == ("SS2", "SS3")
    came = as_it_comes_in(quellhaven, state, at_b)
    assert [r.stage for r in came.tyres["H01"].runs] == ["SS1", "SS2", "SS3"]


def test_the_call_is_asked_with_worn_and_warm_tyres(quellhaven, out, at_b):
    now = at_b.due_in_utc - timedelta(minutes=30)
    problem = build_problem(quellhaven, out, CallOptions(scenarios=1), now)
    tyres = {tyre.stock.tyre_id: tyre for tyre in problem.tyres}
    assert max(tyres["H01"].tread_mm) < 9.5
    assert tyres["H05"].tread_c is None
    air_c = float(problem.conditions.air_mean_c[problem.conditions.index("B")])
    # After the drive home and the regroup: warmer than the air, cooler than on the stage.
    assert tyres["H01"].bulk_c is not None
    assert air_c + 1 < tyres["H01"].bulk_c < 70
    assert tyres["H01"].tread_sd_mm > tyres["H05"].tread_sd_mm


def test_the_chart_shows_the_loop_being_driven_as_expected(quellhaven, out, at_b):
    now = at_b.due_in_utc - timedelta(minutes=30)
    told = answer(quellhaven, out, CallOptions(scenarios=1), 1, now, with_flips=False)
    front_left = next(chart for chart in told.charts if chart.corner == "FL")
    first = front_left.segments[0]
    assert (first.tyre_id, first.planned) == ("H01", True)
    assert len(first.points) == 4
    assert np.all(np.diff([p.tread_mm for p in first.points]) < 0)
