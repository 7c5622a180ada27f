"""The stock table: the model keeps Qt's rules, filters and sorts, and Enter finds the wheel."""

from dataclasses import replace

import pytest
from PySide6.QtCore import Qt

from crewdesk.gui.stock_model import COLUMNS, STACK, StockFilter, StockModel, rows_of
from crewdesk.gui.tables import hide_empty


@pytest.fixture
def model(window):
    made = StockModel()
    made.set_stock(rows_of(window.session))
    return made


def test_the_model_keeps_the_rules_of_the_toolkit(model, qtmodeltester):
    qtmodeltester.check(model)


def test_the_filter_keeps_the_rules_of_the_toolkit(model, qtmodeltester):
    proxy = StockFilter()
    proxy.setSourceModel(model)
    qtmodeltester.check(proxy)


def test_filters_leave_what_they_say(window, model):
    proxy = StockFilter()
    proxy.setSourceModel(model)
    proxy.set_filter(state="carried")
    tyres = {proxy.index(i, 1).data() for i in range(proxy.rowCount())}
    car = window.session.state.fitted.tyres
    assert tyres == {car["SP1"], car["SP2"]}
    proxy.set_filter(state="", compound="soft")
    assert proxy.rowCount() == sum(
        t.stock.compound == "soft" for t in window.session.state.tyres.values()
    )


def test_tread_sorts_by_depth_not_by_letters(model):
    proxy = StockFilter()
    proxy.setSourceModel(model)
    column = [name for name, _ in COLUMNS].index("Tread mm")
    proxy.sort(column, Qt.SortOrder.AscendingOrder)
    shown = [proxy.index(i, column).data() for i in range(proxy.rowCount())]
    depths = [float(text.replace("≈", "").split()[0]) for text in shown]
    assert depths == sorted(depths)
    assert min(depths) < 10 <= max(depths)


def test_a_change_of_one_tyre_is_told_without_a_reset(window, model, qtbot):
    before = model.row(0).tyre_id
    window.go("find")
    window.page.show_tyre(before)
    window.page.reason.setText("cut")
    with qtbot.waitSignal(model.dataChanged, timeout=1000) as told:
        window.page._state("locked")
        model.set_stock(rows_of(window.session))
    assert told.args[0].row() == 0
    assert model.row(0).state == "locked"


def test_enter_in_the_table_shows_the_wheel(window, qtbot):
    window.go("stock")
    page = window.page
    page.table.selectRow(2)
    wanted = page.table.model().index(2, 1).data()
    window.keys._enter(page.table)
    assert window._current == "find"
    assert window.page._tyre == wanted


def test_a_tap_on_a_row_shows_its_tyre(window, qtbot):
    window.go("stock")
    table = window.page.table
    cell = table.visualRect(window.page.proxy.index(2, 1)).center()
    qtbot.mouseClick(table.viewport(), Qt.MouseButton.LeftButton, pos=cell)
    assert window.page.key == "find"
    assert window.page._tyre == "H03"


def test_a_crew_without_stacks_has_no_column_of_them(window):
    window.go("stock")
    page = window.page
    assert page.table.isColumnHidden(STACK)
    rows = rows_of(window.session)
    cells = (*rows[0].cells[:STACK], "2", *rows[0].cells[STACK + 1 :])
    page.model.set_stock((replace(rows[0], cells=cells), *rows[1:]))
    hide_empty(page.table, page.model, (STACK,))
    assert not page.table.isColumnHidden(STACK)


def test_the_table_says_carried_as_the_slots_do(model):
    corner = [name for name, _ in COLUMNS].index("Corner")
    said = {model.row(at).tyre_id: model.row(at).cells[corner] for at in range(6)}
    assert said == {"H01": "FL", "H02": "FR", "H03": "RL", "H04": "RR", "H05": "1", "H06": "2"}
