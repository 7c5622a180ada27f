"""``crewdesk import`` and the window understand a table alike; the command's exit codes."""

import shutil
from pathlib import Path

import pytest

from crewdesk.assets import shipped
from crewdesk.cli import main
from crewdesk.documents.store import load_event
from crewdesk.gui.pages.new_event_table import TableSection

PLAN = """\
Day;TC;SS;Location;SS dist;Liaison;Target time;First car due;Surface
1;TC0;;Showground, start;;;;16/05/2026 08h30;
;TC1;;Ombrick;;(11,20);0:15;08:45;
;;SS1;Ombrick 1;6,8;;0:03;08:48;gravel
;TC1B;;Showground, Service A IN;;14,60;0:29;09:17;
;TC1C;;Showground, Service A OUT;;;0:30;09:47;
;TC2;;Long Perrin;;8,90;0:12;09:59;
;;SS2;Long Perrin;10,20;;0:03;10:02;gravel
;TC2C;;Showground, finish;;9,30;0:22;10:24;
"""


@pytest.fixture
def event(tmp_path):
    folder = tmp_path / "event"
    shutil.copytree(str(shipped("demo_events").joinpath("saldrey")), folder)
    return folder


@pytest.fixture
def plan(tmp_path):
    path = tmp_path / "plan.csv"
    path.write_text(PLAN, encoding="utf-8")
    return path


def test_the_command_brings_a_table_in_and_says_what_it_understood(event, plan, capsys):
    assert main(["import", "itinerary", str(plan), "--into", str(event)]) == 0
    said = capsys.readouterr().out
    assert "'Day' read as leg" in said
    assert "Decimal commas read as points" in said
    assert "tyres may be changed: TC1C" in said
    assert "itinerary.before.csv" in said
    assert load_event(event).itinerary.stage("SS2").km == pytest.approx(10.20)


def test_looking_changes_nothing(event, plan, capsys):
    before = {path.name: path.read_bytes() for path in event.iterdir()}
    assert main(["import", "itinerary", str(plan), "--into", str(event), "--look"]) == 0
    assert "Nothing was changed" in capsys.readouterr().out
    assert {path.name: path.read_bytes() for path in event.iterdir()} == before


def test_every_fault_is_said_with_its_row_and_nothing_is_changed(event, plan, capsys):
    before = {path.name: path.read_bytes() for path in event.iterdir()}
    plan.write_text(PLAN.replace(";gravel", ";mud"), encoding="utf-8")
    assert main(["import", "itinerary", str(plan), "--into", str(event)]) == 1
    said = capsys.readouterr()
    assert 'plan.csv row 4, surface: "mud" is not known here.' in said.err
    assert 'plan.csv row 8, surface: "mud" is not known here.' in said.err
    assert "8 rows" in said.out
    assert {path.name: path.read_bytes() for path in event.iterdir()} == before


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["tyres", "plan.csv", "--into", "event"], 2),
        (["itinerary", "plan.csv"], 2),
        (["itinerary", "plan.csv", "--into", "event", "--first-day", "Friday"], 2),
        (["itinerary", "nowhere.csv", "--into", "event"], 1),
        (["itinerary", "plan.csv", "--into", "nowhere"], 1),
        (["weather", "plan.csv", "--into", "event"], 1),
    ],
)
def test_exit_codes(event, plan, capsys, monkeypatch, words, code):
    monkeypatch.chdir(plan.parent)
    try:
        ended = main(["import", *words])
    except SystemExit as end:
        ended = end.code
    assert ended == code
    assert "Traceback" not in capsys.readouterr().err


def test_times_without_a_date_take_the_first_day(event, plan):
    plan.write_text(PLAN.replace("16/05/2026 08h30", "08:30"), encoding="utf-8")
    command = ["import", "itinerary", str(plan), "--into", str(event)]
    assert main(command) == 1
    assert main([*command, "--first-day", "2026-05-16"]) == 0
    assert load_event(event).itinerary.rows[0].first_car_due is not None


@pytest.mark.parametrize("kind", ["itinerary", "stock", "weather"])
@pytest.mark.parametrize("sign", [",", ";"])
def test_window_and_command_make_the_same_of_a_table(app, event, tmp_path, kind, sign):
    source = tmp_path / Path(f"{kind}.txt")
    text = (event / f"{kind}.csv").read_text(encoding="utf-8")
    source.write_text(text if sign == "," else semicolons(text), encoding="utf-8")
    section = TableSection(kind, kind, "")
    assert section.take_file(source)
    in_window = section.make().text
    assert main(["import", kind, str(source), "--into", str(event)]) == 0
    assert (event / f"{kind}.csv").read_text(encoding="utf-8") == in_window


def semicolons(text):
    import csv
    import io

    out = io.StringIO()
    rows = [line for line in text.splitlines() if not line.startswith("#")]
    csv.writer(out, delimiter=";", lineterminator="\n").writerows(csv.reader(rows))
    return out.getvalue()
