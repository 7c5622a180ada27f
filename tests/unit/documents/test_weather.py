"""``weather.csv``: rows by the hour, forecasts with their time of issue."""

from datetime import UTC, datetime

import pytest

from crewdesk.documents.store import load_from_texts

FILE = "weather.csv"
FIRST = "2026-05-16 06:00"


@pytest.mark.parametrize(
    ("column", "value", "words"),
    [
        ("air_c", "", "Write the air temperature"),
        ("air_c", "120", "from -50 to 55"),
        ("air_c", "4,0", "Write 4.0, with a point."),
        ("rain_mm_h", "-1", "from 0 to 200 mm/h"),
        ("surface_state", "slippery", "dry, damp, wet"),
        ("source", "guess", "observed, forecast"),
        ("source", "", "observed, forecast"),
        ("site", "Nowhere", "Saldrey service, Tarnwold top"),
        ("time", "2026-05-16 06:20", "no full hour"),
        ("time", "06:00", "no date with time"),
        ("time", "2026-05-16 07:00", "rows 4 and 5"),
        ("time", "", "Write the full hour"),
    ],
)
def test_fault_names_cell_and_what_is_allowed(
    edit, column: str, value: str, words: str
) -> None:
    edit.cell(FILE, FIRST, column, value)
    fault = edit.only_fault()
    assert fault.column == column
    assert words in str(fault)


def test_forecast_needs_its_time_of_issue(edit) -> None:
    edit.cell(FILE, FIRST, "source", "forecast")
    fault = edit.only_fault()
    assert (fault.column, fault.what) == ("issued", "The cell is empty.")


def test_event_without_weather_opens_and_says_so(edit) -> None:
    del edit.texts[FILE]
    bundle = load_from_texts(edit.texts)
    assert bundle.weather.rows == ()
    assert any("no forecast" in line for line in bundle.assumed)


def test_other_altitude_than_the_site_is_a_note(edit) -> None:
    edit.cell(FILE, FIRST, "alt_m", "200")
    assert any("200 m" in note for note in edit.report().notes)


def test_doubled_hour_of_a_series_is_read_in_order(edit) -> None:
    # Rome puts its clocks back on 25 October 2026: 02:00 comes twice.
    edit.event(lambda raw: raw.update(zone="Europe/Rome"))
    heading = edit.texts[FILE].splitlines()[2]
    hours = ("01:00", "02:00", "02:00", "03:00")
    rows = [f"2026-10-25 {h},Saldrey service,180,observed,,5,,,,,," for h in hours]
    edit.texts[FILE] = "\n".join([heading, *rows]) + "\n"
    got = [row.time_utc.hour for row in load_from_texts(edit.texts).weather.rows]
    assert got == [23, 0, 1, 2]


def test_instants_are_utc(edit) -> None:
    row = load_from_texts(edit.texts).weather.rows[0]
    assert row.time_utc == datetime(2026, 5, 16, 4, tzinfo=UTC)
