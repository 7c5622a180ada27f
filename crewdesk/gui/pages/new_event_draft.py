"""What is typed of a new event, kept on disk until it is an event."""

import contextlib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from crewdesk.documents.writer import write_atomic
from crewdesk.errors import CrewdeskError
from crewdesk.gui.pages.new_event_form import EventForm
from crewdesk.gui.pages.new_event_table import TableSection

DRAFT: Final = "new_event.json"


def write_draft(root: Path, form: EventForm, tables: Mapping[str, TableSection]) -> str:
    """Keep what was typed; return what went wrong, empty where nothing did."""
    typed = any(text for name, text in form.texts().items() if name != "new_zone")
    if not typed and not any(table.filled for table in tables.values()):
        drop_draft(root)
        return ""
    kept = {
        "form": form.texts(),
        "tables": {
            part: {
                "rows": table.model.rows,
                "comments": list(table.model.comments),
                "extra": list(table.model.extra),
                "handover": table.handover,
                "told": [list(table.read_as), list(table.notes)],
            }
            for part, table in tables.items()
        },
    }
    try:
        root.mkdir(parents=True, exist_ok=True)
        write_atomic(root / DRAFT, json.dumps(kept, ensure_ascii=False))
    except (CrewdeskError, OSError) as error:
        return f"{error}"
    return ""


def read_draft(root: Path, form: EventForm, tables: Mapping[str, TableSection]) -> bool:
    """Take back what was typed before the program was closed; return whether there was any."""
    try:
        kept: Any = json.loads((root / DRAFT).read_text(encoding="utf-8"))
        parts = {part: kept["tables"][part] for part in tables}
        texts = {str(k): str(v) for k, v in kept["form"].items()}
        taken = {
            part: (
                [{str(k): str(v) for k, v in row.items()} for row in one["rows"]],
                [str(line) for line in one["comments"]],
                [str(name) for name in one["extra"]],
                str(one["handover"]),
                [tuple(str(line) for line in part) for part in one.get("told", ((), ()))],
            )
            for part, one in parts.items()
        }
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return False
    form.restore(texts)
    for part, values in taken.items():
        tables[part].restore(*values)
    return True


def drop_draft(root: Path) -> None:
    """Forget what was typed."""
    with contextlib.suppress(OSError):
        (root / DRAFT).unlink(missing_ok=True)
