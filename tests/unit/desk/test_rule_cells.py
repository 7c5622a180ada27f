"""The rules cell by cell for an editor, what ran under which of them, and sets of our own."""

from datetime import UTC, datetime, timedelta

import pytest

from crewdesk.desk.bulletin_words import bulletin_lines
from crewdesk.desk.case import rules_of
from crewdesk.desk.regulation_edit import line_entry, own_copy, regulation_set, set_entry
from crewdesk.desk.rule_cells import (
    TOLD_HERE,
    cells_in_force,
    ran_under,
    text_of,
    typed_value,
)
from crewdesk.errors import DocumentError
from crewdesk.journal.entries import DocumentsChanged, Fitting, ReadBack, TyreState
from crewdesk.regulations.build import field_fault

FIRST = {"FL": "H01", "FR": "H02", "RL": "H03", "RR": "H04", "SP1": "H05"}
MORNING = datetime(2026, 8, 22, 7, tzinfo=UTC)


def line(bundle, name):
    return next(one for one in cells_in_force(bundle) if one.name == name)


@pytest.mark.parametrize("event", ["quellhaven", "lunehaven", "saldrey"])
def test_every_line_typed_as_it_stands_keeps_its_value(event, request):
    bundle = request.getfixturevalue(event)
    car_class = bundle.event.car_class
    for one in cells_in_force(bundle):
        if one.name in TOLD_HERE:
            continue
        typed = typed_value(one.name, text_of(one, car_class))
        assert not field_fault(one.name, typed, car_class), one.name
        if one.value not in (None, (), [], {}) and not isinstance(one.value, dict):
            assert typed == one.value, one.name


def test_tables_stand_cell_by_cell_with_their_own_source(open_day):
    day = open_day()
    assert (line(day.bundle, "caps.hard").value, line(day.bundle, "caps.soft").value) == (14, 8)
    assert day.enter(line_entry("caps.hard", 12, source="board", bulletin_no="4")).accepted
    hard, soft = line(day.bundle, "caps.hard"), line(day.bundle, "caps.soft")
    assert (hard.value, hard.bulletin_no, hard.own) == (12, "4", True)
    assert (soft.value, soft.own) == (8, False)
    assert line(day.bundle, "people_max.remote").shown == "not checked"


def test_pressures_are_typed_in_bar(quellhaven):
    assert line(quellhaven, "bead_seat_max_kpa").shown == "2.75 bar"
    assert typed_value("cold_min_kpa", "1,7") == pytest.approx(170.0)
    assert typed_value("qty_total", " ") is None
    assert typed_value("count_rule", "fitted or carried") == "fitted_or_carried"


def test_a_fitting_of_the_past_shows_what_it_ran_under(open_day):
    day = open_day()
    assert day.enter(Fitting(place="A", fitting=FIRST, at=MORNING)).accepted
    assert day.enter(ReadBack(place="A", fitting=FIRST, at=MORNING)).accepted
    later = MORNING + timedelta(hours=2)
    assert day.enter(line_entry("qty_total", 16, source="board", at=later)).accepted
    assert day.enter(line_entry("caps.hard", 12, source="board", at=later)).accepted
    (one,) = ran_under(day.bundle, day.state)
    assert (one.place, one.set_name) == ("A", "Weekend Gravel")
    assert one.differs == (
        "Tyres for the event 18 (now 16)",
        "Most of each compound, hard 14 (now 12)",
    )


def test_bulletins_are_told_in_words_the_last_one_first(open_day):
    day = open_day()
    body = DocumentsChanged(
        what="stage_shortened", target="SS5", value=9.5, bulletin_no="7", by="Mo", at=MORNING
    )
    assert day.enter(body).accepted
    later = MORNING + timedelta(hours=1)
    sunday = datetime(2026, 8, 23, 4, tzinfo=UTC)
    rule = line_entry("qty_total", 16, source="", bulletin_no="8", valid_from=sunday, at=later)
    assert day.enter(rule).accepted
    assert bulletin_lines(day.bundle, day.state) == (
        "Sat 10:00  Tyres for the event: 16 · bulletin 8 · valid from Sun 06:00",
        "Sat 09:00  SS5 is 9.5 km long now · bulletin 7 · Mo",
    )


def test_another_set_in_mid_event_leaves_bulletins_and_the_list_alone(open_day):
    day = open_day()
    for body in (
        DocumentsChanged(what="stage_cancelled", target="SS5", at=MORNING),
        DocumentsChanged(what="position", target="2", value=4, at=MORNING),
        line_entry("spare_max", 1, source="board", at=MORNING),
        TyreState(tyre_id="X1", state="marked", mark="QH-7777", at=MORNING),
    ):
        assert day.enter(body).accepted
    marks = {t.tyre_id: t.stock.mark for t in day.state.tyres.values()}
    offset = day.bundle.itinerary.offsets_min[2]
    ours = own_copy(day.bundle, day.bundle.regulation_set, "Ours")
    assert ours.fields["spare_max"] == 1
    assert ours.sources["spare_max"] == "board"
    assert ours.fields["qty_total"] == {"four_wheel_drive": 18, "two_wheel_drive": 14}
    assert day.enter(set_entry(day.bundle, ours, at=MORNING)).accepted
    assert bulletin_lines(day.bundle, day.state)[0] == "Sat 09:00  set of rules: Ours"
    assert day.bundle.regulation_set.name == day.bundle.event.regulation_set == "Ours"
    assert "SS5" not in [s.ref for s in day.bundle.itinerary.stages]
    assert day.bundle.itinerary.offsets_min[2] == offset
    assert rules_of(day.bundle).spare_max == 1
    assert {t.tyre_id: t.stock.mark for t in day.state.tyres.values()} == marks


def test_a_copy_of_another_set_does_not_take_our_lines(open_day):
    day = open_day()
    assert day.enter(line_entry("spare_max", 1, source="board", at=MORNING)).accepted
    other = own_copy(day.bundle, regulation_set("Three-Day Asphalt"), "Ours")
    assert other.fields["spare_max"] == 2
    with pytest.raises(DocumentError, match="ships"):
        own_copy(day.bundle, other, "Day Gravel")
