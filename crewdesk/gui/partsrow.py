"""The five parts of a change place as a row of buttons over its pages."""

from functools import partial
from typing import Final

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QWidget

from crewdesk.gui.parts import button

PARTS: Final = ("before_in", "car_in", "fit", "out", "left_behind")
_KEYS: Final = {
    "before_in": "F3",
    "car_in": "F5",
    "fit": "F6",
    "out": "F7",
    "left_behind": "F8",
}
_PAGES: Final = {"before_in": "call"}
_SIGNS: Final = {"done": "✓", "now": "▶", "to come": "○"}


class PartsRow(QWidget):
    """Where the place stands, and the way to each of its parts."""

    page_wanted = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("parts")
        line = QHBoxLayout(self)
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(6)
        self.conditions = button(
            self.tr("Conditions\nF2"),
            "part_conditions",
            partial(self.page_wanted.emit, "conditions"),
            kind="part",
            checkable=True,
        )
        line.addWidget(self.conditions)
        self.buttons = {
            part: button(
                "",
                f"part_{part}",
                partial(self.page_wanted.emit, _PAGES.get(part, part)),
                kind="part",
                checkable=True,
            )
            for part in PARTS
        }
        for made in self.buttons.values():
            line.addWidget(made)

    def show_step(self, step: str, page: str, part: str) -> None:
        """Show which part is done, now and to come, and which one is on screen."""
        words = {
            "before_in": self.tr("Before IN"),
            "car_in": self.tr("Car in"),
            "fit": self.tr("Fit"),
            "out": self.tr("Out"),
            "left_behind": self.tr("Left behind"),
        }
        now = PARTS.index(step) if step in PARTS else 0
        for index, own in enumerate(PARTS):
            mark = "done" if index < now else "now" if index == now else "to come"
            made = self.buttons[own]
            made.setText(f"{_SIGNS[mark]} {words[own]}\n{_KEYS[own]}")
            made.setAccessibleName(f"{words[own]}, {mark}")
            made.setChecked(own == part and page != "conditions")
        self.conditions.setChecked(page == "conditions")
