"""What the window is made of, and where each part stands in it."""

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QHBoxLayout, QStackedWidget, QVBoxLayout

from crewdesk.gui.bottombar import BottomBar
from crewdesk.gui.keypad import Keypad
from crewdesk.gui.page_book import PageBook
from crewdesk.gui.panels import PageStack, Room
from crewdesk.gui.partsrow import PartsRow
from crewdesk.gui.rail import Rail
from crewdesk.gui.slots import SlotsPanel
from crewdesk.gui.topbar import TopBar

if TYPE_CHECKING:
    from crewdesk.gui.window import MainWindow


def make_parts(window: "MainWindow") -> None:
    """Make what is always on screen, and the book of pages."""
    window.top = TopBar(window.session)
    window.rail = Rail()
    window.bottom = BottomBar(window.session)
    window.slots = SlotsPanel()
    window.pad = Keypad()
    window.right = QStackedWidget()
    window.right.setObjectName("right")
    window.right.addWidget(window.slots)
    window.right.addWidget(window.pad)
    window.stack = PageStack()
    window.stack.setObjectName("centre")
    window.pages = PageBook(window.session, window.stack, window.take_page)
    window.parts = PartsRow()


def arrange_parts(window: "MainWindow") -> None:
    """Put everything in its place."""
    centre = QVBoxLayout()
    centre.setContentsMargins(0, 0, 0, 0)
    centre.setSpacing(6)
    centre.addWidget(window.parts)
    window.rooms = (Room("centre_room", window.stack), Room("right_room", window.right))
    centre.addWidget(window.rooms[0], 1)
    window.middle = QHBoxLayout()
    window.middle.setContentsMargins(10, 6, 10, 6)
    window.middle.setSpacing(10)
    window.middle.addWidget(window.rail)
    window.middle.addLayout(centre, 1)
    window.middle.addWidget(window.rooms[1])
    whole = QVBoxLayout(window)
    whole.setContentsMargins(0, 0, 0, 0)
    whole.setSpacing(0)
    whole.addWidget(window.top)
    whole.addLayout(window.middle, 1)
    whole.addWidget(window.bottom)
