"""What may be loaded by whom, and what must be written where."""

import argparse
import ast
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
CORE = (
    "crewdesk.assets",
    "crewdesk.conditions",
    "crewdesk.desk",
    "crewdesk.documents",
    "crewdesk.engine",
    "crewdesk.errors",
    "crewdesk.journal",
    "crewdesk.physics",
    "crewdesk.regulations",
    "crewdesk.units",
)
WINDOW_LIBRARIES = ("PySide6", "shiboken6", "pyqtgraph")


def modules_of(package: str) -> list[str]:
    """Return a package's modules, found as files so that none is loaded here."""
    base = ROOT.joinpath(*package.split("."))
    if not base.is_dir():
        return [package]
    found = []
    for path in sorted(base.rglob("*.py")):
        parts = path.relative_to(ROOT).with_suffix("").parts
        found.append(".".join(parts[:-1] if parts[-1] == "__init__" else parts))
    return found


def loaded_after(code: str) -> tuple[set[str], str]:
    """Run code in a fresh interpreter; return what it has loaded and what it printed."""
    tail = (
        "\nimport sys as _sys\n"
        "print('LOADED ' + ' '.join(sorted({m.split('.')[0] for m in _sys.modules})))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code + tail],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    printed, _, names = done.stdout.rpartition("LOADED ")
    return set(names.split()), printed


@pytest.mark.parametrize("package", CORE)
def test_core_loads_no_window_library(package: str):
    loaded, _ = loaded_after("\n".join(f"import {name}" for name in modules_of(package)))
    assert not loaded & set(WINDOW_LIBRARIES)


def test_every_part_of_the_core_is_looked_at():
    contracts = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["importlinter"]
    layers = next(c for c in contracts["contracts"] if c["type"] == "layers")["layers"]
    named = {f"crewdesk.{part.strip()}" for layer in layers for part in layer.split("|")}
    assert named - {"crewdesk.cli", "crewdesk.gui"} == set(CORE)


def test_physics_is_numbers_only():
    loaded, _ = loaded_after("\n".join(f"import {n}" for n in modules_of("crewdesk.physics")))
    assert not loaded & {"pydantic", "sqlite3"}


def test_help_loads_neither_the_window_nor_arrays():
    code = (
        "from crewdesk.cli import main\n"
        "try:\n    main(['--help'])\n"
        "except SystemExit as end:\n    assert not end.code, end.code\n"
    )
    loaded, printed = loaded_after(code)
    assert "call" in printed
    assert not loaded & {*WINDOW_LIBRARIES, "numpy", "scipy", "highspy"}


def test_only_the_charts_load_the_plotting_library():
    pattern = re.compile(r"^\s*(?:import|from) pyqtgraph", re.MULTILINE)
    users = [
        str(path.relative_to(ROOT / "crewdesk"))
        for path in sorted((ROOT / "crewdesk").rglob("*.py"))
        if pattern.search(path.read_text(encoding="utf-8"))
    ]
    assert users
    assert all(user.startswith("gui/charts/") for user in users), users


def walk(parser: argparse.ArgumentParser) -> list[tuple[str, argparse.ArgumentParser]]:
    """Return every command with its parser, the program itself left out."""
    found = []
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            helps = {choice.dest: choice.help for choice in action._choices_actions}
            for name, sub in action.choices.items():
                assert helps.get(name), f"{name} has no help"
                found += [(name, sub), *walk(sub)]
    return found


def test_readme_names_every_command_and_option():
    from crewdesk.cli import build_parser

    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    parser, _ = build_parser()
    commands = walk(parser)
    assert {name for name, _ in commands} == set(
        re.findall(r"^\| `crewdesk (\w+)", readme, re.M)
    )
    for name, sub in commands:
        for action in sub._actions:
            assert action.help, f"{name} {action.dest} has no help"
            for option in action.option_strings:
                if option.startswith("--") and option != "--help":
                    row = re.search(rf"^\|[^|]*`{option}\b[^|]*\|([^|]*)\|", readme, re.M)
                    assert row, f"{name} {option}"
                    assert name in row[1], f"{name} {option}"


def keys_written(path: Path) -> set[str]:
    """Return every key that stands as a word in a dictionary of a module."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    keys = [k for node in ast.walk(tree) if isinstance(node, ast.Dict) for k in node.keys]
    return {k.value for k in keys if isinstance(k, ast.Constant) and isinstance(k.value, str)}


def test_readme_describes_every_key_of_the_call():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    said = {w for code in re.findall(r"`([^`\n]+)`", readme) for w in re.findall(r"\w+", code)}
    keys = keys_written(ROOT / "crewdesk" / "desk" / "call_json.py")
    assert {"objective_s", "tread_end_mm", "breaches"} <= keys
    assert not keys - said


def text_files() -> list[Path]:
    kinds = {
        ".py",
        ".md",
        ".toml",
        ".json",
        ".csv",
        ".txt",
        ".qss",
        ".svg",
        ".jsonl",
        ".yml",
        "",
    }
    hidden = {".ci", ".gitignore"}
    found = []
    for path in ROOT.rglob("*"):
        parts = path.relative_to(ROOT).parts
        is_ours = not any(
            p in ("build", "dist", "__pycache__") or (p.startswith(".") and p not in hidden)
            for p in parts
        )
        if is_ours and path.is_file() and path.suffix in kinds and ".egg-info" not in str(path):
            found.append(path)
    return found


# Written in pieces, so that this file does not hold what it looks for.
NOT_OURS = [
    "/" + "work/",
    "/" + "root/",
    "/" + "home/",
    "/" + "Users/",
    "/" + "tmp/",
    "py" + "pi.",
    "hand" + "book",
    "phys" + "ics.md",
    "inter" + "face.md",
    "TO" + "DO",
    "FIX" + "ME",
]


@pytest.mark.parametrize("words", NOT_OURS)
def test_no_place_on_some_machine_and_no_loose_end_is_named(words: str):
    holders = [
        str(path.relative_to(ROOT))
        for path in text_files()
        if words in path.read_text(encoding="utf-8", errors="ignore")
    ]
    assert not holders


def test_ci_runs_the_very_commands_of_the_readme():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    run = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    blocks = re.findall(r"^```sh\n(.*?)^```$", readme, re.DOTALL | re.MULTILINE)
    words = re.findall(r"readme_command '([^']+)'", run)
    assert words == ["demo_events/quellhaven", "pytest"]
    window, tests = (next(b for b in blocks if word in b) for word in words)
    assert window.rstrip().endswith(".venv/bin/python -m crewdesk demo_events/quellhaven")
    assert tests.rstrip().endswith("QT_QPA_PLATFORM=offscreen .venv/bin/python -m pytest")
    for block in (window, tests):
        assert "apt-get install -y" in block
        assert "-c .ci/constraints.txt" in block
    for check in ("ruff format --check .", "ruff check .", "mypy", "lint-imports"):
        assert f".venv/bin/{check}\n" in run


def test_versions_are_pinned_one_by_one():
    lines = (ROOT / ".ci" / "constraints.txt").read_text(encoding="utf-8").split("\n")
    pins = [line for line in lines if line and not line.startswith("#")]
    assert all(re.fullmatch(r"[A-Za-z0-9_.-]+==[0-9][0-9A-Za-z.]*", pin) for pin in pins)
    pinned = {pin.split("==")[0].lower().replace("_", "-") for pin in pins}
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    wanted = project["dependencies"] + project["optional-dependencies"]["dev"]
    names = {re.split(r"[<>=!;\s]", line)[0].lower().replace("_", "-") for line in wanted}
    assert names - pinned <= {"tzdata"}
