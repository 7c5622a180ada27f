"""The window is closed: what stands in a box is in the book first, or the crew gives it up."""

from typing import TYPE_CHECKING

from crewdesk.gui.boxes import shown

if TYPE_CHECKING:
    from crewdesk.gui.page import Page
    from crewdesk.gui.window import MainWindow


class Closing:
    """What has to be so before the window may close."""

    def __init__(self, window: "MainWindow") -> None:
        self._window = window
        self._given_up = False

    def may_close(self) -> bool:
        """Say whether nothing would be lost; else show what would be."""
        window = self._window
        # A box that closed half a second ago is not in the book yet.
        window.page.left()
        if self._given_up or self.write():
            return True
        self._show()
        return False

    def serve(self, page: "Page") -> None:
        """Do what the page that names the values is asked for."""
        page.write_wanted.connect(self._write_or_show)  # type: ignore[attr-defined]
        page.loss_wanted.connect(self.give_up)  # type: ignore[attr-defined]

    def _show(self) -> None:
        window = self._window
        window.pages["unwritten"].show_values(self.values())  # type: ignore[attr-defined]
        window.go("unwritten")

    def _write_or_show(self) -> None:
        """Write what the book could not take; where it has it now, go back."""
        if self.write():
            self._window.back()
        else:
            self._show()

    def write(self) -> bool:
        """Try once more to write what the book could not take; say whether it has it all."""
        for page in self._window.pages.values():
            while page.host is not None and page.host.holds_unwritten:
                waiting = len(unwritten(page))
                page.host.write_again()
                if len(unwritten(page)) >= waiting:
                    break
        return not self.values()

    def values(self) -> tuple[str, ...]:
        """Return the values that no book has, each with what it is."""
        return tuple(line for page in self._window.pages.values() for line in unwritten(page))

    def give_up(self) -> None:
        """Close without them."""
        self._given_up = True
        self._window.close()


def unwritten(page: "Page") -> list[str]:
    """Return the values of a page's boxes that the book could not take."""
    if page.host is None:
        return []
    walk = page.host.walk
    return [
        f"{walk.spec(key).label}  {shown(walk.spec(key).kind, box)}"
        for key, box in walk.boxes.items()
        if box.unwritten
    ]
