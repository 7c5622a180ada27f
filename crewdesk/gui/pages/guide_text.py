"""The user guide as text: its chapters, and where words stand in them."""

import re
from dataclasses import dataclass
from functools import cache
from typing import Final

from crewdesk.assets import shipped

_HEAD = re.compile(r"^(#{1,2}) +(.+)$", re.MULTILINE)
_LINKS = re.compile(r"!\[[^\]]*\]\([^)]*\)|\]\([^)]*\)|\[|^ *- |\||#")
_LETTERS = re.compile(r"[*`]")
SHOWN: Final = 24
"""Places shown for a search; more only make it longer."""


@dataclass(frozen=True)
class Chapter:
    """One chapter of the guide."""

    key: str
    """File name without its ending."""
    title: str
    text: str
    """Markdown."""


@dataclass(frozen=True)
class Place:
    """Where words were found: the chapter, the heading above, and the line."""

    chapter: str
    heading: str
    line: str


@cache
def chapters() -> tuple[Chapter, ...]:
    """Return the chapters in their order."""
    made = []
    for entry in shipped("resources").joinpath("guide").iterdir():
        if entry.name.endswith(".md"):
            text = entry.read_text(encoding="utf-8")
            head = _HEAD.search(text)
            made.append(Chapter(entry.name[:-3], head[2] if head else entry.name, text))
    return tuple(sorted(made, key=lambda one: one.key))


def chapter(key: str) -> Chapter:
    """Return a chapter, or raise KeyError."""
    for one in chapters():
        if one.key == key:
            return one
    raise KeyError(key)


def contents() -> str:
    """Return the contents of the guide, each heading a link to it."""
    lines = ["# Guide"]
    for one in chapters():
        lines.append(f"\n**[{one.title}](chapter:{one.key})**\n")
        lines += [
            f"- [{title}](chapter:{one.key}/{number})"
            for number, title in enumerate(headings(one), start=1)
        ]
    return "\n".join(lines)


def headings(one: Chapter) -> list[str]:
    """Return the headings inside a chapter."""
    return [match[2] for match in _HEAD.finditer(one.text) if match[1] == "##"]


def find(words: str) -> list[Place]:
    """Return the places where all words stand in one line, in the order of the guide."""
    wanted = words.casefold().split()
    found: list[Place] = []
    if not wanted:
        return found
    for one in chapters():
        heading = one.title
        for line in one.text.splitlines():
            head = _HEAD.match(line)
            heading = head[2] if head else heading
            plain = " ".join(_LETTERS.sub("", _LINKS.sub(" ", line)).split())
            if all(word in plain.casefold() for word in wanted):
                found.append(Place(one.key, heading, plain))
    return found


def found_text(words: str) -> str:
    """Return what a search found as text with links."""
    places = find(words)
    if not places:
        return (
            f"# Nothing found for {_escaped(words)}\n\nTry another word, or look at the "
            "[contents](contents:)."
        )
    count = len(places)
    lines = [f"# {count} {'place' if count == 1 else 'places'} with {_escaped(words)}"]
    for place in places[:SHOWN]:
        one = chapter(place.chapter)
        inside = headings(one)
        at = inside.index(place.heading) + 1 if place.heading in inside else 0
        line = place.line if len(place.line) < 160 else place.line[:157] + "..."
        lines.append(
            f"\n**[{one.title}: {place.heading}](chapter:{place.chapter}/{at})**\n\n"
            f"{_escaped(line)}"
        )
    if count > SHOWN:
        lines.append(f"\nand {count - SHOWN} more")
    return "\n".join(lines)


def _escaped(text: str) -> str:
    return re.sub(r"([\\`*_\[\]<>#|!])", r"\\\1", text)
