"""Colours, badges, letters: figures after the published rules, named beside each check."""

import sys
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from colorspacious import cspace_convert, deltaE
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QFontMetrics, QImage, QPainter
from PySide6.QtWidgets import QApplication, QWidget

from crewdesk.assets import shipped
from crewdesk.documents.store import load_event
from crewdesk.gui.badge import Badge, badge_path, badge_slots, draw_badge
from crewdesk.gui.parts import button, row
from crewdesk.gui.theme import BADGES, THEMES, Sizes, palette, sheet_text

SIGNS = "⚠☀⏎⌫↶✓○▶→±−≤≥●▲■◆·↑▼☰≈°–…"


def luminance(colour):
    """Relative luminance, WCAG 2.2."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return sum(k * c for k, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one, other):
    """Contrast ratio, WCAG 2.2."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_of_black_on_white_is_the_published_one():
    # WCAG 2.2, definition of contrast ratio: "contrast ratios can range from 1 to 21".
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)


@pytest.mark.parametrize("name", list(THEMES))
def test_text_is_at_least_seven_to_one_and_lines_three_to_one(name):
    # WCAG 2.2: 1.4.6 text 7:1, 1.4.11 graphics 3:1; sunlight asks more of both.
    theme = THEMES[name]
    text = [
        (theme.ink, theme.bg),
        (theme.ink, theme.card),
        (theme.muted, theme.bg),
        (theme.muted, theme.card),
        (theme.ok, theme.bg),
        (theme.ok, theme.card),
        (theme.accent_ink, theme.accent),
        (theme.watch_ink, theme.watch_fill),
        (theme.stops_ink, theme.stops_fill),
    ]
    lines = [(theme.line, theme.bg), (theme.line, theme.card), (theme.accent, theme.card)]
    least_text, least_line = (15, 15) if name == "sunlight" else (7, 3)
    for pair in text:
        assert contrast(*pair) >= least_text, pair
    for pair in lines:
        assert contrast(*pair) >= least_line, pair


@pytest.mark.parametrize("slot", list(BADGES))
def test_a_badge_code_is_read_on_its_fill(slot):
    # WCAG 2.2, 1.4.3: 4.5:1; the code is bold and at least 20 px.
    assert contrast(BADGES[slot].code, BADGES[slot].fill) >= 4.5


def seen_by(kind, colour):
    rgb = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    if kind is None:
        return np.array(rgb)
    space = {"name": "sRGB1+CVD", "cvd_type": kind, "severity": 100}
    return np.clip(cspace_convert(rgb, space, "sRGB1"), 0, 1)


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("kind", [None, "protanomaly", "deuteranomaly", "tritanomaly"])
def test_no_two_badge_fills_look_alike_to_the_colour_blind(kind):
    # Machado, Oliveira & Fernandes 2009 by way of colorspacious; CAM02-UCS difference.
    for one, other in combinations(BADGES.values(), 2):
        a, b = seen_by(kind, one.fill), seen_by(kind, other.fill)
        assert deltaE(a, b, input_space="sRGB1") >= 20, (one.fill, other.fill)


def test_every_badge_has_a_shape_of_its_own():
    box = QRectF(0, 0, 60, 60)
    outlines = [badge_path(slot, box).toFillPolygon().toPolygon().toList() for slot in BADGES]
    for one, other in combinations(outlines, 2):
        assert one != other


@pytest.mark.parametrize("name", ["quellhaven", "saldrey", "lunehaven"])
def test_the_codes_and_badges_of_one_event_all_differ(name):
    bundle = load_event(Path(str(shipped("demo_events").joinpath(name))))
    tyres = bundle.stock.tyres
    codes = {f"{t.use}/{t.compound}": t.code for t in tyres}
    assert len(set(codes.values())) == len(codes)
    slots = badge_slots(tyres)
    assert len(set(slots.values())) == len(slots)
    assert all(1 <= len(t.code) <= 2 for t in tyres)


def test_a_badge_without_colour_still_says_its_code(app, qtbot):
    made = Badge("dry1", "H+", "hard", THEMES["light"])
    qtbot.addWidget(made)
    assert made.accessibleName() == "hard H+"
    assert made.sizeHint().height() >= 52


@pytest.mark.parametrize("name", list(THEMES))
def test_the_code_stays_inside_its_shape(app, name):
    """No pixel of the code lies outside the badge's outline."""
    for slot in BADGES:
        image = QImage(120, 80, QImage.Format.Format_RGB32)
        bare = QImage(120, 80, QImage.Format.Format_RGB32)
        for picture, code in ((image, "W8"), (bare, "")):
            picture.fill(0x808080)
            painter = QPainter(picture)
            draw_badge(painter, slot, code, THEMES[name], QPointF(10, 10), 52)
            painter.end()
        width = 52 * (1.5 if slot == "dry3" else 1.25 if slot == "dry1" else 1.12)
        outline = badge_path(slot, QRectF(12, 12, width - 4, 48))
        outside = [
            (x, y)
            for x in range(120)
            for y in range(80)
            if image.pixel(x, y) != bare.pixel(x, y) and not outline.contains(QPointF(x, y))
        ]
        assert len(outside) <= 8, (slot, len(outside))


def test_every_sign_used_is_in_the_letters(app):
    metrics = QFontMetrics(QApplication.font())
    assert not [sign for sign in SIGNS if not metrics.inFontUcs4(ord(sign))]


@pytest.mark.parametrize("name", list(THEMES))
def test_the_style_sheet_knows_every_token(name):
    text = sheet_text(THEMES[name], Sizes())
    assert "@" not in text
    assert palette(THEMES[name]).window().color().name().upper() == THEMES[name].bg


class Painted(QWidget):
    """A widget with a Python paint event."""

    def paintEvent(self, _event):  # noqa: N802  # Qt's own name
        painter = QPainter(self)
        draw_badge(painter, "dry1", "D1", THEMES["light"], QPointF(0, 0), 52)
        painter.end()


def test_repainting_loses_no_reference_to_none(app, qtbot):
    # A release of the binding lost one with each call and ended the program after thousands.
    painted = Painted()
    qtbot.addWidget(painted)
    painted.show()
    before = sys.getrefcount(None)
    for _ in range(300):
        painted.repaint()
    assert before - sys.getrefcount(None) <= 50


@pytest.mark.parametrize("name", list(THEMES))
@pytest.mark.parametrize("kind", ["primary", "part", ""])
def test_a_filled_button_under_the_cursor_shows_it_in_every_view(app, qtbot, name, kind):
    theme = THEMES[name]
    ground = QWidget()
    qtbot.addWidget(ground)
    ground.setStyleSheet(sheet_text(theme, Sizes()))
    made = button("On the list", "filled", kind=kind, checkable=kind != "primary")
    other = button("Other", "other")
    ground.setLayout(row(made, other))
    made.setChecked(kind != "primary")
    ground.show()
    ground.activateWindow()
    qtbot.waitUntil(lambda: QApplication.activeWindow() is ground)

    def between() -> str:
        """Return the colour between the edge and the fill: 2 px of ring, then 3 px."""
        edge = made.geometry()
        return ground.grab().toImage().pixelColor(edge.center().x(), edge.top() + 3).name()

    other.setFocus()
    assert contrast(between(), theme.accent) == pytest.approx(1.0, abs=0.05)
    made.setFocus()
    assert contrast(between(), theme.accent) >= 3.0


@pytest.mark.parametrize("name", list(THEMES))
def test_the_open_box_is_told_from_the_others_in_every_view(app, qtbot, name):
    ground = QWidget()
    qtbot.addWidget(ground)
    ground.setStyleSheet(sheet_text(THEMES[name], Sizes()))
    boxes = [button("", f"box_{at}", kind="box") for at in range(2)]
    for at, one in enumerate(boxes):
        one.setProperty("thick", True)
        one.setProperty("active", at == 0)
    ground.setLayout(row(*boxes))
    ground.show()
    picture = ground.grab().toImage()
    opened, other = (picture.pixelColor(one.geometry().center()).name() for one in boxes)
    assert contrast(opened, other) >= 3.0
