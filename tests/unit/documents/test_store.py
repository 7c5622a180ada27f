"""An event as a folder: missing files, unreadable ones, and what the error says."""

from pathlib import Path

import pytest

from crewdesk.documents.store import check_event, load_event, load_from_texts
from crewdesk.errors import DocumentError


def test_folder_and_texts_give_the_same_event(folder: Path, texts: dict[str, str]) -> None:
    assert load_event(folder) == load_from_texts(texts)


def test_bundle_opens_again_from_the_texts_it_keeps(folder: Path) -> None:
    bundle = load_event(folder)
    assert load_from_texts(bundle.source_files) == bundle


def test_rules_of_the_set_come_with_the_event(folder: Path) -> None:
    assert load_event(folder).regulation_set.name == "Day Gravel"


def test_no_such_folder(tmp_path: Path) -> None:
    (fault,) = check_event(tmp_path / "nowhere").faults
    assert "There is no such folder." in str(fault)


def test_file_in_place_of_a_folder(folder: Path) -> None:
    (fault,) = check_event(folder / "event.json").faults
    assert "There is no such folder." in str(fault)


@pytest.mark.parametrize("name", ["event.json", "itinerary.csv", "stock.csv"])
def test_missing_file_is_one_fault(folder: Path, name: str) -> None:
    (folder / name).unlink()
    (fault,) = check_event(folder).faults
    assert (fault.file, fault.what) == (name, "The file is missing.")


def test_empty_folder_names_the_three_files_it_needs(tmp_path: Path) -> None:
    assert [fault.file for fault in check_event(tmp_path).faults] == [
        "event.json",
        "itinerary.csv",
        "stock.csv",
    ]


def test_folder_in_place_of_a_file(folder: Path) -> None:
    (folder / "stock.csv").unlink()
    (folder / "stock.csv").mkdir()
    (fault,) = check_event(folder).faults
    assert "The file cannot be read" in str(fault)


@pytest.mark.parametrize("name", ["event.json", "itinerary.csv", "stock.csv", "weather.csv"])
@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\x00\x01\x02" * 500,
        b"\xff\xfeA\x00",
        b"PK\x03\x04",
        b"\xe4\xf6",
        b"z" * 10_000_000,
    ],
    ids=["empty", "binary", "utf16", "zip", "latin1", "noise"],
)
def test_wrong_file_under_a_name_is_one_fault_of_that_file(
    folder: Path, name: str, data: bytes
) -> None:
    (folder / name).write_bytes(data)
    (fault,) = check_event(folder).faults
    assert fault.file == name


def test_spreadsheet_marks_its_text_and_it_is_read(folder: Path) -> None:
    stock = folder / "stock.csv"
    stock.write_bytes(b"\xef\xbb\xbf" + stock.read_bytes())
    assert load_event(folder).stock.tyre("S01").mark == "SD-0101"


def test_error_names_five_faults_and_counts_the_rest(edit) -> None:
    for ref in ("SS1", "SS2", "SS3", "SS4", "SS5", "SS6"):
        edit.cell("itinerary.csv", ref, "ss_km", "long")
    edit.cell("stock.csv", "S01", "dot", "9999")
    with pytest.raises(DocumentError) as caught:
        load_from_texts(edit.texts)
    lines = str(caught.value).splitlines()
    assert sum(line.startswith("itinerary.csv") for line in lines) == 5
    assert lines[-1].startswith("... and 2 more faults. Put this right")
    assert len(edit.report().faults) == 7


def test_faults_of_all_files_are_found_in_one_go(edit) -> None:
    edit.event(lambda raw: raw["car"].update(mass_kg=1))
    edit.cell("itinerary.csv", "SS1", "ss_km", "long")
    edit.cell("stock.csv", "S01", "dot", "9999")
    edit.cell("weather.csv", "2026-05-16 06:00", "air_c", "warm")
    assert {fault.file for fault in edit.report().faults} == {
        "event.json",
        "itinerary.csv",
        "stock.csv",
        "weather.csv",
    }


def test_good_event_has_no_fault(edit) -> None:
    assert edit.report().ok
