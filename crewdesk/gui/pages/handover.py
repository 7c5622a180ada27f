"""Handover: the log for the next event, tyre by tyre, what was learnt, what is still open."""

from crewdesk.gui.page import Page
from crewdesk.gui.parts import button, card, clear, column, label, lines_in, row
from crewdesk.gui.session import Session
from crewdesk.journal.entries import EventClosed

SHOWN = 60
"""Lines of one block that the page shows; the file has them all."""


class HandoverPage(Page):
    """Write the handover; close the event when all is in."""

    key = "handover"
    wide = True

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._written = ""
        self._sure = False
        self.title = label(self.tr("Handover"), "handover_title", "title")
        self._lines, area = lines_in("handover_lines")
        self.close_event = button(self.tr("Close the event"), "handover_close", self._close)
        self.keep = button(self.tr("Keep it open"), "handover_keep", self._keep)
        self.keep.hide()
        self.again = button(
            self.tr("Write handover"),
            "handover_again",
            lambda: self.go.emit("write_handover"),
        )
        self.again.hide()
        self.setLayout(
            column(
                self.title,
                area,
                row(1, self.again, self.keep, self.close_event, spacing=14),
            )
        )

    def heading(self) -> str:
        return self.tr("Handover")

    def primary_text(self) -> str:
        return self.tr("New event") if self._over() else self.tr("Write handover")

    def primary(self) -> None:
        self.go.emit("new_event" if self._over() else "write_handover")

    def _over(self) -> bool:
        """Say whether nothing of this event is left to do."""
        return bool(self._written) and self.session.is_open and self.session.state.closed

    def written(self, where: str) -> None:
        """Show where the handover lies."""
        self._written = where
        self.refresh()

    def refresh(self) -> None:
        clear(self._lines)
        if not self.session.is_open:
            return
        state = self.session.state
        if self._written:
            self._lines.addWidget(
                label(
                    self.tr("✓ Written to {0}").format(self._written),
                    "handover_written",
                    "ok",
                    wrap=True,
                )
            )
        from crewdesk.gui.exports import handover_lines

        for at, (head, lines) in enumerate(handover_lines(self.session)):
            items = [label(head, f"handover_head_{at}", "strong")]
            items += [
                label(text, f"handover_{at}_{i}", wrap=True)
                for i, text in enumerate(lines[:SHOWN])
            ]
            if len(lines) > SHOWN:
                more = self.tr("and {0} more in the file").format(len(lines) - SHOWN)
                items.append(label(more, f"handover_{at}_more", "muted"))
            self._lines.addWidget(card(f"handover_card_{at}", *items))
        self._lines.addStretch(1)
        self.close_event.setVisible(not state.closed)
        self.close_event.setText(
            self.tr("Yes, close it") if self._sure else self.tr("Close the event")
        )
        self.keep.setVisible(self._sure and not state.closed)
        self.again.setVisible(self._over())
        self.primary_changed.emit()

    def _close(self) -> None:
        if not self._sure:
            self._sure = True
            self.refresh()
            self.keep.setFocus()
            return
        self._sure = False
        self.session.enter(EventClosed(), self.tr("event closed"))

    def _keep(self) -> None:
        self._sure = False
        self.refresh()
