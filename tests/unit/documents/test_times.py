"""Wall times: skipped and doubled hours, midnight, durations."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from crewdesk.documents.times import (
    Clock,
    event_zone,
    read_clock,
    read_duration_min,
    resolve_after,
    shifted_wall,
    to_utc,
    wall_kind,
)

# Spring and autumn changes of 2026, from the IANA time zone database.
ROME = ZoneInfo("Europe/Rome")
PLAIN = ZoneInfo("Etc/GMT-2")


def wall(text: str) -> datetime:
    """A time on the wall, without its zone."""
    return datetime.fromisoformat(text)


@pytest.mark.parametrize(
    ("zone", "written", "kind", "first", "second"),
    [
        # IANA time zone database, release 2026 (future rules can change).
        ("Europe/Helsinki", "2026-10-25 03:30", "ambiguous", "25 00:30", "25 01:30"),
        ("Europe/Lisbon", "2026-10-25 01:30", "ambiguous", "25 00:30", "25 01:30"),
        ("Europe/Rome", "2026-03-29 02:30", "skipped", "29 01:30", "29 00:30"),
        ("America/Santiago", "2026-09-06 00:30", "skipped", "06 04:30", "06 03:30"),
        ("Australia/Lord_Howe", "2026-10-04 02:15", "skipped", "03 15:45", "03 15:15"),
    ],
)
def test_published_changes_of_the_clocks(
    zone: str, written: str, kind: str, first: str, second: str
) -> None:
    name, at = event_zone(zone), wall(written)
    assert wall_kind(at, name) == kind
    assert to_utc(at, name).strftime("%d %H:%M") == first
    assert to_utc(at, name, fold=1).strftime("%d %H:%M") == second


def test_skipped_time_is_offered_as_the_clocks_show_it() -> None:
    assert shifted_wall(wall("2026-03-29 02:30"), ROME) == wall("2026-03-29 03:30")


def test_bare_time_before_the_row_above_is_past_midnight() -> None:
    last = to_utc(wall("2026-05-16 23:50"), PLAIN)
    got = resolve_after(
        Clock(None, time(0, 40)), PLAIN, last_utc=last, last_day=date(2026, 5, 16)
    )
    assert got is not None
    assert got.rolled
    assert got.utc - last == timedelta(minutes=50)


def test_doubled_hour_is_tried_before_the_next_day() -> None:
    # Clocks go back from 03:00 to 02:00 on 25 October 2026 in Rome.
    last = to_utc(wall("2026-10-25 02:50"), ROME)
    got = resolve_after(
        Clock(None, time(2, 10)), ROME, last_utc=last, last_day=date(2026, 10, 25)
    )
    assert got is not None
    assert got.second_time
    assert got.utc - last == timedelta(minutes=20)


def test_durations_are_true_over_the_change() -> None:
    # Wall clocks say 1:20, true time is 2:20.
    start, end = (to_utc(wall(f"2026-10-25 {at}"), ROME) for at in ("01:50", "03:10"))
    assert end - start == timedelta(hours=2, minutes=20)


@pytest.mark.parametrize("text", ["2026-05-16 08:48", "2026-05-16T08:48", "2026-05-16 8:48"])
def test_full_times_are_read(text: str) -> None:
    assert read_clock(text) == Clock(date(2026, 5, 16), time(8, 48))


@pytest.mark.parametrize("text", ["", "8.48", "2026-13-01 08:00", "25:00", "16.5.2026", "soon"])
def test_what_is_no_time_is_none(text: str) -> None:
    assert read_clock(text) is None


@pytest.mark.parametrize(("text", "minutes"), [("33", 33), ("0:33", 33), ("01:05", 65)])
def test_time_allowed_in_its_three_forms(text: str, minutes: float) -> None:
    assert read_duration_min(text) == minutes


@pytest.mark.parametrize("text", ["-3", "nan", "1:75", "half", "99999"])
def test_what_is_no_time_allowed_is_none(text: str) -> None:
    assert read_duration_min(text) is None


@pytest.mark.parametrize(
    "name", ["", "Mars/Olympus", "../etc/passwd", "Europe", "/etc/localtime"]
)
def test_unknown_zone_is_refused(name: str) -> None:
    with pytest.raises(ValueError, match="no known time zone"):
        event_zone(name)


def test_utc_round_trip_keeps_the_fold() -> None:
    instant = datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
    local = instant.astimezone(ROME)
    assert to_utc(local.replace(tzinfo=None), ROME, fold=local.fold) == instant
