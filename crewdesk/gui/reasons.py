"""Why the call is what it is, in the lines under its cards."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication

from crewdesk.gui.texts import age_words, degrees
from crewdesk.gui.timing import newest

if TYPE_CHECKING:
    from crewdesk.desk.answer import Answer
    from crewdesk.gui.session import Session


def _tr(text: str) -> str:
    return QCoreApplication.translate("Reasons", text)


def why_lines(answer: "Answer") -> list[str]:
    """Return reasons, pressures, what would change the call, and how sure it is."""
    from crewdesk.desk import words

    result = answer.result
    if not result.plan:
        return []
    why = words.reasons_words(result.reasons, 3)
    lines: list[str] = []
    if why:
        better = sum(reason.seconds for reason in result.reasons)
        heading = _tr("Why ({0} s ahead): {1}")
        lines.append(heading.format(f"{better:.1f}", " · ".join(why)))
    lines.append(words.pressure_line(result.plan[0]))
    if result.plan[0].bring:
        lines.append(_tr("Bring to the zone: {0}").format(" ".join(result.plan[0].bring)))
    lines += [words.flip_words(flip) for flip in result.flips[:1]]
    lines.append(words.certainty_words(result))
    return [line for line in lines if line]


def watch_lines(session: "Session", answer: "Answer") -> list[str]:
    """Return warnings about the inputs: changed, old, or missing."""
    lines: list[str] = []
    now = session.now()
    road = newest(session.state.reports, "road_c", now)
    made = session.answer_road_c
    if road.value is not None and made is not None and road.value != made:
        lines.append(
            _tr("⚠ watch: road {0} now, call made for {1}, working it out").format(
                degrees(road.value), degrees(made)
            )
        )
    if road.freshness == "old" and road.age_min is not None:
        lines.append(
            _tr("⚠ watch: road reading {0} old, range widened").format(age_words(road.age_min))
        )
    elif road.freshness == "none":
        lines.append(_tr("⚠ watch: no road reading, forecast used"))
    lines += [f"⚠ watch: {text}" for text in answer.result.messages[:2]]
    return lines


def rule_lines(answer: "Answer") -> list[str]:
    """Return what was checked, with the rule's code and its level as a word."""
    lines = []
    for check in answer.result.rules:
        level = {"stops": "■ stops", "watch": "⚠ watch", "note": "note"}.get(
            check.level, check.level
        )
        word = _tr("✓ holds") if check.ok else level
        lines.append(f"{check.code}  {word}: {check.text}")
    return lines
