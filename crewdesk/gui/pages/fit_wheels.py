"""The wheels that could go to a place, as buttons."""

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import QCoreApplication
from PySide6.QtWidgets import QGridLayout, QVBoxLayout

from crewdesk.desk.state import TyreNow
from crewdesk.gui.parts import button, card, label
from crewdesk.gui.session import Session
from crewdesk.gui.texts import LONG, wheel
from crewdesk.gui.views import tread_text
from crewdesk.units import CORNERS, Place

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
