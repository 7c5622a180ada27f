"""Why the crew fits something else than the call: five buttons, words, a name; all optional."""

from PySide6.QtWidgets import QLineEdit, QWidget

from crewdesk.gui.parts import Choice, row


class OwnReason(QWidget):
    """One line under an own fitting."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("own_reason")
        self.reason = Choice(
            "own_reason_kind",
            [
                (self.tr("Driver"), "driver"),
                (self.tr("Damage"), "damage"),
                (self.tr("Parts"), "parts"),
                (self.tr("Time"), "time"),
                (self.tr("Other"), "other"),
            ],
            lambda _value: None,
            kind="part",
        )
        self.words, self.name = QLineEdit(), QLineEdit()
        for field, key, text in (
            (self.words, "words", self.tr("reason in words")),
            (self.name, "name", self.tr("name")),
        ):
            field.setObjectName(f"own_reason_{key}")
            field.setAccessibleName(text)
            field.setPlaceholderText(text)
            field.setMinimumWidth(90)
        line = row(self.reason, self.words, self.name, spacing=6)
        line.setStretch(1, 2)
        line.setStretch(2, 1)
        self.setLayout(line)

    def fields(self) -> dict[str, str]:
        """Return the fields of the entry: with a name an override, without one a note."""
        kind, words = str(self.reason.value or ""), self.words.text().strip()
        said = ": ".join(part for part in (kind, words) if part)
        who = self.name.text().strip()
        if said and who:
            return {"override_name": who, "override_reason": said}
        return {"note": said} if said else {}

    def forget(self) -> None:
        """Begin anew; the name stays."""
        self.reason.set_value(None)
        self.words.clear()
