"""The card of a tyre in lines: whose it is, what holds it, its damages, the next tyre check."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication
from PySide6.QtWidgets import QWidget

from crewdesk.gui.caution_lines import caution_labels
from crewdesk.gui.parts import label
from crewdesk.gui.session import Session
from crewdesk.gui.texts import SHORT

if TYPE_CHECKING:
    from crewdesk.desk.tyre_card import DamageCard


def _tr(text: str) -> str:
    return QCoreApplication.translate("FindPage", text)


def card_lines(session: Session, tyre_id: str) -> list[QWidget]:
    """Return the lines of a tyre's card below its figures."""
    from crewdesk.desk.tyre_card import tyre_card

    found = tyre_card(session.bundle, session.state, tyre_id)
    lines: list[QWidget] = []
    if found.locked:
        words = _tr("■ stops: {0} is locked: {1}.").format(tyre_id, found.locked)
        if found.lock_code == "DMG-1":
            words += _tr(" Only a named licensed fitter may release it.")
        elif found.lock_code == "LEAK-1":
            words += _tr(" The cause must be named first.")
        lines.append(label(words, "find_status", "stops", wrap=True))
    elif session.state.tyres[tyre_id].status != "ok":
        status = session.state.tyres[tyre_id]
        words = _tr("■ stops: {0}").format(status.status_why or status.status)
        lines.append(label(words, "find_status", "stops", wrap=True))
    if found.released_by:
        words = _tr("Released by {0}").format(found.released_by)
        lines.append(label(words, "find_released", "strong", wrap=True))
    for at, damage in enumerate(found.damages):
        lines.append(label(_damage_words(damage), f"find_damage_{at}", "strong", wrap=True))
    if found.joker_words:
        words = found.joker_words[:1].upper() + found.joker_words[1:]
        lines.append(label(words, "find_joker", wrap=True))
    lines.append(
        label(_tr("Whose it is: {0}").format(found.terms_words), "find_terms", wrap=True)
    )
    lines.append(label(_check_words(session, tyre_id), "find_check", wrap=True))
    for at, note in enumerate(found.notes):
        lines.append(label(note, f"find_note_{at}", "muted", wrap=True))
    if found.damages or found.locked:
        lines += caution_labels(session, "damage", "find_caution")
    return lines


def _damage_words(damage: "DamageCard") -> str:
    parts = [damage.words]
    if damage.where:
        parts.append(damage.where)
    if damage.corner:
        parts.append(damage.corner)
    if damage.rim_id and damage.rim_state:
        parts.append(_tr("rim {0} {1}").format(damage.rim_id, damage.rim_state))
    if damage.photo:
        parts.append(_tr("photo {0}").format(damage.photo))
    if damage.by:
        parts.append(damage.by)
    return _tr("Damage: {0}").format(" · ".join(parts))


def _check_words(session: Session, tyre_id: str) -> str:
    """Return whether the officials will read this tyre next, and the count then."""
    from crewdesk.desk.tyre_card import expected_at_check

    counts = session.counters()
    limit = counts.get("limit")
    used = counts.get("used", 0)
    total = f"{used}" if limit is None else _tr("{0} of {1}").format(used, limit)
    for one in expected_at_check(session.state):
        if one.tyre_id == tyre_id:
            new = _tr(", counted for the first time") if one.new_count else ""
            return _tr("Next tyre check: expected at {0}{1}; {2} counted in all").format(
                SHORT[one.place], new, total
            )
    return _tr("Next tyre check: not on the car; {0} counted in all").format(total)
