"""JSON text to a checked model, with every fault in plain words and its path."""

import json
from collections.abc import Callable, Iterable
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from crewdesk.documents.faults import Findings, quoted

M = TypeVar("M", bound=BaseModel)

_KIND_WORDS: dict[str, str] = {
    "int": "a whole number",
    "float": "a number",
    "string": "a text in quotation marks",
    "bool": "true or false",
    "tuple": "a list in [ ]",
    "list": "a list in [ ]",
    "dict": "a group in { }",
    "model": "a group in { }",
    "mapping": "a group in { }",
}


class _DoubleKeyError(ValueError):
    """A key stands twice in one group."""


class _NoNumberError(ValueError):
    """NaN or Infinity stands where a number is wanted."""


def path_of(loc: Iterable[int | str]) -> str:
    """Return a JSON path as ``legs[0].position``; entries count from 0."""
    path = ""
    for step in loc:
        if isinstance(step, int):
            path += f"[{step}]"
        else:
            path += f".{step}" if path else step
    return path


def _shown(value: object) -> str:
    """Return a value as it stands in the file, short."""
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, dict):
        return "A group in { }"
    if isinstance(value, list | tuple):
        return "A list in [ ]"
    return quoted(json.dumps(value, default=str))[1:-1]


def _pairs(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    group: dict[str, Any] = {}
    for key, value in pairs:
        if key in group:
            raise _DoubleKeyError(key)
        group[key] = value
    return group


def _refuse_constant(word: str) -> float:
    raise _NoNumberError(word)


def read_json(file: str, text: str, found: Findings) -> dict[str, Any] | None:
    """Return the group a JSON text holds, or None after a fault."""
    try:
        raw = json.loads(
            text.removeprefix("\ufeff"),
            object_pairs_hook=_pairs,
            parse_constant=_refuse_constant,
        )
    except json.JSONDecodeError as error:
        found.fault(
            file,
            f"The text cannot be read from here on ({error.msg.lower()}).",
            "Look for a lost comma, bracket or quotation mark just before.",
            where=f"line {error.lineno}, letter {error.colno}",
        )
        return None
    except _DoubleKeyError as error:
        found.fault(file, f"The key {quoted(error)} comes twice.", "Keep one of the two.")
        return None
    except _NoNumberError as error:
        found.fault(file, f"{error} is no number.", "Write a number, or null where unknown.")
        return None
    except (ValueError, RecursionError):
        found.fault(
            file, "The text is no document of this program.", "Put the right file here."
        )
        return None
    if not isinstance(raw, dict):
        found.fault(
            file, "The text holds no group in { }.", "The file begins with { and a key."
        )
        return None
    return raw


def _limit(ctx: dict[str, Any]) -> str:
    for key, word in (("ge", "at least"), ("gt", "more than"), ("le", "at most")):
        if key in ctx:
            return f"It must be {word} {ctx[key]}."
    return f"It must be less than {ctx['lt']}." if "lt" in ctx else ""


def _words_for(
    error: Any, known_keys: Callable[[tuple[int | str, ...]], tuple[str, ...]]
) -> tuple[str, str]:
    """Return what is wrong and what to do for one finding of pydantic."""
    kind = error["type"]
    ctx = error.get("ctx") or {}
    value = error.get("input")
    if kind == "extra_forbidden":
        keys = known_keys(error["loc"][:-1])
        return (
            f"The key {quoted(error['loc'][-1])} is not known here.",
            f"Known: {', '.join(keys)}." if keys else "Take it out.",
        )
    if kind == "missing":
        return "The key is missing.", "Add it."
    if kind.startswith(("greater_than", "less_than")):
        return f"{_shown(value)} is outside what can be.", _limit(ctx)
    if kind == "literal_error":
        allowed = str(ctx.get("expected", "")).replace("'", "")
        return f"{_shown(value)} is not known here.", f"Allowed: {allowed}."
    if kind.startswith("uuid"):
        return f"{_shown(value)} is no identifier.", "Write it as 8-4-4-4-12 letters 0-9 a-f."
    if kind == "finite_number":
        return f"{_shown(value)} is no number.", "Write a number."
    for name, words in _KIND_WORDS.items():
        if kind.startswith((f"{name}_type", f"{name}_parsing", f"{name}_from")):
            return f"{_shown(value)} stands where {words} is wanted.", f"Write {words}."
    if kind == "value_error":
        return str(error["msg"]).removeprefix("Value error, "), ""
    return f"{_shown(value)} cannot stand here.", "Compare with another event's file."


def _keys_of(model: type[BaseModel], loc: tuple[int | str, ...]) -> tuple[str, ...]:
    """Return the known keys of the group at a path, as far as the models tell."""
    here: Any = model
    for step in loc:
        if isinstance(step, int):
            continue
        fields = getattr(here, "model_fields", {})
        if step not in fields:
            return ()
        annotation = fields[step].annotation
        inside = [annotation, *getattr(annotation, "__args__", ())]
        models = [a for a in inside if isinstance(a, type) and issubclass(a, BaseModel)]
        if not models:
            return ()
        here = models[0]
    return tuple(here.model_fields)


def validated(
    model: type[M], file: str, raw: dict[str, Any], found: Findings, *, where: str = ""
) -> M | None:
    """Return a checked model, or None after one fault for each thing that is wrong."""
    try:
        return model.model_validate(raw)
    except ValidationError as error:
        for item in error.errors(include_url=False):
            what, hint = _words_for(item, lambda loc: _keys_of(model, loc))
            path = path_of(item["loc"])
            found.fault(
                file,
                what,
                hint,
                where=where or path,
                column=path if where else "",
                value=item.get("input", ""),
            )
        return None
    except RecursionError:
        found.fault(file, "Groups stand in groups without end.", "Put the right file here.")
        return None
