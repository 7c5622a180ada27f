"""Every page of the window, in the order of the day; a new page is listed here."""

from typing import Final

from crewdesk.gui.page import Page
from crewdesk.gui.pages.backtest import BacktestPage
from crewdesk.gui.pages.before_event import BeforeEventPage
from crewdesk.gui.pages.book import BookPage
from crewdesk.gui.pages.call import CallPage
from crewdesk.gui.pages.car_in import CarInPage
from crewdesk.gui.pages.cautions import CautionsPage
from crewdesk.gui.pages.change import ChangePage
from crewdesk.gui.pages.close_leg import CloseLegPage
from crewdesk.gui.pages.conditions import ConditionsPage
from crewdesk.gui.pages.damage import DamagePage
from crewdesk.gui.pages.find import FindPage
from crewdesk.gui.pages.fit import FitPage
from crewdesk.gui.pages.flips import FlipsPage
from crewdesk.gui.pages.handover import HandoverPage
from crewdesk.gui.pages.help import HelpPage
from crewdesk.gui.pages.incident import IncidentPage
from crewdesk.gui.pages.learnt import LearntPage
from crewdesk.gui.pages.left_behind import LeftBehindPage
from crewdesk.gui.pages.load import LoadPage
from crewdesk.gui.pages.loop import LoopPage
from crewdesk.gui.pages.mark_check import MarkCheckPage
from crewdesk.gui.pages.minutes import MinutesPage
from crewdesk.gui.pages.more import AddTyrePage, MovedPage
from crewdesk.gui.pages.new_event import NewEventPage
from crewdesk.gui.pages.nomination import NominationPage
from crewdesk.gui.pages.out import OutPage
from crewdesk.gui.pages.override import OverridePage
from crewdesk.gui.pages.questions import QuestionsPage
from crewdesk.gui.pages.rules import RulesPage
from crewdesk.gui.pages.rules_say import RulesSayPage
from crewdesk.gui.pages.settings import SettingsPage
from crewdesk.gui.pages.stages import StagesPage
from crewdesk.gui.pages.steps import StepsPage
from crewdesk.gui.pages.stock import StockPage
from crewdesk.gui.pages.unwritten import UnwrittenPage
from crewdesk.gui.pages.visit import VisitPage
from crewdesk.gui.pages.wear import WearPage
from crewdesk.gui.pages.wheels_plan import WheelsPlanPage

PAGE_CLASSES: Final[tuple[type[Page], ...]] = (
    LoadPage,
    BeforeEventPage,
    StagesPage,
    ConditionsPage,
    CallPage,
    FlipsPage,
    CarInPage,
    FitPage,
    OutPage,
    LeftBehindPage,
    LoopPage,
    CloseLegPage,
    MinutesPage,
    WheelsPlanPage,
    IncidentPage,
    DamagePage,
    QuestionsPage,
    MovedPage,
    ChangePage,
    RulesPage,
    RulesSayPage,
    OverridePage,
    FindPage,
    AddTyrePage,
    MarkCheckPage,
    NominationPage,
    VisitPage,
    StockPage,
    WearPage,
    LearntPage,
    BookPage,
    HandoverPage,
    BacktestPage,
    SettingsPage,
    StepsPage,
    CautionsPage,
    NewEventPage,
    HelpPage,
    UnwrittenPage,
)
"""In the order of the day."""
