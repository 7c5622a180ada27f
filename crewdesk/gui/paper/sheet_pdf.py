"""The sheet for the mechanics on one A4 page, the co-driver's card to cut off at its foot."""

from datetime import datetime, tzinfo
from pathlib import Path
from typing import Final

from PySide6.QtPrintSupport import QPrinter

from crewdesk.desk.sheet import CardLine, Sheet
from crewdesk.desk.wheels_plan import VanList
from crewdesk.gui.paper.page import (
    HEAD_MM,
    LEFT_MM,
    RIGHT_MM,
    Page,
    a4,
    have_letters,
    page_on,
    write_pdf,
)
from crewdesk.units import PLACES, Place

_CUT_MM: Final = 232.0
_WIDE_MM: Final = RIGHT_MM - LEFT_MM
_AFTER_TABLE_MM: Final = 2.0
_LINE_MM: Final = 5.2
_LABEL_MM: Final = 33.0
_ROW_MOST_MM: Final = 9.0
_ROW_LEAST_MM: Final = 5.0
_PICK: Final[tuple[tuple[str, float], ...]] = (
    ("wheel", 33.0),
    ("compound", 31.0),
    ("from", 42.0),
    ("to", 17.0),
    ("machine", 19.0),
    ("cold now", 22.0),
    ("who", 22.0),
)
_FIT: Final[tuple[tuple[str, float], ...]] = (
    ("", 22.0),
    ("off", 46.0),
    ("", 10.0),
    ("on", 46.0),
    ("torque", 18.0),
    ("name", 44.0),
)
_PRESSURE: Final[tuple[tuple[str, float], ...]] = (
    ("", 30.0),
    ("cold now", 28.0),
    ("set at", 24.0),
    ("hot at the stop line", 40.0),
    ("do not go below", 34.0),
    ("", 30.0),
)
_CAUTION: Final = (
    "Stands before a wheel is off; hot tyres and brakes. Nuts to the car maker's torque, "
    "checked again before leaving. Valve caps on, direction and side right. Cold and hot are "
    "different numbers: never bleed a hot tyre to the cold figure. The call is advice, "
    "the crew decides."
)
_CARD_CAUTION: Final = (
    "Never bleed a hot tyre to the cold figure. After a change on the road the nuts again at "
    "the next stop."
)


def write_sheet_pdf(sheet: Sheet, path: Path) -> None:
    """Write the sheet to a file.

    Raises
    ------
    OSError
        If the file cannot be written.
    """
    title = f"Sheet {sheet.number} {sheet.title}"
    write_pdf(path, title, lambda page: draw_sheet(page, sheet))


def print_sheet(sheet: Sheet, printer: QPrinter) -> None:
    """Print the sheet.

    Raises
    ------
    OSError
        If the printer takes nothing.
    """
    have_letters()
    printer.setDocName(f"Sheet {sheet.number} {sheet.title}")
    a4(printer)
    with page_on(printer, printer.resolution() / 25.4) as page:
        draw_sheet(page, sheet)


def draw_sheet(page: Page, sheet: Sheet) -> None:
    """Draw the page from the top: torque first, pick, fit, pressure, short call, card."""
    top = _heading(page, sheet)
    rows = len(sheet.torque_first) + max(1, len(sheet.pick)) + max(1, len(sheet.fit))
    rows += len(sheet.pressures)
    # What is left for rows once the headings and the words under the tables have their room.
    words_mm = 3.0 * (HEAD_MM + _AFTER_TABLE_MM) + 4.5 + _caution_mm(page)
    words_mm += 9.0 if sheet.torque_first else 0.0
    for _, words in _labels(sheet):
        words_mm += _LINE_MM * len(page.lines(words, 11.0, _WIDE_MM - _LABEL_MM))
    words_mm += _LINE_MM if sheet.notes else 0.0
    row_mm = (_CUT_MM - top - words_mm) / rows
    row_mm = min(_ROW_MOST_MM, max(_ROW_LEAST_MM, row_mm))
    size = min(13.0, row_mm * 1.75)
    top = _torque(page, sheet, top, row_mm, size)
    top = _pick(page, sheet, top, row_mm, size)
    top = _fit(page, sheet, top, row_mm, size)
    top = _pressures(page, sheet, top, row_mm, size)
    _words(page, sheet, top)
    _card(page, sheet)


def _heading(page: Page, sheet: Sheet) -> float:
    number = f"SHEET {sheet.number}"
    wide = page.width(number, 20.0, bold=True) + 6.0
    page.block(LEFT_MM, 12.0, wide, 11.0)
    page.white(LEFT_MM + 3.0, 20.2, number, 20.0)
    left = LEFT_MM + wide + 4.0
    left += page.text(left, 20.2, sheet.title, 20.0, bold=True) + 4.0
    if sheet.replaces is not None:
        page.text(left, 20.2, f"replaces {sheet.replaces}", 13.0)
    due = f"in {sheet.in_local:%H:%M} · out {sheet.out_local:%H:%M}"
    times = f"{due} · made {sheet.made_local:%H:%M}"
    page.text(RIGHT_MM, 29.5, times, 13.0, align="right")
    room = _WIDE_MM - page.width(times, 13.0) - 4.0
    page.text(LEFT_MM, 29.5, sheet.headline, 15.0, bold=True, room=room)
    return 33.0


def _caution_mm(page: Page) -> float:
    return 3.4 * len(page.lines(_CAUTION, 8.0, _WIDE_MM)) + 2.0


def _torque(page: Page, sheet: Sheet, top: float, row_mm: float, size: float) -> float:
    if not sheet.torque_first:
        return top
    high = 6.5 + row_mm * len(sheet.torque_first)
    page.box(LEFT_MM, top, _WIDE_MM, high, 0.9)
    page.text(LEFT_MM + 3.0, top + 5.2, "TORQUE FIRST", 12.0, bold=True)
    rows = [(line.corner, line.wheel, line.why, "[ ]", "____") for line in sheet.torque_first]
    columns = (14.0, 38.0, 70.0, 12.0, 46.0)
    base = top + 5.0
    for row in rows:
        base += row_mm
        left = LEFT_MM + 3.0
        for cell, wide in zip(row, columns, strict=True):
            if cell == "[ ]":
                page.box(left, base - 3.6, 4.2, 4.2)
            elif cell == "____":
                page.rule(left, base + 0.4, left + wide)
            else:
                page.text(left, base, cell, size, bold=left < LEFT_MM + 20.0, room=wide - 1.0)
            left += wide
    return top + high + 2.5


def _pick(page: Page, sheet: Sheet, top: float, row_mm: float, size: float) -> float:
    if not sheet.pick:
        return _nothing(page, top, "PICK", "nothing to fetch, every wheel stays")
    rows = [
        (
            line.wheel,
            f"{line.code} {line.compound}".strip(),
            line.stack,
            _name(line.to),
            f"{line.machine_min:.0f} min",
            line.cold_now,
            "____",
        )
        for line in sheet.pick
    ]
    end = page.table(LEFT_MM, top, _PICK, rows, size, row_mm, bold=(0, 3, 5), title="PICK")
    return end + _AFTER_TABLE_MM


def _fit(page: Page, sheet: Sheet, top: float, row_mm: float, size: float) -> float:
    if not sheet.fit:
        return _nothing(page, top, "FIT", "nothing to change")
    rows = [
        (
            _name(line.place),
            line.off,
            "→",
            line.on,
            "[ ]" if line.torque else "",
            "____" if line.torque else "",
        )
        for line in sheet.fit
    ]
    end = page.table(LEFT_MM, top, _FIT, rows, size, row_mm, bold=(0, 3), title="FIT")
    return end + _AFTER_TABLE_MM


def _nothing(page: Page, top: float, title: str, words: str) -> float:
    page.text(LEFT_MM, top + 4.6, title, 11.5, bold=True)
    page.text(LEFT_MM + 33.0, top + 4.6, words, 12.0)
    return top + HEAD_MM + _AFTER_TABLE_MM


def _name(place: Place) -> str:
    return {"SP1": "carry 1", "SP2": "carry 2"}.get(place, place)


def _pressures(page: Page, sheet: Sheet, top: float, row_mm: float, size: float) -> float:
    rows = [
        (
            line.axle,
            line.cold_now,
            f"{line.set_at_c:.0f} °C" if line.set_at_c is not None else "–",
            line.hot,
            line.not_below,
            "cold is the floor" if line.floor_binds else "",
        )
        for line in sheet.pressures
    ]
    end = page.table(LEFT_MM, top, _PRESSURE, rows, size, row_mm, bold=(0, 1), title="PRESSURE")
    return end + _AFTER_TABLE_MM


def _words(page: Page, sheet: Sheet, top: float) -> None:
    """Write the short call, what goes to the zone, notes as far as there is room, cautions."""
    base = top + 4.5
    caution = page.lines(_CAUTION, 8.0, _WIDE_MM)
    last = _CUT_MM - _caution_mm(page) - 2.0
    for name, words in _labels(sheet):
        lines = page.lines(words, 11.0, _WIDE_MM - _LABEL_MM)
        # What the day needs first stands first; the window's plan has the rest.
        if base + (len(lines) - 1) * _LINE_MM <= last:
            base = _labelled(page, base, name, words)
    for note in sheet.notes:
        lines = page.lines(f"note: {note}", 9.0, _WIDE_MM)
        if base + (len(lines) - 1) * 3.8 > _CUT_MM - _caution_mm(page) - 2.0:
            break
        for line in lines:
            page.text(LEFT_MM, base, line, 9.0, room=_WIDE_MM)
            base += 3.8
    base = _CUT_MM - 1.5 - 3.4 * (len(caution) - 1)
    for line in caution:
        page.text(LEFT_MM, base, line, 8.0, room=_WIDE_MM)
        base += 3.4


def _labels(sheet: Sheet) -> list[tuple[str, str]]:
    """Return the labelled lines under the tables, what matters most first."""
    found = []
    if sheet.bring:
        found.append(("TO THE ZONE", ", ".join(sheet.bring)))
    if sheet.short_call:
        found.append(("SHORT CALL", sheet.short_call))
    if sheet.van is not None:
        found.append(("VAN", _van_words(sheet.van, sheet.zone)))
    near = [m for m in sheet.mounts if m.place == sheet.place] or list(sheet.mounts[:4])
    if near:
        parts = [
            f"{m.tyre_id} on {m.rim_id} for {m.place} by {_clock(m.by_utc, sheet.zone)}"
            for m in near
        ]
        found.append(("MOUNT", ", ".join(parts)))
    if sheet.boot_tools:
        found.append(("BOOT", ", ".join(sheet.boot_tools)))
    return found


def _clock(at: datetime, zone: tzinfo) -> str:
    return f"{at.astimezone(zone):%H:%M}"


def _van_words(van: VanList, zone: tzinfo) -> str:
    wheels = ", ".join(f"{rim}·{tyre}" for tyre, rim in van.wheels) or "no wheels"
    if van.reserve:
        wheels += f" ({', '.join(van.reserve)} in reserve)"
    people = "" if van.people_max is None else f" · {van.people_max} people at most"
    tools = ", ".join(van.tools)
    leaves = _clock(van.leaves_utc, zone)
    return f"leaves {leaves} for zone {van.place} with {wheels}{people} · {tools}"


def _labelled(page: Page, base: float, label: str, words: str) -> float:
    page.text(LEFT_MM, base, label, 11.0, bold=True)
    for line in page.lines(words, 11.0, _WIDE_MM - _LABEL_MM):
        page.text(LEFT_MM + _LABEL_MM, base, line, 11.0, room=_WIDE_MM - _LABEL_MM)
        base += _LINE_MM
    return base


def _card(page: Page, sheet: Sheet) -> None:
    page.dashes(LEFT_MM, _CUT_MM, RIGHT_MM)
    page.text(RIGHT_MM, _CUT_MM + 2.8, "cut here", 7.0, align="right")
    title = f"CAR CARD · {sheet.title} · out {sheet.out_local:%H:%M} · sheet {sheet.number}"
    page.text(LEFT_MM, _CUT_MM + 7.0, title, 13.0, bold=True, room=_WIDE_MM)
    wide, high = _WIDE_MM / 3.0, 16.0
    by_place = {line.place: line for line in sheet.card}
    for number, place in enumerate(PLACES):
        column = number % 2 if number < 4 else 2
        row = number // 2 if number < 4 else number - 4
        left = LEFT_MM + column * wide
        top = _CUT_MM + 10.0 + row * high
        page.box(left, top, wide, high)
        _card_slot(page, by_place.get(place), place, left, top, wide)
    base = _CUT_MM + 10.0 + 2.0 * high + 5.5
    limits = " · ".join(part for part in (sheet.card_hot, sheet.card_not_below) if part)
    page.text(LEFT_MM, base, limits, 12.0, bold=True, room=_WIDE_MM)
    page.text(LEFT_MM, base + 4.6, _CARD_CAUTION, 8.0, room=_WIDE_MM)


def _card_slot(
    page: Page, line: CardLine | None, place: Place, left: float, top: float, wide: float
) -> None:
    name = {"SP1": "1", "SP2": "2"}.get(place, place)
    page.text(left + 2.5, top + 6.4, name, 14.0, bold=True)
    if line is None:
        page.text(left + 14.0, top + 6.4, "none carried" if place in PLACES[4:] else "–", 12.0)
        return
    page.text(left + 14.0, top + 6.4, line.wheel, 14.0, bold=True, room=wide - 16.0)
    words = f"{line.code} {line.compound}".strip()
    page.text(left + 14.0, top + 12.8, words, 11.0, room=wide - 42.0)
    if line.cold_now:
        cold = f"cold {line.cold_now}"
        page.text(left + wide - 2.0, top + 12.8, cold, 11.0, bold=True, align="right")
