"""An invented event as texts, and ways to change one cell of it."""

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from crewdesk.assets import shipped
from crewdesk.documents.faults import CheckReport, Fault
from crewdesk.documents.store import FILES, check_texts

Texts = dict[str, str]


@pytest.fixture
def texts() -> Texts:
    """The one-day demo event; its weather has two sites."""
    folder = shipped("demo_events") / "saldrey"
    return {name: (folder / name).read_text(encoding="utf-8") for name in FILES}


@pytest.fixture
def folder(tmp_path: Path, texts: Texts) -> Path:
    for name, text in texts.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


class Editor:
    """Changes cells and keys of texts in place."""

    def __init__(self, texts: Texts) -> None:
        self.texts = texts

    def rows(self, file: str) -> list[list[str]]:
        return list(csv.reader(io.StringIO(self.texts[file])))

    def put(self, file: str, rows: list[list[str]]) -> None:
        stream = io.StringIO()
        csv.writer(stream, lineterminator="\n").writerows(rows)
        self.texts[file] = stream.getvalue()

    def cell(self, file: str, key: str, column: str, value: str) -> None:
        """Change a cell of the row that holds ``key`` in any of its first four cells."""
        rows = self.rows(file)
        heading = next(i for i, row in enumerate(rows) if not row[0].startswith("#"))
        at = rows[heading].index(column)
        row = next(row for row in rows[heading + 1 :] if key in row[:4])
        row[at] = value
        self.put(file, rows)

    def drop_column(self, file: str, column: str) -> None:
        rows = self.rows(file)
        heading = next(i for i, row in enumerate(rows) if not row[0].startswith("#"))
        at = rows[heading].index(column)
        self.put(
            file,
            [r if i < heading else r[:at] + r[at + 1 :] for i, r in enumerate(rows)],
        )

    def drop_row(self, file: str, key: str) -> None:
        self.put(file, [row for row in self.rows(file) if key not in row[:4]])

    def event(self, change: Callable[[dict[str, Any]], object]) -> None:
        raw = json.loads(self.texts["event.json"])
        change(raw)
        self.texts["event.json"] = json.dumps(raw)

    def report(self) -> CheckReport:
        return check_texts(self.texts)

    def only_fault(self) -> Fault:
        faults = self.report().faults
        assert len(faults) == 1, [str(fault) for fault in faults]
        return faults[0]


@pytest.fixture
def edit(texts: Texts) -> Editor:
    return Editor(texts)
