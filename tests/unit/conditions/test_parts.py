"""Parts of a stage that somebody told of by themselves."""

from datetime import timedelta

import numpy as np
import pytest

from crewdesk.conditions.parts import part_key
from tests.unit.conditions.test_outlook import DAWN, ask, forecast, moment, said, same, share


def mill(hour: float = 4.5, key: str = "SS1", **more: object):
    return moment(hour, key=key, road="Mill", part_altitude_m={"top": 600.0}, **more)


def test_a_part_gets_a_column_of_its_own_and_the_rest_stays() -> None:
    got = ask(forecast(), (said(state="ice", stage="SS1", part="top"),), [mill(), moment(5)])
    assert got.keys == ("SS1", "at 5", "SS1 top")
    assert got.parts == {"SS1": (("SS1 top", pytest.approx(1 / 3)),)}
    assert share(got, "SS1", "dry") == 1.0
    (states, of_length), = got.part_states("SS1")  # fmt: skip
    assert of_length == pytest.approx(1 / 3)
    assert np.array_equal(states, got.state[:, 2])
    assert got.part_states("at 5") == ()


def test_the_part_has_its_own_altitude() -> None:
    got = ask(forecast(), (said(state="wet", stage="SS1", part="top"),), [mill(8.0)])
    top = got.index(part_key("SS1", "top"))
    # 400 m higher at 6.5 K/km by day, ISO 2533:1975.
    assert got.air_mean_c[0] - got.air_mean_c[top] == pytest.approx(2.6, abs=0.05)


def test_it_holds_for_later_passes_over_the_same_road_only() -> None:
    ahead = [mill(), moment(4.5, key="SS2", road="Ridge"), mill(5.0, "SS3")]
    got = ask(forecast(), (said(state="wet", stage="SS1", part="end"),), ahead)
    assert set(got.parts) == {"SS1", "SS3"}
    later = ask(
        forecast(), (said(state="wet", stage="SS1", road="Mill", part="end"),), ahead[1:]
    )
    assert set(later.parts) == {"SS3"}
    assert share(later, "SS3 end", "wet", "damp") > 0.5
    assert share(later, "SS3", "dry") == 1.0


def test_a_later_report_of_the_whole_stage_replaces_its_parts() -> None:
    part = said(DAWN - timedelta(hours=1), state="wet", stage="SS1", part="start")
    whole = said(state="dry", stage="SS1")
    got = ask(forecast(), (part, whole), [mill(4.1)])
    assert share(got, "SS1 start", "dry") == 1.0
    # The other way round the part stands out of the whole.
    whole = said(DAWN - timedelta(hours=1), state="dry", stage="SS1")
    got = ask(forecast(), (whole, said(state="wet", stage="SS1", part="start")), [mill(4.1)])
    assert share(got, "SS1 start", "wet") == 1.0
    assert share(got, "SS1", "dry") == 1.0


def test_shares_as_told_and_never_more_than_the_stage() -> None:
    told = [
        said(state="wet", stage="SS1", part="start", share=0.2),
        said(state="damp", stage="SS1", part="end", share=0.5),
    ]
    got = ask(forecast(), tuple(told), [mill()])
    assert dict(got.parts["SS1"]) == {"SS1 start": 0.2, "SS1 end": 0.5}
    told.append(said(state="ice", stage="SS1", part="top", share=0.6))
    got = ask(forecast(), tuple(told), [mill()])
    assert sum(s for _, s in got.parts["SS1"]) == pytest.approx(1.0)
    assert dict(got.parts["SS1"])["SS1 top"] == pytest.approx(0.6 / 1.3)


def test_what_was_not_told_of_changes_nothing() -> None:
    plain = ask(forecast(), (), [mill(), moment(5)])
    air_only = ask(
        forecast(), (said(air_c=12.0, stage="SS1", part="top"),), [mill(), moment(5)]
    )
    assert plain.parts == air_only.parts == {}
    assert air_only.keys == plain.keys
    told = ask(forecast(), (said(state="wet", stage="SS1", part="top"),), [mill(), moment(5)])
    # Draws at almost the same moments depend on one another by a hair.
    assert np.allclose(told.air_c[:, :2], plain.air_c, atol=0.02)
    assert np.array_equal(told.state[:, :2], plain.state)
    assert not same(told, plain)


def test_held_conditions_hold_for_the_parts_too() -> None:
    report = said(state="ice", stage="SS1", part="top")
    got = ask(forecast(), (report,), [mill()], hold=said(state="wet"), hold_keys=("SS1",))
    assert share(got, "SS1", "wet") == share(got, "SS1 top", "wet") == 1.0
