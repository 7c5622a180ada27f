"""A look over an event: its documents, then its rules, then every tyre against the rules."""

from pathlib import Path

from crewdesk.desk.before_event import before_event, cautions_of
from crewdesk.desk.case import base_case, facts_of
from crewdesk.desk.nomination import closes_at
from crewdesk.desk.replay import finish, start
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.event_read import EVENT_FILE
from crewdesk.documents.faults import CheckReport, Fault
from crewdesk.documents.regulation_sets import REGULATIONS_FILE
from crewdesk.documents.store import check_event, load_event
from crewdesk.errors import DocumentError
from crewdesk.regulations.build import field_fault, rulebook
from crewdesk.regulations.fitting import FittingCase
from crewdesk.regulations.rulebook import Message
from crewdesk.regulations.rules import check_all


def check_all_of(folder: Path) -> CheckReport:
    """Return every fault of an event, then notes and what to know before it begins.

    A tyre that breaks a rule is no fault of the documents: it is told as a note with the code.
    """
    report = check_event(folder)
    if not report.ok:
        return report
    bundle = load_event(folder)
    faults = rule_faults(bundle)
    if faults:
        return CheckReport(faults, report.notes, report.assumed)
    notes = [f"{m.code} {m.level}: {m.text}" for m in import_messages(bundle)]
    told = before_event(bundle)
    return CheckReport(
        (),
        (*report.notes, *notes),
        report.assumed,
        tuple((one.topic, one.level, one.words) for one in told),
        cautions_of(told),
    )


def rule_faults(bundle: EventBundle) -> tuple[Fault, ...]:
    """Return every value of the rules that its field does not take."""
    event = bundle.event
    faults = []
    own = REGULATIONS_FILE in bundle.source_files
    for name, value in bundle.regulation_set.fields.items():
        what = field_fault(name, value, event.car_class)
        if what:
            file = REGULATIONS_FILE if own else EVENT_FILE
            where = f"fields.{name}" if own else "regulation_set"
            faults.append(_fault(file, what, where, value))
    for name, given in event.rules.items():
        what = field_fault(name, given.value, event.car_class, given.unit)
        if what:
            faults.append(_fault(EVENT_FILE, what, f"rules.{name}", given.value))
    if not faults:
        try:
            rulebook(event.rules, bundle.regulation_set, event.car_class)
        except DocumentError as error:
            faults.append(Fault(EVENT_FILE, error.message, error.hint, "rules"))
    return tuple(faults)


def _fault(file: str, what: str, where: str, value: object) -> Fault:
    text = f"{what[:1].upper()}{what[1:]}."
    return Fault(file, text, "Put the value right.", where, "", str(value))


def import_messages(bundle: EventBundle) -> tuple[Message, ...]:
    """Return what the rules say of an event as it is loaded, before anything is fitted."""
    state = finish(start(bundle))
    base = base_case(bundle, state, facts_of(bundle, state))
    base["now"] = None
    base["nominate_by"] = closes_at(bundle)
    said = check_all(FittingCase(**base), "import")
    return (*said, *_notes(bundle))


STAGE_SHARE = 0.25
"""Least share of the stages in the distance at world-championship events.

FIA World Motor Sport Council decisions for 2014, press report.
"""


def _notes(bundle: EventBundle) -> tuple[Message, ...]:
    rows = bundle.itinerary.rows
    stages_km = sum(stage.km for stage in bundle.itinerary.stages)
    road_km = sum(row.liaison_km or 0.0 for row in rows)
    notes = []
    total = stages_km + road_km
    if total and stages_km / total < STAGE_SHARE:
        notes.append(
            Message(
                "NOTE",
                "note",
                f"Stages are {100 * stages_km / total:.0f} % of the distance; 25 % are asked "
                "for at world-championship events.",
                {"stage_share": round(stages_km / total, 3)},
            )
        )
    return tuple(notes)
