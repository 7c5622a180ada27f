"""Bulletins and our own changes in words, in the order they were entered."""

import json
from collections.abc import Mapping
from datetime import datetime
from typing import Final

from crewdesk.desk.case import local
from crewdesk.desk.rule_words import line_words, value_words
from crewdesk.desk.state import Bulletin, DayState
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.regulation_sets import REGULATIONS_FILE
from crewdesk.regulations.build import RULE_FIELDS

WHAT: Final = {
    "stage_cancelled": "{target} cancelled",
    "stage_shortened": "{target} is {value} km long now",
    "stage_road_speed": "{target} driven at road speed",
    "stage_repeated": "{target} is run again",
    "service_length": "{target} lasts {value} min now",
    "delayed": "all from {target} on {value} min later",
    "position": "our position on leg {target}: {value}",
    "place_moved": "{target} moved to {value}",
    "setting": "setting {target}: {value}",
    "stage_card": "stage card of {target}",
    "stage_interrupted": "{target} interrupted: {value} km driven at speed",
}

TIMES: Final = {
    "stands_min": "stands",
    "wheel_min": "a wheel",
    "torque_min": "torque of a wheel",
    "tread_min": "tread of a tyre",
    "pressure_min": "pressure of a wheel",
    "cross_min": "a wheel to another corner",
    "machine_min": "a tyre by machine",
    "machines": "machines",
    "people": "people as usual",
    "people_one_day": "people at an event of one leg",
    "van_kmh": "van, km/h",
    "van_margin_min": "van before the car",
}


def bulletin_words(bundle: EventBundle, bulletin: Bulletin) -> str:
    """Return one change in words, with where it was printed and from when it holds."""
    if bulletin.what == "rule":
        field = RULE_FIELDS.get(bulletin.target.partition(".")[0])
        value = value_words(bulletin.value, field.unit if field else "")
        said = f"{line_words(bulletin.target)[0]}: {value}"
    elif bulletin.what == "files":
        said = _files_words(bulletin)
    elif bulletin.what == "setting" and bulletin.target in _OF_WORK:
        said = _work_words(bulletin)
    else:
        said = WHAT[bulletin.what].format(
            target=bulletin.target, value=_value(bundle, bulletin)
        )
    parts = [said]
    if bulletin.bulletin_no:
        parts.append(f"bulletin {bulletin.bulletin_no}")
    if bulletin.article:
        parts.append(f"art. {bulletin.article}")
    if bulletin.source:
        parts.append(bulletin.source)
    if bulletin.valid_from is not None:
        parts.append(f"valid from {local(bundle, bulletin.valid_from):%a %H:%M}")
    if bulletin.by:
        parts.append(bulletin.by)
    return " · ".join(parts)


def _files_words(bulletin: Bulletin) -> str:
    """Return which files were read anew; of a set of rules its name."""
    texts = bulletin.value if isinstance(bulletin.value, Mapping) else {}
    try:
        name = json.loads(str(texts[REGULATIONS_FILE]))["name"]
    except (KeyError, TypeError, ValueError):
        return f"read anew: {', '.join(sorted(map(str, texts)))}"
    return f"set of rules: {name}"


_OF_WORK: Final = {
    "people_at_car": "people at the car: {0}",
    "short_call_min": "minutes for the short call: {0}",
    "work_times": "our own minutes: {0}",
}


def _work_words(bulletin: Bulletin) -> str:
    """Return how the crew works, as it put it right."""
    value = bulletin.value
    if isinstance(value, Mapping):
        own = (f"{TIMES.get(k, k)} {v:g}" for k, v in value.items() if v is not None)
        said = ", ".join(own)
    else:
        said = "" if value is None else f"{value}"
    plain = "by the clock" if bulletin.target == "short_call_min" else "as usual"
    return _OF_WORK[bulletin.target].format(said or plain)


def _value(bundle: EventBundle, bulletin: Bulletin) -> str:
    value = bulletin.value
    if isinstance(value, (int, float)):
        return f"{value:g}"
    try:
        return f"{local(bundle, datetime.fromisoformat(str(value))):%H:%M}"
    except ValueError:
        return str(value or "")


def bulletin_lines(bundle: EventBundle, state: DayState) -> tuple[str, ...]:
    """Return every change of the day with its time, the last one first."""
    return tuple(
        f"{local(bundle, one.at):%a %H:%M}  {bulletin_words(bundle, one)}"
        for one in reversed(state.bulletins)
    )
