"""What the rules say now: of the event as loaded, the list, the call, and before closing."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from PySide6.QtWidgets import QWidget

from crewdesk.gui.page import Page
from crewdesk.gui.parts import card, clear, column, label, lines_in
from crewdesk.gui.session import Session

if TYPE_CHECKING:
    from crewdesk.regulations.rulebook import Message

LEVELS: Final = {"stops": "■ stops: ", "watch": "⚠ watch: ", "note": "note: "}
KINDS: Final = {"stops": "stops", "watch": "watch", "note": ""}


class RulesSayPage(Page):
    """Every message in one place, with its code; nothing is hidden behind the last one."""

    key = "rules_say"
    wide = True

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._lines, area = lines_in("say_lines")
        self.setLayout(
            column(
                label(self.tr("What the rules say now"), "say_title", "title"),
                area,
            )
        )

    def heading(self) -> str:
        return self.tr("What the rules say")

    def primary_text(self) -> str:
        return self.tr("Rules")

    def primary(self) -> None:
        self.go.emit("rules")

    def refresh(self) -> None:
        clear(self._lines)
        if not self.session.is_open:
            return
        from crewdesk.desk.check_event import import_messages
        from crewdesk.desk.closing import closing_messages
        from crewdesk.desk.nomination import nomination

        session = self.session
        bundle, state = session.bundle, session.state
        answer, place = session.answer, session.place
        here = answer is not None and place is not None and answer.place == place.key
        self._part("event", self.tr("The event as it is entered"), import_messages(bundle))
        listed = nomination(bundle, state, session.now()).messages
        self._part("list", self.tr("The list of tyres"), listed)
        if here and answer is not None:
            self._part("call", self.tr("The call"), answer.messages)
        if state.fitted is not None:
            closing = closing_messages(bundle, state)
            self._part("close", self.tr("Still open before the event is closed"), closing)
        self._overrides()
        self._lines.addStretch(1)

    def _part(self, name: str, title: str, messages: "Sequence[Message]") -> None:
        lines: list[QWidget] = [label(title, f"say_{name}", "strong")]
        order = ("stops", "watch", "note")
        for at, said in enumerate(sorted(messages, key=lambda m: order.index(m.level))):
            words = f"{LEVELS[said.level]}{said.text} ({said.code})"
            lines.append(label(words, f"say_{name}_{at}", KINDS[said.level], wrap=True))
        if not any(message.level == "stops" for message in messages):
            words = self.tr("No breach found of the rules that were entered.")
            lines.append(label(words, f"say_{name}_none", "muted", wrap=True))
        self._lines.addWidget(card(f"say_card_{name}", *lines))

    def _overrides(self) -> None:
        """Show what a named person took on."""
        from crewdesk.desk.closing import overrides_made

        made = overrides_made(self.session.state)
        if not made:
            return
        lines: list[QWidget] = [label(self.tr("Taken on by name"), "say_own", "strong")]
        for at, one in enumerate(made):
            code = one.code or self.tr("all that stopped the fitting")
            words = self.tr("{0}: {1}, {2} {3}").format(code, one.name, one.reason, one.place)
            lines.append(label(words.strip(), f"say_own_{at}", wrap=True))
        self._lines.addWidget(card("say_card_own", *lines))
