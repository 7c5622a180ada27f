"""The set of rules behind an event: take another one, or keep what is in force as our own."""

from functools import partial
from pathlib import Path

from PySide6.QtWidgets import QGridLayout, QPushButton, QWidget

from crewdesk.errors import CrewdeskError
from crewdesk.gui.parts import button, clear, column, label, row, text_field
from crewdesk.gui.session import Session

IN_A_ROW = 4


class SetStrip(QWidget):
    """The four sets that ship and the crew's own, and a name for a copy."""

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.setObjectName("rules_sets")
        self._session = session
        self._chosen = ""
        self._buttons = QGridLayout()
        self._buttons.setSpacing(6)
        self.words = label(
            self.tr(
                "Choose the set to begin with. With a name it is copied, with the lines "
                "changed for us in it, and kept for other events; the copy's sources stay "
                "empty until typed. The bulletins of this event stay in force."
            ),
            "rules_set_words",
            "muted",
            wrap=True,
        )
        self.name = text_field(
            "rules_set_name", self.tr("Name of our own set"), self.tr("name for a copy")
        )
        self.by = text_field("rules_set_by", self.tr("Entered by"), self.tr("name"))
        line = row(self.name, self.by)
        line.setStretch(0, 2)
        line.setStretch(1, 1)
        self.setLayout(column(self._buttons, line, self.words, spacing=6))

    def primary_text(self) -> str:
        """Return what the primary does while the strip is open."""
        return self.tr("Use this set")

    def _folder(self) -> Path:
        from crewdesk.desk.day import user_data_dir

        return Path(self._session.data_dir or user_data_dir())

    def refresh(self) -> None:
        """Show the sets."""
        from crewdesk.desk.regulation_edit import own_sets
        from crewdesk.documents.regulation_sets import set_names

        names = [*set_names(), *(one.name for one in own_sets(self._folder()))]
        here = self._session.bundle.regulation_set.name
        self._chosen = here
        clear(self._buttons)
        if here not in names:
            names.insert(0, here)
        for at, name in enumerate(names):
            made = button(name, f"rules_set_{at}", partial(self._take, name), checkable=True)
            made.setChecked(name == here)
            self._buttons.addWidget(made, at // IN_A_ROW, at % IN_A_ROW)

    def _take(self, name: str) -> None:
        self._chosen = name
        for at in range(self._buttons.count()):
            item = self._buttons.itemAt(at)
            widget = item.widget() if item is not None else None
            if isinstance(widget, QPushButton):
                widget.setChecked(widget.text() == name)

    def take(self) -> bool:
        """Put the event under the chosen set, copied where a name stands; say if it was."""
        from crewdesk.desk.regulation_edit import find_set, own_copy, save_set, set_entry

        session = self._session
        bundle, folder = session.bundle, self._folder()
        name = self.name.text().strip()
        if not name and self._chosen == bundle.regulation_set.name:
            session.notice("note", self.tr("That set is in force. Type a name to copy it."))
            return False
        try:
            same = self._chosen == bundle.regulation_set.name
            base = bundle.regulation_set if same else find_set(self._chosen, folder)
            if name:
                base = own_copy(bundle, base, name)
                save_set(base, folder)
            body = set_entry(bundle, base, by=self.by.text().strip())
        except CrewdeskError as error:
            session.notice("stops", f"{error.message} {error.hint}".strip())
            return False
        receipt = session.enter(body, self.tr("set of rules: {0}").format(base.name))
        if receipt is None or not receipt.accepted:
            return False
        self.name.clear()
        return True
