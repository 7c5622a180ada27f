"""Errors meant for the eyes of the crew; anything else that is raised is a fault of ours."""


class CrewdeskError(Exception):
    """Something the crew or the world caused, with words fit for the screen.

    Parameters
    ----------
    message : str
        What happened, to which thing, with its value.
    hint : str
        What to do now; empty where nothing can be done.
    """

    def __init__(self, message: str, *, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint

    def __str__(self) -> str:
        return f"{self.message} {self.hint}".strip()


class DocumentError(CrewdeskError):
    """A file of an event cannot be read or contradicts itself."""


class JournalError(CrewdeskError):
    """The day book cannot be opened, read or written."""


class ReadingError(CrewdeskError):
    """An entry is refused: its values cannot be right, or a rule stops it."""


class EngineError(CrewdeskError):
    """The call cannot be worked out from what is there."""
