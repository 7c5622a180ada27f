"""The sets of rules that ship with the program, before an event's own values."""

import json
from functools import cache
from typing import ClassVar, Final

from crewdesk.assets import shipped
from crewdesk.documents.base import Document
from crewdesk.documents.bundle import RegulationSet
from crewdesk.documents.faults import Findings, quoted
from crewdesk.documents.migrate import migrated
from crewdesk.documents.plain_words import read_json, validated

OTHER_NAMES: Final = frozenset(
    {
        "cap",
        "tread_min",
        "winter_tread_min",
        "cut_ok",
        "insert_ok",
        "e_mark_required",
        "otl_min",
        "p_min_cold",
    }
)
"""Names that papers give to a field under another name; the rules know what they mean."""


REGULATIONS_FILE: Final = "regulations.json"
"""A set of the crew's own, beside event.json."""

WORK_TIMES: Final = "work_times.json"
"""Lies beside the sets and is none."""


class RegulationFile(Document):
    """A set of rules as a file; a limit of null means that nothing is checked."""

    FORMAT: ClassVar[int] = 1

    name: str
    """As ``Weekend Gravel``."""
    fields: dict[str, object]
    """Value by field name."""
    sources: dict[str, str]
    """Where a value of that kind is typically found, by field name."""


@cache
def _sets() -> dict[str, RegulationSet]:
    found: dict[str, RegulationSet] = {}
    for file in sorted((shipped("resources") / "regulations").iterdir(), key=lambda f: f.name):
        if not file.name.endswith(".json") or file.name == WORK_TIMES:
            continue
        one = RegulationFile.model_validate(json.loads(file.read_text(encoding="utf-8")))
        found[one.name] = RegulationSet(name=one.name, fields=one.fields, sources=one.sources)
    return found


def set_names() -> tuple[str, ...]:
    """Return the names of the shipped sets, as ``Weekend Gravel``."""
    return tuple(_sets())


def field_names() -> frozenset[str]:
    """Return every field that any shipped set knows."""
    return frozenset(name for one in _sets().values() for name in one.fields)


def regulation_set(name: str) -> RegulationSet:
    """Return a shipped set by name, or raise KeyError."""
    for known, regulations in _sets().items():
        if known.lower() == name.strip().lower():
            return regulations
    raise KeyError(name)


def set_text(one: RegulationSet) -> str:
    """Return a set as the text of its file."""
    file = RegulationFile(name=one.name, fields=one.fields, sources=one.sources)
    return json.dumps(file.model_dump(), indent=2, ensure_ascii=False) + "\n"


def own_set(text: str, found: Findings, name: str = REGULATIONS_FILE) -> RegulationSet | None:
    """Return the set in a file, or None after its faults."""
    raw = read_json(name, text, found)
    raw = migrated(RegulationFile, name, raw, found) if raw is not None else None
    file = validated(RegulationFile, name, raw, found) if raw is not None else None
    if file is None:
        return None
    for field in file.fields:
        if not is_field(field):
            found.fault(
                name,
                f"The rule {quoted(field)} is not known.",
                f"Known: {', '.join(sorted(field_names()))}.",
                where=f"fields.{field}",
                value=field,
            )
    return RegulationSet(name=file.name, fields=file.fields, sources=file.sources)


def is_field(name: str) -> bool:
    """Return whether a rule of an event is known; a cell is named as ``caps.hard``."""
    head = name.strip().replace("[", ".").split(".")[0]
    return head in field_names() or head in OTHER_NAMES
