"""An unlikely value is in the book, and asked about: one key keeps it or types it anew."""

from collections.abc import Callable

from PySide6.QtWidgets import QSizePolicy, QWidget

from crewdesk.gui.boxes import BoxWalk, shown
from crewdesk.gui.parts import button, column, label, row


class AskedLine(QWidget):
    """The question, and its two answers."""

    def __init__(self, keep: Callable[[], object], retype: Callable[[], object]) -> None:
        super().__init__()
        self.setObjectName("asked")
        self.words = label("", "asked_words", "watch", wrap=True)
        self.keep = button(self.tr("Keep it  K"), "asked_keep", keep)
        self.retype = button(self.tr("Retype  ⌫"), "asked_retype", retype)
        for made in (self.keep, self.retype):
            made.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setLayout(column(self.words, row(self.keep, self.retype, spacing=6), spacing=4))
        self.hide()

    def show_for(self, walk: BoxWalk | None) -> None:
        """Show the question of a walk, where it has one."""
        key = walk.asked if walk is not None else None
        self.setVisible(key is not None)
        if walk is None or key is None:
            return
        spec, box = walk.spec(key), walk.boxes[key]
        what, _, unit = spec.label.rpartition(", ")
        value = shown(spec.kind, box)
        self.words.setText(f"⚠ {what}: {value} {unit}? {box.doubt}")
        self.keep.setAccessibleName(self.tr("Keep {0}, K").format(value))
        self.retype.setAccessibleName(self.tr("Type it again"))
