"""Tables back to files: nothing lost, and never half a file."""

import os
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from crewdesk.documents.store import load_from_texts
from crewdesk.documents.writer import (
    csv_line,
    edited_table,
    itinerary_text,
    stock_text,
    write_atomic,
)
from crewdesk.errors import DocumentError


def test_stock_reads_back_as_it_was(texts: dict[str, str]) -> None:
    bundle = load_from_texts(texts)
    texts["stock.csv"] = stock_text(bundle.stock)
    again = load_from_texts(texts)
    # What was assumed stands in the table afterwards, so it is no assumption any more.
    bare = [tyre.model_copy(update={"assumed": ()}) for tyre in bundle.stock.tyres]
    for was, now in zip(bare, again.stock.tyres, strict=True):
        assert now.model_dump(exclude={"edge_share"}) == was.model_dump(exclude={"edge_share"})
        assert now.edge_share == pytest.approx(was.edge_share)


def test_itinerary_reads_back_as_it_was(texts: dict[str, str]) -> None:
    bundle = load_from_texts(texts)
    texts["itinerary.csv"] = itinerary_text(bundle.itinerary, ZoneInfo(bundle.event.zone))
    assert load_from_texts(texts).itinerary == bundle.itinerary


def test_comments_and_unknown_columns_are_kept(edit) -> None:
    rows = edit.rows("stock.csv")
    edit.put("stock.csv", [[*row, "shelf" if i == 0 else "top"] for i, row in enumerate(rows)])
    edit.texts["stock.csv"] = "# from the van\n" + edit.texts["stock.csv"]
    text = stock_text(load_from_texts(edit.texts).stock)
    edit.texts["stock.csv"] = text
    again = load_from_texts(edit.texts).stock
    assert again.comments == ("# from the van",)
    assert again.tyre("S01").extra == {"shelf": "top"}


def test_edit_changes_one_cell_and_no_other_line() -> None:
    text = '# a\nname,depth,shelf\r\nA,3,top\n# b\n"B, x",4,low\n'
    got = edited_table(text, "name", {"A": {"depth": "2.5"}})
    assert got == '# a\nname,depth,shelf\r\nA,2.5,top\n# b\n"B, x",4,low\n'


def test_edit_adds_rows_at_the_end() -> None:
    got = edited_table("name,depth\nA,3", "name", {}, [{"name": "B", "depth": "4"}])
    assert got == "name,depth\nA,3\nB,4\n"


@pytest.mark.parametrize("changes", [{"Z": {"depth": "1"}}, {"A": {"width": "1"}}])
def test_edit_of_what_is_not_there(changes: dict[str, dict[str, str]]) -> None:
    with pytest.raises(KeyError):
        edited_table("name,depth\nA,3\n", "name", changes)


def test_first_cell_with_a_hash_is_no_comment() -> None:
    assert csv_line(["#1", "a,b"]) == '"#1","a,b"\n'


def test_write_replaces_the_whole_file(tmp_path: Path) -> None:
    path = tmp_path / "stock.csv"
    path.write_text("old and longer", encoding="utf-8")
    write_atomic(path, "new ä\n")
    assert path.read_bytes() == "new ä\n".encode()
    assert [entry.name for entry in tmp_path.iterdir()] == ["stock.csv"]


def test_refused_write_leaves_the_file_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "stock.csv"
    path.write_text("old", encoding="utf-8")

    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(DocumentError, match="no space left on device"):
        write_atomic(path, "new")
    assert path.read_text(encoding="utf-8") == "old"
    assert [entry.name for entry in tmp_path.iterdir()] == ["stock.csv"]


def test_write_into_a_missing_folder_says_so(tmp_path: Path) -> None:
    with pytest.raises(DocumentError, match="could not be written"):
        write_atomic(tmp_path / "nowhere" / "stock.csv", "x")
