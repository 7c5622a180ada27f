"""The date code on the sidewall: the week in which a tyre was made."""

import re
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

WEEK: Final = timedelta(days=7)
_SUNDAY: Final = 6
"""As `date.weekday` counts."""


@dataclass(frozen=True)
class MadeWeek:
    """A week, Sunday to Saturday.

    Parameters
    ----------
    start, end : datetime.date
        First and last day.
    """

    start: date
    end: date


def first_sunday(year: int) -> date:
    """Return the first Sunday of a year.

    Parameters
    ----------
    year : int
        Calendar year.

    Returns
    -------
    datetime.date
        From 1 to 7 January.

    Notes
    -----
    The first full calendar week begins on it.

    References
    ----------
    .. [1] 49 CFR 574.5(b)(3), quoted second hand.
    """
    new_year = date(year, 1, 1)
    return new_year + timedelta(days=(_SUNDAY - new_year.weekday()) % 7)


def made_week(code: str) -> MadeWeek:
    """Return the week that a date code names.

    Parameters
    ----------
    code : str
        Four digits, week and year, as ``3523``.

    Returns
    -------
    MadeWeek
        Week of 2000 or later.

    Raises
    ------
    ValueError
        If the code is not four digits, or its year has no such week.

    Notes
    -----
    Week 01 is the first full calendar week; weeks run from Sunday to Saturday, and the last
    one may reach up to six days into the next year. Four digits since 2000; makers elsewhere
    may count ISO weeks, so a week is good to one week either way.

    References
    ----------
    .. [1] 49 CFR 574.5(b)(3), quoted second hand; 64 FR 36807, 1999 (four digits).

    Examples
    --------
    >>> made_week("0109").start.isoformat()
    '2009-01-04'
    """
    if not re.fullmatch(r"[0-9]{4}", code):
        raise ValueError(f"{code!r} is no date code: four digits, week and year")
    week, year = int(code[:2]), 2000 + int(code[2:])
    start = first_sunday(year) + (week - 1) * WEEK
    if week < 1 or start.year != year:
        raise ValueError(f"{year} has no week {code[:2]}")
    return MadeWeek(start, start + WEEK - timedelta(days=1))


def code_of(day: date) -> str:
    """Return the date code of a day.

    Parameters
    ----------
    day : datetime.date
        From 2000-01-02, a Sunday, to 2099.

    Returns
    -------
    str
        Four digits.

    Raises
    ------
    ValueError
        If the day lies outside those years.

    Notes
    -----
    Days before the first Sunday of a year belong to the last week of the year before.

    References
    ----------
    .. [1] 49 CFR 574.5(b)(3), quoted second hand.

    Examples
    --------
    >>> code_of(date(2024, 1, 6))
    '5323'
    """
    year = day.year if day >= first_sunday(day.year) else day.year - 1
    if not 2000 <= year <= 2099:
        raise ValueError(f"{day} has no date code of four digits")
    return f"{(day - first_sunday(year)).days // 7 + 1:02d}{year - 2000:02d}"


def age_days(code: str, on: date) -> tuple[int, int]:
    """Return how old a tyre is at the least and at the most.

    Parameters
    ----------
    code : str
        Date code.
    on : datetime.date
        Day asked about.

    Returns
    -------
    tuple of int
        Days since the end and since the start of the week; 0 and more.

    Raises
    ------
    ValueError
        If the code is none, or the week begins after that day.

    Notes
    -----
    The two are six days apart, but in the very week.

    References
    ----------
    .. [1] 49 CFR 574.5(b)(3), quoted second hand.

    Examples
    --------
    >>> age_days("3523", date(2026, 6, 20))
    (1022, 1028)
    """
    week = made_week(code)
    if week.start > on:
        raise ValueError(f"week {code[:2]} of 20{code[2:]} lies after {on}")
    return max((on - week.end).days, 0), (on - week.start).days
