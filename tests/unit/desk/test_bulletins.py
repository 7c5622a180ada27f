"""Rules that change in mid-event: what is judged under which bulletin, and the editor."""

from datetime import UTC, datetime

import pytest

from crewdesk.desk.bulletin_words import bulletin_lines
from crewdesk.desk.case import rules_of
from crewdesk.desk.cautions import all_cautions, cautions_for
from crewdesk.desk.check_event import check_all_of, import_messages, rule_faults
from crewdesk.desk.regulation_edit import (
    copy_set,
    files_with,
    find_set,
    line_entry,
    lines_of,
    own_sets,
    save_set,
    set_entry,
    with_line,
)
from crewdesk.desk.replay import replay
from crewdesk.documents.store import load_from_texts
from crewdesk.errors import DocumentError
from crewdesk.journal.entries import DocumentsChanged, Fitting, Override, TyreState
from crewdesk.units import PLACES

NOON = datetime(2026, 8, 22, 12, tzinfo=UTC)


def car(*tyres):
    return dict(zip(PLACES, tyres, strict=False))


def fit(place, *tyres, at=None):
    return {"kind": "fitting", "place": place, "fitting": car(*tyres), "at": at}


FIRST = ("H01", "H02", "H03", "H04", "H05")


def limit(value, at, valid_from=None):
    return {
        "kind": "documents_changed",
        "what": "rule",
        "target": "qty_total",
        "value": value,
        "source": "bulletin board",
        "bulletin_no": "2",
        "by": "tyre desk",
        "at": at,
        "valid_from": valid_from,
    }


def test_each_fitting_keeps_the_rules_it_was_made_under(quellhaven, entries_of):
    entries = entries_of(
        [
            fit("A", *FIRST, at=NOON.replace(hour=6)),
            limit(20, NOON.replace(hour=9)),
            fit("B", "H06", "H07", "H08", "H09", "H05", at=NOON),
        ]
    )
    state = replay(quellhaven, entries)
    assert [f.rules.qty_total for f in state.fittings] == [18, 20]
    value = state.fittings[1].rules.value_of("qty_total")
    assert (value.value, value.bulletin_no, value.entered_by) == (20, "2", "tyre desk")
    assert value.valid_from == NOON.replace(hour=9).isoformat()
    assert [b.bulletin_no for b in state.bulletins] == ["2"]


def test_a_bulletin_for_tomorrow_is_not_in_force_today(quellhaven, entries_of):
    tomorrow = NOON.replace(day=23, hour=4)
    entries = entries_of(
        [
            limit(20, NOON.replace(hour=6), valid_from=tomorrow),
            fit("A", *FIRST, at=NOON.replace(hour=6, minute=30)),
            fit("D", *FIRST, at=tomorrow),
        ]
    )
    state = replay(quellhaven, entries)
    assert [f.rules.qty_total for f in state.fittings] == [18, 20]


def test_what_counts_is_asked_of_the_rules_of_that_moment(quellhaven, entries_of):
    fitted_only = {**limit("fitted", NOON.replace(hour=9)), "target": "count_rule"}
    entries = entries_of(
        [
            fit("A", *FIRST, at=NOON.replace(hour=6)),
            fitted_only,
            fit("B", "H01", "H02", "H03", "H04", "H06", at=NOON),
        ]
    )
    # H05 was carried while a carried tyre counted; H06 when it no longer did.
    assert set(replay(quellhaven, entries).counted) == set(FIRST)


def test_a_late_bulletin_names_the_fittings_that_keep_the_old_value(open_day):
    day = open_day()
    day.enter(Fitting(place="A", fitting=car(*FIRST), at=NOON.replace(hour=6)))
    early = NOON.replace(hour=5)
    receipt = day.enter(DocumentsChanged(what="rule", target="qty_total", value=4, at=early))
    said = {m.code: m for m in receipt.messages}
    assert said["NOTE"].values["fittings"] == ("A",)
    assert said["QTY-1"].values == {"used": 5, "limit": 4}


def test_a_stage_is_run_twice(quellhaven, entries_of):
    bodies = [
        fit("A", *FIRST),
        {"kind": "documents_changed", "what": "stage_repeated", "target": "SS1"},
        {"kind": "stage_run", "stage": "SS3"},
    ]
    state = replay(quellhaven, entries_of(bodies))
    assert state.stages_run == ("SS1", "SS1R", "SS2", "SS3")
    assert state.tyres["H01"].event_km == pytest.approx(42.91 + 13.62)


def test_a_second_run_after_stages_were_driven_moves_nothing_behind_the_car(
    quellhaven, entries_of
):
    before = [fit("A", *FIRST), {"kind": "stage_run", "stage": "SS2"}]
    again = {
        "kind": "documents_changed",
        "what": "stage_repeated",
        "target": "SS1",
        "value": "SS2",
    }
    one = replay(quellhaven, entries_of(before))
    two = replay(quellhaven, entries_of([*before, again]))
    assert two.stages_run == one.stages_run == ("SS1", "SS2")
    more = replay(
        quellhaven, entries_of([*before, again, {"kind": "stage_run", "stage": "SS3"}])
    )
    assert more.tyres["H01"].event_km == pytest.approx(42.91 + 13.62)


def test_a_second_run_behind_the_car_is_refused(open_day):
    day = open_day()
    day.enter(Fitting(place="A", fitting=car(*FIRST)))
    from crewdesk.journal.entries import StageRun

    day.enter(StageRun(stage="SS2"))
    receipt = day.enter(DocumentsChanged(what="stage_repeated", target="SS1"))
    assert not receipt.accepted
    assert "past the place of the second run" in receipt.messages[0].text


def test_a_service_gets_shorter(open_day):
    day = open_day()
    before = {p.key: p for p in day.bundle.itinerary.change_places}
    assert day.enter(
        DocumentsChanged(what="service_length", target="B", value=20, bulletin_no="1")
    ).accepted
    after = {p.key: p for p in day.bundle.itinerary.change_places}
    assert after["B"].minutes == 20
    assert (before["C"].due_in_utc - after["C"].due_in_utc).total_seconds() == 600
    assert after["D"].due_in_utc == before["D"].due_in_utc  # another leg


def test_an_override_stands_in_the_handover(open_day, tmp_path):
    from crewdesk.desk.handover import make_handover
    from crewdesk.desk.handover_page import handover_html

    day = open_day()
    refused = day.enter(Override(code="QTY-1", name="", reason="agreed"))
    assert not refused.accepted
    made = Fitting(
        place="A",
        fitting=car("X1", "H02", "H03", "H04", "H05"),
        rims={"FL": "G13"},
        override_name="N. Chief",
        override_reason="shown to the delegate",
    )
    assert day.enter(made).accepted
    handover = make_handover(day)
    (one,) = handover.overrides
    assert (one.name, one.reason, one.place) == ("N. Chief", "shown to the delegate", "A")
    assert "N. Chief, shown to the delegate" in handover_html(handover)


def test_the_nomination_closes(open_day):
    day = open_day()
    late = datetime(2026, 8, 21, 8, tzinfo=UTC)
    body = TyreState(tyre_id="H14", state="not_nominated", at=late)
    receipt = day.enter(body)
    assert not receipt.accepted
    assert receipt.messages[0].code == "QTY-4"
    named = body.model_copy(update={"reason": "bulletin 3"})
    assert day.enter(named).accepted
    assert not day.state.tyres["H14"].stock.registered


# ---- the editor


def test_every_line_has_words_a_value_and_a_source(quellhaven):
    lines = lines_of(quellhaven)
    assert len({line.name for line in lines}) == len(lines)
    assert all(line.words and line.group != "Other" and line.takes for line in lines)
    total = next(line for line in lines if line.name == "qty_total")
    assert (total.shown, total.own) == ("18", False)
    assert "press report" in total.source
    winter = next(line for line in lines if line.name == "winter_tread_min_mm")
    assert winter.shown == "not checked"


def test_a_copied_set_asks_for_sources_again(quellhaven, tmp_path):
    copied = copy_set(quellhaven.regulation_set, "Our Event 2026")
    assert set(copied.sources.values()) == {""}
    with pytest.raises(DocumentError, match="where the value comes from"):
        with_line(copied, "qty_total", 16, " ")
    with pytest.raises(DocumentError, match="allowed"):
        with_line(copied, "qty_total", -3, "art. 3")
    with pytest.raises(DocumentError, match="ships"):
        copy_set(copied, "weekend gravel")
    ours = with_line(copied, "caps.hard", 10, "Supplementary regulations, art. 12.2")
    assert ours.fields["caps"] == {"hard": 10, "soft": 8}
    assert quellhaven.regulation_set.fields["caps"] == {"hard": 14, "soft": 8}
    path = save_set(ours, tmp_path)
    assert path.name == "our_event_2026.json"
    assert own_sets(tmp_path) == (ours,)
    assert find_set("our event 2026", tmp_path) == ours
    assert find_set("Weekend Gravel", tmp_path).fields["qty_total"] == {
        "four_wheel_drive": 18,
        "two_wheel_drive": 14,
    }


def test_an_event_under_a_set_of_our_own(quellhaven, open_day):
    copied = copy_set(quellhaven.regulation_set, "Ours")
    ours = with_line(copied, "qty_total", 16, "SR art. 12")
    bundle = load_from_texts(
        {**quellhaven.source_files, **files_with(quellhaven.source_files, ours)}
    )
    assert rules_of(bundle).qty_total == 16
    assert rules_of(bundle).value_of("qty_total").source == "SR art. 12"
    day = open_day()
    assert day.enter(set_entry(day.bundle, ours, by="tyre desk")).accepted
    assert rules_of(day.bundle).qty_total == 16
    assert day.bundle.source_files["regulations.json"]


def test_one_line_as_an_entry(open_day):
    day = open_day()
    body = line_entry(
        "tread_min_mm", 2.0, source="bulletin board", bulletin_no="4", by="tyre desk"
    )
    assert body.unit == "mm"
    assert day.enter(body).accepted
    line = next(one for one in lines_of(day.bundle) if one.name == "tread_min_mm")
    assert (line.shown, line.bulletin_no, line.own) == ("2 mm", "4", True)


# ---- check and cautions


def test_check_judges_the_values_of_the_rules(tmp_path, quellhaven):
    for name, text in quellhaven.source_files.items():
        changed = text
        if name == "event.json":
            wrong = '"rules": {"qty_total": {"value": "many"}, "spare_max": {"value": 9}}'
            changed = text.replace('"rules": {}', wrong)
        (tmp_path / name).write_text(changed, encoding="utf-8")
    report = check_all_of(tmp_path)
    assert {f.where for f in report.faults} == {"rules.qty_total", "rules.spare_max"}


def test_check_tells_what_the_rules_say_of_the_stock(saldrey):
    assert rule_faults(saldrey) == ()
    codes = {m.code for m in import_messages(saldrey)}
    assert "AGE-1" in codes
    assert "PRS-3" in codes


def test_an_interrupted_stage_is_a_change_of_the_day(quellhaven, entries_of):
    ran = {
        "kind": "stage_run",
        "stage": "SS1",
        "km_driven": 5.0,
        "bulletin_no": "2",
        "by": "Mo",
    }
    entries = entries_of([fit("A", *FIRST, at=NOON.replace(hour=6)), {**ran, "at": NOON}])
    state = replay(quellhaven, entries)
    assert bulletin_lines(quellhaven, state) == (
        "Sat 14:00  SS1 interrupted: 5 km driven at speed · bulletin 2 · Mo",
    )
    whole = entries_of([fit("A", *FIRST), {"kind": "stage_run", "stage": "SS1"}])
    assert bulletin_lines(quellhaven, replay(quellhaven, whole)) == ()


def test_the_cautions_have_words_and_sources(quellhaven):
    places = {"call", "sheet", "card", "handover", "check", "pressures", "mounting", "damage",
              "torque", "stock", "before", "car_in"}  # fmt: skip
    for one in all_cautions():
        assert one.source
        assert one.where
        assert set(one.where) <= places
        low = one.text.lower()
        assert "legal" not in low
        assert "safe" not in low
    nuts = next(c for c in cautions_for("torque", quellhaven) if c.id == "nuts")
    assert "after 50 km" in nuts.text
    # 40 psi: the bead-seating pages of tyre-changing machine manuals.
    bead = next(c for c in cautions_for("mounting", quellhaven) if c.id == "bead")
    assert "2.75 bar" in bead.text
