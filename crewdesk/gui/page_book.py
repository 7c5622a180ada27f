"""The pages by key: each is made when it is first wanted, so that the window starts quickly."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Final

from PySide6.QtWidgets import QStackedWidget

if TYPE_CHECKING:
    from crewdesk.gui.page import Page
    from crewdesk.gui.session import Session

FIRST: Final = "load"
"""The page of the start; it alone needs none of the others' modules."""


class PageBook:
    """Pages of one window."""

    def __init__(
        self, session: "Session", stack: QStackedWidget, made: "Callable[[Page], None]"
    ) -> None:
        self._session, self._stack, self._made = session, stack, made
        self._pages: dict[str, Page] = {}
        self._classes: dict[str, type[Page]] = {}

    def __contains__(self, key: str) -> bool:
        return key == FIRST or key in self._known()

    def __getitem__(self, key: str) -> "Page":
        if key not in self._pages:
            page = self._class_of(key)(self._session)
            self._pages[key] = page
            self._stack.addWidget(page)
            self._made(page)
        return self._pages[key]

    def values(self) -> "tuple[Page, ...]":
        """Return the pages that are made."""
        return tuple(self._pages.values())

    def prepare(self) -> None:
        """Read the modules of all pages now, while nobody waits for one of them."""
        self._known()

    def _class_of(self, key: str) -> "type[Page]":
        if key == FIRST:
            from crewdesk.gui.pages.load import LoadPage

            return LoadPage
        return self._known()[key]

    def _known(self) -> "dict[str, type[Page]]":
        if not self._classes:
            from crewdesk.gui.pages import PAGE_CLASSES

            self._classes = {page.key: page for page in PAGE_CLASSES}
        return self._classes
