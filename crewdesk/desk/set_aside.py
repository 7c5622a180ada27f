"""A day book that cannot be read is moved aside, so that a new one can begin in its place."""

from datetime import datetime
from pathlib import Path

from crewdesk.desk.day import user_data_dir
from crewdesk.documents.store import load_event
from crewdesk.errors import JournalError
from crewdesk.journal.book import default_book_path

BESIDE = ("", "-wal", "-shm")
"""The files that a book may consist of, by the end of their names."""


def set_aside(
    folder: Path, book: Path | None, now: datetime, *, data_dir: Path | None = None
) -> Path:
    """Rename the book of an event and return its new name; nothing in it is touched.

    Raises
    ------
    DocumentError
        Where the event cannot be read.
    JournalError
        Where the file cannot be renamed.
    """
    path = book
    if path is None:
        event_id = load_event(folder).event.event_id
        path = default_book_path(event_id, data_dir or user_data_dir())
    aside = path.with_name(f"{path.name}.damaged-{now:%Y%m%d-%H%M%S}")
    try:
        for end in BESIDE:
            part = path.with_name(path.name + end)
            if part.exists():
                part.rename(aside.with_name(aside.name + end))
    except OSError as error:
        raise JournalError(
            f"The day book {path} cannot be moved aside: {error.strerror}.",
            hint="Close what else uses it, or move the file by hand.",
        ) from error
    return aside
