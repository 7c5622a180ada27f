"""``event.json`` to an :class:`EventFile`, with its own cross checks."""

from collections import Counter
from collections.abc import Mapping
from typing import Any

from crewdesk.documents.bundle import RegulationSet
from crewdesk.documents.catalogue import override_names
from crewdesk.documents.event import EventFile
from crewdesk.documents.faults import Findings, quoted
from crewdesk.documents.migrate import migrated
from crewdesk.documents.plain_words import read_json, validated
from crewdesk.documents.regulation_sets import (
    field_names,
    is_field,
    regulation_set,
    set_names,
)
from crewdesk.documents.times import event_zone

EVENT_FILE = "event.json"


def read_event(
    text: str, found: Findings, own: RegulationSet | None = None
) -> EventFile | None:
    """Return the event file, or None after its faults.

    ``own`` is the set of rules that lies beside it.
    """
    raw = read_json(EVENT_FILE, text, found)
    if raw is None:
        return None
    raw = migrated(EventFile, EVENT_FILE, raw, found)
    if raw is None:
        return None
    event = validated(EventFile, EVENT_FILE, raw, found)
    if event is None:
        return None
    _check_zone(event, found)
    _check_doubles(event, found)
    _check_rules(event, found, own)
    _check_overrides(event, found)
    for index, leg in enumerate(event.legs):
        if not leg.gaps and leg.position > 1:
            found.fault(
                EVENT_FILE,
                f"Leg {leg.leg} has no start interval.",
                'Add one, as [{"from_position": 2, "gap_min": 1}].',
                where=f"legs[{index}].gaps",
            )
    return event


def _check_zone(event: EventFile, found: Findings) -> None:
    try:
        event_zone(event.zone)
    except ValueError:
        found.fault(
            EVENT_FILE,
            f"{quoted(event.zone)} is no known time zone.",
            "Write an IANA name, as Europe/Rome or Etc/GMT-2.",
            where="zone",
            value=event.zone,
        )


def _check_doubles(event: EventFile, found: Findings) -> None:
    lists: Mapping[str, tuple[str, list[Any]]] = {
        "rims": ("Rim", [rim.rim_id for rim in event.rims]),
        "legs": ("Leg", [leg.leg for leg in event.legs]),
        "sites": ("Site", [site.name for site in event.sites]),
        "models": ("Tyre model", [f"{m.maker} {m.model} {m.compound}" for m in event.models]),
    }
    for key, (word, names) in lists.items():
        for name, times in Counter(names).items():
            if times > 1:
                found.fault(
                    EVENT_FILE,
                    f"{word} {name} is listed {'twice' if times == 2 else f'{times} times'}.",
                    "Keep one of them.",
                    where=key,
                    value=name,
                )


def _check_overrides(event: EventFile, found: Findings) -> None:
    known = override_names()
    for index, model in enumerate(event.models):
        for name in model.overrides:
            if name not in known:
                found.fault(
                    EVENT_FILE,
                    f"The number {quoted(name)} of {model.maker} {model.model} is not known.",
                    f"Known: {', '.join(sorted(known))}.",
                    where=f"models[{index}].overrides.{name}",
                    value=name,
                )


def _check_rules(event: EventFile, found: Findings, own: RegulationSet | None) -> None:
    if own is not None:
        if event.regulation_set.strip().lower() != own.name.strip().lower():
            found.fault(
                EVENT_FILE,
                f"The set of rules is {quoted(event.regulation_set)}; regulations.json is "
                f"{quoted(own.name)}.",
                "Name the set of regulations.json, or take that file away.",
                where="regulation_set",
                value=event.regulation_set,
            )
    elif not _is_shipped(event.regulation_set):
        found.fault(
            EVENT_FILE,
            f"The set of rules {quoted(event.regulation_set)} is not known.",
            f"Known: {', '.join(set_names())}.",
            where="regulation_set",
            value=event.regulation_set,
        )
    known = field_names()
    for name in event.rules:
        if not is_field(name):
            found.fault(
                EVENT_FILE,
                f"The rule {quoted(name)} is not known.",
                f"Known: {', '.join(sorted(known))}.",
                where=f"rules.{name}",
                value=name,
            )


def _is_shipped(name: str) -> bool:
    try:
        regulation_set(name)
    except KeyError:
        return False
    return True
