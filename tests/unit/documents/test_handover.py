"""The handover opens as the next event's stock."""

import datetime
from pathlib import Path
from uuid import UUID

import pytest

from crewdesk.documents.handover import (
    Counts,
    Handover,
    HandoverTyre,
    RunAt,
    handover_text,
    stock_rows_from_handover,
    stock_text_from_handover,
)
from crewdesk.documents.store import check_event, load_event, load_from_texts


def tyre(tyre_id: str, state: str = "keep", **more: object) -> HandoverTyre:
    values: dict[str, object] = {
        "tyre_id": tyre_id,
        "mark": f"XX-{tyre_id}",
        "maker": "Vellmark",
        "model": "Harrow",
        "compound": "soft",
        "use": "gravel",
        "size": "16/64-15",
        "rim": "6Jx15",
        "dot": "0226",
        "e_mark": True,
        "service_desc": "88T",
        "tread_new_mm": 9.5,
        "tread_mm": (6.9, 6.7, 6.5),
        "tread_source": "measured",
        "edge_share": (0.5, 0.4, 0.3),
        "stage_km": 33.9,
        "event_km": 33.9,
        "heat_cycles": 2,
        "price": 168.0,
        "first_mounted": "2026-05-16",
        "runs": (RunAt(stage="SS1", place="FL", km=6.8),),
        "state": state,
    }
    return HandoverTyre.model_validate({**values, **more})


def handover(*tyres: HandoverTyre) -> Handover:
    return Handover(
        event_id=UUID(int=5),
        event="Saldrey Forest Day",
        first_day=datetime.date(2026, 5, 16),
        last_day=datetime.date(2026, 5, 16),
        zone="Etc/GMT-2",
        regulation_set="Day Gravel",
        counts=Counts(used=8, limit=8, by_compound={"medium": 6, "soft": 2}),
        tyres=tyres,
        lessons=("Rain came two hours before the forecast.",),
    )


NEVER_RUN = {
    "tread_mm": (9.5, 9.5, 9.5),
    "edge_share": (1.0, 1.0, 1.0),
    "stage_km": 0.0,
    "event_km": 0.0,
    "heat_cycles": 0,
    "first_mounted": "",
    "runs": (),
}


def test_text_reads_back_as_it_was() -> None:
    whole = handover(tyre("S01"), tyre("S02", "hold"))
    assert Handover.model_validate_json(handover_text(whole)) == whole


def test_opens_as_the_next_stock(texts: dict[str, str]) -> None:
    texts["stock.csv"] = stock_text_from_handover(handover(tyre("S01")))
    got = load_from_texts(texts).stock.tyre("S01")
    assert (got.mark, got.location, got.new, got.registered) == ("", "stock", False, False)
    assert got.tread_mm == (6.9, 6.7, 6.5)
    assert got.edge_share == (0.5, 0.4, 0.3)
    assert (got.stage_km, got.heat_cycles, got.price) == (33.9, 2, 168.0)


def test_tyre_that_never_ran_is_still_new(texts: dict[str, str]) -> None:
    texts["stock.csv"] = stock_text_from_handover(handover(tyre("S01", **NEVER_RUN)))
    assert load_from_texts(texts).stock.tyre("S01").new


@pytest.mark.parametrize(
    ("state", "lock", "counts"),
    [
        ("keep", "", "event"),
        ("hold", "hold", "event"),
        ("scrap", "scrap", "none"),
        ("test", "", "none"),
    ],
)
def test_state_decides_what_the_tyre_may_do(state: str, lock: str, counts: str) -> None:
    (row,) = stock_rows_from_handover(handover(tyre("S01", state)))
    assert (row["lock"], row["counts_against"]) == (lock, counts)


def test_unknown_columns_go_along(texts: dict[str, str]) -> None:
    texts["stock.csv"] = stock_text_from_handover(
        handover(tyre("S01", extra={"shelf": "top"}), tyre("S02"))
    )
    assert load_from_texts(texts).stock.tyre("S01").extra == {"shelf": "top"}


def test_unknown_km_stays_unknown() -> None:
    (row,) = stock_rows_from_handover(handover(tyre("S01", stage_km=None)))
    assert (row["stage_km"], row["condition"]) == ("", "used")


def test_folder_with_a_handover_and_no_stock_table_opens_with_its_tyres(folder: Path) -> None:
    (folder / "stock.csv").unlink()
    (folder / "handover.json").write_text(handover_text(handover(tyre("S01"), tyre("S02"))))
    event = load_event(folder)
    assert [t.tyre_id for t in event.stock.tyres] == ["S01", "S02"]
    assert [t.mark for t in event.stock.tyres] == ["", ""]
    assert any("taken from handover.json" in note for note in event.notes)
    # What the book keeps stands alone.
    assert load_from_texts(event.source_files).stock == event.stock


def test_stock_table_wins_over_a_handover_beside_it(folder: Path) -> None:
    before = load_event(folder).stock
    (folder / "handover.json").write_text(handover_text(handover(tyre("Z99"))))
    assert load_event(folder).stock == before


@pytest.mark.parametrize(
    ("text", "words"), [('{"format": 9}', "newer program"), ("noise", "cannot be read")]
)
def test_bad_handover_is_named_and_the_stock_not_called_missing(
    folder: Path, text: str, words: str
) -> None:
    (folder / "stock.csv").unlink()
    (folder / "handover.json").write_text(text)
    faults = check_event(folder).faults
    assert [fault.file for fault in faults] == ["handover.json"]
    assert words in faults[0].what
