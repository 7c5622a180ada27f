"""A set of rules to look through, copy and change line by line, each line with its source."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from crewdesk.desk.rule_words import LINES, line_words, value_words
from crewdesk.documents.bundle import EventBundle, RegulationSet
from crewdesk.documents.event import RuleValue
from crewdesk.documents.faults import Findings, error_from
from crewdesk.documents.regulation_sets import own_set, regulation_set, set_names, set_text
from crewdesk.documents.writer import write_atomic
from crewdesk.errors import DocumentError
from crewdesk.journal.entries import DocumentsChanged
from crewdesk.regulations.build import RULE_FIELDS, field_fault, rulebook

FOLDER = "regulations"
"""Folder of the crew's own sets under the user data folder."""


@dataclass(frozen=True)
class RuleLine:
    """One line of a set as a window shows it."""

    name: str
    """Field, or one cell of a table, as ``caps.hard``."""
    words: str
    """What the line says, for the crew."""
    group: str
    value: Any
    shown: str
    """The value in words; a blank limit reads "not checked"."""
    unit: str
    takes: str
    """Which values are allowed."""
    source: str
    article: str
    bulletin_no: str
    valid_from: str
    entered_by: str
    own: bool
    """Changed for this event; False: as the set has it."""


def lines_of(bundle: EventBundle) -> tuple[RuleLine, ...]:
    """Return every line in force in an event: its set with its own values and bulletins."""
    return _lines(bundle.regulation_set, bundle.event.rules, bundle.event.car_class)


def lines_of_set(regulations: RegulationSet, car_class: str = "") -> tuple[RuleLine, ...]:
    """Return every line of a set on its own."""
    return _lines(regulations, {}, car_class)


def _lines(
    regulations: RegulationSet, rules: Mapping[str, RuleValue], car_class: str
) -> tuple[RuleLine, ...]:
    told: list[RuleLine] = []
    names = [*LINES, *(n for n in regulations.fields if n not in LINES)]
    cells = [name for name in rules if "." in name or "[" in name]
    for name in names:
        own = rules.get(name)
        base = RuleValue(
            value=regulations.fields.get(name), source=regulations.sources.get(name, "")
        )
        told.append(_line(name, own or base, car_class, own=own is not None))
        told += [
            _line(cell, rules[cell], car_class, own=True)
            for cell in cells
            if re.split(r"[.\[]", cell)[0] == name
        ]
    return tuple(told)


def _line(name: str, value: RuleValue, car_class: str, *, own: bool) -> RuleLine:
    head = re.split(r"[.\[]", name)[0]
    field = RULE_FIELDS.get(head)
    words, group = line_words(name)
    return RuleLine(
        name=name,
        words=words,
        group=group,
        value=value.value,
        shown=value_words(value.value, field.unit if field else "", car_class),
        unit=field.unit if field else "",
        takes=field.takes if field else "words, for people only",
        source=value.source,
        article=value.article,
        bulletin_no=value.bulletin_no,
        valid_from=value.valid_from,
        entered_by=value.entered_by,
        own=own,
    )


# ---- a set of the crew's own


def copy_set(regulations: RegulationSet, name: str) -> RegulationSet:
    """Return a set under another name, its sources blank until somebody types them.

    Raises
    ------
    DocumentError
        Where the name is blank or that of a set which ships.
    """
    wanted = name.strip()
    if not wanted:
        raise DocumentError("The set needs a name.", hint="Name it after the event.")
    if wanted.lower() in (known.lower() for known in set_names()):
        raise DocumentError(f"{wanted} is a set that ships.", hint="Choose another name.")
    return RegulationSet(
        name=wanted,
        fields=dict(regulations.fields),
        sources=dict.fromkeys(regulations.fields, ""),
    )


def with_line(
    regulations: RegulationSet, name: str, value: Any, source: str, car_class: str = ""
) -> RegulationSet:
    """Return a set with one line changed, with its source.

    Raises
    ------
    DocumentError
        Where there is no such line, the value does not fit it, or the source is blank.
    """
    head, _, cell = name.strip().replace("[", ".").removesuffix("]").partition(".")
    fault = field_fault(name, value, car_class)
    if fault:
        raise DocumentError(f"{fault[:1].upper()}{fault[1:]}.", hint="Choose another value.")
    if not source.strip():
        raise DocumentError(
            f"{line_words(name)[0]}: where the value comes from is missing.",
            hint="Type the paper and its article.",
        )
    fields = dict(regulations.fields)
    if cell:
        table = fields.get(head)
        fields[head] = {**(table if isinstance(table, Mapping) else {}), cell: value}
    else:
        fields[head] = value
    sources = {**regulations.sources, head: source.strip()}
    new = RegulationSet(name=regulations.name, fields=fields, sources=sources)
    rulebook({}, new, car_class or "four_wheel_drive")
    return new


def own_copy(bundle: EventBundle, base: RegulationSet, name: str) -> RegulationSet:
    """Return a set under a name of the crew's own; of the event's set with its own lines in it.

    Raises
    ------
    DocumentError
        Where the name is blank or that of a set which ships.
    """
    copied = copy_set(base, name)
    if base.name != bundle.regulation_set.name:
        return copied
    car_class = bundle.event.car_class
    for field, own in bundle.event.rules.items():
        value, there = own.value, copied.fields.get(field)
        if isinstance(there, Mapping) and car_class in there:
            # The figures of the other classes stay.
            value = {**there, car_class: value}
        paper = f"bulletin {own.bulletin_no}" if own.bulletin_no else ""
        source = own.source or paper or "entered for this event"
        copied = with_line(copied, field, value, source, car_class)
    return copied


def sets_folder(data_dir: Path) -> Path:
    """Return the folder of the crew's own sets."""
    return Path(data_dir) / FOLDER


def own_sets(data_dir: Path) -> tuple[RegulationSet, ...]:
    """Return the crew's own sets, by name; a file that cannot be read is left out."""
    found: list[RegulationSet] = []
    folder = sets_folder(data_dir)
    if not folder.is_dir():
        return ()
    for path in sorted(folder.glob("*.json")):
        try:
            text = path.read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError):
            continue
        findings = Findings()
        one = own_set(text, findings, path.name)
        if one is not None and not findings.faults:
            found.append(one)
    return tuple(found)


def save_set(regulations: RegulationSet, data_dir: Path) -> Path:
    """Write a set of the crew's own, whole or not at all, and return its file.

    Raises
    ------
    DocumentError
        Where the folder cannot be written, or the set does not hold together.
    """
    findings = Findings()
    own_set(set_text(regulations), findings)
    if findings.faults:
        raise error_from(findings.faults, f"The set {regulations.name}")
    folder = sets_folder(data_dir)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise DocumentError(
            f"The folder {folder} cannot be made ({(error.strerror or 'unknown').lower()}).",
            hint="Choose another data folder.",
        ) from error
    stem = re.sub(r"[^a-z0-9]+", "_", regulations.name.lower()).strip("_") or "set"
    path = folder / f"{stem}.json"
    write_atomic(path, set_text(regulations))
    return path


def find_set(name: str, data_dir: Path | None = None) -> RegulationSet:
    """Return a set by name, the crew's own before the shipped ones, or raise KeyError."""
    for one in own_sets(data_dir) if data_dir is not None else ():
        if one.name.lower() == name.strip().lower():
            return one
    return regulation_set(name)


# ---- entries for the day book


def line_entry(
    name: str,
    value: Any,
    *,
    source: str,
    article: str = "",
    bulletin_no: str = "",
    valid_from: datetime | None = None,
    by: str = "",
    at: datetime | None = None,
) -> DocumentsChanged:
    """Return the entry that changes one line from a moment on."""
    head = re.split(r"[.\[]", name)[0]
    field = RULE_FIELDS.get(head)
    return DocumentsChanged(
        what="rule",
        target=name,
        value=value,
        unit=field.unit if field else "",
        source=source,
        article=article,
        bulletin_no=bulletin_no,
        valid_from=valid_from,
        by=by,
        at=at,
    )


def set_entry(
    bundle: EventBundle, regulations: RegulationSet, *, by: str = "", at: datetime | None = None
) -> DocumentsChanged:
    """Return the entry that puts an event under another set; its own lines stay."""
    return DocumentsChanged(
        what="files",
        target="regulations.json",
        value=files_with(bundle.source_files, regulations),
        by=by,
        at=at,
    )


_NAMED = re.compile(r'("regulation_set"\s*:\s*)"(?:[^"\\]|\\.)*"')


def files_with(files: Mapping[str, str], regulations: RegulationSet) -> dict[str, str]:
    """Return the texts of ``event.json`` and ``regulations.json`` under another set."""
    name = regulations.name.replace("\\", "\\\\").replace('"', '\\"')
    event = _NAMED.sub(lambda m: f'{m[1]}"{name}"', files["event.json"], count=1)
    return {"event.json": event, "regulations.json": set_text(regulations)}
