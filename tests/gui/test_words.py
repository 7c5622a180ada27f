"""What the crew reads: no word of the workshop of the program, and status as text."""

import ast
import re
from pathlib import Path

import pytest
from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel, QLineEdit

import crewdesk.gui
from crewdesk.gui.keys import KEYS, TYPED
from crewdesk.gui.pages import PAGE_CLASSES
from crewdesk.gui.theme import THEMES

NEVER = re.compile(
    r"\b(gaps?|bounds?|seeds?|scenarios?|priors?|posteriors?|objectives?|sigmas?|quantiles?"
    r"|parameters?|constraints?|infeasible|solvers?|legal|safe|invalid)\b",
    re.IGNORECASE,
)
ROOT = Path(crewdesk.gui.__file__).parent


def said_in(path):
    """Return the literal texts that a file hands to translation."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.Call):
            continue
        name = getattr(node.func, "attr", getattr(node.func, "id", ""))
        if name in ("tr", "_tr", "_t", "translate"):
            for argument in node.args:
                if isinstance(argument, ast.Constant) and isinstance(argument.value, str):
                    yield argument.value


@pytest.mark.parametrize("path", sorted(ROOT.rglob("*.py")), ids=lambda p: p.name)
def test_no_forbidden_word_is_written_in_a_page(path):
    assert not [text for text in said_in(path) if NEVER.search(text)]


@pytest.mark.parametrize("page", [page.key for page in PAGE_CLASSES])
def test_no_forbidden_word_is_on_screen(shared_window, page):
    window = shared_window
    if page == "visit":
        window.pages["visit"].show_place("B")
    window.go(page)
    QApplication.processEvents()
    texts = [window.windowTitle()]
    for kind in (QLabel, QAbstractButton, QLineEdit):
        for widget in window.findChildren(kind):
            texts += [widget.text(), widget.toolTip(), widget.accessibleName()]
    assert not [text for text in texts if NEVER.search(text)]


def test_the_call_says_what_it_assumes_and_checks_without_forbidden_words(window):
    window.go("call")
    page = window.page
    for what in ("assumed", "checked", "choice3"):
        page._fold(what)
        texts = [w.text() for w in page.findChildren(QLabel)]
        assert not [text for text in texts if NEVER.search(text)]


def test_status_is_there_as_text_when_colour_is_off(shared_window):
    window = shared_window
    window.go("call")
    window.set_theme("light")
    for slot in window.slots.buttons.values():
        view = slot.view
        if view.tyre_id:
            assert view.code in slot.accessibleName()
            assert view.compound in slot.accessibleName()
            assert view.line in slot.accessibleName()
    parts = [window.parts.buttons[p].accessibleName() for p in ("before_in", "car_in", "fit")]
    assert parts == ["Before IN, done", "Car in, now", "Fit, to come"]
    for level in ("note", "watch", "stops"):
        window.session.notice(level, "the jack is warm")
        assert f"{level}: the jack is warm" in window.bottom.notice.accessibleName()
        window.session.notice_seen()


def test_every_theme_can_be_reached_by_the_view_button(shared_window):
    window = shared_window
    window.set_theme("light")
    seen = set()
    for _ in range(3):
        seen.add(window.theme_name)
        window.top.view.click()
    assert seen == set(THEMES)
    assert window.theme_name == "light"


def test_no_key_twice_and_all_keys_under_help(shared_window):
    keys = [key.keys for key in KEYS if key.keys]
    assert len(keys) == len(set(keys))
    shown = {label.text() for label in shared_window.pages["help"].findChildren(QLabel)}
    assert {key.shown for key in KEYS if key.shown} <= shown
    assert {key for key, _ in TYPED} <= shown


def test_no_single_letter_is_a_shortcut():
    # WCAG 2.2, 2.1.4: no single-character shortcuts outside a field.
    assert not [key.keys for key in KEYS if len(key.keys) == 1]
