"""A METAR out of the clipboard: first it is shown as understood, then entered."""

from datetime import timedelta
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QObject, Slot
from PySide6.QtGui import QGuiApplication

from crewdesk.errors import CrewdeskError
from crewdesk.gui.parts import button
from crewdesk.gui.session import Session
from crewdesk.gui.texts import degrees
from crewdesk.journal.entries import Report

if TYPE_CHECKING:
    from crewdesk.conditions.metar_report import AerodromeReport

OLDEST: Final = timedelta(hours=3)
"""An older report is no reading of the air now. Tuning value of this project."""


class MetarPaste(QObject):
    """One button: the first press reads, the second enters."""

    def __init__(self, session: Session, parent: QObject) -> None:
        super().__init__(parent)
        self.session = session
        self.place = ""
        """Where the report is entered for."""
        self._read: AerodromeReport | None = None
        self.button = button(
            self.tr("METAR"), "metar_paste", self._press, spoken=self.tr("Paste a METAR")
        )

    def forget(self) -> None:
        """Drop what was read and not entered."""
        self._read = None
        self.button.setText(self.tr("METAR"))

    @Slot()
    def _press(self) -> None:
        if not self.session.is_open:
            return
        if self._read is None:
            self._look(QGuiApplication.clipboard().text())
        else:
            self._enter(self._read)

    def _look(self, text: str) -> None:
        from crewdesk.conditions.metar_report import read_metar

        now = self.session.now()
        try:
            told = read_metar(text, now)
        except CrewdeskError as error:
            self.session.notice("watch", f"{error.message} {error.hint}".strip())
            return
        if abs(now - told.at_utc) > OLDEST:
            self.session.notice(
                "watch", self.tr("{0}: too old for the air now.").format(told.words)
            )
            return
        if told.air_c is None:
            self.session.notice("watch", self.tr("{0}: no air in it.").format(told.words))
            return
        self._read = told
        self.button.setText(self.tr("Enter {0}").format(degrees(told.air_c)))
        self.session.notice(
            "note",
            self.tr(
                "Understood: {0}. An aerodrome is not the stage. Press again to enter."
            ).format(told.words),
        )

    def _enter(self, told: "AerodromeReport") -> None:
        self.forget()
        cloud = None if told.cloud_share is None else round(100.0 * told.cloud_share)
        body = Report.model_validate(
            {
                "place": self.place,
                "air_c": told.air_c,
                "cloud_pct": cloud,
                "caller": f"METAR {told.station}",
                "at": min(told.at_utc, self.session.now()),
            }
        )
        said = self.tr("{0} air {1} by METAR").format(self.place, degrees(told.air_c or 0.0))
        self.session.enter(body, said)
