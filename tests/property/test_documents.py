"""What must hold of documents whatever the crew writes into them."""

import csv
import io
import json
from collections import Counter
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from crewdesk.assets import shipped
from crewdesk.documents.event import EventFile, Gap, Leg, Rim
from crewdesk.documents.faults import Findings
from crewdesk.documents.itinerary import Itinerary
from crewdesk.documents.itinerary_build import build_itinerary
from crewdesk.documents.itinerary_read import read_itinerary
from crewdesk.documents.stock import Stock, StockTyre
from crewdesk.documents.stock_read import edge_from_wear, read_stock
from crewdesk.documents.store import FILES, check_texts, load_event, load_from_texts
from crewdesk.documents.tables import read_table
from crewdesk.documents.times import to_utc, wall_kind
from crewdesk.documents.writer import edited_table, itinerary_text, stock_text, table_text
from crewdesk.errors import DocumentError

DEMOS = ("saldrey", "quellhaven", "lunehaven")
TEXTS = {
    name: (shipped("demo_events") / "saldrey" / name).read_text(encoding="utf-8")
    for name in FILES
}
EVENT = load_from_texts(TEXTS).event
ZONES = ("Etc/GMT-2", "Europe/Rome", "Australia/Lord_Howe", "America/Santiago", "UTC")

CELL = st.text(st.characters(exclude_characters="\x00", exclude_categories=("Cs",))).map(
    str.strip
)


# Tables


@given(
    st.lists(st.tuples(CELL, CELL, CELL).filter(lambda row: any(row)), min_size=1),
    st.lists(st.from_regex(r"#[a-z ,\"]*", fullmatch=True).map(str.rstrip)),
)
def test_table_reads_back_what_was_written(
    rows: list[tuple[str, str, str]], comments: list[str]
) -> None:
    columns = ("a", "b", "c")
    text = table_text(columns, [dict(zip(columns, row, strict=True)) for row in rows], comments)
    found = Findings()
    table = read_table("t.csv", text, columns, columns, found)
    assert found.faults == []
    assert table is not None
    assert [tuple(row.cells[c] for c in columns) for row in table.rows] == rows
    assert list(table.comments) == comments


@given(CELL.filter(bool), st.sampled_from(["S01", "M05", "H02"]))
def test_edit_of_a_note_reads_back_and_touches_no_other_row(note: str, tyre_id: str) -> None:
    text = TEXTS["stock.csv"]
    edited = edited_table(text, "tyre_id", {tyre_id: {"note": note}})
    was = {row["tyre_id"]: row for row in csv.DictReader(io.StringIO(text, newline=""))}
    now = {row["tyre_id"]: row for row in csv.DictReader(io.StringIO(edited, newline=""))}
    assert now.pop(tyre_id) == {**was.pop(tyre_id), "note": note}
    assert now == was


# Stock

DEPTH = st.integers(0, 95).map(lambda tenths: tenths / 10)
SHARE = st.integers(0, 100).map(lambda hundredths: hundredths / 100)
WORD = st.text(
    st.characters(codec="ascii", min_codepoint=33, exclude_characters=","), min_size=1
)


@st.composite
def tyres(draw: Any, number: int) -> StockTyre:
    new = draw(st.booleans())
    depth = (9.5,) * 3 if new else draw(st.tuples(DEPTH, DEPTH, DEPTH))
    hardness = draw(st.sampled_from(["soft", "medium"]))
    mounted = draw(st.booleans())
    return StockTyre(
        tyre_id=f"T{number}",
        mark=draw(st.sampled_from(["", f"XX-{number}"])),
        maker="Vellmark",
        model="Harrow",
        compound=hardness,
        use="gravel",
        hardness=hardness,
        cap_group=hardness,
        size="16/64-15",
        rim="6Jx15",
        rim_id=f"R{number:02d}" if mounted else "",
        dot=draw(st.sampled_from(["", "0126", "5325"])),
        e_mark=draw(st.sampled_from([None, True, False])),
        service_desc=draw(st.sampled_from(["", "88T"])),
        new=new,
        tread_new_mm=9.5,
        tread_mm=depth,
        edge_share=draw(st.tuples(SHARE, SHARE, SHARE)),
        stage_km=draw(st.none() | st.floats(0, 500)) if not new else 0.0,
        heat_cycles=0 if new else draw(st.none() | st.integers(0, 30)),
        studs=draw(st.none() | st.integers(0, 400)),
        price=draw(st.none() | st.floats(0, 1000)),
        counts_against=draw(st.sampled_from(["event", "shakedown", "none"])),
        registered=draw(st.booleans()),
        location=draw(st.sampled_from(["stock", "zone", "car", "away"])),
        side_run=draw(st.sampled_from(["", "left", "right", "both"])),
        direction=draw(st.sampled_from(["free", "left", "right", "arrow"])),
        lock=draw(st.sampled_from(["", "FL", "rear", "spare", "hold", "scrap"])),
        terms=draw(st.sampled_from(["own", "returnable", "hired"])),
        hardness_shore_a=draw(st.none() | st.integers(40, 90).map(float)),
        first_mounted=draw(st.sampled_from(["", "2025-09-20"])),
        stack=draw(CELL),
        code=draw(st.sampled_from(["D2", "Q7"])),
        note=draw(CELL),
        extra=draw(st.dictionaries(st.just("shelf"), WORD)),
    )


@given(st.data())
def test_stock_reads_back_what_was_written(data: st.DataObject) -> None:
    count = data.draw(st.integers(1, 5))
    stock = Stock(tyres=tuple(data.draw(tyres(number)) for number in range(1, count + 1)))
    found = Findings()
    read = read_stock(stock_text(stock), EVENT, found)
    assert found.faults == []
    assert read is not None
    for was, now in zip(stock.tyres, read.stock.tyres, strict=True):
        for name in StockTyre.model_fields:
            wanted = getattr(was, name)
            got = getattr(now, name)
            assert got == (pytest.approx(wanted) if isinstance(wanted, float) else wanted), name


@given(st.floats(4, 12), st.floats(0, 1), st.floats(0, 1))
def test_less_tread_never_means_sharper_edges(new_mm: float, one: float, two: float) -> None:
    low, high = sorted((one * new_mm, two * new_mm))
    assert 0 < edge_from_wear(new_mm, low) <= edge_from_wear(new_mm, high) <= 1


# Itinerary


@st.composite
def itineraries(draw: Any) -> str:
    """An itinerary of one leg near a change of the clocks, times as the walls show them."""
    zone = ZoneInfo(draw(st.sampled_from(ZONES)))
    start = draw(
        st.sampled_from(
            [
                datetime(2026, 3, 28, 22, tzinfo=UTC),
                datetime(2026, 10, 24, 22, tzinfo=UTC),
                datetime(2026, 10, 3, 13, tzinfo=UTC),
                datetime(2026, 9, 6, 2, tzinfo=UTC),
            ]
        )
    )
    heading = (
        "leg,ref,kind,name,ss_km,liaison_km,target_min,first_car_due,surface,service,"
        "tyre_change"
    )
    lines = [heading]
    at = start

    def line(
        ref: str, kind: str, minutes: int, km: str = "", road: str = "", **more: str
    ) -> None:
        nonlocal at
        at += timedelta(minutes=minutes)
        lines.append(
            f"1,{ref},{kind},{ref},{km},{road},{minutes},"
            f"{at.astimezone(zone):%Y-%m-%d %H:%M},{'gravel' if km else ''},"
            f"{more.get('service', '')},{more.get('change', 'no')}"
        )

    line("TC0", "start", 0)
    stage = 0
    for visit in range(draw(st.integers(1, 3))):
        for _ in range(draw(st.integers(0 if visit else 1, 3))):
            stage += 1
            line(f"TC{stage}", "time_control", draw(st.integers(5, 60)), road="12.5")
            line(f"SS{stage}", "stage", 3, km="9.5")
        letter = "ABC"[visit]
        line(f"TC{stage}{letter}I", "service_in", draw(st.integers(5, 60)), service=letter)
        change = draw(st.sampled_from(["team", "team", "no"]))
        out = draw(st.integers(10, 45))
        line(f"TC{stage}{letter}O", "service_out", out, service=letter, change=change)
    line("TCF", "finish", 10)
    return f"{zone.key}\n" + "\n".join(lines) + "\n"


def built(text: str) -> tuple[Itinerary | None, ZoneInfo, Findings]:
    name, table = text.split("\n", 1)
    zone, found = ZoneInfo(name), Findings()
    read = read_itinerary(table, zone, found)
    itinerary = None
    if read is not None and not found.faults:
        itinerary = build_itinerary(read[0], EVENT, read[1].comments, found)
    return itinerary, zone, found


@given(itineraries())
def test_times_never_run_backwards(text: str) -> None:
    itinerary, _, found = built(text)
    assert found.faults == []
    assert itinerary is not None
    printed = [row.first_car_due for row in itinerary.rows if row.first_car_due]
    ours = [due for row in itinerary.rows if (due := itinerary.our_due(row))]
    assert all(a <= b for a, b in pairwise(printed))
    assert all(a <= b for a, b in pairwise(ours))


@given(itineraries())
def test_every_stage_belongs_to_the_loop_of_one_change_place(text: str) -> None:
    itinerary, _, _ = built(text)
    assert itinerary is not None
    listed = [ref for place in itinerary.change_places for ref in place.stages]
    assert listed == [stage.ref for stage in itinerary.stages]
    for place in itinerary.change_places:
        for ref in place.stages:
            assert itinerary.loop_of(ref) == place.loop == itinerary.stage(ref).loop


@given(itineraries())
def test_road_sections_add_up_to_the_printed_ones(text: str) -> None:
    itinerary, _, _ = built(text)
    assert itinerary is not None
    # Every road row here leads to a stage, so none of its kilometres may be lost.
    road = sum(row.liaison_km or 0.0 for row in itinerary.rows)
    assert sum(s.liaison_before_km for s in itinerary.stages) == pytest.approx(road)


@given(itineraries())
def test_itinerary_reads_back_what_was_written(text: str) -> None:
    itinerary, zone, _ = built(text)
    assert itinerary is not None
    again, _, found = built(f"{zone.key}\n{itinerary_text(itinerary, zone)}")
    assert found.faults == []
    assert again == itinerary


@pytest.mark.parametrize("name", DEMOS)
def test_loops_by_the_rule_are_the_printed_ones(name: str) -> None:
    # The loop column of the printed itineraries was written without this program.
    itinerary = load_event(Path(str(shipped("demo_events") / name))).itinerary
    assert [itinerary.loop_of(row.ref) for row in itinerary.rows] == [
        row.loop for row in itinerary.rows
    ]


@given(st.integers(1, 200), st.integers(0, 10))
def test_with_one_interval_the_offset_is_places_times_interval(
    position: int, interval: int
) -> None:
    leg = Leg(leg=1, position=position, gaps=(Gap(from_position=2, gap_min=interval),))
    assert leg.offset_min("first_car") == (position - 1) * interval


# Wall times


@given(
    st.datetimes(datetime(2000, 1, 1), datetime(2030, 1, 1), timezones=st.just(UTC)),  # noqa: DTZ001
    st.sampled_from(ZONES),
)
def test_instant_comes_back_from_the_wall(instant: datetime, name: str) -> None:
    zone = ZoneInfo(name)
    local = instant.astimezone(zone)
    assert to_utc(local.replace(tzinfo=None), zone, fold=local.fold) == instant


@pytest.mark.parametrize("name", ZONES)
def test_wall_times_are_judged_as_the_clocks_run(name: str) -> None:
    """Count how often each quarter hour is shown in 2026, minute by minute of true time."""
    zone = ZoneInfo(name)
    first = datetime(2026, 1, 1, tzinfo=UTC)
    shown = Counter(
        (first + timedelta(minutes=15 * n)).astimezone(zone).replace(tzinfo=None, fold=0)
        for n in range(4 * 24 * 365)
    )
    kinds = {0: "skipped", 1: "plain", 2: "ambiguous"}
    wall, last = min(shown) + timedelta(days=1), max(shown) - timedelta(days=1)
    while wall < last:
        kind = wall_kind(wall, zone)
        assert kind == kinds[shown[wall]], wall
        wall += timedelta(minutes=15)


# Whatever stands in the files, the answer is words


@given(
    st.sampled_from(FILES),
    st.floats(0, 1),
    st.integers(0, 60),
    st.text(max_size=20) | st.sampled_from(['"', ",", "\n", "nan", "-1", "9,5", "\x00", "{"]),
)
def test_damaged_text_is_answered_in_words(
    name: str, where: float, length: int, other: str
) -> None:
    text = TEXTS[name]
    at = int(where * len(text))
    report = check_texts({**TEXTS, name: text[:at] + other + text[at + length :]})
    assert all(fault.what.endswith((".", ")", '"')) for fault in report.faults)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=6,
)


@given(st.sampled_from(sorted(EventFile.model_fields)), JSON)
def test_any_value_under_any_key_of_the_event_is_answered_in_words(
    key: str, value: Any
) -> None:
    raw = {**json.loads(TEXTS["event.json"]), key: value}
    texts = {**TEXTS, "event.json": json.dumps(raw)}
    report = check_texts(texts)
    if report.ok:
        load_from_texts(texts)
    else:
        with pytest.raises(DocumentError):
            load_from_texts(texts)


@given(st.dictionaries(st.sampled_from(FILES), st.text()))
def test_any_texts_are_answered_in_words(files: dict[str, str]) -> None:
    with pytest.raises(DocumentError):
        load_from_texts({**files, "stock.csv": ""})


@given(st.lists(st.sampled_from(["R01", "R02", "R99"]), unique=True))
def test_tyre_on_a_rim_nobody_has_is_found(listed: list[str]) -> None:
    event = EVENT.model_copy(
        update={"rims": tuple(Rim(rim_id=rim, rim="6Jx15") for rim in [*listed, "R50"])}
    )
    found = Findings()
    read_stock(TEXTS["stock.csv"], event, found)
    wrong = {fault.value for fault in found.faults if fault.column == "rim_id"}
    assert wrong == {f"R{n:02d}" for n in range(1, 13)} - set(listed)
    few = [fault for fault in found.faults if fault.column == "rims"]
    assert bool(few) is (len(listed) + 1 < 4)  # A car has four corners.


@given(st.integers(min_value=0, max_value=12))
def test_wheels_named_for_too_few_tyres_to_drive_on_are_found(named: int) -> None:
    head, *lines = TEXTS["stock.csv"].splitlines()
    at = head.split(",").index("rim_id")
    rows = [line.split(",") for line in lines]
    for row in rows[named:]:
        row[at] = ""
    text = "\n".join([head, *(",".join(row) for row in rows)])
    found = Findings()
    read_stock(text, EVENT.model_copy(update={"rims": ()}), found)
    wrong = [fault for fault in found.faults if fault.column == "rim_id"]
    # None named at all: every tyre may go on any wheel.
    assert bool(wrong) is (0 < named < 4)
