"""The last event's handover, read as the stock of this one."""

from typing import Final

from crewdesk.documents.faults import Findings
from crewdesk.documents.handover import Handover, stock_text_from_handover
from crewdesk.documents.plain_words import read_json, validated

HANDOVER_FILE: Final = "handover.json"


def handover_from_text(file: str, text: str, found: Findings) -> Handover | None:
    """Return a handover from its text; None, with the faults found, where it is none."""
    raw = read_json(file, text, found)
    if raw is None:
        return None
    newer = raw.get("format", 0)
    if isinstance(newer, int) and newer > Handover.FORMAT:
        found.fault(
            file,
            f"It was written by a newer program (layout {newer}).",
            "Open it with that program; it was not changed.",
        )
        return None
    return validated(Handover, file, raw, found)


def stock_from_text(text: str, found: Findings) -> str | None:
    """Return the ``stock.csv`` that a handover stands for."""
    handover = handover_from_text(HANDOVER_FILE, text, found)
    if handover is None:
        return None
    found.notes.append(
        f"Stock: taken from {HANDOVER_FILE}, the handover of {handover.event}. The marks of "
        "that event are void: enter the new ones."
    )
    return stock_text_from_handover(handover)
