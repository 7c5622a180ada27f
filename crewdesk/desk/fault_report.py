"""A fault of ours, written down where we can read it later."""

import logging
import os
import platform
import traceback
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

import platformdirs

from crewdesk import __version__

logger = logging.getLogger(__name__)


def write_report(error: BaseException, arguments: Sequence[str]) -> Path | None:
    """Write a report into the user's log folder and return it; None where the disk refuses."""
    told = "".join(traceback.format_exception(error))
    head = f"crewdesk {__version__}, {platform.platform()}, {platform.python_version()}"
    try:
        folder = platformdirs.user_log_path("crewdesk", appauthor=False)
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / f"report-{datetime.now(UTC):%Y%m%dT%H%M%S}-{os.getpid()}.txt"
        path.write_text(f"{head}\n{' '.join(arguments)}\n\n{told}", encoding="utf-8")
    except OSError:
        logger.debug("no report could be written", exc_info=True)
        return None
    return path
