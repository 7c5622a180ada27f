"""Tables as others write them, brought into an event."""

import zipfile
from pathlib import Path

import pytest

from crewdesk.documents.importing import import_into, import_table
from crewdesk.documents.store import load_event
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
        (b"", "no heading of stock columns"),
        (b"PK\x03\x04broken", "cannot be read as a spreadsheet"),
        (b"\x00\x01\x02", "not a text file"),
        (b"n\xe4me", "not UTF-8"),
    ],
)
def test_what_is_no_table_is_refused(tmp_path: Path, data: bytes, words: str) -> None:
    source = tmp_path / "x.csv"
    source.write_bytes(data)
    with pytest.raises(DocumentError, match=words):
        import_table("stock", source)


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
