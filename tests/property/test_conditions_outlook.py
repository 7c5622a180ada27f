"""What must hold for the conditions of a day whatever the crew reports."""

from datetime import UTC, datetime, timedelta

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from crewdesk.conditions.moments import STATES, Conditions, LiveReport, Moment
from crewdesk.conditions.outlook import forecast_conditions
from crewdesk.documents.weather import Weather, WeatherRow

START = datetime(2026, 4, 18, tzinfo=UTC)
NOW = START + timedelta(hours=9)
KEYS = ("SS1", "SS2", "SS3", "SS4")


@st.composite
def tables(draw: st.DrawFn) -> Weather:
    low = draw(st.floats(-8.0, 20.0))
    wet = draw(st.floats(0.0, 5.0))
    first, last = sorted((draw(st.integers(5, 17)), draw(st.integers(5, 17))))
    return Weather(
        rows=tuple(
            WeatherRow(
                row=hour,
                time_utc=START + timedelta(hours=hour),
                site="Park",
                alt_m=300,
                source="forecast",
                issued_utc=START,
                air_c=low + 8.0 * np.sin(np.pi * (hour - 5) / 20.0),
                cloud_pct=draw(st.floats(0.0, 100.0)),
                rain_mm_h=wet if first <= hour < last else 0.0,
                wind_kmh=draw(st.floats(0.0, 40.0)),
                humidity_pct=draw(st.floats(20.0, 100.0)),
            )
            for hour in range(5, 19)
        )
    )


moment_lists = st.lists(
    st.builds(
        Moment,
        key=st.sampled_from(KEYS),
        at_utc=st.floats(0.0, 9.0).map(lambda h: NOW + timedelta(hours=h)),
        altitude_m=st.floats(0.0, 1500.0),
        surface=st.sampled_from(["gravel", "asphalt"]),
        shade=st.floats(0.0, 1.0),
        lat_deg=st.just(47.0),
        lon_deg=st.just(9.0),
    ),
    min_size=1,
    max_size=4,
    unique_by=lambda m: m.key,
)
report_lists = st.lists(
    st.builds(
        LiveReport,
        at_utc=st.floats(0.0, 4.0).map(lambda h: NOW - timedelta(hours=h)),
        altitude_m=st.floats(0.0, 1500.0),
        surface=st.sampled_from(["gravel", "asphalt"]),
        air_c=st.none() | st.floats(-10.0, 35.0),
        road_c=st.none() | st.floats(-10.0, 55.0),
        rain_mm_h=st.none() | st.floats(0.0, 10.0),
        state=st.none() | st.sampled_from(STATES),
        stage=st.sampled_from(["", "SS1"]),
        confirmed=st.booleans(),
    ),
    max_size=3,
)


def ask(weather: Weather, moments: list[Moment], reports: list[LiveReport]) -> Conditions:
    return forecast_conditions(weather, moments, reports, now_utc=NOW, n_scenarios=16)


@given(tables(), moment_lists, report_lists)
def test_everything_is_a_number_and_the_air_is_balanced(
    weather: Weather, moments: list[Moment], reports: list[LiveReport]
) -> None:
    got = ask(weather, moments, reports)
    for array in (got.air_c, got.road_c, got.rain_mm_h, got.road_mean_c):
        assert np.all(np.isfinite(array))
    assert np.all(got.rain_mm_h >= 0.0)
    assert np.all(got.air_sd_c > 0.0)
    assert np.all(got.road_sd_c > 0.0)
    assert np.allclose(got.air_c.mean(axis=0), got.air_mean_c, atol=1e-9)
    for shares in got.state_shares:
        assert abs(sum(shares.values()) - 1.0) < 1e-9


@given(tables(), moment_lists, report_lists)
def test_readings_never_make_the_air_less_sure(
    weather: Weather, moments: list[Moment], reports: list[LiveReport]
) -> None:
    plain, told = ask(weather, moments, []), ask(weather, moments, reports)
    assert np.all(told.air_sd_c <= plain.air_sd_c + 1e-9)


@given(tables(), moment_lists, st.floats(-6.0, 6.0), st.floats(0.1, 6.0))
def test_warmer_reading_warmer_day(
    weather: Weather, moments: list[Moment], off_c: float, more_c: float
) -> None:
    row = next(r for r in weather.rows if r.time_utc == NOW)
    cool = LiveReport(NOW, 300.0, "gravel", air_c=row.air_c + off_c, confirmed=True)
    warm = LiveReport(NOW, 300.0, "gravel", air_c=row.air_c + off_c + more_c, confirmed=True)
    low, high = ask(weather, moments, [cool]), ask(weather, moments, [warm])
    assert np.all(high.air_c > low.air_c)
    assert np.all(high.road_mean_c > low.road_mean_c)


@given(tables(), moment_lists, report_lists)
def test_order_of_reports_does_not_matter(
    weather: Weather, moments: list[Moment], reports: list[LiveReport]
) -> None:
    # Two reports of one instant keep the order in which they were given.
    apart = list({r.at_utc: r for r in reports}.values())
    one, other = ask(weather, moments, apart), ask(weather, moments, apart[::-1])
    assert np.array_equal(one.road_c, other.road_c)
    assert np.array_equal(one.state, other.state)
