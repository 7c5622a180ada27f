"""Parts of a stage with a state of their own: from what was reported of them to moments."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from crewdesk.conditions.moments import LiveReport, Moment
from crewdesk.conditions.places import is_about

PARTS: Final = ("start", "middle", "end", "top")
"""In the order in which they are told."""
PART_SHARE: Final = 1.0 / 3.0
"""Share of the length where nobody says. Tuning value of this project."""


def part_key(stage: str, part: str) -> str:
    """Return the key of a part of a stage."""
    return f"{stage} {part}"


def with_parts(
    moments: Sequence[Moment], reports: Sequence[LiveReport]
) -> tuple[tuple[Moment, ...], Mapping[str, tuple[tuple[str, float], ...]]]:
    """Return the moments followed by those of parts, and the parts of each stage.

    Parameters
    ----------
    moments : sequence of Moment
        Stages and change places.
    reports : sequence of LiveReport
        In order of time.

    Returns
    -------
    moments : tuple of Moment
        Those given, then one for each part whose state somebody told of.
    parts : mapping of str to tuple of (str, float)
        By stage: key and share of the length of its parts. Shares that add up to more than
        the stage are scaled down to it.
    """
    added: list[Moment] = []
    parts: dict[str, tuple[tuple[str, float], ...]] = {}
    told = [r for r in reports if r.part in PARTS and r.state is not None]
    for moment in moments:
        shares: dict[str, float] = {}
        for part in PARTS:
            of_part = replace(
                moment,
                key=part_key(moment.key, part),
                altitude_m=moment.part_altitude_m.get(part, moment.altitude_m),
                part=part,
            )
            about = [r for r in told if is_about(r, of_part, (*moments, of_part))]
            if about:
                added.append(of_part)
                last = about[-1].share
                shares[of_part.key] = PART_SHARE if last is None else last
        whole = max(1.0, sum(shares.values()))
        if shares:
            parts[moment.key] = tuple((key, share / whole) for key, share in shares.items())
    return (*moments, *added), parts
