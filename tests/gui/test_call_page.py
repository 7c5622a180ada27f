"""The call in use stays put; only a breach or a real gain brings another beside it."""

from dataclasses import replace

import pytest
from PySide6.QtWidgets import QApplication

from crewdesk.gui import call_pick as pick
from crewdesk.gui.call_text import standing
from crewdesk.journal.entries import CallUsed, Report, TyreState
from crewdesk.units import PLACES


def use(window, fitting):
    receipt = window.session.enter(
        CallUsed(place="B", fitting={p: fitting.get(p) for p in PLACES})
    )
    assert receipt.accepted


def with_loss(answer, loss_s):
    """Return the answer with its first alternative losing this much."""
    first, *rest = answer.result.alternatives
    moved = (replace(first, loss_s=loss_s), *rest)
    return replace(answer, result=replace(answer.result, alternatives=moved))


def test_use_this_call_enters_it_and_the_primary_goes_on(window):
    window.go("call")
    assert window.page.primary_text() == "Use this call"
    window.fire_primary()
    used = window.session.state.call_used
    plan = window.session.answer.result.plan[0]
    assert {p: used.fitting.get(p) for p in PLACES} == {p: plan.fitting.get(p) for p in PLACES}
    assert used.cold_kpa == plan.cold_pressure_kpa
    assert window.page.primary_text() == "Print the sheet"


@pytest.mark.parametrize(("loss_s", "kind"), [(0.8, "quiet"), (4.9, "quiet"), (5.2, "better")])
def test_a_gain_under_the_crews_figure_is_one_quiet_line(window, loss_s, kind):
    session = window.session
    session.answer = with_loss(session.answer, loss_s)
    use(window, session.answer.result.alternatives[0].fitting)
    window.go("call")
    page = window.page
    page.refresh()
    assert standing(session.state, session.answer, 5.0).kind == kind
    assert page.one.head.text().endswith("in use")
    assert page.one.text.fitting == session.state.call_used.fitting
    if kind == "quiet":
        assert f"{loss_s:.1f} s better exists, not worth moving" in page.quiet.text()
        assert "NEW" not in page.two.head.text()
    else:
        assert page.two.head.text().endswith("NEW")
        assert page.two.text.fitting == session.answer.result.plan[0].fitting
    assert window.bottom.primary.isEnabled()


def test_a_wheel_that_may_not_be_fitted_opens_the_new_call_beside(window):
    session = window.session
    session.answer = with_loss(session.answer, 0.5)
    other = session.answer.result.alternatives[0].fitting
    use(window, other)
    broken = other["FL"]
    session.enter(TyreState(tyre_id=broken, state="locked", reason="bulge"))
    window.go("call")
    assert standing(session.state, session.answer, 5.0).kind == "broken"
    assert window.page.watch.text().startswith("■ stops: ")
    assert "bulge" in window.page.watch.text()
    assert window.page.two.head.text().endswith("NEW")
    assert window.bottom.primary.isEnabled()


def test_changed_inputs_are_said_and_the_call_stays(window):
    session = window.session
    session.answer_road_c = 39.0
    session.enter(Report(place="B", road_c=46))
    window.go("call")
    words = "⚠ watch: road 46 °C now, call made for 39 °C, working it out"
    assert window.page.watch.text() == words
    assert window.page.one.isVisible()


def test_the_last_call_stays_on_screen_while_a_new_one_is_worked_out(window):
    session = window.session
    window.go("call")
    before = window.page.one.what.text()
    session.ask()
    assert session.progress
    assert window.page.one.isVisible()
    assert window.page.one.what.text() == before
    session._take_failure(session.engine._number, "Working it out stopped by itself.", "")
    assert window.page.one.what.text() == before
    assert "Working it out stopped by itself." in window.page.work.text()


def test_a_first_guess_does_not_replace_a_finished_call(window):
    session = window.session
    done = session.answer
    assert done.final
    poorer = replace(done.result, alternatives=(), short_call=None)
    session._take_progress(99, replace(done, final=False, result=poorer))
    assert session.answer is done


def test_f4_takes_the_short_call_first(window):
    window.go("call")
    page = window.page
    assert page.two.text is not None
    first = page.one.text.headline
    page.toggle_short()
    assert page.one.text.kind == "short"
    assert page.two.text.headline == first


def test_digits_take_the_choices(window, qtbot):
    window.go("call")
    window.page.choose_number(3)
    assert window.page._more.isVisible()
    wanted = window.page._choice(window.session.answer).fitting
    window.page._use_choice()
    used = window.session.state.call_used.fitting
    assert {p: used.get(p) for p in PLACES} == {p: wanted.get(p) for p in PLACES}
    assert window.session.state.call_used.which == "choice"


def test_without_a_fitting_the_page_says_what_stands_in_the_way(window):
    from crewdesk.engine.result import Lift

    session = window.session
    none = replace(
        session.answer.result, plan=(), alternatives=(), short_call=None, objective=None,
        lift=(Lift("QTY-1", "18 tyres at most"),),
    )  # fmt: skip
    session.answer = replace(session.answer, result=none)
    session.answered.emit()
    window.go("call")
    assert "no fitting without a breach" in window.page.watch.text()
    assert "18 tyres at most" in window.page.watch.text()
    assert window.bottom.primary.isEnabled()


@pytest.mark.parametrize("size", [(1366, 700), (1024, 700)])
def test_long_words_of_a_choice_do_not_keep_the_window_wide(window, monkeypatch, size):
    long = "medium/soft left, hard/medium-hard right behind"
    monkeypatch.setattr(pick, "differs", lambda *_: long)
    window.go("call")
    page = window.page
    page.refresh()
    assert page.third.isVisible()
    for less in (0, 1, 0):
        window.resize(size[0], size[1] - less)
        QApplication.processEvents()
    assert window.width() == size[0]
    for made in (page.third, page.fourth):
        if made.isVisible():
            number, cost = made.whole.split()[0], made.whole.rsplit(long, 1)[1].strip()
            assert made.text().startswith(number)
            assert made.text().endswith(cost)
            assert "…" in made.text()


def test_words_that_have_room_are_shown_whole(window, monkeypatch):
    monkeypatch.setattr(pick, "differs", lambda *_: "FL G05")
    window.resize(1366, 700)
    window.go("call")
    window.page.refresh()
    QApplication.processEvents()
    assert window.page.third.text() == window.page.third.whole


def test_where_the_page_is_scrolled_the_reason_keeps_room_of_its_own(window):
    window.go("call")
    page = window.page
    for width in (480, 600, 740):
        asked = page.heightForWidth(width) - page.layout().totalHeightForWidth(width)
        # Elsewhere the reason gives way to nothing; there it would lie over the line above it.
        assert asked >= page._why_area.minimumHeight()
