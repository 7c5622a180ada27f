"""The first thing drawn: the window's grounds and bars, before there is a control in it."""

from PySide6.QtGui import QColor, QPalette, QResizeEvent
from PySide6.QtWidgets import QWidget

from crewdesk.gui.theme import Sizes, Theme

TOP_PX, BOTTOM_PX, RAIL_PX, STEP_PX = 74, 78, 180, 56
"""Where the bars and the steps will stand, at the usual touch size."""
EDGE_PX, BETWEEN_PX, MOST_STEPS = 10, 6, 16


class Face(QWidget):
    """Covers the window while what belongs into it is made, a part at a time.

    It draws no letters: those alone would take longer than all the rest of the first drawing.
    So would a painter of its own; grounds are drawn without one.
    """

    def __init__(self, window: QWidget, theme: Theme, sizes: Sizes, rail_from_px: int) -> None:
        super().__init__(window)
        self._sizes, self._line_px, self._rail_from_px = sizes, theme.line_px, rail_from_px
        # The ground is the window's own: covered wholly, it would not be asked to draw itself.
        line, card, accent = (
            _ground(colour) for colour in (theme.line, theme.card, theme.accent)
        )
        self._lines = (_block(self, line), _block(self, line))
        self._steps = [(_block(self, line), _block(self, card)) for _ in range(MOST_STEPS)]
        self._primary = _block(self, accent)
        self.resize(window.size())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        width, height, line = self.width(), self.height(), self._line_px
        top, bottom, rail, step = (
            self._sizes.target(px) for px in (TOP_PX, BOTTOM_PX, RAIL_PX, STEP_PX)
        )
        self._lines[0].setGeometry(0, top, width, line)
        self._lines[1].setGeometry(0, height - bottom, width, line)
        for index, (edge, ground) in enumerate(self._steps):
            y = top + EDGE_PX + index * (step + BETWEEN_PX)
            fits = width >= self._rail_from_px and y + step + EDGE_PX <= height - bottom
            edge.setVisible(fits)
            ground.setVisible(fits)
            edge.setGeometry(EDGE_PX, y, rail, step)
            ground.setGeometry(EDGE_PX + line, y + line, rail - 2 * line, step - 2 * line)
        self._primary.setGeometry(
            width - rail - 2 * EDGE_PX,
            height - bottom + EDGE_PX,
            rail + EDGE_PX,
            bottom - 2 * EDGE_PX,
        )


def _ground(colour: str) -> QPalette:
    made = QPalette()
    made.setColor(QPalette.ColorRole.Window, QColor(colour))
    return made


def _block(parent: QWidget, ground: QPalette) -> QWidget:
    """Return a part of one colour."""
    made = QWidget(parent)
    made.setPalette(ground)
    made.setAutoFillBackground(True)
    return made
