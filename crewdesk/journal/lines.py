"""One line of JSON turned into an entry, and every fault of it in plain words."""

import json
import re
from difflib import get_close_matches
from types import UnionType
from typing import Any, Final, Union, get_args, get_origin

from pydantic import BaseModel, TypeAdapter, ValidationError

from crewdesk.errors import ReadingError
from crewdesk.journal.entries import ENTRY_ADAPTER, AnyEntry

MAX_LINE: Final = 5_000_000
"""Longer lines are no entries: the largest holds the documents of one event."""

_MODELS: Final[dict[str, type[BaseModel]]] = {
    model.model_fields["kind"].default: model for model in get_args(get_args(AnyEntry)[0])
}
_ADAPTERS: Final[dict[str, TypeAdapter[Any]]] = {
    kind: TypeAdapter(model) for kind, model in _MODELS.items()
}

_OFFSET: Final = re.compile(r"^\d{4}-\d\d-\d\d[T ]\d\d:\d\d.*(Z|[+-]\d\d:?\d\d)$")
_INSTANTS: Final = ("at", "time")


def parse_line(text: str) -> AnyEntry:
    """Return the entry that one line of JSON describes: ``kind`` and its fields, flat.

    Raises
    ------
    ReadingError
        With every fault of the line: the field, its value, and what is allowed.
    """
    data = _object_of(text)
    kind = data.get("kind")
    if not isinstance(kind, str) or kind not in _MODELS:
        raise ReadingError(
            "The line names no kind of entry."
            if kind is None
            else f"There is no kind of entry {_shown(kind)}{_meant(str(kind), _MODELS)}.",
            hint=f'Give "kind" as one of: {", ".join(sorted(_MODELS))}.',
        )
    faults = [
        f"{name} is {_shown(data[name])}; it must be a time with its offset from UTC, "
        "as 2026-05-16T09:57:00+02:00 or with a Z"
        for name in _INSTANTS
        if name in _MODELS[kind].model_fields
        and data.get(name) is not None
        and not (isinstance(data[name], str) and _OFFSET.match(data[name]))
    ]
    told = {name for name in _INSTANTS if any(fault.startswith(name) for fault in faults)}
    try:
        entry: AnyEntry = _ADAPTERS[kind].validate_json(text, strict=True)
    except ValidationError as error:
        faults += [
            fault_words(_MODELS[kind], dict(fault))
            for fault in error.errors(include_url=False)
            if fault["loc"][:1] not in {(name,) for name in told}
        ]
        raise _refused(kind, faults) from None
    if faults:
        raise _refused(kind, faults)
    return entry


def entry_schema() -> dict[str, Any]:
    """Return the JSON Schema of one line."""
    schema = ENTRY_ADAPTER.json_schema()
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Entry of the day book",
        "description": (
            "One line of JSON: the kind and its fields. Times carry their offset from UTC. "
            "A field that is not known is left out or null."
        ),
        **schema,
    }


def fault_words(model: type[BaseModel], fault: dict[str, Any]) -> str:
    """Return one fault found by the model as plain words."""
    where = _place(fault["loc"])
    kind = fault["type"]
    limits = fault.get("ctx") or {}
    value = _shown(fault.get("input"))
    unit = _unit(model, fault["loc"])
    match kind:
        case "missing":
            return f"{where} is missing"
        case "extra_forbidden":
            return f"there is no field {where}{_meant(where, model.model_fields)}"
        case "literal_error":
            return f"{where} is {value}; allowed: {limits['expected'].replace(' or ', ', ')}"
        case "less_than_equal":
            return f"{where} is {value}; at most {limits['le']:g}{unit} is allowed"
        case "less_than":
            return f"{where} is {value}; it must be under {limits['lt']:g}{unit}"
        case "greater_than_equal":
            return f"{where} is {value}; at least {limits['ge']:g}{unit} is allowed"
        case "greater_than":
            return f"{where} is {value}; it must be over {limits['gt']:g}{unit}"
        case "too_short" | "too_long":
            asked = limits.get("min_length", limits.get("max_length"))
            return f"{where} has {limits.get('actual_length')} values; {asked} are asked for"
    wanted = next((words for start, words in _WANTED.items() if kind.startswith(start)), "")
    return f"{where} is {value}; {wanted or 'it cannot be read'}"


_WANTED: Final = {
    "float": "a number is asked for",
    "finite": "a finite number is asked for",
    "int": "a whole number is asked for",
    "string": "text in quotes is asked for",
    "bool": "true or false is asked for",
    "dict": "an object in braces is asked for",
    "tuple": "a list in brackets is asked for",
    "list": "a list in brackets is asked for",
    "datetime": "a time is asked for, as 2026-05-16T09:57:00+02:00",
    "timezone": "a time with its offset from UTC is asked for",
}


def _refused(kind: str, faults: list[str]) -> ReadingError:
    listed = "; ".join(faults)
    return ReadingError(
        f"The {kind} entry was not taken: {listed}.",
        hint="Put that right and enter the line again; nothing was written.",
    )


def _object_of(text: str) -> dict[str, Any]:
    hint = 'Give one object in braces, as {"kind": "note", "text": "..."}.'
    if len(text) > MAX_LINE:
        raise ReadingError(
            f"The line has {len(text)} characters; no entry is so long.", hint=hint
        )
    try:
        data = json.loads(text, object_pairs_hook=_each_once, parse_constant=_no_constant)
    except json.JSONDecodeError as error:
        raise ReadingError(
            f"The line is not JSON: {error.msg.lower()} at character {error.pos + 1}.",
            hint=hint,
        ) from None
    except RecursionError:
        raise ReadingError("The line is nested too deeply to be an entry.", hint=hint) from None
    except ValueError as error:
        raise ReadingError(str(error), hint=hint) from None
    if not isinstance(data, dict):
        raise ReadingError(f"The line is {_shown(data)}, not an object.", hint=hint)
    return data


def _each_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    data = dict(pairs)
    if len(data) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise ReadingError(
            f"The line gives {twice} twice.", hint="Say it once; nothing was written."
        )
    return data


def _no_constant(word: str) -> float:
    msg = f"The line holds {word}, which is not a number."
    raise ValueError(msg)


def _shown(value: object) -> str:
    try:
        text = json.dumps(value, ensure_ascii=False, default=str)
    except ValueError:
        text = str(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _meant(word: str, known: Any) -> str:
    near = get_close_matches(word, list(known), n=1)
    return f" (perhaps {near[0]}?)" if near else f"; there are {', '.join(sorted(known))}"


def _place(loc: tuple[int | str, ...]) -> str:
    return ".".join(
        str(part + 1) if isinstance(part, int) else part
        for part in loc
        if not (isinstance(part, str) and ("[" in part or part == "datetime"))
    )


def _unit(model: type[BaseModel], loc: tuple[int | str, ...]) -> str:
    """Return the unit of the field at fault with a space before it, if it has one."""
    info = model.model_fields.get(str(loc[0])) if loc else None
    if info is None:
        return ""
    for extra in (info.json_schema_extra, *_extras(info.annotation)):
        if isinstance(extra, dict) and "unit" in extra:
            return f" {extra['unit']}"
    return ""


def _extras(annotation: Any) -> list[Any]:
    if hasattr(annotation, "__metadata__"):
        return [getattr(part, "json_schema_extra", None) for part in annotation.__metadata__]
    if get_origin(annotation) in {Union, UnionType, dict, tuple}:
        return [extra for part in get_args(annotation) for extra in _extras(part)]
    return []
