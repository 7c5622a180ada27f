"""Files named on a command line, and what a look over an event found, as plain data."""

from pathlib import Path
from typing import Any

from crewdesk.assets import shipped
from crewdesk.documents.faults import CheckReport
from crewdesk.errors import DocumentError


def event_folder(word: str) -> Path:
    """Return the folder a word names: a path, or a demo event that ships."""
    folder = Path(word)
    if folder.exists() or len(folder.parts) != 1:
        return folder
    demo = Path(str(shipped("demo_events").joinpath(word)))
    return demo if demo.is_dir() else folder


def read_text(path: Path) -> str:
    """Return the text of a file.

    Raises
    ------
    DocumentError
        Where it is not there, cannot be read, or is no text.
    """
    try:
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise DocumentError(f"There is no file {path}.", hint="Check its name.") from None
    except UnicodeDecodeError:
        raise DocumentError(f"{path} is not text in UTF-8.", hint="Save it as UTF-8.") from None
    except OSError as error:
        reason = (error.strerror or "no reason given").lower()
        raise DocumentError(f"{path} cannot be read ({reason}).") from None


def check_document(report: CheckReport) -> dict[str, Any]:
    """Return the findings of a check as ``check --json`` prints them."""
    return {
        "format": 1,
        "ok": report.ok,
        "faults": [
            {
                "file": fault.file,
                "where": fault.where,
                "column": fault.column,
                "value": fault.value,
                "what": fault.what,
                "hint": fault.hint,
            }
            for fault in report.faults
        ],
        "notes": list(report.notes),
        "assumed": list(report.assumed),
        "before": [
            {"topic": topic, "level": level, "text": text}
            for topic, level, text in report.before
        ],
        "cautions": list(report.cautions),
    }
