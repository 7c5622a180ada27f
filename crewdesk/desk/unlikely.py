"""A depth that wear hardly allows: taken as it is, and asked about."""

from crewdesk.desk.sanity import GROWS_MM

WEARS_MM = 4.0
"""More than this no loop takes off a tyre. Tuning value of this project."""
OFF_SD, OFF_MM = 3.0, 1.0
"""So far off the expected depth a reading is asked about, the larger of both counts.

Tuning values of this project.
"""


def unlikely_from(
    read_mm: float, before_mm: float, expected_mm: float | None = None, sd_mm: float = 0.0
) -> float | None:
    """Return the depth that would have been likely; None where the reading is.

    ``before_mm`` is the depth read last, ``expected_mm`` the one reckoned from it, which may
    be off by ``sd_mm``. Rubber does not grow, whatever was reckoned.

    >>> unlikely_from(0.1, 9.0, 8.4, 0.3), unlikely_from(8.1, 9.0, 8.4, 0.3)
    (8.4, None)
    >>> unlikely_from(9.6, 9.0, 8.4, 0.3), unlikely_from(4.4, 9.0)
    (8.4, 9.0)
    """
    likely_mm = before_mm if expected_mm is None else expected_mm
    if read_mm > before_mm + GROWS_MM or read_mm < before_mm - WEARS_MM - OFF_SD * sd_mm:
        return likely_mm
    if expected_mm is not None and abs(read_mm - expected_mm) > max(OFF_MM, OFF_SD * sd_mm):
        return likely_mm
    return None
