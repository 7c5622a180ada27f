"""What must hold between the states of one road, at equal tyres."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from crewdesk.physics.numbers import SHIPPED
from crewdesk.physics.stage import stage_time_s
from crewdesk.physics.surface import stage_surface
from crewdesk.physics.tyre import TyreState
from tests.reference.demo_day import DemoStage, on_target, table_of
from tests.reference.example_set import AWD, FWD
from tests.reference.shipped_set import COMPOUNDS, SURFACES, shipped_tyre


@st.composite
def roads(draw):
    """Draw what the crew knows of a road, without its state."""
    return {
        "surface": draw(st.sampled_from(["gravel", "asphalt"])),
        "roughness": draw(st.integers(1, 5)),
        "abrasion": draw(st.integers(1, 5)),
        "pass_no": draw(st.integers(1, 3)),
        "cars_ahead": draw(st.integers(0, 40)),
        "swept": draw(st.booleans()),
        "gravel_share": draw(st.sampled_from([0.0, 0.2])),
        "broken": draw(st.booleans()),
        "holds_water": draw(st.sampled_from([0.0, 0.3])),
    }


@st.composite
def tyres(draw):
    family, hardness = draw(st.sampled_from(sorted(COMPOUNDS)))
    return shipped_tyre(family, hardness)


def time_s(road, state, spec, air_c, *, car=AWD, tread_mm=6.0, edge=0.6):
    surface = stage_surface(state=state, classes=SURFACES, **road)
    table = table_of(
        car, DemoStage(12, 14.0, 90, 0.6, 0.5, surface), air_c, air_c, SHIPPED, [spec]
    )
    start = TyreState(
        tread_mm=np.full((1, 1, 3), tread_mm),
        edge=np.full((1, 1, 3), edge),
        tread_c=np.full((1, 1), air_c + 10.0),
        bulk_c=np.full((1, 1), air_c + 15.0),
    )
    mu = np.empty((1, 1, 4, 3))
    for corner in range(4):
        mu[:, :, corner] = on_target(table, corner, spec, start).mu
    return float(stage_time_s(table, mu, 0.0)[0, 0])


@given(
    roads(),
    tyres(),
    st.sampled_from(["wet", "standing", "muddy", "snow", "ice"]),
    st.floats(-10.0, 35.0),
    st.sampled_from([AWD, FWD]),
)
def test_a_road_is_never_faster_wet_or_covered_than_dry(road, spec, state, air_c, car):
    # However rocky: the class of rock is that of dry rock and must not lend its grip.
    dry = time_s(road, "dry", spec, air_c, car=car)
    assert time_s(road, state, spec, air_c, car=car) > dry


@given(roads(), st.sampled_from(["snow", "ice", "frozen"]), st.floats(-20.0, 2.0))
def test_studs_help_wherever_there_is_snow_or_ice(road, state, air_c):
    # Studs hold on snow and ice and lose on bare asphalt (common practice, no source), so on
    # frost patches of asphalt they need not help.
    spec = shipped_tyre("winter", "medium")
    studded = replace(spec, studded=True)
    with_studs = time_s(road, state, studded, air_c)
    without = time_s(road, state, spec, air_c)
    if road["surface"] == "asphalt" and state == "frozen":
        assert with_studs == pytest.approx(without, rel=0.05)
    else:
        assert with_studs < without


@given(roads(), st.sampled_from(["snow", "ice"]), st.integers(1, 5))
def test_what_lies_below_snow_or_ice_lends_no_grip(road, state, roughness):
    # Only what the wheel feels of the road's shape is left, not its rubber.
    kept = {**road, "roughness": roughness, "surface": "gravel"}
    covered = stage_surface(state=state, classes=SURFACES, **kept)
    smooth = stage_surface(state=state, classes=SURFACES, **{**kept, "roughness": 1})
    assert covered.params == smooth.params
    assert covered.mu_state == smooth.mu_state
