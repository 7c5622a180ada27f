"""The stock table: the model keeps Qt's rules, filters and sorts, and Enter finds the wheel."""

import pytest
from PySide6.QtCore import Qt

from crewdesk.gui.stock_model import COLUMNS, StockFilter, StockModel, rows_of


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
    column = [name for name, _ in COLUMNS].index("Tread")
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
