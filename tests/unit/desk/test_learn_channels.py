"""Hot pressures, probes, looks, the driver, times, punctures and forecasts."""

from datetime import timedelta

import numpy as np
import pytest

from crewdesk.desk.learn import learn
from crewdesk.desk.learn_channels import forecast_compared, heat_of, punctures_of
from crewdesk.desk.learn_runs import PastRuns, last_done
from crewdesk.desk.replay import replay
from crewdesk.physics.inflation import atmosphere_kpa, hot_pressure_kpa


@pytest.fixture
def loop(quellhaven, entries_of, car_of):
    """One loop on four hards, then what the crew sees."""

    def make(*extra, times=()):
        at = quellhaven.itinerary.place("B").due_in_utc
        car = car_of("H01", "H02", "H03", "H04")
        bodies = [
            {
                "kind": "fitting",
                "place": "A",
                "fitting": car,
                "cold_kpa": dict.fromkeys(("FL", "FR", "RL", "RR"), 195.0),
                "set_at_c": 18.0,
                "at": quellhaven.itinerary.place("A").due_in_utc.isoformat(),
            },
            *times,
            {"kind": "as_found", "place": "B", "fitting": car, "at": at.isoformat()},
            *({"at": at.isoformat(), **body} for body in extra),
        ]
        return replay(quellhaven, entries_of(bodies))

    return make


def past_of(bundle, state) -> PastRuns:
    return PastRuns(bundle, state, state.last_entry_at)


def test_a_hot_pressure_tells_the_heat_factor(quellhaven, loop):
    state = loop()
    past = past_of(quellhaven, state)
    last = last_done(past.done(state.tyres["H01"]))
    hotter_c = last.air_c + 1.3 * (last.bulk_c - last.air_c)
    service = quellhaven.itinerary.place("A").altitude_m
    hot = float(
        hot_pressure_kpa(
            195.0,
            18.0,
            hotter_c,
            atmosphere_kpa(service),
            atmosphere_kpa(last.stage.alt_finish_m),
        )
    )
    body = {
        "kind": "reading",
        "tyre_id": "H01",
        "hot_kpa": round(hot, 2),
        "where": "stop_line",
        "place": "SS3",
    }
    heat = heat_of(past_of(quellhaven, loop(body)))
    assert heat.readings == 1
    # Between what was known (1) and what was read (1.3), by their variances.
    rise = last.bulk_c - last.air_c
    own = 0.20**2 + (2.3 / rise) ** 2
    wanted = np.exp(np.log(1.3) * 0.25**2 / (0.25**2 + own))
    assert heat.factor == pytest.approx(wanted, rel=0.01)
    assert heat.low < heat.factor < heat.high
    assert "warmer than reckoned" in heat.sentence


def test_readings_after_one_stage_share_the_error_of_the_model(quellhaven, loop):
    bodies = [
        {
            "kind": "reading",
            "tyre_id": t,
            "hot_kpa": 250.0,
            "where": "stop_line",
            "place": "SS3",
        }
        for t in ("H01", "H02", "H03", "H04")
    ]
    one = heat_of(past_of(quellhaven, loop(bodies[0])))
    four = heat_of(past_of(quellhaven, loop(*bodies)))
    assert four.readings == 4
    # Four say hardly more than one: 0.20 stays, whatever the gauge.
    assert np.log(four.high / four.low) > 0.9 * np.log(one.high / one.low)


def test_a_probe_and_the_look_move_it_the_same_way(quellhaven, loop):
    state = loop()
    past = past_of(quellhaven, state)
    last = last_done(past.done(state.tyres["H01"]))
    probe = {
        "kind": "reading",
        "tyre_id": "H01",
        "tread_c": round(last.tread_c + 25.0, 1),
        "where": "stop_line",
        "place": "SS3",
    }
    assert heat_of(past_of(quellhaven, loop(probe))).factor > 1.05
    torn = {"kind": "look", "tyre_id": "H01", "look": "torn", "place": "B"}
    assert heat_of(past_of(quellhaven, loop(torn))).factor > 1.05
    lines = {"kind": "look", "tyre_id": "H01", "look": "moulding_lines", "place": "B"}
    assert heat_of(past_of(quellhaven, loop(lines))).factor <= 1.0
    assert state.tyres["H01"].looks == ()


def test_the_driver_tells_the_grip_of_an_axle(quellhaven, loop):
    words = {"kind": "driver_words", "front_grip": -2, "rear_grip": 0, "place": "B"}
    state = loop(words)
    learnt = learn(quellhaven, state, state.last_entry_at)
    by_axle = {one.what: one for one in learnt.grip}
    # 0.03 known against 0.03 said: half of -4 %.
    assert by_axle["front"].per_cent == pytest.approx(-2.0, abs=0.05)
    assert by_axle["rear"].per_cent == pytest.approx(0.0, abs=1e-9)
    assert "less grip than reckoned" in by_axle["front"].sentence


def test_times_of_two_passes_tell_only_where_the_tyres_differed(quellhaven, entries_of, car_of):
    def state(second):
        one, two = car_of("H01", "H02", "H03", "H04"), car_of(*second)
        b, c = (quellhaven.itinerary.place(p).due_in_utc for p in "BC")
        return replay(
            quellhaven,
            entries_of(
                [
                    {
                        "kind": "fitting",
                        "place": "A",
                        "fitting": one,
                        "at": quellhaven.itinerary.place("A").due_in_utc.isoformat(),
                    },
                    {"kind": "stage_run", "stage": "SS1", "time_s": 500.0, "at": b.isoformat()},
                    {"kind": "as_found", "place": "B", "fitting": one, "at": b.isoformat()},
                    {"kind": "fitting", "place": "B", "fitting": two, "at": b.isoformat()},
                    {"kind": "stage_run", "stage": "SS4", "time_s": 480.0, "at": c.isoformat()},
                    {"kind": "as_found", "place": "C", "fitting": two, "at": c.isoformat()},
                ]
            ),
        )

    same = state(("H05", "H06", "H07", "H08"))
    other = state(("S01", "S02", "S03", "S04"))
    assert learn(quellhaven, same, same.last_entry_at).grip == ()
    by_what = {one.what: one for one in learn(quellhaven, other, other.last_entry_at).grip}
    assert by_what["soft on this gravel"].per_cent > 0.5
    assert by_what["hard on this gravel"].per_cent < -0.5
    assert by_what["soft on this gravel"].readings == 1


def test_punctures_move_the_rate(quellhaven, loop):
    none = punctures_of(past_of(quellhaven, loop()))
    assert none.count == 0
    assert none.now_100_km < none.table_100_km
    at = quellhaven.itinerary.stage("SS2").due_utc + timedelta(minutes=5)
    flat = {
        "kind": "incident",
        "what": "puncture",
        "corner": "RL",
        "where": "SS2",
        "changed_by": "nobody",
        "at": at.isoformat(),
    }
    one = punctures_of(past_of(quellhaven, loop(times=(flat,))))
    assert one.count == 1
    assert one.now_100_km > none.now_100_km
    assert one.low_100_km < one.now_100_km < one.high_100_km
    assert "Punctures: 1 in" in one.sentence


def test_air_far_from_its_forecast_is_said(quellhaven, loop):
    report = {"kind": "report", "place": "B", "air_c": 34.0}
    state = loop(report, {**report, "air_c": 35.0})
    seen = forecast_compared(quellhaven, state)
    assert len(seen) == 2
    assert all(one.came_c > one.forecast_c + 4.0 for one in seen)
    learnt = learn(quellhaven, state, state.last_entry_at)
    assert any("warmer than forecast" in w for w in learnt.warnings)
