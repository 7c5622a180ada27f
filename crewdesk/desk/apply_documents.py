"""Bulletins and our own changes, laid over the documents as the book tells them."""

from dataclasses import replace
from datetime import datetime

from crewdesk.desk.apply_stock import put_in_stock
from crewdesk.desk.changes import changed
from crewdesk.desk.course import Course
from crewdesk.desk.ledger import Ledger
from crewdesk.desk.repeats import rows_added, shift_rows
from crewdesk.desk.state import Bulletin
from crewdesk.documents.regulation_sets import REGULATIONS_FILE
from crewdesk.journal.entries import DocumentsChanged, StoredEntry


def documents_changed(ledger: Ledger, entry: StoredEntry, body: DocumentsChanged) -> None:
    """Lay a change over the documents, now or from when it is valid."""
    ledger.bulletins.append(_bulletin(entry, body))
    later = body.valid_from is not None and body.valid_from > entry.happened_utc
    if body.what == "rule" and later:
        ledger.rules_ahead.append(body)
        return
    _change(ledger, body)


def _bulletin(entry: StoredEntry, body: DocumentsChanged) -> Bulletin:
    return Bulletin(
        entry_id=entry.id,
        at=entry.happened_utc,
        what=body.what,
        target=body.target,
        value=body.value,
        source=body.source,
        article=body.article,
        bulletin_no=body.bulletin_no,
        by=body.by,
        valid_from=body.valid_from,
    )


def rules_come_into_force(ledger: Ledger, at: datetime) -> None:
    """Lay over the rules what was told ahead and is valid by now, in the order of validity."""
    due = [b for b in ledger.rules_ahead if b.valid_from is not None and b.valid_from <= at]
    for body in sorted(due, key=lambda b: b.valid_from or at):
        ledger.rules_ahead.remove(body)
        _change(ledger, body)


def _change(ledger: Ledger, body: DocumentsChanged) -> None:
    before = ledger.bundle
    ledger.bundle = changed(before, body)
    if ledger.bundle is before:
        return
    ledger.rules_now = None
    if body.what == "stage_repeated":
        shift_rows(ledger, rows_added(before, ledger.bundle))
    ledger.course = Course(ledger.bundle.itinerary)
    if body.what in ("stage_cancelled", "stage_road_speed"):
        spot = ledger.course.spot(body.target)
        if spot is not None and spot.stage is not None:
            ledger.cancelled.append(spot.stage)
    if body.what == "files" and body.target != REGULATIONS_FILE:
        for stock in ledger.bundle.stock.tyres:
            old = ledger.tyres.get(stock.tyre_id)
            if old is not None:
                ledger.tyres[stock.tyre_id] = replace(old, stock=stock)
            else:
                put_in_stock(ledger, stock)
