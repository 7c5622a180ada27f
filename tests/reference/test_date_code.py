"""Date codes against the regulation's own example and a calendar."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from crewdesk.physics.date_code import age_days, code_of, made_week

FIRST = date(2000, 1, 2)
"""The first Sunday of 2000."""


@pytest.mark.parametrize(
    ("code", "start", "end"),
    [
        # 49 CFR 574.5(b)(3) (quoted second hand): 0109 is the week of 4 to 10 January 2009.
        ("0109", date(2009, 1, 4), date(2009, 1, 10)),
        # The same rule on a calendar, by hand.
        ("3523", date(2023, 8, 27), date(2023, 9, 2)),
        ("0126", date(2026, 1, 4), date(2026, 1, 10)),
        ("5323", date(2023, 12, 31), date(2024, 1, 6)),
    ],
)
def test_weeks(code, start, end):
    week = made_week(code)
    assert (week.start, week.end) == (start, end)
    assert code_of(start) == code_of(end) == code


def test_years_of_53_weeks():
    # Years with 53 Sundays, by hand.
    long = [y for y in range(2000, 2035) if _known(f"53{y - 2000:02d}")]
    assert long == [2000, 2006, 2012, 2017, 2023, 2028, 2034]


def _known(code):
    try:
        made_week(code)
    except ValueError:
        return False
    return True


@pytest.mark.parametrize("code", ["5324", "0024", "5424", "524", "35235", "35 3", "abcd", ""])
def test_what_is_no_date_code(code):
    with pytest.raises(ValueError, match=r"date code|no week"):
        made_week(code)


def test_age_is_known_to_a_week():
    low, high = age_days("3523", date(2026, 6, 20))
    assert (low, high) == (1022, 1028)
    assert (low / 365.25, high / 365.25) == pytest.approx((2.798, 2.815), abs=5e-4)
    with pytest.raises(ValueError, match="after"):
        age_days("3526", date(2026, 6, 20))


@given(st.dates(FIRST, date(2099, 12, 26)))
def test_every_day_has_one_code(day):
    week = made_week(code_of(day))
    assert week.start <= day <= week.end
    assert week.start.weekday() == 6
    assert week.end - week.start == timedelta(days=6)


@given(st.dates(FIRST, date(2099, 12, 19)))
def test_codes_follow_one_another_across_the_years(day):
    here, there = made_week(code_of(day)), made_week(code_of(day + timedelta(days=7)))
    assert there.start - here.start == timedelta(days=7)


@given(st.dates(FIRST, date(2060, 1, 1)), st.integers(0, 20000))
def test_age_is_an_interval_and_never_negative(day, later):
    low, high = age_days(code_of(day), day + timedelta(days=later))
    assert 0 <= low <= later <= high
    assert high - low <= 6
