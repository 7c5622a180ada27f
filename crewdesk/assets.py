"""The one road to the files that ship with the program."""

from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path


def shipped(folder: str) -> Traversable:
    """Return a shipped folder, ``resources`` or ``demo_events``.

    Inside an installed wheel the folder lies in the package, in a checkout beside it.
    """
    inside = files("crewdesk") / folder
    return inside if inside.is_dir() else Path(__file__).resolve().parents[1] / folder


def is_demo(folder: Path | None) -> bool:
    """Say whether an event's folder is one of those that come with the program."""
    demos = Path(str(shipped("demo_events")))
    return folder is not None and folder.resolve().parent == demos.resolve()
