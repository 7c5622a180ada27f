"""The day as the book tells it: a pure fold of the entries over the documents."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from crewdesk.desk.apply import apply_entry, note_time
from crewdesk.desk.course import Position
from crewdesk.desk.leaks import leak_words
from crewdesk.desk.ledger import Ledger, fresh_ledger
from crewdesk.desk.resolve import REWRITING_KINDS, Resolved, resolve, undo_stacks
from crewdesk.desk.spells import StageDone, place_of, runs_by_tyre
from crewdesk.desk.state import DayState, FittingNow, Run, TyreNow
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.stock import StockTyre
from crewdesk.journal.entries import AsFound, StoredEntry
from crewdesk.regulations.rulebook import Rulebook
from crewdesk.units import CORNERS, PLACES, Place


@dataclass(frozen=True)
class Fold:
    """Where a replay stands: the entries so far and the sheet they gave."""

    opened: EventBundle
    entries: tuple[StoredEntry, ...]
    ledger: Ledger


def start(bundle: EventBundle) -> Fold:
    """Return the fold before the first entry."""
    return Fold(bundle, (), fresh_ledger(bundle))


def fold(state: Fold, entry: StoredEntry) -> Fold:
    """Return the fold after one more entry."""
    return fold_all(state, (entry,))


def fold_all(state: Fold, entries: Iterable[StoredEntry]) -> Fold:
    """Return the fold after more entries.

    An undo, a correction, an answer, or a second as found at one place change what earlier
    entries say: then the standing entries are told anew from the first one.
    """
    more = tuple(entries)
    together = (*state.entries, *more)
    if _rewrites(state.entries, more):
        ledger = fresh_ledger(state.opened)
        for entry in _standing(resolve(together)):
            apply_entry(ledger, entry)
    else:
        ledger = state.ledger.copy()
        for entry in more:
            apply_entry(ledger, entry)
    for entry in more:
        if entry.kind in REWRITING_KINDS:
            note_time(ledger, entry.happened_utc)
    if _rewrites(state.entries, more) and state.ledger.last_entry_at is not None:
        note_time(ledger, state.ledger.last_entry_at)
    return Fold(state.opened, together, ledger)


def _rewrites(before: Sequence[StoredEntry], more: Sequence[StoredEntry]) -> bool:
    if any(entry.kind in REWRITING_KINDS for entry in more):
        return True
    if not any(entry.kind == "as_found" for entry in more):
        return False
    seen = {e.body.place for e in before if isinstance(e.body, AsFound)}
    for entry in more:
        if isinstance(entry.body, AsFound):
            if entry.body.place in seen:
                return True
            seen.add(entry.body.place)
    return False


def _standing(resolved: Resolved) -> list[StoredEntry]:
    """Return the standing entries; of several as found at one place the last one counts."""
    last = {
        entry.body.place: entry.id
        for entry in resolved.entries
        if isinstance(entry.body, AsFound)
    }
    return [
        entry
        for entry in resolved.entries
        if not isinstance(entry.body, AsFound) or last[entry.body.place] == entry.id
    ]


def replay(bundle: EventBundle, entries: Sequence[StoredEntry]) -> DayState:
    """Return the state of the day after all entries, in the order given."""
    return finish(fold_all(start(bundle), entries))


def stages_done(ledger: Ledger) -> list[StageDone]:
    """Return the stages that were driven so far, with the kilometres of each."""
    km_of = ledger.course.stage_km()
    gone = set(ledger.cancelled)
    done = []
    for ref, row in ledger.course.row_of_stage.items():
        if ref in gone or not _is_behind(ledger.passed, row):
            continue
        km = ledger.km_driven.get(ref, km_of[ref])
        missed = False
        for stay in ledger.off_road:
            back = stay.back_row if stay.back_row is not None else len(ledger.course.rows)
            stopped_on_it = row == stay.left[0] and stay.left[1] < km_of[ref]
            if stopped_on_it:
                km = min(km, stay.left[1])
            elif stay.left[0] < row < back:
                missed = True
        if not missed and km > 0:
            done.append(StageDone(ref, row, km))
    return done


def _is_behind(passed: Position, row: int) -> bool:
    # A position on a stage is not behind it; its end is marked by a very large kilometre.
    return passed[0] > row or (passed[0] == row and passed[1] >= 1e6)


def finish(state: Fold) -> DayState:
    """Return the state of the day that a fold has come to."""
    ledger = state.ledger
    done = stages_done(ledger)
    runs = runs_by_tyre(ledger.spells, done)
    counted = counted_tyres(ledger)
    undo, redo = undo_stacks(state.entries)
    tyres = {
        tyre_id: _tyre_now(ledger, tyre, runs.get(tyre_id, []), tyre_id in counted)
        for tyre_id, tyre in ledger.tyres.items()
    }
    by_group: dict[str, int] = {}
    for tyre_id in counted:
        group = tyres[tyre_id].stock.cap_group
        by_group[group] = by_group.get(group, 0) + 1
    next_place = _next_place(ledger)
    call = ledger.call_used
    if call is not None:
        called = ledger.course.place(call.place)
        if called is None or called.key not in (next_place, ledger.at_place):
            call = None
    return DayState(
        tyres=tyres,
        fitted=_fitted(ledger),
        fittings=tuple(ledger.fittings),
        at_place=ledger.at_place,
        next_place=next_place,
        stages_run=tuple(stage.ref for stage in done),
        cancelled=tuple(ledger.cancelled),
        reports=tuple(ledger.reports),
        incidents=tuple((key, body) for key, (body, _) in ledger.incidents.items()),
        open_questions=tuple(ledger.questions.values()),
        call_used=call,
        torque_due=tuple(ledger.torque[c] for c in CORNERS if c in ledger.torque),
        counted=tuple(counted),
        counted_by_group=by_group,
        overrides=tuple(ledger.overrides),
        rims_out=dict(ledger.rims_out),
        delays_min=dict(ledger.delays_min),
        last_entry_at=ledger.last_entry_at,
        clock_offset_s=ledger.clock_offset_s,
        closed=ledger.closed,
        undoable=undo[-1] if undo else None,
        redoable=redo[-1] if redo else None,
        notes=tuple(ledger.notes),
        stage_times=dict(ledger.stage_times),
        driver_words=tuple(ledger.driver_words),
        bulletins=tuple(ledger.bulletins),
        times=dict(ledger.times),
        left_off=frozenset(ledger.left_off),
        off_road=bool(ledger.off_road) and ledger.off_road[-1].back_row is None,
        step=_step(ledger, next_place, len(done)),
    )


def counted_tyres(ledger: Ledger) -> list[str]:
    """Return the tyres that count, in the order they were first fitted or carried.

    A replacement with its sheet stands beside the limit, a shakedown tyre too unless the
    rules have it inside. What makes a tyre count is asked of the rules that were in force
    when the wheels were put on.
    """
    counted: dict[str, None] = {}
    now = ledger.rules()
    if now.shakedown_in_total:
        for tyre in ledger.tyres.values():
            if tyre.stock.counts_against == "shakedown":
                counted.setdefault(tyre.tyre_id)
    for spell in ledger.spells:
        rules = ledger.rules_then.get(spell.entry_id, now)
        places: tuple[Place, ...] = CORNERS if rules.count_rule == "fitted" else PLACES
        for place in places:
            found = ledger.tyres.get(spell.car.get(place) or "")
            if found is not None and not found.joker_for and counts(found.stock, rules):
                counted.setdefault(found.tyre_id)
    return list(counted)


def counts(stock: StockTyre, rules: Rulebook) -> bool:
    """Say whether a tyre counts against the limit once it is used."""
    if stock.use == "asphalt_wet" and not rules.wets_count:
        return False
    return stock.counts_against == "event" or (
        stock.counts_against == "shakedown" and rules.shakedown_in_total
    )


def _tyre_now(
    ledger: Ledger, tyre: TyreNow, runs: list[tuple[int, Run]], counted: bool
) -> TyreNow:
    place: Place | None = None
    last: Place | None = tyre.last_place
    on_hub = tyre.ever_fitted
    for spell in ledger.spells:
        place = place_of(spell.car, tyre.tyre_id)
        if place is not None:
            last = place
            on_hub = on_hub or place in CORNERS
    readings = tuple(
        replace(
            reading,
            corner=reading.corner or _place_before(ledger, tyre.tyre_id, reading.entry_id),
            runs_before=_runs_before(runs, ledger.reading_at[reading.entry_id]),
        )
        for reading in tyre.readings
    )
    torque = next((t.since for t in ledger.torque.values() if t.tyre_id == tyre.tyre_id), "")
    status, why = tyre.status, tyre.status_why
    leak = leak_words(tyre, ledger.fittings, ledger.reports) if status == "ok" else ""
    if leak:
        status, why = "locked", leak
    return replace(
        tyre,
        status=status,
        status_why=why,
        place=place,
        last_place=last,
        counted=counted,
        ever_fitted=on_hub,
        runs=tuple(run for _, run in runs),
        readings=readings,
        looks=tuple(
            replace(look, runs_before=_runs_before(runs, ledger.reading_at[look.entry_id]))
            for look in tyre.looks
        ),
        torque_due_since=torque,
    )


def _runs_before(runs: list[tuple[int, Run]], at: Position) -> int:
    return sum(1 for row, _ in runs if _is_behind(at, row))


def _place_before(ledger: Ledger, tyre_id: str, entry_id: str) -> Place | None:
    """Return where a tyre was last on the car before a reading."""
    found: Place | None = None
    for spell in ledger.spells:
        if spell.since <= ledger.reading_at[entry_id]:
            found = place_of(spell.car, tyre_id) or found
    return found


def _fitted(ledger: Ledger) -> FittingNow | None:
    if not ledger.spells:
        return None
    spell = ledger.spells[-1]
    for fitting in reversed(ledger.fittings):
        if fitting.place == spell.place and spell.kind == "fitting":
            return fitting
    at = next((f.at for f in reversed(ledger.fittings)), ledger.last_entry_at)
    assert at is not None  # a spell comes from an entry, and entries have a time
    place = spell.place or (ledger.fittings[-1].place if ledger.fittings else "")
    found = spell.kind == "as_found"
    return FittingNow(spell.entry_id, place, at, spell.car, read_back=found, source=spell.kind)


def _next_place(ledger: Ledger) -> str | None:
    """Return the change place whose fitting is not made yet."""
    places = ledger.course.itinerary.change_places
    keys = [place.key for place in places]
    first = keys.index(ledger.done_place) + 1 if ledger.done_place in keys else 0
    for place in places[first:]:
        row_out = ledger.course.place_rows[place.key][1]
        if row_out >= ledger.passed[0]:
            return place.key
    return None


def _step(ledger: Ledger, next_place: str | None, done: int) -> str:
    if ledger.closed:
        return "handover"
    if next_place is None and ledger.phase in ("before_in", "left_behind", "car_in"):
        planned = [r for r in ledger.course.row_of_stage if r not in ledger.cancelled]
        last_row = ledger.course.row_of_stage[planned[-1]] if planned else 0
        if _is_behind(ledger.passed, last_row) or (done == 0 and not planned):
            return "handover"
    return ledger.phase
