"""The keys of the window, one table; help and shortcuts are made from it."""

from dataclasses import dataclass
from typing import Final, cast

from PySide6.QtCore import QT_TRANSLATE_NOOP


@dataclass(frozen=True)
class Key:
    """One key and what it does."""

    keys: str
    """As Qt names them; empty for keys that are handled where they are typed."""
    shown: str
    does: str
    action: str
    """Name of the window's action."""


def _t(text: str) -> str:
    return cast("str", QT_TRANSLATE_NOOP("Keys", text))


KEYS: Final[tuple[Key, ...]] = (
    Key("F1", "F1", _t("Help, all keys"), "page:help"),
    Key("F2", "F2", _t("Before IN: conditions"), "page:conditions"),
    Key("F3", "F3", _t("Before IN: call"), "page:call"),
    Key("F4", "F4", _t("Full call or short call"), "short"),
    Key("F5", "F5", _t("Car in"), "page:car_in"),
    Key("F6", "F6", _t("Fit"), "page:fit"),
    Key("F7", "F7", _t("Out, read back"), "page:out"),
    Key("F8", "F8", _t("Left behind"), "page:left_behind"),
    Key("F9", "F9", _t("Wear"), "page:wear"),
    Key("F10", "F10", _t("Stock"), "page:stock"),
    Key("F11", "F11", _t("Full screen"), "full_screen"),
    Key("F12", "F12", _t("All steps"), "page:steps"),
    Key("Shift+F1", "Shift+F1", _t("Cautions, where they belong"), "page:cautions"),
    Key("Shift+F2", "Shift+F2", _t("Rules in force, sets of rules"), "page:rules"),
    Key("Shift+F3", "Shift+F3", _t("Bulletin or change; what ran under what"), "page:change"),
    Key("Shift+F4", "Shift+F4", _t("People and minutes at the place"), "page:minutes"),
    Key(
        "Shift+F5", "Shift+F5", _t("Tyre check: marks expected, marks noted"), "page:mark_check"
    ),
    Key("Shift+F6", "Shift+F6", _t("Wheels plan: rims, van, boot"), "page:wheels_plan"),
    Key("Shift+F7", "Shift+F7", _t("Damage card"), "page:damage"),
    Key("Shift+F8", "Shift+F8", _t("Add a tyre, damage replacement (joker)"), "page:add_tyre"),
    Key("Shift+F9", "Shift+F9", _t("List of tyres handed in"), "page:nomination"),
    Key("Shift+F12", "Shift+F12", _t("What the rules say now"), "page:rules_say"),
    Key("Ctrl+L", "Ctrl+L", _t("View: light, sunlight, dark"), "view"),
    Key("Ctrl+S", "Ctrl+S", _t("Save a copy of the day book"), "save_copy"),
    Key("Ctrl+Z", "Ctrl+Z", _t("Undo"), "undo"),
    Key("Ctrl+Y", "Ctrl+Y", _t("Redo"), "redo"),
    Key("Ctrl+I", "Ctrl+I", _t("Incident"), "page:incident"),
    Key("Ctrl+T", "Ctrl+T", _t("Open questions"), "page:questions"),
    Key("Ctrl+F", "Ctrl+F", _t("Find a wheel, type or scan"), "page:find"),
    Key("Ctrl+P", "Ctrl+P", _t("Print the sheet and the car card"), "print"),
    Key("Ctrl+R", "Ctrl+R", _t("What was learnt from the readings"), "page:learnt"),
    Key(
        "Ctrl+G", "Ctrl+G", _t("When the call changes: road, rain, price, tread"), "page:flips"
    ),
    Key("Ctrl+B", "Ctrl+B", _t("Before the event: does the set suit"), "page:before_event"),
    Key("Ctrl+E", "Ctrl+E", _t("Simulated days: what the call is worth"), "page:backtest"),
    Key("Ctrl+K", "Ctrl+K", _t("Keep the unlikely depth that is asked about"), "keep"),
    Key("Ctrl+O", "Ctrl+O", _t("Open another event"), "open"),
    Key(
        "Ctrl+Return",
        "Ctrl+Enter",
        _t("The button at the bottom right, from anywhere"),
        "primary",
    ),
    Key("Ctrl+Enter", "", "", "primary"),
    Key("Esc", "Esc", _t("Back; loses nothing"), "back"),
    Key("Ctrl+1", "Ctrl+1 … 6", _t("The wheels FL FR RL RR, carried 1, 2"), "slot:FL"),
    Key("Ctrl+2", "", "", "slot:FR"),
    Key("Ctrl+3", "", "", "slot:RL"),
    Key("Ctrl+4", "", "", "slot:RR"),
    Key("Ctrl+5", "", "", "slot:SP1"),
    Key("Ctrl+6", "", "", "slot:SP2"),
)

TYPED: Final[tuple[tuple[str, str], ...]] = (
    (
        "Enter",
        _t("Button at the bottom right; closes an open box; in a table the row's action"),
    ),
    ("Tab, arrows", _t("Next control; boxes")),
    ("1–4, 1–5", _t("Choices of the call, look of a tyre")),
    ("*", _t("In a tread box: ten and more (* 1 5 is 11.5)")),
    ("/", _t("In a box: not known yet")),
    ("S", _t("In a box: same as the last reading")),
    ("K", _t("In a box: keep the unlikely depth that is asked about; ⌫ types it again")),
    ("-", _t("In a box: minus, for a temperature or the driver")),
    ("Ctrl+V", _t("In a new event's table: paste rows")),
    ("Ctrl+D, ↓", _t("In a new event's table: copy a cell down; one more row at its end")),
    (". ,", _t("In a box: keeps it open, for a gauge that types")),
)
