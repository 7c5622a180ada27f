"""What is said around a typed table: how it was read, and the fault of a cell in words."""

from collections.abc import Iterable, Sequence
from typing import cast

from PySide6.QtCore import QT_TRANSLATE_NOOP, QCoreApplication

from crewdesk.documents.import_headings import Kind, columns_of
from crewdesk.documents.importing import CellFault
from crewdesk.gui.pages.new_event_model import in_titles, title_of


def _t(text: str) -> str:
    return cast("str", QT_TRANSLATE_NOOP("NewEventWords", text))


def _tr(text: str) -> str:
    return QCoreApplication.translate("NewEventWords", text)


_HEADINGS = _t("Headings: {0}.")
_UNUSED = "Kept without using it"
_NOTHING = _t("Nothing had to be guessed.")
_ROW = _t("row {0}, ")
_COPY = _t(" Ctrl+D copies a cell into those at fault below it.")
_FIRST_DAY = _t(" Or type the first day under Event and car.")
_FAULT = _t("■ {0} of {1}: {2}{3}")


def read_words(kind: Kind, read_as: Sequence[str], notes: Iterable[str]) -> str:
    """Return which headings were read as what, and what was understood."""
    lines = [in_titles(note, columns_of(kind)) for note in dict.fromkeys(notes)]
    # What came in changed or not at all is seen without scrolling; headings come last.
    lines.sort(key=lambda line: not line.startswith(_UNUSED))
    told = [in_titles(one, columns_of(kind)) for one in read_as]
    told = [one for one in told if " read as " in one and not _same(one)]
    lines += [_tr(_HEADINGS).format(" · ".join(told))] if told else []
    return "\n".join(lines) or _tr(_NOTHING)


def _same(told: str) -> bool:
    """Say whether a heading is our own title, but for the unit."""
    written, _, title = told.replace("'", "").partition(" read as ")
    return title.casefold().startswith(written.casefold())


def fault_words(kind: Kind, fault: CellFault, faults: Sequence[CellFault]) -> str:
    """Return a fault with its number and its place, in the headings of the screen."""
    place = _tr(_ROW).format(fault.row + 1) if fault.row is not None else ""
    where = f"{place}{title_of(fault.column).replace(',', '')}: " if fault.column else place
    what = in_titles(f"{fault.what} {fault.hint}".strip(), columns_of(kind))
    if "no date" in fault.what:
        what += _tr(_FIRST_DAY)
    elif sum((one.column, one.what) == (fault.column, fault.what) for one in faults) > 2:
        what += _tr(_COPY)
    return _tr(_FAULT).format(faults.index(fault) + 1, len(faults), where, what)
