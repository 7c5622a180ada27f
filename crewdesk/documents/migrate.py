"""Older layouts of a document to the present one; a newer one is refused untouched."""

from collections.abc import Callable, Mapping
from typing import Any

from crewdesk.documents.base import Document
from crewdesk.documents.faults import Findings, quoted

Step = Callable[[dict[str, Any]], dict[str, Any]]
"""Raw dictionary of version n to version n + 1; pure."""

STEPS: Mapping[str, Mapping[int, Step]] = {}
"""By name of the document's class, then by the version a step starts from."""


def format_of(file: str, raw: Mapping[str, Any], found: Findings) -> int | None:
    """Return the version of a raw document; None after a fault where it is none."""
    version = raw.get("format", 1)
    if isinstance(version, bool) or not isinstance(version, int) or version < 1:
        found.fault(
            file,
            f"{quoted(version)} is no version of a layout.",
            "Write a whole number from 1.",
            where="format",
            value=version,
        )
        return None
    return version


def migrated(
    document: type[Document],
    file: str,
    raw: Mapping[str, Any],
    found: Findings,
    steps: Mapping[int, Step] | None = None,
) -> dict[str, Any] | None:
    """Return a raw document in the present layout.

    A document of a newer version is refused before anything else in it is judged.

    Parameters
    ----------
    steps : mapping, optional
        Steps by the version they start from; by default those of the document.

    Returns
    -------
    dict | None
        None after a fault.
    """
    version = format_of(file, raw, found)
    if version is None:
        return None
    if version > document.FORMAT:
        found.fault(
            file,
            f"The file has layout {version}; this program knows layouts up to "
            f"{document.FORMAT}.",
            "Open it with a newer version of the program. Nothing was changed.",
            where="format",
            value=version,
        )
        return None
    ways = STEPS.get(document.__name__, {}) if steps is None else steps
    now = dict(raw)
    for start in range(version, document.FORMAT):
        step = ways.get(start)
        if step is None:
            found.fault(
                file,
                f"There is no way from layout {start} to {start + 1}.",
                "Open it with the version of the program that wrote it.",
                where="format",
                value=version,
            )
            return None
        now = {**step(dict(now)), "format": start + 1}
    if version < document.FORMAT:
        found.note(
            f"{file}: read from layout {version} into {document.FORMAT}; "
            f"the file itself is kept as it was."
        )
    return now
