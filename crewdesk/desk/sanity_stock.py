"""What entries about tyres off the car must hold to be taken at all."""

from crewdesk.desk.case import split_code
from crewdesk.desk.sanity_base import EntryFaults
from crewdesk.desk.state import TyreNow
from crewdesk.desk.stock_row import checked_tyre
from crewdesk.errors import ReadingError
from crewdesk.journal.entries import RimMove, TyreAdded, TyreState
from crewdesk.regulations.rulebook import Message


def tyre_state(faults: EntryFaults, body: TyreState) -> None:
    """Look at a lock, a release, a mark or a place on the list."""
    if not faults.tyre(body.tyre_id):
        return
    tyre = faults.state.tyres[body.tyre_id]
    if body.state == "marked" and not body.mark.strip() and not tyre.stock.mark:
        faults.stop(f"{body.tyre_id}: the mark itself is missing.", tyre=body.tyre_id)
    if body.state in ("marked", "nominated") and body.mark.strip():
        other = [
            t.tyre_id
            for t in faults.state.tyres.values()
            if t.stock.mark == body.mark.strip() and t.tyre_id != body.tyre_id
        ]
        if other:
            text = f"Mark {body.mark} is on {other[0]} and {body.tyre_id}."
            faults.found.append(
                Message("MRK-2", "stops", text, {"mark": body.mark, "tyres": other})
            )
    _released(faults, body, tyre)


def _released(faults: EntryFaults, body: TyreState, tyre: TyreNow) -> None:
    """Ask for a licensed fitter's name for a damage, for the cause of a leak."""
    if body.state not in ("released", "back"):
        return
    code, why = split_code(tyre.status_why)
    values = {"tyre": body.tyre_id, "locked": why}
    if body.state == "back" and code in ("DMG-1", "LEAK-1"):
        text = f"{body.tyre_id} is locked: {why}. It does not come back without a release."
        faults.found.append(Message(code, "stops", text, values))
    elif tyre.status == "scrapped":
        text = f"{body.tyre_id} is scrapped ({why}) and stays so."
        faults.found.append(Message("DMG-1", "stops", text, values))
    elif code == "DMG-1" and not body.released_by.strip():
        text = (
            f"{body.tyre_id} is locked: {why}. Only a named licensed fitter may release it: "
            "enter the name."
        )
        faults.found.append(Message("DMG-1", "stops", text, values))
    elif code == "LEAK-1" and not (body.released_by.strip() or body.reason.strip()):
        text = f"{body.tyre_id}: {why}. Name the cause that was found and put right."
        faults.found.append(Message("LEAK-1", "stops", text, values))


def rim_move(faults: EntryFaults, body: RimMove) -> None:
    """Look at the rim a tyre is to go on."""
    if faults.tyre(body.tyre_id) and body.rim_id:
        faults.rim(body.rim_id)
        need = faults.state.tyres[body.tyre_id].stock.rim
        kinds = {rim.rim_id: rim.rim for rim in faults.bundle.event.rims}
        kind = kinds.get(body.rim_id, "")
        if need and kind and need != kind:
            faults.found.append(
                Message(
                    "RIM-1",
                    "stops",
                    f"{body.tyre_id} needs a rim {need}; {body.rim_id} is {kind}.",
                    {"tyre": body.tyre_id, "rim": body.rim_id},
                )
            )
        on = [
            t.tyre_id
            for t in faults.state.tyres.values()
            if t.rim_id == body.rim_id and t.place is not None and t.tyre_id != body.tyre_id
        ]
        if on and faults.state.at_place is None:
            faults.stop(f"Rim {body.rim_id} is on the car with {on[0]}.", rim=body.rim_id)


def tyre_added(faults: EntryFaults, body: TyreAdded) -> None:
    """Look at a new row of the stock, or at the papers of a replacement."""
    tyre_id = body.row.get("tyre_id", "").strip()
    if body.replaces:
        faults.tyre(body.replaces)
    if tyre_id in faults.state.tyres:
        if not (body.replaces or body.joker_sheet):
            faults.stop(f"{tyre_id} is in the stock already.", tyre=tyre_id)
        return
    try:
        checked_tyre(faults.bundle, body.row)
    except ReadingError as error:
        faults.stop(f"{error}")
