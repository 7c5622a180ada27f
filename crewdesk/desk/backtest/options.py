"""What may stand behind the options of simulated days."""

from crewdesk.desk.options import number


def widened(text: str) -> float:
    """Return a factor on how far a day may lie from what is expected."""
    return number(text, 0.0, 5.0, "factor")


def warmer(text: str) -> float:
    """Return how much warmer a day is than forecast. [°C]."""
    return number(text, -20.0, 20.0, "difference in °C")


def wear(text: str) -> float:
    """Return a factor on wear."""
    return number(text, 0.1, 10.0, "factor")
