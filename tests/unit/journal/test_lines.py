"""Lines of JSON turned into entries."""

import json
from datetime import UTC, datetime

import pytest

from crewdesk.errors import ReadingError
from crewdesk.journal.entries import Fitting, Incident, Reading
from crewdesk.journal.lines import entry_schema, parse_line
from crewdesk.journal.rows import KINDS


def test_a_flat_line_becomes_an_entry():
    entry = parse_line(
        '{"kind": "reading", "tyre_id": "S01", "tread_in_mm": 7.9, "tread_mid_mm": 7.8,'
        ' "tread_out_mm": 7.7, "hot_kpa": 230, "where": "stop_line",'
        ' "at": "2026-05-16T11:57:00+02:00"}'
    )
    assert isinstance(entry, Reading)
    assert entry.hot_kpa == 230.0
    assert entry.at == datetime(2026, 5, 16, 9, 57, tzinfo=UTC)


def test_places_and_blanks_are_taken():
    entry = parse_line(
        '{"kind": "fitting", "place": "A", "cold_kpa": {"FL": 195, "RL": 190},'
        ' "fitting": {"FL": "S01", "FR": "S02", "RL": "M05", "RR": "M06", "SP1": "M07",'
        ' "SP2": null}}'
    )
    assert isinstance(entry, Fitting)
    assert entry.fitting["SP2"] is None
    unknown = parse_line('{"kind": "incident", "what": "puncture", "side": "left"}')
    assert isinstance(unknown, Incident)
    assert unknown.corner is None


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("", "not JSON"),
        ("[1]", "not an object"),
        ("{}", "names no kind"),
        ('{"kind": 3}', "There is no kind of entry 3"),
        ('{"kind": "nots", "text": "a"}', "perhaps note?"),
        ('{"kind": "note"}', "text is missing"),
        ('{"kind": "note", "text": "a", "txt": "b"}', "no field txt (perhaps text?)"),
        ('{"kind": "note", "text": "a", "text": "b"}', "gives text twice"),
        ('{"kind": "note", "text": 3}', "text is 3; text in quotes is asked for"),
        ('{"kind": "reading", "tyre_id": "S01", "tread_in_mm": 55}', "at most 40 mm"),
        ('{"kind": "reading", "tyre_id": "S01", "tread_in_mm": -1}', "at least 0 mm"),
        ('{"kind": "reading", "tyre_id": "S01", "hot_kpa": "2.3"}', "a number is asked for"),
        ('{"kind": "reading", "tyre_id": "S01", "hot_kpa": 900}', "at most 600 kPa, gauge"),
        ('{"kind": "reading", "tyre_id": "S01", "hot_kpa": NaN}', "holds NaN"),
        ('{"kind": "reading", "tyre_id": "S01", "hot_kpa": 1e999}', "a finite number"),
        ('{"kind": "reading", "tyre_id": "S01", "edge_grade": true}', "a whole number"),
        ('{"kind": "reading", "tyre_id": "S01", "where": "boot"}', "'stop_line', 'at_in'"),
        (
            '{"kind": "reading", "tyre_id": "S01", "edge_share": [1, 1]}',
            "edge_share.3 is missing",
        ),
        ('{"kind": "as_found", "place": "A", "fitting": {"XX": "S01"}}', "fitting.XX is"),
        ('{"kind": "note", "text": "a", "at": "2026-05-16T08:00:00"}', "offset from UTC"),
        ('{"kind": "note", "text": "a", "at": 1790000000}', "offset from UTC"),
        ('{"kind": "note", "text": "a", "at": "2026-13-16T08:00:00Z"}', "at is"),
        ('{"kind": "control_time", "ref": "TC1", "time": "2026-05-16T08:00:00"}', "time is"),
        ('{"kind": "stage_run", "stage": "SS1", "time_s": 0}', "must be over 0"),
        ("[" * 100_000, "nested too deeply"),
    ],
)
def test_a_fault_is_told_with_field_value_and_what_is_allowed(line: str, words: str):
    with pytest.raises(ReadingError) as caught:
        parse_line(line)
    assert words in caught.value.message
    assert caught.value.hint
    assert "pydantic" not in str(caught.value)
    assert "validation" not in str(caught.value).lower()


def test_all_faults_of_a_line_are_told_together():
    with pytest.raises(ReadingError) as caught:
        parse_line(
            '{"kind": "reading", "tread_in_mm": 99, "where": "x", "at": "2026-05-16T08:00"}'
        )
    for word in ("tyre_id", "tread_in_mm", "where", "at is"):
        assert word in caught.value.message


def test_the_schema_knows_every_kind_and_can_be_written_down():
    schema = entry_schema()
    assert set(schema["discriminator"]["mapping"]) == set(KINDS)
    assert {"reading", "as_found", "undo", "event_closed"} <= KINDS
    assert json.loads(json.dumps(schema)) == schema
    reading = schema["$defs"]["Reading"]["properties"]
    assert reading["hot_kpa"]["anyOf"][0]["maximum"] == 600
