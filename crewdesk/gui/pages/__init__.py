"""The pages in the middle of the window, one file a page; ``listed`` names them all.

The list is only read once the window has drawn itself: its modules need everything else.
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from crewdesk.gui.page import Page

    PAGE_CLASSES: tuple[type[Page], ...]
    """In the order of the day."""


def __getattr__(name: str) -> object:
    if name == "PAGE_CLASSES":
        from crewdesk.gui.pages import listed

        return listed.PAGE_CLASSES
    raise AttributeError(name)
