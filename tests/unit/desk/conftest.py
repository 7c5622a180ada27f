"""The demo events and a small language for days in these tests."""

import json
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from crewdesk.assets import shipped
from crewdesk.desk.checks import judge_entry
from crewdesk.desk.day import Day
from crewdesk.desk.handover import make_handover
from crewdesk.desk.lines import enter_lines
from crewdesk.desk.remarks import remarks
from crewdesk.desk.replay import Fold, finish, fold_all, start
from crewdesk.desk.state import DayState
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.store import load_event
from crewdesk.journal.entries import ENTRY_ADAPTER, StoredEntry
from crewdesk.regulations.rulebook import Message

SCRIPTS = Path(__file__).parents[2] / "data" / "scripts"


def demo(name: str) -> Path:
    return Path(str(shipped("demo_events").joinpath(name)))


def stored(number: int, body: dict[str, Any]) -> StoredEntry:
    """Return an entry as it stands in a book, its id ``id<number>``."""
    entry = ENTRY_ADAPTER.validate_python(body)
    at = entry.at or datetime(2026, 8, 22, 6, tzinfo=UTC) + timedelta(minutes=number)
    return StoredEntry(
        seq=number,
        id=f"id{number}",
        desk="t",
        desk_seq=number,
        after=(),
        at_utc=at,
        clock_offset_s=0.0,
        kind=entry.kind,
        version=1,
        body=entry,
    )


@pytest.fixture(scope="session")
def quellhaven() -> EventBundle:
    return load_event(demo("quellhaven"))


@pytest.fixture(scope="session")
def lunehaven() -> EventBundle:
    return load_event(demo("lunehaven"))


@pytest.fixture(scope="session")
def saldrey() -> EventBundle:
    return load_event(demo("saldrey"))


@pytest.fixture(scope="session")
def entries_of() -> Callable[[Sequence[dict[str, Any]]], list[StoredEntry]]:
    return lambda bodies: [stored(n, body) for n, body in enumerate(bodies, start=1)]


@pytest.fixture(scope="session")
def script() -> list[dict[str, Any]]:
    """The quellhaven walk-through without the lines that must be refused."""
    lines = (SCRIPTS / "quellhaven.jsonl").read_text(encoding="utf-8").splitlines()
    return [json.loads(line) for line in lines]


@pytest.fixture
def open_day(tmp_path: Path) -> Callable[..., Day]:
    """Open days that are closed when the test ends."""
    opened: list[Day] = []

    def make(name: str = "quellhaven", **options: Any) -> Day:
        options.setdefault("book_path", tmp_path / f"{name}.daybook")
        options.setdefault("desk_name", "test")
        day = Day.open(demo(name), **options)
        opened.append(day)
        return day

    yield make
    for day in opened:
        day.close()


def car(*tyres: str | None) -> dict[str, str | None]:
    """Return a fitting from tyres in the order of the places."""
    return dict(zip(("FL", "FR", "RL", "RR", "SP1", "SP2"), tyres, strict=False))


@pytest.fixture(scope="session")
def car_of() -> Callable[..., dict[str, str | None]]:
    return car


# ---- the scripted days, entered once, looked at row by row

FORECAST = frozenset({"TRD-2", "PRS-3"})
"""Codes that hang on the model's own figures; the wear of the scripts is scripted, not its."""


class Walk:
    """A scripted day: every line with its answer, and the day as it was after any line."""

    def __init__(self, name: str, folder: Path) -> None:
        text = (SCRIPTS / f"{name}.jsonl").read_text(encoding="utf-8")
        self.lines = [json.loads(line) for line in text.splitlines()]
        with Day.open(
            demo(name), book_path=folder / f"{name}.daybook", desk_name="test"
        ) as day:
            self.answers: list[dict[str, Any]] = []
            self._count: list[int] = [len(day.entries)]
            for answer in enter_lines(day, text, keep_going=True):
                self.answers.append(answer)
                self._count.append(len(day.entries))
            self.opened = day.opened
            self.entries = day.entries
            self.bundle = day.bundle
            self.state = day.state
            self.handover = make_handover(day)

    def number(self, kind: str, nth: int = 0, **fields: Any) -> int:
        """Return the number of a line of a kind with these fields."""
        found = [
            n
            for n, line in enumerate(self.lines, start=1)
            if line["kind"] == kind and all(line.get(k) == v for k, v in fields.items())
        ]
        return found[nth]

    def accepted(self, n: int) -> bool:
        return bool(self.answers[n - 1]["accepted"])

    def counters(self, n: int) -> dict[str, Any]:
        return dict(self.answers[n - 1]["counters"])

    def messages(self, n: int) -> list[dict[str, Any]]:
        return list(self.answers[n - 1]["messages"])

    def said(self, *numbers: int) -> set[str]:
        """Return "CODE level" of some lines, but for what hangs on the model's figures."""
        return {
            f"{m['code']} {m['level']}"
            for n in numbers
            for m in self.messages(n)
            if m["code"] not in FORECAST and "measure again" not in m["text"]
        }

    def one(self, n: int, code: str, **values: Any) -> dict[str, Any]:
        """Return the first message of a code with these values."""
        return next(
            m
            for m in self.messages(n)
            if m["code"] == code and all(m["values"].get(k) == v for k, v in values.items())
        )

    def at(self, n: int) -> tuple[Fold, DayState]:
        """Return the day as it was after a line."""
        fold = fold_all(start(self.opened), self.entries[: self._count[n]])
        return fold, finish(fold)

    def heard(self, n: int, *bodies: dict[str, Any]) -> tuple[bool, list[Message]]:
        """Return what the last of some further entries would have met after a line."""
        fold, state = self.at(n)
        for k, body in enumerate(bodies):
            entry = ENTRY_ADAPTER.validate_python(body)
            judged = judge_entry(fold, state, entry)
            messages = list(judged.messages)
            if not judged.accepted:
                return False, messages
            before = state
            unwritten = judged.after.entries[-1].model_copy(update={"id": f"more{k}"})
            fold = fold_all(fold, (unwritten,))
            state = finish(fold)
            messages += remarks(before, fold, state, entry)
        return True, messages

    def asked(self, n: int, *bodies: dict[str, Any]) -> tuple[bool, dict[str, Message]]:
        """Return the same with the first message of each code."""
        accepted, messages = self.heard(n, *bodies)
        return accepted, {m.code: m for m in reversed(messages)}


@pytest.fixture(scope="session")
def walk(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Walk]:
    made: dict[str, Walk] = {}

    def of(name: str) -> Walk:
        if name not in made:
            made[name] = Walk(name, tmp_path_factory.mktemp(name))
        return made[name]

    return of
