"""The command line as a contract: what comes out, where, and with which exit code."""

import argparse
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from crewdesk import cli
from crewdesk.assets import shipped

SCRIPT = Path(__file__).parents[1] / "data" / "scripts" / "quellhaven.jsonl"
QUELLHAVEN = str(shipped("demo_events").joinpath("quellhaven"))
FEW = ("--scenarios", "2")


@pytest.fixture
def run(capsys):
    """Run a command line and return exit code, output and errors."""

    def go(*words):
        try:
            code = cli.main([str(word) for word in words])
        except SystemExit as end:
            code = end.code
        out, err = capsys.readouterr()
        return code, out, err

    return go


def outside(*words, env=None, **options):
    """Run in a process of its own, without any screen."""
    clean = {
        k: v
        for k, v in os.environ.items()
        if k not in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
    }
    root = str(Path(cli.__file__).parents[1])
    clean["PYTHONPATH"] = root
    return subprocess.run(
        [sys.executable, "-m", "crewdesk", *words],
        capture_output=True,
        text=True,
        timeout=120,
        env={**clean, **(env or {})},
        check=False,
        **options,
    )


def test_every_command_has_help():
    _, commands = cli.build_parser()
    wanted = {
        *("check", "call", "judge", "enter", "backtest"),
        *("import", "book", "handover", "schema"),
    }
    assert set(commands) == wanted
    for parser in commands.values():
        assert parser.description
        for action in parser._actions:
            assert action.help, (parser.prog, action.dest)
            assert action.help is not argparse.SUPPRESS


@pytest.mark.parametrize(
    "words",
    [
        ("call",),
        ("call", QUELLHAVEN, "--air-c", "warm"),
        ("call", QUELLHAVEN, "--lock", "XX=H01"),
        ("call", QUELLHAVEN, "--scenarios", "0"),
        ("call", QUELLHAVEN, "--nonsense"),
        ("judge", QUELLHAVEN),
        ("fly", QUELLHAVEN),
        ("schema", "nothing"),
    ],
)
def test_wrong_usage_ends_with_2(run, words):
    code, out, err = run(*words)
    assert code == 2
    assert out == ""
    assert err


def test_a_sound_event_passes_the_check(run):
    code, out, err = run("check", QUELLHAVEN)
    assert (code, err) == (0, "")
    assert "No fault found" in out


def test_all_faults_are_listed(run, tmp_path):
    for name in ("event.json", "itinerary.csv", "stock.csv"):
        text = Path(QUELLHAVEN, name).read_text(encoding="utf-8")
        if name == "stock.csv":
            text = text.replace("H02,QH", "H01,QH").replace(
                "H05,QH-2005,Vellmark", "H05,QH-2005,"
            )
        (tmp_path / name).write_text(text, encoding="utf-8")
    code, _, err = run("check", tmp_path)
    assert code == 1
    assert "2 faults found." in err
    code, out, _ = run("check", tmp_path, "--json")
    assert code == 1
    assert len(json.loads(out)["faults"]) == 2


def test_a_missing_event_is_said_plainly(run, tmp_path):
    for words in (("call", tmp_path / "no"), ("check", tmp_path / "no")):
        code, out, err = run(*words)
        assert (code, out) == (1, "")
        assert "There is no such folder" in err
        assert "Traceback" not in err


def test_the_call_as_json(run):
    code, out, err = run("call", QUELLHAVEN, "--at", "E", *FEW, "--json")
    assert (code, err) == (0, "")
    call = json.loads(out)
    assert (call["format"], call["place"], call["scenarios"]) == (1, "E", 2)


def test_the_call_in_words(run):
    code, out, _ = run("call", QUELLHAVEN, "--at", "E", *FEW)
    assert code == 0
    assert out.startswith("Quellhaven Gravel Weekend: E")


def test_a_demo_event_may_be_named_alone(run):
    code, out, _ = run("call", "quellhaven", "--at", "E", *FEW)
    assert code == 0
    assert out.startswith("Quellhaven")


def test_a_place_without_a_change_is_refused_with_the_list(run):
    code, out, err = run("call", QUELLHAVEN, "--at", "F")
    assert (code, out) == (1, "")
    assert "A, B, C, D, TC8C, E" in err


def test_no_plan_is_an_answer(run):
    words = ("call", QUELLHAVEN, "--at", "E", *FEW, "--json", "--ban", "hard", "--ban", "soft")
    code, out, _ = run(*words)
    call = json.loads(out)
    assert code == 0
    assert call["fitting"] is None
    assert call["lift"]
    assert {"code", "what"} == set(call["lift"][0])


def test_judging_what_the_call_printed(run, tmp_path):
    words = (QUELLHAVEN, "--at", "E", *FEW, "--json")
    _, out, _ = run("call", *words)
    (tmp_path / "call.json").write_text(out, encoding="utf-8")
    code, told, _ = run("judge", *words, "--plan", tmp_path / "call.json")
    assert code == 0
    call, judged = json.loads(out), json.loads(told)
    assert judged["objective_s"] == pytest.approx(call["objective_s"], abs=1e-6)
    assert judged["breaches"] == []


def test_a_plan_of_unknown_tyres_is_said_plainly(run, tmp_path):
    plan = tmp_path / "plan.json"
    plan.write_text('{"fitting": {"FL":"Z1","FR":"Z2","RL":"Z3","RR":"Z4"}}', encoding="utf-8")
    code, _, err = run("judge", QUELLHAVEN, "--plan", plan)
    assert code == 1
    assert "Z1 at FL is not in the stock" in err


def test_the_walk_through_is_entered(run, tmp_path):
    book = tmp_path / "q.daybook"
    words = ("enter", QUELLHAVEN, "--book", book, SCRIPT)
    code, out, err = run(*words, "--keep-going")
    answers = [json.loads(line) for line in out.splitlines()]
    lines = SCRIPT.read_text(encoding="utf-8").splitlines()
    assert len(answers) == len(lines)
    assert set(answers[0]) == {"line", "accepted", "id", "messages", "counters"}
    assert code == 1, "three lines are refused"
    assert err.count("was not taken") == 3
    assert answers[-1]["counters"]["used"] == 17
    code, out, _ = run("book", QUELLHAVEN, "--book", book)
    assert code == 0
    assert "as found" in out
    code, out, _ = run("book", QUELLHAVEN, "--book", book, "--verify")
    assert (code, "no fault found" in out) == (0, True)
    code, out, _ = run("book", QUELLHAVEN, "--book", book, "--export", "-")
    assert code == 0
    assert len([json.loads(line) for line in out.splitlines()]) == 71
    code, out, _ = run("handover", QUELLHAVEN, "--book", book, "--to", tmp_path / "out")
    assert code == 0
    assert [Path(p).name for p in out.splitlines()] == [
        "handover.json",
        "tyres.csv",
        "handover.html",
    ]
    code, _, err = run("call", QUELLHAVEN, "--book", book)
    assert code == 1
    assert "behind the car" in err


def test_the_first_refused_line_ends_the_run(run, tmp_path):
    code, out, _ = run("enter", QUELLHAVEN, "--book", tmp_path / "q.daybook", SCRIPT)
    assert code == 1
    assert len(out.splitlines()) == 6


def test_a_call_never_writes_a_book(run, tmp_path):
    book = tmp_path / "q.daybook"
    code, _, err = run("call", QUELLHAVEN, "--book", book)
    assert code == 1
    assert "There is no day book" in err
    run("enter", QUELLHAVEN, "--book", book, "--keep-going", SCRIPT)
    before = book.read_bytes()
    run("call", QUELLHAVEN, "--book", book)
    assert book.read_bytes() == before


def test_a_damaged_book_is_not_sound(run, tmp_path):
    book = tmp_path / "q.daybook"
    run("enter", QUELLHAVEN, "--book", book, "--keep-going", SCRIPT)
    book.write_bytes(book.read_bytes()[:5000])
    code, out, err = run("book", QUELLHAVEN, "--book", book, "--verify")
    assert (code, out) == (1, "")
    assert err


def test_schemas_are_json(run):
    for kind in ("entry", "event", "stock", "itinerary", "weather", "handover"):
        code, out, _ = run("schema", kind)
        assert code == 0
        assert "$schema" in json.loads(out)


def test_a_fault_of_ours_leaves_a_report_and_no_traceback(run, monkeypatch, own_folders):
    def broken(_given):
        raise RuntimeError("boom")

    monkeypatch.setattr(cli, "_schema", broken)
    code, out, err = run("schema", "entry")
    assert (code, out) == (1, "")
    assert "Traceback" not in err
    report = Path(err.rsplit(" in ", 1)[1].strip().removesuffix("."))
    assert report.is_relative_to(own_folders)
    assert "boom" in report.read_text(encoding="utf-8")


def test_interrupting_is_quiet(run, monkeypatch):
    def stopped(_given):
        raise KeyboardInterrupt

    monkeypatch.setattr(cli, "_schema", stopped)
    code, out, err = run("schema", "entry")
    assert (code, out, err) == (130, "", "")


def test_without_a_screen_the_call_is_printed():
    done = outside("saldrey")
    assert done.returncode == 0
    assert done.stderr == (
        "There is no screen here, so the call is printed instead of the window.\n"
    )
    assert done.stdout.startswith("Saldrey Forest Day: start")


def test_nothing_heavy_is_loaded_for_help():
    code = (
        "import sys; from crewdesk.cli import main\n"
        "try: main(['--help'])\n"
        "except SystemExit: pass\n"
        "heavy = {'numpy', 'pydantic', 'PySide6', 'pyqtgraph', 'highspy', 'sqlite3'}\n"
        "sys.exit(1 if heavy & set(sys.modules) else 0)"
    )
    root = str(Path(cli.__file__).parents[1])
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        env={**os.environ, "PYTHONPATH": root},
        check=False,
    )
    assert done.returncode == 0, done.stderr


def test_a_closed_pipe_is_quiet():
    root = str(Path(cli.__file__).parents[1])
    command = f'"{sys.executable}" -m crewdesk schema event | head -c 10'
    done = subprocess.run(
        ["bash", "-o", "pipefail", "-c", command],
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": root},
        check=False,
    )
    assert done.stderr == ""
    assert len(done.stdout) == 10
