"""What must hold for the pressure of air and of a closed tyre."""

import math

from hypothesis import given
from hypothesis import strategies as st

from crewdesk.conditions.atmosphere import standard_pressure_kpa, tyre_pressure_kpa

gauges = st.floats(0.0, 400.0)
warmths = st.floats(-30.0, 130.0)
heights = st.floats(0.0, 3000.0)


@given(gauges, warmths, heights)
def test_nothing_changes_nothing(gauge: float, t: float, z: float) -> None:
    air = standard_pressure_kpa(z)
    same = tyre_pressure_kpa(gauge, t, t, from_air_kpa=air, to_air_kpa=air)
    assert math.isclose(float(same), gauge, abs_tol=1e-9)


@given(gauges, warmths, warmths, heights, heights)
def test_there_and_back(gauge: float, t1: float, t2: float, z1: float, z2: float) -> None:
    first, second = standard_pressure_kpa(z1), standard_pressure_kpa(z2)
    hot = tyre_pressure_kpa(gauge, t1, t2, from_air_kpa=first, to_air_kpa=second)
    cold = tyre_pressure_kpa(hot, t2, t1, from_air_kpa=second, to_air_kpa=first)
    assert math.isclose(float(cold), gauge, abs_tol=1e-9)
    assert float(hot + second) > 0.0


@given(gauges, warmths, warmths, st.floats(0.1, 20.0))
def test_warmer_is_harder(gauge: float, t1: float, t2: float, more: float) -> None:
    assert float(tyre_pressure_kpa(gauge, t1, t2 + more)) > float(
        tyre_pressure_kpa(gauge, t1, t2)
    )


@given(gauges, warmths, heights, st.floats(1.0, 1000.0))
def test_higher_is_harder_and_thinner(gauge: float, t: float, z: float, up: float) -> None:
    low, high = standard_pressure_kpa(z), standard_pressure_kpa(z + up)
    assert float(high) < float(low)
    climbed = tyre_pressure_kpa(gauge, t, t, from_air_kpa=low, to_air_kpa=high)
    assert float(climbed) > gauge
