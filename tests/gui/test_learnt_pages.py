"""What was learnt, what is looked at before the event, and a pasted METAR, in the window."""

from dataclasses import replace
from datetime import timedelta

import pytest
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication, QLabel

from crewdesk.gui import reasons
from crewdesk.journal.entries import AsFound, Reading

FIRST = {"FL": "H01", "FR": "H02", "RL": "H03", "RR": "H04"}


def pump():
    for _ in range(3):
        QApplication.processEvents()


def texts(page):
    return [w.text() for w in page.findChildren(QLabel) if w.isVisible()]


@pytest.fixture
def read(window):
    """A window whose four tyres were read at Service B, one of them mistyped."""
    session = window.session
    session.enter(AsFound(place="B", fitting=FIRST))
    for tyre_id, mm in (("H01", 8.1), ("H02", 8.2), ("H03", 8.6), ("H04", 3.6)):
        session.enter(
            Reading(
                tyre_id=tyre_id, tread_in_mm=mm, tread_mid_mm=mm, tread_out_mm=mm, place="B"
            )
        )
    return window


def test_what_was_learnt_is_told_drawn_and_listed(read):
    window = read
    window.go("learnt")
    pump()
    page = window.page
    assert any("sure to within" in text for text in texts(page))
    assert any("H04" in text and "not taken" in text for text in texts(page))
    page._choose("wear")
    pump()
    view = page._view
    assert [rate.corner for rate in view.rates.rates] == ["FL", "FR", "RL", "RR"]
    # What is drawn is what was learnt.
    x, y = view.rates.now_marks.getData()
    assert list(x) == [rate.now_mm_km for rate in page._learnt.rates]
    page._switch()
    assert view.table.rowCount() == 4
    assert view.table.item(0, 4).text() == f"{page._learnt.rates[0].now_mm_km:.3f}"
    page._switch()
    page._choose("depths")
    pump()
    asked = [one.tyre_id for one in page._learnt.compared if one.questioned]
    assert asked == ["H04"]
    _, y = view.depths.odd.getData()
    assert list(y) == [one.more_worn_mm for one in page._learnt.compared if one.questioned]
    for part in ("air", "other"):
        page._choose(part)
        pump()
        assert view.legend.text()


def test_nothing_read_is_said(window):
    window.go("learnt")
    pump()
    assert any("No depth has been read" in text for text in texts(window.page))


def test_the_call_warns_when_readings_disagree(window):
    session = window.session
    told = "The last 8 depths are further from what was expected than they should be. Measure."
    answer = replace(session.answer, warnings=(told,))
    window.go("call")
    assert not any("disagree" in line for line in reasons.watch_lines(session, session.answer))
    first = reasons.watch_lines(session, answer)[0]
    assert "readings disagree with the model (Ctrl+R)" in first or told[:40] in first
    alone = reasons._with_disagreement([], answer.warnings)
    assert alone == [f"⚠ watch: {told.partition('. ')[0]} (Ctrl+R)"]
    session.answer = answer
    session.answered.emit()
    assert "(Ctrl+R)" in window.page.watch.text()


def test_before_the_event_is_told_by_topic_with_its_cautions(window):
    window.go("before_event")
    pump()
    said = texts(window.page)
    assert any(text.startswith("✓ ") and "load index 95" in text for text in said)
    assert any("tyre km of gravel" in text for text in said)
    assert any(text.startswith("⚠ ") and "rough gravel" in text for text in said)
    assert window.page.summary.text().startswith("✓ Nothing speaks against")


@pytest.mark.parametrize("page", ["before_event", "learnt"])
def test_an_older_result_is_dropped_and_coming_back_asks_anew(window, page):
    window.go(page)
    first = window.page._aside._asked[0]
    window.go("stock")
    window.go(page)
    pump()
    made = window.page
    shown = made.summary.text()
    assert made._aside._asked[0] == 0
    assert "…" not in shown
    made._aside._take(first, None)
    assert made.summary.text() == shown


def test_a_page_whose_work_failed_says_so(window):
    window.go("before_event")
    window.page._aside._take(window.page._aside._asked[0], None)
    assert "could not be worked out" in window.page.summary.text()


def test_the_paper_has_the_sentences(read):
    from crewdesk.gui.exports import handover_lines

    blocks = dict(handover_lines(read.session))
    assert any("sure to within" in line for line in blocks["What was learnt"])


def test_a_metar_is_shown_before_it_is_entered(window):
    session = window.session
    window.go("conditions")
    at = session.now() - timedelta(minutes=20)
    text = f"METAR XXXX {at:%d%H%M}Z 18004KT 9999 SCT040 27/12 Q1016"
    QGuiApplication.clipboard().setText(text)
    count = len(session.day.entries)
    paste = window.page.metar
    paste.button.click()
    assert len(session.day.entries) == count
    assert "air 27 °C" in session.board.shown.words
    assert paste.button.text() == "Enter 27 °C"
    paste.button.click()
    body = session.day.entries[-1].body
    assert (body.air_c, body.cloud_pct, body.caller) == (27.0, 44.0, "METAR XXXX")
    QGuiApplication.clipboard().setText("no report at all")
    paste.button.click()
    assert "This is no METAR" in session.board.shown.words


def test_a_metar_counts_less_than_a_thermometer(window):
    from crewdesk.desk.outlook import live_reports
    from crewdesk.journal.entries import Report

    session = window.session
    session.enter(Report(place="B", air_c=27, caller="METAR XXXX"))
    near, far = live_reports(session.bundle, session.state)[-2:]
    assert far.air_sd_c > 2 * near.air_sd_c
