"""Entries as lines of JSON, entered through the same checks as the window."""

import json
import re
from collections.abc import Iterator
from typing import Any

from crewdesk.desk.answer import Receipt
from crewdesk.desk.call_json import plain
from crewdesk.desk.checks import counters
from crewdesk.desk.day import Day
from crewdesk.desk.sanity_base import ENTRY
from crewdesk.errors import ReadingError
from crewdesk.journal.lines import parse_line
from crewdesk.regulations.rulebook import Message

_EARLIER = re.compile(r"^@(\d+)$")
_NAMES = ("target_id", "question_id")


def enter_lines(day: Day, text: str, *, keep_going: bool = False) -> Iterator[dict[str, Any]]:
    """Enter line after line and yield an answer for each.

    Blank lines are passed over. Where a line names an earlier entry (``target_id``,
    ``question_id``), ``@7`` means the entry that line 7 made. A refused line changes nothing;
    it ends the run unless ``keep_going``.
    """
    made: dict[int, str] = {}
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip():
            continue
        try:
            body = parse_line(_with_ids(line, made))
            receipt = day.enter(body)
        except ReadingError as error:
            told = Message(ENTRY, "stops", str(error))
            receipt = Receipt(False, None, (told,), counters(day.bundle, day.state))
        if receipt.id is not None:
            made[number] = receipt.id
        yield answer_of(number, receipt)
        if not receipt.accepted and not keep_going:
            return


def answer_of(number: int, receipt: Receipt) -> dict[str, Any]:
    """Return the answer to a line as it is printed."""
    return {
        "line": number,
        "accepted": receipt.accepted,
        "id": receipt.id,
        "messages": [
            {
                "code": message.code,
                "level": message.level,
                "values": plain(message.values),
                "text": message.text,
            }
            for message in receipt.messages
        ],
        "counters": plain(receipt.counters),
    }


def _with_ids(line: str, made: dict[int, str]) -> str:
    """Put the id of an earlier line's entry where the line names it by number."""
    if "@" not in line:
        return line
    try:
        raw = json.loads(line)
    except ValueError:
        return line
    if not isinstance(raw, dict):
        return line
    changed = False
    for name in _NAMES:
        value = raw.get(name)
        earlier = _EARLIER.match(value) if isinstance(value, str) else None
        if earlier is None:
            continue
        number = int(earlier[1])
        if number not in made:
            raise ReadingError(
                f"{name} names line {number}, which made no entry.",
                hint="Name a line before this one that was taken.",
            )
        raw[name] = made[number]
        changed = True
    return json.dumps(raw) if changed else line
