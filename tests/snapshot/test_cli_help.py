"""The help of every command, reviewed as text; how lines wrap is argparse's own."""

import re
from pathlib import Path

import pytest

from crewdesk.cli import build_parser

FILE = Path(__file__).parent / "cli_help.txt"


def plain(text):
    return re.sub(r"\s+", " ", text).strip()


def kept():
    """Return the reviewed help by command."""
    parts = re.split(r"^=== (.+)\n", FILE.read_text(encoding="utf-8"), flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


@pytest.fixture(autouse=True)
def wide(monkeypatch):
    monkeypatch.setenv("COLUMNS", "96")


def test_help_is_as_reviewed():
    parser, commands = build_parser()
    now = {"crewdesk": parser.format_help()}
    now |= {f"crewdesk {name}": one.format_help() for name, one in commands.items()}
    assert {k: plain(v) for k, v in now.items()} == {k: plain(v) for k, v in kept().items()}


def test_no_word_of_the_workshop_in_help():
    text = FILE.read_text(encoding="utf-8").lower()
    for word in ("infeasible", "solver", "quantile", "posterior", "sigma", "legal", "invalid"):
        assert word not in text
