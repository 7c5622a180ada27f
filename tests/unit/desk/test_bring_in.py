"""Bringing a table in from the command line: what is at fault, and what to do about it."""

import shutil
from datetime import date
from pathlib import Path

from crewdesk.assets import shipped
from crewdesk.desk.importing import bring_in


def test_times_without_a_day_are_told_how_to_get_one(tmp_path: Path) -> None:
    folder = tmp_path / "event"
    shutil.copytree(str(shipped("demo_events").joinpath("saldrey")), folder)
    plan = tmp_path / "plan.txt"
    plan.write_text(
        "TC\tLocation\tSS dist\tLiaison dist\tTarget\tFirst car due\tSurface\n"
        "TC0\tPark, start\t\t\t\t08:00\t\nTC1\tHill\t\t12,3\t20\t08:20\t\n"
        "SS1\tHill 1\t9,8\t\t3\t08:23\tgravel\nTC2\tPark, finish\t\t11\t38\t09:01\t\n",
        encoding="utf-8",
    )
    _lines, faults = bring_in("itinerary", plan, folder, first_day=None, look=True)
    assert [one for one in faults if "has no date" in one]
    assert faults[-2:] == [
        "Or name the day of the first leg: --first-day 2026-05-16.",
        "Nothing was changed.",
    ]
    _lines, faults = bring_in("itinerary", plan, folder, first_day=date(2026, 5, 16), look=True)
    assert faults == []
