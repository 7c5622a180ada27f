"""The handover: what the day has taught, written for the next event."""

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

from crewdesk.desk.answer import Estimate
from crewdesk.desk.case import local, rules_of, split_code
from crewdesk.desk.checks import counters
from crewdesk.desk.closing import overrides_made
from crewdesk.desk.day import Day
from crewdesk.desk.estimate import estimates_of
from crewdesk.desk.handover_page import handover_html
from crewdesk.desk.learn import learn, sentences_of
from crewdesk.desk.learn_carry import learnt_before
from crewdesk.desk.learnt import Learnt
from crewdesk.desk.lessons import (
    calls_made,
    forecasts_seen,
    pressures_kept,
    wear_figures,
)
from crewdesk.desk.moments import span
from crewdesk.desk.state import DayState, TyreNow
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.faults import Findings, error_from
from crewdesk.documents.handover import (
    BulletinSeen,
    Counts,
    Handover,
    HandoverRim,
    HandoverTyre,
    OverrideMade,
    RanUnder,
    RunAt,
    TyreState,
    handover_text,
    stock_text_from_handover,
)
from crewdesk.documents.handover_read import handover_from_text
from crewdesk.documents.writer import table_text, write_atomic
from crewdesk.errors import DocumentError

END_OF_LIFE_MM = 1.5
"""Depth over the minimum under which a tyre is kept for tests only. Tuning value."""

TYRE_COLUMNS = (
    "tyre_id",
    "mark",
    "maker",
    "model",
    "compound",
    "rim_id",
    "dot",
    "tread_in_mm",
    "tread_mid_mm",
    "tread_out_mm",
    "tread_source",
    "tread_sd_mm",
    "edge_brake_share",
    "edge_drive_share",
    "edge_side_share",
    "event_km",
    "stage_km",
    "heat_cycles",
    "counted",
    "state",
    "state_why",
    "damage",
    "runs",
)


def make_handover(day: Day, now_utc: datetime | None = None) -> Handover:
    """Return the handover of a day as it stands."""
    bundle, state = day.bundle, day.state
    now = now_utc or state.last_entry_at or day.now()
    estimates = estimates_of(bundle, state, now)
    days = span(bundle)
    first = local(bundle, days[0]).date() if days else now.date()
    last = local(bundle, days[1]).date() if days else now.date()
    rules = rules_of(bundle)
    count = counters(bundle, state)
    learnt = learn(bundle, state, now)
    return Handover(
        event_id=bundle.event.event_id,
        event=bundle.event.name,
        first_day=first,
        last_day=last,
        zone=bundle.event.zone,
        regulation_set=bundle.event.regulation_set,
        rules=dict(bundle.event.rules),
        counts=Counts(
            used=count["used"],
            limit=count["limit"],
            by_compound=count["by_compound"],
            caps=count["caps"],
            jokers_used=count["jokers_used"],
            jokers=count["jokers"],
        ),
        tyres=tuple(
            _tyre(bundle, state, tyre, estimates[tyre.tyre_id], rules.tread_min_mm)
            for tyre in state.tyres.values()
        ),
        rims=_rims(bundle, state),
        open_questions=tuple(question.text for question in state.open_questions),
        overrides=tuple(
            OverrideMade(code=o.code, name=o.name, reason=o.reason, place=o.place)
            for o in overrides_made(state)
        ),
        bulletins=_bulletins(state),
        ran_under=_ran_under(state),
        wear=wear_figures(bundle, state),
        learnt=learnt_before(bundle, learnt),
        learnt_words=tuple(dict.fromkeys(sentences_of(learnt))),
        pressures=pressures_kept(bundle, state, day.entries),
        calls=calls_made(bundle, state, day.entries),
        forecasts=forecasts_seen(bundle, state),
        actions=(*_actions(state), *_measured_again(learnt)),
        orders=_orders(bundle, state),
        lessons=_lessons(state),
    )


def _bulletins(state: DayState) -> tuple[BulletinSeen, ...]:
    return tuple(
        BulletinSeen(
            at_utc=b.at,
            what=b.what,
            target=b.target,
            value=b.value if b.what != "files" else sorted(b.value or ()),  # type: ignore[call-overload]
            source=b.source,
            article=b.article,
            bulletin_no=b.bulletin_no,
            entered_by=b.by,
            valid_from=b.valid_from,
        )
        for b in state.bulletins
    )


def _ran_under(state: DayState) -> tuple[RanUnder, ...]:
    return tuple(
        RanUnder(
            place=f.place,
            at_utc=f.at,
            qty_total=f.rules.qty_total,
            caps=dict(f.rules.caps),
            bulletins=tuple(f"{k}: {v}" for k, v in sorted(f.rules.sources.items())),
        )
        for f in state.fittings
        if f.rules is not None
    )


def _tyre(
    bundle: EventBundle,
    state: DayState,
    tyre: TyreNow,
    estimate: Estimate,
    minimum_mm: float,
) -> HandoverTyre:
    stock = tyre.stock
    ran = bool(tyre.runs)
    sides = {run.place[-1] for run in tyre.runs if run.place in ("FL", "FR", "RL", "RR")}
    side = stock.side_run
    if sides:
        side = "left" if sides == {"L"} else "right" if sides == {"R"} else "both"
    word, why = _state_of(tyre, estimate, minimum_mm)
    days = span(bundle)
    first = stock.first_mounted
    if ran and not first and days is not None:
        first = f"{local(bundle, days[0]):%Y-%m-%d}"
    km = round(tyre.event_km, 2)
    source = (
        "new" if stock.new and not ran else "measured" if estimate.measured else "estimated"
    )
    total_km = None if stock.stage_km is None else round(stock.stage_km + km, 2)
    cycles = stock.heat_cycles
    if cycles is not None:
        loops = {s.loop for s in bundle.itinerary.stages for r in tyre.runs if r.stage == s.ref}
        cycles += len(loops)
    return HandoverTyre(
        tyre_id=tyre.tyre_id,
        mark=stock.mark,
        maker=stock.maker,
        model=stock.model,
        compound=stock.compound,
        use=stock.use,
        size=stock.size,
        rim=stock.rim,
        rim_id=tyre.rim_id,
        dot=stock.dot,
        e_mark=stock.e_mark,
        service_desc=stock.service_desc,
        tread_new_mm=stock.tread_new_mm,
        tread_mm=_rounded(estimate.tread_mm, 2),
        tread_source=source,
        tread_sd_mm=0.0 if estimate.measured else round(estimate.sd_mm, 2),
        edge_share=_rounded(estimate.edge_share, 3),
        stage_km=total_km,
        event_km=km,
        heat_cycles=cycles,
        studs=stock.studs,
        price=stock.price,
        terms=stock.terms,
        side_run=side,
        direction=stock.direction,
        hardness_shore_a=stock.hardness_shore_a,
        first_mounted=first,
        counted=tyre.counted,
        runs=tuple(
            RunAt(stage=run.stage, place=run.place, km=round(run.km * run.split, 2))
            for run in tyre.runs
        ),
        damage=_damage(state, tyre.tyre_id),
        state=word,
        state_why=why,
        code=stock.code,
        note=stock.note,
        extra=dict(stock.extra),
    )


def _rounded(values: tuple[float, float, float], digits: int) -> tuple[float, float, float]:
    a, b, c = (round(value, digits) for value in values)
    return (a, b, c)


def _state_of(tyre: TyreNow, estimate: Estimate, minimum_mm: float) -> tuple[TyreState, str]:
    """Return keep, test, hold or scrap, and why."""
    if tyre.status == "scrapped":
        return "scrap", tyre.status_why
    if tyre.status in ("locked", "away"):
        return "hold", tyre.status_why
    least = min(estimate.tread_mm)
    if least < minimum_mm:
        return "scrap", f"{least:.1f} mm, under the minimum {minimum_mm:.1f} mm"
    if tyre.runs and least < minimum_mm + END_OF_LIFE_MM:
        return "test", f"{least:.1f} mm: end of life"
    return "keep", ""


def _damage(state: DayState, tyre_id: str) -> tuple[str, ...]:
    return tuple(
        f"{incident.what.replace('_', ' ')}{f', {incident.where}' if incident.where else ''}"
        for _, incident in state.incidents
        if incident.tyre_off == tyre_id and incident.what not in ("spin", "rim")
    )


def _rims(bundle: EventBundle, state: DayState) -> tuple[HandoverRim, ...]:
    on = {tyre.rim_id: tyre for tyre in state.tyres.values() if tyre.rim_id}
    rims = []
    for rim in bundle.event.rims:
        tyre = on.get(rim.rim_id)
        out = state.rims_out.get(rim.rim_id, "")
        word = "scrap" if out.startswith("scrap") else "check" if out else "good"
        note = out
        if tyre is not None and tyre.status_why.startswith("LEAK-1") and not out:
            word, note = "check", "leak of its tyre"
        rims.append(
            HandoverRim(
                rim_id=rim.rim_id,
                rim=rim.rim,
                tyre_id=tyre.tyre_id if tyre is not None else "",
                state=word,
                note=note,
            )
        )
    return tuple(rims)


def _actions(state: DayState) -> tuple[str, ...]:
    actions = [
        f"{tyre.tyre_id} on hold: {split_code(tyre.status_why)[1]}"
        for tyre in state.tyres.values()
        if tyre.status == "locked"
    ]
    actions += [f"Rim {rim}: {why}" for rim, why in state.rims_out.items()]
    actions += [f"Answer: {question.text}" for question in state.open_questions]
    actions += [f"Re-torque {due.corner} ({due.tyre_id})" for due in state.torque_due]
    return tuple(actions)


def _measured_again(learnt: Learnt) -> tuple[str, ...]:
    """Return the tyres whose last depth was not taken: what stands above is an estimate."""
    last = {one.tyre_id: one for one in learnt.compared}
    return tuple(
        f"Measure {one.tyre_id} again: "
        f"{' / '.join(f'{mm:.1f}' for mm in one.read_mm)} mm read, not taken until confirmed"
        for one in last.values()
        if one.questioned and not one.confirmed and one.read_mm
    )


def _orders(bundle: EventBundle, state: DayState) -> tuple[str, ...]:
    """Return by model how many new tyres were used up."""
    used: dict[tuple[str, str, str], int] = {}
    for tyre in state.tyres.values():
        if tyre.stock.new and tyre.runs:
            used[tyre.stock.kind_key] = used.get(tyre.stock.kind_key, 0) + 1
    known = {t.kind_key for t in bundle.stock.tyres}
    return tuple(
        f"{count} {maker} {model} {compound}, to be as many as before"
        for (maker, model, compound), count in sorted(used.items())
        if (maker, model, compound) in known
    )


def _lessons(state: DayState) -> tuple[str, ...]:
    """Return the crew's own lessons: notes that begin with the word."""
    return tuple(
        text.partition(":")[2].strip() or text
        for _, text in state.notes
        if text.lower().startswith("lesson")
    )


def tyre_table(handover: Handover) -> str:
    """Return the table with one row per tyre."""
    rows = []
    for tyre in handover.tyres:
        inner, middle, outer = tyre.tread_mm
        row: Mapping[str, object] = {
            "tyre_id": tyre.tyre_id,
            "mark": tyre.mark,
            "maker": tyre.maker,
            "model": tyre.model,
            "compound": tyre.compound,
            "rim_id": tyre.rim_id,
            "dot": tyre.dot,
            "tread_in_mm": inner,
            "tread_mid_mm": middle,
            "tread_out_mm": outer,
            "tread_source": tyre.tread_source,
            "tread_sd_mm": tyre.tread_sd_mm,
            "edge_brake_share": tyre.edge_share[0],
            "edge_drive_share": tyre.edge_share[1],
            "edge_side_share": tyre.edge_share[2],
            "event_km": tyre.event_km,
            "stage_km": "" if tyre.stage_km is None else tyre.stage_km,
            "heat_cycles": "" if tyre.heat_cycles is None else tyre.heat_cycles,
            "counted": "yes" if tyre.counted else "no",
            "state": tyre.state,
            "state_why": tyre.state_why,
            "damage": "; ".join(tyre.damage),
            "runs": " ".join(f"{r.stage}:{r.place or '?'}" for r in tyre.runs),
        }
        rows.append({key: str(value) for key, value in row.items()})
    comment = f"# {handover.event}, {handover.first_day} to {handover.last_day}"
    return table_text(list(TYRE_COLUMNS), rows, (comment,))


def write_handover(day: Day, folder: Path) -> tuple[Path, ...]:
    """Write handover.json, tyres.csv and handover.html; each file whole or not at all.

    Raises
    ------
    DocumentError
        Where the folder cannot be written.
    """
    handover = make_handover(day)
    texts = {
        "handover.json": handover_text(handover),
        "tyres.csv": tyre_table(handover),
        "handover.html": handover_html(handover),
    }
    folder = Path(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        reason = (error.strerror or "no reason given").lower()
        raise DocumentError(
            f"The folder {folder} cannot be made ({reason}).",
            hint="Choose another folder; the day book is untouched.",
        ) from error
    for name, text in texts.items():
        write_atomic(folder / name, text)
    return tuple(folder / name for name in texts)


def read_handover(path: Path) -> Handover:
    """Return a handover from its file.

    Raises
    ------
    DocumentError
        Where the file cannot be read, is newer than this program, or is no handover.
    """
    try:
        text = Path(path).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise DocumentError(
            f"{path} cannot be read.", hint="Choose the handover.json of the last event."
        ) from error
    found = Findings()
    handover = handover_from_text(path.name, text, found)
    if handover is None or found.faults:
        raise error_from(found.faults, str(path))
    return handover


def stock_from_handover(path: Path) -> str:
    """Return the ``stock.csv`` of the next event from a handover.json."""
    return stock_text_from_handover(read_handover(path))
