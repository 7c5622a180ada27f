"""Sizes, clipped text, overlaps, names, focus: over all pages, themes and two screens."""

import pytest
from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QAccessible, QFontMetrics
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QLabel,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QStyle,
    QStyleOptionButton,
)

from crewdesk.gui.pages import PAGE_CLASSES
from crewdesk.gui.slots import SlotButton
from crewdesk.gui.theme import THEMES

PAGES = [page.key for page in PAGE_CLASSES]
STANDARD, COMPACT, UPRIGHT = (1366, 700), (1024, 700), (700, 1290)
WIDE_TABLES = ("new_event",)
"""Typing in a whole event asks for a screen that lies."""
CASES = [
    # A theme at a time: changing it lays the whole window anew.
    *((page, theme, STANDARD) for theme in THEMES for page in PAGES),
    *((page, "light", COMPACT) for page in PAGES),
    *((page, "light", UPRIGHT) for page in PAGES if page not in WIDE_TABLES),
]


@pytest.fixture(params=CASES, ids=lambda c: f"{c[0]}-{c[1]}-{c[2][0]}")
def shown(request, shared_window):
    page, theme, size = request.param
    window = shared_window
    window.resize(*size)
    # An upright window can only get narrower once its parts stand below one another.
    QApplication.processEvents()
    window.resize(*size)
    if window.theme_name != theme:
        window.set_theme(theme)
    if page == "visit":
        window.pages["visit"].show_place("A")
    if page == "find":
        window.pages["find"].show_tyre("H01")
    window.go(page)
    for _ in range(4):
        QApplication.processEvents()
    window.wanted = size
    return window


def seen_rect(widget, window):
    """Return where a widget is seen in the window; scrolled-out parts are left out."""
    rect = QRect(widget.mapTo(window, widget.rect().topLeft()), widget.size())
    parent = widget.parentWidget()
    while parent is not None and parent is not window:
        if isinstance(parent, QScrollArea):
            view = parent.viewport()
            rect &= QRect(view.mapTo(window, view.rect().topLeft()), view.size())
        parent = parent.parentWidget()
    return rect


def controls(window):
    kinds = (QAbstractButton, QLineEdit)
    found = [w for kind in kinds for w in window.findChildren(kind) if w.isVisible()]
    # The table draws its own corner and headers; they are no controls of ours.
    return [w for w in found if w.objectName()]


def test_fits_the_screen_without_clipping_overlap_or_small_targets(shown):
    window = shown
    least = window.minimumSizeHint()
    assert least.width() <= window.wanted[0], least
    assert least.height() <= window.wanted[1], least
    assert (window.width(), window.height()) == window.wanted
    assert not overlaps(window)
    assert not small(window)
    assert not clipped(window)
    assert not nameless(window)
    assert window.bottom.primary.isEnabled()
    assert window.bottom.primary.text().strip()


@pytest.mark.parametrize("size", [STANDARD, COMPACT, UPRIGHT])
def test_the_table_of_our_own_minutes_fits_the_screen(shared_window, size):
    window = shared_window
    window.go("minutes")
    window.page.own.click()
    for _ in range(4):
        window.resize(*size)
        QApplication.processEvents()
    assert (window.width(), window.height()) == size
    found = overlaps(window), small(window), clipped(window), nameless(window)
    window.page.escape()
    assert found == ([], [], [], [])


@pytest.mark.parametrize("size", [STANDARD, COMPACT, UPRIGHT])
def test_the_parts_of_a_stage_fit_the_screen(shared_window, size):
    window = shared_window
    window.go("conditions")
    page = window.page
    stage = window.session.place.stages[0]
    page.set_place(stage)
    for part, surface in ((("start", 0.5), "damp"), (("middle", 0.25), "standing")):
        page.part_of.choice._take(part)
        page._surface(surface)
    for _ in range(4):
        window.resize(*size)
        QApplication.processEvents()
    assert page.part_of.isVisible()
    assert (window.width(), window.height()) == size
    found = overlaps(window), small(window), clipped(window), nameless(window)
    page.set_place(window.session.place.key)
    assert found == ([], [], [], [])


def overlaps(window):
    found = [(w, seen_rect(w, window)) for w in controls(window)]
    bad = []
    for index, (one, a) in enumerate(found):
        for other, b in found[index + 1 :]:
            if a.intersects(b) and not (one.isAncestorOf(other) or other.isAncestorOf(one)):
                bad.append((one.objectName(), other.objectName()))
    return bad


def small(window):
    """Targets under 56 px, keys under 84, a primary under 64 high."""
    bad = []
    for w in controls(window):
        kind = w.property("kind")
        wide = high = 84 if kind in ("key", "wordkey") else 56
        high = 64 if kind == "primary" else high
        if w.width() < wide or w.height() < high:
            bad.append((w.objectName(), w.width(), w.height()))
    return bad


def clipped(window):
    bad = []
    for text in window.findChildren(QLabel):
        if not text.isVisible() or not text.text():
            continue
        metrics, room = QFontMetrics(text.font()), text.contentsRect()
        if text.wordWrap():
            needed = metrics.boundingRect(
                QRect(0, 0, room.width(), 5000), Qt.TextFlag.TextWordWrap, text.text()
            )
            if needed.height() > room.height() + 2 or needed.width() > room.width() + 1:
                bad.append((text.objectName(), text.text()[:60], needed, room))
        else:
            lines = text.text().split("\n")
            if max(metrics.horizontalAdvance(line) for line in lines) > room.width() + 1:
                bad.append((text.objectName(), text.text()[:60], room.width()))
    for made in window.findChildren(QPushButton):
        if not made.isVisible() or not made.text():
            continue
        option = QStyleOptionButton()
        option.initFrom(made)
        option.rect = made.rect()
        room = made.style().subElementRect(
            QStyle.SubElement.SE_PushButtonContents, option, made
        )
        metrics = QFontMetrics(made.font())
        wide = max(metrics.horizontalAdvance(line) for line in made.text().split("\n"))
        if wide > room.width() + 1:
            bad.append((made.objectName(), made.text(), wide, room.width()))
    return bad


def nameless(window):
    bad = []
    for w in [*controls(window), *window.findChildren(SlotButton)]:
        if not w.isVisible() or w.focusPolicy() == Qt.FocusPolicy.NoFocus:
            continue
        face = QAccessible.queryAccessibleInterface(w)
        if face is None or not face.text(QAccessible.Text.Name).strip():
            bad.append(w.objectName())
    return bad


@pytest.mark.parametrize("page", PAGES)
def test_tab_reaches_every_enabled_control(shared_window, page):
    window = shared_window
    window.resize(*STANDARD)
    window.go(page)
    window.activateWindow()
    QApplication.processEvents()
    wanted = {
        w
        for w in controls(window)
        if w.isEnabled() and w.focusPolicy() & Qt.FocusPolicy.TabFocus
    }
    seen, current = set(), window
    for _ in range(5000):
        current = current.nextInFocusChain()
        if current is window:
            break
        seen.add(current)
    assert not {w.objectName() for w in wanted - seen}


def test_the_wide_screen_shows_four_charts_beside_the_slots(shared_window):
    window = shared_window
    window.go("call")
    window.resize(1920, 1000)
    QApplication.processEvents()
    assert window.charts is not None
    assert window.charts.isVisible()
    assert window.charts.width() == 480
    assert window.minimumSizeHint().width() <= 1920
    assert window.minimumSizeHint().height() <= 1000
    window.resize(*STANDARD)
    QApplication.processEvents()
    assert not window.charts.isVisible()


@pytest.mark.parametrize("touch", [1.2, 1.4])
def test_the_touch_size_makes_targets_larger(shared_window, touch):
    window = shared_window
    window.go("load")
    window.set_touch(touch)
    QApplication.processEvents()
    assert window.bottom.undo.height() >= round(56 * touch)
    assert window.bottom.primary.height() >= round(64 * touch)
    window.set_touch(1.0)
