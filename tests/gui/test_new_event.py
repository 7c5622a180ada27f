"""A new event from nothing: typed, pasted, brought in; faults in the cell; six inputs."""

import json
from datetime import date
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication, QFileDialog, QLineEdit

from crewdesk.assets import shipped
from crewdesk.documents.import_headings import columns_of
from crewdesk.documents.new_event import new_texts
from crewdesk.gui import app as gui_app
from crewdesk.gui.engine_client import EngineClient
from crewdesk.gui.pages.new_event_model import SHOWN, short_fault, title_of
from crewdesk.gui.pages.new_event_table import TableSection

PLAN = """\
Day;TC;SS;Location;SS dist (miles);Liaison;Target time;First car due;Surface
1;TC0;;Showground, start;;;;16/05/2026 08h30;
;TC1;;Ombrick;;(11,20);0:15;08:45;
;;SS1;Ombrick 1;4,2;;0:03;08:48;gravel
;TC1B;;Showground, Service A IN;;14,60;0:29;09:17;
;TC1C;;Showground, Service A OUT;;;0:30;09:47;
;TC2;;Long Perrin;;8,90;0:12;09:59;
;;SS2;Long Perrin;10,20 km;;0:03;10:02;gravel
;TC2C;;Showground, finish;;9,30;0:22;10:24;
"""
TYRES = "Tyre\tBrand\tPattern\tHardness\tfor\tSize\tNew tread\tWheel\n" + "".join(
    f"T{n:02d}\tInvented\tBlock\t{'S' if n < 5 else 'M'}\tgravel\t16/64-15\t9,5\tW{n:02d}\n"
    for n in range(1, 11)
)


@pytest.fixture
def desk(app, qtbot, tmp_path, monkeypatch):
    monkeypatch.syspath_prepend(str(Path(__file__).parent / "jobs"))
    monkeypatch.setattr(gui_app, "EngineClient", lambda: EngineClient("engine_jobs:quick"))
    made = gui_app.Desk(gui_app.settings_file(tmp_path), data_dir=tmp_path)
    made.window.show()
    made.window.resize(1366, 700)
    yield made
    made.window.close()


@pytest.fixture
def page(desk):
    desk.window.go("new_event")
    return desk.window.page


def files(folder):
    plan, stock = folder / "plan.csv", folder / "tyres.txt"
    plan.write_text(PLAN, encoding="utf-8")
    stock.write_text(TYRES, encoding="utf-8")
    return plan, stock


def test_first_call_from_six_inputs(desk, page, qtbot, tmp_path):
    window, session = desk.window, desk.session
    plan, stock = files(tmp_path)
    inputs = 0

    def given(act):
        nonlocal inputs
        act()
        inputs += 1

    given(lambda: page.tables["itinerary"].take_file(plan))
    given(lambda: page.tables["stock"].take_file(stock))
    given(page.form.car.buttons[1][0].click)
    page.check()
    assert page.primary_text() == "Save and open"
    window.fire_primary()
    assert session.is_open
    assert window._current == "load"
    window.fire_primary()
    assert window._current == "conditions"

    def digits(text):
        for sign in text:
            window.page.host.press(sign)

    given(lambda: digits("18"))
    given(lambda: digits("24"))
    given(window.page.surface.buttons[0][0].click)
    assert inputs == 6
    assert "New event" in window.pages["load"].type_in.text()
    qtbot.waitUntil(lambda: session.answer is not None and session.answer.final, timeout=60000)
    plan_made = session.answer.result.plan
    assert plan_made
    assert {plan_made[0].fitting[c] for c in ("FL", "FR", "RL", "RR")} <= set(
        session.state.tyres
    )
    assert session.bundle.event.car_class == "two_wheel_drive"
    # 4.2 international miles of 1.609344 km.
    assert session.bundle.itinerary.stage("SS1").km == pytest.approx(4.2 * 1.609344, abs=1e-3)


def test_what_is_left_alone_is_said_as_assumed(page, tmp_path):
    plan, stock = files(tmp_path)
    page.tables["itinerary"].take_file(plan)
    page.tables["stock"].take_file(stock)
    page.check()
    said = page.form.assumed.text()
    for words in ("Event 2026-05-16", "Day Gravel", "first car", "1 min between", "marks"):
        assert words in said
    page.form.name.setText("Our weekend")
    page.form.position.setText("24")
    page.check()
    assert "Event 2026-05-16" not in page.form.assumed.text()
    assert "first car" not in page.form.assumed.text()


def test_headings_and_units_are_said_in_the_words_of_the_table(page, tmp_path):
    plan, _ = files(tmp_path)
    page.tables["itinerary"].take_file(plan)
    page.check()
    said = page.tables["itinerary"].words.text()
    assert "'Day' read as leg" in said
    assert "'SS dist (miles)' read as Stage km" in said
    assert "miles turned into km: Stage km" in said
    assert "Decimal commas read as points" in said
    assert "Brackets dropped: Road km" in said
    assert "tyres may be changed: TC1C" in said


def test_a_fault_is_marked_in_its_cell_with_word_and_colour(page, tmp_path):
    plan, _ = files(tmp_path)
    plan.write_text(PLAN.replace("08:48;gravel", "08:48;mud"), encoding="utf-8")
    table = page.tables["itinerary"]
    table.take_file(plan)
    page.check()
    at = table.model.index(2, table.model.columns.index("surface"))
    assert at.data() == "mud\n■ not known"
    theme = table.model._theme
    assert at.data(Qt.ItemDataRole.BackgroundRole).name().upper() == theme.stops_fill
    assert table.model.headerData(2, Qt.Orientation.Vertical) == "■ 3"
    assert '"mud" is not known here' in table.detail.text()
    assert "Allowed: gravel" in table.detail.text()
    assert page.choice.buttons[1][0].text().startswith("■ 1")
    page.show_part("itinerary")
    table.next_fault()
    assert table.table.currentIndex() == at
    assert table.model.setData(at, "gravel")
    page.check()
    assert table.faults == ()
    assert "No fault" in table.detail.text()


def test_an_itinerary_typed_row_by_row(desk, page, qtbot):
    page.form.day.setText("2026-05-16")
    table = page.tables["itinerary"]
    for cells in (
        {"ref": "TC0", "name": "Showground, start", "first_car_due": "08.30"},
        {"ref": "TC1", "liaison_km": "11,2", "target_min": "15", "first_car_due": "08:45"},
        {"ref": "SS1", "ss_km": "6,8 km", "first_car_due": "08:48", "surface": "tarmac"},
        {"ref": "TC1A", "name": "Service A IN", "target_min": "0:29", "first_car_due": "9:17"},
        {"ref": "TC1B", "name": "Service A OUT", "target_min": "30", "first_car_due": "9:47"},
        {"ref": "SS2", "ss_km": "8", "first_car_due": "10:02", "surface": "asphalt"},
        {"ref": "TC2", "name": "finish", "target_min": "22", "first_car_due": "10:24"},
    ):
        table.add_row()
        at = len(table.model.rows) - 1
        for name, text in cells.items():
            table.model.setData(table.model.index(at, table.model.columns.index(name)), text)
    page.check()
    assert table.faults == ()
    shown = {
        name: table.model.index(2, table.model.columns.index(name)).data()
        for name in table.model.columns
    }
    # What follows from the rest is shown where nothing was typed.
    assert (shown["leg"], shown["kind"]) == ("1", "stage")
    assert (shown["ss_km"], shown["surface"]) == ("6.8", "asphalt")
    assert table.made.rows[0]["first_car_due"] == "2026-05-16 08:30"
    assert [row["tyre_change"] for row in table.made.rows if row.get("service")] == [
        "no",
        "team",
    ]


def test_typing_goes_into_the_cell_and_a_tap_opens_it(page, qtbot):
    page.show_part("stock")
    view = page.tables["stock"].table
    view.setFocus()
    qtbot.keyClicks(view, "T")
    editor = view.findChild(QLineEdit)
    assert editor is not None
    qtbot.keyClicks(editor, "01")
    qtbot.keyClick(editor, Qt.Key.Key_Return)
    rows = page.tables["stock"].model.rows
    qtbot.waitUntil(lambda: rows[0].get("tyre_id") == "T01")
    assert page.row_action()


def test_a_check_takes_no_letter_out_of_a_cell_that_is_typed_in(page, qtbot):
    page.show_part("itinerary")
    table = page.tables["itinerary"]
    table.table.setFocus()
    qtbot.keyClicks(table.table, "T")
    editor = table.table.findChild(QLineEdit)
    qtbot.keyClicks(editor, "C")
    page.check()
    qtbot.keyClicks(editor, "0")
    qtbot.keyClick(editor, Qt.Key.Key_Return)
    # A row begins with its reference; the leg follows from the row above.
    qtbot.waitUntil(lambda: table.model.rows[0].get("ref") == "TC0")


def test_down_at_the_end_goes_on_to_a_new_row(page, qtbot):
    page.show_part("stock")
    table = page.tables["stock"]
    table.take_text("Tyre\tMaker\nT1\tInvented\n")
    table.table.setCurrentIndex(table.model.index(0, 1))
    for _ in range(2):
        # The second time an empty row is there already.
        qtbot.keyClick(table.table, Qt.Key.Key_Down)
        assert len(table.model.rows) == 2
        table.table.setCurrentIndex(table.model.index(1, 0))


def test_fill_down_and_taking_out_have_keys(page, qtbot):
    table = page.tables["stock"]
    table.take_text(TYRES)
    page.show_part("stock")
    at = table.model.index(0, table.model.columns.index("mark"))
    table.model.setData(at, "M")
    table.table.setCurrentIndex(at)
    qtbot.keyClick(table.table, Qt.Key.Key_D, Qt.KeyboardModifier.ControlModifier)
    assert [row["mark"] for row in table.model.rows] == ["M"] * 10
    qtbot.keyClick(table.table, Qt.Key.Key_Delete)
    assert table.model.rows[0]["mark"] == ""


def test_undo_takes_back_in_the_table_and_leaves_the_book_alone(desk, page):
    table = page.tables["stock"]
    table.take_text(TYRES)
    table.model.setData(table.model.index(0, 0), "X1")
    before = [dict(row) for row in table.model.rows]
    table.take_text("Tyre\tMaker\nT1\tInvented\n")
    assert "Ctrl+Z" in desk.session.board.shown.words
    page.show_part("stock")
    page.undo()
    assert table.model.rows == before
    page.undo()
    assert table.model.rows[0]["tyre_id"] == "T01"
    page.redo()
    page.redo()
    assert len(table.model.rows) == 1
    for _ in range(4):
        page.undo()
    assert not table.model.rows
    assert "Nothing to undo" in desk.session.board.shown.words


def test_words_of_two_parts_are_shown_and_taken_as_two(page):
    table = page.tables["itinerary"]
    table.take_text("TC\tLocation\tKind\nTC1\tField\tService IN\n")
    at = table.model.index(0, table.model.columns.index("kind"))
    assert table.model.rows[0]["kind"] == "service_in"
    assert at.data() == "service in"
    table.model.setData(at, "service out")
    assert table.model.rows[0]["kind"] == "service_out"


def test_rows_pasted_without_a_heading_are_added_below(page):
    table = page.tables["stock"]
    assert table.take_text(TYRES)
    assert len(table.model.rows) == 10
    more = "T11\tInvented\tBlock\tsoft\tgravel\t16/64-15\tW11\t9,5\n"
    QGuiApplication.clipboard().setText(more)
    table.paste()
    assert [row["tyre_id"] for row in table.model.rows][-2:] == ["T10", "T11"]
    assert table.model.rows[-1]["tread_new_mm"] == "9.5"
    page.check()
    assert table.faults == ()
    # A table with a heading, be it our own, takes the place of what stands there.
    table.take_text(table.made.text)
    assert len(table.model.rows) == 11


def test_nothing_to_paste_and_no_table_are_said(page, tmp_path):
    said = []
    page.tables["stock"].said.connect(lambda level, words: said.append((level, words)))
    page.tables["stock"].take_text("  ")
    broken = tmp_path / "x.xlsx"
    broken.write_bytes(b"PK\x03\x04broken")
    assert not page.tables["stock"].take_file(broken)
    assert [level for level, _ in said] == ["note", "watch"]
    assert "cannot be read as a spreadsheet" in said[1][1]
    # The whole of it stands below the table until something is taken.
    page.check()
    assert "Save the sheet as CSV UTF-8" in page.tables["stock"].detail.text()
    page.tables["stock"].take_text(TYRES)
    page.check()
    assert "No fault" in page.tables["stock"].detail.text()


def test_a_row_taken_out_can_be_put_back(page):
    table = page.tables["stock"]
    table.take_text(TYRES)
    table.table.setCurrentIndex(table.model.index(3, 0))
    table.take_row()
    assert "T04" not in [row["tyre_id"] for row in table.model.rows]
    assert table.less.accessibleName() == "Put row back"
    table.take_row()
    assert [row["tyre_id"] for row in table.model.rows][3] == "T04"


def test_fill_down_reaches_empty_and_faulty_cells_only(page):
    table = page.tables["stock"]
    table.take_text(TYRES.replace("\tgravel\t", "\t\t"))
    page.check()
    column = table.model.columns.index("use")
    assert table.model.index(0, column).data() == "■ empty"
    table.model.setData(table.model.index(0, column), "gravel")
    table.table.setCurrentIndex(table.model.index(0, column))
    table.fill_down()
    page.check()
    assert table.faults == ()
    assert {row["use"] for row in table.model.rows} == {"gravel"}


def test_forecast_of_a_few_hours_in_fahrenheit(page, tmp_path):
    plan, stock = files(tmp_path)
    page.tables["itinerary"].take_file(plan)
    page.tables["stock"].take_file(stock)
    page.form.car.set_value("front_wheel_drive")
    page.form.where.setText("52.1, 13.6, 180")
    weather = page.tables["weather"]
    weather.take_text("Hour\tTemp °F\tRain\n2026-05-16 09:00\t50\t0\n2026-05-16 10:00\t59\t0,4")
    page.check()
    assert weather.faults == ()
    # 50 °F is 10 °C and 59 °F is 15 °C by definition of the scales.
    assert [row["air_c"] for row in weather.made.rows] == ["10", "15"]
    assert "°F turned into °C: Air °C" in weather.words.text()
    page.primary()
    bundle = page.session.bundle
    assert [site.alt_m for site in bundle.event.sites] == [180.0]
    assert len(bundle.weather.rows) == 2


@pytest.mark.parametrize(
    ("field", "text", "words"),
    [
        ("day", "16th of May", "is no date"),
        ("position", "first", "cannot be read"),
        ("interval", "often", "cannot be read"),
        ("where", "north", "is no place"),
        ("zone", "Mars/Olympus", "no known time zone"),
    ],
)
def test_what_the_form_cannot_read_is_said_with_an_example(page, field, text, words):
    getattr(page.form, field).setText(text)
    page.check()
    assert words in page.form.assumed.text()
    assert page.form.assumed.property("text_kind") == "stops"
    assert page.choice.buttons[0][0].text().startswith("■")


def test_places_in_the_order_and_minutes_leg_by_leg(page, tmp_path):
    plan, stock = files(tmp_path)
    page.tables["itinerary"].take_file(plan)
    page.tables["stock"].take_file(stock)
    page.form.car.set_value("four_wheel_drive")
    page.form.position.setText("24")
    page.form.interval.setText("2, then 1 from car 16")
    page.check()
    page.primary()
    # Cars 2 to 15 two minutes apart, 16 to 24 one: 14 x 2 + 9 x 1.
    assert page.session.bundle.itinerary.offsets_min == {1: 37.0}


def test_what_was_typed_outlives_a_restart(desk, page, app, tmp_path):
    page.tables["stock"].take_text(TYRES)
    page.form.name.setText("Half done")
    page.keep_draft()
    desk.window.close()
    again = gui_app.Desk(gui_app.settings_file(tmp_path), data_dir=tmp_path)
    again.window.go("new_event")
    assert again.window.page.form.name.text() == "Half done"
    assert len(again.window.page.tables["stock"].model.rows) == 10
    again.window.close()


def test_a_saved_event_leaves_no_draft_and_never_writes_over_another(desk, page, tmp_path):
    plan, stock = files(tmp_path)
    for number in (1, 2):
        desk.window.go("new_event")
        page.tables["itinerary"].take_file(plan)
        page.tables["stock"].take_file(stock)
        page.form.car.set_value("four_wheel_drive")
        page.form.name.setText("Twice")
        page.keep_draft()
        page.check()
        desk.window.fire_primary()
        assert desk.session.folder.name == ("Twice" if number == 1 else "Twice_2")
    assert not (tmp_path / "new_event.json").exists()
    assert not page.tables["stock"].filled


def test_the_last_handover_is_found_and_gives_the_stock(desk, qtbot, tmp_path):
    from crewdesk.desk.day import Day
    from crewdesk.desk.handover import write_handover

    event = Path(str(shipped("demo_events").joinpath("saldrey")))
    with Day.open(event, data_dir=tmp_path, desk_name="test") as day:
        write_handover(day, tmp_path / "handovers" / "saldrey")
    load = desk.window.pages["load"]

    def found():
        load.refresh()
        shown = load.findChildren(type(load.title))
        return any("Last handover found: Saldrey" in one.text() for one in shown)

    # It is looked for once the window has drawn itself.
    qtbot.waitUntil(found)
    desk.window.go("new_event")
    page = desk.window.page
    assert not page.last.isHidden()
    assert "Last handover: Saldrey Forest Day" in page.tables["stock"].words.text()
    assert page.minimumSizeHint().width() < 1000
    assert "Saldrey" in page.last.accessibleName()
    page.last.click()
    stock = page.tables["stock"]
    assert len(stock.model.rows) == 12
    assert "marks of that event are void" in stock.words.text()
    assert not any(row.get("mark") for row in stock.model.rows)
    assert json.loads(stock.handover)["event"] == "Saldrey Forest Day"
    assert not [line for line in stock.words.text().splitlines() if "Headings" in line]


def test_a_rim_that_the_last_event_left_empty_is_there_for_the_next(desk, tmp_path):
    from crewdesk.desk.day import Day
    from crewdesk.desk.handover import make_handover
    from crewdesk.documents.handover import handover_text

    event = Path(str(shipped("demo_events").joinpath("saldrey")))
    with Day.open(event, data_dir=tmp_path, desk_name="test") as day:
        made = make_handover(day)
    off, gone = made.tyres[0].rim_id, made.tyres[1].rim_id
    states = {gone: "scrap"}
    made = made.model_copy(
        update={
            "tyres": tuple(
                one.model_copy(update={"rim_id": ""}) if one.rim_id in (off, gone) else one
                for one in made.tyres
            ),
            "rims": tuple(
                one.model_copy(update={"tyre_id": "", "state": states.get(one.rim_id, "good")})
                if one.rim_id in (off, gone)
                else one
                for one in made.rims
            ),
        }
    )
    path = tmp_path / "handover.json"
    path.write_text(handover_text(made), encoding="utf-8")
    desk.window.go("new_event")
    page = desk.window.page
    page.tables["itinerary"].take_text(PLAN)
    assert page.tables["stock"].take_file(path)
    page.form.car.set_value("four_wheel_drive")
    page.check()
    assert page.tables["stock"].faults == ()
    texts = new_texts(page.new())
    rims = [rim["rim_id"] for rim in json.loads(texts["event.json"])["rims"]]
    assert off in rims
    assert gone not in rims
    assert {one.rim_id for one in made.tyres if one.rim_id} < set(rims)


@pytest.mark.parametrize("kind", ["itinerary", "stock", "weather"])
def test_every_column_has_a_heading_of_its_own(kind):
    titles = [title_of(name) for name in columns_of(kind)]
    assert len(titles) == len(set(titles))
    assert not [title for title in titles if "_" in title]
    assert set(SHOWN[kind]) <= set(columns_of(kind))


@pytest.mark.parametrize("text", ["5.12.2026", "05/12/2026", "2026-12-05"])
def test_a_first_day_as_crews_write_it_is_taken_and_shown_as_read(page, text):
    page.form.day.setText(text)
    page.form.day.editingFinished.emit()
    assert page.form.first_day == date(2026, 12, 5)
    assert page.form.day.text() == "2026-12-05"
    assert not page.form.wrong()


def test_a_column_that_is_not_used_is_said_before_the_headings(page):
    table = page.tables["stock"]
    table.take_text("Tyre no\tInner\tLid\tNew tread (cm)\nH01\t0,9\tblue\t1,0\n")
    first, *others = table.words.text().splitlines()
    assert first == 'Kept without using it: "Lid".'
    assert "cm turned into mm: New mm." in others
    assert others[-1].startswith("Headings: 'Tyre no' read as Tyre")
    assert "Inner" not in others[-1]


def test_tables_are_looked_for_where_the_last_one_lay(page, tmp_path, monkeypatch):
    shown = []
    monkeypatch.setattr(QFileDialog, "open", lambda self: shown.append(self.directory()))
    monkeypatch.setattr(TableSection, "last_folder", None)
    monkeypatch.setattr(
        "crewdesk.gui.pages.new_event_table.user_documents_path", lambda: tmp_path / "none"
    )
    table = page.tables["stock"]
    table.choose.click()
    (tmp_path / "stock.csv").write_text("Tyre no\nH01\n", encoding="utf-8")
    table._chosen(str(tmp_path / "stock.csv"))
    page.tables["itinerary"].choose.click()
    assert [Path(one.path()) for one in shown] == [Path.home(), tmp_path]


def test_the_first_day_dates_every_leg(page):
    page.form.day.setText("2026-05-16")
    table = page.tables["itinerary"]
    table.take_text(
        "Leg\tTC\tFirst car due\tTarget time\n1\tTC0\t08:30\t\n1\tTC1\t08:45\t15\n"
        "2\tTC2\t09:00\t\n"
    )
    page.check()
    assert page.form.first_day == date(2026, 5, 16)
    due = [row["first_car_due"] for row in table.made.rows]
    assert due == ["2026-05-16 08:30", "08:45", "2026-05-17 09:00"]


def test_fill_down_leaves_controls_without_a_surface_and_an_empty_cell_alone(page, tmp_path):
    plan = tmp_path / "plan.csv"
    plan.write_text(PLAN.replace(";gravel", ";"), encoding="utf-8")
    table = page.tables["itinerary"]
    table.take_file(plan)
    page.check()
    at = table.model.columns.index("surface")
    stages = [n for n, row in enumerate(table.model.rows) if row["kind"] == "stage"]
    table.table.setCurrentIndex(table.model.index(0, at))
    said = []
    table.said.connect(lambda _level, words: said.append(words))
    table.fill_down()
    assert "empty" in said[-1]
    assert len(stages) == 2
    table.model.setData(table.model.index(stages[0], at), "gravel")
    page.check()
    table.table.setCurrentIndex(table.model.index(stages[0], at))
    table.fill_down()
    assert said[-1] == "Surface copied into 1 cell below"
    filled = [n for n, row in enumerate(table.model.rows) if row.get("surface")]
    assert filled == stages


def test_a_time_too_far_on_is_marked_as_without_its_date():
    assert short_fault("SS8 at 12:02 would be more than 12 h after TC4B.") == "no date"


def test_the_strip_shows_the_event_that_is_made(window):
    top = window.top
    before = (top.where.text(), top.stages.text(), top.left.text())
    window.go("new_event")
    page = window.page
    assert top.where.text() == "New event: no name yet"
    assert top.stages.text().startswith("still wanted: Event and car, ")
    assert not any(each.isVisible() for each in (top.left, top.air, top.road, top.tyres))
    assert [step.label for step in window.rail._steps] == ["Back to now"]
    page.form.name.setText("Ombrick Day")
    page.check()
    top.tick()
    assert top.where.text() == "New event: Ombrick Day"
    window.back()
    assert (top.where.text(), top.stages.text(), top.left.text()) == before
    assert top.air.isVisible()
    assert len(window.rail._steps) > 1


def test_all_of_what_was_understood_is_shown(desk, page, tmp_path):
    plan, _ = files(tmp_path)
    desk.window.resize(1366, 700)
    table = page.tables["itinerary"]
    table.take_file(plan)
    page.check()
    QApplication.processEvents()
    whole = table.words.heightForWidth(table.understood.viewport().width())
    assert whole > 76
    assert table.understood.height() >= whole
    table.words.setText("\n".join(["row"] * 80))
    table._fit_words()
    assert table.understood.height() <= 0.4 * table.height() + 1
    assert table.understood.focusPolicy() == Qt.FocusPolicy.StrongFocus
