"""A walk through a demo event with the real engine in its own process; and the start."""

from pathlib import Path

import pytest

from crewdesk.assets import shipped
from crewdesk.gui import app as gui_app
from crewdesk.gui.engine_client import EngineClient
from crewdesk.gui.texts import WALK

QUELLHAVEN = Path(str(shipped("demo_events").joinpath("quellhaven")))


@pytest.fixture
def desk(app, qtbot, tmp_path, monkeypatch):
    monkeypatch.syspath_prepend(str(Path(__file__).parent / "jobs"))
    monkeypatch.setattr(gui_app, "EngineClient", lambda: EngineClient("engine_jobs:quick"))
    made = gui_app.Desk(gui_app.settings_file(tmp_path), data_dir=tmp_path)
    made.window.show()
    yield made
    made.window.close()


def answered(qtbot, session):
    """Wait until nothing is being worked out and the call is for the place ahead."""
    qtbot.waitUntil(
        lambda: (
            not session._soon.isActive()
            and not session.engine.busy
            and session.answer is not None
            and session.answer.final
            and session.answer.place == session.place.key
        ),
        timeout=120000,
    )


def press(window, text):
    for sign in text:
        window.page.host.press(sign)


def test_conditions_call_use_car_in_fit_out(desk, qtbot):
    window, session = desk.window, desk.session
    desk.open(QUELLHAVEN, None)
    assert window._current == "load"
    window.fire_primary()
    assert window._current == "conditions"
    press(window, "1824")
    window.page.host._settle()
    window.page.surface.buttons[0][0].click()
    assert [r.air_c for r in session.state.reports if r.air_c] == [18]
    assert [r.road_c for r in session.state.reports if r.road_c] == [24]
    answered(qtbot, session)
    window.fire_primary()
    assert window._current == "call"
    plan = session.answer.result.plan[0]
    assert window.slots.title.text() == "Planned"
    assert window.slots.buttons["FL"].view.tyre_id == plan.fitting["FL"]
    window.fire_primary()
    assert session.state.call_used is not None
    window.fire_primary()
    sheets = list(Path(session.data_dir).rglob("sheet_A_1.pdf"))
    assert len(sheets) == 1
    assert sheets[0].read_bytes().startswith(b"%PDF")
    window.fire_primary()
    # Nothing is on the car yet: there is nothing to find or to measure.
    assert window._current == "fit"
    window.fire_primary()
    assert window._current == "out"
    fitted = session.state.fitted
    assert {p: fitted.tyres.get(p) for p in WALK} == {p: plan.fitting.get(p) for p in WALK}
    assert not fitted.read_back
    for place in WALK:
        if plan.fitting.get(place):
            press(window, session.rim_of(plan.fitting[place])[-2:])
    window.page.host._settle()
    window.page._all()
    window.page.name.setText("Mo")
    window.fire_primary()
    assert session.state.fittings[-1].read_back
    assert session.state.at_place is None
    assert not session.state.torque_due
    assert session.place.key == "B"
    # No wheel came off: nothing is left behind to be measured.
    assert window._current == "loop"
    answered(qtbot, session)
    path = session.day.book_path
    entries = [e.kind for e in session.day.entries]
    assert entries[-2:] == ["fitting", "read_back"]
    # Opened again it comes back where it was.
    desk.open(QUELLHAVEN, path)
    assert session.state.fittings[-1].read_back
    assert [e.kind for e in session.day.entries] == entries


def test_an_event_that_cannot_be_read_is_said_with_what_to_do(desk, tmp_path):
    folder = tmp_path / "nothing"
    folder.mkdir()
    desk.open(folder, None)
    assert desk.window._current == "load"
    assert desk.window.bottom.notice._whole.startswith("■ stops: ")
    assert "Traceback" not in desk.window.bottom.notice._whole
    assert desk.window.bottom.primary.isEnabled()
    assert desk.window.page.primary_text() == "Choose event"


def test_a_fault_of_ours_keeps_the_book_open(desk):
    desk.open(QUELLHAVEN, None)
    hook = gui_app.FaultHook(desk.session)
    hook(RuntimeError, RuntimeError("broken"), None)
    said = desk.window.bottom.notice._whole
    assert said.startswith("■ stops: ")
    assert "saved" in said
    assert desk.session.is_open
    desk.window.go("conditions")
    desk.window.page._surface("damp")
    assert desk.session.state.reports[-1].surface == "damp"


def test_geometry_view_and_touch_size_are_remembered(desk, app, qtbot, tmp_path):
    desk.window.resize(1280, 690)
    desk.window.set_theme("dark")
    desk.window.set_touch(1.2)
    desk.window.close()
    again = gui_app.Desk(gui_app.settings_file(tmp_path), data_dir=tmp_path)
    assert again.window.theme_name == "dark"
    assert again.window.sizes.touch == 1.2
    # The screen of the tests is 800 wide: of the size only the height can come back.
    assert again.window.height() == 690
    again.window.close()


def test_a_copy_of_the_book_is_a_book(desk, tmp_path):
    from crewdesk.desk.day import Day

    desk.open(QUELLHAVEN, None)
    desk.window.go("conditions")
    desk.window.page._surface("wet")
    copy = tmp_path / "copy.crewbook"
    desk._copy_to(copy)
    with Day.open_book(copy, read_only=True) as day:
        assert day.state.reports[-1].surface == "wet"


def test_a_second_window_reads_along(desk, app, qtbot, tmp_path):
    from crewdesk.desk.day import Day
    from crewdesk.gui.session import Session

    desk.open(QUELLHAVEN, None)
    path = desk.session.day.book_path
    reader = Session(EngineClient("engine_jobs:quick"), data_dir=tmp_path)
    reader.take_day(Day.open(QUELLHAVEN, book_path=path, read_only=True), QUELLHAVEN)
    desk.window.go("conditions")
    desk.window.page._surface("damp")
    with qtbot.waitSignal(reader.changed, timeout=10000):
        pass
    assert reader.state.reports[-1].surface == "damp"
    reader.close_day()
    reader.engine.close()


def test_the_first_paint_needs_no_heavy_library(tmp_path, said):
    script = (
        "import sys\n"
        "from pathlib import Path\n"
        "from crewdesk.gui import start as a\n"
        "application = a.bare_application()\n"
        f"window = a.first_window(a.settings_file(Path({str(tmp_path)!r})))\n"
        "application.processEvents()\n"
        "window.grab()\n"
        "heavy = {'numpy', 'scipy', 'highspy', 'pyqtgraph', 'pydantic', 'multiprocessing'}\n"
        "print('heavy:', sorted(heavy & set(sys.modules)))\n"
        "window.close()\n"
    )
    assert "heavy: []" in said(script)


def test_an_event_pasted_in_is_checked_and_opened(desk, tmp_path):
    window = desk.window
    window.go("new_event")
    page = window.page
    window.fire_primary()
    assert window._current == "new_event"
    for part in ("itinerary", "stock"):
        text = QUELLHAVEN.joinpath(f"{part}.csv").read_text(encoding="utf-8")
        page.tables[part].take_text(text.replace("H02,", "H01,", 1))
    page.form.car.set_value("four_wheel_drive")
    page.form.name.setText("Our own weekend")
    window.fire_primary()
    assert "H01" in page.tables["stock"].detail.text()
    assert not desk.session.is_open
    text = QUELLHAVEN.joinpath("stock.csv").read_text(encoding="utf-8")
    page.tables["stock"].take_text(text)
    window.fire_primary()
    assert desk.session.is_open
    assert desk.session.bundle.event.name == "Our own weekend"
    assert (tmp_path / "events" / "Our_own_weekend" / "event.json").exists()
