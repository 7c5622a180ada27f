"""Days with bulletins in any order: rules of their moment; bad entries change nothing."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from crewdesk.assets import shipped
from crewdesk.desk.checks import counters, judge_entry
from crewdesk.desk.replay import finish, fold_all, replay, start
from crewdesk.documents.store import load_event
from crewdesk.journal.entries import ENTRY_ADAPTER, StoredEntry
from crewdesk.units import CORNERS, PLACES

BUNDLE = load_event(Path(str(shipped("demo_events").joinpath("quellhaven"))))
STOCK = {t.tyre_id for t in BUNDLE.stock.tyres}
READY = [t.tyre_id for t in BUNDLE.stock.tyres if t.rim_id and t.counts_against == "event"]
KEYS = [p.key for p in BUNDLE.itinerary.change_places]
BEGAN = datetime(2026, 8, 22, 6, tzinfo=UTC)

fittings = st.builds(
    lambda place, ids: {
        "kind": "fitting",
        "place": place,
        "fitting": dict(zip(PLACES, ids, strict=False)),
    },
    st.sampled_from(KEYS),
    st.lists(st.sampled_from(READY), min_size=4, max_size=6, unique=True),
)
limits = st.builds(
    lambda value, ahead: {
        "kind": "documents_changed",
        "what": "rule",
        "target": "qty_total",
        "value": value,
        "ahead": ahead,
    },
    st.integers(4, 20),
    st.sampled_from([None, -3, 2, 5]),
)
counting = st.builds(
    lambda word: {
        "kind": "documents_changed",
        "what": "rule",
        "target": "count_rule",
        "value": word,
        "ahead": None,
    },
    st.sampled_from(["fitted", "fitted_or_carried"]),
)
stages = st.builds(
    lambda ref: {"kind": "stage_run", "stage": ref},
    st.sampled_from([s.ref for s in BUNDLE.itinerary.stages]),
)
again = st.builds(
    lambda ref: {"kind": "documents_changed", "what": "stage_repeated", "target": ref},
    st.sampled_from([s.ref for s in BUNDLE.itinerary.stages]),
)
bad = st.sampled_from(
    [
        {"kind": "override", "code": "QTY-1", "name": " ", "reason": "because"},
        {"kind": "override", "code": "QTY-1", "name": "N. Chief", "reason": ""},
        {"kind": "tyre_added", "row": {"tyre_id": "H14"}, "replaces": "H01"},
        {
            "kind": "tyre_added",
            "row": {"tyre_id": "H14"},
            "replaces": "H01",
            "joker_sheet": "J-1",
        },
        {"kind": "mark_check", "place": "TC8C", "noted": {"FL": "QH-2001", "RR": "QH-2001"}},
        {"kind": "tyre_state", "tyre_id": "H12", "state": "marked", "mark": "QH-2001"},
        {"kind": "fitting", "place": "TC3A", "fitting": dict(zip(PLACES, READY, strict=False))},
        {
            "kind": "fitting",
            "place": "A",
            "fitting": dict(zip(CORNERS, READY, strict=False)),
            "override_name": "N. Chief",
        },
        {"kind": "road_change", "after": "parc ferme", "fitting": {"FL": "*FR", "FR": "*FL"}},
    ]
)
CODES = {
    "override": {"ENTRY"},
    "tyre_added": {"JOK-1", "JOK-2"},
    "mark_check": {"MRK-2"},
    "tyre_state": {"MRK-2"},
    "fitting": {"PLC-1", "ENTRY"},
    "road_change": {"PLC-1"},
}
days = st.lists(
    st.one_of(fittings, fittings, fittings, limits, counting, stages, again), max_size=14
)

counting_days = st.lists(
    st.one_of(
        st.builds(
            lambda a, ids: {**a, "fitting": dict(zip(PLACES, ids, strict=True))},
            fittings,
            st.permutations(READY[:9]).map(lambda ids: ids[:6]),
        ),
        counting,
    ),
    max_size=6,
)
"""Few tyres and many changes of what counts, with two spares each time."""


def entry_of(action, number):
    body = {k: v for k, v in action.items() if k != "ahead"}
    at = BEGAN + timedelta(hours=number)
    body["at"] = at
    if action.get("ahead") is not None:
        body["valid_from"] = at + timedelta(hours=action["ahead"])
    return ENTRY_ADAPTER.validate_python(body)


def stored(entry, number):
    return StoredEntry(
        seq=number,
        id=f"id{number}",
        desk="t",
        desk_seq=number,
        after=(),
        at_utc=entry.at,
        clock_offset_s=0.0,
        kind=entry.kind,
        version=1,
        body=entry,
    )


def played(actions):
    """Return the fold of the entries that were taken."""
    fold = start(BUNDLE)
    for number, action in enumerate(actions, start=1):
        entry = entry_of(action, number)
        if judge_entry(fold, finish(fold), entry).accepted:
            fold = fold_all(fold, (stored(entry, number),))
    return fold


def rule_then(entries, name, at, before):
    """Return the value of a rule at a moment, told from the entries alone.

    A bulletin is in force from its own date, but nobody can obey one before it is known.
    """
    known = [
        (max(e.body.valid_from or e.body.at, e.body.at), e.seq, e.body.value)
        for e in entries
        if e.kind == "documents_changed" and e.body.target == name and e.seq < before
    ]
    valid = [(since, seq, value) for since, seq, value in known if since <= at]
    if not valid:
        return {"qty_total": 18, "count_rule": "fitted_or_carried"}[name]
    return max(valid)[2]


@given(days)
@settings(max_examples=60)
def test_each_fitting_stands_under_the_bulletins_of_its_moment(actions):
    fold = played(actions)
    state = finish(fold)
    seq = {e.id: e.seq for e in fold.entries}
    for fitting in state.fittings:
        limit = rule_then(fold.entries, "qty_total", fitting.at, seq[fitting.entry_id])
        assert fitting.rules.qty_total == limit


@given(counting_days)
@settings(max_examples=60)
def test_the_count_is_a_recount_under_the_rules_of_each_moment(actions):
    fold = played(actions)
    state = finish(fold)
    last = {}
    for entry in fold.entries:
        if entry.kind == "fitting":
            last[BUNDLE.itinerary.place(entry.body.place).key] = entry
    counted = set()
    for entry in last.values():
        rule = rule_then(fold.entries, "count_rule", entry.body.at, entry.seq)
        for place, tyre in entry.body.fitting.items():
            if tyre and (place in CORNERS or rule == "fitted_or_carried"):
                counted.add(tyre)
    assert set(state.counted) == counted
    assert counters(fold.ledger.bundle, state)["used"] == len(counted)


@given(days)
@settings(max_examples=60)
def test_no_tyre_is_lost_or_in_two_places(actions):
    fold = played(actions)
    state = finish(fold)
    assert set(state.tyres) == STOCK
    on = [t for t in (state.fitted.tyres.values() if state.fitted else ()) if t]
    assert len(on) == len(set(on))
    assert {t.tyre_id for t in state.tyres.values() if t.place} == set(on)
    assert replay(BUNDLE, fold.entries) == state


@given(days, bad)
@settings(max_examples=80)
def test_a_bad_entry_gets_its_message_and_changes_nothing(actions, action):
    fold = played(actions)
    state = finish(fold)
    body = dict(action)
    if body["kind"] == "road_change":
        car = state.fitted.tyres if state.fitted else {}
        if not car:
            return
        # In the parc ferme the car is in no change place.
        last = {"kind": "read_back", "place": state.at_place, "fitting": dict(car)}
        if state.at_place is not None:
            number = len(actions) + 1
            fold = fold_all(fold, (stored(entry_of(last, number), number),))
            state = finish(fold)
        body["fitting"] = {"FL": car["FR"], "FR": car["FL"]}
    before = (fold.entries, finish(fold))
    judged = judge_entry(fold, state, entry_of(body, len(actions) + 2))
    assert not judged.accepted
    stops = {m.code for m in judged.messages if m.level == "stops"}
    assert stops & CODES[body["kind"]]
    assert judged.after is fold
    assert (fold.entries, finish(fold)) == before
