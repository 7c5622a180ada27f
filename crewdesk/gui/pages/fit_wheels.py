"""The wheels that could go to a place, as buttons."""

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication
from PySide6.QtWidgets import QGridLayout, QVBoxLayout

from crewdesk.desk.state import TyreNow
from crewdesk.gui.parts import button, card, label
from crewdesk.gui.session import Session
from crewdesk.gui.texts import LONG, SHORT, signed_s, wheel
from crewdesk.gui.views import tread_text
from crewdesk.units import CORNERS, Place

if TYPE_CHECKING:
    from crewdesk.engine.result import JudgeResult

IN_A_ROW = 4


def _tr(text: str) -> str:
    return QCoreApplication.translate("FitPage", text)


def show_wheels(
    lines: QVBoxLayout,
    session: Session,
    place: Place,
    take: Callable[[Place, str | None], None],
) -> None:
    """Show the wheels; those without a rim come last."""
    answer = session.answer
    estimates = answer.estimates if answer is not None else {}
    lines.addWidget(label(_tr("{0}: which wheel?").format(LONG[place]), "other_title", "title"))
    grid = QGridLayout()
    grid.setSpacing(6)
    tyres = sorted(
        (t for t in session.state.tyres.values() if t.status == "ok" and _is_here(session, t)),
        key=lambda t: not (t.rim_id or t.place),
    )
    shown = [
        button(
            _words(tyre, tread_text(tyre, estimates)),
            f"wheel_{tyre.tyre_id}",
            partial(take, place, tyre.tyre_id),
        )
        for tyre in tyres
    ]
    if place not in CORNERS:
        none = button(_tr("nothing"), "wheel_none", partial(take, place, None))
        shown.insert(0, none)
    for index, made in enumerate(shown):
        grid.addWidget(made, index // IN_A_ROW, index % IN_A_ROW)
    lines.addWidget(card("wheels", grid))
    lines.addStretch(1)


def cost_words(session: Session, judged: "JudgeResult") -> str:
    """Return what the crew's own fitting costs against the call, and which rules it breaks."""
    from crewdesk.desk import words

    call = session.answer.result.objective if session.answer is not None else None
    parts = []
    if judged.objective is not None and call is not None:
        more_s = judged.objective.total_s - call.total_s
        parts.append(
            _tr("Own fitting: {0} against the call.").format(signed_s(more_s))
            if abs(more_s) >= 0.05
            else _tr("Own fitting: as good as the call.")
        )
    parts += [words.rule_words(check) for check in judged.breaches if not check.ok]
    return " ".join(parts)


def change_text(place: Place, off: str, on: str, *, changes: bool) -> str:
    """Return in words what happens at a place; an empty name is no wheel."""
    short = SHORT[place]
    if not changes:
        return (
            _tr("{0}   {1} stays").format(short, on)
            if on
            else _tr("{0}   no wheel").format(short)
        )
    if not off:
        return _tr("{0}   {1} on").format(short, on)
    if not on:
        return _tr("{0}   {1} off").format(short, off)
    return _tr("{0}   {1} off → {2} on").format(short, off, on)


def _words(tyre: TyreNow, tread: str) -> str:
    name = wheel(tyre.rim_id, tyre.tyre_id)
    if not tyre.rim_id:
        name = _tr("{0} no rim").format(tyre.tyre_id)
    return f"{name}\n{tyre.stock.code} {tread}"


def _is_here(session: Session, tyre: TyreNow) -> bool:
    """Say whether a tyre can be had: in a zone only what is on board or was brought."""
    place = session.place
    if place is None or place.kind != "zone":
        return True
    return tyre.in_zone or tyre.place is not None
