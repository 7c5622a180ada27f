"""Why the call is what it is, in the lines under its cards."""

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QCoreApplication

from crewdesk.gui.texts import age_words, degrees
from crewdesk.gui.timing import newest

if TYPE_CHECKING:
    from crewdesk.desk.answer import Answer
    from crewdesk.gui.session import Session


NEAR_S: Final = 0.1
"""Two sums of seconds that differ by less are the same one."""


def _tr(text: str) -> str:
    return QCoreApplication.translate("Reasons", text)


def why_lines(session: "Session", answer: "Answer") -> list[str]:
    """Return reasons, pressures, what would change the call, and how sure it is."""
    from crewdesk.desk import words
    from crewdesk.desk.words_beside import beside_words

    result = answer.result
    if not result.plan:
        return words.worn_words(session.bundle, session.state, result)
    why = words.reasons_words(result.reasons, 3)
    lines: list[str] = []
    if why:
        heading = _tr("{0}: {1}")
        lines.append(heading.format(ahead_words(session, answer), " · ".join(why)))
    lines.append(words.pressure_line(result.plan[0]))
    lines += words.bring_words(result.plan)
    lines += [words.flip_words(flip, session.state) for flip in result.flips[:1]]
    lines += beside_words(result)[:2]
    lines.append(words.certainty_words(result))
    return [line for line in lines if line]


def ahead_words(session: "Session", answer: "Answer") -> str:
    """Return by how much the call is ahead, and of which other fitting."""
    from crewdesk.desk import words

    result = answer.result
    ahead_s = sum(reason.seconds for reason in result.reasons)
    near = [a for a in result.alternatives if abs(a.loss_s - ahead_s) < NEAR_S]
    if not near:
        return _tr("Why, {0} s ahead of the next best").format(f"{ahead_s:.1f}")
    other, call = near[0].fitting, result.plan[0].fitting
    name = words.headline(session.state, other).lower()
    if name == words.headline(session.state, call).lower():
        name = "; ".join(words.differs_words(call, other)[:1]) or name
    short = result.short_call
    losses = [a.loss_s for a in result.alternatives]
    losses += [short.loss_s] if short is not None and short.loss_s > NEAR_S else []
    if min(losses) < ahead_s - NEAR_S:
        # The short call or a like fitting is nearer: the words name what is compared.
        return _tr("Why, {0} s ahead of {1}").format(f"{ahead_s:.1f}", name)
    return _tr("Why, {0} s ahead of the next best ({1})").format(f"{ahead_s:.1f}", name)


def watch_lines(session: "Session", answer: "Answer") -> list[str]:
    """Return warnings about the inputs: changed, old, or missing."""
    # What comes out late costs seconds for certain: it stands first.
    late = [m for m in answer.messages if m.level == "watch" and m.code == "PLC-3"]
    lines: list[str] = [f"⚠ watch: {message.text}" for message in late]
    now = session.now()
    road = newest(session.state.reports, "road_c", now)
    made = session.answer_road_c
    if road.value is not None and made is not None and road.value != made:
        words = (
            _tr("⚠ watch: road {0} now, call made for {1}, working it out")
            if session.problem is None
            else _tr("⚠ watch: road {0} now, call made for {1}")
        )
        lines.append(words.format(degrees(road.value), degrees(made)))
    if road.freshness == "old" and road.age_min is not None:
        lines.append(
            _tr("⚠ watch: road reading {0} old, range widened").format(age_words(road.age_min))
        )
    elif road.freshness == "none":
        lines.append(
            _tr("⚠ watch: no road reading, forecast used")
            if session.bundle.weather.rows
            else _tr(
                "⚠ watch: no road reading and no forecast: worked out from what is assumed"
            )
        )
    lines += outside_lines(session)
    lines += [f"⚠ watch: {text}" for text in answer.result.messages[:2]]
    rest = [m for m in answer.messages if m.level == "watch" and m not in late]
    lines += [f"⚠ watch: {message.text}" for message in rest]
    return _with_disagreement(lines, answer.warnings)


def _with_disagreement(lines: list[str], warnings: tuple[str, ...]) -> list[str]:
    """Return the warnings with the one that readings disagree; only the first line shows."""
    if not warnings:
        return lines
    if lines:
        also = _tr("readings disagree with the model (Ctrl+R)")
        return [f"{lines[0]} · {also}", *lines[1:]]
    first = warnings[0].partition(". ")[0].rstrip(".")
    return [_tr("⚠ watch: {0} (Ctrl+R)").format(first)]


def outside_lines(session: "Session") -> list[str]:
    """Say where the air is colder or hotter than anything the event's forecast holds."""
    air = newest(session.state.reports, "air_c", session.now())
    known = [row.air_c for row in session.bundle.weather.rows]
    if air.value is None or not known or min(known) <= air.value <= max(known):
        return []
    words = (
        _tr("⚠ watch: colder than any data (air {0}; known {1} to {2})")
        if air.value < min(known)
        else _tr("⚠ watch: hotter than any data (air {0}; known {1} to {2})")
    )
    return [words.format(degrees(air.value), f"{min(known):.0f}", degrees(max(known)))]


def rule_lines(answer: "Answer") -> list[str]:
    """Return what was checked, with the rule's code and its level as a word."""
    level_words = {"stops": "■ stops", "watch": "⚠ watch", "note": "note"}
    lines = [f"{m.code}  {level_words[m.level]}: {m.text}" for m in answer.messages]
    for check in answer.result.rules:
        level = level_words.get(check.level, check.level)
        word = _tr("✓ holds") if check.ok else level
        lines.append(f"{check.code}  {word}: {check.text}")
    if not any(m.level == "stops" for m in answer.messages):
        lines.insert(0, _tr("No breach found of the rules that were entered."))
    return lines
