"""Whatever a crew does in any order, the state stays one a car can be in."""

from collections import Counter
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from crewdesk.assets import shipped
from crewdesk.desk.checks import counters, judge_entry
from crewdesk.desk.replay import Fold, finish, fold_all, replay, start
from crewdesk.documents.store import load_event
from crewdesk.journal.entries import ENTRY_ADAPTER, StoredEntry
from crewdesk.units import CORNERS, PLACES

BUNDLE = load_event(Path(str(shipped("demo_events").joinpath("quellhaven"))))
TYRES = [t.tyre_id for t in BUNDLE.stock.tyres]
MOUNTED = [t.tyre_id for t in BUNDLE.stock.tyres if t.rim_id]
STAGES = [s.ref for s in BUNDLE.itinerary.stages]
KEYS = [p.key for p in BUNDLE.itinerary.change_places]
BEGAN = datetime(2026, 8, 22, 6, tzinfo=UTC)

HARDS = [t for t in MOUNTED if t.startswith("H")]

cars = st.one_of(
    st.lists(st.sampled_from(HARDS), min_size=4, max_size=6, unique=True),
    st.lists(st.sampled_from(MOUNTED), min_size=4, max_size=6, unique=True),
).map(lambda ids: dict(zip(PLACES, ids, strict=False)))
corners = st.sampled_from(CORNERS)
maybe_tyre = st.none() | st.sampled_from(TYRES)

fittings = st.builds(
    lambda place, car: {"kind": "fitting", "place": place, "fitting": car},
    st.sampled_from(KEYS),
    cars,
)
found = st.builds(
    lambda place, car, since: {
        "kind": "as_found",
        "place": place,
        "fitting": car,
        "since": since,
    },
    st.sampled_from(KEYS),
    cars,
    st.none() | st.sampled_from(STAGES + KEYS),
)
swaps = st.builds(
    lambda a, b: {"kind": "swap", "corners": (a, b)},
    corners,
    corners,
)
reads = st.builds(
    lambda place: {"kind": "read_back_as_is", "place": place}, st.sampled_from(KEYS)
)
stages = st.builds(
    lambda ref, km: {"kind": "stage_run", "stage": ref, "km_driven": km},
    st.sampled_from(STAGES),
    st.none() | st.floats(0, 9),
)
incidents = st.builds(
    lambda what, corner, side, where, km, by: {
        "kind": "incident",
        "what": what,
        "corner": corner,
        "side": side,
        "where": where,
        "km_into_stage": km,
        "changed_by": by,
    },
    st.sampled_from(["puncture", "cut", "bulge", "spin", "leak"]),
    st.none() | corners,
    st.sampled_from([None, "left", "right"]),
    st.sampled_from(["", *STAGES, *[f"after {s}" for s in STAGES], *KEYS]),
    st.none() | st.floats(0, 9),
    st.sampled_from(["crew", "nobody", ""]),
)
readings = st.builds(
    lambda tyre, mm, place: {
        "kind": "reading",
        "tyre_id": tyre,
        "tread_mid_mm": mm,
        "place": place,
    },
    st.sampled_from(TYRES),
    st.floats(0, 10),
    st.sampled_from(["", *KEYS]),
)
rims = st.builds(
    lambda tyre, rim: {"kind": "rim_move", "tyre_id": tyre, "rim_id": rim},
    st.sampled_from(TYRES),
    st.sampled_from([r.rim_id for r in BUNDLE.event.rims]),
)
undos = st.just({"kind": "undo_last"})
answers = st.builds(
    lambda since, corner: {"kind": "answer_first", "since": since, "corner": corner},
    st.sampled_from(STAGES),
    corners,
)
cancels = st.builds(
    lambda ref: {"kind": "documents_changed", "what": "stage_cancelled", "target": ref},
    st.sampled_from(STAGES),
)
off = st.builds(
    lambda ref, again: {"kind": "off_road", "where": ref, "restarts": again},
    st.sampled_from(STAGES),
    st.booleans(),
)
actions = st.lists(
    st.one_of(
        fittings, fittings, found, swaps, reads, stages, stages, incidents, readings, rims,
        undos, answers, cancels, off,
    ),
    max_size=25,
)  # fmt: skip


def body_of(action, fold: Fold, state):
    """Turn an action into an entry that fits the day so far, or None."""
    kind = action["kind"]
    if kind == "undo_last":
        return state.undoable and {"kind": "undo", "target_id": state.undoable}
    if kind == "answer_first":
        if not state.open_questions:
            return None
        question = state.open_questions[0]
        if "since" in question.fields:
            values = {"since": action["since"]}
        elif "corner" in question.fields:
            values = {"corner": action["corner"]}
        else:
            return None
        return {"kind": "answer", "question_id": question.id, "values": values}
    if kind == "read_back_as_is":
        car = state.fitted.tyres if state.fitted else {}
        return {"kind": "read_back", "place": action["place"], "fitting": dict(car)}
    if kind == "swap":
        one, other = action["corners"]
        car = state.fitted.tyres if state.fitted else {}
        if one == other or not car:
            return None
        return {"kind": "road_change", "fitting": {one: car[other], other: car[one]}}
    return action


def played(actions):
    """Return the entries that were taken, through the same checks as the window."""
    fold = start(BUNDLE)
    state = finish(fold)
    for number, action in enumerate(actions, start=1):
        body = body_of(action, fold, state)
        if not body:
            continue
        entry = ENTRY_ADAPTER.validate_python(body)
        judged = judge_entry(fold, state, entry)
        if not judged.accepted:
            continue
        stored = StoredEntry(
            seq=number,
            id=f"id{number}",
            desk="t",
            desk_seq=number,
            after=(),
            at_utc=BEGAN + timedelta(minutes=number),
            clock_offset_s=0.0,
            kind=entry.kind,
            version=1,
            body=entry,
        )
        fold = fold_all(fold, (stored,))
        state = finish(fold)
    return fold.entries, state


@given(actions, st.integers(0, 25))
def test_a_prefix_and_then_the_rest_is_the_whole(steps, cut):
    entries, state = played(steps)
    halfway = fold_all(start(BUNDLE), entries[:cut])
    assert finish(fold_all(halfway, entries[cut:])) == replay(BUNDLE, entries) == state


@given(actions)
def test_no_tyre_is_in_two_places(steps):
    _, state = played(steps)
    if state.fitted is None:
        return
    on = [t for t in state.fitted.tyres.values() if t]
    assert len(on) == len(set(on))
    for place, tyre in state.fitted.tyres.items():
        if tyre:
            assert state.tyres[tyre].place == place
    assert {t.tyre_id for t in state.tyres.values() if t.place} == set(on)


@given(actions)
def test_no_rim_holds_two_tyres(steps):
    _, state = played(steps)
    held = Counter(t.rim_id for t in state.tyres.values() if t.rim_id)
    assert not [rim for rim, n in held.items() if n > 1]


@given(actions)
def test_counts_equal_a_recount(steps):
    entries, state = played(steps)
    told = counters(BUNDLE, state)
    counted = [t for t in state.tyres.values() if t.counted]
    assert told["used"] == len(counted) == len(set(state.counted))
    by_compound = Counter(t.stock.compound for t in counted)
    assert told["by_compound"] == dict(sorted(by_compound.items()))
    assert sum(state.counted_by_group.values()) == len(counted)
    ran = {t.tyre_id for t in state.tyres.values() if t.runs}
    event = {t.tyre_id for t in BUNDLE.stock.tyres if t.counts_against == "event"}
    assert ran & event <= set(state.counted)
    assert entries == tuple(entries)


@given(actions)
def test_four_corners_run_the_kilometres_of_the_car(steps):
    """No tyre kilometre is made up: at most four for each kilometre of the car."""
    _, state = played(steps)
    ran = Counter()
    for tyre in state.tyres.values():
        for run in tyre.runs:
            assert run.km > 0
            assert 0 < run.split <= 1
            ran[run.stage] += run.km * run.split
    lengths = {s.ref: s.km for s in BUNDLE.itinerary.stages}
    for ref, km in ran.items():
        assert ref in state.stages_run
        assert km <= 4 * lengths[ref] * (1 + 1e-9) + 1e-9


@given(actions)
def test_undo_and_redo_bring_the_same_state_back(steps):
    entries, state = played(steps)
    if state.undoable is None:
        return
    more = []
    for target in (state.undoable, "undo1"):
        body = ENTRY_ADAPTER.validate_python({"kind": "undo", "target_id": target})
        number = len(entries) + len(more) + 100
        more.append(
            entries[-1].model_copy(
                update={
                    "seq": number,
                    "id": f"undo{len(more) + 1}",
                    "kind": "undo",
                    "body": body,
                    "at_utc": entries[-1].at_utc,
                }
            )
        )
    again = replay(BUNDLE, (*entries, *more))
    assert again.tyres == state.tyres
    assert again.fitted == state.fitted
    assert again.counted == state.counted
    assert again.undoable == state.undoable


def test_the_actions_do_something():
    """The strategies above reach fittings that are taken, or they would show nothing."""
    entries, state = played(
        [
            {
                "kind": "fitting",
                "place": "A",
                "fitting": dict(zip(PLACES, MOUNTED, strict=False)),
            },
            {"kind": "swap", "corners": ("FL", "FR")},
            {"kind": "stage_run", "stage": "SS3"},
        ]
    )
    assert [e.kind for e in entries] == ["fitting", "road_change", "stage_run"]
    assert state.tyres[MOUNTED[0]].event_km == pytest.approx(42.91)
