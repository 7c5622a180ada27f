"""An event's folder, or its texts, to one checked bundle."""

from collections.abc import Mapping
from pathlib import Path
from uuid import UUID
from zoneinfo import ZoneInfo

from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.event import Car, EventFile
from crewdesk.documents.event_read import EVENT_FILE, read_event
from crewdesk.documents.faults import CheckReport, Fault, Findings, error_from
from crewdesk.documents.handover_read import HANDOVER_FILE, stock_from_text
from crewdesk.documents.itinerary import Itinerary
from crewdesk.documents.itinerary_build import build_itinerary
from crewdesk.documents.itinerary_checks import check_itinerary, check_pairs
from crewdesk.documents.itinerary_read import ITINERARY_FILE, read_itinerary
from crewdesk.documents.learnt import (
    LEARNT_FILE,
    learnt_from_text,
    learnt_text_in_handover,
)
from crewdesk.documents.regulation_sets import (
    REGULATIONS_FILE,
    own_set,
    regulation_set,
    set_names,
)
from crewdesk.documents.stock_read import STOCK_FILE, read_stock
from crewdesk.documents.tables import decode
from crewdesk.documents.times import event_zone
from crewdesk.documents.weather import Weather
from crewdesk.documents.weather_read import WEATHER_FILE, read_weather

FILES = (EVENT_FILE, ITINERARY_FILE, STOCK_FILE, WEATHER_FILE)
_WHAT = {
    EVENT_FILE: "It says who we are, where and in which car.",
    ITINERARY_FILE: "It lists the controls and stages.",
    STOCK_FILE: "It lists the tyres.",
}

__all__ = [
    "FILES",
    "CheckReport",
    "Fault",
    "check_event",
    "check_texts",
    "load_event",
    "load_from_texts",
    "read_texts",
    "regulation_set",
    "set_names",
]


def load_event(folder: Path) -> EventBundle:
    """Return the event in a folder.

    Raises
    ------
    DocumentError
        Naming the first five faults and how many more there are.
    """
    found = Findings()
    texts = read_texts(folder, found)
    bundle = _judge(texts, found) if texts is not None else None
    if bundle is None or found.faults:
        raise error_from(found.faults, f"The event in {folder}")
    return bundle


def load_from_texts(files: Mapping[str, str]) -> EventBundle:
    """Return the event that texts by file name hold, as a day book keeps them.

    Raises
    ------
    DocumentError
        Naming the first five faults and how many more there are.
    """
    found = Findings()
    bundle = _judge(files, found)
    if bundle is None or found.faults:
        raise error_from(found.faults, "The event")
    return bundle


def check_event(folder: Path) -> CheckReport:
    """Return every fault of the event in a folder, with notes and assumptions."""
    found = Findings()
    texts = read_texts(folder, found)
    if texts is not None:
        _judge(texts, found)
    return _report(found)


def check_texts(files: Mapping[str, str]) -> CheckReport:
    """Return every fault of an event given as texts by file name."""
    found = Findings()
    _judge(files, found)
    return _report(found)


def _report(found: Findings) -> CheckReport:
    return CheckReport(tuple(found.faults), tuple(found.notes), tuple(found.assumed))


def read_texts(folder: Path, found: Findings) -> dict[str, str] | None:
    """Return the texts of a folder by file name; None where it is no folder."""
    try:
        if not folder.is_dir():
            found.fault(
                str(folder),
                "There is no such folder.",
                "Name the folder that holds event.json.",
            )
            return None
    except OSError:
        found.fault(str(folder), "The folder cannot be read.", "Look at its permissions.")
        return None
    texts: dict[str, str] = {}
    for name in (*FILES, REGULATIONS_FILE, LEARNT_FILE, HANDOVER_FILE):
        path = folder / name
        try:
            data = path.read_bytes()
        except FileNotFoundError:
            continue
        except OSError as error:
            found.fault(
                name,
                f"The file cannot be read ({(error.strerror or 'no reason given').lower()}).",
                "Look at its permissions, and whether another program holds it.",
            )
            texts[name] = ""
            continue
        text = decode(name, data, found)
        # A file that is there but unreadable has its own fault; it is not missing.
        texts[name] = "" if text is None else text
    _stock_of_last_event(texts, found)
    return texts


def _stock_of_last_event(texts: dict[str, str], found: Findings) -> None:
    """Take the stock from a handover where the folder has that and no stock table.

    The book keeps the stock it led to, so that the event stands alone afterwards.
    """
    handover = texts.pop(HANDOVER_FILE, None)
    learnt = learnt_text_in_handover(handover) if handover else None
    if learnt is not None:
        texts.setdefault(LEARNT_FILE, learnt)
    if STOCK_FILE in texts or handover is None:
        return
    stock = stock_from_text(handover, found) if handover else None
    # What is wrong with the handover is told; the table itself is then not called missing.
    texts[STOCK_FILE] = stock or ""


def _judge(texts: Mapping[str, str], found: Findings) -> EventBundle | None:
    """Read what can be read; None where a fault stands in the way of the bundle."""
    unreadable = {fault.file for fault in found.faults}
    if HANDOVER_FILE in unreadable:
        unreadable.add(STOCK_FILE)
    for name, what in _WHAT.items():
        if name not in texts:
            found.fault(name, "The file is missing.", what)
    own = None
    if _readable(REGULATIONS_FILE, texts, unreadable):
        own = own_set(texts[REGULATIONS_FILE], found)
    event = None
    if EVENT_FILE in texts and EVENT_FILE not in unreadable:
        event = read_event(texts[EVENT_FILE], found, own)
        newer = [f for f in found.faults if f.file == EVENT_FILE and f.where == "format"]
        if newer:
            # Nothing else of a layout we do not know can be judged.
            found.faults[:] = newer
            return None
    zone = _zone(event)
    stand_in = event or _without_event()
    itinerary = None
    if _readable(ITINERARY_FILE, texts, unreadable):
        itinerary = _itinerary(texts[ITINERARY_FILE], stand_in, event, zone, found)
    stock = None
    if _readable(STOCK_FILE, texts, unreadable):
        stock = read_stock(texts[STOCK_FILE], stand_in, found)
    weather = Weather()
    if _readable(WEATHER_FILE, texts, unreadable):
        read = read_weather(texts[WEATHER_FILE], zone, stand_in, found)
        weather = read[0] if read is not None else weather
    elif WEATHER_FILE not in texts:
        found.assume("Weather: no forecast; only what the crew reports.")
    learnt = None
    if _readable(LEARNT_FILE, texts, unreadable):
        learnt = learnt_from_text(texts[LEARNT_FILE], found)
    if event is None or itinerary is None or stock is None or found.faults:
        return None
    event = event.model_copy(update={"models": stock.models, "rims": stock.rims})
    return EventBundle(
        event=event,
        itinerary=itinerary,
        stock=stock.stock,
        weather=weather,
        regulation_set=own or regulation_set(event.regulation_set),
        notes=tuple(found.notes),
        assumed=tuple(found.assumed),
        learnt=learnt,
        source_files={
            name: text
            for name, text in texts.items()
            if name in (*FILES, REGULATIONS_FILE, LEARNT_FILE)
        },
    )


def _readable(name: str, texts: Mapping[str, str], unreadable: set[str]) -> bool:
    return name in texts and name not in unreadable


def _zone(event: EventFile | None) -> ZoneInfo:
    try:
        return event_zone(event.zone if event else "UTC")
    except ValueError:
        return ZoneInfo("UTC")


def _without_event() -> EventFile:
    """Return an event that knows nothing, so that the tables can still be checked."""
    car = Car(
        mass_kg=1200,
        front_share=0.6,
        wheelbase_m=2.5,
        cg_height_m=0.5,
        track_m=1.5,
        brake_front_share=0.65,
        drive_front_share=1.0,
        power_kw=100,
    )
    return EventFile(
        event_id=UUID(int=0), name="", zone="UTC", regulation_set="", legs=(), car=car
    )


def _itinerary(
    text: str, stand_in: EventFile, event: EventFile | None, zone: ZoneInfo, found: Findings
) -> Itinerary | None:
    before = len(found.faults)
    read = read_itinerary(text, zone, found)
    if read is None:
        return None
    rows, table = read
    # A row that could not be read leaves pairs and loops open: its own fault comes first.
    if len(found.faults) > before or event is None:
        return None
    check_pairs(rows, found)
    if len(found.faults) > before:
        return None
    itinerary = build_itinerary(rows, stand_in, table.comments, found)
    if itinerary is not None:
        check_itinerary(itinerary, found)
    return itinerary
