"""The four demo events against the printed pages they were written from."""

import csv
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from crewdesk.assets import shipped
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.store import load_event
from crewdesk.documents.times import to_utc

EVENTS = ("saldrey", "quellhaven", "lunehaven", "ysterholt")
DATA = Path(__file__).parents[2] / "data" / "events"


def load(name: str) -> EventBundle:
    return load_event(Path(str(shipped("demo_events") / name)))


def printed_times(name: str) -> list[tuple[str, str, str]]:
    lines = (DATA / f"our_times_{name}.csv").read_text(encoding="utf-8").splitlines()
    rows = list(csv.reader(line for line in lines if not line.startswith("#")))
    return [(ref, first, ours) for ref, first, ours in rows[1:]]


@pytest.mark.parametrize(
    ("event", "ref", "first_car", "our_car"),
    [(name, *row) for name in EVENTS for row in printed_times(name)],
)
def test_our_due_time_is_the_printed_one(
    event: str, ref: str, first_car: str, our_car: str
) -> None:
    # Printed tables of the walk-throughs, written before the program.
    bundle = load(event)
    row = bundle.itinerary.row_of(ref)
    zone = ZoneInfo(bundle.event.zone)
    assert row.first_car_due == to_utc(datetime.fromisoformat(first_car), zone)
    assert bundle.itinerary.due_of(ref) == to_utc(datetime.fromisoformat(our_car), zone)


@pytest.mark.parametrize(
    ("event", "stage_km", "liaison_km"),
    [
        # Leg totals as printed with the itineraries.
        ("saldrey", {1: 49.15}, {1: 95.20}),
        ("quellhaven", {1: 85.82, 2: 80.54}, {1: 164.60, 2: 178.00}),
        ("lunehaven", {1: 82.26, 2: 87.84, 3: 83.90}, {1: 149.90, 2: 157.60, 3: 184.00}),
        ("ysterholt", {1: 59.60, 2: 56.80}, {1: 113.10, 2: 110.90}),
    ],
)
def test_leg_totals_are_the_printed_ones(
    event: str, stage_km: dict[int, float], liaison_km: dict[int, float]
) -> None:
    itinerary = load(event).itinerary
    for leg, km in stage_km.items():
        assert sum(s.km for s in itinerary.stages if s.leg == leg) == pytest.approx(km)
    for leg, km in liaison_km.items():
        rows = [row.liaison_km or 0 for row in itinerary.rows if row.leg == leg]
        assert sum(rows) == pytest.approx(km)


@pytest.mark.parametrize("event", EVENTS)
def test_demo_event_needs_no_note(event: str) -> None:
    # The pages say that every check of the import came out clean.
    assert load(event).notes == ()


@pytest.mark.parametrize(
    ("event", "keys", "kinds"),
    [
        ("saldrey", "start A B", "start service service"),
        ("quellhaven", "A B C D TC8C E", "service service flexi service zone service"),
        (
            "lunehaven",
            "A B C D E F G TC14C H",
            "service service flexi service service flexi service zone service",
        ),
        ("ysterholt", "A B C D TC7C E", "service service flexi service zone service"),
    ],
)
def test_change_places_are_those_of_the_page(event: str, keys: str, kinds: str) -> None:
    places = load(event).itinerary.change_places
    assert [place.key for place in places] == keys.split()
    assert [place.kind for place in places] == kinds.split()
    assert [place.loop for place in places] == list(range(1, len(places) + 1))


@pytest.mark.parametrize(
    ("event", "loop", "km"),
    [
        # "42.91 stage km to Service B", "28.09 to the tyre zone", "24.36 km left",
        # "41.95 km more" in the walk-throughs.
        ("quellhaven", 1, 42.91),
        ("quellhaven", 4, 28.09),
        ("quellhaven", 6, 24.36),
        ("lunehaven", 9, 41.95),
        ("saldrey", 3, 18.65),
        ("ysterholt", 1, 31.55),
        ("ysterholt", 2, 28.05),
        ("ysterholt", 5, 14.75),
    ],
)
def test_stage_km_of_a_loop(event: str, loop: int, km: float) -> None:
    itinerary = load(event).itinerary
    place = itinerary.place_of_loop(loop)
    assert place is not None
    assert sum(itinerary.stage(ref).km for ref in place.stages) == pytest.approx(km)


def test_flexi_to_morning_is_a_loop_without_stages() -> None:
    assert load("quellhaven").itinerary.place("C").stages == ()


def test_last_service_is_no_change_place() -> None:
    with pytest.raises(KeyError):
        load("quellhaven").itinerary.place("F")


@pytest.mark.parametrize(
    ("event", "name"),
    [("saldrey", "start"), ("saldrey", "TC0"), ("quellhaven", "tc8b"), ("quellhaven", "TC8C")],
)
def test_change_place_is_found_by_letter_or_either_control(event: str, name: str) -> None:
    place = load(event).itinerary.place(name)
    assert name.upper() in {place.key.upper(), place.in_ref, place.out_ref}


def test_start_names_the_first_change_place_where_there_is_no_other() -> None:
    assert load("quellhaven").itinerary.place("start").key == "A"


def test_zone_lies_between_the_stages_on_either_side() -> None:
    # Millfold 1 ends at 215 m, Skarrow 2 begins at 205 m.
    assert load("quellhaven").itinerary.place("TC8C").altitude_m == pytest.approx(210)


@pytest.mark.parametrize(
    ("event", "tyres", "rims", "sites"),
    [
        ("saldrey", 12, 12, 2),
        ("quellhaven", 26, 16, 3),
        ("lunehaven", 40, 23, 4),
        ("ysterholt", 24, 16, 3),
    ],
)
def test_stock_rims_and_sites_of_the_page(
    event: str, tyres: int, rims: int, sites: int
) -> None:
    bundle = load(event)
    assert len(bundle.stock.tyres) == tyres
    assert len(bundle.event.rims) == rims
    assert {row.site for row in bundle.weather.rows} == {s.name for s in bundle.event.sites}
    assert len(bundle.event.sites) == sites


@pytest.mark.parametrize("event", EVENTS)
def test_every_tyre_has_its_model(event: str) -> None:
    bundle = load(event)
    for tyre in bundle.stock.tyres:
        assert bundle.model_of(tyre).family == tyre.use


def test_rain_tyre_is_medium_of_its_family() -> None:
    tyre = load("lunehaven").stock.tyre("W01")
    assert (tyre.hardness, tyre.use, tyre.cap_group) == ("medium", "asphalt_wet", "wet")
    assert (tyre.direction, tyre.code) == ("left", "R1")


def test_studded_tyre_is_medium_of_the_winter_family() -> None:
    tyre = load("ysterholt").stock.tyre("N01")
    assert (tyre.hardness, tyre.use, tyre.cap_group, tyre.studs) == (
        "medium",
        "winter",
        "studded",
        384,
    )


def test_a_stage_after_midnight_stays_in_its_leg() -> None:
    itinerary = load("ysterholt").itinerary
    night = itinerary.stage("SS5")
    first = itinerary.row_of("SS5").first_car_due
    assert night.leg == itinerary.stage("SS1").leg == 1
    assert first is not None
    # 00:20 for the first car, two hours ahead of UTC.
    assert first == datetime(2027, 2, 12, 22, 20, tzinfo=UTC)
    # The stage before it begins at 23:46 for the first car, at 00:02 for ours.
    assert itinerary.stage("SS4").due_utc == datetime(2027, 2, 12, 22, 2, tzinfo=UTC)


def test_broken_asphalt_and_packed_gravel_are_kept() -> None:
    itinerary = load("lunehaven").itinerary
    assert [stage.ref for stage in itinerary.stages if stage.broken] == ["SS3", "SS6"]
    assert itinerary.stage("SS15").gravel_share == pytest.approx(0.20)


def test_forecast_of_the_page_is_read() -> None:
    rows = load("quellhaven").weather.rows
    issued = datetime(2026, 8, 22, 13, tzinfo=UTC)  # 15:00 local, two hours ahead
    hour = datetime(2026, 8, 23, 6, tzinfo=UTC)
    row = next(r for r in rows if r.issued_utc == issued and r.time_utc == hour)
    assert (row.air_c, row.rain_mm_h, row.source) == (14.5, 1.0, "forecast")


@pytest.mark.parametrize("event", EVENTS)
def test_bundle_keeps_the_text_of_each_file(event: str) -> None:
    bundle = load(event)
    for name, text in bundle.source_files.items():
        shipped_text = (shipped("demo_events") / event / name).read_bytes().decode()
        assert text == shipped_text
    assert len(bundle.source_files) == 4
