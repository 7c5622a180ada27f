"""What is remarked upon tyres off the car, bulletins, and the close of the event."""

from collections.abc import Iterable

from crewdesk.desk.case import split_code
from crewdesk.desk.closing import closing_messages
from crewdesk.desk.entry_rules import list_note
from crewdesk.desk.scene import NOTE, Scene
from crewdesk.desk.tyre_card import terms_of
from crewdesk.journal.entries import (
    DocumentsChanged,
    EventClosed,
    RimMove,
    TyreAdded,
    TyreState,
)
from crewdesk.regulations.rulebook import Message


def kept_tyres(scene: Scene, tyre_ids: Iterable[str | None]) -> list[Message]:
    """Say which returnable tyres have become ours by being mounted."""
    messages = []
    for tyre_id in tyre_ids:
        before = scene.before.tyres.get(tyre_id or "")
        after = scene.after.tyres.get(tyre_id or "")
        if before is None or after is None or terms_of(before) != "returnable":
            continue
        if terms_of(after) != "kept":
            continue
        price = f", {before.stock.price:g}" if before.stock.price is not None else ""
        messages.append(
            Message(
                NOTE,
                "note",
                f"{tyre_id} was returnable while never mounted; it is ours now{price}.",
                {"tyre": tyre_id, "price": before.stock.price},
            )
        )
    return messages


def rim_move(scene: Scene, body: RimMove) -> list[Message]:
    """Say what mounting a tyre does to its terms."""
    return kept_tyres(scene, (body.tyre_id,))


def tyre_state(scene: Scene, body: TyreState) -> list[Message]:
    """Say what stands on the list; who released what."""
    messages = list_note(scene.fold, scene.after, body)
    before = scene.before.tyres[body.tyre_id]
    code, why = split_code(before.status_why)
    if body.state == "released" and before.status == "locked" and code:
        by = body.released_by.strip() or body.by.strip() or "the crew"
        messages.append(
            Message(
                code,
                "note",
                f"{body.tyre_id} ({why}) released by {by}.",
                {"tyre": body.tyre_id, "released_by": by},
            )
        )
    return messages


def tyre_added(scene: Scene, body: TyreAdded) -> list[Message]:
    """Say how many damage replacements are used; ask for the damage behind one."""
    if not body.replaces:
        return []
    messages = []
    damaged = scene.after.tyres.get(body.replaces)
    if damaged is not None and damaged.status == "ok":
        messages.append(
            Message(
                "JOK-1",
                "watch",
                f"No damage is entered for {body.replaces}: fill in its damage card.",
                {"tyre": body.replaces},
            )
        )
    used = sum(bool(t.joker_sheet) for t in scene.after.tyres.values())
    total = scene.fold.ledger.rules().joker_total
    messages.append(
        Message(
            "JOK-1",
            "note",
            f"Damage replacements (jokers): {used} of {total} used, sheet {body.joker_sheet}, "
            f"agreed by {body.approved_by}.",
            {"used": used, "limit": total, "sheet": body.joker_sheet},
        )
    )
    return messages


def documents_changed(scene: Scene, body: DocumentsChanged) -> list[Message]:
    """Say where a new limit is under what is used already."""
    rules = scene.fold.ledger.rules()
    used = len(scene.after.counted)
    if body.what != "rule" or rules.qty_total is None or used <= rules.qty_total:
        return []
    return [
        Message(
            "QTY-1",
            "watch",
            f"{used} tyres are counted and the limit is {rules.qty_total} now. Ask the "
            "officials what that means for tyres used before.",
            {"used": used, "limit": rules.qty_total},
        )
    ]


def closed_event(scene: Scene, _body: EventClosed) -> list[Message]:
    """Say what is still open."""
    return list(closing_messages(scene.bundle, scene.after))
