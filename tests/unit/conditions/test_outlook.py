"""The door: what may be seen, what readings do, and what is held."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from crewdesk.conditions.moments import STATES, Conditions, LiveReport, Moment
from crewdesk.conditions.outlook import forecast_conditions
from crewdesk.documents.store import load_event
from crewdesk.documents.weather import Weather, WeatherRow

NIGHT = datetime(2026, 6, 10, 1, tzinfo=UTC)
"""An hour after the forecast came out."""
DAWN = datetime(2026, 6, 10, 4, tzinfo=UTC)
DEMO = Path(__file__).parents[3] / "demo_events"


def forecast(
    hours: range = range(4, 19),
    *,
    issued: datetime = datetime(2026, 6, 10, tzinfo=UTC),
    rain: dict[int, float] | None = None,
    warmer_c: float = 0.0,
    cloud_pct: float | None = 20.0,
    humidity_pct: float | None = 60.0,
    wind_kmh: float | None = 10.0,
    site: str = "Park",
) -> tuple[WeatherRow, ...]:
    return tuple(
        WeatherRow(
            row=index,
            time_utc=datetime(2026, 6, 10, tzinfo=UTC) + timedelta(hours=hour),
            site=site,
            alt_m=200,
            source="forecast",
            issued_utc=issued,
            air_c=12.0 + 10.0 * np.sin(np.pi * (hour % 24 - 4) / 20) + warmer_c,
            cloud_pct=cloud_pct,
            rain_mm_h=(rain or {}).get(hour, 0.0),
            wind_kmh=wind_kmh,
            humidity_pct=humidity_pct,
        )
        for index, hour in enumerate(hours)
    )


def moment(
    hour: float, *, key: str | None = None, surface: str = "gravel", **more: object
) -> Moment:
    fields: dict[str, object] = {"altitude_m": 200.0, "shade": 0.3}
    fields |= {"lat_deg": 49.0, "lon_deg": 12.0} | more
    return Moment(
        key or f"at {hour}",
        datetime(2026, 6, 10, tzinfo=UTC) + timedelta(hours=hour),
        surface=surface,
        **fields,
    )


def said(at: datetime = DAWN, **more: object) -> LiveReport:
    return LiveReport(at, 200.0, str(more.pop("surface", "gravel")), **more)


DAY = [moment(h) for h in (4, 5, 6, 8, 10, 12, 14, 16, 18)]


def ask(
    rows: tuple[WeatherRow, ...],
    reports: tuple[LiveReport, ...] = (),
    moments: list[Moment] = DAY,
    now: datetime = DAWN,
    **more: object,
) -> Conditions:
    return forecast_conditions(Weather(rows=rows), moments, reports, now_utc=now, **more)


def same(one: Conditions, other: Conditions) -> bool:
    names = ("air_c", "road_c", "state", "air_mean_c", "air_sd_c", "road_mean_c", "road_sd_c")
    return all(np.array_equal(getattr(one, n), getattr(other, n)) for n in names)


def share(conditions: Conditions, key: str, *states: str) -> float:
    shares = conditions.state_shares[conditions.index(key)]
    return sum(shares.get(state, 0.0) for state in states)


def test_shapes_and_keys() -> None:
    got = ask(forecast(), n_scenarios=10)
    assert got.keys == tuple(m.key for m in DAY)
    for array in (got.air_c, got.road_c, got.state, got.rain_mm_h):
        assert array.shape == (10, len(DAY))
    assert got.state.dtype == np.int64
    assert got.air_mean_c.shape == (len(DAY),)
    for shares in got.state_shares:
        assert sum(shares.values()) == pytest.approx(1.0)


def test_nothing_from_the_future_is_seen() -> None:
    rows = forecast()
    later = forecast(issued=DAWN + timedelta(minutes=1), rain={10: 8.0}, warmer_c=9.0)
    seen = tuple(
        r.model_copy(
            update={"source": "observed", "issued_utc": None, "air_c": 40.0, "road_c": 60.0}
        )
        for r in rows
    )
    # Observed rows count neither before nor after the decision: 04:00 is one of them.
    assert same(ask(rows), ask(rows + later + seen))
    early_bird = said(DAWN + timedelta(minutes=1), air_c=19.0, state="wet")
    assert same(ask(rows), ask(rows, (early_bird,)))


def test_newest_issue_counts_hour_by_hour() -> None:
    morning = forecast(range(4, 10), issued=NIGHT, warmer_c=3.0)
    got = ask(forecast() + morning)
    old, new = ask(forecast()), ask(forecast(warmer_c=3.0))
    assert got.air_mean_c[:4] == pytest.approx(new.air_mean_c[:4])
    assert got.air_mean_c[5:] == pytest.approx(old.air_mean_c[5:])


def test_order_of_rows_does_not_matter() -> None:
    rows = forecast() + forecast(range(4, 10), issued=NIGHT, warmer_c=3.0)
    assert same(ask(rows), ask(rows[::-1]))


def test_forecast_is_passed_on_the_hour() -> None:
    rows = forecast()
    at = {r.time_utc: r.air_c for r in rows}
    got = ask(rows)
    assert got.air_mean_c == pytest.approx([at[m.at_utc] for m in DAY])


def test_high_places_are_cooler_and_less_sure() -> None:
    top = moment(12, key="top", altitude_m=1200.0)
    got = ask(forecast(), moments=[*DAY, top])
    below, above = got.index("at 12"), got.index("top")
    assert got.air_mean_c[above] == pytest.approx(got.air_mean_c[below] - 6.5)
    assert got.road_mean_c[above] == pytest.approx(got.road_mean_c[below] - 0.85 * 6.5)
    assert got.air_sd_c[above] == pytest.approx(np.hypot(2.0, 1.5))


def test_night_lapse_is_smaller() -> None:
    rows = forecast(range(24))
    low, high = moment(23.5, key="low"), moment(23.5, key="high", altitude_m=1200.0)
    got = ask(rows, moments=[low, high])
    assert got.air_mean_c[0] - got.air_mean_c[1] == pytest.approx(4.0)


def test_reading_counts_less_and_less() -> None:
    rows = forecast()
    plain, told = ask(rows), ask(rows, (said(air_c=15.0),))
    raised = told.air_mean_c - plain.air_mean_c
    # Forecast 12.0, sd 2.0, thermometer 0.5, memory 6 h: the blending rule by hand.
    gain = 4.0 / 4.25
    hours = np.array([0, 1, 2, 4, 6, 8, 10, 12, 14])
    fading = np.exp(-hours / 6.0)
    assert raised == pytest.approx(3.0 * gain * fading)
    assert told.air_sd_c == pytest.approx(2.0 * np.sqrt(1.0 - gain * fading**2))
    assert np.all(np.diff(told.air_sd_c) > 0.0)
    assert np.all(told.road_mean_c > plain.road_mean_c)


def test_hotter_reading_raises_everything() -> None:
    rows = forecast()
    means = []
    for air_c in (9.0, 12.0, 14.0, 17.0):
        got = ask(rows, (said(air_c=air_c, road_c=air_c + 2.0),))
        means.append(np.concatenate([got.air_mean_c, got.road_mean_c, got.air_c.min(axis=0)]))
    assert np.all(np.diff(np.array(means), axis=0) > 0.0)


def test_old_reading_makes_less_sure_than_a_new_one() -> None:
    noon = datetime(2026, 6, 10, 12, tzinfo=UTC)
    rows, ahead = forecast(), [moment(12.5), moment(14)]
    sds = []
    for age_h in (0.0, 1.0, 3.0, 8.0):
        report = said(noon - timedelta(hours=age_h), air_c=17.0, road_c=30.0, confirmed=True)
        got = ask(rows, (report,), ahead, noon)
        sds.append(np.concatenate([got.air_sd_c, got.road_sd_c]))
    assert np.all(np.diff(np.array(sds), axis=0) > 0.0)


def test_road_reading_counts_on_its_own_kind_only() -> None:
    noon = datetime(2026, 6, 10, 12, tzinfo=UTC)
    ahead = [moment(13, key="loose"), moment(13, key="sealed", surface="asphalt")]
    rows = forecast()
    plain = ask(rows, (), ahead, noon)
    # The gun points at the open road; the blending rule by hand: memory 2 h, gun 1.5.
    now_c = float(ask(rows, (), [moment(12, shade=0.0)], noon).road_mean_c[0])
    told = ask(rows, (said(noon, road_c=now_c + 5.0),), ahead, noon)
    sd_c = 3.8
    gain = sd_c**2 / (sd_c**2 + 1.5**2)
    raised = told.road_mean_c[0] - plain.road_mean_c[0]
    assert raised == pytest.approx(5.0 * gain * np.exp(-0.5), rel=1e-3)
    assert told.road_mean_c[1] == plain.road_mean_c[1]
    assert np.array_equal(told.air_c, plain.air_c)


def test_reading_at_another_altitude_is_moved_first() -> None:
    noon = datetime(2026, 6, 10, 12, tzinfo=UTC)
    rows, ahead = forecast(), [moment(12.5)]
    expected = float(ask(rows, (), [moment(12)], noon).air_mean_c[0])
    on_top = LiveReport(noon, 1000.0, "gravel", air_c=expected - 6.5 * 0.8)
    told, plain = ask(rows, (on_top,), ahead, noon), ask(rows, (), ahead, noon)
    assert told.air_mean_c == pytest.approx(plain.air_mean_c)
    assert told.air_sd_c[0] < plain.air_sd_c[0]
    # The lapse rate is not known well: a reading at the place itself says more.
    here = ask(rows, (replace(on_top, altitude_m=200.0, air_c=expected),), ahead, noon)
    assert here.air_sd_c[0] < told.air_sd_c[0]


def test_far_reading_waits_for_confirmation() -> None:
    rows = forecast()
    slip = said(air_c=-15.0, stage="SS1")
    left_out = ask(rows, (slip,))
    assert same(left_out, ask(rows))
    (words,) = left_out.messages
    assert "-15.0 °C" in words
    assert "SS1" in words
    assert "confirm" in words
    taken = ask(rows, (replace(slip, confirmed=True),))
    assert taken.air_mean_c[0] < -10.0
    assert taken.messages == ()
    hot = ask(rows, (said(road_c=80.0),))
    assert same(hot, ask(rows))
    assert len(hot.messages) == 1


def test_hold_is_exact() -> None:
    truth = said(air_c=33.0, road_c=47.5, state="standing")
    keys = ["at 5", "at 8"]
    got = ask(forecast(), hold=truth, hold_keys=keys)
    for key in keys:
        column = got.index(key)
        assert np.all(got.air_c[:, column] == 33.0)
        assert np.all(got.road_c[:, column] == 47.5)
        assert np.all(got.state[:, column] == STATES.index("standing"))
        assert (got.air_mean_c[column], got.air_sd_c[column]) == (33.0, 0.0)
        assert (got.road_mean_c[column], got.road_sd_c[column]) == (47.5, 0.0)
        assert got.state_shares[column] == {"standing": 1.0}
    free = ask(forecast())
    others = [got.index(k) for k in got.keys if k not in keys]
    assert np.array_equal(got.air_c[:, others], free.air_c[:, others])
    assert np.array_equal(got.road_c[:, others], free.road_c[:, others])


def test_held_air_takes_the_road_along() -> None:
    free = ask(forecast())
    held = ask(forecast(), hold=said(air_c=30.0), hold_keys=["at 12"])
    column = held.index("at 12")
    by_c = 30.0 - free.air_mean_c[column]
    assert held.road_mean_c[column] - free.road_mean_c[column] == pytest.approx(0.85 * by_c)


def test_held_wet_road_is_cooler_than_a_held_dry_one() -> None:
    roads = []
    for state in ("dry", "damp", "wet"):
        got = ask(forecast(), hold=said(state=state), hold_keys=["at 12"])
        roads.append(float(got.road_mean_c[got.index("at 12")]))
    assert roads[0] > roads[1] > roads[2]


def test_damp_morning_dries_in_the_sun() -> None:
    got = ask(forecast(), (said(state="damp"),))
    assert share(got, "at 4", "damp") == 1.0
    assert share(got, "at 12", "dry") == 1.0
    dry_shares = [share(got, m.key, "dry") for m in DAY]
    assert dry_shares == sorted(dry_shares)


def test_shade_dries_later_than_the_open() -> None:
    ahead = [moment(h, key=f"{h} {s}", shade=s) for h in (6.5, 7.0, 7.5) for s in (0.0, 1.0)]
    got = ask(forecast(), (said(state="wet"),), ahead)
    for hour in (6.5, 7.0, 7.5):
        assert share(got, f"{hour} 0.0", "dry") >= share(got, f"{hour} 1.0", "dry")
    assert share(got, "7.0 0.0", "dry") > share(got, "7.0 1.0", "dry")


def test_forecast_rain_wets_and_cools() -> None:
    rain = dict.fromkeys(range(9, 16), 1.5)
    dry, wet = ask(forecast()), ask(forecast(rain=rain))
    assert share(dry, "at 14", "dry") == 1.0
    assert share(wet, "at 14", "wet", "standing") > 0.9
    assert share(wet, "at 5", "dry") == 1.0
    column = wet.index("at 14")
    assert wet.road_mean_c[column] < dry.road_mean_c[column] - 3.0
    assert wet.rain_mm_h[:, column].mean() > 1.0


def test_rain_may_come_earlier_or_not_yet() -> None:
    # Half an hour after the forecast onset some courses of the day are still dry.
    got = ask(
        forecast(rain=dict.fromkeys(range(9, 16), 2.0)), moments=[moment(8.0), moment(9.0)]
    )
    assert 0.0 < share(got, "at 8.0", "damp", "wet", "standing") < 0.5
    assert 0.0 < share(got, "at 9.0", "dry") < 0.5


def test_more_forecast_rain_never_means_drier() -> None:
    order = {s: i for i, s in enumerate(("dry", "damp", "wet", "standing"))}
    means = []
    for amount in (0.0, 0.2, 0.6, 2.0, 6.0):
        got = ask(forecast(rain=dict.fromkeys(range(9, 16), amount)))
        means.append([order[STATES[s]] for s in got.state.ravel()])
    assert np.all(np.diff(np.array(means), axis=0) >= 0)


def test_report_of_rain_wets_what_follows() -> None:
    ten = datetime(2026, 6, 10, 10, tzinfo=UTC)
    ahead = [moment(10.5), moment(17)]
    told = ask(forecast(), (said(ten, rain_mm_h=4.0),), ahead, ten)
    assert told.rain_mm_h[0, 0] > 1.0
    assert share(told, "at 10.5", "wet", "standing", "damp") == 1.0
    assert share(told, "at 17", "dry") == 1.0


def test_report_that_it_does_not_rain_stops_the_rain_for_a_while() -> None:
    rows = forecast(rain=dict.fromkeys(range(9, 16), 2.0))
    noon = datetime(2026, 6, 10, 12, tzinfo=UTC)
    ahead = [moment(12), moment(12.5), moment(15)]
    told = ask(rows, (said(noon, rain_mm_h=0.0),), ahead, noon)
    plain = ask(rows, (), ahead, noon)
    assert np.all(told.rain_mm_h[:, 0] == 0.0)
    assert told.rain_mm_h[:, 1].mean() < 0.6 * plain.rain_mm_h[:, 1].mean()
    assert told.rain_mm_h[:, 2].mean() > 0.9 * plain.rain_mm_h[:, 2].mean()


def test_report_about_one_stage_stays_there() -> None:
    ahead = [
        moment(4, key="SS1", road="Mill"),
        moment(4, key="SS2", road="Ridge"),
        moment(4.5, key="SS3", road="Mill"),
    ]
    got = ask(forecast(), (said(state="wet", stage="SS1"),), ahead)
    assert share(got, "SS1", "wet") == 1.0
    assert share(got, "SS2", "dry") == 1.0
    assert share(got, "SS3", "wet", "damp") > 0.5
    # The first pass may be over and gone from the list: the road's name still tells.
    later = ask(forecast(), (said(state="wet", stage="SS1", road="Mill"),), ahead[1:])
    assert share(later, "SS2", "dry") == 1.0
    assert share(later, "SS3", "wet", "damp") > 0.5


def test_asphalt_report_says_nothing_about_gravel() -> None:
    ahead = [moment(4, key="loose"), moment(4, key="sealed", surface="asphalt")]
    got = ask(forecast(), (said(state="wet", surface="asphalt"),), ahead)
    assert share(got, "loose", "dry") == 1.0
    assert share(got, "sealed", "wet") == 1.0


def test_later_report_replaces_the_earlier() -> None:
    earlier = said(DAWN - timedelta(hours=1), state="wet")
    now_dry = said(state="dry")
    got = ask(forecast(), (now_dry, earlier))
    assert share(got, "at 4", "dry") == 1.0
    assert share(got, "at 5", "dry") == 1.0


def test_mud_goes_when_the_water_goes() -> None:
    got = ask(forecast(), (said(state="muddy"),))
    assert share(got, "at 4", "muddy") == 1.0
    assert share(got, "at 5", "muddy") > 0.5
    assert share(got, "at 12", "dry") == 1.0


def winter(**more: object) -> tuple[WeatherRow, ...]:
    return tuple(
        r.model_copy(
            update={
                "time_utc": r.time_utc.replace(month=1),
                "issued_utc": datetime(2026, 1, 10, tzinfo=UTC),
                "air_c": r.air_c - 18.0,
            }
        )
        for r in forecast(range(4, 19), **more)
    )


WINTER_NOW = datetime(2026, 1, 10, 5, tzinfo=UTC)
WINTER_DAY = [
    replace(moment(h), at_utc=datetime(2026, 1, 10, h, tzinfo=UTC)) for h in (5, 6, 8, 12, 13)
]


def test_water_on_a_cold_road_is_frozen() -> None:
    got = ask(winter(), (said(WINTER_NOW, state="damp"),), WINTER_DAY, WINTER_NOW)
    # Seen damp a moment ago; from then on the frost has its way.
    assert share(got, "at 5", "damp") == 1.0
    assert share(got, "at 6", "frozen") > 0.9


def test_frozen_water_neither_runs_off_nor_dries() -> None:
    cold = ask(
        winter(cloud_pct=100.0), (said(WINTER_NOW, state="damp"),), WINTER_DAY, WINTER_NOW
    )
    # A mild damp road under the same sky is dry by then.
    mild = ask(forecast(cloud_pct=100.0), (said(state="damp"),))
    assert share(cold, "at 8", "frozen", "damp") > 0.95
    assert share(cold, "at 8", "frozen") > 0.5
    assert share(mild, "at 8", "dry") > 0.95


def test_high_road_freezes_where_the_low_one_does_not() -> None:
    chilly = tuple(r.model_copy(update={"air_c": r.air_c - 8.0}) for r in forecast())
    ahead = [moment(5.5, key="low"), moment(5.5, key="high", altitude_m=1500.0)]
    got = ask(chilly, (said(state="wet"),), ahead)
    assert share(got, "high", "frozen") > 0.5
    assert share(got, "low", "frozen") < 0.1


def test_hoar_settles_from_moist_air_only() -> None:
    moist = ask(winter(humidity_pct=99.0, cloud_pct=0.0), (), WINTER_DAY, WINTER_NOW)
    arid = ask(winter(humidity_pct=20.0, cloud_pct=0.0), (), WINTER_DAY, WINTER_NOW)
    assert share(moist, "at 6", "frozen") > 0.9
    assert share(arid, "at 6", "dry") > 0.9


@pytest.mark.parametrize("state", ["snow", "ice", "frozen"])
def test_snow_and_ice_stay_in_the_cold_and_melt_in_the_warmth(state: str) -> None:
    cold = ask(winter(), (said(WINTER_NOW, state=state),), WINTER_DAY, WINTER_NOW)
    assert share(cold, "at 5", state) == 1.0
    assert share(cold, "at 8", state) > 0.5
    warm = ask(forecast(), (said(state=state),))
    assert share(warm, "at 4", state) == 1.0
    assert share(warm, "at 12", state) == 0.0
    if state != "frozen":
        assert np.all(warm.road_c[:, 0] <= 0.0)


def test_mean_of_the_air_is_the_best_estimate() -> None:
    got = ask(forecast(rain=dict.fromkeys(range(9, 16), 2.0)), (said(air_c=14.0),))
    assert got.air_c.mean(axis=0) == pytest.approx(got.air_mean_c, abs=1e-9)
    dry = ask(forecast())
    assert dry.road_c.mean(axis=0) == pytest.approx(dry.road_mean_c, abs=1e-9)


def test_one_course_is_the_best_estimate() -> None:
    many = ask(forecast(rain={10: 2.0, 11: 2.0}))
    one = ask(forecast(rain={10: 2.0, 11: 2.0}), n_scenarios=1)
    assert np.array_equal(one.air_c[0], one.air_mean_c)
    assert np.array_equal(one.road_c[0], one.road_mean_c)
    assert one.air_mean_c == pytest.approx(many.air_mean_c)
    assert one.road_mean_c == pytest.approx(many.road_mean_c)
    assert all(list(shares.values()) == [1.0] for shares in one.state_shares)
    odd = ask(forecast(rain={10: 2.0, 11: 2.0}), n_scenarios=7)
    assert odd.air_c[-1] == pytest.approx(odd.air_mean_c, abs=1e-12)
    assert odd.road_c[-1] == pytest.approx(odd.road_mean_c, abs=1e-12)


def test_another_moment_at_the_end_redraws_nothing() -> None:
    short, long = ask(forecast(), moments=DAY[:-1]), ask(forecast())
    n = len(DAY) - 1
    assert long.air_c[:, :n] == pytest.approx(short.air_c, abs=1e-9)
    assert long.road_c[:, :n] == pytest.approx(short.road_c, abs=1e-9)
    assert np.array_equal(long.state[:, :n], short.state)


def test_order_of_moments_does_not_matter() -> None:
    got, turned = ask(forecast()), ask(forecast(), moments=DAY[::-1])
    assert turned.air_c[:, ::-1] == pytest.approx(got.air_c, abs=1e-9)
    assert np.array_equal(turned.state[:, ::-1], got.state)


def test_more_courses_keep_the_first_ones() -> None:
    few, many = ask(forecast(), n_scenarios=8), ask(forecast(), n_scenarios=20)
    # 8 is a part of 20: the pairs come from streams of their own lengths, value by value.
    assert many.air_c[:8] == pytest.approx(few.air_c, abs=1e-9)


def test_seed_changes_the_draws_and_nothing_else() -> None:
    one, other = ask(forecast(), seed=1), ask(forecast(), seed=2)
    assert not np.allclose(one.air_c, other.air_c)
    assert np.array_equal(one.air_mean_c, other.air_mean_c)
    assert same(one, ask(forecast(), seed=1))


def test_spread_of_the_draws_is_the_one_that_is_told() -> None:
    got = ask(forecast(), (said(air_c=13.0),), n_scenarios=4000)
    assert got.air_c.std(axis=0) == pytest.approx(got.air_sd_c, rel=0.06)
    assert got.road_c.std(axis=0) == pytest.approx(got.road_sd_c, rel=0.06)
    # A warm course of the day has warm roads.
    noon = got.index("at 12")
    slope = np.cov(got.air_c[:, noon], got.road_c[:, noon])[0, 1] / got.air_c[:, noon].var()
    assert slope == pytest.approx(0.85, abs=0.1)


def test_two_moments_at_one_instant_agree() -> None:
    ahead = [moment(12, key="in"), moment(12, key="out")]
    got = ask(forecast(), moments=ahead)
    assert np.max(np.abs(got.air_c[:, 0] - got.air_c[:, 1])) < 0.02


def test_no_forecast_and_no_report() -> None:
    got = ask(())
    assert got.air_mean_c == pytest.approx(15.0)
    assert got.air_sd_c == pytest.approx(5.0)
    assert any("no forecast" in words for words in got.assumed)
    assert all(shares == {"dry": 1.0} for shares in got.state_shares)


def test_no_forecast_but_a_report() -> None:
    got = ask((), (said(air_c=8.0),))
    assert got.air_mean_c == pytest.approx(8.0)
    assert got.air_sd_c[0] < 0.6
    assert got.air_sd_c[-1] > 3.0
    assert any("8.0 °C" in words for words in got.assumed)


def test_hours_that_no_forecast_covers_are_named_and_doubtful() -> None:
    tomorrow = moment(24 + 12, key="tomorrow")
    got = ask(forecast(), moments=[*DAY, tomorrow])
    column = got.index("tomorrow")
    # The same hour of the last day that has a forecast.
    assert got.air_mean_c[column] == pytest.approx(got.air_mean_c[got.index("at 12")])
    assert got.air_sd_c[column] == pytest.approx(4.0)
    assert got.air_sd_c[got.index("at 12")] == pytest.approx(2.0)
    (words,) = got.assumed
    assert "tomorrow" in words
    assert "at 12" not in words


def test_night_between_two_days_follows_the_daily_curve() -> None:
    rows = forecast(range(4, 19)) + forecast(range(28, 43))
    ahead = [moment(h) for h in np.arange(18.0, 28.5, 0.5)]
    got = ask(rows, moments=ahead)
    air = got.air_mean_c
    assert air[0] == pytest.approx(rows[14].air_c)
    assert air[-1] == pytest.approx(rows[15].air_c)
    assert np.max(np.abs(np.diff(air))) < 1.5
    assert np.all(air > 9.0)
    assert np.all(air < rows[14].air_c + 0.5)
    assert got.air_sd_c[6] == pytest.approx(4.0)


def test_what_the_forecast_leaves_out_is_told() -> None:
    got = ask(forecast(cloud_pct=None, humidity_pct=None, wind_kmh=None))
    told = " ".join(got.assumed)
    for word in ("cloud", "humidity", "wind"):
        assert word in told


def test_clear_calm_dawn_warns_of_the_cold_valley() -> None:
    ahead = [moment(4, key="top", altitude_m=900.0), moment(12, key="noon", altitude_m=900.0)]
    got = ask(forecast(cloud_pct=0.0, wind_kmh=2.0), moments=ahead)
    (words,) = got.messages
    assert "top" in words
    assert "noon" not in words
    assert ask(forecast(cloud_pct=0.0, wind_kmh=20.0), moments=ahead).messages == ()


def test_other_sites_of_the_table_do_not_disturb() -> None:
    some = forecast(range(4, 6), site="Aloft", warmer_c=20.0)
    assert same(ask(forecast()), ask(forecast() + some))


def test_arguments_that_cannot_be() -> None:
    with pytest.raises(ValueError, match="share a key"):
        ask(forecast(), moments=[moment(4), moment(4)])
    with pytest.raises(ValueError, match="scenarios"):
        ask(forecast(), n_scenarios=0)
    with pytest.raises(ValueError, match="seed"):
        ask(forecast(), seed=-1)


def test_no_moments_give_empty_columns() -> None:
    got = ask(forecast(), moments=[])
    assert got.keys == ()
    assert got.air_c.shape == (64, 0)


@pytest.mark.parametrize(
    ("name", "now", "surface"),
    [
        ("saldrey", datetime(2026, 5, 16, 4, tzinfo=UTC), "gravel"),
        ("quellhaven", datetime(2026, 8, 22, 4, tzinfo=UTC), "gravel"),
        ("lunehaven", datetime(2026, 10, 9, 4, tzinfo=UTC), "asphalt"),
        ("ysterholt", datetime(2027, 2, 12, 13, tzinfo=UTC), "gravel"),
    ],
)
def test_demo_events_stay_near_what_was_observed(
    name: str, now: datetime, surface: str
) -> None:
    bundle = load_event(DEMO / name)
    site = bundle.event.sites[0]
    truth = [
        r
        for r in bundle.weather.rows
        if r.source == "observed"
        and r.site == site.name
        and r.time_utc < now + timedelta(hours=6)
    ]
    ahead = [
        Moment(
            r.time_utc.isoformat(),
            r.time_utc,
            r.alt_m,
            surface,
            0.0,
            site.lat_deg,
            site.lon_deg,
        )
        for r in truth
    ]
    got = forecast_conditions(bundle.weather, ahead, (), now_utc=now)
    assert len(ahead) >= 6
    assert got.assumed == ()
    # Until the rain that Saldrey's forecast does not know: four standard deviations.
    air = np.array([r.air_c for r in truth])
    road = np.array([r.road_c for r in truth])
    assert np.all(np.abs(got.air_mean_c - air) < 4.0 * got.air_sd_c)
    assert np.all(np.abs(got.road_mean_c - road) < 4.0 * got.road_sd_c)
    assert np.all(np.isfinite(got.road_c))
