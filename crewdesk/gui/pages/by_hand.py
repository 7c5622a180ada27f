"""A new event typed or pasted in by hand, beginning from an example."""

import json
import re
from pathlib import Path
from typing import Final
from uuid import uuid4

import platformdirs
from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLineEdit, QPlainTextEdit

from crewdesk.assets import shipped
from crewdesk.documents.faults import SHOWN
from crewdesk.gui.page import Page
from crewdesk.gui.parts import Choice, column, label, row
from crewdesk.gui.session import Session

FILES: Final = ("event.json", "itinerary.csv", "stock.csv", "weather.csv")
EXAMPLE: Final = "quellhaven"


class ByHandPage(Page):
    """Four files as text: paste a spreadsheet saved as CSV, or write over the example."""

    key = "by_hand"
    made = Signal(object)
    """Folder of the new event."""

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._texts: dict[str, str] = {}
        self._file = FILES[1]
        self.name = QLineEdit()
        self.name.setObjectName("by_hand_name")
        self.name.setAccessibleName(self.tr("Name of the event"))
        self.name.setPlaceholderText(self.tr("name of the event"))
        self.files = Choice(
            "by_hand_file",
            [
                (self.tr("Event and car"), FILES[0]),
                (self.tr("Itinerary"), FILES[1]),
                (self.tr("Stock"), FILES[2]),
                (self.tr("Weather"), FILES[3]),
            ],
            self._show_file,
            kind="part",
        )
        self.text = QPlainTextEdit()
        self.text.setObjectName("by_hand_text")
        self.text.setAccessibleName(self.tr("Text of the file"))
        self.text.setTabChangesFocus(True)
        self.text.setLineWrapMode(QPlainTextEdit.LineWrapMode.NoWrap)
        self.said = label("", "by_hand_said", wrap=True)
        head = row(label(self.tr("New event"), "by_hand_title", "title"), self.name, spacing=14)
        head.setStretch(1, 1)
        self.setLayout(column(head, self.files, self.text, self.said))

    def heading(self) -> str:
        return self.tr("New event")

    def primary_text(self) -> str:
        return self.tr("Check and open")

    def entered(self) -> None:
        if not self._texts:
            folder = shipped("demo_events").joinpath(EXAMPLE)
            self._texts = {n: folder.joinpath(n).read_text(encoding="utf-8") for n in FILES}
            self._texts[FILES[0]] = _renamed(self._texts[FILES[0]], "")
            self.said.setText(
                self.tr(
                    "An invented example stands in each file: put your own rows in its place. "
                    "Cells may stay empty; what is not given is assumed and named."
                )
            )
            self.files.set_value(self._file)
            self.text.setPlainText(self._texts[self._file])
        self.name.setFocus()

    def _show_file(self, name: object) -> None:
        self._texts[self._file] = self.text.toPlainText()
        self._file = str(name)
        self.text.setPlainText(self._texts[self._file])

    def primary(self) -> None:
        from crewdesk.documents.store import check_texts

        self._texts[self._file] = self.text.toPlainText()
        name = self.name.text().strip()
        if not name:
            self.session.notice("note", self.tr("Give the event a name first."))
            self.name.setFocus()
            return
        texts = dict(self._texts)
        try:
            texts[FILES[0]] = _renamed(texts[FILES[0]], name)
        except ValueError:
            self.said.setText(self.tr("event.json is not JSON. Look for a missing comma."))
            return
        report = check_texts(texts)
        if report.faults:
            lines = [str(fault) for fault in report.faults[:SHOWN]]
            more = len(report.faults) - len(lines)
            if more > 0:
                lines.append(self.tr("and {0} more").format(more))
            self.said.setText("\n".join(lines))
            return
        self._write(name, texts)

    def _write(self, name: str, texts: dict[str, str]) -> None:
        root = self.session.data_dir or platformdirs.user_documents_path() / "crewdesk"
        folder = Path(root) / "events" / (re.sub(r"[^\w-]+", "_", name).strip("_") or "event")
        try:
            folder.mkdir(parents=True)
            for file, text in texts.items():
                folder.joinpath(file).write_text(text, encoding="utf-8")
        except FileExistsError:
            self.said.setText(
                self.tr("There is an event in {0} already. Take another name.").format(folder)
            )
            return
        except OSError as error:
            self.said.setText(self.tr("The event could not be written: {0}").format(error))
            return
        self.made.emit(folder)


def _renamed(text: str, name: str) -> str:
    """Return an event file with a name and a number of its own."""
    event = json.loads(text)
    if not isinstance(event, dict):
        raise ValueError("not an event")  # noqa: TRY004  # said like broken JSON
    event["name"] = name
    event["event_id"] = str(uuid4())
    return json.dumps(event, ensure_ascii=False, indent=2)
