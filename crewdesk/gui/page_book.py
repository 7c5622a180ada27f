"""The pages by key: each is made when it is first wanted, so that the window starts quickly."""

from collections.abc import Callable
from importlib import import_module
from importlib.util import find_spec
from typing import TYPE_CHECKING, Final

from PySide6.QtWidgets import QStackedWidget

if TYPE_CHECKING:
    from crewdesk.gui.page import Page
    from crewdesk.gui.session import Session

TOGETHER: Final = {"add_tyre": "more", "moved": "more"}
"""Pages that do not stand alone in the module of their name."""


class PageBook:
    """Pages of one window."""

    def __init__(
        self, session: "Session", stack: QStackedWidget, made: "Callable[[Page], None]"
    ) -> None:
        self._session, self._stack, self._made = session, stack, made
        self._pages: dict[str, Page] = {}
        self._classes: dict[str, type[Page]] = {}

    def __contains__(self, key: str) -> bool:
        return self._class_of(key) is not None

    def __getitem__(self, key: str) -> "Page":
        if key not in self._pages:
            found = self._class_of(key)
            if found is None:
                raise KeyError(key)
            page = found(self._session)
            self._pages[key] = page
            self._stack.addWidget(page)
            self._made(page)
        return self._pages[key]

    def values(self) -> "tuple[Page, ...]":
        """Return the pages that are made."""
        return tuple(self._pages.values())

    def _class_of(self, key: str) -> "type[Page] | None":
        """Return a page's class, reading no more than its own module; None: no such page."""
        if key not in self._classes:
            name = f"{__package__}.pages.{TOGETHER.get(key, key)}"
            if not key.isidentifier() or find_spec(name) is None:
                return None
            for one in vars(import_module(name)).values():
                if getattr(one, "__module__", "") == name and getattr(one, "key", "") == key:
                    self._classes[key] = one
        return self._classes.get(key)
