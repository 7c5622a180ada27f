"""The scripted day of the demo event, typed and clicked in the window as the crew would."""

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel, QWidget

from crewdesk.assets import shipped
from crewdesk.desk.day import Day
from crewdesk.desk.lines import enter_lines
from crewdesk.gui.texts import WALK, clock
from crewdesk.journal.entries import CallUsed

QUELLHAVEN = Path(str(shipped("demo_events").joinpath("quellhaven")))
SCRIPT = Path(__file__).parents[1] / "data" / "scripts" / "quellhaven.jsonl"
FIRST = {"FL": "H01", "FR": "H02", "RL": "H03", "RR": "H04", "SP1": "H05", "SP2": None}
SECOND = {"FL": "H06", "FR": "H07", "RL": "H08", "RR": "H09", "SP1": "H05", "SP2": "H03"}
NIGHT = {"FL": "H01", "FR": "H02", "RL": "H07", "RR": "H04", "SP1": "H05", "SP2": None}


ANSWERS = {}


class Hand:
    """One hand on keys and screen; it counts what it does."""

    def __init__(self, qtbot, window, quick=None):
        self.qtbot, self.window, self.quick = qtbot, window, quick
        self.taps = self.digits = 0

    @property
    def done(self):
        """Taps and keys so far."""
        return self.taps + self.digits

    def tap(self, name, kind=QAbstractButton):
        """Click a control by its name; it has to be seen and enabled."""
        found = [w for w in self.window.findChildren(kind, name) if w.isVisible()]
        assert len(found) == 1, name
        assert found[0].isEnabled(), name
        self.taps += 1
        self.qtbot.mouseClick(found[0], Qt.MouseButton.LeftButton)
        QApplication.processEvents()

    def type(self, text):
        """Type signs to where the cursor is."""
        for sign in text:
            self.digits += 1
            self.qtbot.keyClicks(self.window.focusWidget(), sign)
        self.qtbot.waitUntil(lambda: not self.window.keys.wedge.holding)

    def key(self, key, modifier=Qt.KeyboardModifier.NoModifier):
        """Press one key of the table of keys."""
        self.taps += 1
        # Without a window manager nobody gives the window its activity back.
        self.window.activateWindow()
        self.qtbot.waitUntil(self.window.isActiveWindow)
        self.qtbot.keyClick(self.window.focusWidget() or self.window, key, modifier)
        QApplication.processEvents()

    def settle(self):
        """Wait the half second after which a closed box is in the book."""
        walk = self.window.page.host.walk
        self.qtbot.waitUntil(lambda: walk.pending is None and not walk.swallows)

    def call(self):
        """Let the engine answer: its process is stood in for, its work is the real one."""
        session = self.window.session
        # The same day typed again in another test gets the same answer.
        said = tuple(e.body.model_dump_json(exclude={"at"}) for e in session.day.entries)
        if said not in ANSWERS:
            ANSWERS[said] = self.quick(session.day)
        session.answer = ANSWERS[said]
        session.answer_at = session.now()
        session.answered.emit()

    def fit(self, wanted):
        """Put on what the script says where the page says otherwise."""
        for place in WALK:
            tyre = wanted[place]
            said = self.window.findChild(QLabel, f"fit_{place}")
            shown = said.text() if said is not None else ""
            meant = shown.split(" → ")[-1]
            is_off = shown.endswith(" off") or "no wheel" in shown
            if tyre is None and not is_off and shown:
                self.tap(f"other_{place}")
                self.tap("wheel_none")
            elif tyre is not None and (tyre not in meant or is_off):
                self.tap(f"other_{place}")
                self.tap(f"wheel_{tyre}")

    def read_back(self, wanted):
        """Type the rims off the car, tick the torque and go."""
        session = self.window.session
        for place in WALK:
            if wanted[place]:
                self.type(session.rim_of(wanted[place])[-2:])
        self.settle()
        self.tap("torque_all")
        self.tap("primary")


@pytest.fixture
def hand(qtbot, open_window, quick):
    window = open_window()
    window.resize(1366, 749)
    return Hand(qtbot, window, quick)


def left(hand):
    return hand.window.top.tyres.text()


def counters(hand):
    found = hand.window.session.counters()
    return found["used"], found["limit"], found["by_compound"]


def on_car(hand):
    tyres = hand.window.session.state.fitted.tyres
    return {p: tyres.get(p) for p in WALK}


def km(hand, tyre_id):
    return {
        (run.stage, run.place): round(run.km, 2)
        for run in hand.window.session.state.tyres[tyre_id].runs
    }


def mount(hand, tyre, rim):
    hand.key(Qt.Key.Key_F, Qt.KeyboardModifier.ControlModifier)
    hand.type(tyre)
    hand.key(Qt.Key.Key_Return)
    hand.tap("find_rim", QWidget)
    hand.type(rim)
    hand.key(Qt.Key.Key_Return)


def shakedown(hand):
    for tyre in ("x1", "x2", "x3", "x4"):
        hand.key(Qt.Key.Key_F, Qt.KeyboardModifier.ControlModifier)
        hand.type(tyre)
        hand.key(Qt.Key.Key_Return)
        hand.tap("find_dismount")
    for tyre, rim in (("h09", "g13"), ("s05", "g14"), ("s06", "g15"), ("h10", "g16")):
        mount(hand, tyre, rim)


def service_a(hand):
    hand.key(Qt.Key.Key_F2)
    hand.type("1824")
    hand.settle()
    hand.tap("surface_dry_0")
    hand.call()
    hand.key(Qt.Key.Key_F3)
    hand.tap("primary")
    hand.key(Qt.Key.Key_F6)
    hand.fit(FIRST)
    hand.tap("fit_pressures")
    hand.type("195" * 5)
    hand.settle()
    hand.tap("primary")
    hand.tap("primary")
    hand.read_back(FIRST)


def service_b(hand):
    hand.key(Qt.Key.Key_F2)
    hand.type("2639")
    hand.settle()
    hand.tap("surface_dry_0")
    hand.call()
    hand.key(Qt.Key.Key_F3)
    hand.tap("primary")
    hand.key(Qt.Key.Key_F5)
    hand.tap("found_differs")
    hand.type("0201")
    hand.qtbot.waitUntil(lambda: hand.window.bottom.questions.text().startswith("? 1 open"))
    hand.type("040305")
    hand.settle()


def readings_at_b(hand):
    hand.tap("hot_where_1")
    hand.type("238238236236/3333")
    hand.settle()
    for place, depths in (
        ("FL", "767572"),
        ("FR", "767573"),
        ("RR", "787678"),
        ("RL", "787677"),
    ):
        hand.tap(f"box_tread_in_mm:{place}")
        hand.type(depths)
    hand.settle()


def to_service_b(hand):
    shakedown(hand)
    service_a(hand)
    service_b(hand)
    hand.tap("since_1")
    readings_at_b(hand)
    hand.tap("primary")
    hand.fit(SECOND)
    hand.tap("fit_pressures")
    hand.type("195" * 6)
    hand.settle()
    hand.tap("primary")
    hand.tap("primary")
    hand.read_back(SECOND)


def puncture(hand):
    hand.key(Qt.Key.Key_I, Qt.KeyboardModifier.ControlModifier)
    hand.tap("incident_corner_0")
    hand.tap("incident_on_0")
    hand.tap("incident_where_1")
    said = hand.window.page.said.text()
    assert said == "Without the km the new wheel counts from the end of SS5."
    hand.tap("incident_km", QWidget)
    hand.type("6.2")
    said = hand.window.page.said.text()
    assert said == "Stands on the next sheet until torqued."
    hand.tap("incident_lost", QWidget)
    hand.type("110")
    hand.tap("primary")


def test_the_shakedown_frees_its_rims(hand):
    shakedown(hand)
    rims = {t: hand.window.session.rim_of(t) for t in ("H09", "S05", "S06", "H10", "X1", "X4")}
    assert rims == {
        "H09": "G13", "S05": "G14", "S06": "G15", "H10": "G16", "X1": "", "X4": "",
    }  # fmt: skip
    assert left(hand) == "18 of 18"


def test_service_a_is_fitted_read_back_and_counted(hand):
    shakedown(hand)
    service_a(hand)
    assert on_car(hand) == FIRST
    assert counters(hand) == (5, 18, {"hard": 5})
    assert left(hand) == "13 of 18"
    fitting = hand.window.session.state.fittings[-1]
    assert fitting.read_back
    assert hand.window.session.state.tyres["H03"].cold_set_kpa == 195
    # Nothing came off: there is no wheel to read, the loop is next.
    assert hand.window.page.key == "loop"
    # The bottom line tells when it was, though a practice clock has gone on since.
    session = hand.window.session
    at = clock(session.day.entries[-1].body.at, session.zone)
    assert hand.window.bottom.notice.accessibleName().startswith(f"✓ Saved {at} · out of A")


def test_at_service_b_the_swapped_fronts_are_put_right_backwards(hand):
    shakedown(hand)
    service_a(hand)
    service_b(hand)
    assert on_car(hand) == {**FIRST, "FL": "H02", "FR": "H01"}
    assert "Since when?" in hand.window.session.state.open_questions[-1].text
    hand.tap("since_1")
    assert not hand.window.session.state.open_questions
    assert km(hand, "H01") == {("SS1", "FL"): 13.62, ("SS2", "FR"): 18.24, ("SS3", "FR"): 11.05}
    assert km(hand, "H02") == {("SS1", "FR"): 13.62, ("SS2", "FL"): 18.24, ("SS3", "FL"): 11.05}
    readings_at_b(hand)
    tyres = hand.window.session.state.tyres
    hot = {t: [r for r in tyres[t].readings if r.hot_kpa][-1] for t in ("H01", "H02", "H03")}
    assert {t: (r.hot_kpa, r.where) for t, r in hot.items()} == {
        "H01": (238, "stop_line"), "H02": (238, "stop_line"), "H03": (236, "stop_line"),
    }  # fmt: skip
    depths = {t: [r for r in tyres[t].readings if r.tread_mm[0]][-1].tread_mm for t in hot}
    assert depths == {
        "H01": (7.6, 7.5, 7.3), "H02": (7.6, 7.5, 7.2), "H03": (7.8, 7.6, 7.7),
    }  # fmt: skip
    assert counters(hand) == (5, 18, {"hard": 5})


def test_the_loop_with_its_puncture_and_the_flexi_service(hand):
    to_service_b(hand)
    assert on_car(hand) == SECOND
    assert counters(hand) == (9, 18, {"hard": 9})
    puncture(hand)
    changed = {**SECOND, "FL": "H05", "SP1": "H06"}
    assert on_car(hand) == changed
    assert hand.window.session.state.tyres["H06"].status == "locked"
    assert [(t.corner, t.tyre_id) for t in hand.window.session.state.torque_due] == [
        ("FL", "H05")
    ]
    assert counters(hand) == (9, 18, {"hard": 9})
    hand.key(Qt.Key.Key_F2)
    hand.type("2941")
    hand.settle()
    hand.call()
    hand.key(Qt.Key.Key_F3)
    hand.tap("primary")
    hand.key(Qt.Key.Key_F5)
    hand.tap("found_all")
    hand.tap("hot_where_1")
    hand.type("238238236236/178")
    hand.settle()
    held = hand.window.session.state.tyres["H03"]
    assert held.status == "locked"
    assert held.status_why.startswith("LEAK-1")
    assert hand.window.bottom.notice._whole.startswith("■ stops: ")
    depths(
        hand,
        "box_tread_in_mm:{0}",
        {"FL": "858482", "FR": "737168", "RR": "747274", "RL": "747173"},
    )
    # Typing on does not take down what stops: it stays until it was seen.
    assert "H03" in hand.window.bottom.notice._whole
    assert hand.window.bottom.notice._whole.startswith("■ stops: ")
    hand.tap("notice_seen")
    assert hand.window.bottom.notice._whole.startswith("✓ Saved ")
    assert km(hand, "H06") == {("SS4", "FL"): 13.62, ("SS5", "FL"): 6.2}
    assert km(hand, "H05") == {("SS5", "FL"): 12.04, ("SS6", "FL"): 11.05}
    damage(hand)
    hand.key(Qt.Key.Key_F6)
    hand.fit(NIGHT)
    hand.tap("own_reason_kind_1")
    hand.tap("own_reason_name", QWidget)
    hand.type("Mo")
    hand.tap("primary")
    hand.read_back(NIGHT)
    state = hand.window.session.state
    depths_at_c = {
        t: state.tyres[t].readings[-1].tread_mm for t in ("H05", "H07", "H08", "H09")
    }
    assert depths_at_c == {
        "H05": (8.5, 8.4, 8.2), "H07": (7.3, 7.1, 6.8), "H08": (7.4, 7.1, 7.3),
        "H09": (7.4, 7.2, 7.4),
    }  # fmt: skip
    assert on_car(hand) == NIGHT
    assert counters(hand) == (9, 18, {"hard": 9})
    assert state.fittings[-1].override_reason == "damage"
    assert state.next_place == "D"
    left_behind(hand)


def damage(hand):
    hand.key(Qt.Key.Key_I, Qt.KeyboardModifier.ControlModifier)
    hand.tap("incident_what_2")
    hand.tap("incident_corner_3")
    hand.tap("incident_on_2")
    hand.tap("incident_rim_0")
    hand.tap("primary")
    hand.key(Qt.Key.Key_I, Qt.KeyboardModifier.ControlModifier)
    hand.tap("incident_what_4")
    hand.tap("incident_corner_4")
    hand.tap("incident_on_2")
    hand.tap("incident_rim_3")
    hand.tap("primary")
    state = hand.window.session.state
    assert {t: state.tyres[t].status for t in ("H06", "H08")} == {
        "H06": "locked", "H08": "locked",
    }  # fmt: skip
    assert set(state.rims_out) == {"G06"}


def left_behind(hand):
    """Free the rim of the bulged tyre, mount a new one on it, and close the leg."""
    assert hand.window.page.key == "left_behind"
    hand.tap("left_rim_H08")
    mount(hand, "h11", "g08")
    assert hand.window.session.rim_of("H11") == "G08"
    hand.key(Qt.Key.Key_Escape)
    hand.window.go("on_the_way")
    assert hand.window.page.key == "close_leg"
    hand.tap("primary")
    assert hand.window.page.primary_text() == "Yes, close leg 1"
    hand.tap("primary")
    assert hand.window.page.key == "conditions"
    marks = [b.text() for b in hand.window.rail.findChildren(QAbstractButton) if b.isVisible()]
    assert "✓ Close leg 1" in marks


def test_out_stays_where_the_read_back_differs_from_the_sheet(hand):
    hand.key(Qt.Key.Key_F2)
    hand.type("1824")
    hand.settle()
    hand.call()
    hand.key(Qt.Key.Key_F6)
    hand.fit(FIRST)
    hand.tap("primary")
    hand.type("0102030405")
    hand.settle()
    hand.tap("primary")
    assert hand.window.page.key == "out"
    assert hand.window.session.state.at_place == "A"
    assert hand.window.bottom.notice._whole.startswith("■ stops: ")
    for place, rim in (("RR", "04"), ("RL", "03")):
        hand.tap(f"box_{place}")
        hand.type(rim)
    hand.settle()
    hand.tap("primary")
    assert hand.window.session.state.at_place is None
    assert hand.window.session.state.fittings[-1].read_back
    assert counters(hand) == (5, 18, {"hard": 5})


def test_out_without_reading_back_goes_on_and_says_so(hand):
    hand.key(Qt.Key.Key_F2)
    hand.type("1824")
    hand.settle()
    hand.call()
    hand.key(Qt.Key.Key_F6)
    hand.fit(FIRST)
    hand.tap("primary")
    hand.tap("primary")
    assert hand.window.session.state.at_place is None
    assert not hand.window.session.state.fittings[-1].read_back
    assert hand.window.page.key == "loop"
    assert hand.window.slots.title.text() == "As proposed, not checked"


def test_the_usual_place_takes_at_most_sixty_actions_between_in_and_out(qtbot, window):
    """Two change, two stay, two carried that have not run: 42 digits of the table."""
    window.resize(1366, 749)
    both = {
        "FL": "H07", "FR": "H08", "RL": "H03", "RR": "H04", "SP1": "H05", "SP2": "H06",
    }  # fmt: skip
    window.session.enter(CallUsed(place="B", fitting=both))
    hand = Hand(qtbot, window)
    window.go("car_in")
    hand.tap("found_all")
    hand.type("231230225226204203")
    hot = hand.digits
    hand.type("3333")
    looks = hand.digits - hot
    hand.type("636160626059")
    tread = hand.digits - hot - looks
    hand.type("01")
    hand.settle()
    hand.tap("primary")
    told = [one.body for one in window.session.day.entries if one.kind == "driver_words"]
    assert [(one.front_grip, one.rear_grip) for one in told] == [(0, None), (None, 1)]
    hand.tap("fitted_FL")
    hand.tap("fitted_FR")
    before = hand.digits
    for place in WALK:
        hand.type(window.session.rim_of(both[place])[-2:])
    hand.settle()
    back = hand.digits - before
    hand.tap("torque_FL")
    hand.tap("torque_FR")
    hand.tap("primary")
    assert window.session.state.fittings[-1].read_back
    assert window.session.state.at_place is None
    assert (hot, looks, tread, back) == (18, 4, 12, 12)
    assert hot + tread + back == 42
    assert hand.done <= 60
    # After OUT: three depths of each of the two wheels that came off, and all is done.
    assert window.page.key == "left_behind"
    before = hand.done
    hand.type("777675" + "787776")
    hand.settle()
    assert window.page.primary_text() == "All done"
    hand.tap("primary")
    assert hand.done - before <= 16
    off = [window.session.state.tyres[t].readings[-1].tread_mm for t in ("H01", "H02")]
    assert off == [(7.7, 7.6, 7.5), (7.8, 7.7, 7.6)]


def test_the_first_call_of_an_event_takes_six_keys(hand):
    hand.key(Qt.Key.Key_F2)
    hand.taps = 0
    hand.type("1824")
    hand.settle()
    hand.tap("surface_dry_0")
    hand.call()
    hand.key(Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert hand.done == 6
    assert hand.window.page.key == "call"
    assert hand.window.page.one.text is not None
    assumed = hand.window.session.answer.call["assumed"]
    assert assumed
    assert f"{len(assumed)} assumed" == hand.window.page.assumed.text()


def test_a_scan_opens_the_card_and_leaves_the_open_box_alone(hand):
    hand.key(Qt.Key.Key_F2)
    before = len(hand.window.session.day.entries)
    box = hand.window.focusWidget()
    hand.qtbot.keyClicks(box, "QH-2005")
    hand.qtbot.keyClick(box, Qt.Key.Key_Return)
    assert hand.window.page.key == "find"
    assert hand.window.findChild(QLabel, "find_wheel").text() == "G05·H05"
    assert len(hand.window.session.day.entries) == before
    hand.key(Qt.Key.Key_F2)
    hand.type("18")
    hand.settle()
    assert hand.window.session.state.reports[-1].air_c == 18


@pytest.mark.parametrize("text", ["18\r", "1824\r", "4.21\r"])
def test_what_a_gauge_types_fast_reaches_its_box(hand, text):
    hand.key(Qt.Key.Key_F2)
    box = hand.window.focusWidget()
    for sign in text:
        if sign == "\r":
            hand.qtbot.keyClick(box, Qt.Key.Key_Return)
        else:
            hand.qtbot.keyClicks(box, sign)
    hand.settle()
    assert hand.window.page.key == "conditions"
    known = [r.air_c for r in hand.window.session.state.reports if r.air_c is not None]
    assert known == [{"18\r": 18, "1824\r": 18, "4.21\r": 4.21}[text]]


SOFTS = {"FL": "S01", "FR": "S02", "RL": "S03", "RR": "S04", "SP1": "S05", "SP2": "H09"}
ZONE = {"FL": "S05", "FR": "S06", "RL": "S03", "RR": "S04", "SP1": "S01", "SP2": "S02"}
TOO_MANY = {"FL": "H10", "FR": "H11", "RL": "H12", "RR": "H13", "SP1": None, "SP2": None}
LAST = {"FL": "H10", "FR": "H11", "RL": "H07", "RR": "H09", "SP1": "H05", "SP2": None}


@pytest.fixture
def morning(qtbot, open_window, quick, tmp_path):
    """Open the window on the second morning: the first day is in its book."""
    lines = SCRIPT.read_text(encoding="utf-8").splitlines(keepends=True)
    night = next(i for i, line in enumerate(lines) if "Morning list" in line)
    book = tmp_path / "second.daybook"
    with Day.open(QUELLHAVEN, book_path=book, desk_name="test") as day:
        said = list(enter_lines(day, "".join(lines[: night + 1]), keep_going=True))
        assert [one["line"] for one in said if not one["accepted"]] == [6]
    window = open_window(book)
    window.resize(1366, 749)
    return Hand(qtbot, window, quick)


def own_fitting(hand, wanted):
    """Fit what the crew wants, with its reason where that is not the call."""
    hand.key(Qt.Key.Key_F6)
    hand.fit(wanted)
    reason = hand.window.findChild(QAbstractButton, "own_reason_kind_0")
    if reason.isVisible():
        hand.tap("own_reason_kind_0")


def depths(hand, prefix, values):
    for key, text in values.items():
        hand.tap(prefix.format(key))
        hand.type(text)
    hand.settle()


def service_d(hand):
    hand.key(Qt.Key.Key_F3, Qt.KeyboardModifier.ShiftModifier)
    hand.tap("change_to_1")
    hand.type("9")
    hand.tap("primary")
    hand.key(Qt.Key.Key_F2)
    hand.type("14")
    hand.settle()
    hand.tap("surface_dry_2")
    hand.tap("rain_2")
    hand.call()
    hand.key(Qt.Key.Key_F3)
    hand.tap("primary")
    own_fitting(hand, SOFTS)
    hand.tap("van_choose")
    for tyre in hand.window.page.van.chosen:
        hand.tap(f"van_{tyre}")
    hand.tap("van_S06")
    hand.tap("van_choose")
    hand.tap("primary")
    hand.read_back(SOFTS)


def test_the_second_day_to_its_last_row(morning):
    hand, window = morning, morning.window
    session = window.session
    service_d(hand)
    assert [leg.position for leg in session.bundle.event.legs] == [11, 9]
    assert on_car(hand) == SOFTS
    assert counters(hand) == (14, 18, {"hard": 9, "soft": 5})
    zone(hand)
    assert on_car(hand) == ZONE
    assert counters(hand) == (15, 18, {"hard": 9, "soft": 6})
    service_e(hand)
    assert on_car(hand) == LAST
    assert counters(hand) == (17, 18, {"hard": 11, "soft": 6})
    assert left(hand) == "1 of 18"
    service_f(hand)
    close(hand)
    hand_over(hand)


def zone(hand):
    session = hand.window.session
    hand.key(Qt.Key.Key_F2)
    hand.tap("surface_dry_2")
    hand.tap("rain_2")
    hand.call()
    hand.key(Qt.Key.Key_F5)
    hand.tap("found_all")
    hand.tap("hot_where_1")
    hand.type("203203201201")
    hand.settle()
    depths(
        hand,
        "box_tread_in_mm:{0}",
        {"FL": "868584", "FR": "878684", "RR": "888687", "RL": "878687"},
    )
    assert session.state.tyres["S01"].readings[-1].tread_mm == (8.6, 8.5, 8.4)
    own_fitting(hand, ZONE)
    hand.tap("primary")
    hand.read_back(ZONE)


def service_e(hand):
    window, session = hand.window, hand.window.session
    hand.key(Qt.Key.Key_F2)
    hand.type("1720")
    hand.settle()
    hand.tap("surface_dry_1")
    hand.call()
    hand.key(Qt.Key.Key_F5)
    hand.tap("found_all")
    hand.tap("hot_where_1")
    hand.type("211211209209")
    hand.settle()
    depths(
        hand,
        "box_tread_in_mm:{0}",
        {"FL": "868584", "FR": "878684", "RR": "757374", "RL": "747274"},
    )
    before = counters(hand)
    own_fitting(hand, TOO_MANY)
    # A name beside the reason is no leave to go over the limit.
    hand.tap("own_reason_name", QWidget)
    hand.type("Mo")
    hand.tap("primary")
    assert window.page.key == "override"
    assert "18" in window.bottom.notice.accessibleName()
    assert window.bottom.notice.accessibleName().startswith("■ stops: ")
    hand.key(Qt.Key.Key_Escape)
    assert counters(hand) == before
    own_fitting(hand, LAST)
    hand.tap("fit_pressures")
    hand.type("195" * 5)
    hand.settle()
    hand.tap("primary")
    hand.tap("primary")
    swapped = {**LAST, "RL": "H09", "RR": "H07"}
    hand.read_back(swapped)
    assert window.page.key == "out"
    assert session.state.at_place == "E"
    assert window.bottom.notice.accessibleName().startswith("■ stops: ")
    for place in ("RR", "RL"):
        hand.tap(f"box_{place}")
        hand.type(session.rim_of(LAST[place])[-2:])
    hand.settle()
    hand.tap("primary")
    assert session.state.at_place is None
    assert session.state.fittings[-1].read_back
    # What the second reading has put right is no longer said to stop.
    assert not session.board.waiting


def service_f(hand):
    window, session = hand.window, hand.window.session
    window.go("loop")
    hand.tap("run_SS11")
    hand.tap("run_SS12")
    before = on_car(hand)
    hand.key(Qt.Key.Key_F6)
    hand.fit({**LAST, "RL": "H12", "RR": "H14"})
    hand.tap("primary")
    assert window.page.key == "override"
    assert window.bottom.notice.accessibleName().startswith("■ stops: ")
    hand.key(Qt.Key.Key_Escape)
    assert on_car(hand) == before
    assert session.place is None


def close(hand):
    window, session = hand.window, hand.window.session
    window.go("leg:2")
    assert window.page.key == "close_leg"
    depths(hand, "box_hot:{0}", {"FL": "235235233233"})
    depths(
        hand,
        "box_tread_in_mm:{0}",
        {"FL": "878685", "FR": "888786", "RR": "635962", "RL": "615856"},
    )
    hand.tap("primary")
    assert window.page.primary_text() == "Yes, close leg 2"
    hand.tap("primary")
    assert window.page.key == "handover"
    ends = {
        "H01": (7.6, 7.5, 7.3), "H05": (8.5, 8.4, 8.2), "H07": (6.1, 5.8, 5.6),
        "H09": (6.3, 5.9, 6.2), "H10": (8.7, 8.6, 8.5), "S03": (7.4, 7.2, 7.4),
    }  # fmt: skip
    tyres = session.state.tyres
    assert {t: tyres[t].readings[-1].tread_mm for t in ends} == ends
    # Stage km of the script's last table, rounded to 0.1 there.
    driven = {"H01": 42.9, "H05": 23.1, "H06": 19.8, "H07": 67.3, "S01": 28.1, "S03": 56.2}
    assert {t: round(tyres[t].event_km, 1) for t in driven} == driven


def hand_over(hand):
    window, session = hand.window, hand.window.session
    for tyre, tap in (("h06", "find_scrap"), ("h08", "find_scrap"), ("h03", "find_lock")):
        hand.key(Qt.Key.Key_F, Qt.KeyboardModifier.ControlModifier)
        hand.type(tyre)
        hand.key(Qt.Key.Key_Return)
        hand.tap(tap)
    states = {t: session.state.tyres[t].status for t in ("H06", "H08", "H03")}
    assert states == {"H06": "scrapped", "H08": "scrapped", "H03": "locked"}
    window.go("handover")
    lines = "\n".join(one.text() for one in window.page.findChildren(QLabel))
    for tyre in ("H06", "H08", "H03"):
        assert tyre in lines
    hand.tap("handover_close")
    assert not session.state.closed
    hand.tap("handover_close")
    assert session.state.closed
    assert window.page.primary_text() == "Write handover"
    window.page.written("somewhere")
    # All is done here: what comes next is another event, made from this one's handover.
    assert window.page.primary_text() == "New event"
    assert window.page.again.isVisible()
    hand.tap("primary")
    assert window.page.key == "new_event"
