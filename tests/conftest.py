"""Settings that hold for every test."""

import os

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

settings.register_profile(
    "crewdesk", derandomize=True, max_examples=25, deadline=None, database=None
)
settings.load_profile("crewdesk")

PATIENCE_S = 5.0
"""How long a child process may take to end after the last test of its file."""


@pytest.fixture(autouse=True)
def own_folders(
    tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> Path:
    """Give each test its own empty folders for data, settings and logs."""
    home = tmp_path_factory.mktemp("home")
    for name in ("DATA", "CONFIG", "STATE", "CACHE"):
        folder = home / name.lower()
        folder.mkdir()
        monkeypatch.setenv(f"XDG_{name}_HOME", str(folder))
    # Where the system is not a Unix with XDG folders, these are what is asked for instead.
    for name in ("HOME", "LOCALAPPDATA", "APPDATA"):
        monkeypatch.setenv(name, str(home))
    return home


@pytest.fixture(autouse=True, scope="module")
def no_child_left() -> Iterator[None]:
    """Fail the file of tests that leaves a process of its own running."""
    before = set(children())
    yield
    until = time.monotonic() + PATIENCE_S
    while (left := {p: c for p, c in children().items() if p not in before}) and (
        time.monotonic() < until
    ):
        time.sleep(0.05)
    assert not left, f"processes left running: {left}"


def children() -> dict[int, str]:
    """Return the running children of this process by id, with their command line."""
    found: dict[int, str] = {}
    for entry in Path("/proc").glob("[0-9]*"):
        try:
            stat = (entry / "stat").read_text(encoding="utf-8", errors="replace")
            command = (
                (entry / "cmdline").read_bytes().replace(b"\0", b" ").decode(errors="replace")
            )
        except OSError:
            continue
        state, parent = stat.rsplit(")", 1)[1].split()[:2]
        # The tracker serves every process started by spawning and lives as long as we do.
        if int(parent) == os.getpid() and state != "Z" and "resource_tracker" not in command:
            found[int(entry.name)] = command.strip()
    return found
