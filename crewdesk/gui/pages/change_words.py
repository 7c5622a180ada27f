"""The kinds of changes in words, and what to type for each."""

from typing import Final

from PySide6.QtCore import QCoreApplication

KINDS: Final = (
    ("stage_cancelled", "stage_shortened", "stage_interrupted", "stage_repeated"),
    ("service_length", "place_moved", "delayed", "rule"),
    ("position", "late"),
)
"""As they stand on the page."""


def _tr(text: str) -> str:
    return QCoreApplication.translate("ChangePage", text)


def kind_names() -> dict[str, str]:
    """Return what each kind is called on its button."""
    return {
        "stage_cancelled": _tr("Stage cancelled"),
        "stage_shortened": _tr("Shorter"),
        "stage_interrupted": _tr("Interrupted"),
        "stage_repeated": _tr("Run again"),
        "service_length": _tr("Service length"),
        "place_moved": _tr("Place moved"),
        "delayed": _tr("All later"),
        "rule": _tr("A limit or rule"),
        "position": _tr("Our place in the start order"),
        "late": _tr("We are late"),
    }


def hints() -> dict[str, str]:
    """Return what to type for each kind."""
    return {
        "stage_cancelled": _tr("The stage; its road is driven as liaison."),
        "stage_shortened": _tr("The stage; new value: its length in km."),
        "stage_interrupted": _tr(
            "The stage; new value: the km that we drove on it at speed; empty: none, it is "
            "driven at road speed."
        ),
        "stage_repeated": _tr(
            "The stage; new value: the row behind which it is run again; empty: at once."
        ),
        "place_moved": _tr(
            "The control of a service, flexi or zone; new value: the new printed time, as "
            "15:20, or minutes later. All behind it in the leg moves along."
        ),
        "service_length": _tr(
            "The service; new value: its minutes. Its OUT and all behind it move along."
        ),
        "delayed": _tr("The control from which on; new value: minutes later."),
        "position": _tr("The leg; new value: our place in the order, as 9."),
        "late": _tr("The control; new value: minutes we shall be late there."),
    }
