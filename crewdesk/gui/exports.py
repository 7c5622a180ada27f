"""What leaves the window on paper or as files; the makers are imported when they are wanted."""

import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import platformdirs

from crewdesk.gui.views import differing

if TYPE_CHECKING:
    from crewdesk.desk.answer import Answer
    from crewdesk.desk.sheet import Sheet
    from crewdesk.gui.session import Session
    from crewdesk.journal.entries import CallUsed


def papers_folder(session: "Session") -> Path:
    """Return where sheets and handovers of the event are put."""
    root = session.data_dir or platformdirs.user_documents_path() / "crewdesk"
    name = re.sub(r"[^\w-]+", "_", session.bundle.event.name).strip("_")
    return root / name


def handover_lines(session: "Session") -> list[tuple[str, list[str]]]:
    """Return the handover's page in headed lines."""
    from crewdesk.desk.handover import make_handover
    from crewdesk.gui.paper.handover_pdf import counts_words, tyre_words, word_blocks

    assert session.day is not None
    handover = make_handover(session.day)
    blocks = [(handover.event, [counts_words(handover)])]
    blocks += [
        (head.capitalize(), list(lines)) for head, lines in word_blocks(handover) if lines
    ]
    rows = [tyre_words(tyre) for tyre in handover.tyres]
    return [*blocks, ("Tyre by tyre", rows)]


def write_handover(session: "Session", folder: Path) -> Path:
    """Write the handover's files and its page; return the page."""
    from crewdesk.desk.handover import make_handover
    from crewdesk.desk.handover import write_handover as write_files
    from crewdesk.gui.paper.handover_pdf import write_handover_pdf

    assert session.day is not None
    write_files(session.day, folder)
    page = folder / "handover.pdf"
    write_handover_pdf(make_handover(session.day), page)
    return page


def sheet_numbers(session: "Session", place: str) -> tuple[int, int | None]:
    """Return the number of the sheet and the one it replaces: a new call, a new sheet."""
    from crewdesk.desk.resolve import undone_ids

    assert session.day is not None
    dead = undone_ids(session.day.entries)
    taken = [
        entry
        for entry in session.day.entries
        if entry.kind == "call_used" and entry.id not in dead
    ]
    number = max(1, sum(1 for entry in taken if getattr(entry.body, "place", "") == place))
    return number, number - 1 if number > 1 else None


def answer_for(answer: "Answer", used: "CallUsed") -> "Answer":
    """Return the answer with the fitting in use as its plan: the sheet is of that one."""
    result = answer.result
    plans = [result.plan[:1], *[a.plan[:1] for a in result.alternatives]]
    if result.short_call is not None:
        plans.append((result.short_call.plan,))
    for plan in plans:
        if plan and not differing(plan[0].fitting, used.fitting):
            return replace(answer, result=replace(result, plan=(*plan, *result.plan[1:])))
    own = replace(
        result.plan[0],
        fitting=dict(used.fitting),
        cold_pressure_kpa=dict(used.cold_kpa) or result.plan[0].cold_pressure_kpa,
        rims={},
    )
    return replace(answer, result=replace(result, plan=(own, *result.plan[1:])))


def make_sheet(session: "Session") -> "Sheet | None":
    """Return the sheet of the call in use, else of the call proposed."""
    from crewdesk.desk.sheet import make_sheet as make

    answer, place = session.answer, session.place
    if answer is None or place is None or answer.place != place.key or not answer.result.plan:
        return None
    used = session.call_in_use()
    if used is not None:
        answer = answer_for(answer, used)
    number, replaces = sheet_numbers(session, place.key)
    return make(
        session.bundle, session.state, answer, session.now(), number=number, replaces=replaces
    )


def print_sheet(session: "Session", folder: Path) -> tuple[Path, bool] | None:
    """Write the sheet with its car card and print it where there is a printer.

    Returns the file and whether paper came out; None where there is no fitting.
    """
    from PySide6.QtPrintSupport import QPrinter, QPrinterInfo

    from crewdesk.gui.paper.sheet_pdf import print_sheet as to_printer
    from crewdesk.gui.paper.sheet_pdf import write_sheet_pdf

    sheet = make_sheet(session)
    if sheet is None:
        return None
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"sheet_{sheet.place}_{sheet.number}.pdf"
    write_sheet_pdf(sheet, path)
    if QPrinterInfo.defaultPrinter().isNull():
        return path, False
    to_printer(
        sheet, QPrinter(QPrinterInfo.defaultPrinter(), QPrinter.PrinterMode.HighResolution)
    )
    return path, True
