"""Tables as others write them, brought into an event."""

import zipfile
from datetime import date
from pathlib import Path

import pytest

from crewdesk.assets import shipped
from crewdesk.documents.faults import Findings
from crewdesk.documents.handover_read import stock_from_text
from crewdesk.documents.import_headings import heading_of
from crewdesk.documents.import_values import Values
from crewdesk.documents.importing import (
    faults_in,
    import_bytes,
    import_into,
    import_table,
    made_of,
)
from crewdesk.documents.new_event import NewEvent, new_texts
from crewdesk.documents.store import check_texts, load_event
from crewdesk.errors import DocumentError

PUBLISHED = """\
Invented Rally;;;;;;;;
Leg;TC;SS;Location;SS dist;Liaison;Target time;First car due;Surface
Leg 1;TC0;;Showground, start;;;;2026-05-16 08:30;
;TC1;;Ombrick;;(11,20);0:15;08:45;
;;SS1;Ombrick 1;6,80 km;;0:03;08:48;asphalt broken
;TC1A;;Showground, regroup IN;;14,60;0:29;09:17;
;TC1B;;Showground, regroup OUT / Service A IN;;;0:15;09:32;
;TC1C;;Showground, Service A OUT;;;0:30;10:02;
;;;Lunch is served in the tent;;;;;
;RF1;;Showground refuel;;;;;
;TC2;;Long Perrin;;8,90;0:12;10:14;
;;SS2;Long Perrin;10,20;;0:03;10:17;gravel
;TC2A;;Showground, Service B IN;;9,30;0:22;10:39;
;TC2B;;Showground, Service B OUT;;;0:10;10:49;
;TC2C;;Showground, finish and parc ferme IN;;0,50;0:05;10:54;
"""

KINDS = [
    "start",
    "time_control",
    "stage",
    "regroup_in",
    "service_in",
    "service_out",
    "refuel",
    "time_control",
    "stage",
    "service_in",
    "service_out",
    "finish",
]


@pytest.fixture
def published(tmp_path: Path) -> Path:
    path = tmp_path / "published.csv"
    path.write_text(PUBLISHED, encoding="utf-8")
    return path


def test_published_itinerary_opens_in_the_event(folder: Path, published: Path) -> None:
    import_into("itinerary", published, folder)
    itinerary = load_event(folder).itinerary
    assert [row.kind for row in itinerary.rows] == KINDS
    assert [place.key for place in itinerary.change_places] == ["start", "A"]
    first = itinerary.stage("SS1")
    assert (first.km, first.surface, first.broken) == (6.80, "asphalt", True)
    assert first.liaison_before_km == pytest.approx(11.20)
    assert itinerary.row_of("TC1").target_min == 15


def test_what_was_guessed_is_told(published: Path) -> None:
    notes = import_table("itinerary", published).notes
    assert any("tyres may be changed: TC1C." in note for note in notes)


def test_odd_row_is_kept_as_a_comment(published: Path) -> None:
    assert "Lunch is served in the tent" in import_table("itinerary", published).text


def test_table_it_takes_the_place_of_is_kept(folder: Path, published: Path) -> None:
    old = (folder / "itinerary.csv").read_text(encoding="utf-8")
    import_into("itinerary", published, folder)
    assert (folder / "itinerary.before.csv").read_text(encoding="utf-8") == old


def test_faulty_table_changes_nothing(folder: Path, published: Path) -> None:
    before = {entry.name: entry.read_bytes() for entry in folder.iterdir()}
    published.write_text(PUBLISHED.replace("asphalt broken", "mud"), encoding="utf-8")
    before["published.csv"] = published.read_bytes()
    with pytest.raises(DocumentError, match='"mud" is not known here'):
        import_into("itinerary", published, folder)
    assert {entry.name: entry.read_bytes() for entry in folder.iterdir()} == before


@pytest.mark.parametrize(("heading", "value"), [("gravel %", "20"), ("gravel km", "1,36")])
def test_gravel_as_per_cent_or_km_becomes_a_share(
    published: Path, heading: str, value: str
) -> None:
    text = PUBLISHED.replace("First car due;Surface", f"First car due;Surface;{heading}")
    published.write_text(text.replace("asphalt broken", f"asphalt;{value}"), encoding="utf-8")
    line = next(
        row for row in import_table("itinerary", published).text.splitlines() if "SS1" in row
    )
    assert ",0.2," in line


def test_stock_with_semicolons_and_comma_decimals(folder: Path, texts: dict[str, str]) -> None:
    rows = [row.split(",") for row in texts["stock.csv"].splitlines()[:4]]
    source = folder / "excel.csv"
    source.write_text(
        "\n".join(";".join(row).replace("9.5", "9,5") for row in rows), encoding="utf-8"
    )
    import_into("stock", source, folder)
    stock = load_event(folder).stock
    assert [tyre.tyre_id for tyre in stock.tyres] == ["S01", "S02", "M01"]
    assert stock.tyre("S01").tread_mm == (9.5, 9.5, 9.5)
    assert stock.tyre("S01").size == "16/64-15"


def test_own_table_comes_through_unchanged(folder: Path) -> None:
    before = load_event(folder)
    for kind in ("itinerary", "stock", "weather"):
        source = folder / f"{kind}.csv"
        copy = folder / "copy.csv"
        copy.write_bytes(source.read_bytes())
        import_into(kind, copy, folder)
    after = load_event(folder)
    assert (after.itinerary, after.stock) == (before.itinerary, before.stock)
    assert after.weather == before.weather.model_copy(update={"rows": after.weather.rows})
    for was, now in zip(before.weather.rows, after.weather.rows, strict=True):
        assert was.model_copy(update={"row": now.row}) == now


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"a,b,c\n1,2,3\n", "no heading of stock columns"),
        (b"", "is empty. Choose the file with the stock"),
        (b"\n \n;;;\n", "is empty"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(504), "old kind .XLS."),
        (b'Tyre;Maker;Model\nT1;In;B\nT2;"In;B\nT3;In;B\n', "row 3 .* quotation mark"),
        (b"Tyre,Maker\n" * 400_000, "larger than 4 MB"),
        (b"PK\x03\x04broken", "cannot be read as a spreadsheet"),
        (b"\x00\x01\x02", "not a text file"),
        (b"n\xe4me\x81", "not UTF-8"),
    ],
)
def test_what_is_no_table_is_refused(tmp_path: Path, data: bytes, words: str) -> None:
    source = tmp_path / "x.csv"
    source.write_bytes(data)
    with pytest.raises(DocumentError, match=words):
        import_table("stock", source)


@pytest.mark.parametrize("code", ["cp1252", "utf-8-sig", "utf-16"])
def test_letters_of_a_spreadsheets_text_are_understood(code: str) -> None:
    text = PUBLISHED.replace("Long Perrin", "Grünweiß")
    imported = import_bytes("itinerary", "plan.csv", text.encode(code))
    assert "Grünweiß" in [row["name"] for row in imported.rows]
    told = [note for note in imported.notes if "UTF" in note]
    assert len(told) == (code != "utf-8-sig")
    assert all("ü ß" in note for note in told if code == "cp1252")


def test_a_file_that_is_cut_off_is_told() -> None:
    whole = "Tyre,Maker,Model,Compound,Use\nT1,In,B,soft,gravel\nT2,In,B,soft,gravel\n"
    assert not any(
        "cut off" in note for note in import_bytes("stock", "x", whole.encode()).notes
    )
    cut = import_bytes("stock", "x", whole[:-10].encode())
    assert any("has 4 cells, all others have 5" in note for note in cut.notes)


def test_missing_source(tmp_path: Path) -> None:
    with pytest.raises(DocumentError, match="cannot be read"):
        import_table("stock", tmp_path / "nowhere.csv")


# Spreadsheets, after the parts and names of ECMA-376 (Office Open XML)

MAIN = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
LINKS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"


def spreadsheet(path: Path, sheet: str, *, sheets: tuple[str, ...] = ("itinerary",)) -> Path:
    book = "".join(
        f'<sheet name="{name}" sheetId="{n}" r:id="rId{n}"/>'
        for n, name in enumerate(sheets, 1)
    )
    rels = "".join(
        f'<Relationship Id="rId{n}" Type="{LINKS}/worksheet" Target="worksheets/sheet{n}.xml"/>'
        for n, _ in enumerate(sheets, 1)
    )
    with zipfile.ZipFile(path, "w") as out:
        out.writestr(
            "xl/workbook.xml",
            f'<workbook {MAIN} xmlns:r="{LINKS}"><sheets>{book}</sheets></workbook>',
        )
        out.writestr(
            "xl/_rels/workbook.xml.rels",
            '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/'
            f'relationships">{rels}</Relationships>',
        )
        out.writestr(
            "xl/sharedStrings.xml",
            f"<sst {MAIN}><si><t>Ombrick 1</t></si><si><r><t>gra</t></r><r><t>vel</t></r></si>"
            "</sst>",
        )
        for n, name in enumerate(sheets, 1):
            body = sheet if name == sheets[-1] else ""
            out.writestr(f"xl/worksheets/sheet{n}.xml", f"<worksheet {MAIN}>{body}</worksheet>")
    return path


def text(place: str, words: str) -> str:
    return f'<c r="{place}" t="inlineStr"><is><t>{words}</t></is></c>'


HEADINGS = ("Leg", "Code", "Location", "SS km", "Target time", "Due", "Surface")
SHEET = (
    "<sheetData><row>"
    + "".join(text(f"{'ABCDEFG'[n]}1", word) for n, word in enumerate(HEADINGS))
    + "</row><row><c r='A2'><v>2</v></c>"
    + text("B2", "TC1")
    # 2026-05-16 08:30 is day 46158 and 510/1440 of it.
    + '<c r="F2"><v>46158.3541666667</v></c></row>'
    + "<row>"
    + text("B3", "SS1")
    + '<c r="C3" t="s"><v>0</v></c>'
    + text("D3", "6,80")
    + '<c r="E3"><v>0.0020833333</v></c><c r="F3"><v>0.3562500000</v></c>'
    + '<c r="G3" t="s"><v>1</v></c></row></sheetData>'
    + '<mergeCells><mergeCell ref="A2:A3"/></mergeCells>'
).replace("SS km", "Stage km")


@pytest.mark.parametrize("sheets", [("itinerary",), ("notes", "Itinerary")])
def test_spreadsheet_with_day_fractions_and_merged_legs(
    tmp_path: Path, sheets: tuple[str, ...]
) -> None:
    source = spreadsheet(tmp_path / "plan.xlsx", SHEET, sheets=sheets)
    lines = import_table("itinerary", source).text.splitlines()
    assert lines[1].startswith("2,,,TC1,time_control,")
    assert "2026-05-16 08:30" in lines[1]
    assert lines[2].startswith("2,,,SS1,stage,Ombrick 1,6.80,,,3,08:33,gravel,")


@pytest.mark.parametrize(
    "sheet",
    [
        '<sheetData><row><c r="A99999999"><v>1</v></c></row></sheetData>',
        '<sheetData><row><c r="ZZZ1"><v>1</v></c></row></sheetData>',
        '<sheetData><row><c r="A1" t="s"><v>99</v></c></row></sheetData>',
        '<sheetData><row><c r="?"><v>1</v></c></row></sheetData>',
        '<sheetData><row><c r="A1"><v>many</v></c></row></sheetData>',
        "<sheetData><row>",
        "<!DOCTYPE x [<!ENTITY a 'aaaa'>]><sheetData/>",
    ],
)
def test_broken_spreadsheet_is_refused(tmp_path: Path, sheet: str) -> None:
    source = spreadsheet(tmp_path / "plan.xlsx", sheet)
    with pytest.raises(DocumentError, match="cannot be read as a spreadsheet"):
        import_table("itinerary", source)


@pytest.mark.parametrize(
    ("written", "kind", "column"),
    [
        ("Day", "itinerary", "leg"),
        ("First car  due", "itinerary", "first_car_due"),
        ("SS dist [km]", "itinerary", "ss_km"),
        ("Liaison Distance", "itinerary", "liaison_km"),
        ("Gravel %", "itinerary", "?percent"),
        ("Tyre No.", "stock", "tyre_id"),
        ("Brand", "stock", "maker"),
        ("tread_new_mm", "stock", "tread_new_mm"),
        ("Tread new (mm)", "stock", "tread_new_mm"),
        ("Inner mm", "stock", "tread_in_mm"),
        ("Depth 1/32", "stock", "?all_treads"),
        ("Wind m/s", "weather", "wind_kmh"),
        ("Temp (°F)", "weather", "air_c"),
        ("Humidity, %", "weather", ""),
        ("Colour of the van", "stock", ""),
    ],
)
def test_headings_as_crews_write_them(written: str, kind: str, column: str) -> None:
    assert heading_of(written, kind).column == column


@pytest.mark.parametrize(
    ("column", "cell", "unit", "wanted"),
    [
        # The international mile is 1.609344 km, the foot 0.3048 m, the inch 25.4 mm exactly.
        ("ss_km", "10", "miles", "16.0934"),
        ("ss_km", "6 800 m", "", "6.8"),
        ("alt_max_m", "1000", "ft", "304.8"),
        ("tread_in_mm", "10", "32nds", "7.9375"),
        ("wind_kmh", "10", "m/s", "36"),
        ("wind_kmh", "10", "kn", "18.52"),
        ("air_c", "212", "°F", "100"),
        ("air_c", "-40 °F", "", "-40"),
        ("gravel_share", "20 %", "", "0.2"),
        ("total_km", "1.234,5", "", "1234.5"),
        ("total_km", "1,234.5", "", "1234.5"),
        ("liaison_km", "(11,20)", "", "11.20"),
        ("air_c", "−3", "", "-3"),
        ("ss_km", "about six", "", "about six"),
        ("ss_km", "12 bananas", "", "12 bananas"),
        ("first_car_due", "16.05.2026 08.30", "", "2026-05-16 08:30"),
        ("first_car_due", "05/16/2026 8h30", "", "2026-05-16 08:30"),
        ("first_car_due", "30/02/2026", "", "30/02/2026"),
        ("first_car_due", "08:30", "", "08:30"),
        ("compound", "H", "", "hard"),
        ("registered", "x", "", "yes"),
        ("surface", "Tarmac", "", "asphalt"),
        ("dot", "0226", "", "0226"),
    ],
)
def test_units_commas_dates_and_words(column: str, cell: str, unit: str, wanted: str) -> None:
    assert Values().text(column, cell, unit) == wanted


def test_what_was_understood_is_said_by_column() -> None:
    values = Values()
    for column in ("ss_km", "liaison_km"):
        values.text(column, "6,80", "")
    values.text("air_c", "50", "°F")
    assert values.notes() == [
        "Decimal commas read as points: ss_km, liaison_km.",
        "°F turned into °C: air_c.",
    ]


MESSY = """\
Saldrey stores;printed Friday;;;;;;;
Tyre;Brand;Pattern;Hardness;for;Size;New tread;Wheel;Colour;Brand
T1;Invented;Block;S;gravel;16/64-15;9,5;W1;blue;Other
T2;Invented;Block;M;gravel;16/64-15;9,5;W2;;;beyond the heading
;;;;;;;;loose note
"""


def test_nothing_is_dropped_without_a_word() -> None:
    imported = import_bytes("stock", "stores.csv", MESSY.encode())
    kept = imported.text + " ".join(imported.notes)
    changed = {"S": "soft", "M": "medium", "9,5": "9.5"}
    headings = {written for line in MESSY.splitlines()[1:2] for written in line.split(";")}
    for cell in {cell for line in MESSY.splitlines() for cell in line.split(";")} - headings:
        assert changed.get(cell, cell) in kept, cell
    assert any("stands above the heading" in note for note in imported.notes)
    assert any(
        "Kept without using it" in note and '"Colour"' in note for note in imported.notes
    )
    assert {one.written for one in imported.headings} >= headings - {""}


def test_sheets_that_were_not_read_are_named(tmp_path: Path) -> None:
    source = spreadsheet(tmp_path / "plan.xlsx", SHEET, sheets=("notes", "Itinerary"))
    notes = import_table("itinerary", source).notes
    assert 'Sheet "Itinerary" read; not read: "notes".' in notes


def test_without_a_sheet_of_the_name_the_one_with_the_heading_is_read(tmp_path: Path) -> None:
    source = spreadsheet(tmp_path / "plan.xlsx", SHEET, sheets=("notes", "Plan"))
    imported = import_table("itinerary", source)
    assert [row["ref"] for row in imported.rows] == ["TC1", "SS1"]
    assert 'Sheet "Plan" read; not read: "notes".' in imported.notes


def test_a_spreadsheet_that_is_far_too_large_is_told_by_its_size(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("crewdesk.documents.spreadsheet.MAX_UNPACKED", 1000)
    with pytest.raises(DocumentError, match="MB of cells"):
        import_table("itinerary", spreadsheet(tmp_path / "plan.xlsx", SHEET))


def test_a_directory_and_a_file_nobody_may_read_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(DocumentError, match=r"cannot be read .is a directory."):
        import_table("stock", tmp_path)

    def refuse(_path: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "read_bytes", refuse)
    with pytest.raises(DocumentError, match=r"permission denied.*permissions"):
        import_table("stock", tmp_path / "x.csv")


@pytest.mark.parametrize(("named", "ok"), [(0, True), (3, False), (4, True)])
def test_a_few_named_wheels_are_a_fault_none_or_enough_are_not(
    texts: dict[str, str], named: int, ok: bool
) -> None:
    rows = [
        {
            "tyre_id": f"T{n}", "maker": "Invented", "model": "Block", "compound": "soft",
            "use": "gravel", "size": "16/64-15", "tread_new_mm": "9.5",
            "rim_id": f"W{n}" if n < named else "",
        }
        for n in range(6)
    ]  # fmt: skip
    new = NewEvent(
        itinerary=import_bytes("itinerary", "x", texts["itinerary.csv"].encode()),
        stock=made_of("stock", rows),
    )
    report = check_texts(new_texts(new))
    assert report.ok == ok
    faults = faults_in(new.stock, report)
    assert [(f.row, f.column) for f in faults] == ([] if ok else [(3, "rim_id")])


def test_handover_is_a_stock(tmp_path: Path) -> None:
    text = (shipped("demo_events") / "saldrey" / "stock.csv").read_text(encoding="utf-8")
    found = Findings()
    assert stock_from_text("{}", found) is None
    with pytest.raises(DocumentError, match="handover"):
        import_bytes("stock", "handover.json", b"{}")
    # What is no handover is still a table.
    assert len(import_bytes("stock", "s.csv", text.encode()).rows) == 12


def test_fault_is_found_at_its_row_and_column(texts: dict[str, str], published: Path) -> None:
    published.write_text(PUBLISHED.replace("asphalt broken", "mud"), encoding="utf-8")
    imported = import_table("itinerary", published)
    report = check_texts({**texts, "itinerary.csv": imported.text})
    (fault,) = faults_in(imported, report)
    assert fault.row is not None
    assert imported.rows[fault.row]["ref"] == "SS1"
    assert imported.lines[fault.row] == 5
    assert fault.column == "surface"


def test_typed_rows_keep_their_places_and_gain_what_follows(texts: dict[str, str]) -> None:
    rows: list[dict[str, str]] = [
        {"leg": "1", "ref": "TC0", "first_car_due": "08:30"},
        {},
        {"ref": "SS1", "ss_km": "6.8", "first_car_due": "08:48"},
    ]
    made = made_of("itinerary", rows, first_day=date(2026, 5, 16))
    assert [row.get("kind") for row in made.rows] == ["start", None, "stage"]
    assert made.rows[0]["first_car_due"] == "2026-05-16 08:30"
    assert rows[0]["first_car_due"] == "08:30"
    report = check_texts({**texts, "itinerary.csv": made.text})
    (fault,) = faults_in(made, report)
    assert (fault.row, fault.column) == (2, "surface")


def test_legs_without_dates_lie_a_day_apart() -> None:
    rows = [
        {"leg": "1", "ref": "TC0", "first_car_due": "18:00"},
        {"leg": "1", "ref": "TC1", "first_car_due": "01:00"},
        {"leg": "2", "ref": "TC2", "first_car_due": "08:00"},
    ]
    made = made_of("itinerary", rows, first_day=date(2026, 5, 16))
    due = [row["first_car_due"] for row in made.rows]
    assert due == ["2026-05-16 18:00", "01:00", "2026-05-17 08:00"]


def test_rows_without_a_heading_take_the_columns_given() -> None:
    rows = "T1\tsoft\nT2\thard\n"
    made = import_bytes("stock", "paste", rows.encode(), columns=("tyre_id", "compound"))
    assert not made.headed
    assert [(row["tyre_id"], row["compound"]) for row in made.rows] == [
        ("T1", "soft"),
        ("T2", "hard"),
    ]


ROADBOOK = """\
TC;Location;SS dist (mi);Liaison (mi);Target time;First car due
Leg 1 - Saturday 12 June 2027;;;;;
TC0;Showground;;;;08:00
SS1;Ombrick;10;;;08:43
TC1A;Service IN;;16,0;0:55;10:26
;Service A Showground;;;0:30;
TC1B;Service OUT;;;;10:56
Day 2;;;;;
TC2;Showground;;;;08:00
SS2;Ombrick 2;10;;;08:33
"""


def test_titles_between_the_rows_begin_legs_and_name_services() -> None:
    made = import_bytes("itinerary", "plan.csv", ROADBOOK.encode(), first_day=date(2027, 6, 12))
    assert [row["ref"] for row in made.rows] == [
        "TC0", "SS1", "TC1A", "TC1B", "TC2", "SS2",
    ]  # fmt: skip
    assert [row["leg"] for row in made.rows] == ["1", "1", "1", "1", "2", "2"]
    assert made.rows[0]["first_car_due"] == "2027-06-12 08:00"
    assert made.rows[4]["first_car_due"] == "2027-06-13 08:00"
    assert [made.rows[at].get("service") for at in (1, 2, 3)] == [None, "A", "A"]
    assert made.rows[3]["target_min"] == "0:30"
    # The international mile of 1959 is 1609.344 m.
    assert made.rows[1]["ss_km"] == "16.0934"
    assert any("begins leg 2" in note for note in made.notes)


def test_a_night_between_the_times_begins_a_leg_but_midnight_does_not() -> None:
    times = ("22:00", "23:50", "00:40", "08:00", "09:00")
    rows = [{"ref": f"TC{n}", "first_car_due": time} for n, time in enumerate(times)]
    made = made_of("itinerary", rows, first_day=date(2027, 6, 12))
    assert [row["leg"] for row in made.rows] == ["1", "1", "1", "1", "1"]
    late = [{"ref": "TC0", "first_car_due": "14:07"}, {"ref": "TC1", "first_car_due": "08:00"}]
    made = made_of("itinerary", late, first_day=date(2027, 6, 12))
    assert [row["leg"] for row in made.rows] == ["1", "2"]
    assert made.rows[1]["first_car_due"] == "2027-06-13 08:00"


MARKED = """\
Mark;Brand;Pattern;Rubber;Tread depth;Condition
K1;Invented;Block;soft;8,0;new
K2;Invented;Block;soft;6,1;used
K2;Invented;Block;soft;5,9;used
K3;Invented;Mud;wet;9,0;new
"""


def test_tyres_known_by_their_marks_only() -> None:
    made = import_bytes("stock", "tyres.csv", MARKED.encode())
    assert [row["tyre_id"] for row in made.rows] == ["K1", "K2", "K2-2", "K3"]
    assert [row["compound"] for row in made.rows] == ["soft", "soft", "soft", "wet"]
    assert [row["tread_new_mm"] for row in made.rows] == ["8.0", "8.0", "8.0", "9.0"]
    # What a rain tyre is for says nothing of the others, however often the table is looked at.
    again = made_of("stock", made.rows)
    assert [row.get("use", "") for row in again.rows] == ["", "", "", "asphalt_wet"]


def test_rows_named_in_a_fault_are_those_on_screen(texts: dict[str, str]) -> None:
    made = made_of("stock", import_bytes("stock", "s", texts["stock.csv"].encode()).rows)
    rows = [dict(row) for row in made.rows]
    rows[2]["tyre_id"] = rows[1]["tyre_id"]
    made = made_of("stock", rows)
    faults = faults_in(made, check_texts({**texts, "stock.csv": made.text}))
    assert any("rows 2 and 3" in fault.what for fault in faults)


def test_a_forecast_without_its_issue_is_there_before_its_first_hour() -> None:
    made = made_of("weather", [{"time": "2027-06-12 10:00", "air_c": "18"}])
    assert made.rows[0]["issued"] == "2027-06-12 00:00"
