"""Entries about tyres off the car: added, locked, released, marked, nominated, cut."""

from dataclasses import replace
from typing import Any

from crewdesk.desk.ledger import Ledger, fresh_ledger
from crewdesk.desk.stock_row import tyre_from_row
from crewdesk.documents.stock import StockTyre
from crewdesk.journal.entries import StoredEntry, TyreAdded, TyreState


def put_in_stock(ledger: Ledger, stock: StockTyre, **values: Any) -> None:
    """Put a tyre into the stock, new or in place of its old row."""
    alone = ledger.bundle.model_copy(
        update={"stock": ledger.bundle.stock.model_copy(update={"tyres": (stock,)})}
    )
    ledger.tyres[stock.tyre_id] = replace(fresh_ledger(alone).tyres[stock.tyre_id], **values)
    known = {t.tyre_id for t in ledger.bundle.stock.tyres}
    if stock.tyre_id not in known:
        tyres = (*ledger.bundle.stock.tyres, stock)
        new = ledger.bundle.stock.model_copy(update={"tyres": tyres})
        ledger.bundle = ledger.bundle.model_copy(update={"stock": new})


def tyre_added(ledger: Ledger, _entry: StoredEntry, body: TyreAdded) -> None:
    """Add a row, or for a tyre of the stock only its sheet as a damage replacement."""
    tyre_id = body.row.get("tyre_id", "").strip()
    joker = {}
    if body.joker_sheet and body.approved_by:
        joker = {
            "joker_for": body.replaces or "a damaged tyre",
            "joker_sheet": body.joker_sheet,
            "approved_by": body.approved_by,
        }
    if tyre_id in ledger.tyres:
        ledger.set_tyre(tyre_id, **joker)
        return
    stock = tyre_from_row(ledger.bundle, body.row)
    if stock is not None:
        put_in_stock(ledger, stock, **joker)


def tyre_state(ledger: Ledger, _entry: StoredEntry, body: TyreState) -> None:
    """Lock, release, mark or nominate a tyre, or say what was done to it."""
    tyre = ledger.tyres.get(body.tyre_id)
    if tyre is None:
        return
    reason = body.reason
    if body.damage and body.state == "locked":
        code = "LEAK-1" if body.damage == "leak" else "DMG-1"
        reason = f"{code} {reason or body.damage.replace('_', ' ')}"
    match body.state:
        case "locked":
            ledger.set_tyre(
                body.tyre_id, status="locked", status_why=reason or "locked by hand"
            )
        case "scrapped":
            ledger.set_tyre(body.tyre_id, status="scrapped", status_why=reason or "scrapped")
        case "released":
            by = body.released_by or body.by
            why = f"released by {by}" if by else "released"
            ledger.set_tyre(body.tyre_id, status="ok", status_why=why)
        case "away":
            ledger.set_tyre(body.tyre_id, status="away", status_why=reason or "away")
        case "back":
            ledger.set_tyre(body.tyre_id, status="ok", status_why="")
        case "marked":
            stock = tyre.stock.model_copy(
                update={"mark": body.mark or tyre.stock.mark, "registered": True}
            )
            ledger.set_tyre(body.tyre_id, stock=stock, mark_readable=True)
        case "nominated" | "not_nominated":
            listed = body.state == "nominated"
            ledger.left_off[:] = [t for t in ledger.left_off if t != body.tyre_id]
            if not listed:
                ledger.left_off.append(body.tyre_id)
            stock = tyre.stock.model_copy(
                update={"registered": listed, "mark": body.mark or tyre.stock.mark}
            )
            ledger.set_tyre(body.tyre_id, stock=stock)
        case "treated":
            ledger.set_tyre(body.tyre_id, treated=True)
        case "unreadable":
            ledger.set_tyre(body.tyre_id, mark_readable=False)
        case "cut":
            extra = {**tyre.stock.extra, "cut_by_hand": reason or "yes"}
            stock = tyre.stock.model_copy(update={"extra": extra})
            ledger.set_tyre(body.tyre_id, stock=stock)
