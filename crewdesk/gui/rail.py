"""The rail: the steps of the day, done, now and to come, without a scroll bar."""

from PySide6.QtCore import QEvent, QSize, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from crewdesk.gui.parts import button
from crewdesk.gui.timing import Step

_SIGNS = {"done": "✓", "now": "▶", "to come": "○"}


class Rail(QWidget):
    """Steps of the day as buttons; earlier and later step through a long day."""

    step_chosen = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("rail")
        self._steps: tuple[Step, ...] = ()
        self._shown = ""
        self._first = 0
        self._follow = True
        self._earlier = button(
            self.tr("▲ earlier"), "rail_earlier", self._go_earlier, kind="step"
        )
        self._later = button(self.tr("▼ later"), "rail_later", self._go_later, kind="step")
        self._rows = [button("", f"rail_{i}", kind="step", checkable=True) for i in range(16)]
        line = QVBoxLayout(self)
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(6)
        line.addWidget(self._earlier)
        for index, each in enumerate(self._rows):
            each.clicked.connect(lambda _=False, i=index: self._choose(i))
            each.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            each.hide()
            line.addWidget(each)
        line.addStretch(1)
        line.addWidget(self._later)

    def show_steps(self, steps: tuple[Step, ...], shown: str) -> None:
        """Show the steps of the day; ``shown`` is the key of the one in the middle."""
        if steps != self._steps or shown != self._shown:
            self._follow = True
        self._steps, self._shown = steps, shown
        self._lay()

    def minimumSizeHint(self) -> QSize:
        """Ask for a few steps only: how many are shown follows from the height there is."""
        least = super().minimumSizeHint()
        return QSize(least.width(), min(least.height(), 5 * self._earlier.sizeHint().height()))

    def _room(self) -> int:
        each = max(self._earlier.sizeHint().height(), 56) + 6
        return max(3, min(len(self._rows), (self.height() + 6) // each - 2))

    def _lay(self) -> None:
        room = self._room()
        if self._follow:
            now = next(
                (i for i, s in enumerate(self._steps) if s.key == self._shown),
                next((i for i, s in enumerate(self._steps) if s.mark == "now"), 0),
            )
            self._first = now - 2
        self._first = max(0, min(self._first, len(self._steps) - room))
        for index, each in enumerate(self._rows):
            at = self._first + index
            if index >= room or at >= len(self._steps):
                each.hide()
                continue
            step = self._steps[at]
            each.setText(f"{_SIGNS[step.mark]} {step.label}")
            each.setAccessibleName(f"{step.label}, {step.mark}, {step.sub}".rstrip(", "))
            each.setToolTip(step.sub)
            each.setChecked(step.key == self._shown)
            each.show()
        for way in (self._earlier, self._later):
            # They keep their room: else the steps would jump under the finger.
            way.setVisible(len(self._steps) > room)
        self._earlier.setEnabled(self._first > 0)
        self._later.setEnabled(self._first + room < len(self._steps))

    def _choose(self, index: int) -> None:
        self._rows[index].setChecked(False)
        self.step_chosen.emit(self._steps[self._first + index].key)
        self._lay()

    def _go_earlier(self) -> None:
        self._move(-(self._room() - 1))

    def _go_later(self) -> None:
        self._move(self._room() - 1)

    def _move(self, by: int) -> None:
        self._follow = False
        self._first += by
        self._lay()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._lay()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() in (QEvent.Type.StyleChange, QEvent.Type.FontChange) and self._steps:
            self._lay()
