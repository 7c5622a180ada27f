"""Each state of the day: what it says, where it says it, and that every page goes on."""

from dataclasses import replace
from datetime import timedelta

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from crewdesk.desk.day import Day
from crewdesk.engine.result import Lift
from crewdesk.errors import JournalError
from crewdesk.gui.pages import PAGE_CLASSES
from crewdesk.gui.shortfall import lift_words, served, shortfall_words
from crewdesk.journal.entries import AsFound, CallUsed, Note, Report, TyreState

PAGES = [page.key for page in PAGE_CLASSES]


def later(window, minutes):
    """Let time pass, as a note that was entered so much later says it."""
    at = window.session.now() + timedelta(minutes=minutes)
    window.session.enter(Note(text="the car is seen", at=at))
    window.top.refresh()


def ageing(window, _quick):
    later(window, 20)
    assert window.top.road.font().bold()
    assert "OLD" not in window.top.road.text()


def old(window, _quick):
    later(window, 42)
    assert "⚠ OLD 42 min" in window.top.road.text()
    window.go("call")
    assert "old, range widened" in window.page.watch.text()


def loading(window, _quick):
    window.session.progress = "Working out the call, 2 of 3"
    window.session.working.emit(window.session.progress)
    window.go("call")
    assert "Working out the call, 2 of 3" in window.page.work.text()
    assert window.page.one.text is not None


def contradicting(window, _quick):
    """The road was 39 when the call was made, and is 20 now."""
    window.session.answer_road_c = 39.0
    window.session.enter(Report(place="B", road_c=20))
    window.go("call")
    assert "call made for 39" in window.page.watch.text()


def outside(window, _quick):
    window.session.answer_road_c = None
    window.session.enter(Report(place="B", air_c=3, road_c=5))
    window.go("call")
    lowest = min(row.air_c for row in window.session.bundle.weather.rows)
    assert lowest > 3
    assert f"colder than any data (air 3 °C; known {lowest:.0f}" in window.page.watch.text()


def engine_failed(window, _quick):
    window.session._take_failure(1, "The engine stopped by itself.", "Entries go on.")
    window.go("call")
    said = window.page.work.text()
    assert "The engine stopped by itself. Entries go on." in said
    assert "call made " in said
    assert window.page.one.text is not None
    # Nothing is being worked out, so nothing may say that it is.
    window.session.answer_road_c = 39.0
    before = window.session.problem
    window.session.enter(Report(place="B", road_c=20))
    window.session.problem = before
    window.page.refresh()
    assert "call made for 39" in window.page.watch.text()
    assert "working it out" not in window.page.watch.text()
    window.session.problem = None


def clock_wrong(window, _quick):
    far = window.session.now() + timedelta(days=40)
    window.session.now = lambda: far
    window.top.refresh()
    assert window.top.due.text() == "⚠ clock: set it"
    assert "-" not in window.top.left.text()


def late(window, _quick):
    past = window.session.place.due_in_utc + timedelta(minutes=1, seconds=20)
    window.session.now = lambda: past
    window.top.refresh()
    assert window.top.left.text().startswith("⚠ late ")
    assert "-" not in window.top.left.text()
    assert "−" not in window.top.left.text()


def disk_full(window, _quick):
    def full(_body):
        raise JournalError("The disk is full: the day book could not be written.", hint="Free.")

    window.session.day.enter = full
    before = window.session.saved
    assert window.session.enter(Report(place="B", air_c=20)) is None
    assert "■ stops: The disk is full" in window.bottom.notice.accessibleName()
    assert window.bottom.seen.isVisible()
    assert window.session.saved == before


def read_only(window, _quick):
    session = window.session
    folder, path, answer = session.folder, session.day.book_path, session.answer
    session.take_day(Day.open(folder, book_path=path, read_only=True), folder)
    session.answer = answer
    assert "reading along" in window.windowTitle()
    assert session.enter(Report(place="B", air_c=20)) is None
    assert "open only to be read" in window.bottom.notice.accessibleName()


def few_tyres(window, quick):
    session = window.session
    for tyre_id in session.state.tyres:
        if tyre_id not in ("H01", "H02", "H03"):
            session.day.enter(TyreState(tyre_id=tyre_id, state="scrapped", reason="burnt"))
    session.answer = quick(session.day)
    assert session.answer.result.plan == ()
    session.changed.emit()
    window.go("call")
    said = window.page.watch.text()
    assert said.startswith("■ stops: no fitting without a breach. No tyre for RR.")
    assert "FL G01·H01  FR G02·H02  RL G03·H03" in said


def broken(window, _quick):
    session = window.session
    first = session.answer.result.plan[0]
    session.enter(CallUsed(place="B", fitting=first.fitting))
    gone = first.fitting["FL"]
    session.enter(TyreState(tyre_id=gone, state="locked", reason="bulge", damage="bulge"))
    window.go("call")
    assert window.page.watch.text().startswith("■ stops: ")


def empty(window, _quick):
    window.session.close_day()
    window.session.answer = None
    window.go("load")
    assert window.page.primary_text().startswith("Choose event")


STATES = (
    ageing, old, loading, contradicting, outside, engine_failed, clock_wrong, late,
    disk_full, read_only, few_tyres, broken, empty,
)  # fmt: skip


@pytest.mark.parametrize("state", STATES, ids=lambda s: s.__name__)
def test_each_state_says_itself_and_leaves_every_page_its_primary(window, quick, state):
    state(window, quick)
    for page in PAGES:
        window.go(page)
        QApplication.processEvents()
        # Nothing stands on the pages of a change place while no event is open.
        there = "load" if not window.session.is_open and window.pages[page].part else page
        assert window._current == there
        assert window.bottom.primary.isEnabled(), page
        assert window.bottom.primary.isVisible(), page
        assert window.bottom.primary.text().strip(" ⏎"), page


def test_what_a_full_disk_could_not_take_stays_marked_and_is_written_later(
    window, qtbot, monkeypatch
):
    session = window.session
    session.enter(AsFound(place="B", fitting=session.state.fitted.tyres))
    window.go("car_in")
    day, enter = session.day, session.day.enter

    def full(_body):
        raise JournalError("The disk is full: the day book could not be written.", hint="Free.")

    def hot():
        return [r.hot_kpa for t in ("H01", "H02") for r in day.state.tyres[t].readings][-2:]

    monkeypatch.setattr(day, "enter", full)
    for sign in "231230":
        window.page.host.press(sign)
    window.go("conditions")
    window.go("car_in")
    boxes = window.page.host
    assert [boxes.fields[f"hot:{p}"].text() for p in ("FL", "FR")] == ["⚠ 2.31", "⚠ 2.30"]
    monkeypatch.setattr(day, "enter", enter)
    assert session.enter(Report(place="B", air_c=21)).accepted
    qtbot.waitUntil(lambda: not window.page.host.holds_unwritten, timeout=2000)
    assert hot() == [231.0, 230.0]
    boxes = window.page.host
    assert [boxes.fields[f"hot:{p}"].text() for p in ("FL", "FR")] == ["2.31", "2.30"]


@pytest.mark.parametrize("page", PAGES)
def test_enter_and_space_on_the_primary_fire_it_once(shared_window, qtbot, monkeypatch, page):
    window, fired = shared_window, []
    window.go(page)
    monkeypatch.setattr(window.page, "primary", lambda: fired.append(page))
    for key in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
        window.bottom.primary.setFocus()
        qtbot.keyClick(window.bottom.primary, key)
    assert fired == [page] * 3


def test_the_corners_that_can_be_served_keep_what_is_on_them(window):
    state = window.session.state
    assert served(state) == {c: state.fitted.tyres[c] for c in ("FL", "FR", "RL", "RR")}
    assert shortfall_words(state) == ""


def test_a_lock_is_kept_and_another_tyre_makes_room_for_it(window):
    state = window.session.state
    kept = {
        t: replace(state.tyres[t], stock=state.tyres[t].stock.model_copy(update={"lock": lock}))
        for t, lock in (("H01", "front"), ("H02", "front"), ("H03", ""), ("H04", "front"))
    }
    few = replace(state, tyres=kept)
    # Three may only go in front: one of them is left over, and the fourth takes one rear.
    found = served(few)
    assert set(found) == {"FL", "FR", "RL"}
    assert found["RL"] == "H03"
    assert shortfall_words(few).startswith("No tyre for RR.")


def test_a_long_list_of_what_to_lift_is_cut_short():
    tyres = ", ".join(f"H{n:02d}" for n in range(1, 24))
    held, rule = Lift("DMG-1", f"held back: {tyres}"), Lift("QTY-1", "no more than 18 tyres")
    said = lift_words((held, rule))
    assert said == "Held back: H01, H02, H03, H04, H05, H06 and 17 more; No more than 18 tyres"
    assert lift_words((Lift("DMG-1", "held back: H01, H02"),)) == "Held back: H01, H02"
