"""What was learnt goes with the handover, and the next event starts from it."""

import json
from html import escape
from pathlib import Path
from uuid import uuid4

import numpy as np
import pytest

from crewdesk.desk.day import Day
from crewdesk.desk.handover import make_handover, write_handover
from crewdesk.desk.handover_page import handover_html
from crewdesk.desk.importing import bring_in
from crewdesk.desk.learn import disagreements, learn
from crewdesk.desk.learn_carry import NEW_PLACE_LN_SD, begin
from crewdesk.desk.learnt import Layout, Rubber
from crewdesk.documents.faults import Findings
from crewdesk.documents.learnt import (
    LEARNT_FILE,
    LearntBefore,
    learnt_from_text,
    learnt_text,
)
from crewdesk.documents.store import load_event, load_from_texts
from crewdesk.errors import DocumentError
from tests.unit.desk.conftest import demo

HARD = Rubber("gravel", "hard", "gravel")


@pytest.fixture(scope="module")
def handover(walk):
    return walk("quellhaven").handover


@pytest.fixture
def next_event(handover, tmp_path, open_day) -> Path:
    """The next event: the same folder with the handover in place of the stock."""
    folder = tmp_path / "next"
    folder.mkdir()
    for name in ("itinerary.csv", "weather.csv"):
        (folder / name).write_text((demo("quellhaven") / name).read_text(encoding="utf-8"))
    event = json.loads((demo("quellhaven") / "event.json").read_text(encoding="utf-8"))
    event["event_id"] = str(uuid4())
    (folder / "event.json").write_text(json.dumps(event))
    (folder / "handover.json").write_text(handover.model_dump_json())
    return folder


def test_the_handover_holds_factors_doubts_and_counts(handover, walk):
    told = walk("quellhaven")
    learnt = learn(told.bundle, told.state, told.state.last_entry_at)
    kept = handover.learnt
    assert kept is not None
    assert kept.event == told.bundle.event.name
    rows = {(w.use, w.hardness, w.ground): w for w in kept.wear}
    hard = rows["gravel", "hard", "gravel"]
    assert np.exp(hard.ln_factor) == pytest.approx(learnt.factor(HARD), rel=1e-5)
    assert hard.readings == learnt.counts[HARD]
    cov = np.array(kept.ln_cov)
    assert cov.shape == (len(kept.wear), len(kept.wear))
    assert np.linalg.eigvalsh(cov).min() > 0.0
    assert [one.corner for one in kept.corners] == ["FL", "FR", "RL", "RR"]
    assert kept.heat_readings == learnt.heat.readings


def test_a_day_without_readings_hands_nothing_on(open_day):
    assert make_handover(open_day()).learnt is None


def test_the_next_event_starts_from_it_less_sure(next_event, handover):
    bundle = load_event(next_event)
    assert bundle.learnt == handover.learnt
    layout = Layout([HARD])
    start = begin(bundle, layout)
    number = next(
        n
        for n, w in enumerate(handover.learnt.wear)
        if (w.use, w.hardness, w.ground) == ("gravel", "hard", "gravel")
    )
    assert start.mean[0] == pytest.approx(handover.learnt.wear[number].ln_factor)
    before = handover.learnt.ln_cov[number][number]
    assert start.cov[0, 0] == pytest.approx(before + NEW_PLACE_LN_SD**2)
    # Corners belong to the roads of the last event: they start anew.
    assert start.mean[1:] == pytest.approx(np.zeros(4))
    assert np.diag(start.cov)[1:] == pytest.approx(np.full(4, 0.20**2))
    assert start.cov[0, 1:] == pytest.approx(np.zeros(4))
    assert np.linalg.eigvalsh(start.cov).min() > 0.0


def test_the_book_keeps_it(next_event, tmp_path):
    path = tmp_path / "next.daybook"
    with Day.open(next_event, book_path=path, desk_name="test") as day:
        assert day.folder_differs() == ()
        kept = day.bundle.learnt
        now = day.bundle.itinerary.change_places[0].due_in_utc
        assert learn(day.bundle, day.state, now).carried_from == kept.event
        first = learn(day.bundle, day.state, now).factor(HARD)
        assert first == pytest.approx(np.exp(kept.wear[0].ln_factor), rel=1e-6)
    with Day.open_book(path, desk_name="test", read_only=True) as again:
        assert again.bundle.learnt == kept
        assert LEARNT_FILE in again.bundle.source_files


def test_written_handover_can_be_read_again(next_event, tmp_path):
    with Day.open(next_event, book_path=tmp_path / "b.daybook", desk_name="test") as day:
        files = write_handover(day, tmp_path / "out")
    text = next(p for p in files if p.name == "handover.json").read_text(encoding="utf-8")
    # Two events without a reading between them: less sure each time, never surer.
    again = LearntBefore.model_validate(json.loads(text)["learnt"])
    first = load_event(next_event).learnt
    assert again.ln_cov[0][0] == pytest.approx(first.ln_cov[0][0] + NEW_PLACE_LN_SD**2)
    assert again.wear[0].ln_factor == pytest.approx(first.wear[0].ln_factor)


def test_another_word_for_the_same_hardness_is_the_same_rubber(next_event):
    bundle = load_event(next_event)
    texts = dict(bundle.source_files)
    before = bundle.learnt.model_copy(
        update={
            "wear": tuple(
                w.model_copy(update={"compound": w.compound.upper()})
                for w in bundle.learnt.wear
            )
        }
    )
    texts[LEARNT_FILE] = learnt_text(before)
    other = load_from_texts(texts)
    layout = Layout([HARD])
    assert begin(other, layout).mean == pytest.approx(begin(bundle, layout).mean)


def test_a_file_that_does_not_fit_is_told_of(next_event):
    texts = dict(load_event(next_event).source_files)
    raw = json.loads(texts[LEARNT_FILE])
    raw["ln_cov"] = raw["ln_cov"][:1]
    with pytest.raises(DocumentError, match="ln_cov"):
        load_from_texts({**texts, LEARNT_FILE: json.dumps(raw)})
    found = Findings()
    assert learnt_from_text("{", found) is None
    assert found.faults[0].file == LEARNT_FILE
    one_sided = {"event": "x", "wear": raw["wear"], "ln_cov": [[0.1, 0.0], [0.05, 0.1]]}
    with pytest.raises(ValueError, match="diagonal"):
        LearntBefore.model_validate(one_sided)


def test_the_sentences_stand_in_the_file_and_on_the_page(handover, walk):
    told = walk("quellhaven")
    learnt = learn(told.bundle, told.state, told.state.last_entry_at)
    words = [one.sentence for one in learnt.wear if one.readings]
    assert words
    assert set(words) <= set(handover.learnt_words)
    # What warns comes first.
    assert handover.learnt_words[: len(learnt.warnings)] == learnt.warnings
    page = handover_html(handover)
    assert "<h2>What was learnt</h2>" in page
    assert all(escape(one) in page for one in words)


def test_the_call_is_given_the_same_warnings(walk):
    told = walk("quellhaven")
    now = told.state.last_entry_at
    learnt = learn(told.bundle, told.state, now)
    assert learnt.warnings
    assert disagreements(told.bundle, told.state, now) == learnt.warnings


def test_rates_by_corner_are_the_tables_times_the_factor(walk):
    told = walk("quellhaven")
    learnt = learn(told.bundle, told.state, told.state.last_entry_at)
    assert {rate.corner for rate in learnt.rates} == {"FL", "FR", "RL", "RR"}
    for rate in learnt.rates:
        rubber = Rubber(rate.use, rate.compound, rate.ground)
        corner = ("FL", "FR", "RL", "RR").index(rate.corner)
        # This event began with the tables, so the starting value is theirs.
        factor = learnt.factor(rubber, corner)
        assert rate.now_mm_km / rate.start_mm_km == pytest.approx(factor, rel=1e-9)
        assert rate.start_low < rate.start_mm_km < rate.start_high
        assert rate.now_low < rate.now_mm_km < rate.now_high
        # Readings make it surer than it was.
        if rate.readings:
            assert rate.now_high / rate.now_low < rate.start_high / rate.start_low


def test_importing_the_stock_of_a_handover_brings_what_was_learnt(handover, tmp_path):
    folder = tmp_path / "other"
    folder.mkdir()
    for name in ("itinerary.csv", "weather.csv", "event.json"):
        (folder / name).write_text((demo("quellhaven") / name).read_text(encoding="utf-8"))
    file = tmp_path / "handover.json"
    file.write_text(handover.model_dump_json(), encoding="utf-8")
    lines, faults = bring_in("stock", file, folder, first_day=None, look=False)
    assert not faults
    assert any(LEARNT_FILE in line for line in lines)
    known = load_event(folder).learnt
    assert known == handover.learnt
