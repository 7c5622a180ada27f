"""How a table is read: what is forgiven, what is named, what is refused at once."""

import time

import pytest

from crewdesk.documents.faults import Findings
from crewdesk.documents.tables import decode, read_table

KNOWN = ("name", "depth_mm", "note")
NEEDED = ("name", "depth_mm")


def read(text: str) -> tuple[object, Findings]:
    found = Findings()
    return read_table("t.csv", text, KNOWN, NEEDED, found), found


def cells(text: str) -> list[dict[str, str]]:
    table, found = read(text)
    assert found.faults == []
    return [dict(row.cells) for row in table.rows]


def only(found: Findings) -> str:
    assert len(found.faults) == 1, [str(fault) for fault in found.faults]
    return str(found.faults[0])


def test_byte_order_mark_is_no_part_of_the_heading() -> None:
    assert cells("\ufeffname,depth_mm\nA,3\n") == [{"name": "A", "depth_mm": "3"}]


def test_comment_lines_are_skipped_and_kept() -> None:
    table, _ = read("# one\nname,depth_mm\n# two\nA,3\n")
    assert table.comments == ("# one", "# two")
    assert [row.line for row in table.rows] == [4]


def test_cell_with_comma_and_line_break() -> None:
    assert cells('name,depth_mm\n"A, the\nfirst",3\n')[0]["name"] == "A, the\nfirst"


def test_heading_words_may_be_in_capitals() -> None:
    assert cells("Name,DEPTH_MM\nA,3\n") == [{"name": "A", "depth_mm": "3"}]


def test_unknown_column_is_kept_and_named() -> None:
    table, found = read("name,depth_mm,shelf\nA,3,top\n")
    assert table.unknown == ("shelf",)
    assert '"shelf"' in found.notes[0]


def test_missing_column_is_named() -> None:
    table, found = read("name,note\nA,x\n")
    assert table is None
    assert "depth_mm is missing" in only(found)


def test_column_twice_is_named() -> None:
    _, found = read("name,depth_mm,name\nA,3,B\n")
    assert '"name" comes twice' in only(found)


def test_half_a_row_is_named_by_its_line() -> None:
    _, found = read("name,depth_mm,note\nA,3,x\nB,4\n")
    assert only(found).startswith("t.csv row 3: The row ends after 2 of 3 cells.")


def test_comma_decimal_that_splits_a_cell_is_explained() -> None:
    _, found = read("name,depth_mm\nA,9,5\n")
    assert "9.5, not 9,5" in only(found)


@pytest.mark.parametrize(("sign", "word"), [(";", "semicolons"), ("\t", "tabs")])
def test_other_separators_are_named(sign: str, word: str) -> None:
    _, found = read(f"name{sign}depth_mm\nA{sign}9,5\n")
    assert word in only(found)


@pytest.mark.parametrize("text", ["", "\n\n", "# only a comment\n", ",,,\n"])
def test_empty_file(text: str) -> None:
    _, found = read(text)
    assert "The file is empty." in only(found)


def test_open_quotation_mark_is_one_fault() -> None:
    _, found = read('name,depth_mm\nA,3\n"B,4\nC,5\nD,6\n')
    assert only(found).startswith("t.csv row 3: The row cannot be split")


def test_endless_cell_is_one_fault() -> None:
    _, found = read("name,depth_mm\n" + "A" * 200_000 + ",3\n")
    assert only(found).startswith("t.csv row 2: A cell is far too long.")


def test_unknown_heading_is_one_fault() -> None:
    _, found = read("x,y\n1,2\n3,4\n")
    assert "No column is known" in only(found)


def test_noise_under_a_heading_stays_few_faults() -> None:
    _, found = read("name,depth_mm\n" + "zzz\n" * 5000)
    assert len(found.faults) == 41
    assert "4960 more rows" in str(found.faults[-1])


@pytest.mark.parametrize(
    "noise",
    ["\u2603q,w\r" * 250_000, '"' * 1_000_001, "a" * 3_000_000, "a,;\x0b\x1c\u2028" * 500_000],
    ids=["lines", "quotes", "one_cell", "breaks"],
)
def test_noise_is_answered_fast(noise: str) -> None:
    start = time.perf_counter()
    _, found = read(noise)
    assert time.perf_counter() - start < 3
    assert 1 <= len(found.faults) <= 3


@pytest.mark.parametrize(
    ("data", "word"),
    [
        (b"PK\x03\x04rest", "spreadsheet"),
        ("näme".encode("utf-16"), "UTF-16"),
        (b"\x7fELF\x00\x01", "not a text file"),
        (b"name,depth_mm\nn\xe4me,3\n", "UTF-8"),
        (b"x" * 10_000_000, "10.0 MB"),
    ],
    ids=["zip", "utf16", "binary", "latin1", "big"],
)
def test_what_is_no_utf8_text_is_one_fault(data: bytes, word: str) -> None:
    found = Findings()
    assert decode("t.csv", data, found) is None
    assert word in only(found)


def test_wrong_letter_is_named_by_its_row() -> None:
    found = Findings()
    decode("t.csv", b"name\nA\nn\xe4me\n", found)
    assert found.faults[0].where == "row 3"
