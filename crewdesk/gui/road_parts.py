"""Which part of a stage a state of the road is meant for, and what was told of each."""

from collections.abc import Callable, Sequence
from typing import Final, cast

from PySide6.QtCore import QCoreApplication
from PySide6.QtWidgets import QHBoxLayout, QWidget

from crewdesk.gui.parts import Choice
from crewdesk.journal.entries import Report

PartShare = tuple[str, float | None]
WHOLE: Final[PartShare] = ("", None)
FIRST: Final[PartShare] = ("start", 0.5)
SECOND: Final[PartShare] = ("end", 0.5)
IN_PLACES: Final = 0.10, 0.25, 0.50
"""Shares of the length that one tap can name (tuning values of this project)."""


def _tr(text: str) -> str:
    return QCoreApplication.translate("RoadParts", text)


def part_words(part: str, share: float | None) -> str:
    """Return a part of a stage in words."""
    if (part, share) == FIRST:
        return _tr("first half")
    if (part, share) == SECOND:
        return _tr("second half")
    words = {
        "": _tr("whole"),
        "start": _tr("near the start"),
        "middle": _tr("in spots"),
        "end": _tr("near the end"),
        "top": _tr("high up"),
    }[part]
    return words if share is None or not part else f"{words} ({share * 100:.0f} %)"


def newest_parts(reports: Sequence[Report]) -> dict[str, Report]:
    """Return the newest report of each part; one of the whole road overrules those before."""
    told: dict[str, Report] = {}
    for report in reports:
        if report.surface is None:
            continue
        if not report.part:
            told.clear()
        told[report.part] = report
    return told


def said_of_parts(reports: Sequence[Report]) -> str:
    """Return what holds for each part of one stage, blank where no part was told of."""
    told = newest_parts(reports)
    whole = told.pop("", None)
    if not told:
        return ""
    said = [f"{part_words(r.part, r.share)} {r.surface}" for r in told.values()]
    if whole is not None:
        said.append(_tr("the rest {0}").format(whole.surface))
    return ", ".join(said)


class PartChoice(QWidget):
    """One row: whole, either half, or a share of it here and there."""

    def __init__(self, chosen: Callable[[], object]) -> None:
        super().__init__()
        self.setObjectName("stage_part")
        options: list[tuple[str, object]] = [
            (_tr("Whole"), WHOLE),
            (_tr("1st\nhalf"), FIRST),
            (_tr("2nd\nhalf"), SECOND),
        ]
        options += [
            (_tr("{0} %\nspots").format(f"{share * 100:.0f}"), ("middle", share))
            for share in IN_PLACES
        ]
        self.choice = Choice("part_of", options, lambda _: chosen())
        for (made, _), share in zip(self.choice.buttons[3:], IN_PLACES, strict=True):
            made.setAccessibleName(_tr("In spots, {0} %").format(f"{share * 100:.0f}"))
        line = QHBoxLayout(self)
        line.setContentsMargins(0, 0, 0, 0)
        line.addWidget(self.choice)
        self.set_value(WHOLE)

    def set_value(self, value: PartShare) -> None:
        """Show which part is meant."""
        self.choice.set_value(value)

    @property
    def part(self) -> PartShare:
        """Return the part and its share as an entry takes them."""
        return cast("PartShare", self.choice.value or WHOLE)

    def surface(self, reports: Sequence[Report]) -> str | None:
        """Return the state last told of the part chosen, among reports of one place."""
        part, share = self.part
        told = newest_parts(reports).get(part)
        return told.surface if told is not None and told.share == share else None
