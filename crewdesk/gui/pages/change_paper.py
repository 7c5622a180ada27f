"""Where a change is printed, from when it holds and who entered it: one strip of fields."""

from dataclasses import dataclass
from datetime import datetime

from PySide6.QtWidgets import QGridLayout, QLineEdit, QWidget

from crewdesk.gui.parts import label, text_field
from crewdesk.gui.session import Session
from crewdesk.gui.when import typed_time


@dataclass(frozen=True)
class PaperTyped:
    """What was typed."""

    source: str
    article: str
    bulletin_no: str
    valid_from: datetime | None
    by: str


class Paper(QWidget):
    """Bulletin number, paper, article, valid from, name; the name stays for the next one."""

    def __init__(self, name: str, session: Session) -> None:
        super().__init__()
        self.setObjectName(f"{name}_paper")
        self._session = session
        self.fields: dict[str, QLineEdit] = {}
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setSpacing(6)
        self._parts: list[tuple[QWidget, QLineEdit]] = []
        for key, words, hint in (
            ("bulletin", self.tr("Bulletin"), self.tr("number")),
            ("source", self.tr("Printed in"), self.tr("paper")),
            ("article", self.tr("Article"), ""),
            ("valid", self.tr("Valid from"), self.tr("now, or hh:mm")),
            ("by", self.tr("Entered by"), self.tr("name")),
        ):
            field = text_field(f"{name}_{key}", words, hint)
            self.fields[key] = field
            self._parts.append((label(words, f"{name}_{key}_label", "strong"), field))
        self.set_stacked(stacked=False)

    def set_stacked(self, *, stacked: bool) -> None:
        """Stand in one line, on a narrow screen in two columns."""
        for words, field in self._parts:
            self._grid.removeWidget(words)
            self._grid.removeWidget(field)
        per_line = 2 if stacked else 3
        for at, (words, field) in enumerate(self._parts):
            self._grid.addWidget(words, at // per_line, 2 * (at % per_line))
            self._grid.addWidget(field, at // per_line, 2 * (at % per_line) + 1)

    def read(self) -> PaperTyped | None:
        """Return what was typed, or None after saying what cannot be read."""
        session = self._session
        texts = {key: field.text().strip() for key, field in self.fields.items()}
        try:
            valid = typed_time(texts["valid"], session.now(), session.zone)
        except ValueError:
            session.notice(
                "note",
                self.tr(
                    "“{0}” is no time: type hh:mm, or a day before it as Sun 06:30."
                ).format(texts["valid"]),
            )
            self.fields["valid"].setFocus()
            return None
        return PaperTyped(
            texts["source"], texts["article"], texts["bulletin"], valid, texts["by"]
        )

    def forget(self) -> None:
        """Begin anew."""
        for key, field in self.fields.items():
            if key != "by":
                field.clear()
