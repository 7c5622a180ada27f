"""Cautions as short lines where they belong; the whole of them stands on a page."""

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QLabel

from crewdesk.gui.parts import label
from crewdesk.gui.session import Session

if TYPE_CHECKING:
    from crewdesk.desk.cautions import Where


def caution_texts(session: Session, where: "Where") -> list[str]:
    """Return the cautions of a place with the figures of the event's rules."""
    from crewdesk.desk.cautions import cautions_for

    bundle = session.bundle if session.is_open else None
    return [one.text for one in cautions_for(where, bundle)]


def caution_labels(session: Session, where: "Where", name: str) -> list[QLabel]:
    """Return one wrapped line for each caution of a place."""
    return [
        label(text, f"{name}_{at}", "muted", wrap=True)
        for at, text in enumerate(caution_texts(session, where))
    ]
