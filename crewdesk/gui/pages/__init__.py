"""The pages in the middle of the window, one file a page."""

from typing import Final

from crewdesk.gui.page import Page
from crewdesk.gui.pages.book import BookPage
from crewdesk.gui.pages.by_hand import ByHandPage
from crewdesk.gui.pages.call import CallPage
from crewdesk.gui.pages.car_in import CarInPage
from crewdesk.gui.pages.change import ChangePage
from crewdesk.gui.pages.conditions import ConditionsPage
from crewdesk.gui.pages.find import FindPage
from crewdesk.gui.pages.fit import FitPage
from crewdesk.gui.pages.handover import HandoverPage
from crewdesk.gui.pages.help import HelpPage
from crewdesk.gui.pages.incident import IncidentPage
from crewdesk.gui.pages.left_behind import LeftBehindPage
from crewdesk.gui.pages.load import LoadPage
from crewdesk.gui.pages.loop import LoopPage
from crewdesk.gui.pages.more import AddTyrePage, MarkCheckPage, MovedPage
from crewdesk.gui.pages.out import OutPage
from crewdesk.gui.pages.override import OverridePage
from crewdesk.gui.pages.questions import QuestionsPage
from crewdesk.gui.pages.settings import SettingsPage
from crewdesk.gui.pages.stages import StagesPage
from crewdesk.gui.pages.steps import StepsPage
from crewdesk.gui.pages.stock import StockPage
from crewdesk.gui.pages.visit import VisitPage
from crewdesk.gui.pages.wear import WearPage

PAGE_CLASSES: Final[tuple[type[Page], ...]] = (
    LoadPage,
    StagesPage,
    ConditionsPage,
    CallPage,
    CarInPage,
    FitPage,
    OutPage,
    LeftBehindPage,
    LoopPage,
    IncidentPage,
    QuestionsPage,
    MovedPage,
    ChangePage,
    OverridePage,
    FindPage,
    AddTyrePage,
    MarkCheckPage,
    VisitPage,
    StockPage,
    WearPage,
    BookPage,
    HandoverPage,
    SettingsPage,
    StepsPage,
    ByHandPage,
    HelpPage,
)
"""In the order of the day."""
