"""What an event has taught of wear and heat, as the next event starts from it."""

import json
from typing import Annotated, Final, Self

from pydantic import Field, model_validator

from crewdesk.documents.base import Part
from crewdesk.documents.event import Family, Hardness
from crewdesk.documents.faults import Findings
from crewdesk.documents.plain_words import read_json, validated
from crewdesk.units import Corner

LEARNT_FILE: Final = "handover_learnt.json"
"""Beside the event's own files; the day book keeps it with them."""

Ln = Annotated[float, Field(ge=-3, le=3)]


class LearntWear(Part):
    """Wear of one compound on one kind of ground over that of the tables."""

    use: Family
    compound: str
    """The stock's own word."""
    hardness: Hardness
    ground: str
    """gravel, wet gravel, asphalt, wet asphalt, or snow and ice."""
    ln_factor: Ln
    """Logarithm of the factor."""
    readings: Annotated[int, Field(ge=0)]


class LearntCorner(Part):
    """Wear of one corner over that of the tables; of this place only, never carried on."""

    corner: Corner
    ln_factor: Ln
    readings: Annotated[int, Field(ge=0)]


class LearntBefore(Part):
    """Everything an event has taught that is worth taking along."""

    event: str
    """Name of the event that taught it."""
    wear: tuple[LearntWear, ...] = ()
    ln_cov: tuple[tuple[float, ...], ...] = ()
    """Covariance of the logarithms, in the order of ``wear``."""
    corners: tuple[LearntCorner, ...] = ()
    heat_ln_factor: Ln = 0.0
    heat_ln_sd: Annotated[float, Field(gt=0, le=1)] = 0.25
    heat_readings: Annotated[int, Field(ge=0)] = 0

    @model_validator(mode="after")
    def _square(self) -> Self:
        n = len(self.wear)
        if len(self.ln_cov) != n or any(len(row) != n for row in self.ln_cov):
            raise ValueError(f"ln_cov must have {n} rows of {n} numbers, one for each wear")
        for i in range(n):
            if self.ln_cov[i][i] < 0.0:
                raise ValueError("a variance in ln_cov is below 0")
            if any(abs(self.ln_cov[i][j] - self.ln_cov[j][i]) > 1e-9 for j in range(i)):
                raise ValueError("ln_cov is not the same above and below its diagonal")
        return self


def learnt_text(learnt: LearntBefore) -> str:
    """Return it as the text of its file."""
    return learnt.model_dump_json(indent=2) + "\n"


def learnt_from_text(text: str, found: Findings) -> LearntBefore | None:
    """Return it from the text of its file; None, with the faults found, where it is none."""
    raw = read_json(LEARNT_FILE, text, found)
    return validated(LearntBefore, LEARNT_FILE, raw, found) if raw is not None else None


def learnt_text_in_handover(handover_text: str) -> str | None:
    """Return the text of the file for what a handover has learnt; None where it has nothing.

    A handover that cannot be read is told of where its stock is asked for, not here.
    """
    try:
        raw = json.loads(handover_text)
    except ValueError:
        return None
    section = raw.get("learnt") if isinstance(raw, dict) else None
    if not isinstance(section, dict) or not section.get("wear"):
        return None
    return json.dumps(section, indent=2, ensure_ascii=False) + "\n"
