"""The rules in force as a table model: one row a line, each with where it came from."""

from datetime import datetime
from typing import TYPE_CHECKING, Any, Final, cast
from zoneinfo import ZoneInfo

from PySide6.QtCore import (
    QT_TRANSLATE_NOOP,
    QCoreApplication,
    QModelIndex,
    QPersistentModelIndex,
    Qt,
)

from crewdesk.gui.tables import HeadedModel

if TYPE_CHECKING:
    from crewdesk.desk.regulation_edit import RuleLine

_Index = QModelIndex | QPersistentModelIndex


def _t(text: str) -> str:
    return cast("str", QT_TRANSLATE_NOOP("RulesTable", text))


def _tr(text: str) -> str:
    return QCoreApplication.translate("RulesTable", text)


COLUMNS: Final[tuple[tuple[str, int], ...]] = (
    (_t("Line"), 380),
    (_t("In force"), 170),
    (_t("Bulletin"), 90),
    (_t("Article"), 80),
    (_t("Valid from"), 120),
    (_t("Entered by"), 130),
    (_t("Source"), 100),
)
OWN: Final = range(2, 6)
"""Columns of what was changed for us; where nothing was, the source has their room."""


class RulesTable(HeadedModel):
    """Rows of one group of lines."""

    def __init__(self) -> None:
        super().__init__()
        self._lines: tuple[RuleLine, ...] = ()
        self._cells: tuple[tuple[str, ...], ...] = ()

    def show_lines(self, lines: "tuple[RuleLine, ...]", zone: ZoneInfo) -> None:
        """Take the lines to show."""
        self.beginResetModel()
        self._lines = lines
        self._cells = tuple(_cells(line, zone) for line in lines)
        self.endResetModel()

    def line(self, row: int) -> "RuleLine | None":
        """Return the line of a row."""
        return self._lines[row] if 0 <= row < len(self._lines) else None

    def row_of(self, name: str) -> int:
        """Return the row of a line, -1 where it is not shown."""
        names = [line.name for line in self._lines]
        return names.index(name) if name in names else -1

    def rowCount(self, parent: _Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(self._cells)

    def columnCount(self, parent: _Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(COLUMNS)

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not index.isValid():
            return None
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole):
            return self._cells[index.row()][index.column()]
        return None

    def heading(self, section: int) -> str:
        return _tr(COLUMNS[section][0])


def _cells(line: "RuleLine", zone: ZoneInfo) -> tuple[str, ...]:
    return (
        line.words,
        line.shown,
        line.bulletin_no or "–",
        line.article or "–",
        since_words(line.valid_from, zone),
        line.entered_by or "–",
        source_words(line),
    )


def source_words(line: "RuleLine") -> str:
    """Return where a value came from; of a line of the set only where such values stand."""
    if line.own:
        return line.source or _tr("no source entered")
    return _tr("as the set: {0}").format(line.source) if line.source else _tr("no source yet")


def since_words(valid_from: str, zone: ZoneInfo) -> str:
    """Return from when a value holds, in local time."""
    if not valid_from:
        return "–"
    try:
        at = datetime.fromisoformat(valid_from)
    except ValueError:
        return valid_from
    return f"{at.astimezone(zone):%a %H:%M}"
