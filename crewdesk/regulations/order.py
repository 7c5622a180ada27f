"""The order in which names are told, whatever the order of the rows."""

import re


def natural_key(text: str) -> tuple[tuple[int, int, str], ...]:
    """Return a key that sorts S2 before S10."""
    return tuple(
        (0, int(part), "") if part.isdigit() else (1, 0, part)
        for part in re.split(r"(\d+)", text)
        if part
    )
