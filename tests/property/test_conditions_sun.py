"""What must hold for the sun wherever and whenever."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from crewdesk.conditions.sun import (
    daylight,
    hour_angle_deg,
    refraction_deg,
    sun_position_deg,
)

instants = st.floats(1_577_836_800.0, 2_524_608_000.0)
"""2020 to 2050."""
latitudes = st.floats(-89.0, 89.0)
longitudes = st.floats(-180.0, 180.0)


@given(instants, latitudes, longitudes)
def test_ranges_and_the_full_turn(unix_s: float, lat: float, lon: float) -> None:
    elevation, azimuth = sun_position_deg(unix_s, lat, lon)
    assert -90.0 <= elevation <= 90.0
    assert 0.0 <= azimuth < 360.0
    again, turned = sun_position_deg(unix_s, lat, lon + 360.0)
    assert abs(float(again - elevation)) < 1e-6
    off = (float(turned - azimuth) + 180.0) % 360.0 - 180.0
    assert abs(off) * np.cos(np.radians(float(elevation))) < 1e-5


@given(instants, latitudes, longitudes)
def test_the_antipode_sees_the_opposite(unix_s: float, lat: float, lon: float) -> None:
    here, _ = sun_position_deg(unix_s, lat, lon)
    there, _ = sun_position_deg(unix_s, -lat, lon + 180.0)
    # Near the zenith the arc sine magnifies rounding.
    assert abs(float(here + there)) < 1e-5


@given(st.floats(-90.0, 90.0), st.floats(800.0, 1050.0), st.floats(-30.0, 45.0))
def test_refraction_lifts_a_little(elevation: float, hpa: float, air_c: float) -> None:
    lift = float(refraction_deg(elevation, pressure_hpa=hpa, air_c=air_c))
    assert 0.0 <= lift < 0.8


@given(st.lists(instants, min_size=1, max_size=20), latitudes, longitudes)
def test_many_at_once_equal_one_by_one(times: list[float], lat: float, lon: float) -> None:
    together = np.stack(sun_position_deg(np.array(times), lat, lon))
    one_by_one = np.array([np.stack(sun_position_deg(t, lat, lon)) for t in times]).T
    assert np.array_equal(together, one_by_one)


@given(instants, st.floats(-60.0, 60.0), longitudes)
def test_highest_near_solar_noon(unix_s: float, lat: float, lon: float) -> None:
    noon = unix_s - float(hour_angle_deg(unix_s, lon)) * 240.0
    over_the_day = noon + np.arange(-43200.0, 43201.0, 600.0)
    elevation, _ = sun_position_deg(over_the_day, lat, lon)
    highest = over_the_day[int(np.argmax(elevation))]
    assert abs(highest - noon) <= 1200.0


@given(instants, st.floats(-60.0, 60.0), longitudes)
def test_sunrise_and_sunset_enclose_the_day(unix_s: float, lat: float, lon: float) -> None:
    light = daylight(unix_s, lat, lon)
    assert light is not None
    assert 4.0 < light.length_h < 20.0
    middle = 0.5 * (light.sunrise_s + light.sunset_s)
    assert abs(float(hour_angle_deg(middle, lon))) < 0.1
    for instant in (light.sunrise_s, light.sunset_s):
        # The declination is taken at noon: worth a tenth of a degree at high latitudes.
        assert abs(float(sun_position_deg(instant, lat, lon)[0]) + 0.833) < 0.3
