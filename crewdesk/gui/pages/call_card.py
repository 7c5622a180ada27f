"""One card of the call: what, minutes, cost, wheels, risk, and the button that takes it."""

from PySide6.QtCore import QRect, Qt, Signal
from PySide6.QtGui import QFontMetrics, QResizeEvent
from PySide6.QtWidgets import QFrame, QSizePolicy

from crewdesk.gui.call_text import CardText
from crewdesk.gui.parts import button, column, label, set_kind
from crewdesk.gui.texts import signed_s


class CallCard(QFrame):
    """A full, short or other call."""

    taken = Signal()

    def __init__(self, name: str) -> None:
        super().__init__()
        self.setObjectName(name)
        self.setProperty("kind", "card")
        self.text: CardText | None = None
        self.head = label("", f"{name}_head", "strong", wrap=True)
        self.what = label("", f"{name}_what", "headline", wrap=True)
        self.wheels = label("", f"{name}_wheels", "strong", wrap=True)
        self.carried = label("", f"{name}_carried", "", wrap=True)
        self.risk = label("", f"{name}_risk", "", wrap=True)
        self.use = button(self.tr("Use this call"), f"{name}_use", self.taken.emit)
        self.use.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        inside = column(
            self.head, self.what, self.wheels, self.carried, self.risk, 1, self.use, spacing=3
        )
        inside.setContentsMargins(8, 6, 8, 8)
        self.setLayout(inside)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit_headline()

    def _fit_headline(self) -> None:
        """Take the smaller letters where the large ones need more than two lines."""
        set_kind(self.what, "headline")
        self.what.ensurePolished()
        room = QRect(0, 0, max(60, self.what.width()), 2000)
        metrics = QFontMetrics(self.what.font())
        used = metrics.boundingRect(room, Qt.TextFlag.TextWordWrap, self.what.text())
        if used.height() > 2 * metrics.height() + 2:
            set_kind(self.what, "value")

    def show_card(self, text: CardText | None, *, held: str, strong: bool) -> None:
        """Show a call; ``held`` is a word like ``in use`` or ``NEW``."""
        self.text = text
        kind = "cardused" if strong else "card"
        if self.property("kind") != kind:
            self.setProperty("kind", kind)
            self.style().unpolish(self)
            self.style().polish(self)
        self.setVisible(text is not None)
        if text is None:
            return
        names = {
            "full": self.tr("FULL CALL"),
            "short": self.tr("Short call"),
            "used": self.tr("YOUR CALL"),
            "choice": self.tr("Choice"),
        }
        parts = [f"{text.number} {names[text.kind]}"]
        if text.minutes is not None:
            parts.append(self.tr("{0}\u00a0min").format(f"{text.minutes:.0f}"))
        elif text.wheels_changed:
            parts.append(self.tr("{0} wheels").format(text.wheels_changed))
        if text.loss_s:
            # A figure is not torn from its unit.
            parts.append(signed_s(text.loss_s).replace(" ", "\u00a0"))
        if held:
            parts.append(held)
        self.head.setText(" · ".join(parts))
        self.what.setText(text.headline)
        self._fit_headline()
        self.wheels.setText(text.wheels or self.tr("no wheel is changed"))
        rest = self.tr("rest stays, ") if text.kind == "short" and text.wheels_changed else ""
        self.carried.setText(
            self.tr("{0}carry {1}").format(rest, text.carried)
            if text.carried
            else self.tr("{0}carry nothing").format(rest)
        )
        self.risk.setText(
            ""
            if text.risk is None
            else self.tr("{0} in 100 under the minimum").format(text.risk)
        )
        self.use.setAccessibleName(
            self.tr("Use call {0}, {1}").format(text.number, text.headline.lower())
        )
